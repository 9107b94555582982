"""A file written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import shutil
from pathlib import Path

from workshop_log.errors import WorkshopLogError


class WriteError(WorkshopLogError, OSError):
    """A file that could not be written; whatever lay under its name is still there."""

    def __str__(self) -> str:
        return self.args[0]


def write_whole(path: Path, data: bytes) -> None:
    """Write a file beside its place and put it there when it is complete and on the disk.

    Raises
    ------
    WriteError
        If it could not be written: no room, no right, no such folder.
    """
    unfinished = path.with_name(f".{os.urandom(6).hex()}.unfinished")
    try:
        with unfinished.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            shutil.copymode(path, unfinished)
        unfinished.replace(path)
    except OSError as error:
        raise WriteError(f"{path} cannot be written: {error.strerror or error}. Choose another place.") from error
    finally:
        with contextlib.suppress(OSError):
            unfinished.unlink()
