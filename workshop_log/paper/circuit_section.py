"""The circuits of a job in the report: each drawn once, with the numbers of the tests at the points where they were."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from workshop_log.paper.circuit_drawing import COLOURS, shapes
from workshop_log.paper.circuit_layout import MARK_SIZE, Marks, lay_out
from workshop_log.paper.circuit_marks import marks_of, shades_of
from workshop_log.paper.circuit_shapes import Arc, Circle, GlyphPlace, Line, Polygon, Text
from workshop_log.paper.circuit_words import circuit_words
from workshop_log.paper.drawings import draw_shapes, line_of
from workshop_log.paper.glyph_geometry import glyph
from workshop_log.paper.narrowing_section import is_worth_telling
from workshop_log.paper.pages import room_across, text_height, turn_across
from workshop_log.paper.sections import CIRCUITS_ACROSS, heading
from workshop_log.paper.tagging import figure
from workshop_log.paper.text import Ref, para
from workshop_log.paper.wording import say, sentence

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Circuit
    from workshop_log.jobs.evaluation import JudgedReading
    from workshop_log.paper.circuit_drawing import DrawnState
    from workshop_log.paper.circuit_layout import Layout
    from workshop_log.paper.circuit_shapes import Shape
    from workshop_log.paper.report_input import ReportInput

# Room for heading, words and caption on the page of a drawing. [pt]
_BESIDE_DRAWING = 110.0
# Smaller words are not read on paper. [pt]
_LEAST_SIZE = 6.0


class _Prepared(NamedTuple):
    """A circuit that is laid out, with what is marked on it."""

    circuit: Circuit
    layout: Layout
    marks: Marks
    readings: Mapping[tuple[str, str], JudgedReading]
    is_shaded: bool


def circuits(content: ReportInput, width: float) -> list[Flowable]:
    """Return the drawing of each circuit of the job; nothing where none is described.

    Of what is too wide for an upright page it is said where it stands.
    """
    upright, across = _sorted(content, width)
    made = _drawn(upright, width, text_height(content.paper))
    if across:
        words = say("circuit.across_too" if made else "circuit.across")
        made.append(para(Ref(words, f"#{CIRCUITS_ACROSS}"), "."))
    return made


def circuits_across(content: ReportInput, width: float) -> list[Flowable]:
    """Return the circuits that are too wide for an upright page, for the report's end, where pages lie across."""
    _, across = _sorted(content, width)
    return [*turn_across(), *_drawn(across, *room_across(content.paper), CIRCUITS_ACROSS)] if across else []


def _sorted(content: ReportInput, width: float) -> tuple[list[_Prepared], list[_Prepared]]:
    """Return the circuits that are drawn upright and those that lie across.

    Across lie those whose words would be too small to read on an upright page, and are larger there.
    """
    upright: list[_Prepared] = []
    across: list[_Prepared] = []
    long, short = room_across(content.paper)
    for circuit in content.job.circuits:
        if not circuit.elements:
            continue
        one = _prepared(circuit, content)
        scale = _scale(one.layout, width, text_height(content.paper) - _BESIDE_DRAWING)
        is_across = scale * MARK_SIZE < _LEAST_SIZE and _scale(one.layout, long, short - _BESIDE_DRAWING) > scale
        (across if is_across else upright).append(one)
    return upright, across


def _prepared(circuit: Circuit, content: ReportInput) -> _Prepared:
    marks, readings = marks_of(content.job, content.evaluation, circuit, _numbers_words)
    suspicion = content.suspicion_of(circuit.id)
    is_shaded = suspicion is not None and is_worth_telling(suspicion)
    if is_shaded:
        marks = replace(marks, shades=shades_of(circuit, suspicion.shares, _numbers_words))
    return _Prepared(circuit, lay_out(circuit, marks=marks), marks, readings, is_shaded)


def _drawn(shown: list[_Prepared], width: float, height: float, anchor: str = "") -> list[Flowable]:
    """Return drawings with their heading and words, each on a page of this size; lengths in points."""
    from reportlab.platypus import KeepTogether

    made: list[Flowable] = []
    explained: set[str] = set()
    for circuit, layout, marks, readings, is_shaded in shown:
        picture = circuit_figure(layout, marks, readings, circuit_words(circuit, marks), width,
                                 height - _BESIDE_DRAWING)
        title = [] if made else heading("circuit.heading", space=picture.height + 60, anchor=anchor)
        words = [sentence(circuit.title)] if circuit.title else []
        told = {"circuit.how_drawn": True, "circuit.numbers": bool(marks.points or marks.elements),
                "circuit.shaded": is_shaded}
        # How a drawing is read is said once.
        words += [say(key) for key, is_here in told.items() if is_here and key not in explained]
        explained |= {key for key, is_here in told.items() if is_here}
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


def _scale(layout: Layout, width: float, most_height: float) -> float:
    """Return how much smaller than its natural size a drawing is made."""
    return min(1.0, width / layout.width, most_height / layout.height)


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
    scale = _scale(layout, width, most_height)
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


