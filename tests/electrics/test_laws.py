"""Laws that hold in any circuit: charge is kept, resistance never helps, what is pulled carries nothing."""

from __future__ import annotations

import math
from dataclasses import replace

from electrics.generated import circuit_and_setup, random_fault
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop_log.electrics.circuit import Setup
from workshop_log.electrics.faults import Fault
from workshop_log.electrics.network import LEAK_S
from workshop_log.electrics.solver import solve

SEEDS = st.integers(0, 10**9)


@settings(max_examples=150, deadline=None)
@given(SEEDS, SEEDS)
def test_currents_at_every_node_sum_to_zero(seed, fault_seed):
    """With what leaks to ground, to a nano-ampere for each ampere that flows."""
    circuit, setup = circuit_and_setup(seed)
    state = solve(circuit, setup, random_fault(fault_seed, circuit))
    network = state.network
    total = [LEAK_S * state.node_v(node) if node < len(network.node) else 0.0 for node in range(network.n_nodes)]
    largest = 1.0
    for index, branch in enumerate(network.branches):
        current = state.branch_a(index)
        total[branch.start] += current
        total[branch.end] -= current
        largest = max(largest, abs(current))
    assert all(abs(each) < 1e-9 * largest for each in total[1:])


@settings(max_examples=100, deadline=None)
@given(SEEDS, st.data(), st.floats(-2, 5))
def test_resistance_in_series_never_raises_a_loads_current(seed, data, log_ohm):
    """In the load's own circuit, with every relay and fuse standing as before."""
    circuit, setup = circuit_and_setup(seed, 15)
    loads = [element for element in circuit.elements if element.kind in ("heater", "motor", "load", "lamp")]
    if not loads:
        return
    load = data.draw(st.sampled_from(loads))
    before = solve(circuit, setup)
    after = solve(circuit, setup, Fault(load.id, "high resistance", 10**log_ohm))
    if (before.pulled_in, before.blown) == (after.pulled_in, after.blown):
        assert abs(after.current_a(load.id)) <= abs(before.current_a(load.id)) * (1 + 1e-9) + 1e-9


@settings(max_examples=100, deadline=None)
@given(SEEDS, st.data())
def test_what_is_pulled_carries_nothing(seed, data):
    """A pulled fuse, a blown one and an unplugged pin carry no current whatever else is wrong."""
    circuit, setup = circuit_and_setup(seed)
    element = data.draw(st.sampled_from([e for e in circuit.elements if e.kind != "relay"]))
    pulled = replace(setup, id="pulled", pulled=(*setup.pulled, element.id))
    state = solve(replace(circuit, setups=(pulled,)), "pulled", random_fault(seed + 1, circuit))
    assert state.current_a(element.id) == 0.0
    for fuse in state.blown:
        if fuse in circuit.by_id:
            assert state.current_a(fuse) == 0.0


@settings(max_examples=60, deadline=None)
@given(SEEDS, st.floats(0.2, 3.0))
def test_power_is_kept(seed, factor):
    """What the sources deliver is what all elements take, whatever the supply's voltage."""
    circuit, setup = circuit_and_setup(seed)
    battery = replace(circuit.elements[0], voltage_v=factor * circuit.elements[0].voltage_v)
    state = solve(replace(circuit, elements=(battery, *circuit.elements[1:])), setup)
    network = state.network
    given_w = math.fsum(-branch.voltage_v * state.branch_a(index) for index, branch in enumerate(network.branches))
    taken_w = math.fsum((state.across_v(branch) - branch.voltage_v) * state.branch_a(index)
                        for index, branch in enumerate(network.branches))
    leaked_w = math.fsum(LEAK_S * state.node_v(node) ** 2 for node in network.node.values())
    assert math.isclose(given_w, taken_w + leaked_w, rel_tol=1e-6, abs_tol=1e-6)


@settings(max_examples=60, deadline=None)
@given(SEEDS)
def test_what_floats_is_not_live(seed):
    """A floating point has no voltage, and every point is exactly one of live, dead and floating."""
    circuit, setup = circuit_and_setup(seed)
    state = solve(circuit, setup)
    for point in circuit.points:
        assert [state.is_live(point), state.is_dead(point), state.is_floating(point)].count(True) == 1
        assert (state.voltage_v(point) is None) == state.is_floating(point)


def test_disconnected_battery_leaves_nothing_live():
    """Without any source no point carries a voltage."""
    circuit, _ = circuit_and_setup(5)
    sources = tuple(element.id for element in circuit.elements if element.kind in ("battery", "source"))
    state = solve(replace(circuit, setups=(Setup("off", disconnected=sources),)), "off")
    assert not any(state.is_live(point) for point in circuit.points)
