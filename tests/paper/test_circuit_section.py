"""The circuit in the report: where its tests were made, as vectors, and in words."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import msgspec
import pypdf
import pytest

from workshop_log.exchange.reading import read_job
from workshop_log.jobs.evaluation import evaluate
from workshop_log.paper.circuit_marks import marks_of
from workshop_log.paper.report import make_report
from workshop_log.paper.report_input import ReportInput, report_input

_JOBS = Path(__file__).resolve().parents[2] / "sample_jobs"


def input_of(name: str, reader: str = "customer") -> ReportInput:
    path = _JOBS / f"{name}.job.json"
    job = read_job(path.read_bytes(), path.name)
    return report_input(job, evaluate(job), {}, reader=reader, issued=datetime(2031, 5, 1, tzinfo=UTC))


@pytest.mark.parametrize("reader", ["customer", "expert"])
def test_report_shows_the_circuit_with_the_numbers_of_its_tests(reader: str) -> None:
    """Both readers find the drawing after the tests, as text that can be searched and not as a picture."""
    pdf = pypdf.PdfReader(io.BytesIO(make_report(input_of("ground-strap", reader))))
    text = "\n".join(page.extract_text() for page in pdf.pages)
    assert text.index("Tests and readings") < text.index("The circuit") < text.index("Time, parts and total")
    page = next(page for page in pdf.pages if "\nThe circuit" in "\n" + page.extract_text())
    shown = page.extract_text()
    for words in ("W30", "35 mm² RD", "K50", "strap, body end", "Tests 11, 12, 16"):
        assert words in shown, words


def test_drawing_is_a_figure_with_words() -> None:
    """A screen reader hears every element and where each test was made."""
    pdf = pypdf.PdfReader(io.BytesIO(make_report(input_of("fuel-sender"))))

    def spoken(node: object) -> list[str]:
        node = node.get_object()
        if not isinstance(node, pypdf.generic.DictionaryObject):
            return []
        said = [str(node["/Alt"])] if "/Alt" in node else []
        children = node.get("/K", [])
        for child in children if isinstance(children, list) else [children]:
            said += spoken(child)
        return said

    words = [text for text in spoken(pdf.trailer["/Root"]["/StructTreeRoot"]) if text.startswith("Circuit: ")]
    assert len(words) == 1
    assert "sensor SND" in words[0]
    assert "Test 1: at X5.2a." in words[0]


def test_numbers_stand_where_the_tests_were_made() -> None:
    """A drop stands at both of its points, a voltage to battery negative only at the red one, a current at its part."""
    content = input_of("ground-strap")
    marks, readings = marks_of(content.job, content.evaluation, content.job.circuits[0],
                               lambda numbers: f"Tests {', '.join(numbers)}")
    # By hand from the job file: drops s10 to s12 and s16, steps s3, s7 and s8 corrected where others replace them.
    assert marks.points["strap, body end"] == "Tests 11, 12, 16"
    assert "B-" not in marks.points
    assert marks.elements["M1"] == "Tests 5, 17"
    # The joint was outside while the fault was there, and stays so on paper after the repair; the strap never was.
    assert readings["point", "strap, body end"].step.id == "s12"
    assert readings["point", "strap, engine end"].step.id == "s11"


def test_same_report_twice_is_the_same_bytes() -> None:
    """Nothing in the drawing depends on chance."""
    assert make_report(input_of("tailgate-unit")) == make_report(input_of("tailgate-unit"))


def test_how_a_drawing_is_read_is_said_once() -> None:
    """A second circuit is drawn below its title."""
    content = input_of("fuel-sender")
    circuit = content.job.circuits[0]
    second = msgspec.structs.replace(circuit, id="second", title="Second circuit")
    pdf = make_report(replace(content, job=msgspec.structs.replace(content.job, circuits=(circuit, second), seal=None)))
    text = " ".join("".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages).split())
    assert text.count("Supply on top, ground at the bottom") == 1
    assert "Second circuit." in text


def test_job_without_a_circuit_has_no_section() -> None:
    """The brake disc needs none."""
    pdf = pypdf.PdfReader(io.BytesIO(make_report(input_of("brake-disc"))))
    assert all("The circuit" not in page.extract_text() for page in pdf.pages)


def test_a_clear_lamp_test_says_how_far_it_could_see() -> None:
    """The customer reads it, too: a lamp that stayed dark clears only what would have lit it."""
    pages = pypdf.PdfReader(io.BytesIO(make_report(input_of("chafed-wire")))).pages
    text = "".join(page.extract_text() for page in pages)
    assert "would have lit for any path to ground below" in " ".join(text.split())


def sizes_of(page: pypdf.PageObject) -> list[float]:
    """Return how large each piece of a page's text is, however much its drawing was made smaller, in points."""
    sizes = []

    def note(text: str, cm: list, tm: list, _font: object, size: float) -> None:
        if text.strip():
            sizes.append(size * abs(tm[3] * cm[3]))

    page.extract_text(visitor_text=note)
    return sizes


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", ["data-bus", "door-window", "drained-battery", "ground-strap", "tailgate-unit"])
def test_words_of_a_circuit_are_large_enough_to_read(name: str, paper: str) -> None:
    """A wide one lies across the last page, where the others stand upright; none is smaller than six points."""
    pdf = pypdf.PdfReader(io.BytesIO(make_report(replace(input_of(name), paper=paper))))
    assert min(size for page in pdf.pages for size in sizes_of(page)) >= 6.0
    are_wide = [page.mediabox.width > page.mediabox.height for page in pdf.pages]
    assert are_wide == [False] * (len(are_wide) - 1) + [name in ("data-bus", "door-window", "drained-battery")]
    (drawn,) = [page for page in pdf.pages if "Supply on top, ground at the bottom" in page.extract_text()]
    assert ("drawn at the end" in "".join(page.extract_text() for page in pdf.pages)) is are_wide[-1]
    assert (drawn == pdf.pages[-1]) is are_wide[-1]
