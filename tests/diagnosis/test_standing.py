"""Where each suspect stands, and readings that contradict one another."""

from __future__ import annotations

import math

import pytest
from diagnosis.circuits import Current, Fault, Voltage, along, does_not_run, feed, read

from workshop_log.diagnosis.inference import Options, infer, infer_from, infer_without
from workshop_log.diagnosis.standing import BACK_ABOVE, CLEARED_BELOW, contradictions, standings
from workshop_log.diagnosis.suspects import COMES_AND_GOES, Weights


@pytest.fixture(scope="module")
def found():
    """Return what is believed of a pin that is open, read along the feed."""
    circuit = feed()
    return infer(circuit, (does_not_run(), *along(circuit, Fault("C3", "open"))))


def test_a_cleared_suspect_comes_back_without_the_steps_that_cleared_it(found):
    """Where one to three steps are named, the suspect is over 1 % again without them, computed anew from nothing."""
    checked = 0
    for suspect, standing in zip(found.suspects, standings(found), strict=True):
        if standing.word != "cleared" or len(standing.cleared_by) > 3:
            continue
        assert found.probability[found.index_of[suspect.key]] < CLEARED_BELOW
        single = [{step} for step in standing.cleared_by]
        tried = [single, [set(standing.cleared_by)]]
        back = []
        for sets in tried:
            for taken in sets:
                again = infer(found.circuit, tuple(one for one in found.evidence if one.step not in taken))
                back.append(again.probability[again.index_of[suspect.key]] > BACK_ABOVE)
        assert all(back[:-1]) or back[-1], (suspect.key, standing.cleared_by)
        checked += 1
    assert checked >= 10


def test_every_cleared_suspect_names_what_cleared_it(found):
    """Nothing is cleared by nothing, and nothing standing has been cleared."""
    words = {}
    for suspect, standing in zip(found.suspects, standings(found), strict=True):
        words.setdefault(standing.word, []).append(suspect.key)
        assert (standing.word == "cleared") == bool(standing.cleared_by)
    assert "S1: stuck open, always" in words["cleared"]
    assert "C3: open, always" not in words["cleared"]


def test_leaving_a_step_out_is_the_same_as_never_having_made_it(found):
    """The shortcut that keeps what was computed gives what a new computation gives."""
    short = infer_without(found, {"s3"})
    anew = infer(found.circuit, tuple(one for one in found.evidence if one.step != "s3"))
    assert all(math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-15)
               for a, b in zip(short.tolist(), anew.probability.tolist(), strict=True))


def test_one_cause_with_almost_everything_is_proved():
    """A bad ground that is always there, as the customer says: over 95 %, and all others together under 5 %."""
    circuit, fault = feed(), Fault("G2", "high resistance", 1.5)
    evidence = (does_not_run(), *along(circuit, fault), read(circuit, "s6", Current("M1"), fault))
    found = infer(circuit, evidence, Options(Weights(comes_and_goes=COMES_AND_GOES["always"])))
    proved = [suspect.key for suspect, standing in zip(found.suspects, standings(found), strict=True)
              if standing.word == "proved"]
    assert proved == ["G2: high resistance, always"]


def test_readings_that_cannot_both_be_right_are_named():
    """At one point 12 V and then 3 V, with all else alike: the one that goes with the others stays."""
    circuit, fault = feed(), Fault("C3", "open")
    wrong = read(circuit, "s9", Voltage("F7.out"), fault, off_v=-9.0)
    found = infer(circuit, (does_not_run(), *along(circuit, fault), wrong))
    (doubt,) = contradictions(found)
    assert doubt.repeat == "s9"


def test_readings_that_go_together_are_not_doubted(found):
    """A clean job has no contradiction."""
    assert contradictions(found) == ()


def test_a_repeated_reading_settles_the_contradiction():
    """The doubted reading replaced by a good one: nothing is doubted any more."""
    circuit, fault = feed(), Fault("C3", "open")
    wrong = read(circuit, "s1", Voltage("F7.out"), fault, off_v=-9.0)
    found = infer(circuit, (does_not_run(), *along(circuit, fault)[1:], wrong))
    assert contradictions(found)
    assert not contradictions(infer_from(found, (does_not_run(), *along(circuit, fault))))
