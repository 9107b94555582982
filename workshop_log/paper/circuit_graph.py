"""A circuit as a graph to be drawn: every element between an upper and a lower point, without any way round.

Current flows down the page, so each element hangs from the point nearer to the supply. The supply side comes first in
`between`; where that would lead in a circle, or up from battery negative, an element is turned over instead.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from workshop_log.exchange.records import Circuit, Element, Setup

REFERENCE = "B-"
Part = Literal["whole", "coil", "contact", "link", "bridge"]


@dataclass(slots=True)
class Edge:
    """One piece of an element on its way down the page.

    Attributes
    ----------
    element : Element | None
        None for a bridge laid for a test.
    part : {"whole", "coil", "contact", "link", "bridge"}
        A relay has a coil and a contact; a link leads from the side of a change-over contact to the third point.
    top, bottom : int
        Points by their number.
    turned : bool
        Whether the point named first lies at the bottom.
    name : str
        The element's id, or what a bridge is.
    """

    element: Element | None
    part: Part
    top: int
    bottom: int
    turned: bool = False
    name: str = ""


@dataclass(slots=True)
class Graph:
    """The pieces and points of a circuit.

    Attributes
    ----------
    points : list[str]
        Names by number. The place where a link leaves a change-over contact has the name of the point it leads to.
    sides : dict[int, int]
        For each such place, the number of the contact's piece.
    tops : set[int]
        The positive sides of batteries and sources.
    left_out : list[str]
        Elements that lie between nothing, or between a point and itself.
    """

    points: list[str] = field(default_factory=list)
    edges: list[Edge] = field(default_factory=list)
    sides: dict[int, int] = field(default_factory=dict)
    tops: set[int] = field(default_factory=set)
    left_out: list[str] = field(default_factory=list)
    _numbers: dict[str, int] = field(default_factory=dict)
    _below: dict[int, list[int]] = field(default_factory=dict)

    def number(self, point: str) -> int:
        """Return the number of a point, which gets one when it is first named."""
        if point not in self._numbers:
            self._numbers[point] = self._new(point)
        return self._numbers[point]

    @property
    def reference(self) -> int | None:
        """The number of battery negative, if the circuit has it."""
        return self._numbers.get(REFERENCE)

    def add(self, element: Element | None, part: Part, first: str, second: str, name: str) -> Edge | None:
        """Add a piece, the supply side first; turned over where it would close a circle."""
        if first == second:
            return None
        top, bottom = self.number(first), self.number(second)
        turned = first == REFERENCE or (second != REFERENCE and self.leads_to(bottom, top))
        if turned:
            top, bottom = bottom, top
        edge = Edge(element, part, top, bottom, turned, name)
        self.edges.append(edge)
        self._below.setdefault(top, []).append(bottom)
        return edge

    def add_side(self, contact: Edge, third: str) -> None:
        """Lead a link from the side of a contact to a third point, down or up as that point lies."""
        point = self.number(third)
        side = self._new(third)
        self.sides[side] = self.edges.index(contact)
        is_above = point == contact.top or self.leads_to(point, contact.top)
        ends = (point, side) if is_above else (side, point)
        self.edges.append(Edge(contact.element, "link", *ends, is_above, contact.name))
        upper, lower = (point, contact.top) if is_above else (contact.top, point)
        if upper != lower:
            self._below.setdefault(upper, []).append(lower)

    def leads_to(self, start: int, end: int) -> bool:
        """Say whether a way leads down from one point to another."""
        seen, waiting = {start}, [start]
        while waiting:
            point = waiting.pop()
            if point == end:
                return True
            for below in self._below.get(point, ()):
                if below not in seen:
                    seen.add(below)
                    waiting.append(below)
        return False

    def _new(self, name: str) -> int:
        self.points.append(name)
        return len(self.points) - 1


def graph_of(circuit: Circuit, setup: Setup | None) -> Graph:
    """Return the graph of a circuit, with the bridges that a setup lays."""
    graph = Graph()
    sources = [element for element in circuit.elements if element.kind in ("battery", "source") and element.between]
    relays = [element for element in circuit.elements if element.kind == "relay"]
    for element in sources:
        graph.tops.add(graph.number(element.between[0]))
        _add_whole(graph, element)
    for element in circuit.elements:
        if element.kind not in ("battery", "source", "relay"):
            _add_whole(graph, element)
    if relays:
        turned = _fed_from_below(circuit, relays)
        for element in relays:
            _add_relay(graph, element, element.id in turned)
    for bridge in setup.bridges if setup else ():
        graph.add(None, "bridge", *bridge.between, bridge.through)
    return graph


def _add_whole(graph: Graph, element: Element) -> None:
    if element.between is None or graph.add(element, "whole", *element.between, element.id) is None:
        graph.left_out.append(element.id)


def _add_relay(graph: Graph, element: Element, is_turned: bool) -> None:
    """Add coil and contact; a contact that collects from two supplies stands upside down."""
    drawn = False
    if element.coil:
        drawn = graph.add(element, "coil", *element.coil, element.id) is not None
    main, third = element.normally_open, element.normally_closed
    if main is None:
        main, third = third, None
    if element.common is not None and main is not None:
        ends = (main, element.common) if is_turned else (element.common, main)
        contact = graph.add(element, "contact", *ends, element.id)
        if contact is not None:
            # Turned means here as everywhere: the common side, named first, lies at the bottom.
            contact.turned = contact.turned != is_turned
            drawn = True
            if third is not None:
                graph.add_side(contact, third)
    if not drawn:
        graph.left_out.append(element.id)


def _fed_from_below(circuit: Circuit, relays: list[Element]) -> set[str]:
    """Return the relays whose common point gets its supply through the contact, instead of feeding it."""
    ways: dict[str, list[str]] = {}
    fed: set[str] = set()
    for element in circuit.elements:
        if element.kind in ("battery", "source"):
            fed.update((element.between or ())[:1])
        elif element.between:
            ways.setdefault(element.between[0], []).append(element.between[1])
    turned: set[str] = set()
    waiting = sorted(fed)
    open_relays = list(relays)
    while True:
        while waiting:
            for below in ways.get(waiting.pop(), ()):
                if below not in fed:
                    fed.add(below)
                    waiting.append(below)
        relay = next((relay for relay in open_relays if relay.common in fed), None) or next(
            (relay for relay in open_relays if {relay.normally_open, relay.normally_closed} & fed), None)
        if relay is None:
            return turned
        open_relays.remove(relay)
        contacts = [point for point in (relay.normally_open, relay.normally_closed) if point is not None]
        outputs = contacts if relay.common in fed else [point for point in (relay.common,) if point is not None]
        if relay.common not in fed:
            turned.add(relay.id)
        waiting = sorted(set(outputs) - fed)
        fed.update(waiting)
