"""Job files in and out of the book."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from workshop_log.errors import WorkshopLogError
from workshop_log.jobs.change import renew_waiting
from workshop_log.progress import Progress, untold

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job


class TransferError(WorkshopLogError, OSError):
    """A file that cannot be read or written; `path` is its name."""

    def __init__(self, path: Path, reason: str) -> None:
        self.path = path
        super().__init__(f"{path.name}: {reason}")

    def __str__(self) -> str:
        return self.args[0]


def read_bytes(path: Path) -> bytes:
    """Return what a file holds, if it may be a job file by its size.

    Raises
    ------
    TransferError
        If it cannot be read, or is larger than any job.
    """
    from workshop_log.exchange.reading import MAX_BYTES

    try:
        if path.stat().st_size > MAX_BYTES:
            raise TransferError(path, f"the file is larger than {MAX_BYTES // 1024**2} MB, which no job is.")
        return path.read_bytes()
    except TransferError:
        raise
    except OSError as error:
        raise TransferError(path, f"the file cannot be read ({error.strerror or error}): check its name and place.") \
            from error


def read_file(path: Path | str) -> Job:
    """Return the job that a job file holds, without taking it into any book.

    Raises
    ------
    TransferError
        If the file cannot be read.
    JobFileError
        If it is no job file; names the place of what is wrong.
    """
    from workshop_log.exchange.reading import read_job

    path = Path(path)
    return read_job(read_bytes(path), path.name)


def import_file(book: Book, path: Path | str, now: datetime | None = None) -> Job:
    """Take a job file into the book, whole or not at all.

    Raises
    ------
    TransferError, JobFileError
        If the file cannot be read, or is no job file.
    DuplicateJobError
        If a job with its number is in the book already.
    """
    return import_job(book, read_file(path), now)


def import_job(book: Book, job: Job, now: datetime | None = None) -> Job:
    """Take a job into the book, with its photos; one without a number gets the next.

    A colleague's question whose number is taken gets the next one, too: it is a job of its own in this book, and is
    worked on at this workshop's rates.

    Parameters
    ----------
    book, job
        Where, and what.
    now : datetime, optional
        When it is entered; the present unless given.

    Raises
    ------
    DuplicateJobError
        If a job with its number is in the book already.
    MissingFileError
        If a photo's bytes are not those that its fingerprint names.
    """
    from workshop_log.book import jobs as stored
    from workshop_log.book.settings import load_settings
    from workshop_log.exchange.records import Workshop

    with book.session() as session:
        if job.opinion_on:
            job = replace(job, number="" if stored.is_taken(session, job.number) else job.number,
                          workshop=load_settings(session).workshop if job.workshop == Workshop() else job.workshop)
        return renew_waiting(session, stored.insert_job(session, job, now))


def export_job(book: Book, number: str, anonymous: bool = False, progress: Progress = untold) -> bytes:
    """Return a job as a job file with its photos; `anonymous` leaves out people, plate, serial number and positions.

    `progress` is told before each photo that is drawn anew, and may end it.
    """
    from workshop_log.book import jobs as stored
    from workshop_log.exchange.anonymous import anonymous_copy
    from workshop_log.exchange.writing import write_job

    with book.read() as session:
        job = stored.load_job(session, number)
    job = with_photos(book, job)
    return write_job(anonymous_copy(job, progress=progress) if anonymous else job)


def with_photos(book: Book, job: Job) -> Job:
    """Return the job with the bytes of its photos; one whose file is lost goes without: the rest is worth having."""
    return replace(job, photos=tuple(
        replace(photo, data=book.files.get(photo.sha256)) if book.files.has(photo.sha256) else photo
        for photo in job.photos))
