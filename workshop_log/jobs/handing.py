"""The report as it was handed over, the vehicle handed back, the bill settled."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Literal

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.records import IssuedReport
from workshop_log.jobs.change import changing
from workshop_log.jobs.ids import next_id

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job
    from workshop_log.exchange.stationery import Stationery
    from workshop_log.jobs.change import Change


class HandingError(WorkshopLogError, ValueError):
    """Something that was done already, or comes too early."""


def photo_bytes(book: Book, job: Job) -> dict[str, bytes]:
    """Return the bytes of a job's photos by their SHA-256, for the report; those that are lost are left out."""
    return {photo.sha256: book.files.get(photo.sha256) for photo in job.photos if book.files.has(photo.sha256)}


def logo_of(book: Book, stationery: Stationery) -> bytes:
    """Return the picture of the workshop's logo; empty without one, or where it is lost."""
    return book.files.get(stationery.logo) if stationery.logo and book.files.has(stationery.logo) else b""


def issue_report(book: Book, number: str, pdf: bytes, reader: Literal["customer", "expert"], now: datetime) -> Job:
    """Keep a report as it was handed over, and enter its fingerprint into the record."""
    if not pdf.startswith(b"%PDF-"):
        raise HandingError("This is no PDF: draw the report again before it is issued.")
    sha256 = hashlib.sha256(pdf).hexdigest()
    # The file first: a fingerprint without its file would be worse than a file that nothing names.
    book.files.put(pdf)
    with changing(book, number) as change:
        enter_report(change, sha256, reader, now)
    return change.job


def enter_report(change: Change, sha256: str, reader: Literal["customer", "expert"], now: datetime) -> None:
    """Enter the fingerprint of a report that was handed over into the record of the job that is being changed."""
    from workshop_log.book import jobs as stored

    # As the job stands now: of two reports handed over at once, the second takes the next id.
    reports = stored.load_job(change.session, change.number).reports
    change.append("report", IssuedReport(id=next_id(reports, "r"), at=now, reader=reader, sha256=sha256))


def hand_back(book: Book, number: str, now: datetime) -> Job:
    """Note that the vehicle was handed back; whoever still runs a clock on it is told to stop it first.

    Raises
    ------
    HandingError
        If it was handed back before, or a clock still runs.
    """
    with changing(book, number) as change:
        if change.job.handed_back is not None:
            raise HandingError(f"Job {number} was handed back already.")
        running = [line.person for line in change.job.clock if line.end is None]
        if running:
            raise HandingError(f"The clock still runs for {', '.join(running)}: stop it before the vehicle goes.")
        change.set(handed_back=now)
    return change.job


def settle(book: Book, number: str, now: datetime) -> Job:
    """Note that the bill was settled.

    Raises
    ------
    HandingError
        If it was settled before.
    """
    with changing(book, number) as change:
        if change.job.settled is not None:
            raise HandingError(f"The bill of job {number} was settled already.")
        change.set(settled=now)
    return change.job


def take_back(book: Book, number: str, what: Literal["handed_back", "settled"]) -> Job:
    """Undo a hand-back or a settled bill that was noted by mistake."""
    with changing(book, number) as change:
        change.set_paths({what: None})
    return change.job
