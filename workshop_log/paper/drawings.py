"""What is drawn on paper and not written: range glyphs and rules."""

from __future__ import annotations

from typing import TYPE_CHECKING

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
    """Draw a glyph's shapes with the colours for light paper."""
    colours = COLOURS["light"]
    canvas.saveState()
    canvas.setLineCap(1)
    for shape in shapes:
        colour = colours[verdict] if shape.role == "mark" else colours[shape.role]
        match shape:
            case Line():
                canvas.setStrokeColor(colour)
                canvas.setLineWidth(shape.thickness)
                canvas.line(shape.x1, shape.y1, shape.x2, shape.y2)
            case Dot():
                canvas.setFillColor(colour)
                canvas.circle(shape.x, shape.y, shape.radius, stroke=0, fill=1)
    canvas.restoreState()


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
