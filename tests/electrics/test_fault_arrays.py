"""Faults as changes of rank one and two, against solving each one anew."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from electrics.generated import circuit_and_setup, random_probe
from electrics.samples import horn, series

from workshop_log.electrics.circuit import CircuitError
from workshop_log.electrics.fault_arrays import FaultReadings, fault_readings, pair_readings
from workshop_log.electrics.faults import Fault, amounts, faults_of
from workshop_log.electrics.probes import Current, Lamp, Resistance, Voltage, predict
from workshop_log.electrics.solver import solve

CIRCUITS = 60
LARGEST_RELATIVE = 1e-5
FLOOR = 1e-3
# Where nothing but the insulation of 1 nS and a meter hold a point, rounding shows. [V]
FLOATING_FLOOR_V = 0.05


def fault_of(readings: FaultReadings, cell: int) -> tuple[Fault, ...]:
    return tuple(fault.of(None if math.isnan(amount) else float(amount)) for fault, amount in zip(
        readings.faults[readings.fault[cell]], readings.amount[cell], strict=False))


def compare(circuit, setup, probes, readings: FaultReadings, cells) -> None:
    for cell in cells:
        fault = fault_of(readings, cell)
        for number, probe in enumerate(probes):
            alone = predict(circuit, setup, probe, fault=fault)
            together, place = readings.value[cell, number], (circuit.id, fault, probe)
            assert bool(readings.floating[cell, number]) == alone.floating, place
            if alone.value is None or math.isinf(alone.value):
                assert np.isnan(together) if alone.value is None else np.isinf(together), place
                continue
            floor = FLOATING_FLOOR_V if alone.floating else FLOOR
            assert together == pytest.approx(alone.value, rel=LARGEST_RELATIVE, abs=LARGEST_RELATIVE * floor), place
            if not isinstance(probe, Lamp):
                state = (alone.state.pulled_in, alone.state.blown)
                assert readings.states[readings.state[cell]] == state, place
                assert bool(readings.chatters[cell]) == alone.state.chatters, place


@pytest.mark.parametrize("seed", range(CIRCUITS))
def test_single_faults_are_those_solved_anew(seed):
    """Any fault of any size on any instrument, through relays, fuses, lamps and diodes."""
    circuit, setup = circuit_and_setup(seed)
    chance = random.Random(seed)
    probes = [random_probe(seed * 7 + number, circuit, ohmmeter=True) for number in range(5)]
    readings = fault_readings(circuit, setup, probes, cells=5)
    compare(circuit, setup, probes, readings, [0, *chance.sample(range(len(readings.fault)), 8)])


@pytest.mark.parametrize("seed", range(1000, 1000 + CIRCUITS // 2))
def test_pairs_of_faults_are_those_solved_anew(seed):
    """Two faults at once, of different elements."""
    circuit, setup = circuit_and_setup(seed, 20)
    chance = random.Random(seed)
    faults = faults_of(circuit)
    pairs = [(one, other) for one, other in (chance.sample(faults, 2) for _ in range(12))
             if one.element != other.element]
    probes = [random_probe(seed * 7 + number, circuit, ohmmeter=True) for number in range(4)]
    readings = pair_readings(circuit, setup, probes, pairs, 3)
    compare(circuit, setup, probes, readings, chance.sample(range(len(readings.fault)), 10))


def test_shapes_and_order():
    """The healthy circuit is the first cell; each fault has its cells together, those of one size only one."""
    circuit = series()
    probes = [Voltage("a"), Current("M"), Resistance("a", "b")]
    readings = fault_readings(circuit, "on", probes, cells=7)
    assert readings.faults[0] == ()
    assert readings.faults[1:] == tuple((fault,) for fault in faults_of(circuit))
    n_cells = 1 + sum(7 if fault.has_amount else 1 for fault in faults_of(circuit))
    assert readings.value.shape == readings.floating.shape == (n_cells, 3)
    for number, each in enumerate(readings.faults):
        found = readings.amount[readings.cells_of(number), 0]
        if each and each[0].has_amount:
            assert tuple(found) == amounts(circuit.element(each[0].element), each[0].kind, 7)
        else:
            assert len(found) == 1
            assert np.isnan(found[0])
    healthy = solve(circuit, "on")
    assert readings.value[0, 1] == pytest.approx(healthy.current_a("M"), rel=1e-9)
    assert np.isnan(readings.value[0, 2])


def test_given_amounts_are_kept():
    """A fault with an amount is computed for that amount alone."""
    readings = fault_readings(series(), "on", [Voltage("a")], [Fault("C", "high resistance", 0.5)])
    assert readings.value[1, 0] == pytest.approx(11.001331, abs=1e-5)  # published case
    assert len(readings.fault) == 2


def test_short_blows_its_fuse_only_below_some_resistance():
    """The same fault stands in two switching states: with the fuse whole and with it blown."""
    readings = fault_readings(horn(), "pressed", [Voltage("87")], [Fault("H1", "draws too much")], cells=32)
    blown = [bool(readings.states[state][1]) for state in readings.state[1:]]
    assert blown[0]
    assert not blown[-1]
    assert blown == sorted(blown, reverse=True)


def test_sensitivities_are_what_a_small_change_does():
    """One standard uncertainty of each parameter, by solving again with the parameter changed a little."""
    from dataclasses import replace

    circuit = horn()
    probes = [Voltage("87"), Current("F1"), Lamp("B-", "30")]
    readings = fault_readings(circuit, "pressed", probes, [Fault("F1", "high resistance", 0.3)], with_sensitivity=True)
    step = 1e-4
    for number, (name, what) in enumerate(readings.parameters):
        element = circuit.element(name)
        if what == "voltage":
            size = element.voltage_tolerance_v
            changed = replace(element, voltage_v=element.voltage_v + step * size)
        else:
            changed = replace(element, resistance_ohm=element.resistance_ohm * (1 + step * element.tolerance))
        other = replace(circuit, elements=tuple(changed if each is element else each for each in circuit.elements))
        for cell, fault in ((0, ()), (1, (Fault("F1", "high resistance", 0.3),))):
            for column, probe in enumerate(probes):
                before, after = (predict(each, "pressed", probe, fault=fault).value for each in (circuit, other))
                expected = (after - before) / step / math.sqrt(3)
                assert readings.sensitivity[cell, column, number] == pytest.approx(expected, rel=1e-2, abs=1e-6)


def test_sensitivities_add_up_to_the_prediction():
    """Root sum of squares over the parameters is what a single prediction says, without what the leads catch."""
    circuit, setup = circuit_and_setup(3)
    probes = [Voltage(point) for point in circuit.points[1:9]]
    readings = fault_readings(circuit, setup, probes, [], with_sensitivity=True)
    for number, probe in enumerate(probes):
        alone = predict(circuit, setup, probe)
        if not alone.floating:
            parts = [part.standard for part in alone.contributions if part.element]
            together = np.linalg.norm(readings.sensitivity[0, number])
            assert together == pytest.approx(math.hypot(*parts), rel=1e-3, abs=1e-5)


def test_same_answer_to_the_last_digit():
    """Nothing depends on chance or on what was computed before."""
    circuit, setup = circuit_and_setup(8, 30)
    probes = [Voltage(point) for point in circuit.points[1:]]
    first, second = (fault_readings(circuit, setup, probes, cells=8).value for _ in range(2))
    assert np.array_equal(first, second, equal_nan=True)


def test_pair_of_one_element_is_refused():
    """Two faults of one element are no pair."""
    with pytest.raises(CircuitError, match="two different elements"):
        pair_readings(series(), "on", [Voltage("a")], [(Fault("C", "open"), Fault("C", "high resistance"))])
