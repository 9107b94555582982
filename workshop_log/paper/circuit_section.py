"""The circuits of a job in the report: each drawn once, with the numbers of the tests at the points where they were."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from workshop_log.paper.circuit_drawing import COLOURS, shapes
from workshop_log.paper.circuit_layout import Marks, lay_out
from workshop_log.paper.circuit_marks import marks_of, shades_of
from workshop_log.paper.circuit_shapes import Arc, Circle, GlyphPlace, Line, Polygon, Text
from workshop_log.paper.circuit_words import circuit_words
from workshop_log.paper.drawings import draw_shapes, line_of
from workshop_log.paper.glyph_geometry import glyph
from workshop_log.paper.narrowing_section import is_worth_telling
from workshop_log.paper.sections import heading
from workshop_log.paper.styles import MARGIN_BOTTOM, MARGIN_TOP
from workshop_log.paper.tagging import figure
from workshop_log.paper.text import para
from workshop_log.paper.wording import say, sentence

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable

    from workshop_log.jobs.evaluation import JudgedReading
    from workshop_log.paper.circuit_drawing import DrawnState
    from workshop_log.paper.circuit_layout import Layout
    from workshop_log.paper.circuit_shapes import Shape
    from workshop_log.paper.report_input import ReportInput

# Room for heading, words and caption on the page of a drawing. [pt]
_BESIDE_DRAWING = 110.0


def circuits(content: ReportInput, width: float) -> list[Flowable]:
    """Return the drawing of each circuit of the job; nothing where none is described."""
    from reportlab.platypus import KeepTogether

    drawn = [circuit for circuit in content.job.circuits if circuit.elements]
    if not drawn:
        return []
    made: list[Flowable] = []
    explained: set[str] = set()
    for circuit in drawn:
        marks, readings = marks_of(content.job, content.evaluation, circuit, _numbers_words)
        suspicion = content.suspicion_of(circuit.id)
        is_shaded = suspicion is not None and is_worth_telling(suspicion)
        if is_shaded:
            marks = replace(marks, shades=shades_of(circuit, suspicion.shares, _numbers_words))
        layout = lay_out(circuit, marks=marks)
        picture = circuit_figure(layout, marks, readings, circuit_words(circuit, marks), width, _most_height(content))
        title = heading("circuit.heading", space=picture.height + 60) if not made else []
        words = [sentence(circuit.title)] if circuit.title else []
        shown = {"circuit.how_drawn": True, "circuit.numbers": bool(marks.points or marks.elements),
                 "circuit.shaded": is_shaded}
        # How a drawing is read is said once.
        words += [say(key) for key, is_here in shown.items() if is_here and key not in explained]
        explained |= {key for key, is_here in shown.items() if is_here}
        if layout.left_out:
            words.append(say("circuit.left_out", names=", ".join(layout.left_out)))
        # Words and drawing on one page; the heading goes with them.
        above = [para(" ".join(words), style="faint")] if words else []
        made.append(KeepTogether([*title, *above, picture]))
    return made


def _numbers_words(numbers: list[str]) -> str:
    """Return "Test 8" or "Tests 5, 6, 18"."""
    if len(numbers) == 1:
        return say("circuit.test", number=numbers[0])
    return say("circuit.tests", numbers=", ".join(numbers))


def _most_height(content: ReportInput) -> float:
    from workshop_log.paper.pages import page_size

    return page_size(content.paper)[1] - MARGIN_TOP - MARGIN_BOTTOM - _BESIDE_DRAWING


# --- the drawing on paper -------------------------------------------------------------------------------------------


def circuit_figure(layout: Layout, marks: Marks, readings: Mapping[tuple[str, str], JudgedReading], words: str,
                   width: float, most_height: float, state: DrawnState | None = None) -> Flowable:
    """Return the drawing of a circuit as vectors, made smaller where it would not fit, in the middle of the text.

    Parameters
    ----------
    layout, marks
        What is drawn.
    readings : Mapping[tuple[str, str], JudgedReading]
        The reading whose glyph stands at a point or element.
    words : str
        The drawing in words, for those who hear the report.
    width, most_height : float
        Room on the page. [pt]
    state : DrawnState, optional
        What is live, dead and floating.
    """
    scale = min(1.0, width / layout.width, most_height / layout.height)
    drawn = shapes(layout, state, marks)

    def draw(canvas: Canvas) -> None:
        canvas.saveState()
        canvas.translate((width - layout.width * scale) / 2, layout.height * scale)
        canvas.scale(scale, scale)
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        for shape in drawn:
            _draw(canvas, shape, readings)
        canvas.restoreState()

    return figure(width, layout.height * scale, words, draw)


def _draw(canvas: Canvas, shape: Shape, readings: Mapping[tuple[str, str], JudgedReading]) -> None:
    """Draw one shape; y counts up on paper."""
    if isinstance(shape, GlyphPlace):
        _draw_glyph(canvas, shape, readings[shape.of, shape.owner])
        return
    colour = COLOURS["light"][shape.role]
    if isinstance(shape, Text):
        _draw_text(canvas, shape, colour)
        return
    canvas.setStrokeColor(colour)
    canvas.setLineWidth(shape.thickness)
    canvas.setDash(*(([*shape.dash],) if shape.dash else ([],)))
    match shape:
        case Line():
            canvas.line(shape.x1, -shape.y1, shape.x2, -shape.y2)
        case Circle():
            canvas.setFillColor(colour if shape.fill == "ink" else "white")
            canvas.circle(shape.x, -shape.y, shape.radius, stroke=int(shape.thickness > 0),
                          fill=int(shape.fill != "none"))
        case Arc(x, y, radius):
            canvas.arc(x - radius, -y - radius, x + radius, -y + radius, -shape.start, -shape.sweep)
        case Polygon():
            canvas.setFillColor(colour if shape.fill == "ink" else "white")
            path = canvas.beginPath()
            path.moveTo(shape.corners[0][0], -shape.corners[0][1])
            for x, y in shape.corners[1:]:
                path.lineTo(x, -y)
            path.close()
            canvas.drawPath(path, stroke=1, fill=int(shape.fill != "none"))


def _draw_text(canvas: Canvas, shape: Text, colour: str) -> None:
    text, font = line_of(shape.text, shape.bold)
    canvas.setFillColor(colour)
    canvas.setFont(font, shape.size)
    draw = {"left": canvas.drawString, "middle": canvas.drawCentredString, "right": canvas.drawRightString}
    draw[shape.anchor](shape.x, -shape.y, text)


def _draw_glyph(canvas: Canvas, place: GlyphPlace, reading: JudgedReading) -> None:
    judgement, entry = reading.judgement, reading.entry
    expected = judgement.expected.in_unit(entry.unit or judgement.expected.unit)
    made = glyph(expected.low, expected.high, entry.value, judgement.uncertainty.standard, place.width, place.height,
                 entry.relation)
    canvas.saveState()
    canvas.translate(place.left, -place.top - place.height)
    canvas.setDash([])
    draw_shapes(canvas, made, judgement.verdict.value)
    canvas.restoreState()


