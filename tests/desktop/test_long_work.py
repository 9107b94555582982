"""Long work beside the window: shown when it lasts, ended when nobody wants it, told how it came out."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import pytest
from desktop.looking import settle, work_done
from PySide6.QtCore import QObject, Qt
from PySide6.QtTest import QTest
from shiboken6 import delete

from workshop_log.desktop.desk import Desk
from workshop_log.desktop.long_work import LOOK_EVERY_MS, SHOWN_AFTER_MS, WorkStrip
from workshop_log.errors import WorkshopLogError
from workshop_log.progress import Progress

LONG = 10.0


@pytest.fixture
def strip(desk: Desk, qtbot: object) -> WorkStrip:
    """Return the strip at the foot of a window."""
    made = WorkStrip(desk.work)
    qtbot.addWidget(made)
    made.resize(600, 60)
    return made


def until(condition: Callable[[], bool]) -> None:
    """Let the window work until something is so."""
    last = time.monotonic() + LONG
    while not condition():
        assert time.monotonic() < last
        QTest.qWait(5)


def test_short_work_shows_nothing(desk: Desk, strip: WorkStrip) -> None:
    """A strip that only flashes disturbs."""
    came: list[int] = []
    desk.work.begin("Counting", lambda _progress: 7, finished=came.append)
    work_done()
    QTest.qWait(SHOWN_AFTER_MS + LOOK_EVERY_MS)
    assert came == [7]
    assert strip.isHidden()
    assert desk.work.pieces == []


def test_long_work_shows_what_it_is_and_how_far(desk: Desk, strip: WorkStrip) -> None:
    """In thousandths, from what the work told last; the strip goes with the work."""
    go_on, end = threading.Event(), threading.Event()

    def work(progress: Progress) -> str:
        go_on.wait(LONG)
        progress(1, 4)
        end.wait(LONG)
        return "done"

    came: list[str] = []
    desk.work.begin("Copying the book", work, finished=came.append)
    until(strip.isVisible)
    assert strip.words.text() == "Copying the book …"
    # How far it is, is not known yet: the bar moves to and fro.
    assert strip.bar.maximum() == 0
    go_on.set()
    until(lambda: strip.bar.maximum() == 1000)
    assert strip.bar.value() == 250
    end.set()
    until(lambda: bool(came))
    assert came == ["done"]
    assert strip.isHidden()


def test_work_is_ended_with_the_button(desk: Desk, strip: WorkStrip) -> None:
    """The work hears it at its next word; nothing counts as finished, and it is said in passing."""
    told: list[str] = []
    desk.told.connect(told.append)
    steps = []

    def work(progress: Progress) -> None:
        for step in range(100_000):
            steps.append(step)
            progress(step, 100_000)
            threading.Event().wait(0.001)

    desk.work.begin("Copying the book", work, finished=pytest.fail, failed=pytest.fail)
    until(strip.isVisible)
    QTest.mouseClick(strip.end, Qt.MouseButton.LeftButton)
    until(lambda: not desk.work.pieces)
    assert told == ["Copying the book: ended, nothing was changed."]
    assert len(steps) < 100_000
    assert strip.isHidden()


def test_several_pieces_are_shown_one_by_one(desk: Desk, strip: WorkStrip) -> None:
    """The oldest with its own bar, the others counted."""
    ends = [threading.Event(), threading.Event()]
    for number, end in enumerate(ends):
        desk.work.begin(f"Work {number}", lambda _progress, end=end: end.wait(LONG), finished=lambda _: None)
    until(strip.isVisible)
    assert strip.words.text() == "Work 0 … and 1 more"
    ends[0].set()
    until(lambda: strip.words.text() == "Work 1 …")
    ends[1].set()
    until(strip.isHidden)


def test_what_failed_is_told_above_the_page(desk: Desk, problems: list[str]) -> None:
    """Unless whoever began it wants to say it itself."""
    def work(_progress: Progress) -> None:
        raise WorkshopLogError("The disk is full. Free some space.")

    said: list[str] = []
    desk.work.begin("Copying", work, finished=pytest.fail)
    desk.work.begin("Copying", work, finished=pytest.fail, failed=said.append)
    work_done()
    assert problems == said == ["The disk is full. Free some space."]


def test_closing_ends_everything(desk: Desk) -> None:
    """The work that still runs hears it at its next word."""
    began, ended = threading.Event(), threading.Event()

    def work(progress: Progress) -> None:
        began.set()
        try:
            while True:
                progress(0, 1)
                threading.Event().wait(0.001)
        finally:
            ended.set()

    desk.work.begin("Copying", work, finished=pytest.fail)
    assert began.wait(LONG)
    desk.work.cancel_all()
    assert ended.wait(LONG)
    work_done()
    settle()
    assert desk.work.pieces == []


@pytest.mark.parametrize("fails", [False, True])
def test_a_dialog_that_is_gone_hears_nothing(desk: Desk, *, fails: bool) -> None:
    """None of its callables is called, and nobody else is told what only it wanted to know."""
    end = threading.Event()

    def work(_progress: Progress) -> str:
        end.wait(LONG)
        if fails:
            raise WorkshopLogError("The disk is full.")
        return "done"

    dialog, heard, problems = QObject(), [], []
    desk.problem.connect(problems.append)
    desk.work.begin("Making the copy", work, finished=heard.append, failed=heard.append, whose=dialog)
    delete(dialog)
    end.set()
    work_done()
    assert heard == []
    assert problems == []
    assert desk.work.pieces == []
