"""Progress in a terminal: one line, only for long work, and nothing of it is left."""

from __future__ import annotations

import io
import sys

import pytest

from workshop_log import terminal_progress
from workshop_log.terminal_progress import told


class Terminal(io.StringIO):
    """What is written to a terminal."""

    def isatty(self) -> bool:
        """Say that it is one."""
        return True


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Return a clock that stands still until its one entry is changed."""
    moment = [100.0]
    monkeypatch.setattr(terminal_progress.time, "monotonic", lambda: moment[0])
    return moment


def test_long_work_is_told_and_wiped_away(clock: list[float], monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten times a second at most; at its end the line is blank again."""
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with told("Copying the book") as progress:
        progress(1, 10)
        assert terminal.getvalue() == ""
        clock[0] += 0.6
        progress(5, 10)
        clock[0] += 0.01
        progress(6, 10)
        clock[0] += 0.2
        progress(10, 10)
    last = "Copying the book … 100 %"
    assert terminal.getvalue().split("\r") == ["", "Copying the book …  50 %", last, " " * len(last), ""]


def test_short_work_and_files_hear_nothing(clock: list[float], monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither what is done at once nor what is not looked at by a person."""
    for stream in (Terminal(), io.StringIO()):
        monkeypatch.setattr(sys, "stderr", stream)
        with told("Copying the book") as progress:
            progress(1, 2)
        assert stream.getvalue() == ""
    with told("Copying the book") as progress:
        clock[0] += 60
        progress(0, 0)
    assert stream.getvalue() == ""
