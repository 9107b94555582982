"""The list of jobs: its rows, for how long a job has waited, and the keyboard."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from desktop.looking import LONG, SAMPLE_NAMES, settle
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtTest import QAbstractItemModelTester, QTest

from workshop_log.book.listing import JobRow
from workshop_log.desktop.book_panel import NOTHING_LEFT, BookPanel, JobListModel, since_words
from workshop_log.desktop.main_window import MainWindow

NOW = datetime(2031, 4, 2, 12, 0, tzinfo=UTC)
SECOND, MINUTE, HOUR, DAY = (timedelta(seconds=s) for s in (1, 60, 3600, 86_400))


def row(number: str, **facts: object) -> JobRow:
    told = {"registration": "QX31 ABC", "vehicle": "Tarn Brannick", "complaint": "It clicks", "customer": "A. Venn",
            "waits_for": "Waits for a test", "waits_since": NOW - HOUR, "opened": NOW - DAY, **facts}
    return JobRow(number=number, **told)


@pytest.mark.parametrize(("ago", "words"), [
    (timedelta(0), "just now"), (89 * SECOND, "just now"), (90 * SECOND, "for 1 minute"), (2 * MINUTE, "for 2 minutes"),
    (HOUR - SECOND, "for 59 minutes"), (HOUR, "for 1 hour"), (23 * HOUR, "for 23 hours"), (DAY, "for 1 day"),
    (60 * DAY, "for 60 days"), (-SECOND, ""),
])
def test_how_long_a_job_has_waited_is_said_as_people_say_it(ago: timedelta, words: str):
    """Minutes, hours, days, each from its first whole one on; a moment to come has no "for how long"."""
    assert since_words(NOW - ago, NOW) == words


def test_a_long_wait_is_said_by_its_date():
    """After two months the number of days says less than the day it began."""
    assert since_words(datetime(2031, 1, 5, 12, tzinfo=UTC), NOW) == "since 5 Jan 2031"


def test_a_job_that_waits_since_nobody_knows_when_says_nothing():
    """No time, no words."""
    assert since_words(None, NOW) == ""


def test_the_model_keeps_qts_rules():
    """Qt's own tester finds nothing wrong while rows come, change and go."""
    model = JobListModel()
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Fatal)
    for rows in ((), (row("1"), row("2")), (row("1", waits_for="x"), row("2")), (row("2"),), ()):
        model.set_rows(rows, NOW)
        assert model.rowCount() == len(rows)
    assert tester.model() is model


def test_an_empty_list_has_no_rows():
    """Nothing is shown, and nothing is found, in a book without jobs."""
    model = JobListModel()
    model.set_rows((), NOW)
    assert model.rowCount() == 0
    assert model.row_of("2031-0001") == -1
    assert model.data(QModelIndex()) is None


def test_a_row_says_what_the_job_is_and_waits_for():
    """Plate, vehicle, complaint on one line, what it waits for and since when: for the eye and for the ear."""
    model = JobListModel()
    model.set_rows((row("2031-0001", complaint="It clicks\nin the morning"),), NOW)
    index = model.index(0)
    assert index.data(JobListModel.TEXTS) == (
        "QX31 ABC", "Tarn Brannick", "It clicks in the morning", "Waits for a test for 1 hour")
    spoken = "QX31 ABC, Tarn Brannick: It clicks in the morning. Waits for a test for 1 hour. Job 2031-0001"
    assert index.data(Qt.ItemDataRole.AccessibleTextRole) == spoken


@pytest.mark.parametrize(("facts", "texts"), [
    ({"registration": ""}, ("A. Venn", "Tarn Brannick")),
    ({"registration": "", "customer": ""}, ("2031-0001", "Tarn Brannick")),
    ({"vehicle": ""}, ("QX31 ABC", "vehicle not described yet")),
])
def test_a_job_of_which_little_is_known_can_be_told_apart(facts: dict[str, str], texts: tuple[str, str]):
    """Without a plate the customer stands first, without a customer the number."""
    model = JobListModel()
    model.set_rows((row("2031-0001", **facts),), NOW)
    assert model.index(0).data(JobListModel.TEXTS)[:2] == texts


def test_a_job_that_is_done_does_not_say_for_how_long():
    """Nobody waits for nothing."""
    model = JobListModel()
    model.set_rows((row("2031-0001", waits_for=NOTHING_LEFT),), NOW)
    assert model.index(0).data(JobListModel.TEXTS)[3] == NOTHING_LEFT


def test_the_same_jobs_do_not_make_the_list_flicker(qtbot: object):
    """Rows that only say something new are changed in place, so that the list keeps its place."""
    model = JobListModel()
    model.set_rows((row("1"), row("2")), NOW)
    with qtbot.assertNotEmitted(model.modelReset), qtbot.waitSignal(model.dataChanged):
        model.set_rows((row("1"), row("2", complaint="other")), NOW)
    assert model.index(1).data(JobListModel.TEXTS)[2] == "other"


def test_a_search_without_a_hit_says_so(qtbot: object):
    """The words that were searched for are repeated."""
    panel = BookPanel()
    qtbot.addWidget(panel)
    panel.show()
    panel.search.setText("zebra")
    panel.show_rows((), NOW)
    assert panel.empty.isVisible()
    assert panel.empty.text() == "Nothing in the book has “zebra”."
    panel.search.clear()
    panel.show_rows((), NOW)
    assert panel.empty.text() == "The book is empty.\nBegin with New job."
    panel.show_rows((row("1"),), NOW)
    assert not panel.empty.isVisible()
    assert panel.count.text() == "1 job"


def test_typing_searches_once_after_a_pause(qtbot: object):
    """Not at every letter."""
    panel = BookPanel()
    qtbot.addWidget(panel)
    asked: list[str] = []
    panel.words_changed.connect(asked.append)
    QTest.keyClicks(panel.search, "strap")
    assert asked == []
    qtbot.waitUntil(lambda: asked == ["strap"])


def test_enter_opens_the_first_hit_and_down_goes_into_the_list(samples: None, window: MainWindow, qtbot: object):
    """The keyboard alone finds and opens a job."""
    window.activateWindow()
    window.search()
    QTest.keyClicks(window.books.search, "strap")
    QTest.keyClick(window.books.search, Qt.Key.Key_Return)
    settle()
    assert window.desk.job.number == LONG
    window.books.search.clear()
    qtbot.waitUntil(lambda: window.books.model.rowCount() == len(SAMPLE_NAMES))
    window.search()
    QTest.keyClick(window.books.search, Qt.Key.Key_Down)
    assert window.books.view.hasFocus()
    QTest.keyClick(window.books.view, Qt.Key.Key_Down)
    QTest.keyClick(window.books.view, Qt.Key.Key_Return)
    settle()
    assert window.desk.job.number == window.books.model.index(1).data(JobListModel.ROW).number


def test_the_open_job_is_marked_in_the_list(samples: None, window: MainWindow):
    """Whichever way it was opened."""
    window.open_job(LONG)
    assert window.books.view.currentIndex().data(JobListModel.ROW).number == LONG
