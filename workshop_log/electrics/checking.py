"""What makes a circuit one that cannot, or hardly, be computed: one sentence each, naming the element."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from workshop_log.electrics import connections
from workshop_log.electrics.circuit import REFERENCE, SOURCE_KINDS, Circuit, CircuitError, Element, Setup
from workshop_log.measuring.findings import Finding

# A ring of sources with less resistance than this in it is a mistake in the description, not a circuit. [Ω]
_LEAST_BETWEEN_SOURCES_OHM = 1e-5


def check_circuit(circuit: Circuit) -> list[Finding]:
    """Return all findings; those of severity "error" keep the circuit from being computed."""
    return list(_checked(circuit))


def require_sound(circuit: Circuit) -> None:
    """Refuse a circuit that cannot be computed.

    Raises
    ------
    CircuitError
        With the first error's sentence.
    """
    for finding in _checked(circuit):
        if finding.severity == "error":
            raise CircuitError(finding.words)


@lru_cache(maxsize=64)
def _checked(circuit: Circuit) -> tuple[Finding, ...]:
    findings = [finding for element in circuit.elements for finding in _element(element)]
    findings += _names(circuit)
    if not any(finding.severity == "error" for finding in findings):
        findings += [*_rings_of_sources(circuit), *_islands(circuit)]
    for setup in circuit.setups:
        findings += _setup(circuit, setup)
    return tuple(findings)


def _error(where: str, key: str, words: str) -> Finding:
    return Finding("error", where, key, words)


def _names(circuit: Circuit) -> Iterator[Finding]:
    if not circuit.elements:
        yield _error(circuit.id, "circuit-empty", f"Circuit {circuit.id} has no elements: add a supply and what it "
                     "feeds.")
        return
    seen: set[str] = set()
    for element in circuit.elements:
        if element.id in seen:
            yield _error(element.id, "element-twice", f"Two elements are called {element.id}: rename one of them.")
        seen.add(element.id)
    if not any(REFERENCE in element.points for element in circuit.elements):
        yield _error(circuit.id, "reference-missing", f"No element lies at {REFERENCE}, battery negative: connect "
                     f"{circuit.elements[0].id} or its ground to {REFERENCE}.")


def _element(element: Element) -> Iterator[Finding]:
    name, id_ = element.name, element.id
    if element.between is None and element.kind != "relay":
        yield _error(id_, "element-unconnected", f"{name} is connected to nothing: name the two points it lies "
                     "between.")
    for start, end in filter(None, (element.between, element.coil)):
        if start == end:
            yield _error(id_, "same-point", f"{name} has the point {start} on both sides of itself: name two different "
                         "points.")
    if element.kind == "relay":
        if element.common is None or (element.normally_open is None and element.normally_closed is None):
            yield _error(id_, "relay-without-contact", f"{name} has no contact: name its common point and where it "
                         "leads.")
        elif element.common in (element.normally_open, element.normally_closed):
            yield _error(id_, "same-point", f"{name} has the point {element.common} on both sides of its contact: name "
                         "two different points.")
    numbers = (element.resistance_ohm, element.tolerance, element.voltage_tolerance_v, element.rating_a,
               element.coil_ohm, element.pull_in_v, element.lamp_power_w, element.standing_ohm)
    if not (all(math.isfinite(number) and number >= 0 for number in numbers) and math.isfinite(element.voltage_v)):
        yield _error(id_, "not-a-number", f"{name} has a resistance, voltage, rating or tolerance that is negative or "
                     "no number: correct it.")
    if element.coil and not element.coil_ohm > 0:
        yield _error(id_, "coil-without-resistance", f"{name} has a coil without resistance: give it one.")
    if element.lamp_power_w and not element.lamp_at_v > 0:
        yield _error(id_, "lamp-without-voltage", f"{name} has a power but no voltage at which it takes that: add it.")
    if element.kind == "diode" and not element.forward_voltage_v > 0:
        yield _error(id_, "diode-without-voltage", f"{name} has no forward voltage: give it one.")


def _rings_of_sources(circuit: Circuit) -> Iterator[Finding]:
    """Find sources that are joined to others, or to themselves, by nothing that has resistance."""
    number = {point: index for index, point in enumerate(circuit.points)}
    bare = [element for element in circuit.elements if element.between is not None
            and element.kind not in ("lamp", "diode") and element.resistance_ohm < _LEAST_BETWEEN_SOURCES_OHM]
    edges = [(number[e.between[0]], number[e.between[1]]) for e in bare if e.kind not in SOURCE_KINDS]
    for source in (e for e in bare if e.kind in SOURCE_KINDS):
        start, end = (number[point] for point in source.between)
        joined = connections.groups(len(number), edges)
        if joined[start] == joined[end]:
            yield _error(source.id, "ring-of-sources", f"{source.name} is joined end to end with another source or "
                         "with itself by nothing that has resistance: give the source or the wires between their "
                         "resistance.")
        else:
            edges.append((start, end))


def _islands(circuit: Circuit) -> Iterator[Finding]:
    """Find elements that no connection joins to B-, whatever is switched on."""
    number = {point: index for index, point in enumerate(circuit.points)}
    edges = [(number[first], number[second]) for element in circuit.elements
             for first, second in _pairs(element)]
    joined = connections.groups(len(number), edges)
    for element in circuit.elements:
        if all(joined[number[point]] for point in element.points):
            yield Finding("warning", element.id, "not-connected", f"{element.name} has no connection to {REFERENCE}, "
                          "whatever is switched on: check the names of its points.")
    if not any(element.kind in SOURCE_KINDS for element in circuit.elements):
        yield Finding("note", circuit.id, "no-source", f"Circuit {circuit.id} has no battery or source: every voltage "
                      "in it is zero.")


def _pairs(element: Element) -> Iterator[tuple[str, str]]:
    if element.between is not None:
        yield element.between
    if element.coil is not None:
        yield element.coil
    for contact in (element.normally_open, element.normally_closed):
        if element.common is not None and contact is not None:
            yield element.common, contact


def _setup(circuit: Circuit, setup: Setup) -> Iterator[Finding]:
    elements = set(circuit.by_id)
    connectors = {element.connector for element in circuit.elements if element.connector}
    for key, names, known in (("on", setup.on, elements), ("pulled", setup.pulled, elements),
                              ("unplugged", setup.unplugged, elements | connectors),
                              ("disconnected", setup.disconnected, elements)):
        for name in names:
            if name not in known:
                yield _error(setup.id, "unknown-element", f"Setup {setup.id}: “{key}” names {name}, which is not in "
                             "the circuit: correct the name.")
            elif key == "on" and circuit.element(name).kind not in ("switch", "relay"):
                yield Finding("warning", setup.id, "nothing-to-switch", f"Setup {setup.id} switches on {name}, which "
                              f"is a {circuit.element(name).kind} and no switch: nothing changes.")
    for bridge in setup.bridges:
        for point in bridge.between:
            if point not in circuit.points:
                yield _error(setup.id, "unknown-point", f"Setup {setup.id}: a bridge is laid to {point}, which is not "
                             "in the circuit: correct the name.")
        if bridge.between[0] == bridge.between[1]:
            yield _error(setup.id, "same-point", f"Setup {setup.id}: a bridge has the point {bridge.between[0]} on "
                         "both sides of itself: name two different points.")
        if not bridge.rating_a > 0:
            yield _error(setup.id, "bridge-without-rating", f"Setup {setup.id}: a bridge needs a rating above zero.")
