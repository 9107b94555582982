"""Labels: what came out of which vehicle, why, and until when it is kept; never more than the label holds."""

from __future__ import annotations

import io
import re
import shutil
from decimal import Decimal

import pypdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from paper.made_papers import made, made_of_sample, plain, sample, text_of, tool
from paper.test_papers import outside_words

from workshop_log.exchange.records import Condemned, Part
from workshop_log.exchange.stationery import Stationery
from workshop_log.paper.papers import PaperError

STRAP = sample("ground-strap")
needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")


def pages_of(pdf: bytes) -> list[str]:
    return [plain(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def with_part(**changes: object):
    entry = Condemned(**{"id": "k", "part": "relay", "decision": "replace", "finding": "Its coil is open.",
                         "repaired": STRAP.opened, **changes})
    return replace(STRAP, condemned=(entry,), parts=(), seal=None)


@pytest.mark.parametrize("paper", ["label", "A4", "Letter"])
def test_a_label_says_what_its_part_is(paper):
    """Job, plate, part, why, when it came out, until when it is kept."""
    text = text_of(made_of_sample("temperature-sensor", "label", paper))
    assert "Job 2031-0004 ZZ00 SBL Duct temperature sensor (replaced by QS-3302)" in text
    assert "The sensor in the heater's air duct is right when cold but reads about 16 degrees too cold when" in text
    assert "Removed 20 March 2031 Kept until 19 April 2031" in text


@pytest.mark.parametrize(("days", "until"), [(0, "12 March 2031"), (14, "26 March 2031"), (365, "11 March 2032")])
def test_it_is_kept_as_long_as_the_workshop_keeps_parts(days, until):
    """Counted from the day on which it came out."""
    text = text_of(made("label", with_part(), stationery=Stationery(keep_days=days)))
    assert f"Kept until {until}" in text


@pytest.mark.parametrize(("part", "words"), [
    ("driver's airbag", "Caution: can fire. Trained persons only."), ("battery", "Caution: acid and gas."),
    ("fuel pump", "Caution: fuel."), ("relay", "")])
def test_what_is_dangerous_says_so(part, words):
    """In one line, and nothing where nothing is."""
    text = text_of(made("label", with_part(part=part), paper="label"))
    assert (words in text) if words else "Caution" not in text


def test_a_label_for_each_part_or_for_one():
    """By the case or by what was fitted in its place; a slip names what there is."""
    two = (*with_part().condemned, Condemned(id="k2", part="fuse box", decision="replace", repaired=STRAP.opened))
    job = replace(STRAP, condemned=two, seal=None, parts=(
        Part(id="p1", name="Fuse box", fitted=STRAP.opened, condemned="k2", price=Decimal(3)),))
    assert [page.split(" ZZ00 RDW ")[1].split()[0] for page in pages_of(made("label", job, paper="label"))] == [
        "Relay", "Fuse"]
    assert len(pages_of(made("label", job, paper="label", part="k2"))) == 1
    assert "Fuse box" in text_of(made("label", job, paper="label", part="p1"))
    with pytest.raises(PaperError, match=re.escape("“p7” in this job: its removed parts are k (relay) and k2")):
        made("label", job, part="p7")


@pytest.mark.parametrize(("paper", "per_page"), [("label", 1), ("A4", 14), ("Letter", 14)])
def test_labels_fill_their_sheets(paper, per_page):
    """Two beside and seven below each other on a sheet; one to a page on a roll."""
    parts = tuple(Part(id=f"p{n}", name=f"Part no. {n}.", fitted=STRAP.opened) for n in range(31))
    pages = pages_of(made("label", replace(STRAP, condemned=(), parts=parts, seal=None), paper=paper))
    assert [page.count("Part no.") for page in pages] == [min(per_page, 31 - first) for first in range(0, 31, per_page)]


@needs_poppler
@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(part=st.text("WMi -", min_size=1, max_size=400), why=st.text("WMi .\n", max_size=800),
       number=st.text("WM1-", max_size=80), plate=st.text("WMi ", max_size=60), danger=st.booleans())
def test_texts_never_run_over_each_other_or_the_edge(tmp_path_factory, part, why, number, plate, danger):
    """Whatever the texts, the lines stand below each other on the label, the caution and the last line whole."""
    folder = tmp_path_factory.mktemp("label")
    job = replace(with_part(part=f"{'airbag ' if danger else ''}{part}", finding=why),
                  parts=(Part(id="p", name="x", number=number, fitted=STRAP.opened, condemned="k"),),
                  vehicle=replace(STRAP.vehicle, registration=plate))
    pdf = made("label", job, paper="label")
    assert outside_words(pdf, folder) == []
    words = tool(pdf, folder, "pdftotext", "-bbox-layout", "FILE", "-")
    lines = [tuple(map(float, found)) for found in re.findall(
        r'<line xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)"', words)]
    for first in lines:
        for second in lines:
            beside = first[2] <= second[0] or second[2] <= first[0]
            # The boxes of lines include their leading; letters that touch overlap by more.
            assert first == second or beside or min(first[3], second[3]) - max(first[1], second[1]) < 3
    text = text_of(pdf)
    assert "Removed 12 March 2031 Kept until 11 April 2031" in text
    assert ("Caution: can fire. Trained persons only." in text) == danger


def test_a_long_reason_ends_with_an_ellipsis():
    """It is cut between words, and its beginning stands."""
    text = text_of(made("label", with_part(finding="The coil was looked at again. " * 300), paper="label"))
    assert "The coil was looked at again. The coil" in text
    assert re.search(r"(\w|\.) … Removed", text)
