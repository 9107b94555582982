"""Tables in the document's structure, followed while ReportLab draws them."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from workshop_log.paper.tagging import Element

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportlab.platypus import Table

    from workshop_log.paper.tagging import Structure


class TableTags:
    """Follows a table while ReportLab draws it: rows and cells become elements, lines and repeated headers artifacts.

    One instance is shared by all parts into which a table is split, so the table stays one element. `widths` are those
    of its columns, in points.
    """

    def __init__(self, header_rows: int, widths: Sequence[float], row_headers: bool = False) -> None:
        self._element = Element("Table")
        self._header_rows = header_rows
        self._widths = tuple(widths)
        self._row_headers = row_headers
        self._in_repeat = False

    def __call__(self, table: Table, event: str, *details: object) -> None:
        """Take one of ReportLab's events."""
        structure: Structure = table.canv.structure
        match event:
            case "startTable":
                self._in_repeat = self._element.placed
                structure.open(self._element)
            case "startRow":
                if self._is_repeated(details[0]):
                    structure.begin_artifact(table.canv)
                structure.open(Element("TR"))
            case "startCell":
                row, column = details[:2]
                scope = "Column" if row < self._header_rows else "Row" if self._row_headers and column == 0 else ""
                cell = Element("TH" if scope else "TD", scope=scope)
                cell.columns = self._columns(column, details[-1][0])
                structure.open(cell)
            case "endCell" | "endTable":
                structure.close()
            case "endRow":
                structure.close()
                if structure.is_artifact:
                    structure.end_artifact(table.canv)
            case "startBG" | "startLines":
                structure.begin_artifact(table.canv)
            case "endBG" | "endLines":
                structure.end_artifact(table.canv)

    def _columns(self, first: int, width: float) -> int:
        """Return how many columns from the first one make this width."""
        reached = list(itertools.accumulate(self._widths[first:]))
        return min(range(len(reached)), key=lambda place: abs(reached[place] - width)) + 1

    def _is_repeated(self, row: object) -> bool:
        return self._in_repeat and row < self._header_rows


class LineTags:
    """Marks the lines and backgrounds of a table that is only a layout; its cells stand in the text as they are."""

    def __call__(self, table: Table, event: str, *_: object) -> None:
        """Take one of ReportLab's events."""
        if event in ("startBG", "startLines"):
            table.canv.structure.begin_artifact(table.canv)
        elif event in ("endBG", "endLines"):
            table.canv.structure.end_artifact(table.canv)
