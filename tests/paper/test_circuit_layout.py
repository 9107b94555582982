"""Where everything of a circuit lies: nothing over anything else, everything there, everything joined."""

from __future__ import annotations

import subprocess
import sys
from itertools import combinations

import pytest
from hypothesis import given, settings
from msgspec.structs import replace
from paper.circuits import any_circuits, battery, known_circuits, ladder, series_parallel_circuits

from workshop_log.exchange.records import Bridge, Circuit, Element, Setup
from workshop_log.paper.circuit_layout import Box, Layout, Marks, lay_out

KNOWN = known_circuits()
# What the drawings have today. A bar that crosses a column is no fault, but more of them would be.
CROSSINGS = {"reversing-motor": 2}


def things(layout: Layout) -> list[tuple[str, Box]]:
    """Return all boxes that must stay clear of each other: symbols, words, marks and the dots of points."""
    found = [(f"symbol {e.id} {e.part}", e.symbol) for e in layout.elements if e.kind != "wire"]
    found += [(f"{label.kind} {label.text} of {label.owner}", label.box) for label in layout.labels]
    found += [(f"mark of {e.id}", e.mark) for e in layout.elements if e.mark.right > e.mark.left]
    found += [(f"mark of {p.name}", p.mark) for p in layout.points if p.mark.right > p.mark.left]
    return found + [(f"dot {p.name}", Box(p.x - 2, p.y - 2, p.x + 2, p.y + 2)) for p in layout.points]


def overlaps(layout: Layout) -> list[str]:
    """Return in words whatever lies over something else."""
    return [f"{one} over {other}" for (one, a), (other, b) in combinations(things(layout), 2) if a.overlaps(b)]


def cuts(layout: Layout) -> list[str]:
    """Return in words each line that runs through a symbol or a word."""
    found = []
    for wire in layout.wires:
        line = Box(min(wire.x1, wire.x2) + 0.01, min(wire.y1, wire.y2) + 0.01,
                   max(wire.x1, wire.x2) - 0.01, max(wire.y1, wire.y2) - 0.01)
        across = Box(line.left, line.top - 0.02, line.right, line.bottom + 0.02)
        upright = Box(line.left - 0.02, line.top, line.right + 0.02, line.bottom)
        way = upright if wire.x1 == wire.x2 else across
        # The side of a change-over contact begins inside the symbol's box.
        own = [e.symbol for e in layout.elements if e.side and any(
            t.x in (wire.x1, wire.x2) and t.y == wire.y1 for t in e.terminals[2:])]
        found += [f"{wire.point} through {name}" for name, box in things(layout)
                  if not name.startswith("dot") and box not in own and way.overlaps(box)]
    return found


def check_whole(layout: Layout, circuit: Circuit) -> None:
    """Check that every element is there once, and each terminal joined to its point by lines of that point."""
    pieces = sorted((e.id, e.part) for e in layout.elements)
    expected = []
    for element in circuit.elements:
        parts = ("coil", "contact") if element.kind == "relay" else ("whole",)
        expected += [(element.id, part) for part in parts]
    assert pieces == sorted(expected)
    for element in layout.elements:
        assert element.box.left >= 0 and element.box.bottom <= layout.height
        source = next(e for e in circuit.elements if e.id == element.id)
        named = {"coil": source.coil, "whole": source.between,
                 "contact": (source.common, source.normally_open, source.normally_closed)}[element.part]
        assert sorted(t.point for t in element.terminals) == sorted(point for point in named if point is not None)
        for terminal in element.terminals:
            assert_joined(layout, terminal.point, terminal.x, terminal.y)
    for link in layout.links:
        assert link.x1 <= link.x2


def assert_joined(layout: Layout, point: str, x: float, y: float) -> None:
    """Check that lines of a point lead from a place to its dot."""
    dot = next(p for p in layout.points if p.name == point)
    lines = [w for w in layout.wires if w.point == point and not w.element]
    lines += [w for w in layout.wires if w.element]
    reached, waiting = {(x, y)}, [(x, y)]
    while waiting:
        here = waiting.pop()
        for wire in (w for w in lines if w.point == point and not w.element):
            if on(wire, *here):
                for end in ((wire.x1, wire.y1), (wire.x2, wire.y2), *joined_on(wire, lines)):
                    if end not in reached:
                        reached.add(end)
                        waiting.append(end)
    assert (dot.x, dot.y) in reached


def on(wire: object, x: float, y: float) -> bool:
    return (min(wire.x1, wire.x2) - 0.01 <= x <= max(wire.x1, wire.x2) + 0.01
            and min(wire.y1, wire.y2) - 0.01 <= y <= max(wire.y1, wire.y2) + 0.01)


def joined_on(wire: object, lines: list) -> list[tuple[float, float]]:
    """Return the ends of other lines that lie on this one."""
    return [end for other in lines for end in ((other.x1, other.y1), (other.x2, other.y2)) if on(wire, *end)]


@pytest.mark.parametrize("name", KNOWN)
@pytest.mark.parametrize("with_currents", [False, True])
def test_known_circuit_has_nothing_over_anything_and_few_crossings(name: str, with_currents: bool) -> None:
    """Samples and starters are drawn clean, with at most the crossings that they have today."""
    layout = lay_out(KNOWN[name], with_currents=with_currents)
    assert overlaps(layout) == []
    assert cuts(layout) == []
    assert layout.crossings <= CROSSINGS.get(name, 0)
    assert layout.left_out == ()
    check_whole(layout, KNOWN[name])


@pytest.mark.parametrize("name", KNOWN)
def test_marks_at_every_point_and_element_find_room(name: str) -> None:
    """A number and a glyph at every point and element overlap nothing."""
    circuit = KNOWN[name]
    points = {p.name: "Tests 5, 6, 18" for p in lay_out(circuit).points}
    elements = {e.id: "Test 12" for e in circuit.elements}
    glyphs = frozenset([("point", name) for name in points] + [("element", id_) for id_ in elements])
    layout = lay_out(circuit, marks=Marks(points, elements, glyphs))
    assert overlaps(layout) == []
    assert cuts(layout) == []


@pytest.mark.parametrize("name", KNOWN)
def test_setup_without_bridges_moves_nothing(name: str) -> None:
    """From one setup to the next only switches and relays change."""
    before = lay_out(KNOWN[name])
    for setup in KNOWN[name].setups:
        after = lay_out(KNOWN[name], replace(setup, bridges=()))
        assert (after.points, after.wires, after.labels) == (before.points, before.wires, before.labels)


@settings(max_examples=120, deadline=None)
@given(series_parallel_circuits())
def test_series_and_parallel_elements_never_cross_or_overlap(circuit: Circuit) -> None:
    """Whatever is put in series and side by side can be drawn without a crossing, and is."""
    layout = lay_out(circuit)
    assert overlaps(layout) == []
    assert cuts(layout) == []
    assert layout.crossings == 0
    check_whole(layout, circuit)


@settings(max_examples=250, deadline=None)
@given(any_circuits())
def test_any_circuit_is_drawn_whole(circuit: Circuit) -> None:
    """Loops, bridges, loose ends and relays in any arrangement: every element once, joined, nothing overlapping."""
    layout = lay_out(circuit)
    check_whole(layout, circuit)
    assert overlaps(layout) == []
    assert cuts(layout) == []


def test_line_from_the_side_of_a_contact_runs_through_no_other_contact() -> None:
    """Two change-over contacts with one point at their sides, among so many columns that most orders are no good."""
    def relay(name: str, coil: tuple[str, str], common: str, opens: str, closes: str | None = None) -> Element:
        return Element(id=name, kind="relay", coil=coil, common=common, normally_open=opens, normally_closed=closes)

    circuit = Circuit(id="c", elements=(
        relay("K0", ("P1", "P0"), "B+", "B-", "P4"), relay("K1", ("P3", "P0"), "B-", "P1", "B+"),
        relay("K3", ("P4", "P3"), "B+", "B-", "P1"), relay("K4", ("P2", "B+"), "B-", "P3"),
        relay("K6", ("P0", "P1"), "B-", "P2", "B+"), relay("K8", ("B+", "B-"), "B+", "P1", "P4"),
        relay("K9", ("P1", "P0"), "B+", "P0"), Element(id="E7", kind="source", between=("B+", "B-")),
        *(Element(id=f"F{number}", kind="fuse", between=ends) for number, ends in enumerate(
            (("P4", "P1"), ("B+", "P0"), ("B+", "P4"), ("P2", "B+"))))))
    layout = lay_out(circuit)
    check_whole(layout, circuit)
    assert cuts(layout) == []


@settings(max_examples=60, deadline=None)
@given(any_circuits())
def test_same_circuit_gives_the_same_drawing(circuit: Circuit) -> None:
    """Nothing depends on chance or on an earlier drawing."""
    assert lay_out(circuit) == lay_out(circuit)


def test_supply_is_on_top_and_ground_at_the_bottom() -> None:
    """No point lies above the battery's plus or below its minus."""
    for circuit in KNOWN.values():
        layout = lay_out(circuit)
        height = {point.name: point.y for point in layout.points}
        assert height.get("B+", min(height.values())) == min(height.values())
        assert height.get("B-", max(height.values())) == max(height.values())


def test_element_between_two_given_the_wrong_way_round_is_turned_over() -> None:
    """An element that would lead up from battery negative hangs from its other point, its first terminal below."""
    circuit = Circuit(id="c", elements=(battery(), Element(id="E1", kind="diode", between=("B-", "P1")),
                                        Element(id="R", kind="load", between=("B+", "P1"), resistance="5 ohm")))
    diode = next(e for e in lay_out(circuit).elements if e.id == "E1")
    assert diode.turned
    assert [t.point for t in diode.terminals] == ["B-", "P1"]
    assert diode.terminals[0].y > diode.terminals[1].y


def test_bridge_stands_at_the_right_and_leaves_the_order_of_columns() -> None:
    """A fused lead for a test comes after everything else."""
    setup = Setup(id="t", bridges=(Bridge(between=("K1.30", "K1.87"), through="fused lead", rating="20 A"),))
    layout = lay_out(KNOWN["relay-motor"], setup)
    bridge = next(e for e in layout.elements if e.part == "bridge")
    assert bridge.symbol.left > max(e.symbol.right for e in layout.elements if e.part != "bridge")
    assert overlaps(layout) == []
    assert cuts(layout) == []


def test_element_between_a_point_and_itself_is_named_as_left_out() -> None:
    """What cannot be drawn is said, never dropped."""
    circuit = Circuit(id="c", elements=(battery(), Element(id="E1", kind="load", between=("P", "P"))))
    assert lay_out(circuit).left_out == ("E1",)
    assert lay_out(Circuit(id="c")).elements == ()


def test_relay_stands_level_with_its_coil_and_is_joined_to_it() -> None:
    """The dashed line is straight."""
    for name in ("relay-motor", "horn", "heated-screen", "glow-plugs", "starter-charging"):
        layout = lay_out(KNOWN[name])
        assert len(layout.links) == 1


def test_fifteen_elements_fit_the_width_of_a_sheet_at_full_size() -> None:
    """The sample circuits have up to 14 elements; none is made smaller than 0.9 on A4."""
    for name, circuit in KNOWN.items():
        if len(circuit.elements) <= 15:
            assert lay_out(circuit).width < 483 / 0.9, name


@pytest.mark.parametrize("size", [2, 60, 200])
def test_large_circuit_is_laid_out_clean(size: int) -> None:
    """From 2 to 200 elements."""
    layout = lay_out(ladder(size))
    assert len(layout.elements) == size
    assert layout.crossings == 0
    assert overlaps(layout) == []


def test_layout_needs_neither_screen_nor_paper() -> None:
    """The window imports the drawing at its start: nothing heavy may come with it."""
    code = ("import sys, workshop_log.paper.circuit_layout, workshop_log.paper.circuit_drawing\n"
            "print([n for n in ('reportlab', 'PySide6', 'numpy', 'pint', 'PIL', 'sqlalchemy') if n in sys.modules])")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
