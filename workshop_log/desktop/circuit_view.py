"""The circuit on the screen: the same shapes as on paper, with points to press and reach by keys."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import tip
from workshop_log.desktop.range_glyph import draw_glyph, glyph_words
from workshop_log.paper.circuit_shapes import Arc, Circle, GlyphPlace, Line, Polygon, Text, shape_is_ground

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from workshop_log.exchange.records import Circuit, Setup
    from workshop_log.jobs.evaluation import JudgedReading
    from workshop_log.paper.circuit_drawing import DrawnState
    from workshop_log.paper.circuit_layout import Layout, Marks, Shade
    from workshop_log.paper.circuit_shapes import Shape

# A point is hit within half a target's side.
_REACH_PX = theme.TARGET_PX / 2
# Screen pixels for a point of the drawing: from an overview to one joint filling the view. Below the first figure the
# names could not be read, so a large circuit is moved about instead of made smaller.
_LEAST_SCALE, _SMALLEST_SCALE, _LARGEST_SCALE = 1.45, 0.3, 6.0
_MOST_FITTED = 2.2
_ZOOM_STEP = 1.2
_MOVE_STEP_PX = 60
_MARGIN_PX = 12
# What is brought into view has so much room around its middle.
_AROUND_PX = 48
_ARC_UNITS = 16


class CircuitView(QWidget):
    """A circuit with its points.

    Click or Enter takes a reading at a point or an element; the wheel and + and − zoom, dragging moves, 0 fits.

    Signals
    -------
    point_pressed : str
        A point was clicked, or Enter pressed on it.
    second_pressed : str
        A point was clicked with Shift: where the black lead goes.
    element_pressed : str
        An element was clicked, or Enter pressed on it.
    """

    point_pressed = Signal(str)
    second_pressed = Signal(str)
    element_pressed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._layout: Layout | None = None
        self._shapes: tuple[Shape, ...] = ()
        self._readings: Mapping[tuple[str, str], JudgedReading] = {}
        self._points: dict[str, QPointF] = {}
        self._elements: dict[str, QRectF] = {}
        # What the keyboard stands on, and what is marked as chosen: ("point" or "element", name).
        self._at: tuple[str, str] | None = None
        self._chosen: tuple[tuple[str, str], ...] = ()
        # An element that is spoken of elsewhere.
        self._pointed_out = ""
        self._state: DrawnState | None = None
        self._marks: Marks | None = None
        self._scale = 1.0
        self._offset = QPointF()
        self._is_moved = False
        self._drag: QPointF | None = None
        self._pressed_at: QPointF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setMinimumSize(QSize(280, 180))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Circuit")
        self.setAccessibleDescription("Arrow keys go from point to point, Enter takes a reading there.")

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_circuit(self, circuit: Circuit, setup: Setup | None = None, state: DrawnState | None = None,
                     marks: Marks | None = None,
                     readings: Mapping[tuple[str, str], JudgedReading] | None = None) -> None:
        """Draw `circuit` as it stands in `setup`, with the numbers and glyphs of its readings."""
        from workshop_log.paper.circuit_drawing import shapes
        from workshop_log.paper.circuit_layout import lay_out

        layout = lay_out(circuit, setup, marks, width=0, with_currents=True)
        is_another = self._layout is None or (layout.width, layout.height) != (self._layout.width, self._layout.height)
        self._layout = layout
        self._shapes = shapes(layout, state, marks)
        self._state, self._marks = state, marks
        self._readings = readings or {}
        self._points = {point.name: QPointF(point.x, point.y) for point in layout.points}
        self._elements = {}
        for element in layout.elements:
            box = element.symbol
            rect = QRectF(box.left, box.top, box.right - box.left, box.bottom - box.top)
            self._elements[element.id] = self._elements.get(element.id, rect).united(rect)
        if self._at is not None and self._at[1] not in (self._points if self._at[0] == "point" else self._elements):
            self._at = None
        if is_another and not self._is_moved:
            self.fit()
        self.update()

    def show_shades(self, shades: Mapping[str, Shade]) -> None:
        """Shade the elements anew by how suspect they are; everything stays in its place."""
        from dataclasses import replace

        from workshop_log.paper.circuit_drawing import shapes

        if self._layout is None or self._marks is None or self._marks.shades == shades:
            return
        self._marks = replace(self._marks, shades=shades)
        self._shapes = shapes(self._layout, self._state, self._marks)
        self.update()

    def point_out(self, element: str) -> None:
        """Draw a line around an element that is spoken of elsewhere, and bring it into view; none with no id."""
        self._pointed_out = element
        if element in self._elements:
            self._bring_into_view(self.position_of("element", element))
        self.update()

    def mark(self, *places: tuple[str, str]) -> None:
        """Mark points and elements as chosen."""
        self._chosen = places
        self.update()

    def stand_on(self, kind: str, name: str) -> None:
        """Let the keyboard go on from a point or an element."""
        if name in (self._points if kind == "point" else self._elements):
            self._at = (kind, name)
            self.update()

    def fit(self) -> None:
        """Show the whole circuit, or as much of it as can be read."""
        if self._layout is None:
            return
        wide = (self.width() - 2 * _MARGIN_PX) / self._layout.width
        high = (self.height() - 2 * _MARGIN_PX) / self._layout.height
        self._scale = min(max(min(wide, high), _LEAST_SCALE), _MOST_FITTED)
        drawn = QPointF(self._layout.width, self._layout.height) * self._scale
        self._offset = QPointF(max(_MARGIN_PX, (self.width() - drawn.x()) / 2),
                               max(_MARGIN_PX, (self.height() - drawn.y()) / 2))
        self._is_moved = False
        self.update()

    def resizeEvent(self, event: object) -> None:
        super().resizeEvent(event)
        if not self._is_moved:
            self.fit()

    def paintEvent(self, _event: QPaintEvent) -> None:
        painter = QPainter(self)
        colours = theme.current()
        painter.fillRect(self.rect(), QColor(colours.sheet))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.translate(self._offset)
        painter.scale(self._scale, self._scale)
        grounds = [shape for shape in self._shapes if shape_is_ground(shape)]
        self._draw_shapes(painter, grounds)
        for place in self._chosen:
            self._draw_halo(painter, place, colours)
        self._draw_shapes(painter, [shape for shape in self._shapes if not shape_is_ground(shape)])
        if self._pointed_out in self._elements:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(colours.accent), 1.2, Qt.PenStyle.DashLine))
            painter.drawRoundedRect(self._elements[self._pointed_out].adjusted(-3, -3, 3, 3), 4, 4)
        if self.hasFocus() and self._at is not None:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(colours.accent), 1.6))
            painter.drawRoundedRect(self._box_of(self._at).adjusted(-4, -4, 4, 4), 4, 4)
        painter.end()

    def _draw_shapes(self, painter: QPainter, drawn: Iterable[Shape]) -> None:
        from workshop_log.paper.circuit_drawing import COLOURS

        inks = {role: QColor(colour) for role, colour in COLOURS[theme.current().name].items()}
        paper = QColor(theme.current().sheet)
        fonts = {}
        for shape in drawn:
            if isinstance(shape, GlyphPlace):
                reading = self._readings.get((shape.of, shape.owner))
                if reading is not None:
                    draw_glyph(painter, QRectF(shape.left, shape.top, shape.width, shape.height), reading,
                               height=shape.height)
                continue
            ink = inks[shape.role]
            if isinstance(shape, Text):
                font = fonts.get((shape.size, shape.bold))
                if font is None:
                    font = fonts[shape.size, shape.bold] = self._font(shape.size, bold=shape.bold)
                _draw_text(painter, shape, font, ink)
                continue
            painter.setPen(_pen(shape.thickness, shape.dash, ink))
            fill = getattr(shape, "fill", "none")
            painter.setBrush(ink if fill == "ink" else paper if fill == "paper" else Qt.BrushStyle.NoBrush)
            match shape:
                case Line(x1, y1, x2, y2):
                    painter.drawLine(QPointF(x1, y1), QPointF(x2, y2))
                case Circle(x, y, radius):
                    painter.drawEllipse(QPointF(x, y), radius, radius)
                case Arc(x, y, radius, start, sweep):
                    box = QRectF(x - radius, y - radius, 2 * radius, 2 * radius)
                    painter.drawArc(box, round(-start * _ARC_UNITS), round(-sweep * _ARC_UNITS))
                case Polygon(corners):
                    painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in corners]))

    def _font(self, size: float, *, bold: bool) -> QFont:
        font = QFont(self.font())
        # The painter is scaled: a pixel of the font is a point of the drawing.
        font.setPointSizeF(size * 72 / self.logicalDpiY())
        font.setWeight(QFont.Weight.DemiBold if bold else QFont.Weight.Normal)
        return font

    def _draw_halo(self, painter: QPainter, place: tuple[str, str], colours: theme.Theme) -> None:
        # The line around it tells it from the ground behind a suspect.
        painter.setPen(QPen(QColor(colours.accent), 1.0))
        painter.setBrush(QColor(colours.picked))
        painter.drawRoundedRect(self._box_of(place).adjusted(-6, -6, 6, 6), 6, 6)

    def _box_of(self, place: tuple[str, str]) -> QRectF:
        kind, name = place
        if kind == "point" and name in self._points:
            at = self._points[name]
            return QRectF(at.x() - 3, at.y() - 3, 6, 6)
        return self._elements.get(name, QRectF())

    # --- pointing ----------------------------------------------------------------------------------------------------

    def place_at(self, position: QPointF) -> tuple[str, str] | None:
        """Return the point or element at a position of the widget; a point goes before an element."""
        spot = (position - self._offset) / self._scale
        reach = _REACH_PX / self._scale
        near = [(math.hypot(at.x() - spot.x(), at.y() - spot.y()), name) for name, at in self._points.items()]
        closest = min(near, default=(math.inf, ""))
        inside = [name for name, box in self._elements.items() if box.adjusted(-5, -2, 5, 2).contains(spot)]
        if inside and closest[0] > reach / 3:
            return "element", inside[0]
        return ("point", closest[1]) if closest[0] <= reach else None

    def position_of(self, kind: str, name: str) -> QPointF:
        """Return where a point or an element lies in the widget."""
        return self._box_of((kind, name)).center() * self._scale + self._offset

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._pressed_at = self._drag = event.position()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._drag is not None and event.buttons():
            moved = event.position() - self._drag
            is_drag = self._is_moved or (event.position() - self._pressed_at).manhattanLength() > 6
            if is_drag and moved.manhattanLength():
                self._offset += moved
                self._drag = event.position()
                self._is_moved = True
                self.update()
            return
        place = self.place_at(event.position())
        self.setCursor(Qt.CursorShape.PointingHandCursor if place else Qt.CursorShape.ArrowCursor)
        reading = self._readings.get(place) if place else None
        if reading is not None:
            QToolTip.showText(event.globalPosition().toPoint(), tip(glyph_words(reading)), self)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        is_click = self._pressed_at is not None and (event.position() - self._pressed_at).manhattanLength() <= 6
        self._drag = self._pressed_at = None
        place = self.place_at(event.position()) if is_click else None
        if place is not None:
            self._at = place
            self._press(place, second=bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if self.place_at(event.position()) is None:
            self.fit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        self.zoom(_ZOOM_STEP ** (event.angleDelta().y() / 120), event.position())
        event.accept()

    def zoom(self, factor: float, around: QPointF | None = None) -> None:
        """Make the drawing larger or smaller around a position."""
        around = around or QPointF(self.width() / 2, self.height() / 2)
        scale = min(max(self._scale * factor, _SMALLEST_SCALE), _LARGEST_SCALE)
        self._offset = around - (around - self._offset) * (scale / self._scale)
        self._scale = scale
        self._is_moved = True
        self.update()

    def _press(self, place: tuple[str, str], *, second: bool = False) -> None:
        kind, name = place
        if kind == "element":
            self.element_pressed.emit(name)
        elif second:
            self.second_pressed.emit(name)
        else:
            self.point_pressed.emit(name)
        self.update()

    # --- keys --------------------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from place to place, take a reading, zoom, move."""
        ways = {Qt.Key.Key_Left: (-1, 0), Qt.Key.Key_Right: (1, 0), Qt.Key.Key_Up: (0, -1), Qt.Key.Key_Down: (0, 1)}
        key = event.key()
        if key in ways and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self._offset -= QPointF(*ways[key]) * _MOVE_STEP_PX
            self._is_moved = True
        elif key in ways:
            self._go(*ways[key])
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space) and self._at is not None:
            self._press(self._at, second=bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(_ZOOM_STEP)
        elif key == Qt.Key.Key_Minus:
            self.zoom(1 / _ZOOM_STEP)
        elif key == Qt.Key.Key_0:
            self.fit()
        else:
            super().keyPressEvent(event)
            return
        self.update()

    def _go(self, right: int, down: int) -> None:
        """Stand on the nearest place in a direction; the first one where nothing is stood on."""
        places = [("point", name) for name in self._points] + [("element", name) for name in self._elements]
        if self._at is None:
            self._at = places[0] if places else None
        else:
            here = self._box_of(self._at).center()
            best, best_way = None, math.inf
            for place in places:
                way = self._box_of(place).center() - here
                ahead, aside = way.x() * right + way.y() * down, abs(way.x() * down) + abs(way.y() * right)
                if place != self._at and ahead > 0.5 and ahead + 3 * aside < best_way:
                    best, best_way = place, ahead + 3 * aside
            self._at = best or self._at
        if self._at is not None:
            self.setAccessibleDescription(f"{self._at[0]} {self._at[1]}")
            self._bring_into_view(self.position_of(*self._at))

    def _bring_into_view(self, at: QPointF) -> None:
        room = QRectF(self.rect()).adjusted(_AROUND_PX, _AROUND_PX, -_AROUND_PX, -_AROUND_PX)
        if not room.contains(at):
            self._offset += QPointF(min(max(at.x(), room.left()), room.right()) - at.x(),
                                    min(max(at.y(), room.top()), room.bottom()) - at.y())
            self._is_moved = True

    def focusInEvent(self, event: object) -> None:
        super().focusInEvent(event)
        if self._at is None and self._points:
            self._at = ("point", next(iter(self._points)))
        self.update()


def _pen(thickness: float, dash: tuple[float, float] | None, ink: QColor) -> QPen:
    if thickness <= 0:
        return QPen(Qt.PenStyle.NoPen)
    pen = QPen(ink, thickness, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin)
    if dash:
        # Qt counts a dash in thicknesses of the line.
        pen.setDashPattern([length / thickness for length in dash])
    return pen


def _draw_text(painter: QPainter, shape: Text, font: QFont, ink: QColor) -> None:
    painter.setFont(font)
    painter.setPen(ink)
    width = painter.fontMetrics().horizontalAdvance(shape.text) if shape.anchor != "left" else 0
    left = shape.x - {"left": 0.0, "middle": width / 2, "right": width}[shape.anchor]
    painter.drawText(QPointF(left, shape.y), shape.text)
