"""Which nodes hang together through what conducts: whether a point floats is decided here, never by its voltage."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def groups(n_nodes: int, edges: Iterable[tuple[int, int]]) -> list[int]:
    """Return for every node the smallest number among the nodes that it is connected with.

    Parameters
    ----------
    n_nodes : int
        Nodes are numbered from 0.
    edges : iterable of (int, int)
        What conducts.
    """
    leader = list(range(n_nodes))

    def find(number: int) -> int:
        while leader[number] != number:
            leader[number] = leader[leader[number]]
            number = leader[number]
        return number

    for start, end in edges:
        first, second = find(start), find(end)
        if first != second:
            leader[max(first, second)] = min(first, second)
    return [find(number) for number in range(n_nodes)]


def cheapest_path(start: int, end: int, edges: Sequence[tuple[int, int, float]]) -> list[int] | None:
    """Return the edges, as their indices in order, of the cheapest way from one node to another; None without one.

    Parameters
    ----------
    start, end : int
        Two nodes.
    edges : sequence of (int, int, float)
        Node, node, cost; passable both ways. Of equally cheap ways the one of earlier edges is taken.
    """
    import heapq

    at: dict[int, list[tuple[int, int, float]]] = {}
    for index, (one, other, cost) in enumerate(edges):
        at.setdefault(one, []).append((index, other, cost))
        at.setdefault(other, []).append((index, one, cost))
    waiting: list[tuple[float, tuple[int, ...], int]] = [(0.0, (), start)]
    done: set[int] = set()
    while waiting:
        cost, way, here = heapq.heappop(waiting)
        if here == end:
            return list(way)
        if here in done:
            continue
        done.add(here)
        for index, there, more in at.get(here, ()):
            if there not in done:
                heapq.heappush(waiting, (cost + more, (*way, index), there))
    return None
