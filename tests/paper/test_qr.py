"""The QR code: read back by another program from the printed page, on any sheet, in colour and in grey."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from pathlib import Path

import pikepdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from paper.test_structure import check_marks, elements
from PIL import Image

from workshop_log.exchange import records
from workshop_log.exchange.seal import grouped, read_fingerprint, seal_job, short
from workshop_log.paper.look import Look
from workshop_log.paper.qr import MODULE_MM, QUIET_ZONE, qr_modules, qr_size
from workshop_log.paper.report import make_report
from workshop_log.paper.seal_section import qr_text

needs_reader = pytest.mark.skipif(shutil.which("zbarimg") is None or shutil.which("pdftoppm") is None,
                                  reason="zbar-tools or poppler-utils is not installed")


def read_back(picture: Path) -> str:
    """Return what another program reads from a picture that shows one code; zbar ends its answer with a line end."""
    done = subprocess.run(["zbarimg", "--quiet", "--raw", "--nodbus", "-Sdisable", "-Sqrcode.enable", str(picture)],
                          capture_output=True, timeout=60, check=False)
    return done.stdout.decode().removesuffix("\n")


def last_page(pdf: bytes, folder: Path, *options: str) -> Path:
    """Return a picture of the page with the code, as a printer or a scanner sees it."""
    (folder / "report.pdf").write_bytes(pdf)
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        last = str(len(opened.pages))
    subprocess.run(["pdftoppm", "-png", "-singlefile", "-f", last, *options, folder / "report.pdf", folder / "page"],
                   check=True, timeout=60)
    return folder / "page.png"


@needs_reader
@pytest.mark.parametrize("grey", [(), ("-gray",), ("-mono",)], ids=["colour", "grey", "black and white"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_code_is_read_from_the_page(report_input, tmp_path, paper, grey):
    """At 150 dots to the inch, which is what a poor scanner gives."""
    content = report_input(paper=paper)
    said = read_back(last_page(make_report(content), tmp_path, "-r", "150", *grey))
    assert said == qr_text(content)
    full = content.job.seal.entries[-1].fingerprint
    assert said.splitlines() == ["Workshop Log report", "Job 2031-0007", "Issued 3 April 2031, 16:40",
                                 f"Fingerprint {grouped(full)}"]
    assert read_fingerprint(said) == full


@needs_reader
def test_the_code_is_black_on_white_whatever_the_look(report_input, tmp_path):
    """A pale ink of the workshop's own does not make it pale."""
    content = report_input(look=Look(accent="#D9A400", ink="#8A8A8A"))
    picture = last_page(make_report(content), tmp_path, "-r", "150")
    assert read_back(picture) == qr_text(content)
    side = round(qr_size(qr_text(content)) / 72 * 150)
    image = Image.open(picture).convert("RGB")
    # The only black on the page is the code's.
    black = image.point(lambda value: 255 if value < 40 else 0).convert("L").point(lambda value: value == 255 and 255)
    left, top, right, bottom = black.getbbox()
    quiet = round(QUIET_ZONE * MODULE_MM / 25.4 * 150)
    assert right - left == pytest.approx(side - 2 * quiet, abs=3)
    assert bottom - top == pytest.approx(side - 2 * quiet, abs=3)
    # The quiet zone is white all around.
    for box in ((left - quiet + 2, top, left - 1, bottom), (right + 2, top, right + quiet - 2, bottom),
                (left, top - quiet + 2, right, top - 1), (left, bottom + 2, right, bottom + quiet - 2)):
        assert image.crop(box).getextrema() == ((255, 255),) * 3


def test_the_code_is_large_enough_for_a_poor_printer(report_input):
    """No module under 0.4 mm, and not so large that it crowds the page."""
    assert MODULE_MM >= 0.4
    size_mm = qr_size(qr_text(report_input())) / 72 * 25.4
    assert 20 < size_mm < 35


@needs_reader
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), min_size=1, max_size=300))
def test_any_text_is_read_back(tmp_path, text):
    """Of any length, in the smallest version that takes it."""
    rows = qr_modules(text)
    image = Image.new("L", [len(rows) + 2 * QUIET_ZONE] * 2, 255)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                image.putpixel((x + QUIET_ZONE, y + QUIET_ZONE), 0)
    path = tmp_path / "code.png"
    image.resize([4 * side for side in image.size], Image.Resampling.NEAREST).save(path)
    assert read_back(path) == text


@needs_reader
@pytest.mark.parametrize("number", ["Größe 7", "Œuvre-№5", "漢字-1", "", "<b>&\x1b[0m"])
def test_any_number_of_a_job_leaves_the_fingerprint_readable(report_input, changed, tmp_path, number):
    """A telephone may guess another alphabet for the number; the fingerprint is plain digits."""
    content = report_input(seal_job(changed(number=number)))
    said = read_back(last_page(make_report(content), tmp_path, "-r", "150"))
    assert read_fingerprint(said) == content.job.seal.entries[-1].fingerprint


@pytest.mark.parametrize("reader", ["customer", "expert"])
def test_the_code_is_a_figure_that_says_itself(report_input, reader):
    """Who hears the report hears what the code says; nothing of it is unmarked."""
    with pikepdf.open(io.BytesIO(make_report(report_input(reader=reader)))) as pdf:
        check_marks(pdf)
        told = [str(element.Alt) for element in elements(pdf) if element.S == "/Figure" and "QR" in str(element.Alt)]
        assert len(told) == 1
        assert re.fullmatch(r"QR code that says: Workshop Log report, Job 2031-0007, Issued .*, Fingerprint "
                            r"([0-9a-f]{4} ){15}[0-9a-f]{4}", told[0])


@pytest.mark.parametrize("reader", ["customer", "expert"])
def test_the_documents_properties_have_the_whole_fingerprint(report_input, ground_strap, reader):
    """Where `verify` looks, and in XMP for everybody else."""
    last = ground_strap.seal.entries[-1].fingerprint
    with pikepdf.open(io.BytesIO(make_report(report_input(reader=reader)))) as pdf:
        assert str(pdf.docinfo["/Fingerprint"]) == last
        with pdf.open_metadata() as metadata:
            assert metadata["dc:identifier"] == f"sha256:{last}"


def test_a_job_without_a_seal_has_no_code(report_input):
    """Nothing to say, nothing to scan."""
    with pikepdf.open(io.BytesIO(make_report(report_input(records.Job())))) as pdf:
        assert "/Fingerprint" not in pdf.docinfo
        assert not [element for element in elements(pdf) if "QR" in str(element.get("/Alt", ""))]


def test_a_thousand_characters_that_cannot_be_printed_do_not_crowd_the_code_out(report_input, changed):
    """Their names go on for pages; the code and the words beside it stay together on one."""
    job = seal_job(changed(not_tested=("".join(map(chr, range(0x4E00, 0x4E00 + 1000))),)))
    with pikepdf.open(io.BytesIO(make_report(report_input(job)))) as pdf:
        check_marks(pdf)
        assert len([element for element in elements(pdf) if "QR" in str(element.get("/Alt", ""))]) == 1


def test_the_short_form_is_the_beginning_of_the_whole(ground_strap):
    """What stands below each page can be found in what stands at the end."""
    last = ground_strap.seal.entries[-1].fingerprint
    assert grouped(last).startswith(short(last))
