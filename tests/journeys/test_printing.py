"""The report printed from the window, which stays alive meanwhile."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from delivery.papers import words_of
from delivery.virtual_printers import OFFICE, SLOW, VirtualPrinters, needs_cups
from journeys.driver import PLATFORM_NOISE, Person
from PySide6.QtCore import Qt, QTimer
from PySide6.QtPrintSupport import QPrintDialog
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QRadioButton, QSpinBox, QTabBar

from workshop_log.book.opening import open_book
from workshop_log.desktop.desk import now
from workshop_log.jobs.transfer import import_job, read_file

pytestmark = [PLATFORM_NOISE, needs_cups]

SAMPLE = Path(__file__).parents[2] / "sample_jobs" / "ground-strap.job.json"
# Nothing on the window's thread may take longer than this because something is printed. [s]
LONGEST_PAUSE_S = 0.1


class Pulse:
    """How long the window was busy at most between two beats, in seconds."""

    def __init__(self) -> None:
        self.longest = 0.0
        self._last = time.perf_counter()

    def beat(self) -> None:
        at = time.perf_counter()
        self.longest = max(self.longest, at - self._last)
        self._last = at


@contextmanager
def pulse() -> Iterator[Pulse]:
    """Feel the window's pulse inside the block."""
    felt, timer = Pulse(), QTimer()
    timer.setInterval(1)
    timer.timeout.connect(felt.beat)
    timer.start()
    try:
        yield felt
    finally:
        felt.beat()
        timer.stop()


@pytest.fixture
def reading(begin: Callable[[], Person], book_path: Path) -> Person:
    """Sit before the report of a job, drawn."""
    job = read_file(SAMPLE)
    book = open_book(str(book_path))
    import_job(book, job, now())
    book.close()
    person = begin()
    person.choose_job(job.number)
    person.turn_to(4)
    person.wait_for_the_report()
    return person


def dialog_of(person: Person) -> QPrintDialog:
    """Ask for the report to be printed, and wait for the dialog."""
    person.shortcut(Qt.Key.Key_P)
    person.wait(lambda: isinstance(QApplication.activeModalWidget(), QPrintDialog))
    return QApplication.activeModalWidget()


def choose_printer(person: Person, dialog: QPrintDialog, name: str) -> None:
    person.choose(dialog.findChild(QComboBox, "printers"), name)


def leave(person: Person, dialog: QPrintDialog, words: str) -> None:
    person.press(person.button(words, dialog))
    person.look_at_the_window()


def test_pages_of_the_report_are_printed_as_chosen(reading: Person, printers: VirtualPrinters):
    """Three pages, two copies, both sides: what comes out of the printer is the report's own text."""
    person, pdf = reading, reading.window.report.pdf
    dialog = dialog_of(person)
    name = dialog.windowTitle().removeprefix("Print: ")
    assert person.window.desk.job.number in name
    choose_printer(person, dialog, OFFICE)
    person.press(dialog.findChild(QRadioButton, "pagesRadioButton"))
    person.click_into(dialog.findChild(QLineEdit, "pagesLineEdit"))
    person.keys("1-2,4")
    copies = dialog.findChild(QSpinBox, "copies")
    person.tab_to(copies)
    person.key(Qt.Key.Key_Up)
    tabs = dialog.findChild(QTabBar)
    QTest.mouseClick(tabs, Qt.MouseButton.LeftButton, pos=tabs.tabRect(1).center())
    person.press(dialog.findChild(QRadioButton, "duplexLong"))
    leave(person, dialog, "Print")
    person.rest()
    (number,) = printers.came()
    kept = printers.kept(f"{OFFICE}-{number}")
    whole = words_of(pdf)
    assert words_of(kept.pdf) == [whole[page - 1] for page in (1, 2, 4)]
    assert (kept.title, kept.copies, kept.options["Duplex"]) == (name, 2, "DuplexNoTumble")
    assert person.window.statusBar().currentMessage() == (
        f"“{name}” has gone to the printer {OFFICE} as job {OFFICE}-{number}.")
    assert not person.said


def test_work_goes_on_while_it_prints(reading: Person, printers: VirtualPrinters):
    """A reading is taken down as quickly as with nothing printing; then the job is ended from the window."""
    person, window = reading, reading.window
    # The first one builds the page, which is no part of the comparison.
    person.turn_to(1)
    person.take_down("12.5 V battery +")
    person.turn_to(4)
    person.wait_for_the_report()
    with pulse() as idle:
        person.turn_to(1)
        person.take_down("12.4 V battery +")
        person.qtbot.wait(400)
    person.turn_to(4)
    person.wait_for_the_report()

    dialog = dialog_of(person)
    choose_printer(person, dialog, SLOW)
    leave(person, dialog, "Print")
    with pulse() as printing:
        person.wait(lambda: bool(printers.queued()))
        person.turn_to(1)
        person.take_down("12.3 V battery +")
        person.qtbot.wait(400)
        person.wait(window.work_strip.isVisible)
        assert printers.queued(), "it is through, so nothing was proved"
    assert window.desk.job.steps[-1].reading == "12.3 V"
    assert printing.longest < LONGEST_PAUSE_S + 3 * idle.longest, (printing.longest, idle.longest)

    assert f"Printing on {SLOW}" in person.words(window.work_strip)
    person.press(person.button("Cancel", window.work_strip))
    person.rest()
    person.wait(lambda: not printers.queued())
    assert printers.came() == []
    assert "is out of the queue" in window.statusBar().currentMessage()
    assert not person.said
