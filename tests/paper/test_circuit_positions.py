"""How switches and relays stand, held against the solver, which knows the voltages."""

from __future__ import annotations

import pytest
from paper.circuits import known_circuits

from workshop_log.electrics.solver import solve
from workshop_log.exchange.circuits import circuit_of
from workshop_log.exchange.records import Bridge, Setup
from workshop_log.paper.circuit_positions import positions

KNOWN = known_circuits()


@pytest.mark.parametrize("name", [name for name, c in KNOWN.items() if any(e.kind == "relay" for e in c.elements)])
def test_relays_stand_as_the_solver_finds_them(name: str) -> None:
    """In every setup of the known circuits, the way through closed contacts says the same as the voltages."""
    circuit = KNOWN[name]
    relays = {element.id for element in circuit.elements if element.kind == "relay"}
    for setup in circuit.setups:
        assert positions(circuit, setup).closed & relays == solve(circuit_of(circuit), setup.id).pulled_in, setup.id


def test_nothing_is_closed_as_found() -> None:
    """Without a setup all switches are open."""
    assert positions(KNOWN["horn"], None).closed == frozenset()


def test_bridge_to_ground_pulls_a_relay_in() -> None:
    """A fused lead in the button's place closes the way through the coil."""
    bridge = Bridge(between=("K2.85", "B-"), through="fused lead", rating="5 A")
    assert positions(KNOWN["horn"], Setup(id="t", bridges=(bridge,))).closed == {"K2"}


def test_unplugging_a_connector_takes_all_its_pins_out() -> None:
    """A setup names the connector, the drawing shows each pin."""
    setup = Setup(id="t", unplugged=("T",))
    assert positions(KNOWN["trailer-socket"], setup).out == {"T.3", "T.5", "T.6", "T.7"}
