"""Searching a big book as one types, and the list, against the same statements sent by Python's own sqlite3."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from benches.recording import ask, connect, statements
from benches.timing import Line, held_to, in_turn, seconds

ROUNDS = 15
MOST_MS = 50.0
# As many as the window asks for.
LIST_LENGTH = 200


def searching(path: Path, rounds: int = ROUNDS) -> Iterator[Line]:
    """Yield a line for each kind of words, and for the list."""
    from workshop_log.book.listing import first_page, list_jobs
    from workshop_log.book.opening import open_book
    from workshop_log.book.search import search_jobs

    with closing(open_book(path)) as book, closing(connect(path)) as connection:

        def in_book(act: Callable[..., Any], *arguments: Any, **options: Any) -> Callable[[], Any]:
            def asked() -> Any:
                with book.read() as session:
                    return act(session, *arguments, **options)

            return asked

        def line(what: str, act: Callable[[], Any], note: str) -> Line:
            asked = statements(book, act)
            times, raw = in_turn([lambda: seconds(act), lambda: seconds(lambda: ask(connection, asked))], rounds)
            return held_to(what, times.p95 * 1e3, "ms", raw.p95 * 1e3, below=MOST_MS,
                            note=f"{note}; p95 of {rounds}")

        for kind, words in _kinds(connection):
            act = in_book(search_jobs, words, limit=LIST_LENGTH)
            yield line(f"search, {kind}: {words}", act, f"{len(act())} found")
        act = in_book(list_jobs, limit=LIST_LENGTH)
        yield line("list, first page", act, f"{len(act())} jobs")
        [first] = in_turn([lambda: seconds(lambda: first_page(path))], rounds)
        yield held_to("list, as the window starts", first.p95 * 1e3, "ms", below=MOST_MS,
                      note=f"{len(first_page(path))} jobs, its own connection; p95 of {rounds}")


def _kinds(connection: Any) -> Iterator[tuple[str, str]]:
    """Yield words to search for: of every job, of many, of one, of none."""
    plate, name = connection.execute("SELECT vehicle_registration, customer_name FROM jobs "
                                     "WHERE key = (SELECT max(key) / 3 + 1 FROM jobs)").fetchone()
    yield "one letter", "w"
    yield "a beginning", "flick"
    yield "a word", "flickers"
    yield "a plate", plate
    yield "a plate half typed", plate[:4]
    yield "the middle of a plate", plate.replace(" ", "")[2:]
    yield "two words", f"{name.split()[1]} wiper"
    yield "two words of many jobs", "starter wet"
    yield "no hit", "qqxxzz"
