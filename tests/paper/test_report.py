"""The report as a file: what it says, that others can read it, and that it withstands whatever a job holds."""

from __future__ import annotations

import hashlib
import io
import os
import re
import shutil
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pikepdf
import pypdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from workshop_log.exchange import records
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.seal import short, verify_seal
from workshop_log.exchange.shown import shown_job
from workshop_log.paper.report import make_report
from workshop_log.paper.report_input import ReportError

ROOT = Path(__file__).resolve().parents[2]
needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
needs_qpdf = pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not installed")


def plain(text: str) -> str:
    """Return the text with every kind of space and line end as one space."""
    return " ".join(text.replace("\u00a0", " ").split())


def text_of(pdf: bytes) -> str:
    return plain(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages))


def tool(pdf: bytes, tmp_path: Path, *command: str) -> str:
    """Return what an outside tool says of the report; `FILE` in the command stands for its path."""
    path = tmp_path / "report.pdf"
    path.write_bytes(pdf)
    arguments = [str(path) if word == "FILE" else word for word in command]
    return subprocess.run(arguments, check=True, capture_output=True, text=True, timeout=60).stdout


KEY_SENTENCES = (
    "Report on job 2031-0007",
    "For Mrs Odile Harrowgate, 3 Weavers Row, Whinbury",
    "The battery is new since February.",
    "It comes and goes. It shows: cold mornings, worse after rain. We saw it ourselves.",
    "Test 5, cranking: the voltage from starter housing to B− read 1.42 V; at most 0.2 V is expected. That is outside.",
    "Considered and let off: starter. It draws 168 A, as it should.",
    "After the repair the same tests were made again, and every reading is inside its expected range.",
    "£197.40 altogether, including £32.90 tax at 20 %.",
    "Mrs Harrowgate agreed to up to £240.00, by telephone, on 2 April 2031.",
    "The starter was not opened.",
    "Fitted: Ground strap, 35 mm², 250 mm, part number GS-35-250.",
)


@pytest.mark.parametrize("reader", ["customer", "expert"])
def test_key_sentences_are_read_by_pypdf(report_input, reader):
    """What was said, found, done, proved and charged stands in the report's text."""
    text = text_of(make_report(report_input(reader=reader)))
    assert [sentence for sentence in KEY_SENTENCES if sentence not in text] == []


@needs_poppler
@pytest.mark.parametrize("reader", ["customer", "expert"])
def test_key_sentences_are_read_by_poppler(report_input, reader, tmp_path):
    """A second reader of PDF finds the same sentences."""
    text = plain(tool(make_report(report_input(reader=reader)), tmp_path, "pdftotext", "FILE", "-"))
    assert [sentence for sentence in KEY_SENTENCES if sentence not in text] == []


def test_customer_gets_no_figures_of_uncertainty_and_no_replaced_reading(report_input):
    """The plain copy leaves out what only an expert asks for, and says that something was corrected."""
    text = text_of(make_report(report_input()))
    assert "u = " not in text
    assert "14.2 V" not in text
    assert "One entry was corrected later; the correction is shown." in text


def test_expert_gets_uncertainty_probability_and_the_replaced_reading_with_its_reason(report_input):
    """The expert's copy shows what the verdicts rest on, and every entry that was corrected."""
    text = text_of(make_report(report_input(reader="expert")))
    assert "u = 6.0 mV" in text
    assert "p < 0.1 %" in text
    assert "14.2 V" in text
    assert "Replaced by test 5: The decimal point was read in the wrong place" in text


def test_fingerprint_stands_in_every_footer_and_whole_for_the_expert(report_input, ground_strap):
    """The seal is printed short on each page; the expert has it whole."""
    last = ground_strap.seal.entries[-1].fingerprint
    pages = pypdf.PdfReader(io.BytesIO(make_report(report_input(reader="expert")))).pages
    for number, page in enumerate(pages, start=1):
        text = plain(page.extract_text())
        assert f"Fingerprint {short(last)}" in text
        assert f"Page {number} of {len(pages)}" in text
        assert "Job 2031-0007" in text
    text = text_of(make_report(report_input(reader="expert")))
    assert last in text.replace(" ", "")
    # What every link is, once: the intake has no name of its own.
    assert "test 12" in text
    assert re.search(r"\b1 intake [0-9a-f]{4} ", text)


def test_internal_notes_and_purchase_prices_are_neither_printed_nor_attached(report_input):
    """What is the workshop's own stays in the workshop."""
    pdf = make_report(report_input(reader="expert"))
    attached = pypdf.PdfReader(io.BytesIO(pdf)).attachments["2031-0007.job.json"][0].decode()
    for secret in ("haggle", "9.10", "Fen Parts", "07700 900 412"):
        assert secret not in text_of(pdf)
        assert secret not in attached
    assert "whether the battery could be kept" in text_of(pdf)


def test_attached_job_reads_back_as_the_shown_job_with_its_seal_intact(report_input, ground_strap):
    """Whoever has the report can verify it without the book."""
    pdf = make_report(report_input())
    attached = pypdf.PdfReader(io.BytesIO(pdf)).attachments["2031-0007.job.json"][0]
    job = read_job(attached, "2031-0007.job.json")
    assert job == shown_job(ground_strap)
    assert verify_seal(job).intact


def test_attachment_is_named_as_the_data_behind_the_document(report_input):
    """PDF readers show the job file as associated data (ISO 32000-2, AFRelationship)."""
    with pikepdf.open(io.BytesIO(make_report(report_input()))) as pdf:
        (specification,) = pdf.Root.AF
        assert specification.AFRelationship == "/Data"
        assert str(specification.UF) == "2031-0007.job.json"


def test_document_says_its_title_author_language_and_dates(report_input):
    """Title and language are set for readers and screen readers; the dates are those of the issue."""
    with pikepdf.open(io.BytesIO(make_report(report_input()))) as pdf:
        assert str(pdf.docinfo["/Title"]) == "Report on job 2031-0007"
        assert str(pdf.docinfo["/Author"]) == "Larkfield Vehicle Electrics"
        assert str(pdf.docinfo["/CreationDate"]) == "D:20310403154000Z"
        assert str(pdf.Root.Lang) == "en-GB"
        assert pdf.Root.ViewerPreferences.DisplayDocTitle
        with pdf.open_metadata() as metadata:
            assert metadata["dc:title"] == "Report on job 2031-0007"
            assert "en-GB" in metadata["dc:language"]


def test_sections_are_bookmarks(report_input):
    """The reader's list of bookmarks has the title and under it every section."""
    outline = pypdf.PdfReader(io.BytesIO(make_report(report_input()))).outline
    assert outline[0].title == "Report on job 2031-0007"
    titles = [entry.title for entry in outline[1]]
    assert titles[:3] == ["The complaint", "What was wrong", "How we know"]
    assert titles[3:7] == ["What was done", "What it cost", "What to watch", "Condemned, and why: starter ground strap"]
    assert titles[-1] == "Fingerprint"


@needs_qpdf
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_qpdf_finds_nothing_wrong(report_input, paper, tmp_path):
    """An outside checker of the file's syntax is content."""
    assert "No syntax or stream encoding errors" in tool(make_report(report_input(paper=paper)), tmp_path, "qpdf",
                                                         "--check", "FILE")


@needs_poppler
def test_every_font_is_embedded(report_input, changed, tmp_path):
    """No font has to be there where the report is read; the fallback face neither."""
    job = changed(not_tested=("Checked by eye only ✓ ⌀ 35 mm, Ω ≤ ≥ ± → µ",))
    rows = tool(make_report(report_input(job)), tmp_path, "pdffonts", "FILE").splitlines()[2:]
    assert len(rows) >= 4
    # The columns emb and sub stand before uni and the two numbers of the object.
    assert all(row.split()[-5:-3] == ["yes", "yes"] for row in rows), rows


# --- the same bytes -------------------------------------------------------------------------------------------------

_OTHER_PROCESS = """
import hashlib, os, sys
os.environ["TZ"] = "Pacific/Auckland"
sys.path.insert(0, sys.argv[1])
import conftest
from workshop_log.exchange.reading import read_job
from workshop_log.paper.report import make_report
job = read_job(open(sys.argv[2], "rb").read(), "x")
print(hashlib.sha256(make_report(conftest.input_for(job, {}))).hexdigest())
"""


def test_same_input_gives_the_same_bytes_in_another_process(report_input, ground_strap, tmp_path):
    """Neither the clock, nor the time zone, nor the order of hashes, nor the environment enters the file."""
    from workshop_log.exchange.writing import write_job

    path = tmp_path / "x.job.json"
    path.write_bytes(write_job(ground_strap))
    here = hashlib.sha256(make_report(report_input(ground_strap, photos={}))).hexdigest()
    for seed, epoch in (("1", {}), ("2", {"SOURCE_DATE_EPOCH": "1000000000"})):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT), **epoch}
        command = [sys.executable, "-c", _OTHER_PROCESS, str(Path(__file__).parent), str(path)]
        there = subprocess.run(command, check=True, capture_output=True, text=True, env=environment,
                               timeout=60).stdout.strip()
        assert there == here


def test_making_a_report_leaves_no_setting_behind(report_input):
    """ReportLab's global settings and the environment are as before."""
    from reportlab import rl_config

    before = rl_config.useA85, rl_config.invariant, rl_config.canvas_basefontname, dict(os.environ)
    make_report(report_input())
    assert (rl_config.useA85, rl_config.invariant, rl_config.canvas_basefontname, dict(os.environ)) == before


def test_issue_without_a_time_zone_is_refused(report_input):
    """A report's date must mean one moment."""
    with pytest.raises(ReportError, match="time zone"):
        report_input(issued=datetime(2031, 4, 3, 12, 0))  # noqa: DTZ001 - the point of the test


# --- user text is never markup --------------------------------------------------------------------------------------

MARKUP = ("<b>bold", "</para>", "a<b>c", "R&D", "&lt;", "&#65;", '<img src="/etc/hostname"/>', "<br/>", "<![CDATA[x]]>",
          '<a href="javascript:alert(1)">here</a>', "<font color='__import__(\"os\")'>x</font>", "{number}", "%s %(x)s",
          "<!-- -->", "<?xml version='1.0'?>", "<seq id='x'/>", "<onDraw name='x'/>", "${HOME}", "\\u0041")


@pytest.mark.parametrize("text", MARKUP)
def test_markup_is_printed_as_typed(report_input, changed, text):
    """Whatever a person types stands on the paper, character by character."""
    job = changed(
        vehicle=records.Vehicle(registration=text, make=text, odometer=text), not_tested=(text,),
        complaints=(records.Complaint(id="c1", words=text, conditions=text),), customer=records.Customer(name=text),
        condemned=(records.Condemned(id="k", part=text, decision="replace", finding=text, what_was_done=text),),
        parts=(records.Part(id="p", name=text),))
    pdf = make_report(report_input(job))
    assert text_of(pdf).count(plain(text)) >= 7
    links = [note.get_object() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages for note in page.get("/Annots", ())]
    # Only from place to place in the report itself, and to the workshop's own address.
    assert [link["/A"]["/URI"] for link in links if "/A" in link] == [f"mailto:{job.workshop.email}"]


def test_control_characters_are_left_out_and_missing_ones_shown_and_named(report_input, changed):
    """A character without a glyph is an empty box, and the report says which it was."""
    job = changed(not_tested=("Loom \x00\x0b\x1b[31mred\u202e, \U0001f600 and \u6f22, \u05d0.",))
    text = text_of(make_report(report_input(job)))
    assert "Loom [31mred, □ and □, □." in text
    assert "shown as □: U+05D0 hebrew letter alef, U+6F22 cjk unified ideograph-6f22, U+1F600 grinning face." in text


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=120), st.text(st.characters(codec="utf-8"), min_size=1, max_size=60))
def test_any_text_can_be_printed(report_input, changed, words, name):
    """No text that a person could type or paste keeps the report from being made."""
    step = records.ValueStep(id="s1", what=name, where=words[:100], reading="3 V", setup=words[:100], note=words)
    job = changed(
        number=name[:32], vehicle=records.Vehicle(registration=name, make=words, vin=words), not_tested=(words,),
        workshop=records.Workshop(name=words, address=words, tax_number=name),
        complaints=(records.Complaint(id=name, words=words, conditions=words, appears="always"),),
        condemned=(records.Condemned(id="k", part=name, decision="replace", finding=words, steps=("s1",),
                                     unproved=words),),
        steps=(step,), parts=(records.Part(id="p", name=name),), approvals=(), photos=())
    with pikepdf.open(io.BytesIO(make_report(report_input(job)))) as pdf:
        assert len(pdf.pages) >= 2


# --- large and odd jobs ---------------------------------------------------------------------------------------------


def test_long_texts_and_unbroken_words_fit(report_input, changed):
    """Notes of 10,000 characters and words of 400 neither stop the report nor get lost."""
    word, note = "W" * 400, "The strap was looked at again. " * 330 + "Last word."
    steps = tuple(records.VoltageStep(id=f"s{n}", red=word, black=word, setup=word, reading="1.2 V", note=note,
                                      expected=records.Expected(high="2 V", source=word)) for n in range(1, 4))
    job = changed(steps=steps, not_tested=(note, word), photos=(),
                  condemned=(records.Condemned(id="k", part=word, decision="replace", finding=note, steps=("s1",)),))
    text = text_of(make_report(report_input(job, photos={})))
    assert text.count("Last word.") == 5
    assert "More about test 3" in text


def test_two_hundred_readings_and_sixty_photos_fit(report_input, changed, pictures):
    """A long job is a long report, header and key words on every page."""
    steps = tuple(records.VoltageStep(id=f"s{n}", red=f"point {n}", reading="12.40 V",
                                      expected=records.Expected(low="12 V", high="13 V", source="typed"))
                  for n in range(1, 201))
    sha = next(iter(pictures))
    photos = tuple(records.Photo(id=f"f{n}", caption=f"Photo number {n}.", sha256=sha) for n in range(60))
    pdf = make_report(report_input(changed(steps=steps, photos=photos, condemned=())))
    pages = [plain(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]
    tests = [page for page in pages if "Voltage: point" in page]
    assert len(tests) > 8
    assert all("What and where" in page and "Verdict" in page for page in tests)
    assert "Photo number 59." in " ".join(pages)
    # One picture used sixty times is in the file once.
    assert len(pdf) < 1_500_000


@pytest.mark.parametrize("count", range(8, 30))
def test_last_row_never_stands_alone_on_a_page(report_input, changed, count):
    """However many rows there are, the last page of a table has at least two of them."""
    steps = tuple(records.VoltageStep(id=f"s{n}", red=f"point {n}", reading="12.40 V",
                                      expected=records.Expected(low="12 V", high="13 V")) for n in range(1, count + 1))
    job = changed(steps=steps, photos=(), condemned=(), not_tested=(), complaints=(), fault_codes=())
    pages = [plain(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(make_report(report_input(job)))).pages]
    rows = [page.count("Voltage: point") for page in pages]
    assert sum(rows) == count
    assert 1 not in rows


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("reader", ["customer", "expert"])
def test_empty_job_has_a_report(report_input, paper, reader):
    """Nothing is compulsory: an empty job prints, and claims nothing."""
    text = text_of(make_report(report_input(records.Job(), paper=paper, reader=reader)))
    assert "No complaint is written down." in text
    assert "No part is condemned." in text
    assert "This job has no seal." in text


# --- photos ---------------------------------------------------------------------------------------------------------


def test_photo_loses_its_position_and_is_turned_upright(report_input, changed):
    """A picture from a telephone is printed upright at print resolution, and nothing but the picture is kept."""
    image = Image.new("RGB", (3000, 1500), "white")
    image.paste((200, 0, 0), (0, 0, 300, 1500))
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x010F] = "A-maker-of-telephones"
    exif.get_ifd(0x8825)[1] = "N"
    file = io.BytesIO()
    image.save(file, "JPEG", exif=exif)
    sha = hashlib.sha256(file.getvalue()).hexdigest()
    job = changed(photos=(records.Photo(id="f1", sha256=sha),))
    pdf = make_report(report_input(job, photos={sha: file.getvalue()}))
    (embedded,) = [image for page in pypdf.PdfReader(io.BytesIO(pdf)).pages for image in page.images]
    assert b"Exif" not in embedded.data
    assert b"A-maker-of-telephones" not in pdf
    assert embedded.image.height > embedded.image.width
    assert embedded.image.height <= 660
    # The red edge, left in the file, is on top once the picture is turned as the telephone was held.
    assert embedded.image.getpixel((embedded.image.width // 2, 5))[0] > 150
    assert embedded.image.getpixel((embedded.image.width // 2, 5))[1] < 90


@pytest.mark.parametrize(("data", "said"), [(b"no picture", "cannot be read"), (b"", "is not in the book")])
def test_picture_that_cannot_be_shown_is_named(report_input, changed, data, said):
    """A broken or missing file is said, not left out."""
    job = changed(photos=(records.Photo(id="f1", name="bay.jpg", sha256="0" * 64),))
    text = text_of(make_report(report_input(job, photos={"0" * 64: data})))
    assert f"bay.jpg: this picture {said}" in text


def test_transparent_picture_is_laid_on_white(report_input, changed):
    """Where a picture is transparent the paper shows, not black."""
    file = io.BytesIO()
    Image.new("RGBA", (50, 40), (0, 0, 0, 0)).save(file, "PNG")
    job = changed(photos=(records.Photo(id="f1", sha256="0" * 64, media_type="image/png"),))
    pdf = make_report(report_input(job, photos={"0" * 64: file.getvalue()}))
    (embedded,) = [image for page in pypdf.PdfReader(io.BytesIO(pdf)).pages for image in page.images]
    assert min(embedded.image.getpixel((25, 20))) > 250
