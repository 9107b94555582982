"""Fields hand over what was typed once, when the cursor leaves them, and never lose what is being typed."""

from __future__ import annotations

import pytest
from desktop.looking import settle
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget

from workshop_log.desktop.fields import ChoiceField, Form, LineField, TextField, TickField, set_part

CHOICES = (("", "not known yet"), ("always", "always there"), ("comes and goes", "comes and goes"))


class Sheet(QWidget):
    """A form in a window, with something else to put the cursor into, and what it handed over."""

    def __init__(self) -> None:
        super().__init__()
        self.form = Form()
        self.line = self.form.add_field("&Plate", LineField("plate"), "as on the vehicle")
        self.text = self.form.add_field("&Words", TextField("words"), "in the customer's words")
        self.choice = self.form.add_field("&It is", ChoiceField("appears", CHOICES))
        self.tick = self.form.add_field("", TickField("confirmed", "Seen"))
        self.elsewhere = QLineEdit()
        column = QVBoxLayout(self)
        column.addWidget(self.form)
        column.addWidget(self.elsewhere)
        self.handed: list[tuple[str, str]] = []
        self.form.edited.connect(lambda path, text: self.handed.append((path, text)))

    def leave(self) -> None:
        self.elsewhere.setFocus()
        settle()


@pytest.fixture
def sheet(qtbot: object, qapp: QApplication) -> Sheet:
    made = Sheet()
    qtbot.addWidget(made)
    made.show()
    made.activateWindow()
    qtbot.waitUntil(lambda: qapp.activeWindow() is made)
    return made


def type_into(field: QWidget, text: str) -> None:
    field.setFocus()
    QTest.keyClicks(field, text)


@pytest.mark.parametrize("name", ["line", "text"])
def test_what_was_typed_is_handed_over_once_when_the_cursor_leaves(sheet: Sheet, name: str):
    """Not while typing, and not a second time."""
    field = getattr(sheet, name)
    type_into(field, "AB12")
    assert sheet.handed == []
    assert field.pending
    sheet.leave()
    assert sheet.handed == [(field.path, "AB12")]
    assert not field.pending
    field.setFocus()
    sheet.leave()
    assert len(sheet.handed) == 1


@pytest.mark.parametrize("name", ["line", "text"])
def test_an_unchanged_field_hands_nothing_over(sheet: Sheet, name: str):
    """Neither one that was only visited, nor one that was typed into and put back."""
    field = getattr(sheet, name)
    field.show_value("AB")
    field.setFocus()
    sheet.leave()
    type_into(field, "C")
    QTest.keyClick(field, Qt.Key.Key_Backspace)
    sheet.leave()
    assert sheet.handed == []


@pytest.mark.parametrize("name", ["line", "text"])
def test_what_is_being_typed_is_not_overwritten(sheet: Sheet, name: str):
    """A change from elsewhere waits until the field has been left; what was typed wins."""
    field = getattr(sheet, name)
    field.show_value("old")
    type_into(field, "typed")
    field.show_value("from another bay")
    sheet.leave()
    assert [path for path, _ in sheet.handed] == [field.path]
    assert "typed" in sheet.handed[0][1]
    assert "another" not in sheet.handed[0][1]


@pytest.mark.parametrize("name", ["line", "text"])
def test_what_the_book_holds_is_shown_when_nobody_types(sheet: Sheet, name: str):
    """A visited field follows the book, and showing a value is no edit."""
    field = getattr(sheet, name)
    field.setFocus()
    for value in ("one", "", "two"):
        field.show_value(value)
        assert (field.text() if name == "line" else field.toPlainText()) == value
    sheet.leave()
    assert sheet.handed == []


@pytest.mark.parametrize("name", ["line", "text"])
def test_what_was_refused_stays_to_be_put_right(sheet: Sheet, name: str):
    """The book shows the earlier value, the field keeps what is wrong with it until it is changed."""
    field = getattr(sheet, name)
    field.show_value("good")
    type_into(field, "bad")
    sheet.leave()
    field.refuse()
    field.show_value("good")
    kept = field.text() if name == "line" else field.toPlainText()
    assert "bad" in kept
    sheet.handed.clear()
    sheet.form.hand_over()
    assert sheet.handed == [], "what was refused is not offered again unchanged"
    type_into(field, "x")
    sheet.leave()
    assert len(sheet.handed) == 1


def test_enter_hands_a_line_over(sheet: Sheet):
    """Enter is as good as leaving, and leaving afterwards is no second edit."""
    type_into(sheet.line, "AB12")
    QTest.keyClick(sheet.line, Qt.Key.Key_Return)
    sheet.leave()
    assert sheet.handed == [("plate", "AB12")]


def test_control_and_enter_hand_a_text_over(sheet: Sheet):
    """Enter alone begins a new line of the text."""
    type_into(sheet.text, "a")
    QTest.keyClick(sheet.text, Qt.Key.Key_Return)
    assert sheet.handed == []
    QTest.keyClicks(sheet.text, "b")
    QTest.keyClick(sheet.text, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert sheet.handed == [("words", "a\nb")]


def test_tab_leaves_a_text(sheet: Sheet):
    """The keyboard is not trapped in a field of several lines."""
    sheet.text.setFocus()
    QTest.keyClick(sheet.text, Qt.Key.Key_Tab)
    assert sheet.choice.hasFocus()
    assert sheet.text.toPlainText() == ""


def test_a_choice_is_handed_over_by_its_value(sheet: Sheet):
    """The words are shown, the value is kept; showing one is no choice."""
    sheet.choice.show_value("always")
    assert sheet.choice.currentText() == "always there"
    assert sheet.handed == []
    sheet.choice.setFocus()
    QTest.keyClick(sheet.choice, Qt.Key.Key_Down)
    assert sheet.handed == [("appears", "comes and goes")]


def test_the_wheel_does_not_change_a_choice(sheet: Sheet):
    """Somebody who scrolls the page with the pointer over a choice changes nothing."""
    sheet.choice.show_value("always")
    event = QWheelEvent(QPointF(5, 5), QPointF(5, 5), QPoint(0, -120), QPoint(0, -120), Qt.MouseButton.NoButton,
                        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False)
    QApplication.sendEvent(sheet.choice, event)
    assert sheet.choice.currentData() == "always"
    assert sheet.handed == []


def test_a_tick_is_handed_over_as_yes_or_no(sheet: Sheet):
    """Space ticks and unticks."""
    sheet.tick.show_value("yes")
    assert sheet.tick.isChecked()
    QTest.keyClick(sheet.tick, Qt.Key.Key_Space)
    QTest.keyClick(sheet.tick, Qt.Key.Key_Space)
    assert sheet.handed == [("confirmed", "no"), ("confirmed", "yes")]


def test_what_is_wrong_is_said_under_the_field_and_taken_away(sheet: Sheet):
    """A note stands there only while something is wrong, and marks the field."""
    note = sheet.form._notes["plate"]
    assert not note.isVisible()
    sheet.form.show_note("plate", "That is no plate.", problem=True)
    assert (note.isVisible(), note.text(), sheet.line.property("problem")) == (True, "That is no plate.", True)
    sheet.form.show_note("plate", "A hint.", problem=False)
    assert (note.isVisible(), note.property("part"), sheet.line.property("problem")) == (True, "hint", False)
    sheet.form.show_note("plate", "", problem=True)
    assert (note.isVisible(), sheet.line.property("problem")) == (False, False)
    sheet.form.show_note("not here", "words", problem=True)


def test_a_form_hands_over_all_that_is_still_being_typed(sheet: Sheet):
    """As when the window closes: nothing typed is lost, nothing is handed over twice."""
    type_into(sheet.line, "AB12")
    sheet.text.setPlainText("It flickers")
    sheet.form.hand_over()
    sheet.form.hand_over()
    assert sorted(sheet.handed) == [("plate", "AB12"), ("words", "It flickers")]


def test_a_field_is_announced_by_its_title_and_hint(sheet: Sheet):
    """Whoever listens hears what is seen."""
    assert (sheet.line.accessibleName(), sheet.line.accessibleDescription()) == ("Plate", "as on the vehicle")


@given(value=st.text(st.characters(blacklist_categories=("Cs", "Cc", "Zl", "Zp")), max_size=30))
def test_any_value_of_the_book_is_shown_without_becoming_an_edit(value: str):
    """Whatever one line of text the book holds, showing it and leaving the field changes nothing."""
    field = LineField("path")
    handed: list[tuple[str, str]] = []
    field.edited.connect(lambda *edit: handed.append(edit))
    field.show_value(value)
    field.on_finished()
    assert field.text() == value
    assert handed == []


@given(value=st.text(st.characters(blacklist_categories=("Cs",), blacklist_characters="\0"), max_size=40))
def test_any_text_of_the_book_is_shown_without_becoming_an_edit(value: str):
    """The same for several lines: even a line end of another system is not edited by being shown."""
    field = TextField("path")
    handed: list[tuple[str, str]] = []
    field.edited.connect(lambda *edit: handed.append(edit))
    field.show_value(value)
    field.hand_over()
    assert handed == []


def test_a_style_property_is_set_at_once(qtbot: object):
    """The style sheet looks again when a widget's part changes."""
    widget = QLineEdit()
    qtbot.addWidget(widget)
    set_part(widget, "problem", True)
    assert widget.property("problem") is True
