"""Undo takes back the last thing that is no evidence, and says what it was."""

from __future__ import annotations

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from workshop_log.desktop.main_window import MainWindow


def test_a_part_that_was_taken_off_comes_back_as_it_was(samples: None, window: MainWindow):
    """A fitted part is one press away from being gone; another press brings all of it back."""
    window.open_job("2031-0003")
    before = window.desk.job.parts
    window.turn_to(3)
    window.money.remove("parts", before[0].id)
    assert before[0] not in window.desk.job.parts
    window.undo()
    assert set(window.desk.job.parts) == set(before)
    window.redo()
    assert before[0] not in window.desk.job.parts


def test_a_fault_code_is_undone_before_the_tick_that_came_earlier(window: MainWindow, qtbot: QtBot):
    """What was done last goes first."""
    window.take_in()
    window.desk.edit("complaints/c1/confirmed", "yes")
    qtbot.keyClicks(window.intake.code_line, "B1234-11")
    qtbot.keyClick(window.intake.code_line, Qt.Key.Key_Return)
    assert [code.code for code in window.desk.job.fault_codes] == ["B1234-11"]
    assert window.actions_by_id["edit.undo"].text() == "&Undo: fault codes: added"
    window.undo()
    assert window.desk.job.fault_codes == ()
    assert window.desk.job.complaints[0].confirmed is True
    window.undo()
    assert not window.desk.job.complaints[0].confirmed


def test_edits_of_a_part_that_was_added_come_back_with_it(window: MainWindow, qtbot: QtBot):
    """Undone and made again, a new part still has the price that was typed meanwhile."""
    window.take_in()
    window.turn_to(3)
    qtbot.keyClicks(window.money.part_name, "Ground strap")
    qtbot.keyClick(window.money.part_name, Qt.Key.Key_Return)
    part = window.desk.job.parts[0]
    window.desk.edit(f"parts/{part.id}/price", "38.60")
    window.undo()
    window.redo()
    window.undo()
    window.undo()
    assert window.desk.job.parts == ()
    window.redo()
    assert window.desk.job.parts[0].name == "Ground strap"


def test_agreed_asks_how_before_it_is_recorded(samples: None, window: MainWindow, qtbot: QtBot):
    """One press records nothing; what was agreed is written down with how and by whom."""
    window.open_job("2031-0010")
    window.turn_to(3)
    before = len(window.desk.job.approvals)
    option = window.desk.job.estimate[0]
    qtbot.mouseClick(window.money._option_cards[option.id].agree, Qt.MouseButton.LeftButton)
    assert len(window.desk.job.approvals) == before
    qtbot.keyClicks(window.money.words, "Do it")
    qtbot.mouseClick(window.money.approve, Qt.MouseButton.LeftButton)
    approval = window.desk.job.approvals[-1]
    assert (approval.option, approval.words) == (option.id, "Do it")
    assert window.money.approve.text() == "Record approval"
