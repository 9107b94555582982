"""How switches, relays, fuses and plugs stand in a setup, as far as the setup alone says it.

A relay is drawn pulled in where its coil lies between the two sides of a supply over nothing but closed ways (fuses,
wires, contacts, switches). Whether the voltage there is enough is the solver's to say; what it says goes before this.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workshop_log.exchange.records import Circuit, Element, Setup

# What lets current through without using it up.
_CONDUCTORS = ("fuse", "wire", "contact", "switch", "diode", "ground point")


@dataclass(frozen=True, slots=True)
class Positions:
    """How the elements of a circuit stand.

    Attributes
    ----------
    closed : frozenset[str]
        Switches that are on and relays that have pulled in.
    out : frozenset[str]
        Elements that are pulled, unplugged or disconnected.
    """

    closed: frozenset[str]
    out: frozenset[str]


def positions(circuit: Circuit, setup: Setup | None) -> Positions:
    """Return how everything stands in a setup; in none, as found."""
    on = frozenset(setup.on) if setup else frozenset()
    away = {*setup.pulled, *setup.disconnected, *setup.unplugged} if setup else set()
    out = frozenset(element.id for element in circuit.elements
                    if element.id in away or (element.connector and setup and element.connector in setup.unplugged))
    relays = [element for element in circuit.elements if element.kind == "relay" and element.coil]
    closed = on
    # Each round may let one more relay pull in; one that opens its own feed would go on for ever.
    for _ in relays:
        pulled_in = frozenset(relay.id for relay in relays
                              if relay.id not in out and _is_fed(relay, circuit, setup, closed, out))
        if on | pulled_in == closed:
            break
        closed = on | pulled_in
    return Positions(closed, out)


def _is_fed(relay: Element, circuit: Circuit, setup: Setup | None, closed: frozenset[str], out: frozenset[str]) -> bool:
    """Say whether the two ends of a coil lie on the two sides of a supply."""
    ways: dict[str, set[str]] = {}
    for first, second in _closed_ways(circuit, setup, closed, out):
        ways.setdefault(first, set()).add(second)
        ways.setdefault(second, set()).add(first)
    one, other = (_reached(point, ways) for point in relay.coil)
    for source in circuit.elements:
        if source.kind in ("battery", "source") and source.between and source.id not in out:
            positive, negative = source.between
            if (positive in one and negative in other) or (positive in other and negative in one):
                return True
    return False


def _closed_ways(circuit: Circuit, setup: Setup | None, closed: frozenset[str],
                 out: frozenset[str]) -> Iterator[tuple[str, str]]:
    for element in circuit.elements:
        if element.id in out:
            continue
        if element.kind == "relay":
            end = element.normally_open if element.id in closed else element.normally_closed
            if element.common is not None and end is not None:
                yield element.common, end
        elif (element.kind in _CONDUCTORS and element.between
              and (element.kind != "switch" or element.id in closed)):
            yield element.between
    for bridge in setup.bridges if setup else ():
        yield bridge.between


def _reached(start: str, ways: dict[str, set[str]]) -> set[str]:
    seen, waiting = {start}, [start]
    while waiting:
        further = ways.get(waiting.pop(), set()) - seen
        seen |= further
        waiting += further
    return seen
