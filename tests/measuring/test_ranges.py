"""Expected ranges."""

from __future__ import annotations

import math

import pytest

from workshop_log.measuring.ranges import ExpectedRange, RangeError
from workshop_log.measuring.units import UnitMismatchError, UnknownUnitError


@pytest.mark.parametrize(("low", "high", "unit", "words"), [
    (12.1, 12.6, "V", "12.1 to 12.6 V"), (None, 0.2, "V", "at most 0.2 V"), (9.6, None, "V", "at least 9.6 V"),
    (0, 0.05, "A", "0 to 50 mA"), (1000, 2000, "ohm", "1 to 2 kΩ"), (60, 120, "ohm", "60 to 120 Ω"),
    (-3, 5, "°C", "−3 to 5 °C"), (22, None, "mm", "at least 22 mm"), (5, 5, "V", "exactly 5 V"),
    (11.9034999, 12.7112345, "V", "11.9 to 12.71 V"), (61250, None, "mi", "at least 61250 mi"),
    (0, 0, "V", "exactly 0 V"), (None, 1e-9, "V", "at most 0.001 µV"), (90, 110, "N m", "90 to 110 N m"),
])
def test_range_in_words(low, high, unit, words):
    """A range reads as a technician would say it, in the prefix of its larger limit."""
    assert ExpectedRange(low, high, unit, "typed").words().replace("\u00a0", " ") == words


@pytest.mark.parametrize(("low", "high"), [(None, None), (2, 1), (math.nan, 1), (0, math.inf)])
def test_range_that_cannot_be_does_not_exist(low, high):
    """Nobody needs to check a range again."""
    with pytest.raises(RangeError):
        ExpectedRange(low, high, "V", "typed")


def test_range_has_a_known_unit_and_an_uncertainty_that_can_be():
    """Units are canonical; the limits' own uncertainty is not negative."""
    with pytest.raises(UnknownUnitError):
        ExpectedRange(0, 1, "mA", "typed")
    with pytest.raises(RangeError):
        ExpectedRange(0, 1, "A", "typed", -0.1)


def test_range_converts_with_its_uncertainty():
    """90 to 120 °F is 32.2 to 48.9 °C; a difference of 1.8 °F is one of 1 °C."""
    converted = ExpectedRange(90, 120, "°F", "typed", 1.8).in_unit("°C")
    assert converted.low == pytest.approx(32.2222, abs=1e-4)
    assert converted.high == pytest.approx(48.8889, abs=1e-4)
    assert converted.uncertainty == pytest.approx(1)
    with pytest.raises(UnitMismatchError):
        converted.in_unit("V")


def test_typed_range_takes_prefixes():
    """50 mA is exactly 0.05 A, and a missing side stays missing."""
    assert ExpectedRange.typed(None, 50, "mA", "x") == ExpectedRange(None, 0.05, "A", "x")
    assert ExpectedRange.typed(1e-5, 0.3, "mA", "x").high == 0.0003


@pytest.mark.parametrize(("low", "high", "near", "words"), [
    (-0.0030981, 0.0420312, 0.0225646, "−3 to 42 mV"), (12.1183, 12.5672, 0.22445, "12.12 to 12.57 V"),
    (12.1183, 12.5672, 0.0, "12.12 to 12.57 V"), (None, 0.19999, 0.05, "at most 0.2 V"),
    (11.96, None, 3.0, "at least 12 V")])
def test_computed_limits_are_shown_as_near_as_they_are_known(low, high, near, words) -> None:
    """To the second digit of their spread; the limits themselves stay as they are, in any unit."""
    expected = ExpectedRange(low, high, "V", "computed", shown_as_near_as=near)
    assert expected.words().replace("\u00a0", " ") == words
    assert (expected.low, expected.high) == (low, high)
    assert expected.in_unit("V") is expected
