"""Which column of the page each part of a circuit stands in.

Elements that follow each other form strands, drawn as one straight line down the page. A point that several strands
share is a bar across their columns. Strands are put in an order in which the bars are short and cross few strands:
first as a walk from the supply finds them, then by moving single strands as long as that makes the drawing better.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from workshop_log.paper.circuit_graph import Graph

# What is worse: one crossing against one column more for a bar, and so on. Own estimate, by eye.
_CROSSING, _BAR, _RELAY, _SOURCE = 1000, 10, 40, 25
# The line from the side of a contact cannot pass what hangs from the same point: there it would meet a symbol.
_BLOCKED = 20_000
# How much work may go into better orders: steps over all strands, so that a large circuit takes no longer.
_MOST_STEPS = 24_000


@dataclass(slots=True)
class Strand:
    """Pieces below each other.

    Attributes
    ----------
    edges : list[int]
        From top to bottom.
    points : list[int]
        From top to bottom: one more than pieces.
    top, bottom : int
        Ranks between which it stands.
    """

    edges: list[int]
    points: list[int]
    top: int = 0
    bottom: int = 0


@dataclass(slots=True)
class Bar:
    """A point that lies across several columns.

    Attributes
    ----------
    point : int
        The point.
    members : tuple[int, ...]
        The strands that touch it.
    rank : int
        Its place among all points from top to bottom; points level with each other have the same.
    crossable : int
        One bit for each strand that would be crossed if it stood between the members.
    blocked : int
        One bit for each strand that must not stand there, where the bar begins at the side of a contact.
    """

    point: int
    members: tuple[int, ...]
    rank: int
    crossable: int = 0
    blocked: int = 0


@dataclass(slots=True)
class Columns:
    """The strands, their columns from left to right, and the bars between them."""

    strands: list[Strand]
    bars: list[Bar]
    column: list[int] = field(default_factory=list)
    order: list[int] = field(default_factory=list)
    last: list[int] = field(default_factory=list)

    def span(self, bar: Bar) -> tuple[int, int]:
        """Return the leftmost and rightmost column that a bar reaches."""
        columns = [self.column[member] for member in bar.members]
        return min(columns), max(columns)

    def place(self, rank: Sequence[int]) -> None:
        """Give each strand its column for these ranks of the points.

        The last ones stand at the right; neighbours share a column where they stand below each other.
        """
        for strand in self.strands:
            strand.top, strand.bottom = rank[strand.points[0]], rank[strand.points[-1]]
        for bar in self.bars:
            bar.rank = rank[bar.point]
        self.column = [0] * len(self.strands)
        current = -1
        standing: list[Strand] = []
        for number in self.order:
            strand = self.strands[number]
            if not standing or any(strand.top <= other.bottom and other.top <= strand.bottom for other in standing):
                current += 1
                standing = []
            standing.append(strand)
            self.column[number] = current
        for place, number in enumerate(self.last, start=1):
            self.column[number] = current + place


def columns_of(graph: Graph, height: Sequence[float], rank: Sequence[int], length: Sequence[float]) -> Columns:
    """Return the columns of a circuit.

    Parameters
    ----------
    graph : Graph
        The circuit.
    height : Sequence[float]
        How far down each point lies. [pt]
    rank : Sequence[int]
        Place of each point from top to bottom.
    length : Sequence[float]
        Height of each piece. [pt]
    """
    strands = _strands(graph, height, length)
    strand_of = {edge: number for number, strand in enumerate(strands) for edge in strand.edges}
    for strand in strands:
        strand.top, strand.bottom = rank[strand.points[0]], rank[strand.points[-1]]
    members: dict[int, set[int]] = {}
    for number, strand in enumerate(strands):
        for point in strand.points:
            members.setdefault(point, set()).add(number)
    for side, contact in graph.sides.items():
        members.setdefault(side, set()).add(strand_of[contact])
    bars = [Bar(point, tuple(sorted(touching)), rank[point]) for point, touching in members.items()
            if len(touching) > 1]
    for bar in bars:
        for number, strand in enumerate(strands):
            if number not in bar.members and strand.top <= bar.rank <= strand.bottom:
                bar.crossable |= 1 << number
                if bar.point in graph.sides and any(rank[point] == bar.rank for point in strand.points):
                    bar.blocked |= 1 << number
    made = Columns(strands, bars)
    bridges = {number for number, strand in enumerate(strands) if graph.edges[strand.edges[0]].part == "bridge"}
    made.order = _better([number for number in _walk(graph, made) if number not in bridges],
                         _cost_of(graph, made, strand_of, bridges))
    made.last = sorted(bridges)
    made.place(rank)
    return made


# --- strands --------------------------------------------------------------------------------------------------------


def _strands(graph: Graph, height: Sequence[float], length: Sequence[float]) -> list[Strand]:
    """Join the pieces that follow each other; at a branch the longest way goes straight on."""
    ins: dict[int, list[int]] = {}
    outs: dict[int, list[int]] = {}
    for number, edge in enumerate(graph.edges):
        # A bridge stands alone, so that the rest of the drawing is the same without it.
        if edge.part != "bridge":
            ins.setdefault(edge.bottom, []).append(number)
            outs.setdefault(edge.top, []).append(number)
    reach: dict[int, float] = {}
    for number in sorted(range(len(graph.edges)), key=lambda number: -height[graph.edges[number].bottom]):
        below = outs.get(graph.edges[number].bottom, ())
        reach[number] = length[number] + max((reach.get(next_, 0.0) for next_ in below), default=0.0)
    following: dict[int, int] = {}
    for point, arriving in ins.items():
        if point == graph.reference:
            continue
        # Links only begin or end a strand beside a contact where nothing longer does.
        arriving = sorted(arriving, key=lambda n: (graph.edges[n].part == "link", -height[graph.edges[n].top], n),)
        leaving = sorted(outs.get(point, ()), key=lambda n: (graph.edges[n].part == "link", -reach[n], n))
        following.update(zip(arriving, leaving, strict=False))
    begun = set(following.values())
    strands = []
    for number in range(len(graph.edges)):
        if number not in begun:
            edges = [number]
            while edges[-1] in following:
                edges.append(following[edges[-1]])
            points = [graph.edges[edges[0]].top, *(graph.edges[edge].bottom for edge in edges)]
            strands.append(Strand(edges, points))
    return strands


def _walk(graph: Graph, columns: Columns) -> list[int]:
    """Return the strands in the order in which a walk from the supply finds them, each beside where it branches off."""
    at: dict[int, list[int]] = {}
    for bar in columns.bars:
        at[bar.point] = list(bar.members)
    by_side = {}
    for side, contact in graph.sides.items():
        by_side.setdefault(contact, []).append(side)
    order: list[int] = []
    seen: set[int] = set()
    starts = sorted(range(len(columns.strands)), key=lambda n: (
        columns.strands[n].points[0] not in graph.tops, columns.strands[n].top, n))
    for start in starts:
        waiting = [start]
        while waiting:
            number = waiting.pop()
            if number in seen:
                continue
            seen.add(number)
            order.append(number)
            strand = columns.strands[number]
            points = [*strand.points, *(side for edge in strand.edges for side in by_side.get(edge, ()))]
            # The last one put on the pile comes next: branches from the lowest point stand nearest. What comes from
            # a supply is met by its own way, and battery negative joins everything.
            for point in points:
                if point not in graph.tops and point != graph.reference:
                    waiting += [other for other in reversed(at.get(point, ())) if other not in seen]
    return order


# --- order ----------------------------------------------------------------------------------------------------------


def _cost_of(graph: Graph, columns: Columns, strand_of: dict[int, int],
             without: set[int]) -> Callable[[list[int]], int]:
    """Return a function that says how bad an order of the strands is, of all but some."""
    coils = {graph.edges[n].name: strand for n, strand in strand_of.items() if graph.edges[n].part == "coil"}
    relays = [(coils[graph.edges[n].name], strand) for n, strand in strand_of.items()
              if graph.edges[n].part == "contact" and graph.edges[n].name in coils]
    sources = [strand for n, strand in strand_of.items()
               if graph.edges[n].element is not None and graph.edges[n].element.kind == "battery"]
    members_of = ((tuple(member for member in bar.members if member not in without), bar) for bar in columns.bars)
    bars = [(members, bar.crossable, bar.blocked) for members, bar in members_of if len(members) > 1]

    def cost(order: list[int]) -> int:
        place = [0] * len(columns.strands)
        until = [0]
        bits = 0
        for position, strand in enumerate(order):
            place[strand] = position
            bits |= 1 << strand
            until.append(bits)
        total = 0
        for members, crossable, blocked in bars:
            if len(members) == 2:
                left, right = place[members[0]], place[members[1]]
                if left > right:
                    left, right = right, left
            else:
                places = [place[member] for member in members]
                left, right = min(places), max(places)
            total += _BAR * (right - left)
            if right > left + 1:
                between = until[right] & ~until[left + 1]
                total += _CROSSING * (between & crossable).bit_count()
                total += _BLOCKED * (between & blocked).bit_count()
        total += _RELAY * sum(abs(place[coil] - place[contact]) for coil, contact in relays)
        return total + _SOURCE * sum(place[source] for source in sources)

    return cost


def _better(order: list[int], cost: Callable[[list[int]], int]) -> list[int]:
    """Return the order after moving single strands as long as that helps and is worth the time."""
    count = len(order)
    best = cost(order)
    left = _MOST_STEPS // max(count, 1)
    improved = count > 2
    while improved and left > 0:
        improved = False
        for strand in list(order):
            start = order.index(strand)
            rest = order[:start] + order[start + 1:]
            # Near places first: they are most of what helps, should the steps run out.
            for place in sorted(range(count), key=lambda place: abs(place - start))[1:]:
                tried = rest[:place] + [strand] + rest[place:]
                value = cost(tried)
                left -= 1
                if value < best:
                    order, best, improved = tried, value, True
                    break
                if left <= 0:
                    return order
    return order
