"""Which pages of a paper are wanted, and a paper of those pages alone."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from workshop_log.errors import WorkshopLogError
from workshop_log.progress import Progress, untold
from workshop_log.whole_file import write_whole

# First and last page, both included; the first page of a paper is 1.
PageRange = tuple[int, int]


class PageChoiceError(WorkshopLogError, ValueError):
    """Pages that the paper does not have, or that cannot be understood."""


@dataclass(frozen=True, slots=True)
class PaperFacts:
    """What a print dialog has to know of a paper.

    Attributes
    ----------
    pages : int
        How many pages it has.
    width_pt, height_pt : float
        Size of its first page. [pt, 1/72 inch]
    """

    pages: int
    width_pt: float
    height_pt: float


def read_ranges(words: str) -> tuple[PageRange, ...]:
    """Return the ranges that `words` name, such as "1-3, 5"; none where nothing is written.

    Raises
    ------
    PageChoiceError
        If a part is no page and no range of pages.
    """
    ranges = []
    for part in filter(None, (part.strip() for part in words.split(","))):
        found = re.fullmatch(r"([0-9]{1,6})(?:\s*-\s*([0-9]{1,6}))?", part)
        first, last = (int(found[1]), int(found[2] or found[1])) if found else (0, 0)
        if not 1 <= first <= last:
            raise PageChoiceError(f"“{part}” names no pages: write them like 1-3, 5.")
        ranges.append((first, last))
    return tuple(ranges)


def written(ranges: Iterable[PageRange]) -> str:
    """Return the ranges as printing systems read them: `1-3,5`."""
    return ",".join(str(first) if first == last else f"{first}-{last}" for first, last in ranges)


def ranges_of(pages: Iterable[int]) -> tuple[PageRange, ...]:
    """Return the fewest ranges that hold these pages and no others."""
    ranges: list[PageRange] = []
    for page in sorted(set(pages)):
        if ranges and ranges[-1][1] == page - 1:
            ranges[-1] = (ranges[-1][0], page)
        else:
            ranges.append((page, page))
    return tuple(ranges)


def chosen(ranges: tuple[PageRange, ...], count: int, sides: str = "all") -> tuple[int, ...]:
    """Return the numbers of the chosen pages, each once and in the paper's order.

    Parameters
    ----------
    ranges : tuple of PageRange
        None of them means every page.
    count : int
        How many pages the paper has; what lies beyond is left out.
    sides : {"all", "odd", "even"}
        Which of them, by their number: paper is turned by hand in a printer of one side.

    Raises
    ------
    PageChoiceError
        If no page is left.
    """
    first = {"all": (1, 1), "odd": (1, 2), "even": (2, 2)}[sides]
    wanted = ranges or ((1, count),)
    pages = tuple(page for page in range(first[0], count + 1, first[1])
                  if any(low <= page <= high for low, high in wanted))
    if not pages:
        has = "one page" if count == 1 else f"pages 1 to {count}"
        which = {"all": "", "odd": " with an odd number", "even": " with an even number"}[sides]
        raise PageChoiceError(f"Nothing to print: the paper has {has}, and none{which} of them was chosen"
                              f"{f' by {written(ranges)}' if ranges else ''}.")
    return pages


def facts_of(pdf: bytes) -> PaperFacts:
    """Return what a print dialog has to know of a paper.

    Raises
    ------
    PageChoiceError
        If this is no PDF that can be read.
    """
    import pikepdf

    try:
        with pikepdf.open(io.BytesIO(pdf)) as paper:
            box = paper.pages[0].mediabox
            left, bottom, right, top = (float(edge) for edge in box)
            return PaperFacts(len(paper.pages), right - left, top - bottom)
    except (pikepdf.PdfError, IndexError) as error:
        raise PageChoiceError("This is no PDF with pages: draw the paper again.") from error


def excerpt(pdf: bytes, pages: tuple[int, ...]) -> bytes:
    """Return a PDF of these pages alone, in this order; the very same bytes where that is all of them.

    What belongs to the whole paper does not come along: its structure for screen readers and the attached job file.
    """
    import pikepdf

    with pikepdf.open(io.BytesIO(pdf)) as paper:
        if pages == tuple(range(1, len(paper.pages) + 1)):
            return pdf
        made = pikepdf.new()
        made.pages.extend(paper.pages[page - 1] for page in pages)
        if "/Title" in paper.docinfo:
            made.docinfo["/Title"] = paper.docinfo["/Title"]
        # Links to pages that were left out would drag these along.
        for page in made.pages:
            if "/Annots" in page:
                del page["/Annots"]
            if "/StructParents" in page:
                del page["/StructParents"]
        held = io.BytesIO()
        made.save(held, deterministic_id=True)
        return held.getvalue()


def save_pages(pdf: bytes, pages: tuple[int, ...], path: Path, progress: Progress = untold) -> Path:
    """Write a PDF of these pages and return where it is; an older file is replaced.

    Raises
    ------
    WriteError
        If it cannot be written.
    """
    progress(0, 2)
    wanted = excerpt(pdf, pages)
    progress(1, 2)
    write_whole(path, wanted)
    return path
