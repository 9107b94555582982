"""Circuits of every kind, with evidence that fits and evidence that does not: nothing breaks, everything adds up."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from electrics.generated import circuit_and_setup

from workshop_log.diagnosis.evidence import LampSeen, Looked, Measured, Moved, Observed, Swapped
from workshop_log.diagnosis.inference import infer, slips
from workshop_log.diagnosis.next_test import NextTest
from workshop_log.diagnosis.standing import contradictions, standings
from workshop_log.electrics.circuit import Circuit, CircuitError
from workshop_log.electrics.faults import amounts, faults_of
from workshop_log.electrics.probes import Current, Lamp, Resistance, Voltage, predict

SEEDS = range(10)


def made_up(seed: int) -> tuple[Circuit, str]:
    """Return a circuit of six to some twenty elements, and a setup of it."""
    circuit, setup = circuit_and_setup(seed, random.Random(seed).choice((6, 9, 12, 16)))
    if isinstance(setup, str):
        return circuit, setup
    kept = tuple(one for one in circuit.setups if one.id != setup.id)
    return Circuit(circuit.id, circuit.title, circuit.elements, (*kept, setup)), setup.id


def found_out(circuit: Circuit, setup: str, chance: random.Random) -> tuple:
    """Return readings of a vehicle with one fault, and looks, movements and swaps that may say anything."""
    fault = chance.choice(faults_of(circuit))
    if fault.has_amount:
        fault = fault.of(chance.choice(amounts(circuit.element(fault.element), fault.kind)))
    made: list = []
    points = circuit.points
    for number in range(6):
        red, black = chance.sample(points, 2)
        probe = chance.choice([Voltage(red, black), Resistance(red, black), Lamp("B-", chance.choice(points[1:])),
                               Current(chance.choice(circuit.elements).id)])
        try:
            shown = predict(circuit, setup, probe, fault=fault)
        except CircuitError:
            continue
        if isinstance(probe, Lamp):
            made.append(LampSeen(step=f"s{number}", setup=setup, probe=probe, look=shown.look))
        elif shown.value is not None:
            low = 1e6 if math.isinf(shown.value) else float(f"{shown.value:.3g}")
            high = math.inf if math.isinf(shown.value) else low
            made.append(Measured(step=f"s{number}", setup=setup, probe=probe, low=low, high=high,
                                 standard=max(0.01 * abs(low), 0.005)))
    element = chance.choice(circuit.elements).id
    return (*made, Observed(step="o", setup=setup, element=element, works=chance.random() < 0.5),
            Looked(step="l", elements=(element,), damage=chance.random() < 0.3),
            Moved(step="m", setup=setup, elements=(element,), probe=None, trials=5, shown=chance.choice((0, 2))),
            Swapped(step="w", setup=setup, element=element, cured=chance.random() < 0.2))


@pytest.mark.parametrize("seed", SEEDS)
def test_any_circuit_with_any_evidence_adds_up(seed):
    """Probabilities are numbers between nothing and one that add up; every test has a table that does."""
    chance = random.Random(seed)
    circuit, setup = made_up(seed)
    found = infer(circuit, found_out(circuit, setup, chance))
    assert np.isfinite(found.probability).all()
    assert (found.probability >= 0).all()
    assert math.isclose(float(found.probability.sum()), 1.0, rel_tol=1e-9)
    assert len(standings(found)) == len(found.suspects)
    assert ((slips(found) >= -1e-9) & (slips(found) <= 1 + 1e-9)).all()
    contradictions(found)
    tests = NextTest(found)
    assert np.allclose(tests.outcomes.table.sum(axis=2), 1.0, atol=1e-6)
    for proposed in tests.best(3):
        assert proposed.bits >= 0
        assert proposed.minutes > 0
