"""The one window: its pages, what it says, what it keeps, and that it goes when it is closed."""

from __future__ import annotations

import gc
import weakref
from collections.abc import Callable

import pytest
from desktop.looking import LONG, PAGES, SHORT, settle, work_done
from PySide6.QtCore import QEvent, QObject, QSettings
from PySide6.QtGui import QWindow
from PySide6.QtWidgets import QApplication, QInputDialog

from workshop_log.book.opening import open_book
from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.pages.page import Page
from workshop_log.desktop.workers import wait_for_work


class Shown(QObject):
    """Counts the windows that come up on the screen."""

    def __init__(self) -> None:
        super().__init__()
        self.windows: list[QWindow] = []

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Show and isinstance(watched, QWindow):
            self.windows.append(watched)
        return False


def test_no_other_window_comes_up_while_pages_are_turned(samples: None, window: MainWindow, qapp: QApplication):
    """Nothing flashes: every part of a page is in it before it is shown."""
    watch = Shown()
    qapp.installEventFilter(watch)
    window.open_job(LONG)
    for page in range(len(PAGES)):
        window.turn_to(page)
        work_done()
    qapp.removeEventFilter(watch)
    assert watch.windows == []


def test_without_a_job_the_window_says_how_to_begin(window: MainWindow):
    """Neither an empty page nor a page of another job."""
    assert window.right.currentWidget() is window.welcome
    assert "Ctrl+N" in window.welcome.text()


def test_a_new_job_begins_with_the_plate(window: MainWindow, qapp: QApplication):
    """The cursor is in the first field of the desk, and the job is in the list."""
    window.activateWindow()
    window.actions_by_id["job.new"].trigger()
    settle()
    assert window.desk.job is not None
    assert window.stack.currentWidget() is window.intake
    assert qapp.focusWidget() is window.intake.vehicle.fields["vehicle.registration"]
    assert window.books.model.rowCount() == 1


def test_a_job_opens_at_the_work_that_is_left(samples: None, window: MainWindow):
    """One that is handed back opens at its report, one in work at its tests."""
    window.open_job(LONG)
    assert window.stack.currentWidget() is window.report
    window.open_job("2031-0011")
    assert window.stack.currentWidget() is window.testing


def test_a_job_that_is_not_there_is_a_sentence(samples: None, window: MainWindow):
    """And what was open stays open."""
    window.open_job(SHORT)
    window.open_job("2031-9999")
    assert window.bar_row.isVisible()
    assert "2031-9999" in window.bar.text()
    assert window.desk.job.number == SHORT
    window.bar_close.click()
    assert not window.bar_row.isVisible()


def test_what_is_being_typed_is_kept_when_another_job_is_opened(samples: None, window: MainWindow):
    """Turning away is as good as leaving the field."""
    window.open_job("2031-0010")
    window.turn_to(0)
    window.intake.vehicle.fields["vehicle.odometer"].setText("70001 mi")
    window.open_job(SHORT)
    window.open_job("2031-0010")
    assert window.desk.job.vehicle.odometer == "70001 mi"


def test_what_is_being_typed_is_kept_when_the_window_closes(samples: None, window: MainWindow, book_path: object):
    """The lid may close at any time."""
    from workshop_log.book.jobs import load_job

    window.open_job("2031-0010")
    window.turn_to(0)
    window.intake.vehicle.fields["vehicle.odometer"].setText("70002 mi")
    window.close()
    book = open_book(str(book_path))
    with book.read() as session:
        assert load_job(session, "2031-0010").vehicle.odometer == "70002 mi"
    book.close()


def test_an_edit_is_undone_and_made_again(samples: None, window: MainWindow):
    """One press takes it back, another makes it again; another job has nothing to undo."""
    window.open_job("2031-0010")
    before = window.desk.job.vehicle.odometer
    window.desk.edit("vehicle.odometer", "70003 mi")
    window.undo()
    assert window.desk.job.vehicle.odometer == before
    window.redo()
    assert window.desk.job.vehicle.odometer == "70003 mi"
    window.open_job(SHORT)
    assert not window.desk.undo_stack.canUndo()


def test_the_clock_asks_once_who_works_here(samples: None, window: MainWindow, monkeypatch: pytest.MonkeyPatch):
    """Then it starts and stops with one press each."""
    asked: list[str] = []
    monkeypatch.setattr(QInputDialog, "getItem", lambda *args: asked.append(args[1]) or ("Ostrel Venn", True))
    window.open_job("2031-0010")
    before = len(window.desk.job.clock)
    window.strip.clock.click()
    assert window.desk.job.clock[-1].end is None
    assert window.strip.clock.text().endswith("Stop")
    window.strip.clock.click()
    assert window.desk.job.clock[-1].end is not None
    assert len(window.desk.job.clock) == before + 1
    assert len(asked) == 1
    assert QSettings().value("person") == "Ostrel Venn"


def test_the_clock_is_switched_from_one_job_to_another_with_one_press(samples: None, window: MainWindow):
    """It ends there in the moment in which it starts here."""
    window.desk.set_person("Ostrel Venn")
    window.open_job("2031-0010")
    window.strip.clock.click()
    window.open_job("2031-0011")
    assert window.strip.clock.text() == "Switch the clock here"
    window.strip.clock.click()
    assert window.desk.job.clock[-1].end is None
    window.open_job("2031-0010")
    assert window.desk.job.clock[-1].end is not None


def test_the_strip_says_who_the_job_is_about(samples: None, window: MainWindow):
    """Plate, vehicle, complaint in one line and what it waits for are always visible."""
    window.open_job("2031-0011")
    job = window.desk.job
    assert window.strip.plate.text() == job.vehicle.registration
    assert job.complaints[0].words.split()[0] in window.strip.complaint.accessibleName()
    assert "Waits for" in window.strip.waits.accessibleName()
    for page in range(len(PAGES)):
        window.turn_to(page)
        work_done()
        assert window.strip.plate.isVisible()


def test_the_strip_shows_the_cautions_of_the_vehicle(samples: None, window: MainWindow):
    """A job with a pyrotechnic or high-voltage system says so on every page."""
    window.open_job(SHORT)
    assert window.desk.job.vehicle.systems
    assert window.strip.caution.isVisible()
    assert window.strip.caution.text().startswith("⚠")


def test_a_window_can_be_opened_and_closed_twice(samples: None, open_window: Callable[[], MainWindow]):
    """The second one finds the book as the first left it, and nothing of the first runs on."""
    for _ in range(2):
        window = open_window()
        window.open_job(LONG)
        work_done()
        window.close()
        assert not window._minute.isActive()
        assert wait_for_work(0)


def test_a_closed_window_is_freed(samples: None, open_window: Callable[[], MainWindow]):
    """Window, pages and cards go when the window goes; nothing holds them by a captured self."""
    window = open_window()
    window.open_job(LONG)
    for page in range(len(PAGES)):
        window.turn_to(page)
        work_done()
    parts = (window, *window.stack.findChildren(Page), window.books, window.strip)
    assert len(parts) == 3 + len(PAGES)
    held = {type(part).__name__: weakref.ref(part) for part in parts}
    del parts
    window.close()
    desk = window.desk
    open_window.opened.clear()
    window.deleteLater()
    del window
    settle()
    desk.deleteLater()
    del desk
    settle()
    gc.collect()
    assert not [name for name, ref in held.items() if ref() is not None]
