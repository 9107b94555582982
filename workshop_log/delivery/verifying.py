"""Is this what was sealed? A report, a job file or a job of the book, held against everything at hand.

The chain inside a job file shows that nobody changed an entry without making the chain anew. Whoever makes it anew gets
another last fingerprint: that is held against the one in the document's properties, on its pages, on the paper that a
person types it from, and against the book, which also knows which reports were handed over, byte for byte. What can be
shown without the book is only as strong as the fingerprint that one trusts: a forger can write a new one into the file.
"""

from __future__ import annotations

import hashlib
import re
from typing import TYPE_CHECKING

from workshop_log.delivery.evidence_words import difference_words, entries_since_words, entry_words, field_words
from workshop_log.delivery.findings import Check, Findings, Result
from workshop_log.delivery.page_text import PagesUnreadableError, page_texts
from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.comparing import field_differences, first_difference
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.records import Intake, StepBase
from workshop_log.exchange.seal import grouped, intake_of, links_of, read_fingerprint, short, verify_seal
from workshop_log.exchange.writing import write_job
from workshop_log.jobs.labels import step_result
from workshop_log.paper.attached import Carried, NoJobFileError, carried_by
from workshop_log.paper.wording import say, time_words
from workshop_log.progress import Progress, untold

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job

_GROUPS = "[0-9a-f]{4}(?: [0-9a-f]{4}){%d}"
_NO_BOOK = "there is no book at hand"


def verify_report(pdf: bytes, book: Book | None = None, fingerprint: str | None = None, name: str = "This report",
                  progress: Progress = untold) -> Findings:
    """Check a report that came back.

    Parameters
    ----------
    pdf : bytes
        The report.
    book : Book, optional
        The book that it may have come from.
    fingerprint : str, optional
        One that was typed from paper, short or whole, with or without spaces; or the text of the QR code.
    name : str
        What it is called in the answer.
    progress : Progress
        Told how far it is.

    Raises
    ------
    NoJobFileError
        If it is no PDF, is encrypted or damaged, or carries no job file, several, or one that is too large.
    JobFileError
        If what it carries is no job file.
    FingerprintError
        If what was typed is no fingerprint.
    """
    typed = read_fingerprint(fingerprint) if fingerprint and fingerprint.strip() else ""
    carried = carried_by(pdf, name)
    job = read_job(carried.data, f"{name}, {carried.name}")
    made = [*_evidence(job)]
    if job.seal is not None:
        made += [_properties(job, carried), _pages(job, pdf, progress)]
    if made[0].result is Result.WHOLE and write_job(job) != carried.data:
        made.append(Check("Spelling", Result.UNCHECKED, "the attached job is not spelt as this release of the program "
                          "spells it: another release or another program wrote it, or a letter was changed that "
                          "changes no meaning."))
    made += [*_typed(job, typed), *_against_book(job, book, "this report")]
    made.append(_handed_over(job, pdf, carried, book))
    return Findings(name, _last(job), tuple(made))


def verify_job_file(data: bytes, book: Book | None = None, fingerprint: str | None = None,
                    name: str = "This file") -> Findings:
    """Check a job file; see `verify_report`.

    Raises
    ------
    JobFileError
        If it is no job file.
    FingerprintError
        If what was typed is no fingerprint.
    """
    typed = read_fingerprint(fingerprint) if fingerprint and fingerprint.strip() else ""
    job = read_job(data, name)
    return Findings(name, _last(job), (*_evidence(job), *_typed(job, typed), *_against_book(job, book, "this file")))


def verify_stored(book: Book, number: str, fingerprint: str | None = None) -> Findings:
    """Check a job of the book; see `verify_report`.

    Raises
    ------
    UnknownJobError
        If there is no such job.
    FingerprintError
        If what was typed is no fingerprint.
    """
    typed = read_fingerprint(fingerprint) if fingerprint and fingerprint.strip() else ""
    job = _stored(book, number)
    return Findings(f"Job {number}", _last(job), (*_evidence(job), *_typed(job, typed)))


def _stored(book: Book, number: str) -> Job:
    from workshop_log.book.jobs import load_job

    with book.read() as session:
        return load_job(session, number)


def _last(job: Job) -> str:
    return job.seal.entries[-1].fingerprint if job.seal and job.seal.entries else ""


# --- the evidence itself --------------------------------------------------------------------------------------------


def _evidence(job: Job) -> Iterator[Check]:
    """Yield whether the chain is intact, and what waits to be sealed."""
    check = verify_seal(job)
    if job.seal is None or not job.seal.entries and check.intact:
        yield Check("Evidence", Result.UNCHECKED, "The job has no seal.")
        return
    entries = job.seal.entries
    if check.first_broken is not None:
        entry, body = links_of(job)[check.index]
        says = f" It now says “{step_result(body)}”." if isinstance(body, StepBase) else ""
        yield Check("Evidence", Result.DIFFERS, f"the first entry that differs is entry {check.index + 1} of "
                    f"{len(entries)}, {entry_words(entry, body, job)}: it {check.why}{says}")
    elif not check.intact:
        yield Check("Evidence", Result.DIFFERS, check.reason)
    else:
        yield Check("Evidence", Result.WHOLE, f"{len(entries)} entr{'y' if len(entries) == 1 else 'ies'}, "
                    "each as it was entered.")
    if check.unsealed:
        yield Check("Vehicle and complaint", Result.UNCHECKED, "they were written on after the last entry, and no "
                    "entry has sealed them since.")


# --- the fingerprint, wherever it stands ----------------------------------------------------------------------------


def _properties(job: Job, carried: Carried) -> Check:
    what, last = "Fingerprint in the file", _last(job)
    if not carried.fingerprint:
        return Check(what, Result.UNCHECKED, "the document's properties have none.")
    if carried.fingerprint != last:
        return Check(what, Result.DIFFERS, f"the document's properties say {short(carried.fingerprint)}, the job "
                     f"inside has {short(last)}.")
    return Check(what, Result.WHOLE, "the document's properties have that of the job inside.")


def _pages(job: Job, pdf: bytes, progress: Progress) -> Check:
    what, last = "Fingerprint on the pages", _last(job)
    try:
        texts = page_texts(pdf, progress)
    except PagesUnreadableError as error:
        return Check(what, Result.UNCHECKED, f"{error}.")
    footer = re.compile(re.escape(say("footer.seal", seal="@")).replace("@", f"({_GROUPS % 3})"))
    for number, text in enumerate(texts, start=1):
        printed = set(footer.findall(text))
        if not printed:
            return Check(what, Result.DIFFERS, f"page {number} has none; every page of a report has it.")
        if printed != {short(last)}:
            return Check(what, Result.DIFFERS, f"page {number} says {min(printed - {short(last)})}, the job inside "
                         f"has {short(last)}.")
    in_full = re.search(f"{re.escape(say('seal.in_full', seal=''))}({_GROUPS % 15})", " ".join(texts))
    if in_full and in_full[1] != grouped(last):
        return Check(what, Result.DIFFERS, "what is printed in full at the end is not that of the job inside.")
    return Check(what, Result.WHOLE, f"all {len(texts)} pages have that of the job inside.")


def _typed(job: Job, typed: str) -> Iterator[Check]:
    if not typed:
        return
    what, last = "Fingerprint as typed", _last(job)
    entries = job.seal.entries if job.seal else ()
    agreeing = [number for number, entry in enumerate(entries, start=1) if entry.fingerprint.startswith(typed)]
    if not agreeing:
        yield Check(what, Result.DIFFERS, f"{short(typed)} was typed, the job has "
                    f"{short(last) if last else 'no seal'}: this is another job, or it was changed.")
    elif agreeing[-1] == len(entries):
        yield Check(what, Result.WHOLE, f"all {len(typed)} digits agree.")
    else:
        since = entries_since_words(job, agreeing[-1])
        yield Check(what, Result.WHOLE, f"all {len(typed)} digits agree with entry {agreeing[-1]} of {len(entries)}: "
                    f"the paper is of an earlier day. Since then came {since}.")


# --- the book -------------------------------------------------------------------------------------------------------


def _job_in_book(job: Job, book: Book | None) -> Job | str:
    """Return the job of the same number as the book has it, or why there is none, to go on after a comma."""
    if book is None:
        return _NO_BOOK
    if not job.number:
        return "it has no number to find it by in the book"
    try:
        return _stored(book, job.number)
    except WorkshopLogError as error:
        return str(error).rstrip(".")


def _against_book(job: Job, book: Book | None, ours: str) -> Iterator[Check]:
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


def _handed_over(job: Job, pdf: bytes, carried: Carried, book: Book | None) -> Check:
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
