"""Batteries: charge, drains and their cautions."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.measuring import batteries
from workshop_log.measuring.batteries import BatteryError, charge_from_rested_voltage, drain_time


@given(st.floats(0, 100), st.sampled_from(batteries.NOMINAL_VOLTAGES_V))
def test_voltage_and_charge_are_each_others_inverse(percent, nominal):
    """Between the points of the table both go along the same straight lines."""
    voltage = batteries.rested_voltage_from_charge(percent, nominal)
    assert charge_from_rested_voltage(voltage, nominal).percent == pytest.approx(percent, abs=1e-6)


def test_24_volts_are_two_batteries_of_12():
    """12.24 V and 24.48 V are half charged."""
    assert charge_from_rested_voltage(12.24).percent == pytest.approx(50)
    assert charge_from_rested_voltage(24.48, 24).percent == pytest.approx(50)


def test_voltage_beyond_the_table_is_full_or_empty_with_a_caution():
    """A just charged battery is not more than full; a dead one may be damaged."""
    assert charge_from_rested_voltage(12.66) == batteries.Charge(100, batteries.TABLE_SOURCE)
    assert "surface charge" in charge_from_rested_voltage(13.1).caution
    assert charge_from_rested_voltage(10.2).percent == 0
    assert "shorted cell" in charge_from_rested_voltage(10.2).caution


def test_table_says_that_it_is_from_memory():
    """The limit on a rested voltage carries that into the report."""
    assert "from memory" in charge_from_rested_voltage(12.5).source
    expected = batteries.expected_rested_voltage(75)
    assert (expected.low, expected.high) == (12.45, None)
    assert "from memory" in expected.source


def test_small_drain_is_reckoned_plainly_and_large_one_after_peukert_with_a_caution():
    """Below the 20-hour current Peukert would promise 209 days where capacity over current says 83."""
    small = drain_time(100, 0.05)
    assert (small.hours, small.caution) == (2000, "")
    assert small.days == pytest.approx(83.33, abs=0.01)
    large = drain_time(100, 25)
    assert large.hours < 4
    assert "estimate" in large.caution and "Peukert" in large.method


def test_both_methods_meet_at_the_rated_current():
    """100 Ah at 5 A last 20 h either way."""
    assert drain_time(100, 5).hours == pytest.approx(20)
    assert drain_time(100, 5.000001).hours == pytest.approx(20, rel=1e-5)


@given(st.floats(1, 200), st.floats(0.01, 200), st.floats(0.01, 200))
def test_larger_drain_never_lasts_longer(capacity, one, other):
    """Whatever method fits, more current means less time."""
    small, large = sorted((one, other))
    assert drain_time(capacity, large).hours <= drain_time(capacity, small).hours * (1 + 1e-12)


@pytest.mark.parametrize("call", [
    lambda: charge_from_rested_voltage(12.5, 18), lambda: charge_from_rested_voltage(float("nan")),
    lambda: batteries.rested_voltage_from_charge(101), lambda: batteries.hours_to_flat(0, 1),
    lambda: batteries.hours_to_flat(60, 0), lambda: batteries.hours_to_flat(60, 1, 20, 50),
    lambda: batteries.peukert_hours(60, 5, 20, 0.9), lambda: batteries.peukert_exponent(100, 20, 50, 10),
    lambda: batteries.peukert_exponent(0, 20, 50, 10), lambda: drain_time(60, float("inf")),
])
def test_what_no_battery_can_be_is_told_in_one_sentence(call):
    """The message says what is wrong."""
    with pytest.raises(BatteryError, match=r"\.$"):
        call()
