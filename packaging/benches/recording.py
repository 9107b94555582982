"""What the program asks of SQLite, word for word, to ask the same without the program."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import event

if TYPE_CHECKING:
    from workshop_log.book.opening import Book

# A statement and its parameters.
Asked = tuple[str, Sequence[Any]]


@contextmanager
def recorded(book: Book) -> Iterator[list[Asked]]:
    """Give a list to which every statement is added that reaches the driver meanwhile, whoever sends it."""
    asked: list[Asked] = []

    class Cursor(sqlite3.Cursor):
        """Tells what it is asked."""

        def execute(self, statement: str, parameters: Sequence[Any] = ()) -> sqlite3.Cursor:
            """Execute."""
            asked.append((statement, tuple(parameters)))
            return super().execute(statement, parameters)

    class Connection(sqlite3.Connection):
        """Makes cursors that tell."""

        def execute(self, statement: str, parameters: Sequence[Any] = ()) -> sqlite3.Cursor:
            """Execute."""
            return self.cursor().execute(statement, parameters)

        def cursor(self, _factory: Any = None) -> sqlite3.Cursor:
            """Return a cursor."""
            return super().cursor(Cursor)

    def with_telling(_dialect: Any, _record: Any, _arguments: Any, options: dict[str, Any]) -> None:
        options["factory"] = Connection

    event.listen(book.engine, "do_connect", with_telling)
    book.engine.dispose()
    try:
        # The first connection sets itself up, which is no part of any question.
        with book.read() as session:
            session.connection()
        asked.clear()
        yield asked
    finally:
        event.remove(book.engine, "do_connect", with_telling)
        book.engine.dispose()


def statements(book: Book, act: Callable[[], Any]) -> list[Asked]:
    """Return what a call asks of the book."""
    with recorded(book) as asked:
        act()
        return [*asked]


def connect(path: Path) -> sqlite3.Connection:
    """Return a connection of the standard library with the settings of the program's own."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA temp_store = MEMORY")
    return connection


def ask(connection: sqlite3.Connection, asked: Sequence[Asked]) -> int:
    """Ask the same again, fetch every row, and return how many there were."""
    count = 0
    for statement, parameters in asked:
        count += len(connection.execute(statement, parameters).fetchall())
    if connection.in_transaction:
        connection.rollback()
    return count
