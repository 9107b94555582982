"""A question for a colleague, and the answer that goes back: copies of a job that say no more than they should."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.opinion import answer_copy, is_question, less, opinion_copy
from workshop_log.progress import Progress, untold

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from decimal import Decimal

    from workshop_log.book.opening import Book
    from workshop_log.exchange.free_text import Place
    from workshop_log.exchange.records import Job
    from workshop_log.exchange.taken_out import TakenOut


class OpinionError(WorkshopLogError, ValueError):
    """A file that cannot be laid beside a job, or a job that is no question; the sentence says why."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What a person chose for a question.

    Attributes
    ----------
    question : str
        What the colleague is asked; may be blank.
    also : tuple[str, ...]
        Names to take out that the job itself does not know.
    left_out : frozenset[Place]
        Sentences of the copy that shall not travel.
    photos_left_out : frozenset[str]
        Ids of photos that shall not travel.
    read : Job, optional
        The job, photos included, as it was when its copy was read through; without it the job as it stands. What was
        written since, perhaps in another bay, nobody has read, and places of sentences may have moved.
    """

    question: str = ""
    also: tuple[str, ...] = ()
    left_out: frozenset[Place] = frozenset()
    photos_left_out: frozenset[str] = frozenset()
    # Nobody chose it: two choices that say the same are the same.
    read: Job | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Asked:
    """A question as it would be given away.

    Attributes
    ----------
    copy : Job
        The job file's content.
    whole : Job
        The same with the sentences and photos that were left out by choice, but masked: what there is to choose from.
    taken_out : TakenOut
        What was taken out in any case.
    job : Job
        What it was made from, photos included.
    """

    copy: Job
    whole: Job
    taken_out: TakenOut
    job: Job

    def data(self) -> bytes:
        """Return the job file."""
        from workshop_log.exchange.writing import write_job

        return write_job(self.copy)


# --- asking ---------------------------------------------------------------------------------------------------------


def ask(book: Book, number: str, now: datetime, choice: Choice = Choice(), progress: Progress = untold) -> Asked:
    """Return the question about a job: a copy without people, plate, money and what the workshop noted for itself.

    The job stays as it is. Names are looked for that the job, the workshop's settings and `choice` know. `progress` is
    told before each photo, and may end it.

    Raises
    ------
    UnknownJobError
        If there is no such job.
    OpinionError
        If the job is itself a colleague's question.
    """
    from workshop_log.book import jobs as stored
    from workshop_log.book.opinions import mark_of
    from workshop_log.book.settings import load_settings
    from workshop_log.exchange.taken_out import taken_out
    from workshop_log.jobs.transfer import with_photos

    with book.session() as session:
        job, settings, mark = stored.load_job(session, number), load_settings(session), mark_of(session, number)
    if is_question(job):
        raise OpinionError(f"Job {number} is itself a colleague's question: send the answer back instead.")
    job = choice.read or with_photos(book, job)
    named = (*settings.persons, *choice.also)

    whole = opinion_copy(job, mark, question=choice.question, asked=now, also=named, amounts=_amounts(job, now),
                         progress=progress)
    chosen = less(whole, choice.left_out, choice.photos_left_out)
    return Asked(chosen, whole, taken_out(job, whole, named), job)


def _amounts(job: Job, now: datetime) -> Iterator[Decimal]:
    """Yield the amounts that are worked out from the job's own and may stand in a note."""
    from workshop_log.jobs.money import option_totals, totals

    bill = totals(job, now)
    yield from (bill.net, bill.tax, bill.gross, bill.labour_net, bill.parts_net, bill.other_net)
    yield from (line.net for line in bill.lines)
    for option in job.estimate:
        told = option_totals(option, job.workshop)
        yield from (told.net, told.tax, told.gross)


# --- at the colleague -----------------------------------------------------------------------------------------------


def answer_bytes(book: Book, number: str) -> bytes:
    """Return the job file that answers a colleague's question: the case and all notes of the job that it became.

    Raises
    ------
    OpinionError
        If the job was not made from a colleague's question.
    """
    from workshop_log.book import jobs as stored
    from workshop_log.exchange.writing import write_job
    from workshop_log.jobs.transfer import with_photos

    with book.read() as session:
        job = stored.load_job(session, number)
    if not is_question(job):
        raise OpinionError(f"Job {number} is no colleague's question: there is nobody to send an answer to. Export it "
                           "instead.")
    return write_job(answer_copy(with_photos(book, job)))


def question_or_answer(book: Book, number: str, now: datetime, question: str = "", *,
                       with_photos: bool = False) -> tuple[bytes, tuple[str, ...]]:
    """Return what goes to a colleague about a job: the answer where it is their question, else a question of one's own.

    With it come the names that give people or the vehicle away and are still in it.

    Parameters
    ----------
    book, number
        Which job.
    now : datetime
        When it is asked.
    question : str
        What is asked.
    with_photos : bool
        Whether a question takes its photos along: what can be seen in them somebody must have looked at.

    Raises
    ------
    OpinionError
        If there is a question to write into an answer.
    """
    from workshop_log.book import jobs as stored

    with book.read() as session:
        job = stored.load_job(session, number)
    is_theirs = is_question(job)
    if is_theirs and question:
        raise OpinionError(f"Job {number} is itself a colleague's question: write a note in it instead.")
    if is_theirs:
        return answer_bytes(book, number), ()
    photos = frozenset() if with_photos else frozenset(photo.id for photo in job.photos)
    asked = ask(book, number, now, Choice(question, photos_left_out=photos))
    return asked.data(), asked.taken_out.left
