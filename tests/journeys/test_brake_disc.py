"""A worn mechanical part, from intake to the condemned disc, by somebody who has no mouse."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from journeys.driver import CTRL, NO_MODIFIER, PLATFORM_NOISE, SHIFT, MouseWatch, Person
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFileDialog, QInputDialog

pytestmark = PLATFORM_NOISE

F2, F4, F6, F9 = Qt.Key.Key_F2, Qt.Key.Key_F4, Qt.Key.Key_F6, Qt.Key.Key_F9


@pytest.fixture
def no_mouse(qapp: QApplication) -> Iterator[MouseWatch]:
    """Watch that the mouse stays where it is."""
    watch = MouseWatch()
    qapp.installEventFilter(watch)
    yield watch
    qapp.removeEventFilter(watch)


def by_tab(person: Person, name: str, text: str) -> None:
    """Go to a field by Tab, type over what stands in it, and leave it by Tab."""
    person.tab_to(person.field(name))
    person.key(Qt.Key.Key_A, CTRL)
    person.keys(text)
    person.key(Qt.Key.Key_Tab)


def by_space(person: Person, words: str) -> None:
    """Go to a button by Tab and press it with the space bar."""
    button = person.button(words)
    person.tab_to(button)
    assert button.isEnabled()
    person.key(Qt.Key.Key_Space)


def choose_by_keys(person: Person, name: str, words: str) -> None:
    """Go to a choice by Tab and take it with the arrow keys."""
    box = person.field(name)
    person.tab_to(box)
    for _ in range(box.count()):
        if box.currentText() == words:
            return
        person.key(Qt.Key.Key_Down)
    raise AssertionError(f"“{words}” is not reached by the arrow keys")


def choose_step_by_keys(person: Person, step: str) -> None:
    """Go to the table by Tab and to a step by the arrow keys."""
    table = person.window.testing.table
    person.tab_to(table)
    wanted = [row.step.id for row in table.steps.rows].index(step)
    for _ in range(table.steps.rowCount()):
        if table.chosen() is not None and table.chosen().id == step:
            return
        person.key(Qt.Key.Key_Down if table.currentIndex().row() < wanted else Qt.Key.Key_Up)
    raise AssertionError(f"{step} is not reached by the arrow keys")


def test_a_worn_brake_disc_without_a_mouse(person: Person, no_mouse: MouseWatch, tmp_path: Path,
                                           answers: Callable[..., list[Any]]) -> None:
    """Every step of a job without any circuit is reached from the keyboard; no mouse event happens at all."""
    window = person.window
    answers(QInputDialog, "getItem", ("Tom Weld", True))
    person.shortcut(Qt.Key.Key_N)
    person.keys("YY99 TST")
    person.key(Qt.Key.Key_Tab)
    person.keys("98 000 km")
    by_tab(person, "Make", "Tamber")
    by_tab(person, "Model", "Orrin")
    by_tab(person, "Name", "Basil Thorne")
    by_tab(person, "What is wrong", "The steering wheel shakes when I brake from high speed.")
    choose_by_keys(person, "It is", "comes and goes")
    by_space(person, "Add condition hot")
    by_space(person, "Confirmed: I have seen it myself")
    person.tab_to(person.field("Agreed up to"))
    person.key(Qt.Key.Key_A, CTRL)
    person.keys("300")
    person.key(Qt.Key.Key_Return)
    job = window.desk.job
    assert job.complaints[0].conditions == "hot"
    assert job.complaints[0].confirmed is True
    assert str(job.approvals[0].up_to) == "300"
    assert person.waits == "Waits for the cause to be found"

    person.shortcut(F9, NO_MODIFIER)
    assert window.desk.running().person == "Tom Weld"
    assert "outside" in person.take_down("brake disc thickness 21.3 mm front left >= 22 mm (stamped on the disc)")
    assert "inside" in person.take_down("brake disc thickness 22.9 mm front right >= 22 mm (stamped on the disc)")
    assert "outside" in person.take_down("brake disc runout 0.19 mm front left <0.05 mm")
    person.take_down("look front left disc damage; blue spots")

    choose_step_by_keys(person, "s1")
    person.shortcut(F6, NO_MODIFIER)
    assert window.stack.currentIndex() == 2
    person.keys("Front brake discs")
    person.key(Qt.Key.Key_Return)
    by_tab(person, "Finding, as it could be read aloud to the customer", "The left disc is worn below its limit.")
    by_tab(person, "What every other cause was cleared by", "Tyres and joints: looked at and moved.")
    by_tab(person, "Price", "84.00")
    by_tab(person, "Fitting, minutes", "50")
    by_space(person, "Condemn: replace")
    assert window.desk.job.condemned[-1].decision == "replace"
    assert set(window.desk.job.condemned[-1].steps) == {"s1", "s3", "s4"}
    by_tab(person, "What was done", "Both front discs and the pads replaced.")
    by_space(person, "The repair is done")

    for step, reading in (("s1", "22.9 mm"), ("s3", "0.02 mm")):
        person.shortcut(F2, NO_MODIFIER)
        choose_step_by_keys(person, step)
        person.shortcut(F4, NO_MODIFIER)
        person.keys(reading)
        person.key(Qt.Key.Key_Return)
        again = window.desk.job.steps[-1]
        assert (again.repeats, again.after_repair) == (step, True)
        assert window.desk.evaluation.reading_of(again.id).verdict.value == "inside"
    person.turn_to(2)
    by_space(person, "Yes")

    person.turn_to(3)
    person.keys("Front brake disc")
    person.key(Qt.Key.Key_Return)
    by_tab(person, "How many", "2")
    by_tab(person, "Price each", "84.00")
    assert (str(window.desk.job.parts[0].quantity), str(window.desk.job.parts[0].price)) == ("2", "84.00")
    by_tab(person, "New charge", "Disposal of the old discs")
    person.tab_to(person.field("New charge"))
    person.key(Qt.Key.Key_Return)
    assert window.desk.job.charges[0].what == "Disposal of the old discs"
    by_tab(person, "Amount without tax, row 1", "6.50")
    person.shortcut(F9, NO_MODIFIER)
    assert window.desk.running() is None
    by_tab(person, "Charged, min, row 1", "0")
    # Two discs are 168.00, with 6.50 for the disposal 174.50; a workshop that was not set up charges no tax.
    assert "£174.50" in person.words()

    person.turn_to(4)
    person.wait_for_the_report()
    saved = tmp_path / "disc.pdf"
    answers(QFileDialog, "getSaveFileName", (str(saved), ""))
    by_space(person, "Hand over")
    person.wait(lambda: bool(window.desk.job.reports))
    assert saved.read_bytes().startswith(b"%PDF-")
    person.turn_to(3)
    by_space(person, "Vehicle handed back")
    by_space(person, "Bill settled")
    assert person.waits == "Finished"
    assert not person.said
    assert no_mouse.count == 0


def test_the_list_is_searched_and_opened_by_keys(person: Person, no_mouse: MouseWatch) -> None:
    """Ctrl+F, a word and Enter open the job; the down key leads from the search field into the list."""
    window = person.window
    for plate, complaint in (("AA11 AAA", "wipers stop"), ("BB22 BBB", "lamp is dim")):
        person.shortcut(Qt.Key.Key_N)
        person.keys(plate)
        by_tab(person, "What is wrong", complaint)
    first, second = "AA11 AAA", "BB22 BBB"
    assert window.desk.job.vehicle.registration == second
    person.shortcut(Qt.Key.Key_F)
    person.keys("wiper")
    person.key(Qt.Key.Key_Return)
    assert window.desk.job.vehicle.registration == first
    person.shortcut(Qt.Key.Key_F)
    person.key(Qt.Key.Key_Delete)
    person.wait(lambda: window.books.model.rowCount() == 2)
    person.key(Qt.Key.Key_Down)
    assert window.books.view.hasFocus()
    while window.books.view.currentIndex().data(window.books.model.ROW).registration != second:
        before = window.books.view.currentIndex().row()
        person.key(Qt.Key.Key_Down)
        assert window.books.view.currentIndex().row() != before
    person.key(Qt.Key.Key_Return)
    assert window.desk.job.vehicle.registration == second
    # Shift and Tab lead back, too.
    person.shortcut(Qt.Key.Key_1)
    person.key(Qt.Key.Key_Tab)
    person.key(Qt.Key.Key_Backtab, SHIFT)
    assert person.focus.accessibleName() == "Registration"
    assert no_mouse.count == 0
