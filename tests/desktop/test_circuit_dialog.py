"""A circuit is begun, changed and saved: by pointer and by keys."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from desktop.looking import named, sample, seen, settle
from desktop.test_accessibility import missed, unnamed
from msgspec.structs import replace
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QFontInfo
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QAbstractScrollArea, QApplication, QLabel
from pytestqt.qtbot import QtBot

from workshop_log.desktop import theme
from workshop_log.desktop.circuit_dialog import CircuitDialog
from workshop_log.desktop.desk import Desk
from workshop_log.exchange.records import Circuit
from workshop_log.jobs.circuit_editing import element_of, problem_of
from workshop_log.jobs.starters import starter_circuits
from workshop_log.jobs.testing import save_circuit

# The ground strap job: readings stand at its circuit's points.
WITH_STEPS = "2031-0003"
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


def starter(name: str) -> Circuit:
    return next(s.circuit for s in starter_circuits() if s.id == name)


@pytest.fixture
def job_desk(desk: Desk) -> Desk:
    """Open a new job."""
    desk.take_in()
    return desk


@pytest.fixture
def open_dialog(qtbot: QtBot, qapp: QApplication) -> Iterator[Callable[..., CircuitDialog]]:
    """Return a function that shows the dialog; it is closed afterwards, saved or not."""
    opened: list[CircuitDialog] = []

    def begin(desk: Desk, circuit: Circuit | None = None) -> CircuitDialog:
        dialog = CircuitDialog(None, desk, circuit)
        opened.append(dialog)
        dialog.show()
        dialog.activateWindow()
        qtbot.waitUntil(lambda: qapp.activeWindow() is dialog)
        settle()
        return dialog

    yield begin
    for dialog in opened:
        if dialog.isVisible():
            dialog.done(0)
        dialog.deleteLater()
    settle()


@pytest.fixture
def editing(job_desk: Desk, open_dialog: Callable[..., CircuitDialog]) -> CircuitDialog:
    """Show a motor driven by a relay, as it is begun with."""
    dialog = open_dialog(job_desk)
    dialog.on_begin(starter("relay-motor"))
    settle()
    return dialog


def type_into(field: object, text: str) -> None:
    """Type as a person does: into the field, over what stood there, and on with Enter."""
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)
    settle()


def choose(button: object, kind: str) -> None:
    """Choose a kind of element from a button's list."""
    next(action for action in button.menu().actions() if action.data() == kind).trigger()
    settle()


# --- beginning -----------------------------------------------------------------------------------------------------


def test_a_circuit_is_begun_adapted_and_saved_by_keys_alone(
        job_desk: Desk, open_dialog: Callable[..., CircuitDialog], qapp: QApplication):
    """Search, Enter, a new length, Save: the job has the circuit."""
    dialog = open_dialog(job_desk)
    assert qapp.focusWidget() is dialog.begin_page.find
    QTest.keyClicks(qapp.focusWidget(), "relay motor")
    QTest.keyClick(qapp.focusWidget(), Qt.Key.Key_Return)
    settle()
    assert qapp.focusWidget() is dialog.view
    assert dialog.circuit.title in {s.title for s in starter_circuits() if "relay" in s.title.casefold()}
    wire = next(e.id for e in dialog.circuit.elements if e.kind == "wire")
    dialog.view.stand_on("element", wire)
    QTest.keyClick(dialog.view, Qt.Key.Key_Return)
    QTest.keyClick(dialog, Qt.Key.Key_F2)
    assert qapp.focusWidget() is dialog.element.form.fields["id"]
    type_into(dialog.element.form.fields["length"], "4.5")
    assert element_of(dialog.circuit, wire).length == "4.5 m"
    QTest.keyClick(dialog, Qt.Key.Key_S, CTRL)
    assert not dialog.isVisible()
    assert [c.id for c in job_desk.job.circuits] == [dialog.saved]
    assert element_of(job_desk.job.circuits[0], wire).length == "4.5 m"


def test_search_finds_by_what_a_circuit_is_for(job_desk: Desk, open_dialog: Callable[..., CircuitDialog]):
    """Words of title and description; nothing found offers nothing to begin with."""
    page = open_dialog(job_desk).begin_page
    page.find.setText("horn")
    shown = [page.list.item(row).text() for row in range(page.list.count()) if not page.list.item(row).isHidden()]
    assert "Horn" in shown
    assert len(shown) < page.list.count()
    assert page.title.text() == shown[0]
    page.find.setText("no such thing")
    assert not page.begin.isEnabled()
    assert "Nothing found" in page.title.text()


def test_a_circuit_of_the_same_model_is_offered_first(samples: None, desk: Desk,
                                                      open_dialog: Callable[..., CircuitDialog]):
    """What another job described for the same make and model, with that job's number."""
    vehicle = sample("ground-strap").vehicle
    desk.take_in()
    desk.edit("vehicle.make", vehicle.make)
    desk.edit("vehicle.model", vehicle.model)
    page = open_dialog(desk).begin_page
    assert WITH_STEPS in page.list.item(0).text()
    assert page.title.text() == sample("ground-strap").circuits[0].title


def test_every_beginning_is_sound_and_can_be_saved(job_desk: Desk, open_dialog: Callable[..., CircuitDialog]):
    """Also the one from nothing; a second one of the same gets an id of its own."""
    offered = open_dialog(job_desk).begin_page._offered
    assert len(offered) > 12
    for beginning in (*offered, offered[0]):
        dialog = open_dialog(job_desk)
        dialog.on_begin(beginning.circuit)
        assert problem_of(dialog.circuit) == ""
        dialog.on_save()
        assert dialog.saved
    assert len(job_desk.job.circuits) == len(offered) + 1


# --- changing ------------------------------------------------------------------------------------------------------


def test_pressing_an_element_shows_the_fields_of_its_kind(editing: CircuitDialog, qtbot: QtBot):
    """A wire has a length and no rating, a fuse the other way round; what is assumed is shown pale."""
    view = editing.view
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=view.position_of("element", "F20").toPoint())
    assert editing.element.heading.text() == "Fuse F20"
    fields = editing.element.form.fields
    assert "rating" in fields and "length" not in fields
    assert fields["rating"].text().split() == ["20", "A"]
    assert fields["resistance"].text() == "" and "Ω" in fields["resistance"].placeholderText()
    assert not editing.element.split.isVisible()
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=view.position_of("element", "W1").toPoint())
    fields = editing.element.form.fields
    assert "length" in fields and "rating" not in fields
    assert editing.element.split.isVisible()


def test_inserting_splitting_and_branching_choose_what_is_new(editing: CircuitDialog):
    """The new element is chosen, so that its fields are typed next."""
    editing.on_element("F20")
    choose(editing.element.after, "contact")
    assert editing.element.heading.text() == "Contact X1.1"
    editing.on_element("W1")
    editing.element.split.click()
    assert editing.element.heading.text() == "Contact X2.1"
    type_into(editing.element.form.fields["connector"], "X44")
    assert element_of(editing.circuit, "X2.1").connector == "X44"
    editing.on_point("K1.87")
    choose(editing.element.branch, "lamp")
    assert element_of(editing.circuit, "E1").between == ("K1.87", "B-")
    assert editing.element.heading.text() == "Lamp E1"


def test_undo_and_redo_go_through_all_edits(editing: CircuitDialog):
    """Ctrl+Z back to the beginning, Ctrl+Shift+Z to the end; a new edit drops what was undone."""
    states = [editing.circuit]
    editing.on_element("W1")
    for kind in ("fuse", "contact", "switch"):
        choose(editing.element.after, kind)
        states.append(editing.circuit)
    for state in states[-2::-1]:
        QTest.keyClick(editing, Qt.Key.Key_Z, CTRL)
        assert editing.circuit == state
    assert not editing.undo.isEnabled()
    for state in states[1:]:
        QTest.keyClick(editing, Qt.Key.Key_Z, CTRL | SHIFT)
        assert editing.circuit == state
    assert not editing.redo.isEnabled()
    QTest.keyClick(editing, Qt.Key.Key_Z, CTRL)
    editing.on_element("W2")
    choose(editing.element.before, "fuse")
    assert not editing.redo.isEnabled()


def test_undo_in_a_field_that_was_left_undoes_the_edit(editing: CircuitDialog):
    """A field with nothing left to undo does not keep the key for itself."""
    editing.on_element("W1")
    before = editing.circuit
    field = editing.element.form.fields["length"]
    type_into(field, "7 m")
    assert editing.circuit != before
    QTest.keyClick(field, Qt.Key.Key_Z, CTRL)
    assert editing.circuit == before
    assert field.text().split() == ["2.9", "m"]


@pytest.mark.parametrize(("key", "text", "words"), [
    ("length", "long", "number"), ("section", "3 V", "a cross-section"), ("id", "F20", "already"),
    ("second", "K1.87", "both ends"), ("length", "", "needs"),
])
def test_what_does_not_fit_is_said_and_stays_to_be_put_right(editing: CircuitDialog, key: str, text: str, words: str):
    """One sentence under the drawing; the circuit is as before, and is not saved like this."""
    editing.on_element("W1")
    before = editing.circuit
    field = editing.element.form.fields[key]
    field.setFocus()
    field.clear()
    # Not letter by letter: the list of points that opens then is a window of its own.
    field.setText(text)
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert words in editing.problem.text()
    assert editing.problem.isVisible()
    assert editing.circuit == before
    assert field.text() == text
    assert field.property("problem")
    editing.on_save()
    assert editing.isVisible() and editing.problem.text()
    editing.on_element("W2")
    editing.on_save()
    assert editing.saved


def test_a_new_kind_brings_its_own_fields(editing: CircuitDialog):
    """A motor becomes a heater; the relay stays a relay."""
    editing.on_element("M1")
    field = editing.element.form.fields["kind"]
    field.setCurrentIndex(field.findData("heater"))
    field.on_activated(0)
    settle()
    assert element_of(editing.circuit, "M1").kind == "heater"
    assert editing.element.heading.text() == "Heater M1"
    editing.on_element("K1")
    assert editing.element.form.fields["kind"].count() == 1


def test_delete_takes_the_chosen_element_out_of_the_drawing_alone(editing: CircuitDialog):
    """In a field the same key deletes a letter."""
    editing.on_element("W1")
    field = editing.element.form.fields["colour"]
    field.setFocus()
    field.setCursorPosition(0)
    QTest.keyClick(field, Qt.Key.Key_Delete)
    assert element_of(editing.circuit, "W1")
    editing.view.setFocus()
    QTest.keyClick(editing.view, Qt.Key.Key_Delete)
    assert "W1" not in {e.id for e in editing.circuit.elements}


def test_points_are_renamed_but_battery_negative_is_not(editing: CircuitDialog):
    """Everything that lies at the point follows."""
    editing.on_point("K1.87")
    type_into(editing.element.form.fields["id"], "87")
    assert element_of(editing.circuit, "W1").between[0] == "87"
    assert editing.element.heading.text() == "Point 87"
    editing.on_point("B-")
    assert not editing.element.form.fields["id"].isEnabled()


# --- setups --------------------------------------------------------------------------------------------------------


def test_a_setup_is_added_named_and_ticked(editing: CircuitDialog):
    """What is ticked is on, and the drawing shows what is live then."""
    editing.setup_tab.click()
    assert not editing.setup_panel.names.isVisible()
    editing.setup_panel.add.click()
    settle()
    type_into(editing.setup_panel.names.fields["id"], "fan on")
    panel = editing.setup_panel
    for name in ("S15", "A1.out"):
        panel.ticks["on", name].click()
    panel.ticks["unplugged", "X4"].click()
    setup = editing.circuit.setups[-1]
    assert (setup.id, setup.on, setup.unplugged) == ("fan on", ("S15", "A1.out"), ("X4",))
    assert editing.setups.currentData() == "fan on"
    panel.ticks["unplugged", "X4"].click()
    assert editing.circuit.setups[-1].unplugged == ()
    panel.remove.click()
    assert len(editing.circuit.setups) == 3
    assert editing.setups.currentData() == "as found"


def test_a_bridge_is_laid_and_taken_away(editing: CircuitDialog):
    """Between two points, by a lamp or a fused lead."""
    editing._turn_to(setup="running")
    editing.setup_tab.click()
    panel = editing.setup_panel
    for box, point in zip(panel.ends, ("K1.30", "K1.87"), strict=True):
        box.setCurrentIndex(box.findData(point))
    panel.through.setCurrentIndex(panel.through.findData("fused lead"))
    next(b for b in panel.findChildren(QAbstractButton) if b.text() == "Lay").click()
    settle()
    setup = next(s for s in editing.circuit.setups if s.id == "running")
    assert [(b.between, b.through) for b in setup.bridges] == [(("K1.30", "K1.87"), "fused lead")]
    next(b for b in panel.findChildren(QAbstractButton) if b.text() == "Take away" and b.isVisible()).click()
    assert next(s for s in editing.circuit.setups if s.id == "running").bridges == ()


# --- evidence, saving, leaving -------------------------------------------------------------------------------------


def test_what_readings_stand_at_keeps_its_name(samples: None, desk: Desk, open_dialog: Callable[..., CircuitDialog]):
    """The dialog says which steps name it; everything else can be changed and saved."""
    desk.open(WITH_STEPS)
    circuit = desk.job.circuits[0]
    step = next(s for s in desk.job.steps if s.circuit == circuit.id and getattr(s, "red", ""))
    dialog = open_dialog(desk, circuit)
    dialog.on_point(step.red)
    assert step.id in dialog.element.between.text()
    type_into(dialog.element.form.fields["id"], "another")
    assert "evidence" in dialog.problem.text() and step.id in dialog.problem.text()
    assert dialog.circuit == circuit
    dialog.on_element("battery")
    type_into(dialog.element.form.fields["title"], "battery under the seat")
    dialog.on_save()
    assert dialog.saved == circuit.id
    assert element_of(desk.job.circuits[0], "battery").title == "battery under the seat"


def test_a_circuit_that_was_changed_elsewhere_meanwhile_is_not_written_over(
        samples: None, desk: Desk, open_dialog: Callable[..., CircuitDialog]):
    """Somebody else's work is looked at first."""
    desk.open(WITH_STEPS)
    dialog = open_dialog(desk, desk.job.circuits[0])
    dialog.edit(lambda circuit: replace(circuit, title="mine"))
    desk.do(save_circuit, replace(desk.job.circuits[0], title="theirs"))
    dialog.on_save()
    assert dialog.isVisible() and "Another bay" in dialog.problem.text()
    assert desk.job.circuits[0].title == "theirs"


def test_escape_leaves_at_once_what_is_unchanged_and_asks_for_a_second_time_else(
        samples: None, desk: Desk, open_dialog: Callable[..., CircuitDialog]):
    """Nothing typed is lost by one key."""
    desk.open(WITH_STEPS)
    before = desk.job.circuits
    dialog = open_dialog(desk, before[0])
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    dialog = open_dialog(desk, before[0])
    dialog.on_element("battery")
    choose(dialog.element.before, "fuse")
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert dialog.isVisible() and "not saved" in dialog.problem.text()
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert dialog.saved == ""
    assert desk.job.circuits == before


def test_save_of_what_is_unchanged_writes_nothing(samples: None, desk: Desk,
                                                  open_dialog: Callable[..., CircuitDialog]):
    """The chain of evidence gets no link for nothing."""
    desk.open(WITH_STEPS)
    links = len(desk.job.seal.entries)
    dialog = open_dialog(desk, desk.job.circuits[0])
    dialog.on_save()
    desk.reload()
    assert dialog.saved and len(desk.job.seal.entries) == links


# --- for everybody -------------------------------------------------------------------------------------------------


def pages(dialog: CircuitDialog) -> Iterator[str]:
    """Turn to everything that the dialog can show."""
    if dialog.begin_page is not None:
        yield "begin"
        dialog.on_begin(starter("relay-motor"))
    for name in ("W1", "K1", "M1"):
        dialog.on_element(name)
        yield name
    dialog.on_point("K1.87")
    yield "point"
    dialog.setup_tab.click()
    yield "as found"
    dialog._turn_to(setup="relay bridged")
    yield "setup"


@pytest.mark.parametrize("theme_name", ["light", "dark"])
def test_every_page_is_named_reached_by_tab_and_fits_a_small_screen(
        job_desk: Desk, open_dialog: Callable[..., CircuitDialog], qapp: QApplication, theme_name: str):
    """Names for all controls, Tab to each, no text under 11 pt, nothing cut, plain text, at 1366 × 768."""
    theme.apply(qapp, theme.DARK if theme_name == "dark" else theme.LIGHT)
    dialog = open_dialog(job_desk)
    assert dialog.minimumSizeHint().width() <= 1366 and dialog.minimumSizeHint().height() <= 720
    dialog.resize(QSize(1320, 700))
    for page in pages(dialog):
        settle()
        assert not unnamed(dialog), page
        assert not missed(dialog, qapp), page
        small = [named(w) for w in seen(dialog) if QFontInfo(w.font()).pointSizeF() < theme.TEXT_PT - 0.01]
        assert not small, page
        sideways = [named(w) for w in seen(dialog) if isinstance(w, QAbstractScrollArea)
                    and w.horizontalScrollBar().maximum() > 0]
        assert not sideways, page
        cut = [named(w) for w in seen(dialog) if isinstance(w, QAbstractButton) and w.text()
               and w.width() < w.sizeHint().width()]
        assert not cut, page
        markup = [named(w) for w in seen(dialog) if isinstance(w, QLabel)
                  and w.textFormat() != Qt.TextFormat.PlainText]
        assert not markup, page
        assert dialog.height() <= 720


def test_the_answer_is_the_saved_circuit(job_desk: Desk, monkeypatch: pytest.MonkeyPatch):
    """`ask` gives the id, or nothing where it was left."""
    def save(dialog: CircuitDialog) -> int:
        dialog.on_begin(starter("horn"))
        dialog.on_save()
        return 1

    monkeypatch.setattr(CircuitDialog, "exec", save)
    assert CircuitDialog.ask(None, job_desk) == "horn"
    monkeypatch.setattr(CircuitDialog, "exec", lambda _dialog: 0)
    assert CircuitDialog.ask(None, job_desk) == ""
