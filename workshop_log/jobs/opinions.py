"""A colleague's answer: recognised, laid beside the job byte for byte, read, and a note of it copied."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from workshop_log.exchange.opinion import is_of_the_question, is_question
from workshop_log.jobs.asking import OpinionError
from workshop_log.jobs.intake import add_note

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.book.opening import Book
    from workshop_log.book.opinions import LaidBeside
    from workshop_log.exchange.records import Job, Note

__all__ = ["OpinionError", "Received", "Taken", "copy_into_note", "job_answered", "lay_beside", "opinion_job",
           "opinions_on", "receive", "take_in_file", "written_by"]

# Somebody whose answer says no name.
SOMEBODY = "a colleague"


@dataclass(frozen=True, slots=True)
class Taken:
    """A file that was taken in.

    Attributes
    ----------
    number : str
        The job that it became, or beside which it lies.
    is_beside : bool
        Whether it is an answer laid beside a job of one's own.
    """

    number: str
    is_beside: bool


@dataclass(frozen=True, slots=True)
class Received:
    """A job file as it came: its name, its bytes, and what they say."""

    name: str
    data: bytes
    job: Job


def receive(path: Path | str) -> Received:
    """Read a job file without taking it into any book.

    Raises
    ------
    TransferError, JobFileError
        If the file cannot be read, or is no job file.
    """
    from workshop_log.exchange.reading import read_job
    from workshop_log.jobs.transfer import read_bytes

    path = Path(path)
    data = read_bytes(path)
    return Received(path.name, data, read_job(data, path.name))


def written_by(answer: Job) -> str:
    """Return who wrote the notes of an answer; "a colleague" where they do not say."""
    return next((note.who for note in reversed(answer.notes) if note.who and not is_of_the_question(note)), SOMEBODY)


def job_answered(book: Book, file: Job) -> str | None:
    """Return the number of the job in this book about which a file's question was asked; None for any other file."""
    from workshop_log.book.opinions import job_of_mark

    if not is_question(file):
        return None
    with book.read() as session:
        return job_of_mark(session, file.opinion_on)


def lay_beside(book: Book, file: Received, now: datetime, *, number: str | None = None, by: str = "") -> Taken:
    """Lay a colleague's answer beside the job that it is about; the job itself is not touched.

    Parameters
    ----------
    book, file
        Where, and what came; it is kept byte for byte.
    now : datetime
        When it came.
    number : str, optional
        The job beside which it shall lie; without it the file says which.
    by : str
        From whom; without it what its notes say.

    Raises
    ------
    OpinionError
        If it is no answer, the answer to something else, still the bare question, or lies there already.
    """
    from workshop_log.book import opinions as stored

    name, answer = file.name, file.job
    if not is_question(answer):
        raise OpinionError(f"{name} is a job file, but no answer to a question: import it as a job of its own.")
    about = job_answered(book, answer)
    if about is None:
        raise OpinionError(f"{name} answers a question that was not asked from this book: look for the book in "
                           "which the job is, or import the file as a job of its own.")
    if number is not None and about != number:
        raise OpinionError(f"{name} is about job {about}, not about job {number}: open job {about} and lay it "
                           "beside that one.")
    if _is_bare(book, about, answer):
        raise OpinionError(f"{name} is the question as it was sent, without anything from a colleague: choose the "
                           "file that came back.")
    # The file first: an answer whose bytes are lost would be worse than bytes that nothing names.
    sha256 = book.files.put(file.data)
    with book.session() as session:
        is_new = stored.add_opinion(session, about, sha256, by.strip() or written_by(answer), now)
    if not is_new:
        raise OpinionError(f"{name} lies beside job {about} already: nothing was added.")
    return Taken(about, is_beside=True)


def take_in_file(book: Book, path: Path | str, now: datetime | None = None, *, by: str = "") -> Taken:
    """Take a job file into the book, or lay it beside a job where it is the answer to a question asked from here.

    Raises
    ------
    TransferError, JobFileError, DuplicateJobError, OpinionError
        As `transfer.import_file` and `lay_beside`.
    """
    from datetime import datetime

    from workshop_log.jobs.transfer import import_job

    file = receive(path)
    if job_answered(book, file.job) is not None:
        return lay_beside(book, file, now or datetime.now().astimezone(), by=by)
    return Taken(import_job(book, file.job, now).number, is_beside=False)


def opinions_on(book: Book, number: str) -> tuple[LaidBeside, ...]:
    """Return the answers that lie beside a job, in the order in which they came."""
    from workshop_log.book import opinions as stored

    with book.read() as session:
        return stored.opinions_on(session, number)


def opinion_job(book: Book, opinion: LaidBeside) -> Job:
    """Return what an answer says, read from its own bytes.

    Raises
    ------
    MissingFileError
        If its bytes are lost or damaged.
    """
    from workshop_log.exchange.reading import read_job

    return read_job(book.files.get(opinion.sha256), f"the answer of {opinion.by}")


def copy_into_note(book: Book, number: str, note: Note, opinion: LaidBeside, now: datetime, *, who: str) -> Job:
    """Write a colleague's note into the job as an ordinary note of one's own that names where it is from.

    Parameters
    ----------
    book, number
        The job.
    note, opinion
        The colleague's note, and the answer in which it stands.
    who : str
        Who copies it.
    """
    source = note.who or opinion.by
    said = f"{source}, asked for a second opinion, wrote on {note.at.astimezone():%d %b %Y}: {note.words}"
    return add_note(book, number, said, now, who=who)


def _is_bare(book: Book, number: str, answer: Job) -> bool:
    """Return whether a file says nothing that the question did not: no note, no step, no word on any suspect."""
    from workshop_log.book import jobs as stored
    from workshop_log.jobs.comparing import compare

    with book.read() as session:
        job = stored.load_job(session, number)
    return not compare(job, replace(answer, photos=()), with_figures=False).says_something
