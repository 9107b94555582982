"""Which papers a job has, and drawing one beside the window: a snapshot goes in, the bytes of a PDF come out."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from workshop_log.book.opening import Book
    from workshop_log.book.settings import Settings
    from workshop_log.exchange.records import Job
    from workshop_log.jobs.evaluation import Evaluation
    from workshop_log.progress import Progress


class PaperChoice(NamedTuple):
    """One paper of a job.

    Attributes
    ----------
    kind : str
        "report", or one of those of `paper.papers`.
    reader : str
        Of a report: "customer" or "expert"; blank otherwise.
    words : str
        As a person chooses it.
    """

    kind: str
    reader: str
    words: str


PAPERS = (
    PaperChoice("report", "customer", "Report for the customer"),
    PaperChoice("report", "expert", "Report for an expert"),
    PaperChoice("estimate", "", "Estimate for approval"),
    PaperChoice("invoice", "", "Invoice summary"),
    PaperChoice("receipt", "", "Intake receipt"),
    PaperChoice("label", "", "Labels for removed parts"),
)
SHEETS = (("A4", "A4"), ("Letter", "Letter"))
LABEL_SHEETS = (("label", "Label roll"), *SHEETS)


class PaperRequest(NamedTuple):
    """What is drawn, as it stands at one moment: the window goes on while it is drawn."""

    choice: PaperChoice
    sheet: str
    book: Book
    job: Job
    evaluation: Evaluation
    settings: Settings
    issued: datetime


def file_name(choice: PaperChoice, job: Job) -> str:
    """Return the name that a paper's file is proposed to have."""
    if choice.kind != "report":
        from workshop_log.paper.papers import paper_name

        return paper_name(choice.kind, job)
    plate = "".join(c for c in job.vehicle.registration if c.isalnum())
    return " ".join(word for word in ("Report", job.number, plate) if word) + ".pdf"


def why_not(choice: PaperChoice, job: Job) -> str:
    """Return why a job has not got this paper yet; blank when it has."""
    if choice.kind == "report":
        return ""
    from workshop_log.paper.papers import why_not as why_no_paper

    return why_no_paper(choice.kind, job)


def draw(request: PaperRequest, is_outdated: Callable[[], bool], progress: Progress) -> bytes:
    """Return the paper; blank where nobody waits for it any more.

    Raises
    ------
    WorkshopLogError
        If the job has nothing yet that the paper could say.
    """
    from workshop_log.diagnosis.outdated import Outdated
    from workshop_log.jobs.handing import logo_of, photo_bytes

    stationery = request.settings.stationery
    logo, photos = logo_of(request.book, stationery), photo_bytes(request.book, request.job)
    facts = {"issued": request.issued, "paper": request.sheet, "come_back": request.settings.come_back,
             "is_outdated": is_outdated}
    try:
        if request.choice.kind == "report":
            from workshop_log.paper.look import look_of
            from workshop_log.paper.report import make_report
            from workshop_log.paper.report_input import report_input

            content = report_input(request.job, request.evaluation, photos, reader=request.choice.reader,
                                   look=look_of(stationery, logo), **facts)
            return make_report(content, progress)
        from workshop_log.paper.papers import make_paper, paper_input

        return make_paper(request.choice.kind, paper_input(request.choice.kind, request.job, photos,
                                                           stationery=stationery, logo=logo, **facts), progress)
    except Outdated:
        return b""
