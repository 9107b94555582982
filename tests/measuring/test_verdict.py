"""The verdict on a reading."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import norm

from workshop_log.measuring.entry import Entry, read_entry
from workshop_log.measuring.instruments import AccuracyRange, Instrument
from workshop_log.measuring.ranges import ExpectedRange
from workshop_log.measuring.uncertainty import Uncertainty, standard_uncertainty
from workshop_log.measuring.verdict import (
    UnitMismatchError,
    Verdict,
    VerdictLimits,
    VerdictLimitsError,
    judge,
    probability_inside,
)

METER = Instrument("meter", ranges=(AccuracyRange("resistance", 600, 0.9, 2, 0.1),))


def verdict_on(text, low, high, unit="V", u=0.05, **more):
    """Judge a typed reading with a standard uncertainty."""
    return judge(read_entry(text, usual_unit=unit), ExpectedRange(low, high, unit, "typed"), Uncertainty(u), **more)


@pytest.mark.parametrize(("text", "low", "high", "verdict"), [
    # Two-sided, u = 0.05 V: 95 % one-sided needs 1.645 u = 0.082 V to the limit.
    ("12.35 V", 12.1, 12.6, Verdict.INSIDE), ("12.19 V", 12.1, 12.6, Verdict.INSIDE),
    ("12.18 V", 12.1, 12.6, Verdict.TOO_CLOSE), ("12.10 V", 12.1, 12.6, Verdict.TOO_CLOSE),
    ("12.02 V", 12.1, 12.6, Verdict.TOO_CLOSE), ("12.01 V", 12.1, 12.6, Verdict.OUTSIDE),
    ("12.51 V", 12.1, 12.6, Verdict.INSIDE), ("12.52 V", 12.1, 12.6, Verdict.TOO_CLOSE),
    ("12.68 V", 12.1, 12.6, Verdict.TOO_CLOSE), ("12.69 V", 12.1, 12.6, Verdict.OUTSIDE),
    # One-sided.
    ("9.69 V", 9.6, None, Verdict.INSIDE), ("9.68 V", 9.6, None, Verdict.TOO_CLOSE),
    ("9.51 V", 9.6, None, Verdict.OUTSIDE), ("0.11 V", None, 0.2, Verdict.INSIDE),
    ("0.12 V", None, 0.2, Verdict.TOO_CLOSE), ("0.29 V", None, 0.2, Verdict.OUTSIDE),
])
def test_verdict_on_both_sides_of_each_limit(text, low, high, verdict):
    """One digit decides, where z = 1.645 says so."""
    assert verdict_on(text, low, high).verdict is verdict


@pytest.mark.parametrize(("text", "low", "high", "verdict"), [
    ("OL", None, 100, Verdict.OUTSIDE), ("OL", 60, 120, Verdict.OUTSIDE), ("OL", 1e6, None, Verdict.INSIDE),
    ("< 0.1 ohm", None, 0.2, Verdict.INSIDE), ("< 0.1 ohm", None, 0.05, Verdict.TOO_CLOSE),
    ("< 0.1 ohm", 5, None, Verdict.OUTSIDE), ("< 0.1 ohm", 0, 0.3, Verdict.TOO_CLOSE),
    ("> 10 Mohm", 1e6, None, Verdict.INSIDE), ("> 10 Mohm", None, 1e3, Verdict.OUTSIDE),
    ("> 10 ohm", None, 20, Verdict.TOO_CLOSE), ("> 10 ohm", 20, None, Verdict.TOO_CLOSE),
    ("> 10 ohm", 1, 5, Verdict.OUTSIDE), ("< 10 ohm", 20, 30, Verdict.OUTSIDE),
])
def test_bounds_and_over_range_hold_for_every_value_they_leave(text, low, high, verdict):
    """Inside or outside only if no value that the reading leaves possible says otherwise."""
    assert verdict_on(text, low, high, "ohm", u=0.01).verdict is verdict


def test_bound_that_decides_nothing_has_the_middle_of_what_is_possible():
    """Below 10 Ω the reading may be nought, surely outside 2 to 5 Ω, or 3.5 Ω, surely inside: one half."""
    assert verdict_on("< 10 ohm", 2, 5, "ohm", u=0.01).probability_inside == pytest.approx(0.5)


def test_small_bound_is_inside_a_range_about_zero():
    """Less than 0.1 V is not minus twelve volts: it lies inside −0.2 to 0.2 V."""
    assert verdict_on("< 0.1 V", -0.2, 0.2, u=0.001).verdict is Verdict.INSIDE
    assert verdict_on("< 10 °C", 0, 20, "°C", u=0.1).verdict is Verdict.TOO_CLOSE


@pytest.mark.parametrize(("low", "high", "verdict"), [
    (None, 100, Verdict.OUTSIDE), (100, None, Verdict.INSIDE), (1000, None, Verdict.TOO_CLOSE),
    (None, 1000, Verdict.TOO_CLOSE), (60, 120, Verdict.OUTSIDE),
])
def test_over_range_of_a_known_instrument_is_above_its_largest_range(low, high, verdict):
    """OL on a meter that ends at 600 Ω says nothing about 1 kΩ."""
    entry = read_entry("OL", usual_unit="ohm")
    judgement = judge(entry, ExpectedRange(low, high, "ohm", "typed"), standard_uncertainty(entry, METER))
    assert judgement.verdict is verdict
    assert "above 600\u00a0Ω" in judgement.reason[1]


def test_over_range_without_a_unit_means_what_was_expected():
    """Nobody types a unit after OL."""
    judgement = judge(read_entry("OL"), ExpectedRange(None, 5, "ohm", "typed"), Uncertainty(0))
    assert judgement.verdict is Verdict.OUTSIDE
    assert "taken to reach beyond the limits" in judgement.reason[1]
    assert judgement.reason[-1] == "The reading is outside: too high."


def test_reading_in_another_unit_of_the_dimension_is_converted():
    """35 psi is 2.413 bar: inside 2.2 to 2.6 bar."""
    judgement = judge(read_entry("35.0 psi"), ExpectedRange(2.2, 2.6, "bar", "typed"), Uncertainty(0.5))
    assert judgement.verdict is Verdict.INSIDE
    assert judgement.probability_inside == pytest.approx(
        norm.cdf(2.6, 2.413165, 0.0344738) - norm.cdf(2.2, 2.413165, 0.0344738), abs=1e-6)


def test_reading_of_another_dimension_is_told_in_one_sentence():
    """Ohms typed where volts are expected."""
    with pytest.raises(UnitMismatchError) as caught:
        judge(read_entry("5 ohm"), ExpectedRange(0, 1, "V", "typed"), Uncertainty(0.1))
    assert (caught.value.expected, caught.value.got) == ("V", "ohm")
    assert str(caught.value) == ("A reading in Ω (resistance) cannot be compared with V (voltage): "
                                 "change the unit or the step.")


def test_instrument_too_coarse_for_the_range_never_condemns():
    """0.00 V read where 0 to 1 mV is expected: probability inside is 3 %, yet nothing speaks against the part."""
    entry = read_entry("0.00 V")
    judgement = judge(entry, ExpectedRange(0, 0.001, "V", "the circuit"), standard_uncertainty(entry))
    assert judgement.probability_inside < 0.05
    assert judgement.verdict is Verdict.TOO_CLOSE
    assert judgement.reason[-1] == ("No reading of this instrument with so few digits could be surely inside "
                                    "so narrow a range.")


def test_uncertainty_of_the_limits_counts():
    """A limit that is itself uncertain widens what is too close."""
    sure = ExpectedRange(None, 0.2, "V", "typed")
    unsure = ExpectedRange(None, 0.2, "V", "typed", 0.1)
    entry = read_entry("0.30 V")
    assert judge(entry, sure, Uncertainty(0.03)).verdict is Verdict.OUTSIDE
    assert judge(entry, unsure, Uncertainty(0.03)).verdict is Verdict.TOO_CLOSE


def test_workshop_sets_its_own_limits():
    """What is surely inside at 95 % is too close at 99.9 %."""
    assert verdict_on("0.10 V", None, 0.2).verdict is Verdict.INSIDE
    assert verdict_on("0.10 V", None, 0.2, limits=VerdictLimits(0.999, 0.001)).verdict is Verdict.TOO_CLOSE


@pytest.mark.parametrize(("inside", "outside"), [(0.5, 0.5), (0.05, 0.95), (1.1, 0), (0.9, -0.1), (math.nan, 0.05)])
def test_limits_of_the_verdict_leave_room(inside, outside):
    """A reading cannot be inside and outside at once."""
    with pytest.raises(VerdictLimitsError):
        VerdictLimits(inside, outside)


def test_reading_without_uncertainty_is_inside_up_to_the_limit():
    """The limit itself is inside."""
    assert verdict_on("0.2 V", None, 0.2, u=0).verdict is Verdict.INSIDE
    assert verdict_on("0.21 V", None, 0.2, u=0).verdict is Verdict.OUTSIDE


def test_reasons_are_sentences_that_name_the_reading_the_range_and_the_instrument():
    """The judgement explains itself from birth."""
    entry = read_entry("0.48 V")
    judgement = judge(entry, ExpectedRange(None, 0.2, "V", "common practice"), standard_uncertainty(entry))
    text = " ".join(judgement.reason).replace("\u00a0", " ")
    assert text == ("Read 480 mV, expected at most 0.2 V (common practice). Known to ± 28 mV with 95 % confidence "
                    "(default instrument: ±(0.8 % + 2 counts)). The reading is outside: too high.")


LIMITS = st.floats(-1e3, 1e3)


@given(LIMITS, LIMITS, st.floats(-2e3, 2e3), st.floats(1e-6, 1e3))
def test_probability_agrees_with_an_independent_library(one, other, value, u):
    """SciPy's normal distribution, two-sided and one-sided."""
    low, high = min(one, other), max(one, other)
    assert probability_inside(value, low, high, u) == pytest.approx(
        norm.cdf(high, value, u) - norm.cdf(low, value, u), abs=1e-12)
    assert probability_inside(value, None, high, u) == pytest.approx(norm.cdf(high, value, u), rel=1e-9, abs=1e-300)
    assert probability_inside(value, low, None, u) == pytest.approx(norm.sf(low, value, u), rel=1e-9, abs=1e-300)


def test_small_tail_far_above_the_range_is_not_rounded_away():
    """Φ(−9) − Φ(−10) is kept on both sides, where subtracting numbers near one gives nothing."""
    tail = norm.sf(9) - norm.sf(10)
    assert probability_inside(0, 9, 10, 1) == pytest.approx(tail, rel=1e-9)
    assert probability_inside(0, -10, -9, 1) == pytest.approx(tail, rel=1e-9)


@given(LIMITS, LIMITS, st.floats(-2e3, 2e3), st.floats(0, 1e3))
def test_verdict_is_never_outside_for_a_reading_between_the_limits(one, other, value, u):
    """Whatever the instrument, a reading that lies inside speaks against no part."""
    low, high = min(one, other), max(one, other)
    entry = Entry("", value, "V", 0.1)
    verdict = judge(entry, ExpectedRange(low, high, "V", ""), Uncertainty(u)).verdict
    assert not (low <= value <= high and verdict is Verdict.OUTSIDE)
    assert not (not low <= value <= high and verdict is Verdict.INSIDE)


@given(LIMITS, st.floats(-2e3, 2e3), st.floats(1e-3, 1e2), st.floats(1, 10))
def test_worse_instrument_never_decides_what_a_better_one_left_open(high, value, u, factor):
    """More uncertainty moves a verdict only towards too close to call."""
    entry, expected = Entry("", value, "V", 0.1), ExpectedRange(None, high, "V", "")
    better, worse = (judge(entry, expected, Uncertainty(known)).verdict for known in (u, u * factor))
    assert worse in (better, Verdict.TOO_CLOSE)


@given(LIMITS, LIMITS, st.floats(0, 2e3), st.floats(1e-3, 10), st.floats(0, 1), st.sampled_from("<>"))
def test_bound_agrees_with_every_reading_it_leaves_possible(one, other, bound, u, part, relation):
    """A verdict on "<" or ">" is the verdict on each value beyond the bound."""
    low, high = min(one, other), max(one, other)
    expected = ExpectedRange(low, high, "V", "")
    verdict = judge(Entry("", bound, "V", 0.1, relation), expected, Uncertainty(u)).verdict
    assume(verdict is not Verdict.TOO_CLOSE)
    value = bound * part if relation == "<" else bound + 2e3 * part
    assert judge(Entry("", value, "V", 0.1), expected, Uncertainty(u)).verdict is verdict
