"""The structure for screen readers: what is heard, in which order, and that each mark has its owner."""

from __future__ import annotations

import io
import re
import shutil
import subprocess

import pikepdf
import pytest
from paper.made_papers import ISSUED, NAMES, made, sample

from workshop_log.exchange import records
from workshop_log.jobs.evaluation import evaluate
from workshop_log.paper.papers import why_not
from workshop_log.paper.report import make_report
from workshop_log.paper.report_input import report_input as job_input


def elements(pdf: pikepdf.Pdf):
    """Yield every element of the structure in reading order."""
    def below(element):
        yield element
        for child in element.K:
            if "/S" in child:
                yield from below(child)

    yield from below(pdf.Root.StructTreeRoot.K[0])


def check_marks(pdf: pikepdf.Pdf) -> None:
    """Check that each number in a page's drawing stands once in the page's parent tree, and text only inside marks."""
    numbers = list(pdf.Root.StructTreeRoot.ParentTree.Nums)
    owners = {int(numbers[i]): numbers[i + 1] for i in range(0, len(numbers), 2)}
    for index, page in enumerate(pdf.pages):
        depth, marked = 0, []
        for operands, operator in pikepdf.parse_content_stream(page):
            match str(operator):
                case "BDC":
                    marked.append(int(operands[1].MCID))
                    depth += 1
                case "BMC":
                    depth += 1
                case "EMC":
                    depth -= 1
                case "Tj" | "TJ" | "S" | "f" | "Do" | "B":
                    assert depth == 1, f"drawn outside a mark on page {index + 1}"
        assert depth == 0
        assert marked == list(range(len(owners[index])))


@pytest.fixture
def report(report_input):
    """Return the expert's report, opened."""
    with pikepdf.open(io.BytesIO(make_report(report_input(reader="expert")))) as pdf:
        yield pdf


def test_every_marked_piece_has_an_element_and_nothing_is_unmarked(report):
    """A screen reader finds all that is drawn, and nothing that is not."""
    check_marks(report)


def test_headings_stand_in_order(report):
    """One title, sections below it, no level left out."""
    tags = [str(element.S) for element in elements(report) if re.fullmatch(r"/H\d", str(element.S))]
    assert tags.count("/H1") == 1
    assert tags[0] == "/H1"
    assert all(int(after[2]) - int(before[2]) <= 1 for before, after in zip(tags, tags[1:], strict=False))


def test_table_over_two_pages_is_one_table_with_one_header(report_input, changed):
    """A header repeated on a further page is not heard again."""
    steps = tuple(records.VoltageStep(id=f"s{n}", red=f"point {n}", reading="12.40 V",
                                      expected=records.Expected(low="12 V", high="13 V")) for n in range(1, 41))
    job = changed(steps=steps, photos=(), condemned=(), approvals=(), instruments=(), clock=(), parts=())
    with pikepdf.open(io.BytesIO(make_report(report_input(job)))) as pdf:
        assert len(pdf.pages) >= 3
        (table,) = [element for element in elements(pdf) if element.S == "/Table"]
        rows = list(table.K)
        assert [str(cell.S) for cell in rows[0].K] == ["/TH"] * 6
        assert len(rows) == 41
        # The number of a test names its row.
        assert all([str(cell.S) for cell in row.K] == ["/TH", *["/TD"] * 5] for row in rows[1:])
        assert {str(row.K[0].A.Scope) for row in rows[1:]} == {"/Row"}


def test_every_figure_says_what_it_shows(report):
    """Range glyphs and photos have an alternative text and a place."""
    figures = [element for element in elements(report) if element.S == "/Figure"]
    texts = [str(figure.Alt) for figure in figures]
    assert "1.42\u00a0V, expected at most 0.2\u00a0V: outside." in texts
    assert any("strands broken" in text for text in texts)
    assert all(len(figure.A.BBox) == 4 for figure in figures)


def test_text_in_several_lines_is_heard_with_spaces_where_lines_end(report):
    """A drawn line ends without a space, so the element carries the whole text."""
    texts = [str(element.ActualText) for element in elements(report) if "/ActualText" in element]
    assert any("but never quick. The battery is new since February." in text for text in texts)


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="poppler-utils is not installed")
def test_poppler_hears_the_sections_in_order(report_input, tmp_path):
    """An outside reader finds the structure, and in it the text in the order in which it is read."""
    path = tmp_path / "report.pdf"
    path.write_bytes(make_report(report_input()))
    heard = subprocess.run(["pdfinfo", "-struct-text", str(path)], check=True, capture_output=True, text=True,
                           timeout=60).stdout
    sections = ["Report on job", "The complaint", "What was wrong", "How we know", "What was done", "What it cost",
                "What to watch", "Tests and readings", "Photos", "Fingerprint"]
    places = [heard.index(f'"{section}') for section in sections]
    assert places == sorted(places)
    assert "Page 1 of" not in heard


def test_each_link_says_its_own_words(report):
    """Who steps from link to link hears where each leads, and not its whole paragraph."""
    said = [str(note.Contents) for page in report.pages for note in page.get("/Annots", [])]
    assert said
    paragraphs = {str(element.ActualText) for element in elements(report) if "/ActualText" in element}
    assert not set(said) & paragraphs
    assert {"test 5", "Every line of it stands on the bill", "what to mind"} <= set(said)


def cells_of(row: pikepdf.Object) -> int:
    """Return how many columns the cells of a row take together."""
    return sum(int(cell.get("/A", {}).get("/ColSpan", 1)) for cell in row.K)


def page_of(element: pikepdf.Object) -> tuple[int, int]:
    """Return the page on which an element begins."""
    child = next(child for child in element.K if "/S" in child or child.Type == "/MCR")
    return page_of(child) if "/S" in child else child.Pg.objgen


@pytest.mark.parametrize(("kind", "name"), [(kind, name) for kind in ("report", "invoice", "estimate") for name in NAMES
                                            if kind == "report" or not why_not(kind, sample(name))])
def test_tables_are_whole_and_headings_stand_above_what_they_name(kind, name):
    """Whoever steps through cells stays in the column: a result in words takes two, the words beside a sum three.

    No heading is the last thing on its page.
    """
    job = sample(name)
    photos = {photo.sha256: photo.data for photo in job.photos if photo.data}
    data = make_report(job_input(job, evaluate(job), photos, reader="expert", issued=ISSUED, paper="Letter")) \
        if kind == "report" else made(kind, job, paper="Letter")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        tables = [element for element in elements(pdf) if element.S == "/Table"]
        assert tables
        for table in tables:
            assert {cells_of(row) for row in table.K} == {cells_of(table.K[0])}
        blocks = [element for element in elements(pdf) if element.S in ("/H2", "/H3", "/P", "/Table", "/Figure")]
        for heading, following in zip(blocks, blocks[1:], strict=False):
            if heading.S in ("/H2", "/H3"):
                assert page_of(heading) == page_of(following), str(heading.get("/ActualText", heading.S))
