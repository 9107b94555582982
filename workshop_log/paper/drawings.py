"""What is drawn on paper and not written: range glyphs and rules."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from workshop_log.paper.fonts import BOLD, FALLBACK, MISSING, REGULAR, font_of, plain
from workshop_log.paper.glyph_geometry import COLOURS, Dot, Line, alternative_text, glyph
from workshop_log.paper.styles import HAIRLINE, RULE
from workshop_log.paper.tagging import figure

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable

    from workshop_log.jobs.evaluation import JudgedReading
    from workshop_log.paper.glyph_geometry import Shape

GLYPH_WIDTH, GLYPH_HEIGHT = 78.0, 13.0


def draw_shapes(canvas: Canvas, shapes: tuple[Shape, ...], verdict: str) -> None:
    """Draw a glyph's shapes with the colours for light paper, as one piece of PDF: a long report has hundreds.

    All ends are round, so a dot is a line of no length, as thick as the dot is wide.
    """
    colours = COLOURS["light"]
    drawn = ["q 1 J"]
    for shape in shapes:
        drawn.append(_stroke_colour(colours[verdict] if shape.role == "mark" else colours[shape.role]))
        match shape:
            case Line(x1, y1, x2, y2, thickness):
                drawn.append(f"{thickness:.2f} w {x1:.2f} {y1:.2f} m {x2:.2f} {y2:.2f} l S")
            case Dot(x, y, radius):
                drawn.append(f"{2 * radius:.2f} w {x:.2f} {y:.2f} m {x:.2f} {y:.2f} l S")
    canvas.addLiteral(" ".join([*drawn, "Q"]))


@cache
def _stroke_colour(colour: str) -> str:
    """Return the colour #rrggbb as PDF sets it for lines."""
    return " ".join(f"{int(colour[start:start + 2], 16) / 255:.3f}" for start in (1, 3, 5)) + " RG"


def line_of(text: str, bold: bool = False) -> tuple[str, str]:
    """Return a text as one line that can be drawn, and the one font that has all of its characters."""
    line = "".join(character if font_of(character) else MISSING for character in " ".join(plain(text).split()))
    if any(font_of(character) != REGULAR for character in line):
        return line, FALLBACK
    return line, BOLD if bold else REGULAR


def reading_glyph(reading: JudgedReading, shown: str, width: float = GLYPH_WIDTH,
                  height: float = GLYPH_HEIGHT) -> Flowable | str:
    """Return the range glyph of a reading; blank where there is no verdict.

    `shown` is the reading as it is printed, for those who hear the report.
    """
    judgement = reading.judgement
    if judgement is None or reading.entry is None:
        return ""
    entry = reading.entry
    expected = judgement.expected.in_unit(entry.unit or judgement.expected.unit)
    verdict = judgement.verdict.value
    shapes = glyph(expected.low, expected.high, entry.value, judgement.uncertainty.standard, width, height,
                   entry.relation)
    words = alternative_text(shown, judgement.expected.words(), verdict)
    return figure(width, height, words, lambda canvas: draw_shapes(canvas, shapes, verdict))


def example_glyph(low: float, high: float, value: float, uncertainty: float, verdict: str) -> Flowable:
    """Return a small glyph that explains one verdict; it is no figure of its own, the words beside it say it."""
    width, height = 46.0, 11.0
    shapes = glyph(low, high, value, uncertainty, width, height)
    return figure(width, height, "", lambda canvas: draw_shapes(canvas, shapes, verdict))


def rule(width: float, colour: str = RULE, thickness: float = HAIRLINE) -> Flowable:
    """Return a line across the text."""
    def draw(canvas: Canvas) -> None:
        canvas.setStrokeColor(colour)
        canvas.setLineWidth(thickness)
        canvas.line(0, 0, width, 0)

    return figure(width, thickness, "", draw)
