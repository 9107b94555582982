"""The range glyph as pure geometry: two brackets, a dot and its uncertainty bar, drawn to scale.

Paper and screen draw the very same shapes. Everything is in points inside a box from (0, 0) to (width, height); the
glyph is symmetric about its middle line, so that it does not matter whether y counts up or down. Position alone carries
the meaning: dot between the brackets, dot beyond a bracket, bar across a bracket. Colour only repeats it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

# What a shape stands for; it decides the colour: the line of numbers, the expected range, the reading.
Role = Literal["axis", "bracket", "mark"]
Relation = Literal["=", "<", ">", "over range"]

# The bar shows the reading ± twice its standard uncertainty (about 95 %).
BAR_FACTOR = 2.0
# Free space beyond a limit, and the most that is drawn to scale before the line is broken, in widths of the range.
_MARGIN = 0.45
_LARGEST_MARGIN = 2.0
# How far the scale of a single limit goes at least: in distances of the reading from it, and in lengths of its bar.
_NEAR_DISTANCES = 2.0
_NEAR_REACHES = 3.0

# Contrast on paper white (#FFFFFF) and on the dark sheet (#1E2226) at least 4.5 : 1; blue, orange and grey-violet also
# differ in lightness.
COLOURS: dict[str, dict[str, str]] = {
    "light": {"inside": "#1F559E", "outside": "#9C4203", "too close to call": "#5E5478",
              "bracket": "#1C1F24", "axis": "#B9B5A9"},
    "dark": {"inside": "#8DB8F2", "outside": "#F2A45C", "too close to call": "#BDB2DB",
             "bracket": "#E8E6E0", "axis": "#5A6168"},
}


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line with round ends, in points."""

    x1: float
    y1: float
    x2: float
    y2: float
    thickness: float
    role: Role


@dataclass(frozen=True, slots=True)
class Dot:
    """A filled circle, in points."""

    x: float
    y: float
    radius: float
    role: Role


Shape = Line | Dot


@dataclass(frozen=True, slots=True)
class _Box:
    """The drawing's size, and the numbers at its left and right end between which it is to scale."""

    width: float
    height: float
    left: float
    right: float
    # Whether the reading lies further left or right than is drawn to scale.
    far: Literal[-1, 0, 1]

    @property
    def middle(self) -> float:
        """Height of the line of numbers, in points."""
        return self.height / 2

    @property
    def far_space(self) -> float:
        """Room for the break mark, dot and arrow of a reading far away, in points."""
        return min(self.height * 1.7, self.width / 3)

    def inset(self, side: int) -> float:
        """Return the room at an end that is not to scale: half a dot, or all of a reading far away, in points."""
        return self.far_space if side == self.far else self.height * 0.25

    def x(self, number: float) -> float:
        """Return where a number lies, kept inside the part that is to scale."""
        share = (number - self.left) / (self.right - self.left)
        start, end = self.inset(-1), self.width - self.inset(1)
        return start + min(max(share, 0.0), 1.0) * (end - start)


def glyph(low: float | None, high: float | None, value: float | None, uncertainty: float, width: float, height: float,
          relation: Relation = "=") -> tuple[Shape, ...]:
    """Return the shapes of one reading against its expected range.

    Parameters
    ----------
    low, high : float | None
        The limits, in the reading's unit; None where that side has none. With neither there is nothing to draw.
    value : float | None
        The reading; None for over range.
    uncertainty : float
        Its standard uncertainty, in the same unit.
    width, height : float
        Size of the box. [pt]
    relation : {"=", "<", ">", "over range"}
        Whether the reading is the value or lies somewhere below or above it.
    """
    if low is None and high is None:
        return ()
    value = math.inf if value is None or relation == "over range" else value
    reach = BAR_FACTOR * uncertainty if math.isfinite(uncertainty) else 0.0
    box = _box(low, high, value, reach, width, height)
    return (*_axis(box, low, high), *_brackets(box, low, high), *_mark(box, value, reach, relation))


def _box(low: float | None, high: float | None, value: float, reach: float, width: float, height: float) -> _Box:
    """Choose the scale: the range with a margin, more where the reading lies beyond and still fits."""
    span = _span(low, high, value, reach)
    left = low - _MARGIN * span if low is not None else high - span
    right = high + _MARGIN * span if high is not None else low + span
    if left - _LARGEST_MARGIN * span <= value <= right + _LARGEST_MARGIN * span:
        left, right = min(left, value - reach), max(right, value + reach)
        # A very uncertain reading must not squeeze the brackets together: its bar runs out of the box instead.
        left = max(left, (low if low is not None else high) - (1 + _LARGEST_MARGIN) * span)
        right = min(right, (high if high is not None else low) + (1 + _LARGEST_MARGIN) * span)
    if not left < right or math.isinf(right - left):
        left, right = -1.0, 1.0
    return _Box(width, height, left, right, far=1 if value > right else -1 if value < left else 0)


def _span(low: float | None, high: float | None, value: float, reach: float) -> float:
    """Return the length that counts as one width of the range."""
    if low is not None and high is not None and high > low:
        return high - low
    limit = low if low is not None else high
    distance = abs(value - limit) if math.isfinite(value) else 0.0
    # A single limit, "at most 0.2 V", is seen against zero, or closer where the reading lies near it, so that the side
    # on which it lies can be seen; a limit of zero is seen against the reading itself.
    near = max(_NEAR_DISTANCES * distance, _NEAR_REACHES * reach)
    return min(abs(limit) or near, near or abs(limit)) or 1.0


def _axis(box: _Box, low: float | None, high: float | None) -> tuple[Shape, ...]:
    """Return the line of numbers: a hairline over all, stronger over the expected range."""
    margin = box.height * 0.1
    start = box.x(low) if low is not None else margin
    end = box.x(high) if high is not None else box.width - margin
    thin, strong = box.height * 0.035, box.height * 0.1
    return (Line(margin, box.middle, box.width - margin, box.middle, thin, "axis"),
            Line(start, box.middle, end, box.middle, strong, "axis"))


def _brackets(box: _Box, low: float | None, high: float | None) -> tuple[Shape, ...]:
    """Return [ at the lowest and ] at the highest expected value, their feet towards the inside."""
    shapes: list[Shape] = []
    foot, thickness = box.height * 0.2, box.height * 0.085
    bottom, top = box.height * 0.06, box.height * 0.94
    for limit, inwards in ((low, foot), (high, -foot)):
        if limit is None:
            continue
        x = box.x(limit)
        shapes.append(Line(x, bottom, x, top, thickness, "bracket"))
        shapes += [Line(x, y, x + inwards, y, thickness, "bracket") for y in (bottom, top)]
    return tuple(shapes)


def _mark(box: _Box, value: float, reach: float, relation: Relation) -> tuple[Shape, ...]:
    """Return the dot with its bar, or with an arrow where the reading lies further on than can be drawn."""
    if box.far:
        return _far_mark(box, box.far)
    x, y = box.x(value), box.middle
    shapes: list[Shape] = []
    if reach:
        start, end = box.x(value - reach), box.x(value + reach)
        shapes.append(Line(start, y, end, y, box.height * 0.13, "mark"))
        tick = box.height * 0.15
        shapes += [Line(at, y - tick, at, y + tick, box.height * 0.07, "mark") for at in (start, end)]
    if relation in ("<", ">"):
        shapes += _arrow(box, x, -1 if relation == "<" else 1)
    shapes.append(Dot(x, y, box.height * 0.2, "mark"))
    return tuple(shapes)


def _far_mark(box: _Box, side: int) -> tuple[Shape, ...]:
    """Return the break of the line, the dot behind it and an arrow onwards."""
    edge = box.width if side > 0 else 0.0
    y, height = box.middle, box.height
    unit = box.far_space / 1.7
    dot, gap = edge - side * unit * 0.8, edge - side * unit * 1.3
    slant, rise = unit * 0.07, height * 0.2
    breaks = tuple(Line(gap + shift - slant, y - rise, gap + shift + slant, y + rise, height * 0.06, "bracket")
                   for shift in (-unit * 0.07, unit * 0.07))
    return (*breaks, *_arrow(box, dot, side, length=unit * 0.7), Dot(dot, y, height * 0.2, "mark"))


def _arrow(box: _Box, x: float, side: int, length: float = 0.0) -> tuple[Shape, ...]:
    """Return an arrow from x towards one side."""
    y, head = box.middle, box.height * 0.17
    tip = x + side * (length or box.height * 0.75)
    tip = min(max(tip, box.height * 0.06), box.width - box.height * 0.06)
    thickness = box.height * 0.08
    return (Line(x, y, tip, y, thickness, "mark"),
            Line(tip - side * head, y - head, tip, y, thickness, "mark"),
            Line(tip - side * head, y + head, tip, y, thickness, "mark"))


def alternative_text(reading: str, expected: str, verdict: str) -> str:
    """Return the glyph in words, for those who hear the report instead of seeing it."""
    return f"{reading}, expected {expected}: {verdict}."
