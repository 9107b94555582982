"""The entry line: understood while it is typed, refused with a reason, never lost."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from desktop.looking import SHORT, settle
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from workshop_log.desktop.entry_bar import EntryBar
from workshop_log.desktop.main_window import MainWindow
from workshop_log.exchange.records import Expected

IN_WORK = "2031-0011"


@pytest.fixture
def entry(samples: None, window: MainWindow, qapp: QApplication, qtbot: object) -> EntryBar:
    """Open a job in work with the cursor in the entry line."""
    window.activateWindow()
    qtbot.waitUntil(lambda: qapp.activeWindow() is window)
    window.open_job(IN_WORK)
    settle()
    assert window.testing.entry.line.hasFocus()
    return window.testing.entry


def is_problem(entry: EntryBar) -> bool:
    return entry.understood.property("part") == "problem"


def enter(entry: EntryBar, text: str) -> None:
    entry.line.clear()
    QTest.keyClicks(entry.line, text)
    QTest.keyClick(entry.line, Qt.Key.Key_Return)
    settle()


@pytest.mark.parametrize(("typed", "said"), [
    ("12.4 V at battery +", "12.4 V"), ("0.48 V body to engine while cranking <0.2 V", "cranking"),
    ("look strap damage", "damage"), ("brake disc thickness 21.3 mm >= 22", "21.3 mm"),
])
def test_a_line_is_understood_while_it_is_typed(entry: EntryBar, typed: str, said: str):
    """What was understood stands under it before Enter is pressed, and nothing is recorded yet."""
    before = entry.desk.job.steps
    QTest.keyClicks(entry.line, typed)
    assert said in entry.understood.text()
    assert not is_problem(entry)
    assert entry.desk.job.steps == before


def test_an_empty_line_says_what_to_type(entry: EntryBar):
    """It is no mistake to have typed nothing."""
    assert "One line for one test" in entry.understood.text()
    assert not is_problem(entry)
    before = entry.desk.job.steps
    QTest.keyClick(entry.line, Qt.Key.Key_Return)
    assert entry.desk.job.steps == before


def test_what_is_not_understood_stays_in_the_line_with_a_reason(entry: EntryBar):
    """Nothing is recorded, nothing is lost."""
    before = entry.desk.job.steps
    enter(entry, "what a mess")
    assert entry.desk.job.steps == before
    assert entry.line.text() == "what a mess"
    assert is_problem(entry)
    assert entry.understood.text()


def test_enter_takes_the_step_down_and_empties_the_line(entry: EntryBar, window: MainWindow):
    """The new step is the last, with the time of now; the line is ready for the next one."""
    before = len(entry.desk.job.steps)
    enter(entry, "12.41 V at battery + >=12.2 V")
    step = entry.desk.job.steps[-1]
    assert len(entry.desk.job.steps) == before + 1
    assert (step.reading, step.expected.low) == ("12.41 V", "12.2 V")
    assert step.at is not None
    assert entry.line.text() == ""
    assert entry.line.hasFocus()
    assert window.testing.table.steps.rows[-1].verdict == "inside"


def test_a_correction_needs_a_reason_and_keeps_both(entry: EntryBar, window: MainWindow):
    """Without one the cursor waits where it is to be typed."""
    enter(entry, "12.41 V at battery +")
    wrong = entry.desk.job.steps[-1]
    window.testing.table.selectRow(window.testing.table.steps.rowCount() - 1)
    window.actions_by_id["test.correct"].trigger()
    assert entry.line.text() == "12.41 V"
    assert entry.because.isVisible()
    enter(entry, "12.14 V")
    assert is_problem(entry)
    assert "reason" in entry.understood.text()
    assert entry.because.hasFocus()
    assert entry.desk.job.steps[-1] == wrong
    QTest.keyClicks(entry.because, "digits swapped")
    QTest.keyClick(entry.because, Qt.Key.Key_Return)
    settle()
    step = entry.desk.job.steps[-1]
    assert (step.reading, step.replaces, step.because) == ("12.14 V", wrong.id, "digits swapped")
    assert wrong in entry.desk.job.steps
    assert not entry.because.isVisible()
    assert window.testing.table.steps.rows[-2].replaced


def test_escape_leaves_a_correction(entry: EntryBar, window: MainWindow):
    """What is typed next is a step of its own again."""
    enter(entry, "12.41 V at battery +")
    entry.correct(entry.desk.job.steps[-1])
    QTest.keyClick(entry.line, Qt.Key.Key_Escape)
    assert not entry.because.isVisible()
    assert entry.line.text() == ""
    enter(entry, "12.5 V at battery +")
    assert entry.desk.job.steps[-1].replaces is None


def test_a_step_is_made_again_after_the_repair(entry: EntryBar):
    """Only the new reading is typed; place, condition and range are those of before."""
    enter(entry, "0.48 V body to engine while cranking <0.2 V")
    before = entry.desk.job.steps[-1]
    entry.again(before)
    assert "Again after the repair" in entry.understood.text()
    assert entry.line.text() == ""
    enter(entry, "0.06")
    step = entry.desk.job.steps[-1]
    assert (step.after_repair, step.repeats, step.reading) == (True, before.id, "0.06 V")
    assert (step.red, step.black, step.setup, step.expected) == (before.red, before.black, before.setup,
                                                                 before.expected)
    assert entry.take.text() == "Take down"


def test_a_chosen_range_holds_for_the_next_reading_alone(entry: EntryBar):
    """It is seen beside the line, can be taken away, and is used once."""
    chosen = Expected(low="12.4 V", high="12.8 V", source="by hand")
    entry.set_expected(chosen, "12.4 to 12.8 V")
    assert entry.chip.isVisible()
    assert "12.4 to 12.8 V" in entry.chip.text()
    enter(entry, "12.5 V at battery +")
    assert entry.desk.job.steps[-1].expected == chosen
    assert not entry.chip.isVisible()
    enter(entry, "12.5 V at battery +")
    assert entry.desk.job.steps[-1].expected is None
    entry.set_expected(chosen, "12.4 to 12.8 V")
    entry.chip.click()
    assert not entry.chip.isVisible()


def test_what_was_being_typed_is_there_again(entry: EntryBar, open_window: Callable[[], MainWindow],
                                             window: MainWindow, qtbot: object):
    """In the same job after another one was open, and in a new window after the first has gone."""
    QTest.keyClicks(entry.line, "0.9 V at the")
    window.open_job(SHORT)
    window.turn_to(1)
    assert entry.line.text() == ""
    window.open_job(IN_WORK)
    assert entry.line.text() == "0.9 V at the"
    window.close()
    again = open_window()
    again.open_job(IN_WORK)
    assert again.testing.entry.line.text() == "0.9 V at the"


def test_a_draft_is_kept_after_a_pause_and_gone_once_it_is_entered(entry: EntryBar, qtbot: object):
    """The battery may go flat at any time; an entered step is no draft any more."""
    from workshop_log.book.drafts import load_draft

    def kept() -> str | None:
        with entry.desk.book.read() as session:
            return load_draft(session, f"{IN_WORK}/entry line")

    QTest.keyClicks(entry.line, "0.9 V at battery +")
    qtbot.waitUntil(lambda: kept() == "0.9 V at battery +")
    QTest.keyClick(entry.line, Qt.Key.Key_Return)
    settle()
    assert kept() is None


def test_a_correction_half_typed_does_not_become_a_step_of_another_job(entry: EntryBar, window: MainWindow):
    """Turning to another job leaves the correction; its text does not correct anything there."""
    enter(entry, "12.41 V at battery +")
    entry.correct(entry.desk.job.steps[-1])
    window.open_job("2031-0010")
    assert not entry.because.isVisible()
    enter(entry, "12.5 V at battery +")
    step = entry.desk.job.steps[-1]
    assert entry.desk.job.number == "2031-0010"
    assert (step.replaces, step.reading) == (None, "12.5 V")


def test_a_test_that_could_hurt_is_refused_with_the_reason(entry: EntryBar, window: MainWindow):
    """No ohmmeter on the wiring of a pyrotechnic restraint: nothing is recorded, and the line says why."""
    window.open_job(SHORT)
    window.turn_to(1)
    before = entry.desk.job.steps
    enter(entry, "2.1 ohm airbag squib")
    assert entry.desk.job.steps == before
    assert is_problem(entry)
    assert entry.line.text() == "2.1 ohm airbag squib"
