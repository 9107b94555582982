"""What other bays changed, as it happens: PostgreSQL's LISTEN and NOTIFY.

Each transaction that changes a job tells its number on the channel when it is kept (see `opening.Book.session`).
"""

from __future__ import annotations

from typing import Any

from workshop_log.book import place
from workshop_log.book.errors import StorageUnavailableError

CHANNEL = "workshop_log"


class Listener:
    """A connection that hears of changes.

    The window watches `fileno()`; whenever it can be read, `poll()` says which jobs were changed. A connection that
    broke raises StorageUnavailableError from there: listen anew after a pause, and load anew what is shown.
    """

    def __init__(self, connection: Any, where: str) -> None:
        self._connection = connection
        self._place = where

    def fileno(self) -> int:
        """Return the socket to watch."""
        return self._connection.fileno()

    def poll(self) -> list[str]:
        """Return the numbers of the jobs changed since the last call, each once, without waiting."""
        import psycopg

        numbers: dict[str, None] = {}
        try:
            server = self._connection.pgconn
            server.consume_input()
            while (notice := server.notifies()) is not None:
                numbers.setdefault(notice.extra.decode())
        except psycopg.Error as error:
            raise StorageUnavailableError(self._place, "the server does not answer.",
                                          "Check that it runs and that this machine reaches it.") from error
        return list(numbers)

    def close(self) -> None:
        """Stop listening."""
        self._connection.close()


def listen(url: str) -> Listener:
    """Begin to hear of changes in a shared book.

    Raises
    ------
    StorageUnavailableError
        If the server cannot be reached.
    ValueError
        If the book is not shared: nobody else changes it.
    """
    import psycopg

    full = place.url_of(url)
    if place.sqlite_path(full) is not None:
        raise ValueError("Only a shared book has other bays to listen to.")
    where = place.shown_place(full)
    try:
        connection = psycopg.connect(full.replace(place.SHARED, "postgresql://", 1), autocommit=True, connect_timeout=8)
        connection.execute(f"LISTEN {CHANNEL}")
    except psycopg.Error as error:
        raise StorageUnavailableError(where, "the server does not answer.",
                                      "Check that it runs and that this machine reaches it.") from error
    return Listener(connection, where)
