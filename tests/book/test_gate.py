"""Sessions of other threads wait while the book's file is let alone, and go on afterwards."""

from __future__ import annotations

import threading
import time
from datetime import UTC, datetime
from pathlib import Path

from workshop_log.book.backup import backup, restore
from workshop_log.book.gate import Gate
from workshop_log.book.listing import list_jobs
from workshop_log.book.opening import open_book
from workshop_log.jobs.intake import take_in

NOW = datetime(2031, 5, 1, 8, 0, tzinfo=UTC)
SHORT, LONG = 0.05, 10.0


def begun(function: object) -> threading.Thread:
    """Return the thread that runs it."""
    thread = threading.Thread(target=function, daemon=True)
    thread.start()
    return thread


def test_session_of_another_thread_waits_while_the_book_rests(tmp_path: Path) -> None:
    """Nothing is read or written while a dialog is open; it is done once the dialog is closed."""
    book = open_book(tmp_path / "book.db")
    numbers: list[str] = []
    with book.resting():
        other = begun(lambda: numbers.append(take_in(book, NOW).number))
        other.join(SHORT)
        assert other.is_alive()
        assert numbers == []
        # The window's own thread is never locked out by itself.
        with book.read() as session:
            assert list_jobs(session) == []
    other.join(LONG)
    assert numbers == ["2031-0001"]
    book.close()


def test_whoever_closes_waits_for_those_inside() -> None:
    """The gate is closed when the last one is outside, and not before."""
    gate, is_inside, may_leave, closed = Gate(), threading.Event(), threading.Event(), threading.Event()

    def inside() -> None:
        with gate.passed(), gate.passed():
            is_inside.set()
            may_leave.wait(LONG)

    def closing() -> None:
        gate.close()
        closed.set()

    begun(inside)
    assert is_inside.wait(LONG)
    begun(closing)
    assert not closed.wait(SHORT)
    may_leave.set()
    assert closed.wait(LONG)


def test_long_work_steps_aside() -> None:
    """It does not go on until the gate is open again, and has lost nothing."""
    gate, go_on, steps = Gate(), threading.Event(), []

    def work() -> None:
        with gate.passed():
            for step in range(3):
                steps.append(step)
                go_on.wait(LONG)
                gate.step_aside()

    worker = begun(work)
    while not steps:
        time.sleep(0.001)
    closer = begun(gate.close)
    time.sleep(SHORT)
    go_on.set()
    closer.join(LONG)
    seen = len(steps)
    time.sleep(SHORT)
    assert len(steps) == seen < 3
    gate.open()
    worker.join(LONG)
    assert steps == [0, 1, 2]


def test_session_that_never_ends_does_not_stop_the_window(monkeypatch: object) -> None:
    """Whoever closes the gate waits for a while and then goes on."""
    monkeypatch.setattr("workshop_log.book.gate._PATIENCE", SHORT)
    gate, is_inside, end = Gate(), threading.Event(), threading.Event()

    def inside() -> None:
        with gate.passed():
            is_inside.set()
            end.wait(LONG)

    worker = begun(inside)
    assert is_inside.wait(LONG)
    gate.close()
    end.set()
    worker.join(LONG)
    gate.open()


def test_backup_tells_how_far_it_is_and_leaves_nothing_when_it_is_ended(tmp_path: Path) -> None:
    """Whenever it is ended: no file, no folder; the book stays as it is."""
    from workshop_log.progress import Cancelled

    book = open_book(tmp_path / "book.db")
    for _ in range(3):
        take_in(book, NOW)
    book.files.put(b"a picture")
    told: list[float] = []
    target = tmp_path / "copies" / "whole.db"
    target.parent.mkdir()
    backup(book, target, lambda done, total: told.append(done / total))
    assert told == sorted(told)
    assert told[-1] == 1
    whole = target.read_bytes()
    target.unlink()
    for stop in range(len(told)):
        calls = []

        def progress(done: int, total: int, stop: int = stop, calls: list = calls) -> None:
            calls.append(done)
            if len(calls) > stop:
                raise Cancelled

        try:
            backup(book, target, progress)
        except Cancelled:
            pass
        else:
            raise AssertionError("it was not ended")
        assert list(target.parent.iterdir()) == []
    target.write_bytes(whole)
    assert restore(target, tmp_path / "again.db").jobs == 3
    book.close()
