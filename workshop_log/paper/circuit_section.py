"""The circuits of a job in the report: each drawn once, with the numbers of the tests at the points where they were."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.exchange import records
from workshop_log.measuring.verdict import Verdict
from workshop_log.paper import sentences
from workshop_log.paper.circuit_drawing import COLOURS, shapes
from workshop_log.paper.circuit_layout import Marks, lay_out
from workshop_log.paper.circuit_shapes import Arc, Circle, GlyphPlace, Line, Polygon, Text
from workshop_log.paper.circuit_words import circuit_words
from workshop_log.paper.drawings import draw_shapes
from workshop_log.paper.fonts import BOLD, FALLBACK, REGULAR, font_of
from workshop_log.paper.glyph_geometry import glyph
from workshop_log.paper.sections import heading
from workshop_log.paper.styles import MARGIN_BOTTOM, MARGIN_TOP
from workshop_log.paper.tagging import figure
from workshop_log.paper.text import para
from workshop_log.paper.wording import say, sentence

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Circuit, Step
    from workshop_log.jobs.evaluation import JudgedReading
    from workshop_log.paper.circuit_drawing import DrawnState
    from workshop_log.paper.circuit_layout import Layout
    from workshop_log.paper.circuit_shapes import Shape
    from workshop_log.paper.report_input import ReportInput

# Room for heading, words and caption on the page of a drawing. [pt]
_BESIDE_DRAWING = 110.0
# As many numbers stand at one point; the table has them all.
_MOST_NUMBERS = 5


def circuits(content: ReportInput, width: float) -> list[Flowable]:
    """Return the drawing of each circuit of the job; nothing where none is described."""
    drawn = [circuit for circuit in content.job.circuits if circuit.elements]
    if not drawn:
        return []
    made: list[Flowable] = []
    for circuit in drawn:
        marks, readings = marks_of(content, circuit)
        layout = lay_out(circuit, marks=marks)
        picture = circuit_figure(layout, marks, readings, circuit_words(circuit, marks), width, _most_height(content))
        title = heading("circuit.heading", space=picture.height + 60) if not made else []
        words = [sentence(circuit.title)] if circuit.title else []
        words += [say("circuit.how_drawn")] if not made else []
        if marks.points or marks.elements:
            words.append(say("circuit.numbers"))
        if layout.left_out:
            words.append(say("circuit.left_out", names=", ".join(layout.left_out)))
        made += [*title, para(" ".join(words), style="faint"), picture]
    return made


def marks_of(content: ReportInput, circuit: Circuit) -> tuple[Marks, dict[tuple[str, str], JudgedReading]]:
    """Return the numbers of the tests at each point and element, and the reading there whose glyph is shown.

    A voltage or resistance stands at both of its points unless one is battery negative; its glyph at the red one. Of
    several readings the last one outside its range is shown, so that the drawing says where the fault was; else the
    last one.
    """
    numbers: dict[tuple[str, str], list[str]] = {}
    readings: dict[tuple[str, str], JudgedReading] = {}
    for step in sentences.standing_steps(content.job):
        if step.circuit != circuit.id:
            continue
        places = list(_places(step))
        for place in places:
            numbers.setdefault(place, []).append(sentences.number_of(step.id))
        reading = content.evaluation.reading_of(step.id)
        if places and reading and reading.judgement and reading.entry and (
                places[0] not in readings or reading.verdict is Verdict.OUTSIDE
                or readings[places[0]].verdict is not Verdict.OUTSIDE):
            readings[places[0]] = reading
    words = {place: _numbers_words(found) for place, found in numbers.items()}
    marks = Marks({name: said for (kind, name), said in words.items() if kind == "point"},
                  {name: said for (kind, name), said in words.items() if kind == "element"}, frozenset(readings))
    return marks, readings


def _places(step: Step) -> Iterator[tuple[str, str]]:
    """Yield the points and elements at which a step was made, the one that shows the reading first."""
    match step:
        case records.VoltageStep() | records.ResistanceStep():
            yield "point", step.red
            if step.black != "B-":
                yield "point", step.black
        case records.LampStep():
            yield "point", step.probe
        case records.CurrentStep():
            yield "element", step.through
        case records.LookStep() | records.MovementStep():
            yield from (("element", element) for element in step.elements)
        case records.ObserveStep() | records.SwapStep():
            yield "element", step.element
        case _:
            return


def _numbers_words(numbers: list[str]) -> str:
    """Return "Test 8" or "Tests 5, 6, 18"."""
    if len(numbers) == 1:
        return say("circuit.test", number=numbers[0])
    shown = numbers if len(numbers) <= _MOST_NUMBERS else [*numbers[:_MOST_NUMBERS - 1], "…"]
    return say("circuit.tests", numbers=", ".join(shown))


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
    """Draw a line of words in one font that has all of its characters."""
    font = BOLD if shape.bold else REGULAR
    if any(font_of(character) != REGULAR for character in shape.text):
        font = FALLBACK
    canvas.setFillColor(colour)
    canvas.setFont(font, shape.size)
    draw = {"left": canvas.drawString, "middle": canvas.drawCentredString, "right": canvas.drawRightString}
    draw[shape.anchor](shape.x, -shape.y, shape.text)


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


