"""Looking back at how the bar moved: a slider by mouse or key, plain words, and the way back to now."""

from __future__ import annotations

import pytest
from desktop.suspicions import MOMENTS
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from workshop_log.desktop.look_back import LookBack
from workshop_log.jobs.suspicion import Moment


@pytest.fixture
def back(qtbot: QtBot) -> LookBack:
    """Show the slider over three steps."""
    around = QWidget()
    made = LookBack()
    column = QVBoxLayout(around)
    column.addWidget(made.handle)
    column.addWidget(made)
    qtbot.addWidget(around)
    made.forget(len(MOMENTS) - 1)
    around.show()
    made.around = around
    return made


@pytest.fixture
def chosen(back: LookBack) -> list[Moment | None]:
    """Return what is to be shown, as it comes."""
    moments: list[Moment | None] = []
    back.moment_chosen.connect(moments.append)
    return moments


def test_it_begins_at_now_and_says_nothing(back: LookBack):
    """The words and the way back are there only when something else is shown."""
    assert not back.is_back
    assert not back.isVisible()
    assert back.handle.isVisible()


def test_the_first_move_asks_how_the_bar_moved(back: LookBack, chosen: list, qtbot: QtBot):
    """It is worked out only for those who look back; until then it says so."""
    with qtbot.waitSignal(back.history_wanted):
        qtbot.keyClick(back.slider, Qt.Key.Key_Left)
    assert chosen == []
    assert "Working out" in back.words.text()
    back.show_moments(MOMENTS)
    assert chosen == [MOMENTS[2]]
    assert back.words.text() == "after s4: Voltage: b to B−: 12.3 V"


def test_each_step_is_shown_in_turn(back: LookBack, chosen: list, qtbot: QtBot):
    """Down to before the first test, which is no step."""
    back.show_moments(MOMENTS)
    for _ in range(3):
        qtbot.keyClick(back.slider, Qt.Key.Key_Left)
    assert chosen == [MOMENTS[2], MOMENTS[1], MOMENTS[0]]
    assert back.words.text() == "before the first test"
    assert back.slider.accessibleDescription() == "before the first test"


def test_a_button_leads_back_to_now(back: LookBack, chosen: list, qtbot: QtBot):
    """From wherever one looks."""
    back.show_moments(MOMENTS)
    qtbot.keyClick(back.slider, Qt.Key.Key_Home)
    assert back.isVisible()
    qtbot.mouseClick(back.now, Qt.MouseButton.LeftButton)
    assert chosen[-1] is None
    assert not back.is_back
    assert not back.isVisible()


def test_a_new_reading_begins_anew_at_now(back: LookBack):
    """What was worked out before it is out of date."""
    back.show_moments(MOMENTS)
    back.slider.setValue(1)
    back.forget(4)
    assert not back.is_back
    assert back.slider.maximum() == 4


def test_without_a_step_there_is_nothing_to_look_back_at(back: LookBack):
    """The slider is not shown."""
    back.forget(0)
    assert not back.handle.isVisible()


def test_fewer_moments_than_steps_keep_the_place_from_now(back: LookBack, chosen: list):
    """Two results of one step are one moment."""
    back.forget(5)
    back.slider.setValue(4)
    back.show_moments(MOMENTS)
    assert chosen == [MOMENTS[2]]


def test_the_wheel_does_not_move_it(back: LookBack):
    """Somebody scrolls past it."""
    at = QPointF(10, 10)
    QApplication.sendEvent(back.slider, QWheelEvent(
        at, at, QPoint(), QPoint(0, -120), Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase, False))
    assert not back.is_back
