"""Which book a text means, and where a machine keeps its own. Light: the window asks before anything is loaded."""

from __future__ import annotations

import os
from pathlib import Path
from urllib.parse import unquote, urlsplit

from workshop_log.errors import WorkshopLogError

SHARED = "postgresql+psycopg://"
_SQLITE = "sqlite:///"


class PlaceError(WorkshopLogError, ValueError):
    """A text that names no book."""


def default_path() -> Path:
    """Return where this machine keeps its own book."""
    import platformdirs

    return Path(platformdirs.user_data_dir("workshop-log", appauthor=False)) / "book.db"


def url_of(text: str | os.PathLike[str] | None) -> str:
    """Return the full URL of the book that a path, a URL or nothing means.

    Raises
    ------
    PlaceError
        If the text is a URL of something else than SQLite or PostgreSQL.
    """
    if text is None or not str(text).strip():
        return f"{_SQLITE}{default_path()}"
    text = os.fspath(text)
    scheme, separator, rest = text.partition("://")
    if not separator:
        return f"{_SQLITE}{Path(text).expanduser().absolute()}"
    if scheme in ("postgres", "postgresql", "postgresql+psycopg"):
        return SHARED + rest
    if scheme == "sqlite" and rest.startswith("/") and len(rest) > 1:
        return f"{_SQLITE}{Path(rest[1:]).expanduser().absolute()}"
    shown = scheme if "@" in rest else text
    raise PlaceError(f"“{shown}” is no book: write the path of a file, or postgresql://name@server/database.")


def sqlite_path(text: str | os.PathLike[str] | None) -> Path | None:
    """Return the file of a book, None for a shared one."""
    url = url_of(text)
    return Path(url.removeprefix(_SQLITE)) if url.startswith(_SQLITE) else None


def shown_place(url: str) -> str:
    """Return the book's place as a person knows it: the file, or server and database without the password."""
    path = sqlite_path(url)
    if path is not None:
        return str(path)
    parts = urlsplit(url)
    try:
        port = f":{parts.port}" if parts.port else ""
    except ValueError:
        port = ""
    return f"{parts.hostname or 'this machine'}{port}{unquote(parts.path)}"
