"""The mark of a reading on the screen: the shapes that the report prints, and their words."""

from __future__ import annotations

import pytest
from desktop.looking import SAMPLE_NAMES, sample
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from workshop_log.desktop import theme
from workshop_log.desktop.range_glyph import HEIGHT, WIDTH, RangeGlyph, draw_glyph, glyph_words, has_glyph
from workshop_log.jobs.evaluation import JudgedReading, evaluate
from workshop_log.measuring.entry import show_entry
from workshop_log.paper.glyph_geometry import COLOURS, Dot, Line, glyph

READINGS = [(name, reading) for name in SAMPLE_NAMES for reading in evaluate(sample(name)).readings]
each_reading = pytest.mark.parametrize(
    "reading", [reading for _, reading in READINGS], ids=[f"{name}-{reading.step.id}" for name, reading in READINGS])


class Noting:
    """Notes what is drawn instead of drawing it."""

    RenderHint = QPainter.RenderHint

    def __init__(self) -> None:
        self.shapes: list[tuple[object, ...]] = []
        self.thickness = 0.0
        self.colour = ""
        self.moved = (0.0, 0.0)

    def setRenderHint(self, hint: object) -> None: ...

    def save(self) -> None: ...

    def restore(self) -> None: ...

    def translate(self, x: float, y: float) -> None:
        self.moved = (x, y)

    def setPen(self, pen: object) -> None:
        if hasattr(pen, "widthF"):
            self.thickness, self.colour = pen.widthF(), pen.color().name()

    def setBrush(self, colour: QColor) -> None:
        self.colour = colour.name()

    def drawEllipse(self, middle: QPointF, across: float, down: float) -> None:
        assert across == down
        self.shapes.append(("dot", middle.x(), middle.y(), across, self.colour))

    def drawLine(self, start: QPointF, end: QPointF) -> None:
        self.shapes.append(("line", start.x(), start.y(), end.x(), end.y(), self.thickness, self.colour))


def shapes_of(reading: JudgedReading) -> list[tuple[object, ...]]:
    """Return the paper's shapes, as they are to be drawn in the light theme."""
    expected, entry = reading.expected.in_unit(reading.entry.unit or reading.expected.unit), reading.entry
    colours = COLOURS["light"]
    ink = {role: QColor(colour).name() for role, colour in (
        ("axis", colours["axis"]), ("bracket", colours["bracket"]), ("mark", colours[reading.verdict.value]))}
    wanted: list[tuple[object, ...]] = []
    for shape in glyph(expected.low, expected.high, entry.value, reading.uncertainty.standard, WIDTH, HEIGHT,
                       relation=entry.relation):
        if isinstance(shape, Dot):
            wanted.append(("dot", shape.x, shape.y, shape.radius, ink[shape.role]))
        else:
            assert isinstance(shape, Line)
            wanted.append(("line", shape.x1, shape.y1, shape.x2, shape.y2, shape.thickness, ink[shape.role]))
    return wanted


@each_reading
def test_the_screen_draws_the_shapes_of_the_paper(reading: JudgedReading):
    """Line by line and dot by dot, in the colour of the verdict, in the middle of its box."""
    painter = Noting()
    draw_glyph(painter, QRectF(10, 20, WIDTH + 40, 60), reading)
    assert has_glyph(reading)
    assert painter.shapes == shapes_of(reading)
    assert painter.moved == pytest.approx((30, 50 - HEIGHT / 2), abs=0.6)


@each_reading
def test_the_glyph_says_reading_range_and_verdict(reading: JudgedReading):
    """Those who do not see it hear the same."""
    words = glyph_words(reading)
    for part in (show_entry(reading.entry), reading.expected.words(), reading.verdict.value):
        assert part in words


@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK], ids=lambda t: t.name)
def test_the_dot_is_there_in_the_colour_of_its_verdict(qapp: object, qtbot: object, colours: theme.Theme):
    """The picture itself has a pixel of that colour, in both themes."""
    theme.apply(qapp, colours)
    reading = next(r for name, r in READINGS if name == "ground-strap" and r.verdict.value == "outside")
    widget = RangeGlyph(reading)
    qtbot.addWidget(widget)
    picture = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    found = {picture.pixelColor(x, y).name() for x in range(picture.width()) for y in range(picture.height())}
    assert QColor(COLOURS[colours.name]["outside"]).name() in found
    assert widget.accessibleName() == glyph_words(reading)


def test_without_a_reading_nothing_is_drawn_or_said(qtbot: object):
    """An empty place stays empty."""
    widget = RangeGlyph()
    qtbot.addWidget(widget)
    widget.grab()
    assert widget.accessibleName() == ""


def test_a_remark_has_no_glyph():
    """A look has no range to be drawn against."""
    remarks = [remark for name in SAMPLE_NAMES for remark in evaluate(sample(name)).remarks]
    assert remarks
    assert not any(has_glyph(remark) for remark in remarks)
