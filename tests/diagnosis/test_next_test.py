"""Which tests could be made, what each would show, and what deciding now costs against testing first."""

from __future__ import annotations

import math

import numpy as np
import pytest
from diagnosis.circuits import POINTS, RUNNING, Fault, Lamp, Resistance, Voltage, along, does_not_run, feed, read

from workshop_log.diagnosis.candidates import Access, Candidate, already_made, candidates
from workshop_log.diagnosis.evidence import Looked, Swapped
from workshop_log.diagnosis.inference import Options, infer
from workshop_log.diagnosis.next_test import NextTest, propose
from workshop_log.diagnosis.outcomes import hypotheses, outcomes
from workshop_log.diagnosis.suspects import COMES_AND_GOES, Weights
from workshop_log.diagnosis.telling_apart import told_apart
from workshop_log.electrics.circuit import Circuit, Element, Setup
from workshop_log.electrics.probes import predict


def with_sensor() -> Circuit:
    """Return a restraint, a control unit and a sensor on one supply, as far as tests may go."""
    return Circuit("guarded", "", (
        Element("battery", "battery", ("B+", "B-"), voltage_v=12.6, voltage_tolerance_v=0.2, resistance_ohm=0.01,
                tolerance=0.5),
        Element("W1", "wire", ("B+", "u1"), resistance_ohm=0.05, tolerance=0.1),
        Element("ECU", "control unit", ("u1", "B-"), resistance_ohm=60.0, tolerance=0.3),
        Element("W9", "wire", ("u1", "r1"), resistance_ohm=0.05, tolerance=0.1),
        Element("BAG", "load", ("r1", "r2"), resistance_ohm=2.0, tolerance=0.1, protected="pyrotechnic"),
        Element("W8", "wire", ("r2", "B-"), resistance_ohm=0.05, tolerance=0.1)), (Setup("on"),))


def test_nothing_is_proposed_on_a_restraint_or_its_wiring():
    """Neither a measurement nor a look, lamp, swap or movement touches it or the wires that lead to it."""
    found = candidates(with_sensor(), Access(), with_movement=True)
    touched = {name for one in found for name in (*one.points, *one.elements)}
    assert not touched & {"r1", "r2", "BAG", "W9", "W8"}
    assert touched
    # Beside it neither a lamp nor an ohmmeter nor a hand on the loom either.
    assert {one.kind for one in found} <= {"voltage", "current", "look"}


def test_no_lamp_goes_to_a_control_unit():
    """A lamp's current destroys an input; a voltmeter may go there."""
    found = candidates(feed(motor_weight="control unit"), Access())
    lamps = {one.probe.probe for one in found if one.kind == "lamp"}
    assert "M1.1" not in lamps
    assert "M1.2" not in lamps
    assert Candidate("voltage", RUNNING, Voltage("M1.1")) in found


def test_an_ohmmeter_is_proposed_only_where_the_battery_is_off():
    """The circuit can be made dead, so it is; and a live circuit never gets an ohmmeter."""
    circuit = feed()
    tests = NextTest(infer(circuit, (does_not_run(),)))
    ohm = [one for one in tests.outcomes.candidates if one.kind == "resistance"]
    assert ohm
    assert {one.setup for one in ohm} == {"dead"}


def test_what_cannot_be_reached_is_left_out():
    """A point said to be out of reach, an element, a kind of test that is not at hand."""
    circuit = feed()
    access = Access(unreachable_points=frozenset({"C3.a"}), unreachable_elements=frozenset({"G2"}),
                    not_available=frozenset({("current", ""), ("swap", "F7")}))
    found = candidates(circuit, access)
    assert not [one for one in found if "C3.a" in one.points]
    assert not [one for one in found if "G2" in one.elements]
    assert not [one for one in found if one.kind == "current"]
    assert not [one for one in found if one.kind == "swap" and "F7" in one.elements]
    assert [one for one in found if one.kind == "voltage" and "C3.b" in one.points]


def test_access_counts_once():
    """What lies open costs only the test; a point is opened by whichever of its elements needs least."""
    circuit = feed()
    access = Access(minutes={"W1": 25.0, "C3": 10.0})
    at_wire = Candidate("voltage", RUNNING, Voltage("C3.a"))
    assert access.needed(circuit, at_wire) == ("C3",)
    assert access.needed(circuit, Candidate("look", elements=("W1",))) == ("W1",)
    opened = Access(minutes={"W1": 25.0, "C3": 10.0}, off=frozenset({"C3"}))
    assert opened.needed(circuit, at_wire) == ()


def test_another_setup_takes_its_time():
    """Staying in the setup costs nothing; each thing pulled or put back costs."""
    circuit = feed()
    access = Access(setup=RUNNING)
    here = access.base_minutes(circuit, Candidate("voltage", RUNNING, Voltage("C3.a")))
    there = access.base_minutes(circuit, Candidate("voltage", "dead", Voltage("C3.a")))
    assert here == 2.0
    assert there > here + 1.0


@pytest.mark.parametrize("fault", [Fault("C3", "open"), Fault("G2", "high resistance", 0.8), Fault("F7", "open")])
def test_outcome_tables_are_probabilities_and_agree_with_the_solver(fault):
    """Every row adds up to one, and the healthy value of each measurement is what the solver predicts."""
    circuit = feed()
    found = infer(circuit, (does_not_run(), read(circuit, "s1", Voltage("M1.1"), fault)))
    of = hypotheses(found)
    tests = candidates(circuit, Access())
    made = outcomes(found, of, tests)
    assert np.allclose(made.table.sum(axis=2), 1.0, atol=1e-9)
    assert (made.table >= 0).all()
    assert math.isclose(float(of.probability.sum()), 1.0, rel_tol=1e-9)
    for number, candidate in enumerate(made.candidates):
        if candidate.kind in ("voltage", "current"):
            exact = predict(circuit, candidate.setup, candidate.probe).value
            assert math.isclose(float(made.value[number, 0]), exact, rel_tol=1e-6, abs_tol=1e-6)


def test_a_lamp_by_its_source_and_resistance_is_the_lamp_laid_in():
    """The shortcut for lamps, an open voltage and a resistance, gives the voltage that the whole circuit gives."""
    circuit = feed()
    found = infer(circuit, (does_not_run(),))
    of = hypotheses(found)
    tests = tuple(Candidate("lamp", RUNNING, Lamp("B-", point)) for point in POINTS)
    made = outcomes(found, of, tests)
    for number, candidate in enumerate(made.candidates):
        exact = predict(circuit, RUNNING, candidate.probe).value / candidate.probe.rated_v
        assert math.isclose(float(made.value[number, 0]), exact, rel_tol=0.01, abs_tol=0.01)


def test_the_first_proposal_splits_the_feed():
    """A dead motor and nothing measured: the best test is a measurement that divides what is possible."""
    circuit = feed()
    best = propose(infer(circuit, (does_not_run(),)), 1)[0]
    assert best.candidate.kind in ("voltage", "lamp")
    assert best.bits > 0.5
    assert set(best.candidate.points) - {"B-", "B+"}


def test_following_the_proposals_isolates_every_fault():
    """Each kind of fault of the feed is found by at most six of the proposed measurements."""
    circuit = feed()
    for fault in (Fault("W1", "open"), Fault("C3", "high resistance", 1.2), Fault("S1", "stuck open"),
                  Fault("M1", "open"), Fault("G2", "open"), Fault("G2", "high resistance", 0.8)):
        found = infer(circuit, (does_not_run(),))
        for number in range(6):
            shares = found.shares()
            if max(shares.values()) > 0.95:
                break
            candidate = propose(found, 1)[0].candidate
            is_here = fault.element in candidate.elements
            if candidate.kind == "look":
                found = found.with_evidence(Looked(step=f"s{number}", elements=candidate.elements, damage=is_here))
            elif candidate.kind == "swap":
                found = found.with_evidence(Swapped(step=f"s{number}", element=candidate.elements[0], cured=is_here))
            else:
                found = found.with_evidence(read(circuit, f"s{number}", candidate.probe, fault, candidate.setup))
        assert max(found.shares(), key=found.shares().get) == fault.element, fault
        assert found.shares()[fault.element] > 0.95, fault


def test_what_was_made_is_not_proposed_again():
    """For a fault that is always there the same measurement again would show the same again."""
    circuit = feed()
    found = infer(circuit, (does_not_run(), *along(circuit, Fault("C3", "open"))),
                  Options(Weights(comes_and_goes=COMES_AND_GOES["always"])))
    made = already_made(found.evidence)
    assert len(made) == len(POINTS)
    assert not made & {one.key for one in NextTest(found).outcomes.candidates}


def test_movement_is_considered_for_what_comes_and_goes_only():
    """A fault that is always there is measured, not provoked."""
    circuit = feed()
    for appears, considered in (("always", False), ("comes and goes", True)):
        found = infer(circuit, (), Options(Weights(comes_and_goes=COMES_AND_GOES[appears])))
        kinds = {one.kind for one in NextTest(found).outcomes.candidates}
        assert ("movement" in kinds) == considered


def test_testing_first_never_makes_the_decision_worse():
    """The expected loss after a test is at most that of deciding now: information has no negative worth."""
    circuit = feed()
    tests = NextTest(infer(circuit, (does_not_run(),)))
    loss, elements = tests.losses({element.id: 50.0 + 10 * n for n, element in enumerate(circuit.elements)})
    now = float((loss @ tests.belief).min())
    after = tests.loss_after(loss)
    assert len(elements) == len(circuit.elements)
    assert (after <= now + 1e-9).all()
    assert after.min() < 0.85 * now


def test_elements_condemned_together_are_right_if_either_is_at_fault():
    """A wire and the pin at its end, replaced together: wrong only if it is neither."""
    tests = NextTest(infer(feed(), (does_not_run(),)))
    loss, elements = tests.losses(dict.fromkeys(("W1", "C3", "M1"), 10.0), ("W1", "C3"))
    row = loss[elements.index("W1")]
    assert row[tests.shares.index("C3")] == 0.0
    assert row[tests.shares.index("W1")] == 0.0
    assert row[tests.shares.index("M1")] == 20.0


def test_a_wire_and_a_pin_without_a_point_between_cannot_be_told_apart():
    """Only where the point between them cannot be reached; with it a measurement tells them apart."""
    circuit = feed()
    found = infer(circuit, (does_not_run(), read(circuit, "s1", Voltage("F7.out"), Fault("W1", "open")),
                            read(circuit, "s2", Voltage("C3.b"), Fault("W1", "open"))))
    pair = tuple(found.index_of[f"{element}: open, always"] for element in ("W1", "C3"))
    assert told_apart(found, pair, Access())[0, 1]
    assert not told_apart(found, pair, Access(unreachable_points=frozenset({"C3.a"})))[0, 1]


def test_the_ohmmeter_reads_motors_as_they_are_at_rest():
    """A motor that stands has a fraction of its running resistance, and is not blamed for it."""
    circuit = feed()
    standing = read(circuit, "s1", Resistance("M1.1", "M1.2"), None, "dead")
    at_rest = type(standing)(step="s1", setup="dead", probe=standing.probe, low=0.45, high=0.45, standard=0.1)
    found = infer(circuit, (at_rest,))
    assert found.shares()["M1"] < 1.5 * infer(circuit, ()).shares()["M1"]
