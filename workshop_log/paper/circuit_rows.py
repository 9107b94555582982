"""How far down the page each point of a circuit lies.

Every demand has the form "this point at least so far below that one". Points that must keep level with each other (the
coil and the contact of a relay) form one group. The groups without demands in a circle are laid as high as the demands
allow; some are then let down as far as the demands allow, so that ground points stand in one row.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple


class Demand(NamedTuple):
    """Point `lower` lies at least `distance` below point `upper`, in points."""

    upper: int
    lower: int
    distance: float


class Rows:
    """The demands on the points, and the levels that follow from them.

    Attributes
    ----------
    group : list[int]
        The group of each point: the number of its first point.
    offset : list[float]
        How far a point lies below its group. [pt]
    """

    def __init__(self, count: int, demands: Iterable[Demand]) -> None:
        self.group = list(range(count))
        self.offset = [0.0] * count
        self.demands = list(demands)

    def fix(self, point: int, to: int, offset: float) -> None:
        """Keep a point that has no group yet at a fixed distance below another one."""
        self.group[point] = self.group[to]
        self.offset[point] = self.offset[to] + offset

    def level(self, first: int, second: int, lower_by: float) -> bool:
        """Keep a second point so far below a first one, where no demand forbids it; return whether that is so."""
        one, other = self.group[first], self.group[second]
        if one == other:
            return self.offset[first] + lower_by == self.offset[second]
        if self._leads(one, other) or self._leads(other, one):
            return False
        shift = self.offset[first] + lower_by - self.offset[second]
        for point, group in enumerate(self.group):
            if group == other:
                self.group[point] = one
                self.offset[point] += shift
        return True

    def solve(self, let_down: Sequence[int] = ()) -> list[float]:
        """Return how far down each point lies, in points; those to let down lie as far down as they may."""
        arcs = self._arcs()
        order = self._order(arcs)
        height = [0.0] * len(self.group)
        for group in order:
            for below, distance in arcs[group].items():
                height[below] = max(height[below], height[group] + distance)
        wanted = {self.group[point] for point in let_down}
        for group in reversed(order):
            if group in wanted and arcs[group]:
                height[group] = min(height[below] - distance for below, distance in arcs[group].items())
        return [height[group] + offset for group, offset in zip(self.group, self.offset, strict=True)]

    def _arcs(self) -> dict[int, dict[int, float]]:
        """Return for each group the groups that lie below it and how far at least."""
        arcs: dict[int, dict[int, float]] = {group: {} for group in self.group}
        for upper, lower, distance in self.demands:
            start, end = self.group[upper], self.group[lower]
            if start != end:
                needed = distance + self.offset[upper] - self.offset[lower]
                arcs[start][end] = max(arcs[start].get(end, needed), needed)
        return arcs

    def _order(self, arcs: dict[int, dict[int, float]]) -> list[int]:
        """Return the groups so that each comes after all that lie above it."""
        above = dict.fromkeys(arcs, 0)
        for ends in arcs.values():
            for end in ends:
                above[end] += 1
        order = [group for group, count in above.items() if not count]
        for group in order:
            for end in arcs[group]:
                above[end] -= 1
                if not above[end]:
                    order.append(end)
        return order

    def _leads(self, start: int, end: int) -> bool:
        """Say whether a chain of demands leads down from one group to another."""
        arcs = self._arcs()
        seen, waiting = {start}, [start]
        while waiting:
            group = waiting.pop()
            if group == end:
                return True
            waiting += set(arcs[group]) - seen
            seen.update(arcs[group])
        return False
