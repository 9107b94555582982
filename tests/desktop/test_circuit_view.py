"""The circuit on the screen: pressed, reached by keys, moved and zoomed."""

from __future__ import annotations

import pytest
from desktop.looking import sample, settle
from PySide6.QtCore import QPointF, Qt
from pytestqt.qtbot import QtBot

from workshop_log.desktop.circuit_view import CircuitView
from workshop_log.desktop.desk import Desk
from workshop_log.desktop.main_window import MainWindow
from workshop_log.exchange.records import Circuit
from workshop_log.paper.circuit_layout import Marks, Shade


@pytest.fixture
def view(qtbot: QtBot) -> CircuitView:
    """Give the starter circuit of a sample job, on the screen."""
    made = CircuitView()
    qtbot.addWidget(made)
    made.resize(800, 600)
    made.show_circuit(sample("ground-strap").circuits[0])
    made.show()
    return made


def test_a_click_on_a_point_says_which(view: CircuitView, qtbot: QtBot):
    """The point under the pointer, and with Shift the one for the black lead."""
    with qtbot.waitSignal(view.point_pressed) as pressed:
        qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=view.position_of("point", "45").toPoint())
    assert pressed.args == ["45"]
    with qtbot.waitSignal(view.second_pressed) as second:
        qtbot.mouseClick(view, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ShiftModifier,
                         view.position_of("point", "30").toPoint())
    assert second.args == ["30"]


def test_a_click_on_a_symbol_says_which_element(view: CircuitView, qtbot: QtBot):
    """The motor's circle is the motor, not the point beside it."""
    with qtbot.waitSignal(view.element_pressed) as pressed:
        qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=view.position_of("element", "M1").toPoint())
    assert pressed.args == ["M1"]


def test_every_point_and_element_is_reached_by_the_arrow_keys(view: CircuitView, qtbot: QtBot):
    """Going on in some direction comes to each of them, from wherever one stands."""
    view.setFocus()
    seen, todo = set(), [view._at]
    while todo:
        place = todo.pop()
        if place in seen:
            continue
        seen.add(place)
        for key in (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down):
            view._at = place
            qtbot.keyClick(view, key)
            todo.append(view._at)
    everything = {("point", name) for name in view._points} | {("element", name) for name in view._elements}
    assert seen == everything


def test_enter_presses_where_the_keys_stand(view: CircuitView, qtbot: QtBot):
    """Without a mouse the same can be done."""
    view.setFocus()
    view._at = ("point", "engine")
    with qtbot.waitSignal(view.point_pressed) as pressed:
        qtbot.keyClick(view, Qt.Key.Key_Return)
    assert pressed.args == ["engine"]


def test_zooming_keeps_what_is_under_the_pointer(view: CircuitView):
    """The wheel enlarges around the pointer; 0 shows everything again."""
    before = view.position_of("point", "45")
    view.zoom(1.5, before)
    assert (view.position_of("point", "45") - before).manhattanLength() < 0.01
    view.zoom(2.0, QPointF(0, 0))
    view.fit()
    assert (view.position_of("point", "45") - before).manhattanLength() < 0.01


def test_shading_the_elements_moves_nothing(view: CircuitView):
    """What is suspect gets its ground and its percent, what is cleared its line; every point stays where it is."""
    circuit = sample("ground-strap").circuits[0]
    view.show_circuit(circuit, marks=Marks(shades={element.id: Shade() for element in circuit.elements}))
    before = {name: view.position_of("point", name) for name in view._points}
    plain = view.grab().toImage()
    view.show_shades({"GS": Shade(0.6, "60 %"), "M1": Shade(0.0, "s4", is_cleared=True)})
    assert {name: view.position_of("point", name) for name in view._points} == before
    assert view.grab().toImage() != plain
    view.show_shades({})
    assert view.grab().toImage() == plain


def test_an_element_that_is_spoken_of_is_brought_into_view(view: CircuitView):
    """Wherever the drawing was moved to; with none nothing is drawn around."""
    plain = view.grab().toImage()
    view.zoom(4.0, QPointF(0, 0))
    assert not view.rect().contains(view.position_of("element", "J2").toPoint())
    view.point_out("J2")
    assert view.rect().contains(view.position_of("element", "J2").toPoint())
    view.fit()
    assert view.grab().toImage() != plain
    view.point_out("")
    assert view.grab().toImage() == plain


def test_dragging_moves_and_is_no_press(view: CircuitView, qtbot: QtBot):
    """A drag that begins on a point takes no reading."""
    pressed: list[str] = []
    view.point_pressed.connect(pressed.append)
    start = view.position_of("point", "45").toPoint()
    qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(view, start + QPointF(40, 30).toPoint())
    qtbot.mouseMove(view, start + QPointF(80, 60).toPoint())
    qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=start + QPointF(80, 60).toPoint())
    assert pressed == []


def test_a_reading_is_taken_by_pressing_a_point(samples: None, window: MainWindow, qtbot: QtBot):
    """Point, number, Enter: the step stands on the circuit, judged by what the healthy circuit would show."""
    window.open_job("2031-0003")
    window.turn_to(1)
    page = window.testing
    before = len(window.desk.job.steps)
    qtbot.mouseClick(page.circuit_tab, Qt.MouseButton.LeftButton)
    settle()
    view = page.circuit.view
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=view.position_of("point", "engine").toPoint())
    assert page.entry.line.hasFocus()
    assert "Healthy" in page.entry.understood.text()
    qtbot.keyClicks(page.entry.line, "2.40")
    assert "outside" in page.entry.understood.text()
    qtbot.keyClick(page.entry.line, Qt.Key.Key_Return)
    step = window.desk.job.steps[-1]
    assert len(window.desk.job.steps) == before + 1
    assert (step.circuit, step.setup) == ("start", "cranking")
    assert (step.red, step.black, step.reading) == ("engine", "B-", "2.40 V")
    judged = window.desk.evaluation.reading_of(step.id)
    assert judged.verdict.value == "outside"
    assert judged.expected.source.startswith("computed")


@pytest.mark.parametrize("theme_name", ["light", "dark"])
def test_another_setup_shows_what_is_live_in_it(samples: None, window: MainWindow, theme_name: str, qtbot: QtBot):
    """As found the starter's cable is not live behind the solenoid; while cranking it is."""
    window.set_theme(theme_name)
    window.open_job("2031-0003")
    window.turn_to(1)
    page = window.testing
    qtbot.mouseClick(page.circuit_tab, Qt.MouseButton.LeftButton)
    states = {}
    for setup in ("as found", "cranking"):
        page.circuit.setups.setCurrentIndex(page.circuit.setups.findData(setup))
        page.circuit.on_setup()
        states[setup], _ = page.circuit._state(page.circuit.circuit())
    assert states["as found"].points["45"] != "live"
    assert states["cranking"].points["45"] == "live"
    assert states["cranking"].pulled_in


def test_a_circuit_is_described_for_a_job_without_one(
        window: MainWindow, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot):
    """The button stands where no circuit is described; what was saved in the dialog is drawn."""
    from workshop_log.desktop.circuit_dialog import CircuitDialog
    from workshop_log.jobs.starters import starter_circuits
    from workshop_log.jobs.testing import save_circuit

    window.take_in()
    window.turn_to(1)
    asked: list[object] = []

    def ask(_parent: object, desk: Desk, circuit: Circuit | None = None) -> str:
        asked.append(circuit)
        chosen = starter_circuits()[0].circuit
        desk.do(save_circuit, chosen)
        return chosen.id

    monkeypatch.setattr(CircuitDialog, "ask", ask)
    qtbot.mouseClick(window.testing.describe, Qt.MouseButton.LeftButton)
    assert len(window.desk.job.circuits) == 1
    assert window.testing.circuit.isVisible()
    assert window.testing.circuit.view._points
    qtbot.mouseClick(window.testing.circuit.edit, Qt.MouseButton.LeftButton)
    assert asked == [None, window.desk.job.circuits[0]]
