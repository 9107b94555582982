"""The page of papers: which there are, drawn beside the window, saved, sent, handed over; never an outdated one."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest
from desktop.looking import LONG, SHORT, settle, work_done
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QFileDialog

from workshop_log.desktop import email_dialog, printing
from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.pages.report import ReportPage
from workshop_log.desktop.paper_drawing import PAPERS


@pytest.fixture
def page(samples: None, window: MainWindow) -> ReportPage:
    """Return the page with the long job's report drawn."""
    window.open_job(LONG)
    window.turn_to(4)
    work_done()
    assert window.report.pdf
    return window.report


def choose(page: ReportPage, words: str) -> None:
    """Choose a paper and wait for it."""
    page.kind.setCurrentIndex(page.kind.findText(words))
    page.on_kind()
    work_done()


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages).split())


@pytest.mark.parametrize(("words", "said"), [
    ("Report for the customer", "For the customer"), ("Report for an expert", "For the expert"),
    ("Estimate for approval", "Estimate"), ("Invoice summary", "summary"), ("Intake receipt", "receipt"),
    ("Labels for removed parts", "Kept until")])
def test_each_paper_is_drawn(page: ReportPage, words: str, said: str) -> None:
    """All that a job has can be looked at; only a report enters the record."""
    choose(page, words)
    assert said.casefold() in text_of(page.pdf).casefold()
    assert all(button.isEnabled() for button in (page.save, page.print, page.email))
    assert page.issue.isEnabled() is words.startswith("Report")
    assert page.state.text().endswith("kB")


def test_what_a_job_has_not_is_said_and_nothing_is_offered(window: MainWindow) -> None:
    """In one sentence, in the place of the pages."""
    window.take_in()
    window.turn_to(4)
    work_done()
    for words in ("Estimate for approval", "Invoice summary", "Intake receipt", "Labels for removed parts"):
        choose(window.report, words)
        assert window.report.waiting.isVisible()
        assert window.report.waiting.text().endswith(".")
        assert not any(button.isEnabled() for button in (window.report.save, window.report.print, window.report.email,
                                                         window.report.issue))
    choose(window.report, "Report for the customer")
    assert window.report.pdf


def test_each_paper_has_its_place_in_the_menu(samples: None, window: MainWindow) -> None:
    """In the order of the page's own list, and from every page; chosen again it is not drawn again."""
    window.open_job(LONG)
    names = [name for name in window.actions_by_id if name.startswith("paper.")]
    titles = [window.actions_by_id[name].text().replace("&", "") for name in names]
    assert titles == [choice.words for choice in PAPERS]
    for name, choice in zip(names, PAPERS, strict=True):
        window.turn_to(1)
        window.actions_by_id[name].trigger()
        work_done()
        assert window.stack.currentWidget() is window.report
        assert window.report.choice == choice
        assert window.report.pdf
    drawn = window.report.pdf
    window.actions_by_id[names[-1]].trigger()
    assert window.report.pdf is drawn


def test_the_sheet_is_remembered(page: ReportPage, window: MainWindow) -> None:
    """Whoever prints on Letter once prints on Letter the next time; labels have sheets of their own."""
    page.sheet.setCurrentIndex(page.sheet.findData("Letter"))
    page.on_sheet()
    work_done()
    assert pypdf.PdfReader(io.BytesIO(page.pdf)).pages[0].mediabox.width == 612
    choose(page, "Labels for removed parts")
    assert page.sheet.currentData() == "label"
    choose(page, "Invoice summary")
    assert page.sheet.currentData() == "Letter"
    assert QSettings().value("sheet") == "Letter"
    assert ReportPage(window.desk).sheet.currentData() == "Letter"


def test_nothing_outdated_is_offered(page: ReportPage, window: MainWindow) -> None:
    """From the moment of a change until the paper is drawn anew."""
    before = page.pdf
    window.desk.edit("vehicle.odometer", "74999 mi")
    assert page.pdf == b""
    assert not page.save.isEnabled()
    page.rebuild()
    work_done()
    settle()
    assert page.pdf not in (b"", before)
    assert "74999 mi" in text_of(page.pdf)


def test_drawing_that_was_ended_says_how_to_go_on(page: ReportPage, window: MainWindow) -> None:
    """Nothing is left but the sentence; choosing the paper again draws it."""
    page.on_choice()
    window.desk.work.cancel_all()
    work_done()
    if not page.pdf:
        assert page.waiting.text().startswith("This was ended before it was drawn.")
    choose(page, "Report for an expert")
    assert page.pdf


def test_last_wish_wins(page: ReportPage) -> None:
    """Whoever turns quickly from paper to paper sees the last one."""
    for row in range(page.kind.count()):
        page.kind.setCurrentIndex(row)
        page.on_kind()
    page.kind.setCurrentIndex(1)
    page.on_kind()
    work_done()
    assert "For the expert" in text_of(page.pdf)


def test_handing_over_keeps_what_is_done_meanwhile(page: ReportPage, window: MainWindow, tmp_path: Path,
                                                   monkeypatch: pytest.MonkeyPatch) -> None:
    """The report is entered beside the window; an edit made at that moment is neither lost nor hidden."""
    target = tmp_path / "report"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(target), ""))
    pdf = page.pdf
    page.on_issue()
    assert window.desk.edit("vehicle.odometer", "75001 mi") == ""
    work_done()
    assert target.with_suffix(".pdf").read_bytes() == pdf
    assert window.desk.job.vehicle.odometer == "75001 mi"
    assert len(window.desk.job.reports) == 1
    assert window.desk.book.files.get(window.desk.job.reports[0].sha256) == pdf
    assert window.desk.undo_stack.canUndo()


def test_report_that_cannot_be_saved_is_not_entered(page: ReportPage, window: MainWindow, tmp_path: Path,
                                                    monkeypatch: pytest.MonkeyPatch) -> None:
    """What was not saved was not handed over."""
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / "nowhere" / "a.pdf"), ""))
    page.on_issue()
    work_done()
    assert "cannot be written" in window.bar.text()
    assert window.desk.job.reports == ()


def test_email_is_offered_every_paper_of_the_job(page: ReportPage, monkeypatch: pytest.MonkeyPatch) -> None:
    """The one that is looked at is chosen; each can be drawn; labels belong on the parts."""
    asked: list[tuple] = []
    monkeypatch.setattr(email_dialog.EmailDialog, "ask", lambda *arguments: asked.append(arguments))
    choose(page, "Invoice summary")
    page.on_email()
    _, _, offers, what = asked[0]
    assert what == "invoice summary"
    assert len(offers) == len(PAPERS) - 1
    assert [offer.name.split(" 2031")[0] for offer in offers if offer.is_chosen] == ["Invoice summary"]
    assert len({offer.name for offer in offers}) == len(offers)
    assert [offer.reader for offer in offers] == ["customer", "expert", "", "", ""]
    assert offers[1].make(lambda _done, _total: None).startswith(b"%PDF-")


def test_printing_gets_the_very_paper(page: ReportPage, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the page that is looked at, and a name for the queue."""
    given: list[tuple] = []
    monkeypatch.setattr(printing, "print_pdf", lambda *arguments: given.append(arguments))
    page.on_print()
    ((_, _, pdf, name, at),) = given
    assert pdf == page.pdf
    assert name == "Report 2031-0003 ZZ00RDW"
    assert at == 1


def test_other_job_other_paper(page: ReportPage, window: MainWindow) -> None:
    """What was drawn for one job is never shown for another."""
    window.open_job(SHORT)
    assert page.pdf == b""
    window.turn_to(4)
    work_done()
    assert SHORT in text_of(page.pdf)
