"""The head of the first page: who writes to whom about which vehicle, and what the customer said."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs import labels
from workshop_log.measuring.entry import EntryError, read_entry, show_entry
from workshop_log.paper import sentences
from workshop_log.paper.sections import margin_heading
from workshop_log.paper.styles import HAIRLINE, RULE
from workshop_log.paper.tables import CellTexts, height_of, shortened, side_by_side
from workshop_log.paper.text import para
from workshop_log.paper.wording import date_words, say

if TYPE_CHECKING:
    from reportlab.platypus import BaseDocTemplate, Flowable

    from workshop_log.exchange.records import Job
    from workshop_log.paper.paper_input import PaperInput
    from workshop_log.paper.report_input import ReportInput

# Longer texts of a complaint are cut on a report's first page, and further complaints left for the next one: the first
# of these that leaves room for the answers. [characters], number
_BREVITIES = ((900, 99), (420, 99), (280, 6), (180, 4), (90, 3), (90, 1))
# About as many go into a line beside the question.
_CHARACTERS_OF_A_LINE = 68


def title(content: ReportInput, width: float) -> list[Flowable]:
    """Return the title with the job's number and the day of issue."""
    job = content.job
    words = say("title.report") + (f" {say('title.on_job', number=job.number)}" if job.number else "")
    kind = say(f"title.copy_for.{content.reader}")
    return title_row(words, f"{date_words(content.issued)}\n{say('title.anonymous') if job.anonymous else kind}", job,
                     width)


def title_row(words: str, beside: str, job: Job, width: float, share: float = 0.66) -> list[Flowable]:
    """Return a paper's title with what stands at its right, and below it for whom it is; `share` is the title's."""
    from reportlab.platypus import Spacer

    row = [para(words, style="title"), para(beside, style="subtitle")]
    made = [side_by_side([row], [width * share, width * (1 - share)], [("VALIGN", (0, 0), (-1, -1), "BOTTOM")])]
    names = ", ".join(line.strip() for line in (job.customer.name, *job.customer.address.splitlines()) if line.strip())
    if names:
        made += [Spacer(0, 3), para(say("letterhead.for", names=names), style="fact")]
    return [*made, Spacer(0, 7)]


def vehicle_strip(content: ReportInput | PaperInput, width: float) -> list[Flowable]:
    """Return what the vehicle is recognised by, between two hairlines."""
    vehicle = content.job.vehicle
    facts = [
        ("vehicle.registration", vehicle.registration, "fact bold", 0.20),
        ("vehicle.vehicle", labels.vehicle_words(vehicle), "fact", 0.33),
        ("vehicle.vin", vehicle.vin, "fact", 0.29),
        ("vehicle.odometer", _odometer(vehicle.odometer), "fact", 0.18),
    ]
    facts = [fact for fact in facts if fact[1]]
    if not facts:
        return []
    share = sum(fact[3] for fact in facts)
    cells = [[para(say(key), style="label"), para(shortened(value, 160), style=style)]
             for key, value, style, _ in facts]
    strip = side_by_side([cells], [width * fact[3] / share for fact in facts], [
        ("LINEABOVE", (0, 0), (-1, 0), HAIRLINE, RULE), ("LINEBELOW", (0, 0), (-1, 0), HAIRLINE, RULE),
        ("TOPPADDING", (0, 0), (-1, -1), 5), ("BOTTOMPADDING", (0, 0), (-1, -1), 7),
        ("RIGHTPADDING", (0, 0), (-2, -1), 8)])
    return [strip]


def _odometer(text: str) -> str:
    """Return the odometer with its unit as it is printed; what cannot be read stays as typed."""
    try:
        return show_entry(read_entry(text)) if text else ""
    except EntryError:
        return text


def complaint_within(content: ReportInput, width: float, room: float) -> tuple[list[Flowable], list[Flowable]]:
    """Return the complaint as far as it goes into `room`, a height in points, and what was cut of it in full."""
    for longest, most in _BREVITIES:
        texts = CellTexts(longest, max(2, longest // _CHARACTERS_OF_A_LINE))
        made = complaint(content, width, texts, most)
        if height_of(made, width) <= room:
            break
    return made, texts.flowables()


def complaint(content: ReportInput | PaperInput, width: float, texts: CellTexts, most: int = 99) -> list[Flowable]:
    """Return the complaint in the customer's words; what is long, and what is more than `most`, goes to `texts`."""
    from reportlab.platypus import Spacer

    job, title = content.job, say("complaint.heading")
    made = margin_heading("complaint.heading", width, is_ruled=False)
    if not any(one.words.strip() for one in job.complaints):
        made.append(para(say("complaint.none"), style="answer"))
    for number, one in enumerate(job.complaints):
        if number >= most:
            texts.kept.append((title, " ".join(filter(None, (one.words.strip() and f"“{one.words.strip()}”",
                                                             sentences.complaint_words(one))))))
            continue
        if number:
            made.append(Spacer(0, 3))
        if one.words.strip():
            made.append(para(texts.fit(one.words, title, is_quoted=True), style="answer quote"))
        words = sentences.complaint_words(one)
        if words:
            made.append(para(texts.fit(words, title), style="answer faint"))
    more = len(job.complaints) - most
    if more > 0:
        words = say("complaint.more_one") if more == 1 else say("complaint.more_many", count=more)
        made.append(para(words, style="answer faint"))
    codes = sentences.codes_words(job.fault_codes)
    if codes:
        made.append(para(texts.fit(codes, title), style="answer faint"))
    return made


def closing(content: ReportInput) -> list[Flowable]:
    """Return the workshop's own last line; nothing where it has none."""
    from reportlab.platypus import Spacer

    words = content.look.closing.strip()
    return [Spacer(0, 6), para(words, style="answer faint")] if words else []


def end() -> Flowable:
    """Return the end of the answers: what follows is there to be looked up, and begins on the second page.

    Where the answers themselves go on overleaf, the rest follows there.
    """
    from reportlab.platypus.doctemplate import ActionFlowable

    class EndOfAnswers(ActionFlowable):
        """Turns the page, if it is the first."""

        def apply(self, document: BaseDocTemplate) -> None:
            """Turn the first page."""
            if document.page == 1:
                document.handle_pageBreak()

    return EndOfAnswers()
