"""A reading's mark on the screen: the same shapes that the report prints."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from workshop_log.desktop import theme
from workshop_log.paper.glyph_geometry import COLOURS, Dot, alternative_text, glyph

if TYPE_CHECKING:
    from workshop_log.jobs.evaluation import JudgedReading, Remark

WIDTH, HEIGHT = 124.0, 22.0


def verdict_colour(verdict: str) -> str:
    """Return the colour of a verdict's words on the present theme."""
    colours = theme.current()
    return {"inside": colours.inside, "outside": colours.outside}.get(verdict, colours.too_close)


def draw_glyph(painter: QPainter, box: QRectF, reading: JudgedReading, height: float = HEIGHT) -> None:
    """Draw the glyph of a judged reading into the middle of `box`; nothing where there is no expected range."""
    if reading.judgement is None or reading.entry is None:
        return
    entry, unit = reading.entry, reading.entry.unit or reading.expected.unit
    expected = reading.expected.in_unit(unit)
    colours = COLOURS[theme.current().name]
    ink = {"axis": colours["axis"], "bracket": colours["bracket"], "mark": colours[reading.judgement.verdict.value]}
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    width = min(WIDTH, box.width())
    painter.translate(box.left() + (box.width() - width) / 2, box.center().y() - height / 2)
    for shape in glyph(expected.low, expected.high, entry.value, reading.uncertainty.standard, width, height,
                       relation=entry.relation):
        colour = QColor(ink[shape.role])
        if isinstance(shape, Dot):
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(colour)
            painter.drawEllipse(QPointF(shape.x, shape.y), shape.radius, shape.radius)
        else:
            painter.setPen(QPen(colour, shape.thickness, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
            painter.drawLine(QPointF(shape.x1, shape.y1), QPointF(shape.x2, shape.y2))
    painter.restore()


def has_glyph(told: JudgedReading | Remark) -> bool:
    """Return whether there is something to draw: a reading that was held against a range."""
    return getattr(told, "judgement", None) is not None


def glyph_words(reading: JudgedReading) -> str:
    """Return the glyph in words."""
    from workshop_log.measuring.entry import show_entry

    if reading.judgement is None:
        return reading.words
    return alternative_text(show_entry(reading.entry), reading.expected.words(), reading.judgement.verdict.value)


class RangeGlyph(QWidget):
    """The glyph of one reading as a widget."""

    def __init__(self, reading: JudgedReading | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFixedHeight(int(HEIGHT) + 6)
        self.setFixedWidth(int(WIDTH) + 4)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._reading: JudgedReading | None = None
        self.show_reading(reading)

    def show_reading(self, reading: JudgedReading | None) -> None:
        """Draw `reading`, or nothing."""
        self._reading = reading
        self.setAccessibleName(glyph_words(reading) if reading else "")
        self.update()

    def paintEvent(self, _event: object) -> None:
        if self._reading is not None:
            painter = QPainter(self)
            draw_glyph(painter, QRectF(self.rect()), self._reading)
            painter.end()
