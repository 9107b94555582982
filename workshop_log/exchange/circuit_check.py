"""What makes a circuit's description wrong: keys that do not fit the kind, points and elements that are not there."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from workshop_log.exchange.quantity_check import problem_of_quantity
from workshop_log.exchange.records import Circuit, Element, Setup

# Up to this many names are listed where a wrong one resembles none of them.
_MOST_LISTED = 12

AS_FOUND = "as found"
REFERENCE = "B-"

# Keys that every kind of element may carry.
_EVERY = frozenset({"id", "kind", "between", "title", "resistance", "tolerance", "price", "fit_minutes",
                    "access_minutes", "returnable", "weight", "protected", "faults"})
_LOAD = frozenset({"current", "power", "at"})
_OF_KIND: dict[str, frozenset[str]] = {
    "battery": frozenset({"voltage", "voltage_tolerance"}),
    "source": frozenset({"voltage", "voltage_tolerance"}),
    "fuse": frozenset({"rating"}),
    "wire": frozenset({"length", "section", "material", "colour", "temperature"}),
    "contact": frozenset({"connector"}),
    "switch": frozenset(),
    "relay": frozenset({"coil", "coil_resistance", "pull_in", "common", "normally_open", "normally_closed"}),
    "lamp": _LOAD, "motor": _LOAD, "heater": _LOAD, "coil": _LOAD, "sensor": _LOAD, "control unit": _LOAD,
    "load": _LOAD,
    "diode": frozenset({"forward_voltage"}),
    "ground point": frozenset(),
}
_LOAD_NEEDS = ({"resistance"}, {"current", "at"}, {"power", "at"})
# What a kind cannot be computed without: one of these sets of keys.
_NEEDS: dict[str, tuple[set[str], ...]] = {
    "battery": ({"voltage"},), "source": ({"voltage"},), "wire": ({"resistance"}, {"length", "section"}),
    "lamp": _LOAD_NEEDS, "motor": _LOAD_NEEDS, "heater": _LOAD_NEEDS, "coil": _LOAD_NEEDS, "sensor": _LOAD_NEEDS,
    "control unit": _LOAD_NEEDS, "load": _LOAD_NEEDS,
    "relay": ({"coil", "common", "normally_open"}, {"coil", "common", "normally_closed"}),
}
_ABSOLUTE_ZERO_C = -273.15
# What may stand in each key that holds a quantity.
_QUANTITIES: dict[str, tuple[str, ...]] = {
    "voltage": ("voltage",), "voltage_tolerance": ("voltage",), "resistance": ("resistance",),
    "rating": ("current",), "length": ("length",), "section": ("area",), "temperature": ("temperature",),
    "coil_resistance": ("resistance",), "pull_in": ("voltage", "current"), "power": ("power",),
    "current": ("current",), "at": ("voltage",), "forward_voltage": ("voltage",),
}
# Nothing of these is no element: a wire without length, a lamp without power.
_POSITIVE = frozenset({"rating", "length", "section", "coil_resistance", "power", "current", "at"})


@dataclass(frozen=True, slots=True)
class CircuitNames:
    """What steps may name in a circuit."""

    points: frozenset[str]
    elements: frozenset[str]
    setups: frozenset[str]
    connectors: frozenset[str]


def names_of(circuit: Circuit) -> CircuitNames:
    """Return the names in a circuit; the reference point and the setup `as found` always exist."""
    return CircuitNames(
        frozenset(point for element in circuit.elements for point in points_of(element)) | {REFERENCE},
        frozenset(element.id for element in circuit.elements),
        frozenset(setup.id for setup in circuit.setups) | {AS_FOUND},
        frozenset(element.connector for element in circuit.elements if element.connector))


def points_of(element: Element) -> tuple[str, ...]:
    """Return the points that an element touches, the supply side first."""
    contacts = (element.common, element.normally_open, element.normally_closed)
    return (*(element.between or ()), *(element.coil or ()), *(point for point in contacts if point is not None))


def problems(circuit: Circuit) -> Iterator[tuple[str, str]]:
    """Yield path and message for all that is wrong in a circuit."""
    names = names_of(circuit)
    yield from _twice("elements", circuit.elements)
    yield from _twice("setups", circuit.setups)
    for index, element in enumerate(circuit.elements):
        for path, message in _element(element):
            yield f"elements[{index}]{'.' if path else ''}{path}", message
    for index, setup in enumerate(circuit.setups):
        for path, message in _setup(setup, names):
            yield f"setups[{index}]{'.' if path else ''}{path}", message


def no_such(named: str, what: str, known: Collection[str]) -> str:
    """Return "there is no point “C3.2c” in this circuit; did you mean “C3.2b”?"."""
    shown = named if len(named) <= 60 else named[:59] + "…"
    noun, _, place = what.partition(" in ")
    sentence = f"there is no {noun} “{shown}”{' in ' + place if place else ''}"
    near = difflib.get_close_matches(named, sorted(known)[:1000], 1, 0.6) if len(named) <= 64 else []
    if near:
        return f"{sentence}; did you mean “{near[0]}”?"
    if 0 < len(known) <= _MOST_LISTED:
        return f"{sentence}: add it, or write one of {', '.join(sorted(known))}."
    return f"{sentence}: add it, or correct the name."


def _twice(collection: str, items: Collection[Element] | Collection[Setup]) -> Iterator[tuple[str, str]]:
    seen: set[str] = set()
    for index, item in enumerate(items):
        if item.id in seen:
            yield f"{collection}[{index}].id", f"the id “{item.id}” stands twice in this circuit: change one of them."
        seen.add(item.id)


def _element(element: Element) -> Iterator[tuple[str, str]]:
    kind = f"{'an' if element.kind[0] in 'aeiou' else 'a'} {element.kind}"
    given = {key for key in element.__struct_fields__ if getattr(element, key) not in (None, "")}
    for key in element.__struct_fields__:
        if key in given and key not in _EVERY and key not in _OF_KIND[element.kind]:
            yield key, f"{kind} has no “{key}”: remove it, or correct the kind."
    needs = _NEEDS.get(element.kind, ())
    if needs and not any(keys <= given for keys in needs):
        ways = ", or ".join(" and ".join(f"“{key}”" for key in element.__struct_fields__ if key in keys)
                            for keys in needs)
        yield "", f"{kind} needs {ways}."
    if element.kind != "relay" and element.between is None:
        yield "", f"{kind} lies between two points: write them in “between”, the supply side first."
    for key in ("between", "coil"):
        points = getattr(element, key)
        if points is not None and points[0] == points[1]:
            yield key, f"both ends are the point “{points[0]}”: name two different points."
    for key, dimensions in _QUANTITIES.items():
        text = getattr(element, key)
        if text:
            lowest = _ABSOLUTE_ZERO_C if key == "temperature" else 0
            problem = problem_of_quantity(text, dimensions, lowest, positive=key in _POSITIVE)
            if problem:
                yield key, problem


def _setup(setup: Setup, names: CircuitNames) -> Iterator[tuple[str, str]]:
    lists = ("on", "pulled", "unplugged", "disconnected", "bridges")
    if setup.id == AS_FOUND and any(getattr(setup, key) for key in lists):
        yield "id", f"“{AS_FOUND}” is the circuit with nothing on and nothing pulled: give this setup another name."
    for key in lists[:-1]:
        known = names.elements | names.connectors if key == "unplugged" else names.elements
        what = "connector or element in this circuit" if key == "unplugged" else "element in this circuit"
        for index, named in enumerate(getattr(setup, key)):
            if named not in known:
                yield f"{key}[{index}]", no_such(named, what, known)
    for index, bridge in enumerate(setup.bridges):
        for end, point in enumerate(bridge.between):
            if point not in names.points:
                yield f"bridges[{index}].between[{end}]", no_such(point, "point in this circuit", names.points)
        if bridge.rating:
            problem = problem_of_quantity(bridge.rating, ("current",), positive=True)
            if problem:
                yield f"bridges[{index}].rating", problem
