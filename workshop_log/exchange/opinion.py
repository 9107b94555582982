"""The two copies of a second opinion: the question that goes to a colleague, and the answer that comes back.

Both are ordinary job files. The question says nothing of people, plate, money or what the workshop noted for itself;
`opinion_on` in it leads back to the job and tells nobody else anything. The answer carries the same mark.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from datetime import datetime
from decimal import Decimal

from msgspec.structs import replace

from workshop_log.exchange.anonymous import anonymous_copy
from workshop_log.exchange.free_text import Place, without_texts
from workshop_log.exchange.prices import price_rules
from workshop_log.exchange.records import Customer, Job, Note, Workshop
from workshop_log.progress import Progress, untold

# The note that asks. Notes that came with the question are numbered apart, so that those of the answer are told by
# their ids.
QUESTION_ID = "question"
ASKED_PREFIX = "q"
_ASKER = "a colleague"
# What stands in a text for what was taken out of it.
MASKED = re.compile(r"\[(?:name|plate|VIN|phone|email|address|price)\]")


def is_question(job: Job) -> bool:
    """Return whether the job was made from a colleague's question."""
    return bool(job.opinion_on)


def question_of(job: Job) -> str:
    """Return what the colleague asks; empty where nothing was written or the job is no question."""
    return next((note.words for note in job.notes if note.id == QUESTION_ID), "") if is_question(job) else ""


def is_of_the_question(note: Note) -> bool:
    """Return whether a note came with the question; the others are the colleague's who answers."""
    number = note.id.removeprefix(ASKED_PREFIX)
    return note.id == QUESTION_ID or (number != note.id and number.isdigit())


def opinion_copy(job: Job, mark: str, *, question: str = "", asked: datetime | None = None, also: Iterable[str] = (),
                 amounts: Iterable[Decimal] = (), left_out: Collection[Place] = (),
                 photos_left_out: Collection[str] = (), progress: Progress = untold) -> Job:
    """Return the copy of a job that a colleague may see.

    Parameters
    ----------
    job : Job
        Stays as it is. Photos without their bytes are left out.
    mark : str
        64 hexadecimal characters by which the answer finds the job again.
    question : str
        What the colleague is asked; it is masked like everything else.
    asked : datetime, optional
        When; without it no question is put in.
    also : Iterable[str]
        Names to take out of free text that the job itself does not know.
    amounts : Iterable[Decimal]
        Amounts of money that are worked out from the job's: totals.
    left_out : Collection[Place]
        Sentences that shall not travel, by their places in this copy.
    photos_left_out : Collection[str]
        Ids of photos that shall not travel.
    progress : Progress
        Told before each photo; may end it.
    """
    notes = tuple(replace(note, id=f"{ASKED_PREFIX}{number}")
                  for number, note in enumerate((note for note in job.notes if not note.internal), start=1))
    if question.strip() and asked is not None:
        notes = (Note(id=QUESTION_ID, at=asked, words=question.strip(), internal=False), *notes)
    # Who wrote a note that is left out is a person all the same.
    known = (*also, *(note.who for note in job.notes))
    copy = anonymous_copy(replace(job, notes=notes), known, price_rules(job, amounts), progress)
    copy = replace(copy, notes=tuple(replace(note, who=_ASKER) if note.id == QUESTION_ID else note
                                     for note in copy.notes))
    copy = _case_only(copy, mark)
    copy = replace(copy, photos=tuple(photo for photo in copy.photos if photo.data is not None))
    return less(copy, left_out, photos_left_out)


def less(copy: Job, left_out: Collection[Place], photos_left_out: Collection[str]) -> Job:
    """Return a copy for a colleague without some of its sentences and photos."""
    copy = without_texts(copy, left_out)
    return replace(copy, photos=tuple(photo for photo in copy.photos if photo.id not in photos_left_out))


def answer_copy(job: Job) -> Job:
    """Return what goes back to the colleague who asked: the case and all notes, and nothing of this workshop's own."""
    return _case_only(job, job.opinion_on)


def _case_only(job: Job, mark: str) -> Job:
    """Return the job with what its cause is argued from: no number, no money, no hours, no state of affairs."""
    return replace(
        job, number="", anonymous=True, opinion_on=mark, seal=None, reports=(), handed_back=None, settled=None,
        workshop=Workshop(), customer=Customer(), vehicle=replace(job.vehicle, registration=""),
        estimate=(), approvals=(), clock=(), charges=(),
        circuits=tuple(replace(circuit, elements=tuple(replace(element, price=None) for element in circuit.elements))
                       for circuit in job.circuits),
        condemned=tuple(replace(entry, price=None) for entry in job.condemned),
        parts=tuple(replace(part, price=None, cost=None, supplier="") for part in job.parts))
