"""The starter circuits: sound, described as the job file wants it, and doing what they are for."""

from __future__ import annotations

import re

import pytest

from workshop_log import resources
from workshop_log.electrics.checking import check_circuit
from workshop_log.electrics.solver import solve
from workshop_log.exchange.circuit_check import problems
from workshop_log.exchange.circuits import circuit_of
from workshop_log.jobs.starters import Starter, starter_circuits

STARTERS = {starter.id: starter for starter in starter_circuits()}
# Codes of IEC 60757, from memory.
COLOURS = {"BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ"}


def test_every_file_is_a_starter_of_its_name() -> None:
    """Twelve at least, each with a title of its own."""
    names = {path.stem for path in resources.path("starter_circuits").glob("*.json")}
    assert set(STARTERS) == names
    assert len({starter.title for starter in STARTERS.values()}) == len(names) >= 12
    assert [s.title.casefold() for s in starter_circuits()] == sorted(s.title.casefold() for s in starter_circuits())


@pytest.mark.parametrize("starter", STARTERS.values(), ids=STARTERS)
def test_starter_passes_every_check_of_a_circuit(starter: Starter) -> None:
    """What the program offers it also accepts."""
    assert list(problems(starter.circuit)) == []
    assert check_circuit(circuit_of(starter.circuit)) == []
    assert starter.words.endswith(".")
    assert starter.circuit.setups


@pytest.mark.parametrize("starter", STARTERS.values(), ids=STARTERS)
def test_wires_have_usual_sections_and_colour_codes(starter: Starter) -> None:
    """Length, section and colour of every wire are there; colours are codes of IEC 60757."""
    for element in starter.circuit.elements:
        assert element.title
        if element.kind == "wire":
            assert re.fullmatch(r"\d+(\.\d+)? m", element.length)
            assert set(element.colour.split("/")) <= COLOURS


@pytest.mark.parametrize("starter", STARTERS.values(), ids=STARTERS)
def test_healthy_starter_blows_no_fuse_and_settles(starter: Starter) -> None:
    """In every setup each fuse carries at most four fifths of its rating: the usual choice of a fuse."""
    circuit = circuit_of(starter.circuit)
    for setup in starter.circuit.setups:
        state = solve(circuit, setup.id)
        assert not state.chatters
        for fuse in (element for element in circuit.elements if element.kind == "fuse"):
            assert abs(state.current_a(fuse.id)) <= 0.8 * fuse.rating_a, (setup.id, fuse.id)


@pytest.mark.parametrize(("name", "setup", "load", "low_a", "high_a"), [
    ("relay-motor", "running", "M1", 8.5, 9.5), ("relay-motor", "ignition on", "M1", -1e-3, 1e-3),
    ("two-speed-blower", "slow", "M2", 7, 12), ("two-speed-blower", "fast", "M2", 14.5, 17),
    ("starter-charging", "cranking", "M1", 150, 260), ("horn", "button pressed", "H1", 4, 5),
    ("glow-plugs", "glowing", "R3", 11, 13.5), ("reversing-motor", "up", "M7", 7, 9),
    ("reversing-motor", "down", "M7", -9, -7), ("door-module", "asleep", "A3", 2e-4, 1e-3),
    ("heated-screen", "heating", "E9", 14, 18), ("trailer-socket", "brake", "E54", 3, 4)])
def test_starter_does_what_it_is_for(name: str, setup: str, load: str, low_a: float, high_a: float) -> None:
    """The load draws what its description says, in the setup that switches it on."""
    assert low_a <= solve(circuit_of(STARTERS[name].circuit), setup).current_a(load) <= high_a
