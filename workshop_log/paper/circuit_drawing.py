"""A laid-out circuit as shapes: symbols, lines, words and marks, the very same for screen and paper.

What has supply is drawn thick, what has none thin, what hangs in the air dashed; colour only repeats that. What is
suspect lies on a ground that is wider and darker the likelier it is, with the percent beside it; what is cleared is
struck out, with the numbers of the steps that cleared it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from workshop_log.paper.circuit_layout import (
    GLYPH_WIDTH,
    MARK_HEIGHT,
    MARK_SIZE,
    Box,
    Layout,
    Marks,
    PlacedElement,
    PlacedPoint,
    Wire,
)
from workshop_log.paper.circuit_shapes import (
    Arc,
    Circle,
    GlyphPlace,
    Line,
    Polygon,
    Role,
    Shape,
    Text,
)
from workshop_log.paper.circuit_symbols import Curve, Letter, Mark, Stroke, symbol
from workshop_log.paper.circuit_text import NAME_SIZE, POINT_SIZE, VALUE_SIZE

PointState = Literal["live", "floating", "dead"]

# Contrast on paper white (#FFFFFF) and on the dark sheet (#1E2226) at least 4.5 : 1.
COLOURS: dict[str, dict[Role, str]] = {
    "light": {"plain": "#1C1F24", "live": "#0B5D5E", "dead": "#565B63", "floating": "#1C1F24", "out": "#565B63",
              "element": "#1C1F24", "point": "#1C1F24", "name": "#1C1F24", "value": "#4A4F57", "mark": "#0B5D5E",
              "current": "#0B5D5E", "relay": "#565B63", "shade 1": "#EEF5F4", "shade 2": "#D9EAE7",
              "shade 3": "#BEDCD8", "shade 4": "#9CCBC5", "cleared": "#6C7179"},
    "dark": {"plain": "#E8E6E0", "live": "#6FCBC4", "dead": "#A3A9B0", "floating": "#E8E6E0", "out": "#A3A9B0",
             "element": "#E8E6E0", "point": "#E8E6E0", "name": "#E8E6E0", "value": "#C2C5C8", "mark": "#6FCBC4",
             "current": "#6FCBC4", "relay": "#A3A9B0", "shade 1": "#21302F", "shade 2": "#24403F",
             "shade 3": "#264C4B", "shade 4": "#285A58", "cleared": "#8B9198"},
}

_THICKNESS: dict[str, float] = {"plain": 0.9, "live": 1.9, "dead": 0.6, "floating": 0.9}
_DASH: dict[str, tuple[float, float] | None] = {"plain": None, "live": None, "dead": None, "floating": (3.0, 2.4)}
_SYMBOL_THICKNESS = 1.0
_CONDUCTORS = ("fuse", "switch", "contact", "diode")
_HEAVY = 2.6
_OUT_DASH = (1.6, 1.6)
_RELAY_DASH = (2.4, 2.0)
_BRIDGE_DASH = (4.0, 2.0)
_POINT_RADIUS = 2.1
_JOINT_RADIUS = 1.7
_DESCENT = 0.24
# Height of a capital letter in parts of the size of type.
_CAPITAL = 0.72
# From which share of what is possible an element is shaded, in four steps; half the width of the ground behind it at
# each, and how round its corners are.
_LEAST_SHARES = (0.005, 0.05, 0.2, 0.5)
_GROUND_HALVES = (6.0, 8.5, 11.0, 14.0)
_GROUND_ROLES: tuple[Role, ...] = ("shade 1", "shade 2", "shade 3", "shade 4")
_GROUND_ROUND = 2.0
# From the points of an element to the ground behind it, so that it lies under no name of a point.
_GROUND_FROM_POINT = 5.0


@dataclass(frozen=True, slots=True)
class DrawnState:
    """What is live, dead and floating in a setup, and what flows where.

    Attributes
    ----------
    points : Mapping[str, PointState]
        By the point's name; a point that is not named is drawn plain.
    currents : Mapping[str, str]
        The current through an element as it is to be read, with its unit: "6.00 A". By the element's id.
    pulled_in : frozenset[str] | None
        Relays that have pulled in; None where only the setup says it.
    blown : frozenset[str]
        Fuses that have blown.
    """

    points: Mapping[str, PointState] = field(default_factory=dict)
    currents: Mapping[str, str] = field(default_factory=dict)
    pulled_in: frozenset[str] | None = None
    blown: frozenset[str] = frozenset()


def shapes(layout: Layout, state: DrawnState | None = None, marks: Marks | None = None) -> tuple[Shape, ...]:
    """Return the shapes of a circuit from back to front."""
    state, marks = state or DrawnState(), marks or Marks()
    return (*_grounds(layout, marks), *_wires(layout, state), *_links(layout), *_elements(layout, state, marks),
            *_joints(layout), *_points(layout), *_labels(layout, marks), *_currents(layout, state),
            *_marks(layout, marks), *_shares(layout, marks))


def _state_of(point: str, state: DrawnState) -> Role:
    return state.points.get(point, "plain")


def shade_step(share: float) -> int:
    """Return how strongly an element with this share of what is possible is shaded: 0 for not at all, to 4."""
    return sum(share >= least for least in _LEAST_SHARES)


def _grounds(layout: Layout, marks: Marks) -> Iterator[Shape]:
    """Yield the ground behind what is suspect: wider and darker, the likelier."""
    for element in layout.elements:
        shade = marks.shades.get(element.id)
        step = shade_step(shade.share) if shade and not shade.is_cleared else 0
        if not step or element.part == "bridge":
            continue
        half, inset = _GROUND_HALVES[step - 1] - _GROUND_ROUND, _GROUND_ROUND + _GROUND_FROM_POINT
        x, top, bottom = element.symbol.middle[0], element.box.top + inset, element.box.bottom - inset
        yield Polygon(((x - half, top), (x + half, top), (x + half, bottom), (x - half, bottom)), 2 * _GROUND_ROUND,
                      _GROUND_ROLES[step - 1], "ink", owner=element.id)


def _is_cleared(element: str, marks: Marks) -> bool:
    return element in marks.shades and marks.shades[element].is_cleared


def _wires(layout: Layout, state: DrawnState) -> Iterator[Shape]:
    for wire in layout.wires:
        if wire.element and any(element.id == wire.element and element.out for element in layout.elements):
            continue
        yield from _wire(wire, state)


def _wire(wire: Wire, state: DrawnState) -> Iterator[Shape]:
    if wire.x1 == wire.x2 and wire.y1 == wire.y2:
        return
    role = _state_of(wire.point, state)
    thickness = _THICKNESS[role] + (0.5 if wire.element and role != "dead" else 0.0)
    yield Line(wire.x1, wire.y1, wire.x2, wire.y2, thickness, role, _DASH[role], wire.element or wire.point)


def _links(layout: Layout) -> Iterator[Shape]:
    for link in layout.links:
        yield Line(link.x1, link.y, link.x2, link.y, 0.7, "relay", _RELAY_DASH, link.element)


def _elements(layout: Layout, state: DrawnState, marks: Marks) -> Iterator[Shape]:
    for element in layout.elements:
        yield from _element(element, state, "cleared" if _is_cleared(element.id, marks) else "element")


def _element(element: PlacedElement, state: DrawnState, usual: Role) -> Iterator[Shape]:
    closed = element.closed
    if element.kind == "relay" and state.pulled_in is not None:
        closed = element.id in state.pulled_in
    if element.kind == "wire":
        if element.out:
            yield from _gaps(element)
        return
    made = symbol(element.id if element.part == "bridge" else element.kind, element.part, closed=closed,
                  out=element.out, side=element.side, has_open=element.has_open)
    is_away = (element.out and element.kind != "contact") or element.id in state.blown
    dash = _OUT_DASH if is_away else _BRIDGE_DASH if element.part == "bridge" else None
    # Current goes through the lines of a conductor: they are as thick as those beside them.
    is_live = (element.kind in _CONDUCTORS or element.part == "contact") and not is_away and all(
        _state_of(terminal.point, state) == "live" for terminal in element.terminals[:2])
    for mark in made:
        is_thick = is_live and isinstance(mark, Stroke) and not mark.closed
        yield from _drawn(mark, element, "out" if is_away else "live" if is_thick else usual, dash)
    if is_away:
        yield from _gaps(element)


def _drawn(mark: Mark, element: PlacedElement, role: Role, dash: tuple[float, float] | None) -> Iterator[Shape]:
    """Yield a part of a symbol in its place on the page; turned over where the element is."""
    left, top, right, _ = element.symbol
    size, over = right - left, element.turned

    def at(point: tuple[float, float]) -> tuple[float, float]:
        x, y = point
        return left + x * size, top + (1 - y if over else y) * size

    match mark:
        case Stroke(points, True, filled):
            yield Polygon(tuple(map(at, points)), _SYMBOL_THICKNESS, role, "ink" if filled else "none", dash,
                          element.id)
        case Stroke(points, False, _, heavy):
            thickness = _HEAVY if heavy else max(_SYMBOL_THICKNESS, _THICKNESS.get(role, 0.0))
            placed = [at(point) for point in points]
            for start, end in zip(placed, placed[1:], strict=False):
                yield Line(*start, *end, thickness, role, None if heavy else dash, element.id)
        case Curve(x, y, radius, _, sweep, filled) if sweep >= 360:
            yield Circle(*at((x, y)), radius * size, _SYMBOL_THICKNESS, role, "ink" if filled else "none", dash,
                         element.id)
        case Curve(x, y, radius, start, sweep):
            first = -start - sweep if over else start
            yield Arc(*at((x, y)), radius * size, first % 360, sweep, _SYMBOL_THICKNESS, role, dash, element.id)
        case Letter(text, x, y, height):
            middle_x, middle_y = at((x, y))
            yield Text(middle_x, middle_y + height * size / 2, text, height * size / _CAPITAL, role, "middle",
                       owner=element.id)


def _gaps(element: PlacedElement) -> Iterator[Shape]:
    """Yield the two open ends beside an element that was taken out."""
    x = element.symbol.middle[0]
    for y in (element.symbol.top, element.symbol.bottom):
        yield Circle(x, y, _POINT_RADIUS - 0.4, 0.8, "out", "paper", None, element.id)


def _joints(layout: Layout) -> Iterator[Shape]:
    anchors = {(point.x, point.y) for point in layout.points}
    for point, x, y in layout.joints:
        if (x, y) not in anchors:
            yield Circle(x, y, _JOINT_RADIUS, 0.0, "plain", "ink", None, point)


def _points(layout: Layout) -> Iterator[Shape]:
    for point in layout.points:
        yield Circle(point.x, point.y, _POINT_RADIUS, 0.9, "point", "paper", None, point.name)


def _labels(layout: Layout, marks: Marks) -> Iterator[Shape]:
    for label in layout.labels:
        is_name = label.kind == "name"
        is_struck = is_name and _is_cleared(label.owner, marks)
        size = {"name": NAME_SIZE, "value": VALUE_SIZE, "point": POINT_SIZE}[label.kind]
        line = label.box.bottom - size * _DESCENT
        yield Text(label.box.left, line, label.text, size, "cleared" if is_struck else "name" if is_name else "value",
                   bold=is_name, owner=label.owner)
        if is_struck:
            middle = line - size * _CAPITAL / 2
            yield Line(label.box.left - 1, middle, label.box.right + 1, middle, 0.8, "cleared", owner=label.owner)


def _currents(layout: Layout, state: DrawnState) -> Iterator[Shape]:
    """Yield the current with an arrow down the page, once for each row of elements that share it."""
    for element in layout.elements:
        words = state.currents.get(element.id)
        if not words or not element.shows_current:
            continue
        box = element.current
        x, y = box.left + 3, (box.top + box.bottom) / 2
        tip = y + 3.4
        yield Line(x, y - 3.4, x, tip, 0.9, "current", owner=element.id)
        yield Polygon(((x - 1.9, tip - 3), (x + 1.9, tip - 3), (x, tip)), 0.4, "current", "ink", owner=element.id)
        yield Text(box.left + 8, box.bottom - VALUE_SIZE * _DESCENT, words, VALUE_SIZE, "current", owner=element.id)


def _marks(layout: Layout, marks: Marks) -> Iterator[Shape]:
    """Yield the numbers of the tests: left of a point, right of an element."""
    for point in layout.points:
        if point.name in marks.points:
            yield from _mark_at(point, marks)
    for element in layout.elements:
        words = marks.elements.get(element.id)
        if words and element.part in ("whole", "contact"):
            box, left = element.mark, element.mark.left
            if ("element", element.id) in marks.with_glyph:
                yield GlyphPlace(left, box.top + 0.5, GLYPH_WIDTH, MARK_HEIGHT - 1, "element", element.id)
                left += GLYPH_WIDTH + 4
            yield Text(left, box.bottom - MARK_SIZE * _DESCENT, words, MARK_SIZE, "mark", bold=True, owner=element.id)


def _shares(layout: Layout, marks: Marks) -> Iterator[Shape]:
    """Yield how suspect an element is, behind its name; of a relay beside the coil."""
    for element in layout.elements:
        shade = marks.shades.get(element.id)
        if shade is not None and shade.words and element.part in ("whole", "coil"):
            yield Text(element.share.left, element.share.bottom - MARK_SIZE * _DESCENT, shade.words, MARK_SIZE, "mark",
                       bold=True, owner=element.id)


def _mark_at(point: PlacedPoint, marks: Marks) -> Iterator[Shape]:
    box: Box = point.mark
    right = box.right
    if ("point", point.name) in marks.with_glyph:
        yield GlyphPlace(right - GLYPH_WIDTH, box.top + 0.5, GLYPH_WIDTH, MARK_HEIGHT - 1, "point", point.name)
        right -= GLYPH_WIDTH + 4
    yield Text(right, box.bottom - MARK_SIZE * _DESCENT, marks.points[point.name], MARK_SIZE, "mark", "right",
               bold=True, owner=point.name)
