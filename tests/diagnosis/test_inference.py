"""How likely each suspect is after all the evidence."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from diagnosis.circuits import (
    RUNNING,
    Current,
    Fault,
    Lamp,
    Resistance,
    Voltage,
    along,
    does_not_run,
    feed,
    read,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop_log.diagnosis.evidence import Looked, Measured, Moved, Observed, Swapped
from workshop_log.diagnosis.inference import Options, infer, log_now_and_then, slips
from workshop_log.diagnosis.outdated import Outdated
from workshop_log.diagnosis.suspects import COMES_AND_GOES, HEALTHY, SEVERAL, Weights
from workshop_log.electrics.circuit import Circuit, Element, Setup

FAULTS = (Fault("W1", "open"), Fault("C3", "high resistance", 1.2), Fault("C3", "open"),
          Fault("S1", "stuck open"), Fault("M1", "open"), Fault("G2", "high resistance", 0.8), Fault("G2", "open"))


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.words())
def test_voltages_along_the_feed_lead_to_the_true_element(fault):
    """With every point read under load, the element at fault has almost everything, and the rest adds up."""
    circuit = feed()
    found = infer(circuit, (does_not_run(), *along(circuit, fault)))
    shares = found.shares()
    assert max(shares, key=shares.get) == fault.element
    assert shares[fault.element] > 0.95
    assert math.isclose(sum(shares.values()), 1.0, rel_tol=1e-12)
    assert math.isclose(float(found.probability.sum()), 1.0, rel_tol=1e-12)


def test_a_dead_feed_stays_open_between_the_fuse_and_what_may_have_blown_it():
    """Nothing behind the fuse: it is open, and whether by itself or because something draws too much is not said."""
    circuit = feed()
    found = infer(circuit, (does_not_run(), *along(circuit, Fault("F7", "open"))))
    shares = found.shares()
    assert max(shares, key=shares.get) == "F7"
    assert shares["M1"] > 0.05
    assert shares["W1"] > 0.01
    assert shares["C3"] < 0.001


def test_a_weak_battery_and_a_resistance_behind_it_stay_apart_from_the_rest():
    """9 V everywhere under load: the battery, its inner resistance or the fuse; nothing behind them."""
    circuit = feed()
    shares = infer(circuit, (does_not_run(), *along(circuit, Fault("battery", "low voltage", 9.0)))).shares()
    assert max(shares, key=shares.get) == "battery"
    assert shares["battery"] + shares["F7"] > 0.999


def test_a_short_that_blows_the_fuse_is_found_by_a_dead_resistance():
    """A wire rubbed through blows the fuse; with the battery off an ohmmeter finds the path to ground."""
    circuit, fault = feed(), Fault("W1", "short to ground", 0.4)
    probes = [(Voltage("C3.a"), RUNNING), (Resistance("F7.out", "B-"), "dead")]
    found = infer(circuit, (Observed(step="s0", setup=RUNNING, element="F7", works=False),
                            *(read(circuit, f"s{n}", probe, fault, setup)
                              for n, (probe, setup) in enumerate(probes, 1))))
    assert found.shares()["W1"] > 0.9
    low, high, unit = found.size_of(found.index_of["W1: short to ground, always"])
    assert low < 0.4 < high
    assert unit == "ohm"


def test_healthy_readings_leave_nothing_wrong_the_likeliest():
    """Where every point reads as it should, nothing wrong in this circuit gains most on what was thought before."""
    circuit = feed()
    found = infer(circuit, (*along(circuit, None), Observed(step="s9", setup=RUNNING, element="M1", works=True)))
    assert found.shares()[HEALTHY] > 3 * found.prior[0]
    assert max(found.shares(), key=found.shares().get) == HEALTHY


@given(order=st.permutations(range(7)))
@settings(max_examples=15, deadline=None)
def test_nothing_depends_on_the_order_of_the_steps(order):
    """The same evidence in any order gives the same probabilities to the last digit."""
    circuit, fault = feed(), Fault("G2", "high resistance", 0.8)
    evidence = (does_not_run(), *along(circuit, fault), Looked(step="s7", elements=("G2",), damage=True))
    assert np.array_equal(infer(circuit, tuple(evidence[n] for n in order)).probability,
                          infer(circuit, evidence).probability)


def test_step_by_step_gives_what_all_at_once_gives():
    """One more reading on top of what is known is the same as everything from nothing."""
    circuit = feed()
    evidence = along(circuit, Fault("C3", "open"))
    found = infer(circuit, ())
    for one in evidence:
        found = found.with_evidence(one)
    assert np.array_equal(found.probability, infer(circuit, evidence).probability)


def test_one_misread_reading_does_not_hide_the_true_cause():
    """A slip of eye is borne: the cause stays first, and the reading is the one that is doubted."""
    circuit, fault = feed(), Fault("C3", "open")
    evidence = [does_not_run(), *along(circuit, fault)]
    evidence[1] = read(circuit, "s1", Voltage("F7.out"), fault, off_v=-9.3)
    found = infer(circuit, tuple(evidence))
    shares = found.shares()
    assert max(shares, key=shares.get) == "C3"
    doubted = dict(zip(found.singles.steps, slips(found), strict=True))
    assert max(doubted, key=doubted.get) == "s1"
    assert doubted["s1"] > 0.5


def test_two_faults_at_once_are_considered_when_one_cannot_explain():
    """A bad pin and a bad ground together: no single fault drops the voltage at both places."""
    circuit = feed()
    both = (Fault("C3", "high resistance", 1.0), Fault("G2", "high resistance", 1.5))
    evidence = (*along(circuit, both), read(circuit, "s6", Voltage("C3.a", "C3.b"), both),
                read(circuit, "s7", Voltage("M1.2"), both), read(circuit, "s8", Current("M1"), both))
    found = infer(circuit, evidence)
    likeliest = found.suspects[int(found.probability.argmax())]
    assert {fault.element for fault in likeliest.faults} == {"C3", "G2"}
    assert found.shares()[SEVERAL] > 0.9


def test_shared_tolerance_is_counted_once():
    """A battery at the end of its tolerance moves all readings alike and makes no fault likelier than one reading."""
    circuit = feed()
    low = Circuit(circuit.id, circuit.title, tuple(
        Element(**{**{name: getattr(e, name) for name in e.__slots__}, "voltage_v": 12.42}) if e.id == "battery" else e
        for e in circuit.elements), circuit.setups)
    seen = along(low, None)
    found = infer(circuit, seen)
    # Ten more readings that move with the battery must not pile up against it.
    more = infer(circuit, (*seen, *(read(low, f"t{n}", Voltage(point), None)
                                    for n, point in enumerate(("B+", "F7.out", "C3.a", "C3.b", "M1.1") * 2))))
    assert found.shares()[HEALTHY] > found.prior[0]
    assert more.shares()[HEALTHY] > found.prior[0]


def test_a_floating_point_proves_little():
    """What a meter shows on a point that nothing connects must not condemn anything."""
    circuit = feed()
    caught = Measured(step="s1", setup=RUNNING, probe=Voltage("M1.1"), low=2.7, high=2.7, standard=0.02)
    found = infer(circuit, (caught,))
    opens = found.probability[found.index_of["S1: stuck open, always"]]
    assert opens < 3 * found.prior[found.index_of["S1: stuck open, always"]]


def test_an_instrument_that_was_not_proved_clears_less():
    """A dark lamp that nobody tried before says less than one that was shown to work."""
    circuit = feed()
    lamp = Lamp("B-", "C3.a")
    dark = read(circuit, "s1", lamp, Fault("F7", "open"))
    assert dark.look == "dark"
    left = []
    for proved in (True, None, False):
        seen = type(dark)(step="s1", setup=RUNNING, probe=lamp, look="dark", proved=proved)
        left.append(infer(circuit, (seen,)).shares()[HEALTHY])
    assert left[0] < left[1] < left[2]


def test_a_look_and_a_swap_weigh_by_their_strength():
    """Damage that is plainly seen lifts its element more than a slight sign; a swap that cures settles it."""
    circuit = feed()
    base = infer(circuit, (does_not_run(),)).shares()["W1"]
    shares = [infer(circuit, (does_not_run(), Looked(step="s1", elements=("W1",), damage=True, strength=strength)))
              .shares()["W1"] for strength in ("slight", "fair", "strong")]
    assert base < shares[0] < shares[1] < shares[2]
    assert infer(circuit, (does_not_run(), Swapped(step="s1", element="S1", cured=True))).shares()["S1"] > 0.6
    assert infer(circuit, (does_not_run(), Swapped(step="s1", element="S1", cured=False))).shares()["S1"] < 0.03


def test_movement_finds_the_fault_that_comes_and_goes():
    """Shown in 3 of 10 movements of one wire and in none of another: the first one has it."""
    circuit = feed()
    weights = Weights(comes_and_goes=COMES_AND_GOES["comes and goes"])
    watched = Voltage("M1.1", "M1.2")
    found = infer(circuit, (
        Moved(step="s1", setup=RUNNING, elements=("W1",), probe=watched, trials=10, shown=3),
        Moved(step="s2", setup=RUNNING, elements=("G2",), probe=watched, trials=10, shown=0)), Options(weights))
    shares = found.shares()
    assert shares["W1"] > 0.6
    assert shares["G2"] < 0.3 * shares["C3"]


@pytest.mark.parametrize(("n", "factor"), [(1, 1 / 2), (3, 1 / 4), (10, 1 / 11)])
def test_after_n_clean_trials_a_fault_that_comes_and_goes_weighs_one_in_n_plus_one(n, factor):
    """With the fault away in every one of n tests that would surely have shown it: 0! n! / (n+1)! = 1/(n+1)."""
    there = np.full((n, 1), -60.0)
    away = np.zeros((n, 1))
    assert math.isclose(math.exp(log_now_and_then(there, away, ["still"] * n)[0]), factor, rel_tol=1e-9)


@pytest.mark.parametrize(("n", "k"), [(4, 1), (5, 2), (9, 9)])
def test_seen_k_times_of_n_weighs_the_beta_integral(n, k):
    """∫ q^k (1−q)^(n−k) dq = k! (n−k)! / (n+1)!, for tests that each say for sure whether it was there."""
    there = np.array([[0.0 if number < k else -80.0] for number in range(n)])
    away = np.array([[-80.0 if number < k else 0.0] for number in range(n)])
    exact = math.factorial(k) * math.factorial(n - k) / math.factorial(n + 1)
    assert math.isclose(math.exp(log_now_and_then(there, away, ["still"] * n)[0]), exact, rel_tol=1e-9)


def test_clean_trials_of_one_kind_say_nothing_of_another():
    """Ten clean tests cold and one hot are two chances of their own: 1/11 times 1/2."""
    there, away = np.full((11, 1), -60.0), np.zeros((11, 1))
    weight = math.exp(log_now_and_then(there, away, ["still"] * 10 + ["hot"])[0])
    assert math.isclose(weight, 1 / 22, rel_tol=1e-9)


def test_uncertain_tests_are_summed_over_all_ways():
    """With tests that tell only in part, all 2^n ways of being there or away count, each with its own weight."""
    rng = np.random.default_rng(7)
    there, away = rng.uniform(0.05, 1.0, 5), rng.uniform(0.05, 1.0, 5)
    total = 0.0
    for ways in itertools.product((0, 1), repeat=5):
        k = sum(ways)
        weight = math.factorial(k) * math.factorial(5 - k) / math.factorial(6)
        total += weight * math.prod(there[n] if way else away[n] for n, way in enumerate(ways))
    found = log_now_and_then(np.log(there)[:, None], np.log(away)[:, None], ["still"] * 5)[0]
    assert math.isclose(math.exp(found), total, rel_tol=1e-12)


def test_weights_are_what_is_thought_before_any_test():
    """Without evidence the shares are the weights: what fails three times as often has three times as much."""
    circuit = feed()
    before = infer(circuit, (), Options(Weights(elements={"W1": 3.0, "C3": 1.0}))).shares()
    assert math.isclose(before["W1"] / before["C3"], 3.0, rel_tol=1e-9)
    assert math.isclose(before[HEALTHY], Weights().healthy, rel_tol=1e-12)


def test_an_answer_that_nobody_waits_for_is_given_up():
    """A computation stops when it is asked to, and says so."""
    with pytest.raises(Outdated):
        infer(feed(), along(feed(), None), Options(is_outdated=lambda: True))


def test_a_circuit_of_one_source_and_one_load_has_suspects_too():
    """The smallest circuit: nothing divides by nothing."""
    battery = Element("B", "battery", ("B+", "B-"), voltage_v=12.6, voltage_tolerance_v=0.2, resistance_ohm=0.01,
                      tolerance=0.5)
    load = Element("L", "load", ("B+", "B-"), resistance_ohm=10.0, tolerance=0.1)
    dead = Measured(step="s1", setup="x", probe=Current("L"), low=0.0, high=0.0, standard=0.01)
    shares = infer(Circuit("tiny", "", (battery, load), (Setup("x"),)), (dead,)).shares()
    assert max(shares, key=shares.get) == "L"
    assert shares[HEALTHY] < 0.001


def test_a_fuse_that_is_seen_blown_is_not_the_cause_for_all_that():
    """A short blows it too: looking at the fuse leaves what may have blown it as likely as before."""
    circuit = feed()
    before = infer(circuit, (does_not_run(),)).shares()
    after = infer(circuit, (does_not_run(), Looked(step="s1", elements=("F7",), damage=True))).shares()
    assert after["F7"] > 2 * before["F7"]
    assert after["M1"] > 0.7 * before["M1"]
    assert after["C3"] < 0.4 * before["C3"]
