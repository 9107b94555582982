"""A report held against the book: entry for entry, and byte for byte against what was handed over."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from workshop_log.delivery.evidence_words import difference_words, entries_since_words, field_words
from workshop_log.delivery.findings import Check, Result
from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.comparing import field_differences, first_difference
from workshop_log.exchange.records import Intake
from workshop_log.exchange.seal import intake_of, links_of, verify_seal
from workshop_log.paper.attached import Carried, NoJobFileError, carried_by
from workshop_log.paper.wording import time_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job

_NO_BOOK = "there is no book at hand"


def stored_job(book: Book, number: str) -> Job:
    """Return a job as the book has it.

    Raises
    ------
    UnknownJobError
        If there is no such job.
    """
    from workshop_log.book.jobs import load_job

    with book.read() as session:
        return load_job(session, number)


def _job_in_book(job: Job, book: Book | None) -> Job | str:
    """Return the job of the same number as the book has it, or why there is none, to go on after a comma."""
    if book is None:
        return _NO_BOOK
    if not job.number:
        return "it has no number to find it by in the book"
    try:
        return stored_job(book, job.number)
    except WorkshopLogError as error:
        return str(error).rstrip(".")


def against_book(job: Job, book: Book | None, ours: str) -> Iterator[Check]:
    """Yield whether the book has the same evidence; `ours` is what is held against it: "this report"."""
    what, stored = "The book", _job_in_book(job, book)
    if isinstance(stored, str):
        yield Check(what, Result.UNCHECKED, f"{stored}.")
        return
    kept = verify_seal(stored)
    if not kept.intact:
        yield Check(what, Result.DIFFERS, f"job {job.number} in the book is itself no longer as it was entered. "
                    f"{kept.reason}")
    if job.seal is None:
        yield Check(what, Result.UNCHECKED, f"{ours} has no seal to hold against it.")
        return
    found = first_difference(job, stored)
    if found is not None:
        other = ("" if found.index else " As this is the very first, it may be another workshop's job of the same "
                 "number.")
        words = difference_words(found, job, stored, ours=ours, theirs="the book")
        yield Check(what, Result.DIFFERS, f"the first entry that differs is {words}{other}")
        return
    since = entries_since_words(stored, len(job.seal.entries))
    yield Check(what, Result.WHOLE, f"entry for entry the same as job {job.number} there."
                + (f" Since then came {since}." if since else ""))
    yield from _intake_in_book(job, stored, ours)


def _intake_in_book(job: Job, stored: Job, ours: str) -> Iterator[Check]:
    """Yield whether an intake that no entry seals yet is one that the book has had."""
    if not verify_seal(job).unsealed:
        return
    what, intake = "Vehicle and complaint in the book", intake_of(job)
    present = intake_of(stored)
    known = [present, *(body for _, body in links_of(stored) if isinstance(body, Intake))]
    if intake in known:
        yield Check(what, Result.WHOLE, "the book has them so.")
    else:
        first = next(field_differences(intake, present))
        yield Check(what, Result.DIFFERS, f"{field_words(first, ours, 'the book')}.")


def handed_over(job: Job, pdf: bytes, carried: Carried, book: Book | None) -> Check:
    """Return whether exactly this file was handed over: that alone vouches for its pages, names and prices too."""
    what, stored = "The file as a whole", _job_in_book(job, book)
    if isinstance(stored, str):
        return Check(what, Result.UNCHECKED, "its pages, names, parts and prices can be vouched for only with the "
                     f"book that it was handed over from: {stored}.")
    sha256 = hashlib.sha256(pdf).hexdigest()
    for report in stored.reports:
        if report.sha256 == sha256:
            return Check(what, Result.WHOLE, f"byte for byte what was handed over on {time_words(report.at)}, for the "
                         f"{report.reader}.")
    for report in stored.reports:
        if book.files.has(report.sha256) and _is_the_same_report(carried, book.files.get(report.sha256)):
            return Check(what, Result.DIFFERS, f"the report handed over on {time_words(report.at)} was made at the "
                         "same moment and has other bytes: this file was changed since, or saved anew by another "
                         "program.")
    return Check(what, Result.UNCHECKED, "no report handed over from the book has exactly these bytes: this one was "
                 "saved without being handed over, or changed since. Its pages, names, parts and prices cannot be "
                 "vouched for.")


def _is_the_same_report(carried: Carried, kept: bytes) -> bool:
    """Return whether a file claims to be the report that was kept: made in the same second, with as many pages."""
    try:
        known = carried_by(kept, "the kept report")
    except NoJobFileError:
        return False
    return (known.created, known.pages, known.fingerprint) == (carried.created, carried.pages, carried.fingerprint)
