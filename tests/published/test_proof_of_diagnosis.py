"""The diagnosis against vehicles that the circuit simulator ngspice answers for: what it says comes true.

A small slice of what `packaging/bench.py diagnosis` does with thousands of faults; the seeds are fixed.
"""

from __future__ import annotations

import math

import pytest
from published import ngspice
from published.reckoning import Reckoning, reckoned, together
from published.simulated import Simulated, design, misread
from published.technician import MOST_TESTS, OtherWays, by_proposal, cases, chain, search
from published.vehicles import large_vehicle, small_vehicle

from workshop_log.diagnosis.candidates import Access, candidates
from workshop_log.electrics.probes import Resistance, predict

pytestmark = pytest.mark.skipif(ngspice.PROGRAM is None,
                                reason="the circuit simulator is not installed: apt-get install ngspice")

# Vehicles and faults in each.
SMALL, LARGE, FAULTS = 10, 4, 5
COMPARED_VEHICLES = 8
LARGEST_RELATIVE = 1e-4
# Below a millivolt or a milliampere the difference counts as if it were one of these.
FLOOR = 1e-3


@pytest.fixture(scope="module")
def simulator(tmp_path_factory):
    with ngspice.Simulator(tmp_path_factory.mktemp("ngspice")) as running:
        yield running


@pytest.fixture(scope="module")
def proved(simulator):
    """All cases searched by proposals, the small ones also from the supply down."""
    found: dict[str, list] = {"small": [], "large": [], "supply down": []}
    for size, make, count in (("small", small_vehicle, SMALL), ("large", large_vehicle, LARGE)):
        for seed in range(count):
            vehicle = make(seed)
            designed, others = design(vehicle, simulator), OtherWays(vehicle)
            for case in cases(vehicle, FAULTS, simulator):
                ways = {size: by_proposal} | ({"supply down": others.supply_down} if size == "small" else {})
                for way, choose in ways.items():
                    simulated = Simulated(vehicle, case.truth, simulator, designed, case.key)
                    found[way].append(reckoned(search(case, choose, simulated)))
    return {way: Reckoning(tuple(searches)) for way, searches in found.items()}


def test_the_vehicle_answers_as_the_program_predicts(simulator):
    """Without error of the instrument, what the simulator shows of a fault is what the program predicts of it."""
    compared = 0
    for seed in range(COMPARED_VEHICLES):
        vehicle = (small_vehicle, large_vehicle)[seed % 2](seed)
        designed = design(vehicle, simulator)
        for case in cases(vehicle, 2, simulator):
            simulated = Simulated(vehicle, case.truth, simulator, designed, case.key)
            for test in [one for one in candidates(vehicle.circuit, Access()) if one.probe is not None][::5]:
                circuit = simulated.resting if isinstance(test.probe, Resistance) else case.truth.circuit
                predicted = predict(circuit, test.setup, test.probe, fault=case.truth.faults)
                value, floating = simulated.value(test.setup, test.probe, is_there=True)
                expected = math.nan if predicted.value is None else predicted.value
                assert floating == predicted.floating, (case.key, test.key)
                if not floating:
                    assert value == pytest.approx(expected, rel=LARGEST_RELATIVE, abs=LARGEST_RELATIVE * FLOOR,
                                                  nan_ok=True), (case.key, test.key)
                compared += 1
    assert compared > 300


def test_a_part_that_is_called_is_the_one(proved):
    """Of the cases in which a part came to 95 %, at least so many are right; most cases come that far."""
    both = together([proved["small"], proved["large"]])
    assert len(both.searches) == (SMALL + LARGE) * FAULTS
    assert len(both.called) >= 0.8 * len(both.searches)
    assert both.right >= 0.95


def test_what_is_half_likely_comes_true_half_the_time(proved):
    """What was believed at any moment, in ten bins, came true about as often."""
    both = together([proved["small"], proved["large"]])
    for count, said, true in both.reliability:
        # Moments of one case hang together: three standard deviations of a tenth as many.
        assert abs(true - said) <= 3 * math.sqrt(said * (1 - said) / max(count / 10, 1)), (count, said, true)


def test_proposals_come_to_the_end_sooner(proved):
    """With a complaint, fewer tests and minutes than from the supply down."""
    ours, theirs = proved["small"].with_complaint(), proved["supply down"].with_complaint()
    assert len(ours.searches) == len(theirs.searches) > 20
    assert ours.tests < theirs.tests < MOST_TESTS
    assert ours.minutes < theirs.minutes


def test_a_wrong_belief_shows(proved):
    """The reckoning can fail: with each truth taken for that of the next case hardly anything is right."""
    import dataclasses

    searches = proved["small"].searches
    wrong = Reckoning(tuple(dataclasses.replace(search, share=other.share)
                            for search, other in zip(searches, searches[1:], strict=False)))
    assert wrong.right < 0.5


def test_the_chain_goes_from_the_supply_through_the_load_to_ground():
    """The row of a small vehicle is all of it, in order."""
    vehicle = small_vehicle(0)
    row = chain(vehicle.circuit, vehicle.complaint[0])
    assert [element for element, _, _ in row] == [element.id for element in vehicle.circuit.elements]
    assert all(end == start for (_, _, end), (_, start, _) in zip(row, row[1:], strict=False))
    assert row[-1][2] == "B-"


def test_cases_are_the_same_in_every_run(simulator):
    """The same seed gives the same faults, true values and complaints."""
    first, second = (list(cases(large_vehicle(1), 3, simulator)) for _ in range(2))
    assert first == second
    assert [case.truth.circuit for case in first] == [case.truth.circuit for case in second]
    assert first[0].truth.circuit != large_vehicle(1).circuit


@pytest.mark.parametrize(("text", "possible"), [("12.34", {"1234", "123.40", "1.23"})])
def test_a_misread_reading_is_another_one(text, possible):
    """A wrong digit, a factor of ten or no point."""
    import random

    seen = {misread(text, random.Random(seed)) for seed in range(200)}
    assert possible <= seen
    assert all(len(one) == len(text) for one in seen - possible)
    assert text not in seen
