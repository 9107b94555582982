"""The databases' own errors in words that say what to do.

Only what the environment does is translated: a full disk, a lock, a server that is away. Everything else is a fault of
the program and keeps its traceback.
"""

from __future__ import annotations

import sqlite3
from typing import Any

from workshop_log.book.errors import DamagedBookError, EditConflictError, NotABookError, StorageUnavailableError
from workshop_log.errors import WorkshopLogError

_FULL = ("the disk is full.", "Free some space on it, then repeat what you did; everything before it is safe.")
_LOCKED = ("another program is writing in it and does not finish.",
           "Close other programs that use this file, then try again.")
_READ_ONLY = ("it cannot be written.", "Give yourself the right to write the file and its folder, or use another book.")
_NO_OPEN = ("it cannot be opened.", "Check that the folder is there and that you may write in it.")
_DISK = ("the disk does not answer as it should.",
         "Check its connection and its health before working on; copy the file to another disk.")
_DAMAGED = ("the file is damaged.", "Close the program, keep a copy of the file, and restore the newest backup.")
_NOT_A_BOOK = ("this file is no book.", "Choose another file; this one was not touched.")
# By the beginning of SQLite's own name for what happened.
_SQLITE = (
    ("SQLITE_FULL", StorageUnavailableError, _FULL), ("SQLITE_BUSY", StorageUnavailableError, _LOCKED),
    ("SQLITE_LOCKED", StorageUnavailableError, _LOCKED), ("SQLITE_READONLY", StorageUnavailableError, _READ_ONLY),
    ("SQLITE_PERM", StorageUnavailableError, _READ_ONLY), ("SQLITE_AUTH", StorageUnavailableError, _READ_ONLY),
    ("SQLITE_CANTOPEN", StorageUnavailableError, _NO_OPEN), ("SQLITE_IOERR", StorageUnavailableError, _DISK),
    ("SQLITE_CORRUPT", DamagedBookError, _DAMAGED), ("SQLITE_NOTADB", NotABookError, _NOT_A_BOOK),
)
_AWAY = ("the server does not answer.",
         "Check that it runs and that this machine reaches it, then repeat what you did.")
# By the beginning of the SQLSTATE.
_POSTGRESQL = (
    ("28", ("the server refuses this name and password.", "Check them in the book's address.")),
    ("3D000", ("there is no such database on the server.", "Create it, or check the name in the book's address.")),
    ("53100", _FULL), ("53300", ("the server has no connection left.", "Close the program where it is not needed.")),
    ("42501", ("this name has no right to do that.", "Let whoever looks after the server grant it.")),
    ("25006", ("the server allows reading only.", "Connect to the main server.")),
    ("55P03", _LOCKED), ("57014", _LOCKED), ("57P", _AWAY), ("08", _AWAY), ("58", _DISK),
    ("XX001", _DAMAGED), ("XX002", _DAMAGED),
)
# Two bays did the same thing at once; whoever came second repeats it.
_AT_ONCE = ("40001", "40P01")
_SHARED_NAMES = ("uq_customers_recognised_by", "uq_vehicles_recognised_by", "fk_jobs_customer_key",
                 "fk_jobs_vehicle_key", "pk_settings", "pk_drafts")


def translate(error: Exception, place: str) -> Exception | None:
    """Return the error as a person is told it; None for a fault of the program.

    Parameters
    ----------
    error : Exception
        SQLAlchemy's error, or the driver's own.
    place : str
        The book as a person knows it.
    """
    original = getattr(error, "orig", None) or error
    if original is not error and isinstance(original, WorkshopLogError):
        # A value that a column cannot take has said so itself.
        return original
    if isinstance(original, sqlite3.Error):
        return _of_sqlite(original, place)
    if type(original).__module__.startswith("psycopg"):
        return _of_postgresql(original, place)
    if type(error).__name__ == "StaleDataError":
        return EditConflictError("")
    if type(error).__name__ == "TimeoutError" and type(error).__module__.startswith("sqlalchemy"):
        return StorageUnavailableError(place, *_LOCKED)
    return None


def _of_sqlite(error: sqlite3.Error, place: str) -> Exception | None:
    name = getattr(error, "sqlite_errorname", None) or ""
    for begin, kind, words in _SQLITE:
        if name.startswith(begin):
            return kind(place, *words)
    return None


def _of_postgresql(error: Any, place: str) -> Exception | None:
    state = getattr(error, "sqlstate", None)
    if state is None:
        # Psycopg has no state for a connection that failed or broke; its text then comes from the system.
        if type(error).__name__ not in ("OperationalError", "ConnectionTimeout", "AdminShutdown"):
            return None
        text = str(error)
        for sign, begin in (("password authentication failed", "28"), ("no password supplied", "28"),
                            ("does not exist", "3D000"), ("too many clients", "53300")):
            if sign in text:
                state = begin
                break
        else:
            return StorageUnavailableError(place, *_AWAY)
    if state.startswith(_AT_ONCE) or getattr(getattr(error, "diag", None), "constraint_name", None) in _SHARED_NAMES:
        return EditConflictError("")
    for begin, words in _POSTGRESQL:
        if state.startswith(begin):
            return (DamagedBookError if words is _DAMAGED else StorageUnavailableError)(place, *words)
    return None
