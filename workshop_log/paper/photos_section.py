"""Photos with captions, before and after beside each other: upright, without positions, as fine as print needs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.jobs.before_after import before_and_after
from workshop_log.jobs.photos import standing_photos
from workshop_log.paper.pictures import ALL_PICTURES, drawn_picture, print_picture
from workshop_log.paper.reasons import ref_to_test
from workshop_log.paper.sections import heading
from workshop_log.paper.tables import CELL_LIMIT, CellTexts, side_by_side
from workshop_log.paper.text import Strong, para
from workshop_log.paper.wording import say
from workshop_log.progress import Progress, untold

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Photo
    from workshop_log.paper.report_input import ReportInput
    from workshop_log.paper.text import Part

_SPACE_BETWEEN = 16.0
# A tall picture gets no more than this of a page. [pt]
_LARGEST_HEIGHT = 235.0
# More photos than this stand three in a row.
_MANY = 12


@dataclass(frozen=True, slots=True)
class _Grid:
    """Where the photos of one report go.

    Attributes
    ----------
    count : int
        So many stand in a row.
    column : float
        The width of each. [pt]
    share : int
        What each picture may take. [bytes]
    texts : CellTexts
        Keeps long captions.
    """

    count: int
    column: float
    share: int
    texts: CellTexts

    def rows(self, cells: list[list[Flowable]]) -> list[Flowable]:
        """Return the cells row by row; each row stays together."""
        from reportlab.platypus import KeepTogether, Spacer

        widths = [self.column, *[_SPACE_BETWEEN, self.column] * (self.count - 1)]
        made: list[Flowable] = []
        for first in range(0, len(cells), self.count):
            row = [cell for cell in cells[first:first + self.count] for cell in (cell, "")]
            row += [""] * (len(widths) + 1 - len(row))
            made += [KeepTogether(side_by_side([row[:len(widths)]], widths)), Spacer(0, 13)]
        return made


def photos(content: ReportInput, width: float, progress: Progress = untold) -> list[Flowable]:
    """Return the photos: first those of one test before and after the repair beside each other, then the others."""
    standing = standing_photos(content.job)
    if not standing:
        return []
    texts = CellTexts()
    share = ALL_PICTURES // len({photo.sha256 for photo in standing})
    pairs = _before_and_after(content, standing)
    count = 3 if len(standing) > _MANY else 2
    two, many = (_Grid(n, (width - (n - 1) * _SPACE_BETWEEN) / n, share, texts) for n in (2, count))
    numbers = {photo.id: number for number, photo in enumerate(standing, start=1)}
    beside = [photo for pair in pairs for photo in pair]
    others = [photo for photo in standing if photo not in beside]
    cells = []
    for done, photo in enumerate((*beside, *others)):
        progress(done, len(standing))
        cells.append(_cell(content, numbers[photo.id], photo, two if done < len(beside) else many,
                           say(f"photos.{'after' if done % 2 else 'before'}") if done < len(beside) else ""))
    return [*heading("photos.heading", space=_LARGEST_HEIGHT), *two.rows(cells[:len(beside)]),
            *many.rows(cells[len(beside):]), *texts.flowables()]


def _before_and_after(content: ReportInput, standing: tuple[Photo, ...]) -> list[tuple[Photo, Photo]]:
    """Return the photos of the same test before and after the repair, two by two."""
    of_step: dict[str, list[Photo]] = {}
    for photo in standing:
        if photo.step:
            of_step.setdefault(photo.step, []).append(photo)
    pairs: list[tuple[Photo, Photo]] = []
    for tests in before_and_after(content.job, content.evaluation):
        # A test that was made again twice is shown before the repair once.
        earlier = of_step.pop(tests.before.step.id, [])
        pairs += zip(earlier, of_step.get(tests.after.step.id, []), strict=False)
    return pairs


def _cell(content: ReportInput, number: int, photo: Photo, grid: _Grid, when: str) -> list[Flowable]:
    name = photo.name or say("photos.untitled", number=number)
    caption = photo.caption.strip() or name
    data = content.photos.get(photo.sha256) or photo.data
    if not data:
        return [para(say("photos.missing", name=name), style="caption")]
    picture = print_picture(data, grid.column, _LARGEST_HEIGHT, grid.share)
    if picture is None:
        return [para(say("photos.broken", name=name), style="caption")]
    caption = grid.texts.fit(caption, say("photos.further", number=number))
    parts: list[Part] = [Strong(when), " "] if when else []
    if photo.step:
        parts += [ref_to_test(content, photo.step, begins=True), ". "]
    heard = "".join(part if isinstance(part, str) else part.text for part in (*parts, caption))
    return [drawn_picture(picture, grid.column, _LARGEST_HEIGHT, heard[:CELL_LIMIT]),
            para(*parts, caption, style="caption")]
