"""The report: from values to a finished PDF."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import msgspec

from workshop_log.exchange.seal import short
from workshop_log.exchange.shown import shown_job
from workshop_log.exchange.writing import write_job
from workshop_log.paper import (
    answers,
    case_section,
    circuit_section,
    first_page,
    money_section,
    narrowing_section,
    photos_section,
    proof_section,
    record_sections,
    seal_section,
    suspects_annex,
    tests_section,
)
from workshop_log.paper.composing import compose, one_line
from workshop_log.paper.finishing import Attachment
from workshop_log.paper.fonts import describe, missing_characters
from workshop_log.paper.letterhead import letterhead
from workshop_log.paper.pages import Sheet, text_height
from workshop_log.paper.report_input import ReportInput
from workshop_log.paper.sentences import decided
from workshop_log.paper.tables import height_of
from workshop_log.paper.wording import say
from workshop_log.progress import Progress, untold

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportlab.platypus import Flowable

# As much of the first page's height the complaint may take; the less where the answers need it.
_COMPLAINTS = (0.3, 0.24, 0.18, 0.12)

__all__ = ["ReportInput", "attachment_name", "make_report"]


def make_report(content: ReportInput, progress: Progress = untold) -> bytes:
    """Return the PDF of a report: the same bytes for the same input."""
    shown = shown_job(content.job)
    attachment = Attachment(attachment_name(content), write_job(shown), "application/json", say("seal.file"))
    return compose(lambda width, told: _story(content, attachment.name, width, told), _sheet(content), content.issued,
                   content.look, attachment, progress)


def attachment_name(content: ReportInput) -> str:
    """Return the name of the attached job file; only characters that every system takes."""
    number = re.sub(r"[^A-Za-z0-9._-]+", "-", content.job.number).strip("-.")
    return f"{number or 'job'}.job.json"


def _sheet(content: ReportInput) -> Sheet:
    """Return what every page carries; lines without controls, because they go into the document's properties."""
    job = content.job
    middle = [say("footer.job", number=job.number) if job.number else "", job.vehicle.registration]
    last = seal_section.last_fingerprint(content)
    title = say("title.document", number=job.number) if job.number else say("title.document_unnumbered")
    return Sheet(content.paper, one_line(title), one_line(job.workshop.name), say("title.subject"),
                 one_line(" · ".join(part for part in middle if part)),
                 say("footer.seal", seal=short(last)) if last else "", fingerprint=last)


def _story(content: ReportInput, attached: str, width: float, progress: Progress) -> list[Flowable]:
    """Return the report from top to bottom."""
    head, first, in_full = _first_page(content, width)
    why = [flowable for entry in decided(content.job) for flowable in case_section.why_condemned(content, entry, width)]
    looked_up = [
        *in_full,
        *narrowing_section.narrowed_down(content, width), *why, *proof_section.proof(content, width),
        *tests_section.tests_and_readings(content, width), *circuit_section.circuits(content, width),
        *photos_section.photos(content, width, progress),
        *record_sections.not_tested(content), *record_sections.cautions(content), *record_sections.remarks(content),
        *money_section.time_and_parts(content, width), *record_sections.approvals(content, width),
        *record_sections.instruments(content, width), *suspects_annex.every_suspect(content, width)]
    # A fingerprint that is missing takes no page of its own.
    turn = [first_page.end()] if looked_up or content.job.seal else []
    return [
        *head, *first, *turn, *looked_up,
        *seal_section.seal(content, attached, _unprintable(content), width),
        *circuit_section.circuits_across(content, width),
    ]


def _first_page(content: ReportInput, width: float) -> tuple[list[Flowable], list[Flowable], list[Flowable]]:
    """Return the head with the complaint, the answers with the closing line, and in full what was cut of both."""
    closing = first_page.closing(content)
    height = text_height(content.paper)
    for share in _COMPLAINTS:
        complaint, cut = first_page.complaint_within(content, width, share * height)
        head = [*letterhead(content.job.workshop, width), *first_page.title(content, width),
                *first_page.vehicle_strip(content, width), *complaint]
        room = height - height_of(head, width) - height_of(closing, width)
        answered, in_full = answers.answers(content, width, room)
        if height_of(answered, width) <= room:
            break
    return head, [*answered, *closing], [*cut, *in_full]


def _unprintable(content: ReportInput) -> tuple[str, ...]:
    """Return in words the characters of the job that no font of the report has."""
    return tuple(describe(c) for c in missing_characters(list(_texts(msgspec.to_builtins(shown_job(content.job))))))


def _texts(value: object) -> Iterator[str]:
    """Yield every text in nested built-in values."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for item in value.values():
            yield from _texts(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _texts(item)
