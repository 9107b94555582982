"""One file with everything, and back.

A backup is a ZIP with the book as an SQLite file, all photos and other files, and a word about itself. A shared book
is copied into the same form, table by table in one moment's view: so any backup can be taken back into a file or onto
a server, and moves a workshop from one to the other.
"""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any

from sqlalchemy import Connection, func, insert, select

from workshop_log.book import outbox, place, schema, sqlite_file
from workshop_log.book.entities import Base, Job, Photo, StoredFile
from workshop_log.book.errors import BackupError, DamagedBookError, MissingFileError, StorageUnavailableError
from workshop_log.book.files import FileStore, FolderStore, sync_folder
from workshop_log.book.opening import Book, open_book
from workshop_log.progress import Progress, part_of, untold

FORMAT = "workshop-log/backup"
VERSION = 1
_ABOUT, _DATABASE, _FILES = "backup.json", "book.db", "files/"
_ROWS_AT_ONCE = 5_000
_BYTES_AT_ONCE = 1024 * 1024
_PAGES_AT_ONCE = 2_000
# How far copying the book, its files, and reading the copy back go of a hundred.
_COPIED, _PACKED, _CHECKED = 30, 70, 100


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was made or taken back.

    Attributes
    ----------
    path : Path
        The file.
    jobs, files : int
        How many it holds.
    missing : tuple[str, ...]
        Fingerprints of photos whose bytes the book itself no longer had.
    moved_aside : Path | None
        After taking back: where the book lies now that was in its place before.
    """

    path: Path
    jobs: int
    files: int
    missing: tuple[str, ...] = ()
    moved_aside: Path | None = None

    def __str__(self) -> str:
        sentences = [f"{self.path}: {self.jobs} jobs, {self.files} files."]
        if self.missing:
            sentences.append(f"{len(self.missing)} photos are missing: the book no longer has their files.")
        if self.moved_aside:
            sentences.append(f"The book that was there before now lies in {self.moved_aside}.")
        return " ".join(sentences)


# --- making one -----------------------------------------------------------------------------------------------------


def backup(book: Book, path: str | os.PathLike[str], progress: Progress = untold) -> Backup:
    """Copy everything in a book into one file; others may go on working in the book.

    The file appears under its name when it is complete, checked and on the disk; one that was there is replaced then.
    Ended by `progress`, it leaves nothing behind.

    Raises
    ------
    StorageUnavailableError
        If the file cannot be written or the book not read; DamagedBookError if the copy is not sound.
    """
    target = Path(path).absolute()
    unfinished = target.with_name(f"{target.name}.part")
    try:
        with tempfile.TemporaryDirectory(prefix=".workshop-log-", dir=target.parent) as folder:
            copy = Path(folder) / _DATABASE
            _copy_database(book, copy, part_of(progress, 0, _COPIED, _CHECKED))
            jobs, wanted = _check_copy(copy)
            with zipfile.ZipFile(unfinished, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
                archive.write(copy, _DATABASE)
                files, missing = _copy_files(book, archive, wanted,
                                             part_of(progress, _COPIED, _PACKED, _CHECKED))
                archive.writestr(_ABOUT, json.dumps({
                    "format": FORMAT, "version": VERSION, "schema": schema.CURRENT, "jobs": jobs, "files": files,
                    "made": datetime.now(UTC).isoformat(timespec="seconds")}))
        _check_archive(unfinished, part_of(progress, _PACKED, _CHECKED, _CHECKED))
        os.replace(unfinished, target)
        sync_folder(target.parent)
    except (OSError, sqlite3.OperationalError) as error:
        if isinstance(error, StorageUnavailableError):
            raise
        why = getattr(error, "strerror", None) or error
        raise StorageUnavailableError(str(target), f"the backup cannot be written ({why}).",
                                      "Choose a place with enough room where you may write.") from error
    finally:
        with contextlib.suppress(OSError):
            unfinished.unlink()
    return Backup(target, jobs, files, missing)


def _copy_database(book: Book, copy: Path, progress: Progress) -> None:
    if book.path is None:
        _copy_from_server(book, copy, progress)
        return

    def told(_status: int, remaining: int, total: int) -> None:
        # Between two parts of the copy the book's file is not locked: a file dialog may open here.
        book.gate.step_aside()
        progress(total - remaining, total)

    with book.gate.passed():
        source, target = sqlite3.connect(book.path), sqlite3.connect(copy)
        try:
            source.backup(target, pages=_PAGES_AT_ONCE, progress=told)
        finally:
            source.close()
            target.close()


def _copy_from_server(book: Book, copy: Path, progress: Progress) -> None:
    target = open_book(copy)
    try:
        with (book.engine.connect().execution_options(isolation_level="REPEATABLE READ") as source,
              target.engine.execution_options(writes=True).begin() as into):
            _copy_tables(source, into, progress)
    finally:
        target.close()


def _copy_tables(source: Connection, into: Connection, progress: Progress) -> None:
    """Copy all rows of all tables but that of files, which travel as files."""
    tables = Base.metadata.sorted_tables
    for done, table in enumerate(tables):
        progress(done, len(tables))
        if table is StoredFile.__table__:
            continue
        rows = source.execution_options(yield_per=_ROWS_AT_ONCE).execute(select(table))
        for part in rows.mappings().partitions():
            into.execute(insert(table), [dict(row) for row in part])


def _check_copy(copy: Path) -> tuple[int, list[str]]:
    """Return how many jobs a copy holds and which files belong to it, once it is known to be sound."""
    connection = sqlite3.connect(copy)
    try:
        if connection.execute("PRAGMA integrity_check").fetchone() != ("ok",):
            raise DamagedBookError(str(copy), "the book is damaged.", "Restore the newest backup that is sound.")
        jobs = connection.execute(f"SELECT count(*) FROM {Job.__tablename__}").fetchone()[0]
        photos = connection.execute(f"SELECT DISTINCT sha256 FROM {Photo.__tablename__} ORDER BY sha256")
        return jobs, [sha256 for (sha256,) in photos]
    except sqlite3.DatabaseError as error:
        raise DamagedBookError(str(copy), "the book is damaged.", "Restore the newest backup that is sound.") from error
    finally:
        # A write-ahead log beside the copy would not be in the archive.
        with contextlib.suppress(sqlite3.DatabaseError):
            connection.execute("PRAGMA journal_mode = DELETE")
        connection.close()


def _copy_files(book: Book, archive: zipfile.ZipFile, wanted: list[str],
                progress: Progress) -> tuple[int, tuple[str, ...]]:
    count, missing = 0, []
    names = sorted(set(book.files.names()) | set(wanted))
    for done, sha256 in enumerate(names):
        progress(done, len(names))
        try:
            # Pictures are compressed already.
            archive.writestr(zipfile.ZipInfo(_FILES + sha256), book.files.get(sha256), zipfile.ZIP_STORED)
            count += 1
        except MissingFileError:
            missing.append(sha256)
    return count, tuple(missing)


def _check_archive(path: Path, progress: Progress) -> None:
    with path.open("r+b") as file:
        os.fsync(file.fileno())
    try:
        with zipfile.ZipFile(path) as archive:
            whole, done = sum(packed.file_size for packed in archive.infolist()), 0
            for packed in archive.infolist():
                with archive.open(packed) as file:
                    while part := file.read(_BYTES_AT_ONCE):
                        done += len(part)
                        progress(done, whole)
    except zipfile.BadZipFile as error:
        raise StorageUnavailableError(str(path), "the backup reads back differently from what was written.",
                                      "Choose another disk.") from error


# --- taking one back ------------------------------------------------------------------------------------------------


def restore(path: str | os.PathLike[str], url: str | os.PathLike[str] | None = None,
            progress: Progress = untold) -> Backup:
    """Take a backup back into the place of a book.

    A file that is there is moved aside, not deleted. On a server only an empty book is filled: whatever lies there
    belongs to several bays.

    Raises
    ------
    BackupError
        If the file is no backup, or the book on the server has jobs.
    StorageUnavailableError
        If something cannot be read or written, or the book is open elsewhere.
    """
    source = Path(path)
    full = place.url_of(url)
    target = place.sqlite_path(full)
    with _archive(source) as archive:
        about = _about(source, archive)
        if target is not None:
            sqlite_file.prepare(target, create=True)
        folder = tempfile.gettempdir() if target is None else target.parent
        with tempfile.TemporaryDirectory(prefix=".workshop-log-", dir=folder) as unpacked:
            copy = Path(unpacked) / _DATABASE
            _unpack(archive.open(_DATABASE), copy)
            jobs, _ = _check_copy(copy)
            if jobs != about.get("jobs", jobs):
                raise BackupError(f"{source}: it names {about['jobs']} jobs and holds {jobs}. Choose another backup.")
            # Brings the tables of an older release up to date; a newer one is refused.
            with contextlib.closing(open_book(copy, create=False)) as restored, restored.session() as session:
                # Nothing is sent a second time because an old copy does not know that it left.
                outbox.doubt_all_unsent(session)
            # Files first: alone they change nothing, and a job never stands there without its photos.
            if target is None:
                files = _into_server(archive, copy, full, progress)
                moved = None
            else:
                files = _take_files(archive, FolderStore.beside(target), progress)
                moved = _into_place(copy, target)
    return Backup(source, jobs, files, moved_aside=moved)


@contextlib.contextmanager
def _archive(path: Path) -> Iterator[zipfile.ZipFile]:
    try:
        with zipfile.ZipFile(path) as archive:
            yield archive
    except zipfile.BadZipFile as error:
        raise BackupError(f"{path}: this file is no backup, or it is damaged. Choose another one.") from error
    except FileNotFoundError as error:
        raise BackupError(f"{path}: there is no such file. Check its name.") from error
    except OSError as error:
        if isinstance(error, StorageUnavailableError):
            raise
        raise StorageUnavailableError(str(path), f"it cannot be taken back ({error.strerror or error}).",
                                      "Check the disk, its room and your right to write there.") from error


def _about(path: Path, archive: zipfile.ZipFile) -> dict[str, Any]:
    try:
        about = json.loads(archive.read(_ABOUT))
        is_backup = about["format"] == FORMAT and _DATABASE in archive.namelist()
        version = int(about["version"])
    except (KeyError, ValueError, TypeError) as error:
        raise BackupError(f"{path}: this file is no backup. Choose another one.") from error
    if not is_backup:
        raise BackupError(f"{path}: this file is no backup. Choose another one.")
    if version > VERSION:
        raise BackupError(f"{path}: a newer release of the program made this backup. Install that release.")
    return about


def _unpack(packed: IO[bytes], target: Path) -> None:
    with packed, target.open("wb") as file:
        while part := packed.read(_BYTES_AT_ONCE):
            file.write(part)
        file.flush()
        os.fsync(file.fileno())


def _into_place(copy: Path, target: Path) -> Path | None:
    moved = _move_aside(target) if target.exists() and target.stat().st_size else None
    os.replace(copy, target)
    sync_folder(target.parent)
    open_book(target, create=False).close()
    return moved


def _move_aside(target: Path) -> Path:
    connection = sqlite3.connect(target, timeout=1)
    is_sound = True
    try:
        # All that is in the log goes into the file, and whoever closes last takes the log away.
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    except sqlite3.DatabaseError:
        # A damaged book is what a backup is taken back for: it is moved aside as it is, with its log.
        is_sound = False
    finally:
        connection.close()
    if is_sound and Path(f"{target}-wal").exists():
        raise StorageUnavailableError(str(target), "this book is open.",
                                      "Close the program wherever it uses this book, then restore again.")
    number = 1
    while (aside := target.with_name(f"{target.name}.before-restore-{number}")).exists():
        number += 1
    os.replace(target, aside)
    for tail in ("-wal", "-shm"):
        with contextlib.suppress(FileNotFoundError):
            os.replace(f"{target}{tail}", f"{aside}{tail}")
    return aside


def _into_server(archive: zipfile.ZipFile, copy: Path, url: str, progress: Progress) -> int:
    source, target = open_book(copy, create=False), open_book(url)
    try:
        with source.engine.connect() as rows, target.engine.begin() as into:
            if into.scalar(select(func.count()).select_from(Job)):
                raise BackupError(f"{target.place}: this shared book has jobs, and a backup is taken back into an "
                                  "empty one only. Make a new database on the server for it.")
            files = _take_files(archive, target.files, progress)
            _copy_tables(rows, into, untold)
            schema.count_on(into)
        return files
    finally:
        source.close()
        target.close()


def _take_files(archive: zipfile.ZipFile, files: FileStore, progress: Progress) -> int:
    names = [name for name in archive.namelist() if name.startswith(_FILES)]
    for done, name in enumerate(names):
        progress(done, len(names))
        if files.put(archive.read(name)) != name.removeprefix(_FILES):
            raise BackupError(f"{archive.filename}: the file {name} in it is damaged. Choose another backup.")
    return len(names)
