"""The system's print dialog over a window, and what is printed of what was chosen in it."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import pytest
from delivery.papers import paper, squares_of, words_of
from delivery.virtual_printers import EMPTY, OFFICE, SLOW, VirtualPrinters, needs_cups
from desktop.looking import settle, work_done
from PySide6.QtCore import Qt
from PySide6.QtPrintSupport import QPrintDialog
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QFileDialog,
    QLineEdit,
    QMessageBox,
    QPushButton,
    QRadioButton,
    QSpinBox,
    QTabBar,
    QToolButton,
    QWidget,
)
from reportlab.lib.pagesizes import A3, LETTER

from workshop_log.delivery import cups
from workshop_log.delivery import printing as handing
from workshop_log.delivery.printing import Handed, Standing
from workshop_log.desktop import printing
from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.printing import print_pdf
from workshop_log.desktop.printing import words_of as outcome

# Said by the offscreen platform about itself when a list of file names comes up.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)
PAPER = paper(5)
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def told(window: MainWindow) -> list[str]:
    said: list[str] = []
    window.desk.told.connect(said.append)
    return said


@pytest.fixture
def problems(window: MainWindow) -> list[str]:
    said: list[str] = []
    window.desk.problem.connect(said.append)
    return said


def opened(window: MainWindow, pdf: bytes = PAPER, current_page: int = 0) -> QPrintDialog:
    """Ask for the paper to be printed, and wait for the dialog."""
    print_pdf(window, window.desk, pdf, "Report 7.pdf", current_page)
    work_done()
    dialog = QApplication.activeModalWidget()
    assert isinstance(dialog, QPrintDialog), window.bar.text()
    return dialog


def part(dialog: QPrintDialog, kind: type, name: str) -> QWidget:
    found = dialog.findChild(kind, name)
    assert found is not None and found.isVisible(), f"{name} cannot be seen"
    return found


def choose_printer(dialog: QPrintDialog, name: str) -> None:
    box = part(dialog, QComboBox, "printers")
    box.setCurrentIndex(box.findText(name))
    settle()


def opened_over(window: MainWindow, printer: str) -> QPrintDialog:
    dialog = opened(window)
    choose_printer(dialog, printer)
    return dialog


def press(dialog: QWidget, words: str) -> None:
    button = next(b for b in dialog.findChildren(QPushButton) if b.text().replace("&", "") == words)
    QTest.mouseClick(button, LEFT)
    settle()


def wait_for_jobs(printers: VirtualPrinters) -> None:
    until = time.monotonic() + 20
    while printers.queued():
        assert time.monotonic() < until, printers.log()
        time.sleep(0.05)


def printed(printers: VirtualPrinters) -> object:
    """Wait for the one job, and return what came of it."""
    work_done()
    came = printers.came()
    assert len(came) == 1, printers.log()
    return printers.kept(f"x-{came[0]}")


@needs_cups
def test_the_dialog_offers_what_a_paper_needs(printers: VirtualPrinters, window: MainWindow):
    """Printers, pages up to the last, copies and collating, all to be seen at once; the window is not blocked by it."""
    dialog = opened(window)
    assert part(dialog, QComboBox, "printers").currentText() == OFFICE
    for kind, name in ((QRadioButton, "printAll"), (QRadioButton, "pagesRadioButton"), (QRadioButton, "printRange"),
                       (QSpinBox, "copies"), (QWidget, "collate"), (QSpinBox, "from"), (QSpinBox, "to")):
        part(dialog, kind, name)
    assert dialog.findChild(QSpinBox, "to").maximum() == 5
    assert not dialog.findChild(QRadioButton, "printCurrentPage").isVisible()
    assert dialog.windowTitle() == "Print: Report 7"
    unnamed = [w.objectName() for w in dialog.findChildren(QWidget)
               if w.isVisible() and isinstance(w, QSpinBox | QLineEdit | QComboBox) and not w.accessibleName()
               and not isinstance(w.parent(), QSpinBox)]
    assert unnamed == []
    press(dialog, "Cancel")
    work_done()
    assert printers.came() == printers.queued() == []
    assert window.findChildren(QPrintDialog) == []


@needs_cups
def test_the_whole_paper_goes_to_the_chosen_printer(
        printers: VirtualPrinters, window: MainWindow, told: list[str], problems: list[str]):
    """As text; and the status line says where it went."""
    dialog = opened(window)
    press(dialog, "Print")
    kept = printed(printers)
    assert words_of(kept.pdf) == [f"Page number {n}" for n in range(1, 6)]
    assert (kept.title, kept.copies, kept.options["media"]) == ("Report 7", 1, "A4")
    assert told == [f"“Report 7” has gone to the printer office as job office-{printers.came()[0]}."]
    assert window.statusBar().currentMessage() == told[0]
    assert problems == []


@needs_cups
def test_a_paper_asks_for_sheets_of_its_own_size(printers: VirtualPrinters, window: MainWindow):
    """Not for what the printer has by default."""
    press(opened(window, paper(1, LETTER)), "Print")
    assert printed(printers).options["media"] == "Letter"


@needs_cups
def test_sheets_that_the_printer_has_not_are_not_asked_for(printers: VirtualPrinters, window: MainWindow):
    """It takes those that it has, and the page is fitted to them."""
    press(opened(window, paper(1, A3)), "Print")
    assert printed(printers).options["media"] == "A4"


@needs_cups
@pytest.mark.parametrize(("button", "duplex"), [("duplexShort", "DuplexTumble"), ("noDuplex", "None")])
def test_sheets_are_turned_as_chosen(printers: VirtualPrinters, window: MainWindow, button: str, duplex: str):
    """Like a calendar, or not at all."""
    dialog = opened(window)
    tabs = dialog.findChild(QTabBar)
    QTest.mouseClick(tabs, LEFT, pos=tabs.tabRect(1).center())
    QTest.mouseClick(part(dialog, QRadioButton, button), LEFT)
    press(dialog, "Print")
    assert printed(printers).options["Duplex"] == duplex


@needs_cups
def test_pages_copies_and_sides_are_as_chosen(printers: VirtualPrinters, window: MainWindow):
    """By the keyboard and the mouse."""
    dialog = opened(window)
    QTest.mouseClick(part(dialog, QRadioButton, "pagesRadioButton"), LEFT)
    field = part(dialog, QLineEdit, "pagesLineEdit")
    field.setFocus()
    QTest.keyClicks(field, "2-3,5")
    copies = part(dialog, QSpinBox, "copies")
    copies.setFocus()
    QTest.keyClick(copies, Qt.Key.Key_Up)
    tabs = dialog.findChild(QTabBar)
    QTest.mouseClick(tabs, LEFT, pos=tabs.tabRect(1).center())
    QTest.mouseClick(part(dialog, QRadioButton, "duplexLong"), LEFT)
    press(dialog, "Print")
    kept = printed(printers)
    assert words_of(kept.pdf) == [f"Page number {n}" for n in (2, 3, 5)]
    assert kept.copies == 2
    assert kept.options["Duplex"] == "DuplexNoTumble"
    assert "collate" in kept.options


@needs_cups
def test_from_and_to_are_pages_too(printers: VirtualPrinters, window: MainWindow):
    """The other way to say it in the same dialog."""
    dialog = opened(window)
    QTest.mouseClick(part(dialog, QRadioButton, "printRange"), LEFT)
    part(dialog, QSpinBox, "from").setValue(2)
    part(dialog, QSpinBox, "to").setValue(3)
    press(dialog, "Print")
    assert words_of(printed(printers).pdf) == ["Page number 2", "Page number 3"]


@needs_cups
def test_the_page_that_is_looked_at_can_be_printed(printers: VirtualPrinters, window: MainWindow):
    """Where the page says which that is."""
    dialog = opened(window, current_page=4)
    QTest.mouseClick(part(dialog, QRadioButton, "printCurrentPage"), LEFT)
    press(dialog, "Print")
    assert words_of(printed(printers).pdf) == ["Page number 4"]


@needs_cups
@pytest.mark.parametrize(("row", "pages"), [(1, [1, 3, 5]), (2, [2, 4])])
def test_odd_or_even_pages(printers: VirtualPrinters, window: MainWindow, row: int, pages: list[int]):
    """For paper that is turned by hand, and the last page first."""
    dialog = opened(window)
    part(dialog, QComboBox, "pageSetCombo").setCurrentIndex(row)
    QTest.mouseClick(part(dialog, QWidget, "reverse"), LEFT)
    press(dialog, "Print")
    assert words_of(printed(printers).pdf) == [f"Page number {n}" for n in reversed(pages)]


@needs_cups
def test_pages_that_are_not_there_are_told(printers: VirtualPrinters, window: MainWindow, problems: list[str]):
    """With those that are."""
    dialog = opened(window)
    QTest.mouseClick(part(dialog, QRadioButton, "pagesRadioButton"), LEFT)
    QTest.keyClicks(part(dialog, QLineEdit, "pagesLineEdit"), "9")
    press(dialog, "Print")
    work_done()
    assert problems == ["Nothing to print: the paper has pages 1 to 5, and none of them was chosen by 9."]
    assert printers.came() == []


@needs_cups
def test_printed_to_a_file_it_is_the_very_paper(
        printers: VirtualPrinters, window: MainWindow, told: list[str], tmp_path: Path):
    """Not a drawing of it."""
    dialog = opened(window)
    box = part(dialog, QComboBox, "printers")
    box.setCurrentIndex(box.count() - 1)
    field = part(dialog, QLineEdit, "filename")
    field.selectAll()
    QTest.keyClicks(field, str(tmp_path / "out.pdf"))
    press(dialog, "Print")
    work_done()
    assert (tmp_path / "out.pdf").read_bytes() == PAPER
    assert told == [f"Saved as {tmp_path / 'out.pdf'}."]
    assert printers.came() == []


@needs_cups
def test_a_place_for_the_file_is_looked_for_with_the_book_let_alone(
        printers: VirtualPrinters, window: MainWindow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """As everywhere else in the window; what was answered stands in the dialog, and is written."""
    resting: list[bool] = []

    def answer(*_: object) -> tuple[str, str]:
        resting.append(window.desk.is_resting)
        return str(tmp_path / "there"), ""

    monkeypatch.setattr(QFileDialog, "getSaveFileName", answer)
    dialog = opened(window)
    box = part(dialog, QComboBox, "printers")
    box.setCurrentIndex(box.count() - 1)
    QTest.mouseClick(part(dialog, QToolButton, "fileBrowser"), LEFT)
    assert resting == [True]
    assert not window.desk.is_resting
    press(dialog, "Print")
    work_done()
    assert (tmp_path / "there.pdf").read_bytes() == PAPER


@needs_cups
def test_a_stopped_printer_is_told_above_the_page(
        printers: VirtualPrinters, window: MainWindow, problems: list[str]):
    """Not in passing: somebody has to do something."""
    printers.run("cupsdisable", OFFICE)
    press(opened(window), "Print")
    work_done()
    assert problems == ["The printer office has stopped: it was paused. Start it again and print once more, or choose "
                        "another one."]


@needs_cups
def test_a_printer_without_paper_is_told(printers: VirtualPrinters, window: MainWindow, problems: list[str]):
    """And where the paper waits."""
    dialog = opened(window)
    choose_printer(dialog, EMPTY)
    press(dialog, "Print")
    work_done()
    assert len(problems) == 1
    assert "it has no paper" in problems[0]
    assert printers.queued()[0] in problems[0]


@needs_cups
def test_printing_is_ended_from_the_strip(
        printers: VirtualPrinters, window: MainWindow, told: list[str], qtbot: object):
    """The job leaves the queue."""
    dialog = opened_over(window, SLOW)
    press(dialog, "Print")
    qtbot.waitUntil(lambda: bool(printers.queued()), timeout=20_000)
    qtbot.waitUntil(window.work_strip.isVisible, timeout=20_000)
    assert "Printing on slow" in window.work_strip.words.text()
    QTest.mouseClick(window.work_strip.end, LEFT)
    work_done()
    assert printers.queued() == printers.came() == []
    assert told == ["Ended: “Report 7” is out of the queue of slow; what was printed before stays."]


@needs_cups
def test_a_job_in_the_queue_outlives_the_window(printers: VirtualPrinters, window: MainWindow, qtbot: object):
    """Somebody prints, closes the program and goes home."""
    press(opened_over(window, SLOW), "Print")
    qtbot.waitUntil(lambda: bool(printers.queued()), timeout=20_000)
    window.close()
    work_done()
    assert len(printers.queued()) == 1


@needs_cups
def test_nothing_that_waits_for_the_printing_system_is_done_on_the_windows_thread(
        printers: VirtualPrinters, window: MainWindow, monkeypatch: pytest.MonkeyPatch):
    """Neither looking for printers nor handing over nor following."""
    asked: dict[str, set[bool]] = {}
    ask = cups.ask

    def watched(*command: str, given: bytes = b"") -> object:
        asked.setdefault(command[0], set()).add(threading.current_thread() is threading.main_thread())
        return ask(*command, given=given)

    monkeypatch.setattr(cups, "ask", watched)
    monkeypatch.setattr(handing, "ask", watched)
    press(opened(window), "Print")
    printed(printers)
    assert asked == {"lpstat": {False}, "lpoptions": {False}, "lp": {False}}


@needs_cups
def test_asked_for_twice_there_is_one_dialog(printers: VirtualPrinters, window: MainWindow):
    """However quick the fingers."""
    print_pdf(window, window.desk, PAPER, "Report 7")
    dialog = opened(window)
    assert window.findChildren(QPrintDialog) == [dialog]
    press(dialog, "Cancel")
    again = opened(window)
    press(again, "Cancel")


# --- without a printer, or without lp -------------------------------------------------------------------------------

@pytest.fixture
def no_printer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(printing, "has_lp", lambda: True)
    monkeypatch.setattr(printing, "printers", tuple)


def message(window: MainWindow) -> QMessageBox:
    print_pdf(window, window.desk, PAPER, "Report 7.pdf")
    work_done()
    box = QApplication.activeModalWidget()
    assert isinstance(box, QMessageBox)
    return box


def test_without_a_printer_saving_is_offered(
        no_printer: None, window: MainWindow, told: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """One sentence, and what to do is one button away."""
    asked: list[str] = []

    def answer(_parent: QWidget, _title: str, proposed: str, _kinds: str) -> tuple[str, str]:
        asked.append(proposed)
        return str(tmp_path / "mine"), ""

    monkeypatch.setattr(QFileDialog, "getSaveFileName", answer)
    box = message(window)
    assert box.text() == ("No printer is set up on this machine: save “Report 7” as a PDF and print it elsewhere.")
    press(box, "Save as PDF…")
    work_done()
    assert asked[0].endswith("Report 7.pdf")
    assert (tmp_path / "mine.pdf").read_bytes() == PAPER
    assert told == [f"Saved as {tmp_path / 'mine.pdf'}."]


def test_without_a_printer_nothing_need_be_saved(no_printer: None, window: MainWindow, told: list[str]):
    """Close, or Escape, and it can be asked for again."""
    QTest.keyClick(message(window), Qt.Key.Key_Escape)
    settle()
    press(message(window), "Close")
    work_done()
    assert told == []
    assert window.findChildren(QMessageBox) == []


def test_what_is_no_paper_is_told(no_printer: None, window: MainWindow, problems: list[str]):
    """No dialog for it."""
    print_pdf(window, window.desk, b"torn", "x")
    work_done()
    assert problems == ["This is no PDF with pages: draw the paper again."]
    assert QApplication.activeModalWidget() is None


@needs_cups
@pytest.mark.parametrize("way", ["pages", "from"])
def test_without_lp_the_pages_are_drawn(
        printers: VirtualPrinters, window: MainWindow, told: list[str], monkeypatch: pytest.MonkeyPatch, way: str):
    """Those that were chosen, at their size, as pictures."""
    monkeypatch.setattr(printing, "has_lp", lambda: False)
    dialog = opened(window)
    if way == "pages":
        QTest.mouseClick(part(dialog, QRadioButton, "pagesRadioButton"), LEFT)
        QTest.keyClicks(part(dialog, QLineEdit, "pagesLineEdit"), "2-3")
    else:
        QTest.mouseClick(part(dialog, QRadioButton, "printRange"), LEFT)
        part(dialog, QSpinBox, "from").setValue(2)
        part(dialog, QSpinBox, "to").setValue(3)
    press(dialog, "Print")
    work_done()
    assert told == ["“Report 7” has gone to the printer office."]
    wait_for_jobs(printers)
    kept = printed(printers)
    assert (squares_of(PAPER), squares_of(kept.pdf)) == ([1, 2, 3, 4, 5], [2, 3])
    # Pictures have no words.
    assert words_of(kept.pdf) == ["", ""]
    assert kept.title == "Report 7"


@pytest.mark.parametrize(("standing", "trouble", "words"), [
    (Standing.PRINTED, "", "“R” has gone to the printer p as job p-1."),
    (Standing.PRINTED, "it has no paper",
     "“R”, job p-1, has gone to the printer p, which says: it has no paper. See to it, and count the pages."),
    (Standing.WAITING, "", "“R” is in the queue of the printer p as job p-1."),
    (Standing.HELD, "", "The printer p has stopped. “R”, job p-1, waits there and is printed once the printer runs "
     "again."),
    (Standing.TAKEN_OUT, "", "“R”, job p-1, was taken out of the queue of the printer p. Print it again if it is still "
     "wanted.")])
def test_what_became_of_a_job_is_one_sentence_and_what_to_do(standing: Standing, trouble: str, words: str):
    """For every end that a job can come to."""
    assert outcome(Handed("p-1", "p", standing, trouble), "R") == words
