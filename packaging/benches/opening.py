"""Opening a job of a big book, against the same statements sent by Python's own sqlite3."""

from __future__ import annotations

import os
import random
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from benches.recording import Asked, ask, connect, recorded
from benches.timing import Figures, Line, held_to, seconds

if TYPE_CHECKING:
    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job

JOBS = 200
MOST_RATIO, MOST_MS = 3.0, 50.0


def opening(path: Path, jobs: int = JOBS) -> Iterator[Line]:
    """Yield the lines on opening jobs chosen at random, from the disk and from memory."""
    from workshop_log.book.opening import open_book

    with closing(open_book(path)) as book:
        numbers = _numbers(path, jobs)
        asked = _asked(book, numbers)
        for words, rounds in (("from the disk", _cold_rounds), ("again", _warm_rounds)):
            program, raw = rounds(book, path, numbers, asked)
            note = f"{len(numbers)} jobs at random, {len(asked[0]) - 1} statements each"
            yield held_to(f"opening a job {words}, median", program.median * 1e3, "ms", raw.median * 1e3,
                          ratio=MOST_RATIO, below=MOST_MS, note=note)
            yield held_to(f"opening a job {words}, p95", program.p95 * 1e3, "ms", raw.p95 * 1e3, ratio=MOST_RATIO,
                          below=MOST_MS)


def _numbers(path: Path, count: int) -> list[str]:
    with closing(connect(path)) as connection:
        every = [number for number, in connection.execute("SELECT number FROM jobs ORDER BY key")]
    return random.Random(1).sample(every, min(count, len(every)))


def _asked(book: Book, numbers: Sequence[str]) -> list[list[Asked]]:
    """Return for each job what opening it asks."""
    every = []
    with recorded(book) as asked:
        for number in numbers:
            asked.clear()
            _open(book, number)
            every.append([*asked])
    return every


def _open(book: Book, number: str) -> Job:
    from workshop_log.book.jobs import load_job

    with book.read() as session:
        return load_job(session, number)


def _warm_rounds(book: Book, path: Path, numbers: Sequence[str], asked: list[list[Asked]]) -> tuple[Figures, Figures]:
    """Open each job once more after it has been opened, on connections that are open."""
    program, raw = [], []
    with closing(connect(path)) as connection:
        for index, number in enumerate(numbers):
            acts = [(program, lambda number=number: _open(book, number)),
                    (raw, lambda index=index: ask(connection, asked[index]))]
            for _, act in acts:
                act()
            for times, act in acts if index % 2 else reversed(acts):
                times.append(seconds(act))
    return Figures(tuple(program)), Figures(tuple(raw))


def _cold_rounds(book: Book, path: Path, numbers: Sequence[str], asked: list[list[Asked]]) -> tuple[Figures, Figures]:
    """Open each job on a new connection with nothing of the file in memory, as far as the system lets it go."""
    program, raw = [], []
    for index, number in enumerate(numbers):
        def by_program(number: str = number) -> None:
            book.engine.dispose()
            _forget(path)
            program.append(seconds(lambda: _open(book, number)))

        def by_itself(index: int = index) -> None:
            _forget(path)

            def connect_and_ask() -> None:
                with closing(connect(path)) as connection:
                    ask(connection, asked[index])

            raw.append(seconds(connect_and_ask))

        for act in (by_program, by_itself) if index % 2 else (by_itself, by_program):
            act()
    return Figures(tuple(program)), Figures(tuple(raw))


def _forget(path: Path) -> None:
    """Have the system drop the file from its memory, where it can be asked to."""
    if not hasattr(os, "posix_fadvise"):
        return
    with path.open("rb") as file:
        os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
