"""The papers beside the report: estimate, invoice summary, intake receipt, labels for removed parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs.removed import removed_part, removed_parts
from workshop_log.paper import estimate_paper, invoice_paper, label_paper, receipt_paper
from workshop_log.paper.composing import compose, one_line
from workshop_log.paper.pages import Sheet
from workshop_log.paper.paper_input import KINDS, PaperError, PaperInput, PaperKind, paper_input
from workshop_log.paper.wording import list_words, say
from workshop_log.progress import Progress, untold

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job

__all__ = ["KINDS", "PaperError", "PaperInput", "PaperKind", "make_paper", "paper_input", "paper_name", "why_not"]

_STORIES = {"estimate": estimate_paper.story, "invoice": invoice_paper.story, "receipt": receipt_paper.story,
            "label": label_paper.story}


def make_paper(kind: PaperKind, content: PaperInput, progress: Progress = untold) -> bytes:
    """Return the PDF of one paper: the same bytes for the same input.

    Raises
    ------
    PaperError
        If the job has nothing yet that it could say; the message is that of `why_not`.
    """
    reason = why_not(kind, content.job) or _no_such_part(kind, content)
    if reason:
        raise PaperError(reason)
    if content.paper == "label" and kind != "label":
        raise PaperError(f"{say(f'papers.kinds.{kind}')}: print it on A4 or on Letter, a label is too small for it.")
    return compose(lambda width, told: _STORIES[kind](content, width, told), _sheet(kind, content), content.issued,
                   content.look, progress=progress)


def paper_name(kind: PaperKind, job: Job) -> str:
    """Return the name of a paper's file; only characters that every system takes."""
    words = (say(f"papers.kinds.{kind}"), job.number, "".join(c for c in job.vehicle.registration if c.isalnum()))
    return f"{' '.join(_for_file(word) for word in words if _for_file(word))}.pdf"


def _for_file(word: str) -> str:
    return "".join(c if c.isalnum() or c in " ._-" else "-" for c in word).strip(" .-")[:60]


def why_not(kind: PaperKind, job: Job) -> str:
    """Return why a paper cannot be made of this job, in one sentence; empty when it can be."""
    if kind not in KINDS:
        return f"A paper is one of {list_words(list(KINDS))}, not “{kind}”."
    can_be = {
        "estimate": job.estimate, "invoice": job.clock or job.charges or _charged_parts(job),
        "receipt": any(one.words.strip() for one in job.complaints), "label": removed_parts(job)}
    return "" if can_be[kind] else say(f"papers.no_answer.{kind}")


def _charged_parts(job: Job) -> bool:
    return any(part.returned is None for part in job.parts)


def _no_such_part(kind: PaperKind, content: PaperInput) -> str:
    if kind != "label" or not content.part or removed_part(content.job, content.part):
        return ""
    known = [f"{removed.id} ({removed.name})" for removed in removed_parts(content.job)]
    return say("papers.no_such_part", part=content.part, known=list_words(known))


def _sheet(kind: PaperKind, content: PaperInput) -> Sheet:
    """Return what every page carries."""
    job = content.job
    title = say(f"papers.kinds.{kind}")
    words = say("papers.on_job", title=title, number=job.number) if job.number else title
    middle = [say("footer.job", number=job.number) if job.number else "", job.vehicle.registration]
    return Sheet(content.paper, one_line(words), one_line(job.workshop.name), say(f"papers.subject.{kind}"),
                 one_line(" · ".join(part for part in middle if part)), title, is_label=kind == "label")
