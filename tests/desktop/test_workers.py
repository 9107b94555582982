"""Work off the window's thread: its answer reaches whoever asked, or nobody when they are gone."""

from __future__ import annotations

import threading

import pytest
from desktop.looking import settle, work_done
from PySide6.QtCore import QObject, QThread
from PySide6.QtWidgets import QApplication

from workshop_log.desktop.workers import run_in_background
from workshop_log.errors import WorkshopLogError

LONG = 10.0


@pytest.fixture
def asker(qapp: QApplication) -> QObject:
    """Return somebody who wants answers."""
    return QObject()


def test_answer_comes_on_the_windows_thread(asker: QObject) -> None:
    """The function runs on another one."""
    threads: list[object] = []
    run_in_background(lambda: threading.get_ident(), parent=asker, failed=pytest.fail,
                      finished=lambda ident: threads.extend((ident, QThread.currentThread())))
    work_done()
    assert threads[0] != threading.get_ident()
    assert threads[1] == asker.thread()


def test_what_went_wrong_is_a_sentence(asker: QObject, caplog: pytest.LogCaptureFixture) -> None:
    """An error of the program's own as it is, any other with what to believe."""
    said: list[str] = []

    def fail(error: Exception) -> None:
        raise error

    for error in (WorkshopLogError("The disk is full. Free some space."), ZeroDivisionError("oh")):
        run_in_background(fail, error, parent=asker, failed=said.append, finished=pytest.fail)
        work_done()
    assert said[0] == "The disk is full. Free some space."
    assert "fault in the program" in said[1]
    assert "oh" in said[1]


@pytest.mark.parametrize("round_", range(30))
def test_nobody_is_told_when_whoever_asked_is_gone(qapp: QApplication, round_: int) -> None:
    """A dialog that was closed meanwhile costs neither an answer nor the program, whichever is first."""
    asker, go_on, told = QObject(), threading.Event(), []
    run_in_background(go_on.wait, LONG, parent=asker, failed=told.append, finished=told.append)
    if round_ % 2:
        go_on.set()
    asker.deleteLater()
    del asker
    settle()
    go_on.set()
    work_done()
    # Where the answer was first, it may be told; never after the object is gone.
    assert told in ([], [True])
    if round_ % 2 == 0:
        assert told == []
