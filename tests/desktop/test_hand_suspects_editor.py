"""Suspects written by hand where no circuit is described: added, weighed, cleared and supported, taken off."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from desktop.looking import settle, work_done
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from workshop_log.desktop import theme
from workshop_log.desktop.hand_suspects_editor import HandSuspectsEditor, bearing_words
from workshop_log.desktop.main_window import MainWindow
from workshop_log.exchange.records import Bearing

NO_CIRCUIT = "2031-0001"
HUB, RUST = "a worn hub", "rust between the disc and the hub"


@pytest.fixture
def editor(samples: None, window: MainWindow, qapp: QApplication, qtbot: QtBot) -> Iterator[HandSuspectsEditor]:
    """Open a job without a circuit, with two suspects written down."""
    window.activateWindow()
    qtbot.waitUntil(lambda: qapp.activeWindow() is window)
    window.resize(1366, 768)
    window.open_job(NO_CIRCUIT)
    window.turn_to(1)
    made = window.testing.suspicion.by_hand
    write(made, HUB, qtbot)
    write(made, RUST, qtbot)
    finish(window)
    yield made
    finish(window)


def finish(window: MainWindow) -> None:
    work_done()
    assert not window.testing.suspicion.worker.is_busy


def write(editor: HandSuspectsEditor, name: str, qtbot: QtBot) -> None:
    editor.name.setFocus()
    qtbot.keyClicks(editor.name, name)
    qtbot.keyClick(editor.name, Qt.Key.Key_Return)


def choose(window: MainWindow, name: str, qtbot: QtBot) -> None:
    found = window.testing.suspicion.list
    row = next(i for i, row in enumerate(found.suspects.rows) if row.title == name)
    qtbot.mouseClick(found.viewport(), Qt.MouseButton.LeftButton,
                     pos=found.visualRect(found.suspects.index(row)).topLeft() + QPoint(20, 12))


def written(window: MainWindow) -> dict[str, float]:
    return {suspect.name: suspect.weight for suspect in window.desk.job.suspects}


def percent(window: MainWindow, name: str) -> float:
    return next(s.probability for s in window.testing.suspicion.suspicion.shares if s.name == name)


def test_a_suspect_is_written_down_with_enter(editor: HandSuspectsEditor, window: MainWindow):
    """It stands in the same bar and list as those of a circuit; the line is empty for the next one."""
    assert written(window) == {HUB: 1.0, RUST: 1.0}
    assert editor.name.text() == ""
    assert window.testing.suspicion.bar.isVisible()
    assert HUB in [row.title for row in window.testing.suspicion.list.suspects.rows]
    assert percent(window, HUB) == pytest.approx(percent(window, RUST))


def test_writing_down_can_be_undone(editor: HandSuspectsEditor, window: MainWindow):
    """Like every other fact that is no evidence."""
    window.actions_by_id["edit.undo"].trigger()
    assert written(window) == {HUB: 1.0}


def test_the_same_suspect_twice_is_refused_with_a_reason(editor: HandSuspectsEditor, window: MainWindow, qtbot: QtBot):
    """What was typed stays to be put right."""
    said: list[str] = []
    window.desk.problem.connect(said.append)
    write(editor, HUB, qtbot)
    assert len(said) == 1
    assert editor.name.text() == HUB
    assert written(window) == {HUB: 1.0, RUST: 1.0}


def test_a_suspect_is_weighed_against_the_others(editor: HandSuspectsEditor, window: MainWindow, qtbot: QtBot):
    """Twice as often is twice the share; what is no weight is refused, and the weight shown again."""
    choose(window, RUST, qtbot)
    assert editor.title.text() == RUST
    editor.weight.setFocus()
    editor.weight.selectAll()
    qtbot.keyClicks(editor.weight, "2")
    qtbot.keyClick(editor.weight, Qt.Key.Key_Return)
    finish(window)
    assert written(window)[RUST] == 2.0
    assert percent(window, RUST) == pytest.approx(2 * percent(window, HUB))
    said: list[str] = []
    window.desk.problem.connect(said.append)
    editor.weight.selectAll()
    qtbot.keyClicks(editor.weight, "much")
    qtbot.keyClick(editor.weight, Qt.Key.Key_Return)
    assert len(said) == 1
    assert editor.weight.text() == "2"


def test_a_step_clears_and_supports_a_suspect(editor: HandSuspectsEditor, window: MainWindow, qtbot: QtBot):
    """The step that is chosen in the table; noted in words, and taken back."""
    window.testing.table.selectRow(2)
    choose(window, HUB, qtbot)
    assert editor.steps.currentData() == window.desk.job.steps[2].id
    before = percent(window, HUB)
    editor.strength.setCurrentIndex(editor.strength.findData("strong"))
    qtbot.mouseClick(editor.note, Qt.MouseButton.LeftButton)
    finish(window)
    assert [(b.step, b.says, b.strength) for b in window.desk.job.suspects[0].bearings] == [("s3", "clears", "strong")]
    assert percent(window, HUB) < before / 10
    assert "cleared" in window.testing.suspicion.list.suspects.rows[-1].title
    back = next(b for b in editor.findChildren(QPushButton) if b.accessibleName() == "Take back: s3 clears it strongly")
    qtbot.mouseClick(back, Qt.MouseButton.LeftButton)
    finish(window)
    assert window.desk.job.suspects[0].bearings == ()
    assert percent(window, HUB) == pytest.approx(before)


def test_a_suspect_is_taken_off_and_comes_back_by_undo(editor: HandSuspectsEditor, window: MainWindow, qtbot: QtBot):
    """With everything that was said of it."""
    choose(window, HUB, qtbot)
    qtbot.mouseClick(editor.note, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(editor.take_off, Qt.MouseButton.LeftButton)
    assert written(window) == {RUST: 1.0}
    assert not editor.about.isVisible()
    window.actions_by_id["edit.undo"].trigger()
    assert len(next(s for s in window.desk.job.suspects if s.name == HUB).bearings) == 1


def test_it_can_be_looked_back_at_how_they_moved(editor: HandSuspectsEditor, window: MainWindow, qtbot: QtBot):
    """The same slider over the steps that say something."""
    panel = window.testing.suspicion
    assert not panel.look_back.handle.isVisible()
    choose(window, HUB, qtbot)
    qtbot.mouseClick(editor.note, Qt.MouseButton.LeftButton)
    finish(window)
    assert panel.look_back.slider.maximum() == 1
    panel.look_back.slider.setValue(0)
    finish(window)
    assert panel.look_back.words.text() == "before the first test"
    assert not editor.isVisible()


@pytest.mark.parametrize(("bearing", "words"), [
    (Bearing(step="s4", says="clears", strength="strong"), "s4 clears it strongly"),
    (Bearing(step="s4", says="supports", strength="slight"), "s4 supports it slightly"),
    (Bearing(step="s4", says="clears"), "s4 clears it")])
def test_what_a_step_says_is_told_in_words(bearing: Bearing, words: str):
    """As short as it can be."""
    assert bearing_words(bearing) == words


def test_everything_to_press_is_large_enough_for_a_glove(editor: HandSuspectsEditor, window: MainWindow, qtbot: QtBot):
    """44 pixels, as everywhere on this page."""
    choose(window, HUB, qtbot)
    settle()
    for widget in (editor.name, editor.add, editor.weight, editor.take_off, editor.steps, editor.says,
                   editor.strength, editor.note):
        assert widget.isVisible()
        assert min(widget.width(), widget.height()) >= theme.TARGET_PX
