"""Photos and other files by the fingerprint of their bytes.

Beside a book of one machine they lie in a folder, in a shared one in a table. A file is never changed: other bytes
have another fingerprint, and the same bytes are kept once.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Protocol

from sqlalchemy import Engine, select
from sqlalchemy.dialects.postgresql import insert

from workshop_log.book.entities import StoredFile
from workshop_log.book.errors import MissingFileError, StorageUnavailableError

_GONE = "is no longer where it was put: look for it in a backup."
_DAMAGED = "is damaged where it lies: restore it from a backup."


class FileStore(Protocol):
    """Where bytes are kept by their fingerprint."""

    def put(self, data: bytes) -> str:
        """Keep the bytes and return their SHA-256 in hexadecimal; they are safe when this returns."""

    def get(self, sha256: str) -> bytes:
        """Return the bytes with this fingerprint.

        Raises
        ------
        MissingFileError
            If they are not there, or are no longer what was put.
        """

    def has(self, sha256: str) -> bool:
        """Return whether bytes with this fingerprint are there."""

    def names(self) -> Iterator[str]:
        """Yield the fingerprints of all files."""


class FolderStore:
    """Files in a folder beside the book, in sub-folders by the first two digits."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    @classmethod
    def beside(cls, book: Path) -> FolderStore:
        """Return the store of the book in this file."""
        return cls(book.with_name(f"{book.name}.files"))

    def put(self, data: bytes) -> str:
        """Keep the bytes and return their fingerprint."""
        sha256 = hashlib.sha256(data).hexdigest()
        target = self._path(sha256)
        if not target.exists():
            try:
                target.parent.mkdir(parents=True, exist_ok=True)
                _write_safely(target, data)
            except OSError as error:
                raise StorageUnavailableError(str(self.folder), f"a file cannot be written ({error.strerror}).",
                                              "Free some space or give yourself the right to write there.") from error
        return sha256

    def get(self, sha256: str) -> bytes:
        """Return the bytes with this fingerprint."""
        try:
            data = self._path(sha256).read_bytes()
        except FileNotFoundError as error:
            raise MissingFileError(sha256, _GONE) from error
        except OSError as error:
            raise StorageUnavailableError(str(self.folder), f"a file cannot be read ({error.strerror}).",
                                          "Check the disk and your right to read there.") from error
        return _checked(sha256, data)

    def has(self, sha256: str) -> bool:
        """Return whether bytes with this fingerprint are there."""
        return self._path(sha256).exists()

    def names(self) -> Iterator[str]:
        """Yield the fingerprints of all files."""
        for path in sorted(self.folder.glob("??/*")):
            if path.suffix != ".part":
                yield path.name

    def _path(self, sha256: str) -> Path:
        return self.folder / sha256[:2] / sha256


class TableStore:
    """Files in a table of the shared book, each in a transaction of its own."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def put(self, data: bytes) -> str:
        """Keep the bytes and return their fingerprint."""
        sha256 = hashlib.sha256(data).hexdigest()
        with self._engine.begin() as connection:
            connection.execute(insert(StoredFile).values(sha256=sha256, data=data).on_conflict_do_nothing())
        return sha256

    def get(self, sha256: str) -> bytes:
        """Return the bytes with this fingerprint."""
        with self._engine.connect() as connection:
            data = connection.scalar(select(StoredFile.data).where(StoredFile.sha256 == sha256))
        if data is None:
            raise MissingFileError(sha256, _GONE)
        return _checked(sha256, bytes(data))

    def has(self, sha256: str) -> bool:
        """Return whether bytes with this fingerprint are there."""
        with self._engine.connect() as connection:
            return connection.scalar(select(StoredFile.sha256).where(StoredFile.sha256 == sha256)) is not None

    def names(self) -> Iterator[str]:
        """Yield the fingerprints of all files."""
        with self._engine.connect() as connection:
            yield from connection.scalars(select(StoredFile.sha256).order_by(StoredFile.sha256))


def _checked(sha256: str, data: bytes) -> bytes:
    if hashlib.sha256(data).hexdigest() != sha256:
        raise MissingFileError(sha256, _DAMAGED)
    return data


def _write_safely(target: Path, data: bytes) -> None:
    """Write the file beside its place and rename it when it is complete and on the disk."""
    handle, name = tempfile.mkstemp(dir=target.parent, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise
    sync_folder(target.parent)


def sync_folder(folder: Path) -> None:
    """Have the disk keep a folder's new names; Windows does so by itself and cannot be asked."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
