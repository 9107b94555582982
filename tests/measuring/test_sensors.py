"""Sensors: curves, their inverses and what they should show."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.measuring import sensors
from workshop_log.measuring.sensors import NtcBeta, SensorRangeError, SteinhartHart

# Coefficients of a 10 kΩ NTC; see the published cases.
STEINHART = SteinhartHart(2.108508173e-3, 0.7979204727e-4, 6.535076315e-7, percent=1)


@given(st.floats(-200, 850))
def test_pt100_both_ways(temperature):
    """The temperature of a resistance is the one it was reckoned from."""
    assert sensors.pt100_temperature(sensors.pt100_resistance(temperature)) == pytest.approx(temperature, abs=1e-6)


@given(st.floats(-260, 1372), st.floats(-20, 60))
def test_type_k_both_ways(hot, cold):
    """Below −260 °C the curve is too flat for a voltage to tell the temperature so well."""
    voltage = sensors.type_k_voltage(hot, cold)
    assert sensors.type_k_temperature(voltage, cold) == pytest.approx(hot, abs=1e-5)


@given(st.floats(-40, 150))
def test_ntc_both_ways(temperature):
    """Beta and Steinhart–Hart."""
    for ntc in (NtcBeta(2500, 3468), STEINHART, SteinhartHart(1e-3, 2.5e-4, 0)):
        assert ntc.temperature(ntc.resistance(temperature)) == pytest.approx(temperature, abs=1e-6)


@given(st.floats(-30, 140), st.floats(0, 5))
def test_nominal_value_lies_inside_and_more_tolerance_only_widens(temperature, spread):
    """An expected range holds the nominal value, and a worse known temperature never narrows it."""
    ntc = NtcBeta(2500, 3468, 5, 2)
    cases = [
        (lambda s: sensors.pt100_expected_range(temperature, s), sensors.pt100_resistance(temperature)),
        (lambda s: ntc.expected_range(temperature, s), ntc.resistance(temperature)),
        (lambda s: STEINHART.expected_range(temperature, s), STEINHART.resistance(temperature)),
        (lambda s: sensors.type_k_expected_range(temperature, s, 25, 1), sensors.type_k_voltage(temperature, 25)),
    ]
    for expected, nominal in cases:
        narrow, wide = expected(0.0), expected(spread)
        assert narrow.low <= nominal <= narrow.high
        assert wide.low <= narrow.low and narrow.high <= wide.high


def test_expected_range_of_a_pt100_by_hand():
    """Class B at 25 °C is ± 0.425 °C; with ± 1 °C and 0.388 Ω/°C that is 109.73 ± 0.553 Ω."""
    expected = sensors.pt100_expected_range(25, 1)
    assert expected.low == pytest.approx(109.7347 - 1.425 * 0.3880, abs=1e-3)
    assert expected.high == pytest.approx(109.7347 + 1.425 * 0.3880, abs=1e-3)
    assert expected.source.replace("\u00a0", " ") == "Pt100 class B at 25 ± 1 °C, IEC 60751, class from memory"


def test_expected_range_of_type_k_by_hand():
    """Class 2 at 800 °C is ± 6 °C, at 100 °C ± 2.5 °C; a cold junction known to ± 1 °C adds its own 0.04 mV/°C."""
    for hot, tolerance in ((800, 6.0), (100, 2.5)):
        expected = sensors.type_k_expected_range(hot, 0, 20, 1)
        assert expected.low == pytest.approx(sensors.type_k_voltage(hot - tolerance, 21))
        assert expected.high == pytest.approx(sensors.type_k_voltage(hot + tolerance, 19))
    assert expected.source.replace("\u00a0", " ") == (
        "type K class 2 at 100 °C, cold junction 20 ± 1 °C, ITS-90 and IEC 60584-1")


def test_better_class_is_narrower():
    """AA lies inside A, and A inside B."""
    aa, a, b = (sensors.pt100_expected_range(80, 0, name) for name in ("AA", "A", "B"))
    assert b.low < a.low < aa.low < aa.high < a.high < b.high


def test_tolerance_of_beta_turns_the_curve_about_its_reference():
    """At 25 °C only the tolerance of R25 counts."""
    expected = NtcBeta(10e3, 3950, 1, 1).expected_range(25)
    assert (expected.low, expected.high) == (pytest.approx(9900), pytest.approx(10100))
    assert NtcBeta(10e3, 3950, 0, 1).expected_range(0).high > NtcBeta(10e3, 3950).resistance(0)


def test_tolerance_at_the_ends_of_a_curve_can_be_reckoned():
    """The ends themselves are allowed temperatures, and so their tolerance must not leave the curve."""
    assert sensors.pt100_expected_range(-200, 2).low < sensors.pt100_expected_range(850, 2).low
    assert sensors.type_k_expected_range(1200, 5).high > sensors.type_k_voltage(1200)


@pytest.mark.parametrize("call", [
    lambda: sensors.pt100_resistance(900), lambda: sensors.pt100_temperature(5), lambda: sensors.pt100_temperature(500),
    lambda: sensors.pt100_expected_range(20, -1), lambda: sensors.pt100_expected_range(20, 0, "C"),
    lambda: sensors.pt100_resistance(float("nan")), lambda: sensors.type_k_voltage(1500),
    lambda: sensors.type_k_temperature(0.1), lambda: sensors.type_k_expected_range(1300),
    lambda: NtcBeta(-1, 3950), lambda: NtcBeta(1e4, 0), lambda: NtcBeta(1e4, 3950, 100),
    lambda: NtcBeta(1e4, 3950).resistance(-300), lambda: NtcBeta(1e4, 3950).temperature(0),
    lambda: NtcBeta(1e4, 3950).temperature(1e-3), lambda: NtcBeta.from_two_points(1e4, 25, 1e3, 25),
    lambda: SteinhartHart(1e-3, -1e-4, 1e-7), lambda: STEINHART.temperature(-5), lambda: STEINHART.temperature(1e-30),
    lambda: SteinhartHart(1e-3, 1e-4, 1e-7, 100),
])
def test_what_no_sensor_can_be_is_told_in_one_sentence(call):
    """Outside its range a curve gives no number."""
    with pytest.raises(SensorRangeError, match=r"\.$"):
        call()
