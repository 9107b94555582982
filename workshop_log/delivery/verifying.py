"""Whether a report, a job file or a job of the book is what was sealed, held against everything at hand.

The chain inside a job file shows that nobody changed an entry without making the chain anew. Whoever makes it anew gets
another last fingerprint: that is held against the one in the document's properties, on its pages, on the paper that a
person types it from, and against the book, which also knows which reports were handed over, byte for byte. What can be
shown without the book is only as strong as the fingerprint that one trusts: a forger can write a new one into the file.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from workshop_log.delivery.book_checks import against_book, handed_over, stored_job
from workshop_log.delivery.evidence_words import entries_since_words, entry_words
from workshop_log.delivery.findings import Check, Findings, Result
from workshop_log.delivery.page_text import PagesUnreadableError, page_texts
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.records import StepBase
from workshop_log.exchange.seal import grouped, links_of, read_fingerprint, short, verify_seal
from workshop_log.exchange.writing import write_job
from workshop_log.jobs.labels import step_result
from workshop_log.paper.attached import Carried, carried_by, report_bytes
from workshop_log.paper.wording import say
from workshop_log.progress import Progress, untold

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job

_GROUPS = "[0-9a-f]{4}(?: [0-9a-f]{4}){%d}"


def verify_file(path: Path, book: Book | None = None, fingerprint: str | None = None,
                progress: Progress = untold) -> Findings:
    """Check a file: a report where its name ends in .pdf, a job file otherwise; see `verify_report`.

    Raises
    ------
    TransferError
        If the job file cannot be read; for everything else see the two functions that follow.
    """
    if path.suffix.lower() == ".pdf":
        return verify_report(report_bytes(path), book, fingerprint, path.name, progress)
    from workshop_log.jobs.transfer import read_file

    typed = _typed_digits(fingerprint)
    return _of_job_file(read_file(path), book, typed, path.name)


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
    typed = _typed_digits(fingerprint)
    carried = carried_by(pdf, name)
    job = read_job(carried.data, f"{name}, {carried.name}")
    made = [*_evidence(job)]
    if _last(job):
        made += [_properties(job, carried), _pages(job, pdf, progress)]
    if made[0].result is Result.WHOLE and write_job(job) != carried.data:
        made.append(Check("Spelling", Result.UNCHECKED, "the attached job is not spelt as this release of the program "
                          "spells it: another release or another program wrote it, or a letter was changed that "
                          "changes no meaning."))
    if carried.others:
        others = ", ".join(carried.others)
        made.append(Check("Other attachments", Result.UNCHECKED, f"{others}: no report has them, and the seal says "
                          "nothing of them."))
    made += [*_typed(job, typed), *against_book(job, book, "this report")]
    made.append(handed_over(job, pdf, carried, book))
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
    typed = _typed_digits(fingerprint)
    return _of_job_file(read_job(data, name), book, typed, name)


def _of_job_file(job: Job, book: Book | None, typed: str, name: str) -> Findings:
    return Findings(name, _last(job), (*_evidence(job), *_typed(job, typed), *against_book(job, book, "this file")))


def verify_stored(book: Book, number: str, fingerprint: str | None = None) -> Findings:
    """Check a job of the book; see `verify_report`.

    Raises
    ------
    UnknownJobError
        If there is no such job.
    FingerprintError
        If what was typed is no fingerprint.
    """
    typed = _typed_digits(fingerprint)
    job = stored_job(book, number)
    return Findings(f"Job {number}", _last(job), (*_evidence(job), *_typed(job, typed)))


def _typed_digits(fingerprint: str | None) -> str:
    return read_fingerprint(fingerprint) if fingerprint and fingerprint.strip() else ""


def _last(job: Job) -> str:
    return job.seal.entries[-1].fingerprint if job.seal and job.seal.entries else ""


# --- the evidence itself --------------------------------------------------------------------------------------------


def _evidence(job: Job) -> Iterator[Check]:
    """Yield whether the chain is intact, and what waits to be sealed."""
    check = verify_seal(job)
    if job.seal is None:
        yield Check("Evidence", Result.UNCHECKED, "The job has no seal.")
        return
    if not job.seal.entries and check.intact:
        yield Check("Evidence", Result.WHOLE, "nothing has been entered, so nothing is sealed.")
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
        # A note of a person may name another one beside it.
        if short(last) not in printed:
            return Check(what, Result.DIFFERS, f"page {number} says {min(printed)}, the job inside has {short(last)}.")
    in_full = re.findall(f"{re.escape(say('seal.in_full', seal=''))}({_GROUPS % 15})", " ".join(texts))
    if in_full and grouped(last) not in in_full:
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
