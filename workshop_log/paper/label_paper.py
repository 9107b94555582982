"""Labels for removed parts: job, part, why it came out, until when it is kept; for a roll or a sheet of labels."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from workshop_log.jobs.removed import removed_part, removed_parts
from workshop_log.paper.pages import LABEL_SIZE, labels_on
from workshop_log.paper.styles import FAINT, HAIRLINE, style
from workshop_log.paper.tables import shortened, side_by_side
from workshop_log.paper.text import para
from workshop_log.paper.wording import date_words, say, upper_first

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable

    from workshop_log.jobs.removed import RemovedPart
    from workshop_log.paper.paper_input import PaperInput
    from workshop_log.progress import Progress

# A hair less than the paper, so that rounding never pushes a label onto the next one. [pt]
_WIDTH, _HEIGHT = LABEL_SIZE[0] - 0.02, LABEL_SIZE[1] - 0.02
_EDGE, _GAP, _CUT_MARK = 8.5, 2.0, 4.0
_TOP = _EDGE - 4
# The plate's share of the first line, and of the last one that of the day of removal.
_PLATE_SHARE, _REMOVED_SHARE = 0.38, 0.46
# More characters than any label holds.
_MOST_CHARACTERS = 600
# A part's name in fewer is none.
_LEAST_CHARACTERS = 12


class _Placed(NamedTuple):
    """A text with where it begins, from the left and from the top, and how wide it may be, in points."""

    text: Flowable
    left: float
    top: float
    width: float


def story(content: PaperInput, width: float, _progress: Progress) -> list[Flowable]:
    """Return the labels from first to last, as many beside each other as the paper takes."""
    shown = (removed_part(content.job, content.part),) if content.part else removed_parts(content.job)
    columns, _ = labels_on(content.paper)
    has_marks = content.paper != "label"
    made = [_label_class()(_contents(content, removed, is_first=not number), has_marks)
            for number, removed in enumerate(shown)]
    rows = [made[first:first + columns] for first in range(0, len(made), columns)]
    return [side_by_side([[*row, *[""] * (columns - len(row))]], [width / columns] * columns) for row in rows]


def _contents(content: PaperInput, removed: RemovedPart, is_first: bool) -> list[_Placed]:
    """Return a label's texts from top to bottom, each where it stands."""
    job, inner = content.job, _WIDTH - 2 * _EDGE
    number = say("label.job", number=job.number) if job.number else say("label.job_unnumbered")
    plate = inner * _PLATE_SHARE if job.vehicle.registration.strip() else 0.0
    first = [_Placed(_fitted(number, "sticker job", inner - plate, 1, tag="H1" if is_first else "P"), _EDGE, _TOP,
                     inner - plate)]
    if plate:
        # On one line with the number, whatever the sizes of the two.
        first.append(_Placed(_fitted(job.vehicle.registration, "sticker plate", plate, 1), _EDGE + inner - plate,
                             _TOP + style("sticker job").fontSize - style("sticker plate").fontSize, plate))

    # From the bottom up; what is left between is for the reason.
    bottom = _HEIGHT - _EDGE + 2 - style("sticker until").leading
    left = inner * _REMOVED_SHARE
    last = [_Placed(_fitted(say("label.removed", date=date_words(removed.removed)), "sticker why", left, 1), _EDGE,
                    bottom + 1, left),
            _Placed(_fitted(say("label.kept", date=date_words(removed.kept_until(content.keep_days))),
                            "sticker until", inner - left, 1), _EDGE + left, bottom, inner - left)]
    for danger in removed.dangers[:1]:
        words = say(f"label.caution.{danger.replace(' ', '_')}")
        bottom -= style("sticker caution").leading + 1
        last.insert(0, _Placed(_fitted(words, "sticker caution", inner, 1), _EDGE, bottom, inner))

    top = _TOP + style("sticker job").leading + _GAP
    after = say("label.new_number", number=removed.new_number) if removed.new_number else ""
    name = _fitted(upper_first(removed.name), "sticker part", inner, 1 if removed.dangers else 2, tag="H2", after=after)
    middle = [_Placed(name, _EDGE, top, inner)]
    top += name.wrap(inner, _HEIGHT)[1] + 1
    lines = int((bottom - _GAP - top) / style("sticker why").leading)
    if removed.why.strip() and lines > 0:
        middle.append(_Placed(_fitted(removed.why, "sticker why", inner, lines), _EDGE, top, inner))
    return [*first, *middle, *last]


def _fitted(words: str, name: str, width: float, lines: int, *, tag: str = "", after: str = "") -> Flowable:
    """Return a text in at most so many lines, cut with an ellipsis where it is longer.

    `after` follows it in brackets, whole; it is left out where it leaves no room for the text.
    """
    words = shortened(" ".join(words.split()), _MOST_CHARACTERS)
    end = f" ({after})" if after else ""

    def made(length: int) -> Flowable:
        return para(shortened(words, length) + end, style=name, tag=tag)

    def fits(length: int) -> bool:
        return made(length).wrap(width, _HEIGHT)[1] <= lines * style(name).leading + 0.1

    if fits(len(words)):
        return made(len(words))
    low, high = 0, len(words)
    while low < high - 1:
        middle = (low + high) // 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return _fitted(words, name, width, lines, tag=tag) if after and low < _LEAST_CHARACTERS else made(max(low, 1))


@cache
def _label_class() -> type[Flowable]:
    from reportlab.platypus import Flowable

    class Label(Flowable):
        """One label with its texts, and at its corners where to cut."""

        def __init__(self, contents: list[_Placed], has_marks: bool) -> None:
            super().__init__()
            self._contents, self._has_marks = contents, has_marks

        def wrap(self, *_: float) -> tuple[float, float]:
            """Return the size, which is fixed."""
            return _WIDTH, _HEIGHT

        def draw(self) -> None:
            """Draw the texts from top to bottom, and the marks."""
            for text, left, top, width in self._contents:
                _, height = text.wrapOn(self.canv, width, _HEIGHT)
                text.drawOn(self.canv, left, _HEIGHT - top - height)
            if self._has_marks:
                with self.canv.structure.artifact(self.canv):
                    _draw_marks(self.canv)

    return Label


def _draw_marks(canvas: Canvas) -> None:
    """Draw a small cross at each corner."""
    canvas.setStrokeColor(FAINT)
    canvas.setLineWidth(HAIRLINE)
    for x in (0, _WIDTH):
        for y in (0, _HEIGHT):
            canvas.line(x - _CUT_MARK, y, x + _CUT_MARK, y)
            canvas.line(x, y - _CUT_MARK, x, y + _CUT_MARK)
