"""Tables on paper: hairlines between rows, headers repeated on every page, no row left alone on a page."""

from __future__ import annotations

from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING

from workshop_log.jobs.money import show_money
from workshop_log.paper.fonts import REGULAR
from workshop_log.paper.sections import subheading
from workshop_log.paper.styles import HAIRLINE, RULE, accent
from workshop_log.paper.table_tags import LineTags, TableTags
from workshop_log.paper.text import para
from workshop_log.paper.wording import say

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal

    from reportlab.platypus import Flowable, Table

Cell = "Flowable | list[Flowable] | str"

# Space between columns. [pt]
GAP = 9.0
# A table with no more rows than these hardly has a place to be parted at.
_FEW_ROWS = 3
# A height that nothing reaches. [pt]
_ENDLESS = 1e6


def ruled_table(head: Sequence[str], rows: Sequence[Sequence[Cell]], widths: Sequence[float],
                right: frozenset[int] = frozenset(), commands: Sequence[tuple] = (),
                row_headers: bool = False, unruled: frozenset[int] = frozenset()) -> Table:
    """Return a table with a header row.

    Parameters
    ----------
    head : Sequence[str]
        Titles of the columns.
    rows : Sequence[Sequence[Cell]]
        Flowables, lists of them, or "" for an empty cell; no bare text.
    widths : Sequence[float]
        Of the columns, the gap behind each but the last included. [pt]
    right : frozenset[int]
        Columns whose contents are aligned right.
    commands : Sequence[tuple]
        Further style commands of ReportLab.
    row_headers : bool
        Whether the first column names the rows.
    unruled : frozenset[int]
        Rows without a line below them; the header is 0.
    """
    from reportlab.platypus import Table

    titles = [para(title, style="head right" if column in right else "head") for column, title in enumerate(head)]
    count = len(rows)
    last = len(widths) - 1
    style = [
        ("FONT", (0, 0), (-1, -1), REGULAR), ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (last - 1, -1), GAP),
        ("RIGHTPADDING", (last, 0), (last, -1), 0), ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("TOPPADDING", (0, 1), (-1, -1), 4.5), ("BOTTOMPADDING", (0, 1), (-1, -1), 5),
        ("TOPPADDING", (0, 0), (-1, 0), 0), ("BOTTOMPADDING", (0, 0), (-1, 0), 3),
        *(("LINEBELOW", (0, row), (-1, row), HAIRLINE, RULE) for row in range(1, count + 1) if row not in unruled),
        *(("ALIGN", (column, 0), (column, -1), "RIGHT") for column in right),
        *commands,
        # Last, over the line of the row before, which a table that goes on overleaf draws below its header.
        ("LINEBELOW", (0, 0), (-1, 0), 0.7, accent()),
    ]
    if count > 1 and _length(rows[-2:]) < SHORT_ROWS:
        # The last row never stands alone on a page.
        style.append(("NOSPLIT", (0, count - 1), (-1, count)))
    return Table([titles, *map(list, rows)], colWidths=list(widths), repeatRows=1, hAlign="LEFT", style=style,
                 renderCB=TableTags(1, widths, row_headers))


def headed(title: Sequence[Flowable], table: Table, n_rows: int) -> list[Flowable]:
    """Return a table of so many rows below its heading and what else stands above it.

    A short one is never parted from them; a longer one brings at least its first row to where the heading is, for
    which the heading keeps room.
    """
    from reportlab.platypus import KeepTogether

    return [KeepTogether([*title, table])] if n_rows <= _FEW_ROWS else [*title, table]


def side_by_side(rows: Sequence[Sequence[Cell]], widths: Sequence[float], commands: Sequence[tuple] = ()) -> Table:
    """Return flowables beside each other: a layout, no table for those who hear it."""
    from reportlab.platypus import Table

    style = [("FONT", (0, 0), (-1, -1), REGULAR),
             ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0),
             ("TOPPADDING", (0, 0), (-1, -1), 0), ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
             ("VALIGN", (0, 0), (-1, -1), "TOP"), *commands]
    return Table([list(row) for row in rows], colWidths=list(widths), hAlign="LEFT", style=style, renderCB=LineTags())


def height_of(flowables: Sequence[Flowable], width: float) -> float:
    """Return how much of a column these take from top to bottom, in points."""
    total = after = 0.0
    for flowable in flowables:
        # Of two spaces that meet the larger one counts, as on the page.
        total += max(after, flowable.getSpaceBefore()) + flowable.wrap(width, _ENDLESS)[1]
        after = flowable.getSpaceAfter()
    return total + after


def amount(value: Decimal, currency: str, style: str = "cell right") -> Flowable:
    """Return an amount for a cell; a large one is broken before its currency, never within it."""
    return para(show_money(value, currency).replace("\u00a0", " "), style=style)


def _length(rows: Sequence[Sequence[Cell]]) -> int:
    """Return how many characters the rows hold."""
    cells = [cell if isinstance(cell, list) else [cell] for row in rows for cell in row if cell]
    return sum(len(flowable.element.text) for cell in cells for flowable in cell)


def shortened(text: str, limit: int) -> str:
    """Return the text, cut where it is longer than anything sensible in its place."""
    text = text.strip()
    return text if len(text) <= limit else f"{_whole_words(text[:limit])} …"


def _whole_words(text: str) -> str:
    """Return the text without the word at its end, which was cut, unless almost nothing is left then."""
    kept = text.rpartition(" ")[0].rstrip()
    return kept if len(kept) > len(text) / 2 else text.rstrip()


# Longer texts do not go into a cell: five of them in the widest letters still fit on a page.
CELL_LIMIT = 220
_CELL_LINES = 8
# Of a text that is cut at least so much is shown.
_LEAST_CUT = 50
# Two rows with fewer characters fit on one page in any letters. Longer ones may part.
SHORT_ROWS = 900


class CellTexts:
    """Takes texts for cells and keeps the long ones for below the table, so that a row never outgrows a page.

    Parameters
    ----------
    limit, lines : int
        A text of more characters or lines is a long one.
    """

    def __init__(self, limit: int = CELL_LIMIT, lines: int = _CELL_LINES) -> None:
        self._limit, self._lines = limit, lines
        # (title, whole text) of what was shortened.
        self.kept: list[tuple[str, str]] = []

    def fit(self, text: str, title: str, is_quoted: bool = False) -> str:
        """Return the text for a cell, as a quotation if asked; a long one is cut and kept whole under the title."""
        text = text.strip()
        whole = f"“{text}”" if is_quoted else text
        if len(text) <= self._limit and text.count("\n") < self._lines:
            return whole
        self.kept.append((title, whole))
        cut = _whole_words(" ".join(text[:max(self._limit - 40, _LEAST_CUT)].split()))
        return say("tests.cut_quotation" if is_quoted else "tests.cut", text=cut)

    def flowables(self) -> list[Flowable]:
        """Return the whole texts below their titles; one that several share stands once."""
        return [flowable for title, kept in groupby(self.kept, key=itemgetter(0))
                for flowable in (*subheading(title), *(para(text, style="body") for _, text in kept))]
