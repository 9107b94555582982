"""Labour as it is worked: one running time line for each person in the whole book.

A running line is a row of the book without an end, so it survives a crash and is seen from every bay.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.records import TimeLine
from workshop_log.jobs.change import changing, renew_waiting
from workshop_log.jobs.fields import read_as
from workshop_log.jobs.ids import next_id

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job

# Longer than anybody works on one thing without a break. Own estimate.
FORGOTTEN_AFTER = timedelta(hours=4)


class ClockError(WorkshopLogError, ValueError):
    """A time line that cannot be as it was asked for."""


@dataclass(frozen=True, slots=True)
class RunningLine:
    """A time line that has not ended.

    Attributes
    ----------
    number, registration : str
        The job that it runs on, and its vehicle's plate.
    id, person, start, what
        As in the job's time line.
    last_recorded : datetime
        When the last thing was recorded in that job since the line began; its start if nothing was. Where a line was
        forgotten, this is when it most likely ended.
    """

    number: str
    registration: str
    id: str
    person: str
    start: datetime
    what: str
    last_recorded: datetime


def running(book: Book, person: str) -> RunningLine | None:
    """Return the line that runs for a person anywhere in the book, or None."""
    if not person.strip():
        return None
    with book.read() as session:
        lines = _running(session, person.strip())
    return lines[-1] if lines else None


def _running(session: Session, person: str) -> list[RunningLine]:
    """Return the running lines of a person, oldest first; more than one only where a job file brought it."""
    from workshop_log.book import jobs as stored

    lines = []
    for number, registration, line in stored.running_lines(session, person):
        recorded = last_recorded(stored.load_job(session, number), line.start)
        lines.append(RunningLine(number, registration, line.id, line.person, line.start, line.what, recorded))
    return lines


def last_recorded(job: Job, since: datetime) -> datetime:
    """Return when the last thing was recorded in a job after a moment, or that moment."""
    times = [step.at for step in job.steps]
    times += [time for entry in job.condemned for time in (entry.at, entry.repaired)]
    times += [item.at for collection in (job.approvals, job.notes, job.reports) for item in collection]
    times += [photo.taken for photo in job.photos]
    times += [time for part in job.parts for time in (part.ordered, part.arrived, part.fitted, part.returned)]
    return max((time for time in times if time is not None and time > since), default=since)


def forgotten(line: RunningLine, now: datetime) -> bool:
    """Return whether a line was probably forgotten: it runs for over four hours, or since before midnight.

    `now` is on the workshop's clock: its offset says when midnight was.
    """
    if now - line.start > FORGOTTEN_AFTER:
        return True
    return line.start.astimezone(now.tzinfo).date() < now.date()


def start_clock(book: Book, number: str, person: str, now: datetime, what: str = "") -> Job:
    """Start a person's clock on a job; a line of theirs that runs elsewhere ends in the same moment.

    A line that was forgotten ends when the last thing was recorded in its job, not now: nobody worked all night. What
    is charged for it is still to be decided. The same work on the same job simply goes on.

    Raises
    ------
    ClockError
        If nobody says who works, or the vehicle was handed back.
    """
    person = person.strip()
    if not person:
        raise ClockError("Who works here? Choose the person before the clock is started.")
    with changing(book, number) as change:
        if change.job.handed_back is not None:
            raise ClockError(f"The vehicle of job {number} was handed back: open a new job for further work.")
        what = read_as("clock/what", TimeLine, "what", what, change.job.workshop.currency)
        lines = _running(change.session, person)
        if any(line.number == number and line.what == what and not forgotten(line, now) for line in lines):
            return change.job
        for line in lines:
            _end(change.session, line, line.last_recorded if forgotten(line, now) else now)
        change.add("clock", TimeLine(id=next_id(change.job.clock, "t"), person=person, start=now, what=what))
    return change.job


def stop_clock(book: Book, person: str, now: datetime) -> Job:
    """Stop a person's clock, wherever it runs, and return that job.

    Raises
    ------
    ClockError
        If none runs, or it began later than it would end.
    """
    with book.session() as session:
        lines = _running(session, person.strip())
        if not lines:
            raise ClockError(f"No clock runs for {person.strip() or 'nobody'}: choose the person whose clock is to "
                             f"stop.")
        for line in lines:
            _end(session, line, now)
        return renew_waiting(session, lines[-1].number)


def _end(session: Session, line: RunningLine, end: datetime) -> None:
    from workshop_log.book import jobs as stored

    if end < line.start:
        raise ClockError(f"The clock of {line.person} on job {line.number} began at {line.start:%H:%M on %d %B}: it "
                         f"cannot end before that.")
    stored.set_fields(session, line.number, {f"clock/{line.id}/end": end})


def change_line(book: Book, number: str, line_id: str, *, start: datetime | None = None, end: datetime | None = None,
                what: str | None = None, person: str | None = None) -> Job:
    """Put a time line right: when it began and ended, who worked, what for. What is not given stays.

    Raises
    ------
    ClockError
        If it would end before it began, or has nobody.
    """
    with changing(book, number) as change:
        line = change.find("clock", line_id)
        given = {"start": start, "end": end, "what": what, "person": person}
        fields = {name: read_as(f"clock/{line_id}/{name}", TimeLine, name, value, change.job.workshop.currency)
                  for name, value in given.items() if value is not None}
        if not fields.get("person", line.person):
            raise ClockError("Who worked? A time line has a person.")
        begins, ends = fields.get("start", line.start), fields.get("end", line.end)
        if ends is not None and ends < begins:
            raise ClockError(f"This line would end ({ends:%H:%M on %d %B}) before it began ({begins:%H:%M on %d %B}).")
        change.set_paths({f"clock/{line_id}/{name}": value for name, value in fields.items()})
    return change.job
