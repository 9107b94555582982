"""What a file needs to be a safe book: its settings on each connection, a local disk, room and rights."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Engine, create_engine, event

from workshop_log.book.errors import NotABookError, StorageUnavailableError

BUSY_TIMEOUT_MS = 5000
# A network's file systems: their locks and shared memory do not keep SQLite's promises.
_NETWORK = frozenset({"nfs", "nfs4", "cifs", "smb3", "smbfs", "smb2", "9p", "afs", "afpfs", "ncpfs", "davfs", "webdav",
                      "ceph", "glusterfs", "fuse.sshfs", "fuse.rclone", "fuse.s3fs", "fuse.davfs", "fuse.glusterfs",
                      "fuse.gvfsd-fuse", "macfuse", "osxfuse"})
_WINDOWS_REMOTE_DRIVE = 4
# Room for the write-ahead log and a few photos; below it a job should not be begun.
_LEAST_FREE_BYTES = 8 * 1024 * 1024
_SQLITE_HEAD = b"SQLite format 3\x00"


def engine_of(path: Path) -> Engine:
    """Return the engine of a file; each of its connections keeps what it acknowledges, power cut or not."""
    # Not as text: a folder may be called “50% off?”.
    engine = create_engine(URL.create("sqlite+pysqlite", database=str(path)),
                           connect_args={"timeout": BUSY_TIMEOUT_MS / 1000})
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)
    return engine


def _on_connect(connection: Any, _record: Any) -> None:
    # Transactions are begun by _on_begin: the driver's own begin comes too late to hold what was read before.
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.execute("PRAGMA synchronous = FULL")
    # On macOS only this reaches past the disk's own memory; elsewhere it changes nothing.
    cursor.execute("PRAGMA fullfsync = ON")
    cursor.execute("PRAGMA temp_store = MEMORY")
    cursor.close()


def _on_begin(connection: Any) -> None:
    # Who means to write takes the lock at once; one who read first and wrote later would have to be refused.
    if connection.get_execution_options().get("writes", False):
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    else:
        # By the driver itself: to begin reading cannot fail, and opening a job shall cost little more than its rows.
        connection.connection.cursor().execute("BEGIN")


def prepare(path: Path, *, create: bool) -> None:
    """Make sure that a safe book can be at `path`, with its folder.

    Raises
    ------
    StorageUnavailableError
        If it cannot; the sentence says why and what to do.
    """
    kind = network_kind(path)
    if kind:
        raise StorageUnavailableError(
            str(path), f"this place is on a network ({kind}), where a book would be damaged.",
            "Keep it on a disk of this machine; for several bays use a shared book on a PostgreSQL server.")
    if path.is_dir():
        raise NotABookError(str(path), "this is a folder.", f"Name a file in it, for example {path / 'book.db'}.")
    if not path.exists():
        if not create:
            raise StorageUnavailableError(str(path), "there is no such file.", "Check the path, or begin a new book.")
        _make_folder(path)
    elif not _looks_like_sqlite(path):
        raise NotABookError(str(path), "this file is no book.", "Choose another file; this one was not touched.")
    _check_rights(path)
    if _free_bytes(path.parent) < _LEAST_FREE_BYTES:
        raise StorageUnavailableError(str(path), "the disk is full.", "Free some space on it, then start again.")


def turn_on_wal(path: Path) -> None:
    """Have the file keep a write-ahead log, so that reading and writing do not wait for each other."""
    connection = sqlite3.connect(path, timeout=BUSY_TIMEOUT_MS / 1000, isolation_level=None)
    try:
        mode = connection.execute("PRAGMA journal_mode = WAL").fetchone()[0]
    finally:
        connection.close()
    if mode != "wal":
        raise StorageUnavailableError(str(path), "this disk cannot keep the book's write-ahead log.",
                                      "Keep the book on a local disk of this machine.")


def network_kind(path: Path, mounts: str | None = None) -> str:
    """Return the kind of network file system that `path` lies on, "" for a disk of this machine.

    Parameters
    ----------
    path : Path
        Need not exist yet.
    mounts : str, optional
        The system's list of mounts in the form of Linux's /proc/mounts; read from the system without.
    """
    if sys.platform == "win32":
        return _windows_kind(path)
    if mounts is None:
        mounts = _mounts()
    resolved = path.resolve()
    best, found = -1, ""
    for line in mounts.splitlines():
        parts = line.split(" ")
        if len(parts) < 3:
            continue
        point = Path(parts[1].replace("\\040", " "))
        # Of two mounts on the same place the later one is seen.
        if len(point.parts) >= best and (resolved == point or point in resolved.parents):
            best, found = len(point.parts), parts[2]
    return found if found in _NETWORK else ""


def _mounts() -> str:
    listing = Path("/proc/mounts")
    if listing.exists():
        return listing.read_text(encoding="utf-8", errors="replace")
    try:
        said = subprocess.run(["/sbin/mount"], capture_output=True, text=True, check=True, timeout=5).stdout
    except (OSError, subprocess.SubprocessError):
        return ""
    # macOS: "//someone@server/share on /Volumes/share (smbfs, nodev)".
    lines = []
    for line in said.splitlines():
        source, _, rest = line.partition(" on ")
        point, _, kind = rest.rpartition(" (")
        words = source.replace(" ", "_"), point.replace(" ", "\\040"), kind.split(",")[0].rstrip(")")
        lines.append(" ".join(words))
    return "\n".join(lines)


def _windows_kind(path: Path) -> str:
    drive = path.absolute().drive
    if drive.startswith("\\\\"):
        return "network share"
    import ctypes

    kind = ctypes.windll.kernel32.GetDriveTypeW(f"{drive}\\")  # type: ignore[attr-defined]
    return "network drive" if kind == _WINDOWS_REMOTE_DRIVE else ""


def _make_folder(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StorageUnavailableError(str(path), f"its folder cannot be made ({error.strerror}).",
                                      "Choose a folder in which you may write.") from error


def _check_rights(path: Path) -> None:
    # The write-ahead log lies beside the file, so the folder has to be writable too.
    for place in filter(Path.exists, (path, Path(f"{path}-wal"), path.parent)):
        if not os.access(place, os.R_OK | os.W_OK):
            raise StorageUnavailableError(
                str(path), f"{place} cannot be written.",
                "Give yourself the right to write the file and its folder, or use another book.")


def _looks_like_sqlite(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            head = file.read(len(_SQLITE_HEAD))
    except OSError as error:
        raise StorageUnavailableError(str(path), f"it cannot be read ({error.strerror}).",
                                      "Give yourself the right to read it, or use another book.") from error
    # An empty file is what a start leaves that was cut off before anything was written.
    return head in (b"", _SQLITE_HEAD)


def _free_bytes(folder: Path) -> int:
    import shutil

    return shutil.disk_usage(folder).free
