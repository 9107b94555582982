"""Circuits for tests of the drawing: those of the sample jobs and the starters, and generated ones."""

from __future__ import annotations

from itertools import count
from pathlib import Path

from hypothesis import strategies as st

from workshop_log.exchange.reading import read_job
from workshop_log.exchange.records import Circuit, Element
from workshop_log.jobs.starters import starter_circuits

_JOBS = Path(__file__).resolve().parents[2] / "sample_jobs"


def known_circuits() -> dict[str, Circuit]:
    """Return the circuits of the sample jobs and the starter circuits by a name for the test."""
    found = {starter.id: starter.circuit for starter in starter_circuits()}
    for path in sorted(_JOBS.glob("*.job.json")):
        for circuit in read_job(path.read_bytes(), path.name).circuits:
            found[f"{path.stem}/{circuit.id}"] = circuit
    return found


def battery() -> Element:
    return Element(id="battery", kind="battery", between=("B+", "B-"), voltage="12.6 V")


_KINDS = st.sampled_from(("fuse", "wire", "contact", "switch", "lamp", "motor", "heater", "coil", "sensor",
                          "control unit", "load", "diode", "ground point"))
# A tree of parts in series and side by side; a leaf is the kind of one element.
_TREES = st.recursive(_KINDS, lambda inner: st.tuples(st.sampled_from(("series", "parallel")),
                                                      st.lists(inner, min_size=2, max_size=4)), max_leaves=30)


@st.composite
def series_parallel_circuits(draw: st.DrawFn) -> Circuit:
    """Draw a battery with a network of elements in series and side by side between its poles."""
    elements = [battery()]
    numbers = count(1)

    def lay(tree: str | tuple, top: str, bottom: str) -> None:
        if isinstance(tree, str):
            elements.append(Element(id=f"E{len(elements)}", kind=tree, between=(top, bottom), rating="15 A",
                                    section="1.5 mm2", colour="RD/WH"))
        elif tree[0] == "parallel":
            for part in tree[1]:
                lay(part, top, bottom)
        else:
            points = [top, *(f"P{next(numbers)}" for _ in tree[1][1:]), bottom]
            for part, start, end in zip(tree[1], points[:-1], points[1:], strict=True):
                lay(part, start, end)

    lay(draw(_TREES), "B+", "B-")
    return Circuit(id="c", elements=tuple(elements))


@st.composite
def any_circuits(draw: st.DrawFn) -> Circuit:
    """Draw elements between any points: loops, bridges, loose ends, parts that hang in the air, relays."""
    names = st.sampled_from(["B+", "B-", *(f"P{number}" for number in range(draw(st.integers(1, 9))))])
    pairs = st.tuples(names, names).filter(lambda pair: pair[0] != pair[1])
    elements = [battery()]
    for number in range(draw(st.integers(1, 14))):
        kind = draw(st.one_of(_KINDS, st.just("relay"), st.just("source")))
        if kind == "relay":
            common, opened = draw(pairs)
            third = draw(st.one_of(st.none(), names.filter(lambda name, used=(common, opened): name not in used)))
            elements.append(Element(id=f"K{number}", kind="relay", coil=draw(pairs), coil_resistance="85 ohm",
                                    common=common, normally_open=opened, normally_closed=third))
        else:
            elements.append(Element(id=f"E{number}", kind=kind, between=draw(pairs), rating="15 A"))
    return Circuit(id="c", elements=tuple(elements))


def ladder(size: int) -> Circuit:
    """Return a battery with branches of a fuse, a switch and a lamp side by side, `size` elements in all."""
    elements = [battery()]
    while len(elements) < size:
        number = len(elements) // 3
        points = ("B+", f"F{number}.out", f"S{number}.out", "B-")
        for kind, ends in zip(("fuse", "switch", "lamp"), zip(points, points[1:], strict=False), strict=True):
            if len(elements) < size:
                elements.append(Element(id=f"{kind}{number}", kind=kind, between=ends, power="21 W"))
    return Circuit(id="ladder", elements=tuple(elements))
