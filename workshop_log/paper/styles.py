"""The look of the paper: sizes, colours, spaces. One family, one accent colour, hairlines."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from workshop_log.exchange.stationery import ACCENT, INK
from workshop_log.paper import look
from workshop_log.paper.fonts import BOLD, ITALIC, REGULAR

if TYPE_CHECKING:
    from reportlab.lib.styles import ParagraphStyle

FAINT = "#565B63"
RULE = "#C9C6BC"
HAIRLINE = 0.4

# Points.
MARGIN_SIDE = 56.0
MARGIN_TOP = 44.0
MARGIN_BOTTOM = 56.0
BODY_SIZE = 9.6
BODY_LEADING = 13.6
SMALL_SIZE = 8.0
SMALL_LEADING = 10.6

# Font, size, leading, colour, space before, space after, alignment (0 left, 1 centre, 2 right).
_STYLES: dict[str, tuple[str, float, float, str, float, float, int]] = {
    "workshop": (BOLD, 15, 19, INK, 0, 0, 0),
    "address": (REGULAR, SMALL_SIZE, 11, FAINT, 0, 0, 2),
    "address bold": (BOLD, BODY_SIZE + 1, 14, INK, 0, 1, 2),
    "title": (REGULAR, 23, 27, INK, 0, 0, 0),
    "subtitle": (REGULAR, BODY_SIZE, BODY_LEADING, FAINT, 0, 0, 2),
    "heading": (BOLD, 12.2, 16, ACCENT, 11.5, 3.5, 0),
    "subheading": (BOLD, BODY_SIZE, BODY_LEADING, INK, 7, 2, 0),
    "body": (REGULAR, BODY_SIZE, BODY_LEADING, INK, 0, 4, 0),
    "lead": (REGULAR, 11.4, 15.6, INK, 0, 4, 0),
    "question": (BOLD, 10.2, 13.6, ACCENT, 0, 0, 0),
    "quote": (ITALIC, 11.2, 15.4, INK, 0, 3, 0),
    "faint": (REGULAR, SMALL_SIZE + 0.4, 11.4, FAINT, 0, 3, 0),
    "label": (REGULAR, 7.4, 10, FAINT, 0, 0, 0),
    "fact": (REGULAR, 10.2, 13, INK, 0, 0, 0),
    "fact bold": (BOLD, 10.2, 13, INK, 0, 0, 0),
    "head": (REGULAR, 7.6, 10, FAINT, 0, 0, 0),
    "head right": (REGULAR, 7.6, 10, FAINT, 0, 0, 2),
    "cell": (REGULAR, 8.8, 11.6, INK, 0, 0, 0),
    "cell right": (REGULAR, 8.8, 11.6, INK, 0, 0, 2),
    "cell bold": (BOLD, 8.8, 11.6, INK, 0, 0, 0),
    "cell bold right": (BOLD, 8.8, 11.6, INK, 0, 0, 2),
    "cell faint": (REGULAR, 7.6, 9.8, FAINT, 0, 0, 0),
    "cell faint right": (REGULAR, 7.6, 9.8, FAINT, 0, 0, 2),
    "caption": (REGULAR, 8.2, 11, INK, 3, 0, 0),
    "total": (BOLD, 11.4, 14.5, INK, 0, 0, 0),
    "total right": (BOLD, 11.4, 14.5, INK, 0, 0, 2),
    "sticker job": (BOLD, 16, 18, INK, 0, 0, 0),
    "sticker plate": (BOLD, 13, 18, INK, 0, 0, 2),
    "sticker part": (BOLD, 10.6, 12.4, INK, 0, 0, 0),
    "sticker why": (REGULAR, 8.8, 10.4, INK, 0, 0, 0),
    "sticker caution": (BOLD, 8.8, 10.4, INK, 0, 0, 0),
    "sticker until": (BOLD, 9.6, 11.4, INK, 0, 0, 2),
    "fingerprint": (REGULAR, 13, 18, INK, 2, 3, 0),
}

# The questions of the first page stand in a margin as wide as this, their answers right of it. [pt]
ANSWER_INDENT = 98.0
# Styles that are another one, indented by as much.
_INDENTED = {"answer": "body", "answer lead": "lead", "answer quote": "quote", "answer faint": "faint"}


def accent() -> str:
    """Return the colour of headings and rules on the paper that is being drawn."""
    return look.current().accent


def ink() -> str:
    """Return the colour of the text on the paper that is being drawn."""
    return look.current().ink


def style(name: str, colour: str = "") -> ParagraphStyle:
    """Return the paragraph style of that name, in its own colour or another one."""
    own = _STYLES[_INDENTED.get(name, name)][3]
    return _style(name, colour or {ACCENT: accent(), INK: ink()}.get(own, own))


@cache
def _style(name: str, colour: str) -> ParagraphStyle:
    from reportlab.lib.colors import HexColor
    from reportlab.lib.styles import ParagraphStyle

    font, size, leading, _, before, after, alignment = _STYLES[_INDENTED.get(name, name)]
    return ParagraphStyle(name, fontName=font, fontSize=size, leading=leading, textColor=HexColor(colour),
                          spaceBefore=before, spaceAfter=after, alignment=alignment, bulletFontName=font,
                          leftIndent=ANSWER_INDENT if name in _INDENTED else 0,
                          splitLongWords=1, allowWidows=0, allowOrphans=0)
