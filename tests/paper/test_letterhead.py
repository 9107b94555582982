"""The letterhead: the workshop's name and how to reach it, with or without its logo."""

from __future__ import annotations

import io

import pikepdf
import pypdf
import pytest
from msgspec.structs import replace
from paper.conftest import ISSUED
from paper.test_structure import elements
from PIL import Image, ImageDraw

from workshop_log.exchange import records
from workshop_log.jobs.evaluation import evaluate
from workshop_log.paper.look import Look
from workshop_log.paper.report import make_report
from workshop_log.paper.report_input import report_input

WORKSHOP = records.Workshop(name="Larkfield Vehicle Electrics", phone="01632 960 114", address="Unit 4\nWhinbury")


def logo(width: int, height: int, mode: str = "RGBA") -> bytes:
    """Return a mark on nothing."""
    image = Image.new(mode, (width, height))
    edge = min(2, width // 3)
    ImageDraw.Draw(image).ellipse((edge, edge, width - 1 - edge, height - 1 - edge), fill=(200, 30, 30))
    file = io.BytesIO()
    image.save(file, "PNG")
    return file.getvalue()


def drawn(data: bytes, **facts: str) -> bytes:
    """Return the report of an empty job with this logo."""
    job = records.Job(workshop=WORKSHOP)
    return make_report(report_input(job, evaluate(job), {}, reader="customer", issued=ISSUED,
                                    look=Look(logo=data, **facts)))


@pytest.mark.parametrize("size", [(40, 40), (3000, 400), (200, 3000), (1, 1)])
def test_logo_of_any_shape_fits_and_says_whose_it_is(size: tuple[int, int]) -> None:
    """It is a figure with an alternative text inside its box; the name stays as text."""
    pdf = drawn(logo(*size))
    with pikepdf.open(io.BytesIO(pdf)) as document:
        (figure,) = [e for e in elements(document) if e.S == "/Figure"]
        assert str(figure.Alt) == "Logo of Larkfield Vehicle Electrics"
        left, bottom, right, top = (float(number) for number in figure.A.BBox)
        assert 0 < right - left <= 160.1
        assert 0 < top - bottom <= 44.1
    page = pypdf.PdfReader(io.BytesIO(pdf)).pages[0]
    assert "Larkfield Vehicle Electrics" in page.extract_text()
    (image,) = page.images
    # What was transparent is the paper's white, at the corner of the mark.
    if min(size) > 10:
        assert image.image.convert("RGB").getpixel((0, 0)) == (255, 255, 255)


@pytest.mark.parametrize("data", [b"", b"no picture", logo(60, 60)[:80]])
def test_broken_logo_leaves_the_plain_letterhead(data: bytes) -> None:
    """A report is never stopped by a picture."""
    assert drawn(data) == drawn(b"")


def test_colours_of_the_workshop_are_those_of_headings_and_text() -> None:
    """They are in the page's own words as red, green and blue."""
    page = pypdf.PdfReader(io.BytesIO(drawn(b"", accent="#102030", ink="#400000"))).pages[0]
    content = page.get_contents().get_data().decode("latin-1")
    assert ".062745 .12549 .188235 rg" in content
    assert ".25098 0 0 rg" in content


def links_of(pdf: bytes) -> list[tuple[str, str]]:
    """Return where each link out of the paper leads and what is said of it."""
    notes = [note.get_object() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages for note in page.get("/Annots", ())]
    return [(note["/A"]["/URI"], note["/Contents"]) for note in notes if "/A" in note]


def test_address_of_mail_is_a_link_that_says_itself() -> None:
    """Not the whole letterhead is read aloud for it."""
    job = records.Job(workshop=replace(WORKSHOP, email="bench@larkfield.example.org"))
    pdf = make_report(report_input(job, evaluate(job), {}, reader="customer", issued=ISSUED))
    assert links_of(pdf) == [("mailto:bench@larkfield.example.org", "bench@larkfield.example.org")]


@pytest.mark.parametrize("email", ["", "bench", "a@b@c.example.org", "a@example.org?bcc=b@example.org", "<a@b.example>",
                                   "bench@larkfield.example.org, cellar@larkfield.example.org"])
def test_anything_else_is_printed_and_no_link(email: str) -> None:
    """What leads somewhere else than it says leads nowhere."""
    job = records.Job(workshop=replace(WORKSHOP, email=email))
    pdf = make_report(report_input(job, evaluate(job), {}, reader="customer", issued=ISSUED))
    assert links_of(pdf) == []
    assert email in pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
