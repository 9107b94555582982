"""The symbols of a circuit's elements after IEC 60617, in a unit box.

Drawn here from their descriptions, with one change for reading at arm's length: lines end in round ends. The unit box
goes from (0, 0) to (1, 1), y down; the line of the circuit enters at (0.5, 0) from the supply and leaves at (0.5, 1).
A symbol always shows how its element stands: open or closed, at rest or pulled in, plugged or not.

The numbers of the symbols in the standard's database: fuse S00362, make contact S00227, change-over S00230, coil of a
relay S00305, lamp S00965, cell S00898, earth S00200, frame S00203, socket S00031, plug S00032, resistor S00555
(numbers from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points of the unit box; closed and filled where it says so."""

    points: tuple[tuple[float, float], ...]
    closed: bool = False
    filled: bool = False
    heavy: bool = False


@dataclass(frozen=True, slots=True)
class Curve:
    """A circle, or the part of it from `start` over `sweep` degrees, clockwise on the page from the right."""

    x: float
    y: float
    radius: float
    start: float = 0.0
    sweep: float = 360.0
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Letter:
    """A letter in the middle of a symbol; its height in parts of the box."""

    text: str
    x: float
    y: float
    height: float


Mark = Stroke | Curve | Letter


def symbol(kind: str, part: str = "whole", *, closed: bool = False, out: bool = False, side: Literal[-1, 0, 1] = 0,
           has_open: bool = True) -> tuple[Mark, ...]:
    """Return the symbol of an element.

    Parameters
    ----------
    kind : str
        A kind of element, or "lamp" and "fused lead" for a bridge.
    part : {"whole", "coil", "contact", "bridge"}
        Which piece of it.
    closed : bool
        A switch is on, a relay has pulled in.
    out : bool
        A plug is pulled apart. What else is taken out looks as usual; the drawing leaves gaps beside it.
    side : {-1, 0, 1}
        The side on which the third point of a change-over contact lies; 0 without one.
    has_open : bool
        Whether the contact straight below is the one that closes when the relay pulls in.
    """
    match part, kind:
        case "coil", _:
            return tuple(_relay_coil())
        case "contact", _:
            return tuple(_relay_contact(closed == has_open, side))
        case "bridge", _:
            return tuple(_lamp() if kind == "lamp" else _fuse())
        case _, "switch":
            return tuple(_switch(closed))
        case _, "contact":
            return tuple(_plug(out))
        case _:
            return tuple(_SYMBOLS[kind]())


def _line(*points: tuple[float, float], heavy: bool = False) -> Stroke:
    return Stroke(points, heavy=heavy)


def _rectangle(left: float, top: float, right: float, bottom: float) -> Stroke:
    return Stroke(((left, top), (right, top), (right, bottom), (left, bottom)), closed=True)


def _leads(top: float, bottom: float) -> Iterator[Mark]:
    """Yield the lines from the edges of the box to what lies between."""
    if top > 0:
        yield _line((0.5, 0), (0.5, top))
    if bottom < 1:
        yield _line((0.5, bottom), (0.5, 1))


def _battery() -> Iterator[Mark]:
    """Draw two cells: the long line is the positive pole."""
    yield from _leads(0.2, 0.8)
    for y in (0.2, 0.6):
        yield _line((0.08, y), (0.92, y))
        yield _line((0.28, y + 0.2), (0.72, y + 0.2), heavy=True)
    yield _line((0.5, 0.4), (0.5, 0.6))


def _source() -> Iterator[Mark]:
    """Draw an ideal source of voltage, with its sign."""
    yield Curve(0.5, 0.5, 0.36)
    yield _line((0.5, 0), (0.5, 1))
    yield _line((0.78, 0.1), (0.94, 0.1))
    yield _line((0.86, 0.02), (0.86, 0.18))


def _fuse() -> Iterator[Mark]:
    yield _rectangle(0.32, 0.08, 0.68, 0.92)
    yield _line((0.5, 0), (0.5, 1))


def _wire() -> Iterator[Mark]:
    yield _line((0.5, 0), (0.5, 1))


def _plug(out: bool) -> Iterator[Mark]:
    """Draw a socket, an arc, and a pin, a filled bar; with a gap between where they are apart."""
    gap = 0.16 if out else 0.0
    yield from _leads(0.3 - gap, 0.78)
    yield Curve(0.5, 0.5 - gap, 0.2, 180, 180)
    yield Stroke(((0.44, 0.4 + gap), (0.56, 0.4 + gap), (0.56, 0.78), (0.44, 0.78)), closed=True, filled=True)


def _switch(closed: bool) -> Iterator[Mark]:
    """Draw a make contact, hinged at the bottom."""
    yield from _leads(0.24, 0.76)
    yield Curve(0.5, 0.76, 0.05, filled=True)
    if closed:
        yield Curve(0.5, 0.24, 0.05, filled=True)
        yield _line((0.5, 0.76), (0.5, 0.24))
    else:
        yield _line((0.5, 0.76), (0.14, 0.22))


def _relay_coil() -> Iterator[Mark]:
    yield from _leads(0.24, 0.76)
    yield _rectangle(0.06, 0.24, 0.94, 0.76)


def _relay_contact(straight: bool, side: int) -> Iterator[Mark]:
    """Draw a contact hinged at the top; aside, the blade lies on the third point where there is one."""
    lean = side or -1
    yield _line((0.5, 0), (0.5, 0.2))
    yield Curve(0.5, 0.2, 0.05, filled=True)
    yield _line((0.5, 0.8), (0.5, 1))
    yield Curve(0.5, 0.8, 0.05, filled=straight)
    aside = (0.5 + lean * 0.4, 0.76)
    if side:
        yield Curve(*aside, 0.05, filled=not straight)
    yield _line((0.5, 0.2), (0.5, 0.8) if straight else aside)


def _lamp() -> Iterator[Mark]:
    yield from _leads(0.1, 0.9)
    yield Curve(0.5, 0.5, 0.4)
    reach = 0.4 * math.sqrt(0.5)
    yield _line((0.5 - reach, 0.5 - reach), (0.5 + reach, 0.5 + reach))
    yield _line((0.5 - reach, 0.5 + reach), (0.5 + reach, 0.5 - reach))


def _motor() -> Iterator[Mark]:
    yield from _leads(0.06, 0.94)
    yield Curve(0.5, 0.5, 0.44)
    yield Letter("M", 0.5, 0.5, 0.42)


def _load() -> Iterator[Mark]:
    yield from _leads(0.08, 0.92)
    yield _rectangle(0.32, 0.08, 0.68, 0.92)


def _heater() -> Iterator[Mark]:
    """Draw a resistor divided across."""
    yield from _load()
    for y in (0.25, 0.42, 0.58, 0.75):
        yield _line((0.32, y), (0.68, y))


def _coil() -> Iterator[Mark]:
    yield from _leads(0.1, 0.9)
    for y in (0.2, 0.4, 0.6, 0.8):
        yield Curve(0.5, y, 0.1, 270, 180)


def _sensor() -> Iterator[Mark]:
    """Draw a resistor that something outside changes: a stroke across with a foot."""
    yield from _load()
    yield _line((0.08, 0.92), (0.24, 0.92), (0.86, 0.14))


def _control_unit() -> Iterator[Mark]:
    """Draw a box with a step inside: it decides something."""
    yield from _leads(0.04, 0.96)
    yield _rectangle(0.04, 0.04, 0.96, 0.96)
    yield _line((0.2, 0.64), (0.38, 0.64), (0.38, 0.36), (0.62, 0.36), (0.62, 0.64), (0.8, 0.64))


def _diode() -> Iterator[Mark]:
    yield _line((0.5, 0), (0.5, 1))
    yield Stroke(((0.22, 0.28), (0.78, 0.28), (0.5, 0.72)), closed=True, filled=True)
    yield _line((0.22, 0.72), (0.78, 0.72))


def _ground_point() -> Iterator[Mark]:
    """Draw the hatched line of a frame, through which the way to the battery goes on."""
    yield _line((0.5, 0), (0.5, 1))
    yield _line((0.08, 0.42), (0.92, 0.42), heavy=True)
    for x in (0.2, 0.4, 0.6, 0.8):
        yield _line((x, 0.42), (x - 0.14, 0.66))


_SYMBOLS = {
    "battery": _battery, "source": _source, "fuse": _fuse, "wire": _wire, "lamp": _lamp, "motor": _motor,
    "heater": _heater, "coil": _coil, "sensor": _sensor, "control unit": _control_unit, "load": _load,
    "diode": _diode, "ground point": _ground_point,
}
