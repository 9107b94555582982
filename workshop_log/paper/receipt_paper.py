"""The intake receipt: the complaint as the customer said it, the vehicle's state, what is agreed, what happens next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from workshop_log.jobs.cautions import HIGH_VOLTAGE, PYROTECHNIC
from workshop_log.jobs.money import show_money, standing_approvals
from workshop_log.jobs.photos import standing_photos
from workshop_log.paper import sentences, signing
from workshop_log.paper.pictures import ALL_PICTURES, drawn_picture, print_picture
from workshop_log.paper.sections import margin_heading
from workshop_log.paper.styles import ANSWER_INDENT
from workshop_log.paper.tables import CELL_LIMIT, shortened, side_by_side
from workshop_log.paper.text import Strong, para
from workshop_log.paper.wording import date_words, say, sentence, time_words

if TYPE_CHECKING:
    from datetime import datetime

    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Approval, Job, Photo
    from workshop_log.paper.paper_input import PaperInput
    from workshop_log.progress import Progress

_PHOTOS_IN_A_ROW, _MOST_PHOTOS = 3, 9
_PHOTO_HEIGHT, _BETWEEN = 84.0, 10.0


def story(content: PaperInput, width: float, progress: Progress) -> list[Flowable]:
    """Return the receipt, once for the customer and once for the workshop, each on a page of its own."""
    from reportlab.platypus import PageBreak

    customer = _copy(content, "customer", width, progress)
    if content.copies == 1:
        return customer
    return [*customer, PageBreak(), *_copy(content, "workshop", width, progress)]


def _copy(content: PaperInput, reader: str, width: float, progress: Progress) -> list[Flowable]:
    from reportlab.platypus import KeepTogether, Spacer

    job = content.job
    received = time_words(job.opened) if job.opened else date_words(content.issued)
    copy = say(f"receipt.copy.{reader}")
    beside = f"{received}\n{copy}" if content.copies == 2 else received
    sign = KeepTogether([*margin_heading("receipt.sign", width), signing.places_to_sign(
        [(say("receipt.handed_over"), job.customer.name), (say("receipt.received"), "")], width), Spacer(0, 8)])
    return [*signing.head(content, "receipt", beside, width), *_told(job, width), *_state(content, width, progress),
            *_agreed(job, width), *_next(job, width), *_mind(content, width), *signing.terms(content, width), sign]


def _told(job: Job, width: float) -> list[Flowable]:
    """Return each complaint in the customer's words, and when it shows."""
    made = margin_heading("receipt.told", width, is_ruled=False)
    for one in job.complaints:
        if one.words.strip():
            made.append(para(f"“{one.words.strip()}”", style="answer quote"))
        # Whether the workshop saw it came later.
        words = sentences.complaint_words(replace(one, confirmed=None))
        if words:
            made.append(para(words, style="answer faint"))
    return made


# --- as it was taken in ---------------------------------------------------------------------------------------------


def _work_began(job: Job) -> datetime | None:
    """Return when the first test was made or the first clock started; None before that."""
    times = [step.at for step in job.steps if step.at] + [line.start for line in job.clock]
    return min(times, default=None)


def _is_of_intake(moment: datetime | None, job: Job) -> bool:
    began = _work_began(job)
    return moment is None or began is None or moment <= began


def _state(content: PaperInput, width: float, progress: Progress) -> list[Flowable]:
    """Return what was noted of the vehicle before the work began, with its photos; nothing where nothing was."""
    job = content.job
    notes = [note for note in sorted(job.notes, key=lambda note: note.at)
             if not note.internal and _is_of_intake(note.at, job)]
    photos = [photo for photo in standing_photos(job) if photo.step is None and _is_of_intake(photo.taken, job)]
    shown = [cell for number, photo in enumerate(photos[:_MOST_PHOTOS])
             for cell in [_photo(content, photo, width, number, len(photos), progress)]]
    if not notes and not shown:
        return []
    made = [*margin_heading("receipt.state", width),
            *(para(say("receipt.noted", when=time_words(note.at), words=sentence(note.words)), style="answer")
              for note in notes), *_rows(shown, width)]
    left = len(photos) - len(shown)
    if left:
        key = "receipt.more_photos_one" if left == 1 else "receipt.more_photos"
        made.append(para(say(key, count=left), style="answer faint"))
    return made


def _column(width: float) -> float:
    return (width - ANSWER_INDENT - _BETWEEN * (_PHOTOS_IN_A_ROW - 1)) / _PHOTOS_IN_A_ROW


def _photo(content: PaperInput, photo: Photo, width: float, number: int, count: int,
           progress: Progress) -> list[Flowable]:
    progress(number, count)
    name = photo.name or say("photos.untitled", number=number + 1)
    caption = shortened(photo.caption or name, CELL_LIMIT)
    data = content.photos.get(photo.sha256) or photo.data
    picture = print_picture(data, _column(width), _PHOTO_HEIGHT, ALL_PICTURES) if data else None
    if picture is None:
        return [para(say("photos.broken" if data else "photos.missing", name=shortened(name, CELL_LIMIT)),
                     style="cell faint")]
    return [drawn_picture(picture, _column(width), _PHOTO_HEIGHT, caption), para(caption, style="cell faint")]


def _rows(cells: list[list[Flowable]], width: float) -> list[Flowable]:
    """Return the photos in rows, each row on one page."""
    widths = [ANSWER_INDENT, *[_column(width), _BETWEEN] * (_PHOTOS_IN_A_ROW - 1), _column(width)]
    made = []
    for first in range(0, len(cells), _PHOTOS_IN_A_ROW):
        row: list[object] = [""]
        for cell in [*cells[first:first + _PHOTOS_IN_A_ROW], "", ""][:_PHOTOS_IN_A_ROW]:
            row += [cell, ""]
        made.append(side_by_side([row[:-1]], widths, [("TOPPADDING", (0, 0), (-1, -1), 3),
                                                      ("BOTTOMPADDING", (0, 0), (-1, -1), 4)]))
    return made


# --- agreed, next, cautions -----------------------------------------------------------------------------------------


def _agreed_at_intake(job: Job) -> Approval | None:
    """Return what the customer agreed to before the work began, the last of it."""
    agreed = [approval for approval in standing_approvals(job) if approval.agreed and _is_of_intake(approval.at, job)]
    return agreed[-1] if agreed else None


def _agreed(job: Job, width: float) -> list[Flowable]:
    approval = _agreed_at_intake(job)
    made = margin_heading("receipt.agreed", width)
    if approval is None:
        return [*made, para(say("receipt.none_agreed"), style="answer")]
    facts = {"by": approval.by, "how": sentences.how_words(approval),
             "date": date_words(approval.at)}
    if approval.up_to is None:
        made.append(para(say("cost.approved_open", **facts), style="answer"))
    else:
        amount = show_money(approval.up_to, job.workshop.currency)
        before, found, after = say("cost.approved", up_to=amount, **facts).partition(amount)
        made.append(para(before, Strong(found), after, style="answer"))
    if approval.words.strip():
        made.append(para(say("receipt.words", words=approval.words.strip().strip("“”")), style="answer"))
    return made


def _next(job: Job, width: float) -> list[Flowable]:
    """Return what happens next, in plain words, and what is not done without asking."""
    approval = _agreed_at_intake(job)
    said = [say("receipt.next_test")]
    if approval is None:
        said.append(say("receipt.next_none"))
    elif approval.up_to is not None:
        said.append(say("receipt.next_limit"))
    return [*margin_heading("receipt.next", width), para(" ".join(said), style="answer")]


def _mind(content: PaperInput, width: float) -> list[Flowable]:
    """Return the cautions of systems that can hurt, where the vehicle is noted to have them."""
    noted = set(content.job.vehicle.systems) & {HIGH_VOLTAGE, PYROTECHNIC}
    shown = [caution for caution in content.cautions if caution.key in noted]
    if not shown:
        return []
    return [*margin_heading("receipt.mind", width),
            *(para(Strong(sentence(caution.title)), " ", caution.words, style="answer") for caution in shown)]
