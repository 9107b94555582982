"""The shapes that a circuit's drawing consists of, the same for screen and paper.

Lengths in points, x to the right, y down. A shape says what it stands for and never its colour; how thick and whether
dashed belongs to its meaning, so that a drawing without colours says the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

# What a shape stands for. Lines and symbols: without a state ("plain"), or with current supply, without, or neither
# ("live", "dead", "floating"); an element that was taken out; a point that can be probed; words; the number of a test;
# the ground behind an element that is suspect, from hardly to most; an element that was cleared.
Role = Literal["plain", "live", "dead", "floating", "out", "element", "point", "name", "value", "mark", "current",
               "relay", "shade 1", "shade 2", "shade 3", "shade 4", "cleared"]
Fill = Literal["none", "paper", "ink"]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line with round ends; `dash` gives the lengths of dash and gap, none for a solid one."""

    x1: float
    y1: float
    x2: float
    y2: float
    thickness: float
    role: Role
    dash: tuple[float, float] | None = None
    owner: str = ""


@dataclass(frozen=True, slots=True)
class Circle:
    """A whole circle."""

    x: float
    y: float
    radius: float
    thickness: float
    role: Role
    fill: Fill = "none"
    dash: tuple[float, float] | None = None
    owner: str = ""


@dataclass(frozen=True, slots=True)
class Arc:
    """A part of a circle's line; angles in degrees, clockwise on the page from the right-hand side."""

    x: float
    y: float
    radius: float
    start: float
    sweep: float
    thickness: float
    role: Role
    dash: tuple[float, float] | None = None
    owner: str = ""


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed outline, filled where it says so."""

    corners: tuple[tuple[float, float], ...]
    thickness: float
    role: Role
    fill: Fill = "none"
    dash: tuple[float, float] | None = None
    owner: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """One line of words; y is the base line, `anchor` which part of the line stands at x."""

    x: float
    y: float
    text: str
    size: float
    role: Role
    anchor: Literal["left", "middle", "right"] = "left"
    bold: bool = False
    owner: str = ""


@dataclass(frozen=True, slots=True)
class GlyphPlace:
    """Where the range glyph of a reading is drawn, by `glyph_geometry`, in the colours of its verdict."""

    left: float
    top: float
    width: float
    height: float
    of: Literal["point", "element"]
    owner: str


Shape = Line | Circle | Arc | Polygon | Text | GlyphPlace


def shape_is_ground(shape: Shape) -> bool:
    """Return whether a shape is the ground behind an element: everything else lies on it."""
    return not isinstance(shape, GlyphPlace) and shape.role.startswith("shade")
