"""Readings and values shown as a meter shows them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.measuring.entry import read_entry, show, show_entry
from workshop_log.measuring.units import UNITS


def spaced(text):
    """Return the text with ordinary spaces, after checking that number and unit cannot be torn apart."""
    assert " " not in text
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(("value", "unit", "shown"), [
    (0.44, "A", "440 mA"), (1500, "ohm", "1.50 kΩ"), (0.0123, "V", "12.3 mV"), (12.6, "V", "12.6 V"),
    (999.96, "V", "1.00 kV"), (0.9996, "A", "1.00 A"), (0, "V", "0 V"), (-0.0123, "V", "−12.3 mV"),
    (4.7e6, "ohm", "4.70 MΩ"), (1e-7, "F", "100 nF"), (1.5e-13, "F", "0.150 pF"), (123456, "V", "123 kV"),
    (61250, "mi", "61250 mi"), (-3, "°C", "−3.00 °C"), (1.5, "mm2", "1.50 mm²"), (20, "N m", "20.0 N m"),
    (850, "rpm", "850 rpm"), (0.0004, "mm", "0.000400 mm"), (1000501, "V", "1001 kV"), (1e-20, "V", "0 V"),
])
def test_three_digits_in_the_prefix_of_a_meter(value, unit, shown):
    """Without a known resolution a value has three digits."""
    assert spaced(show(value, unit)) == shown


@pytest.mark.parametrize(("value", "unit", "resolution", "shown"), [
    (1500, "ohm", 1, "1.500 kΩ"), (1500, "ohm", 10, "1.50 kΩ"), (0.44, "A", 0.01, "440 mA"),
    (0.44, "A", 0.001, "440 mA"), (0.2, "ohm", 0.1, "0.2 Ω"), (12.6, "V", 0.01, "12.60 V"), (0, "V", 0.01, "0.00 V"),
    (-0.001, "V", 0.01, "0.00 V"), (999.96, "V", 0.1, "1.0000 kV"), (21.3, "mm", 0.01, "21.30 mm"),
])
def test_digits_are_those_of_the_resolution(value, unit, resolution, shown):
    """With a known resolution the last digit is the last one known, and at most one zero is filled in."""
    assert spaced(show(value, unit, resolution)) == shown


@pytest.mark.parametrize(("text", "shown"), [
    ("12.60 V", "12.60 V"), ("12.6 V", "12.6 V"), ("12 V", "12 V"), ("440 mA", "440 mA"), ("0.44 A", "440 mA"),
    ("0.2 ohm", "0.2 Ω"), ("0.20 ohm", "200 mΩ"), ("1500 ohm", "1.500 kΩ"), ("4k7", "4.7 kΩ"), ("<0.1 V", "< 0.1 V"),
    ("> 10 MΩ", "> 10 MΩ"), ("OL", "OL"), ("-3 °C", "−3 °C"), ("0.00 V", "0.00 V"), ("0.0 mV", "0.0 mV"),
    ("1.5 mm2", "1.5 mm²"), ("61250 mi", "61250 mi"), ("12 uA", "12 µA"), ("5 Nm", "5 N m"),
])
def test_entry_keeps_the_digits_typed(text, shown):
    """12.6 and 12.60 are different statements."""
    assert spaced(show_entry(read_entry(text))) == shown


@given(st.floats(-1e12, 1e12), st.sampled_from(UNITS))
def test_shown_value_is_within_half_its_last_digit(value, unit):
    """Nothing is lost but what three digits cannot hold: reading the text again is within half a count."""
    again = read_entry(show(value, unit.name))
    assert again.unit == unit.name
    # Zero is shown for what is below a millionth of the smallest prefix.
    assert abs(again.value - value) <= (again.resolution * 0.5001 + abs(value) * 1e-12 if again.value else 1e-6)


@given(st.integers(-10**9, 10**9), st.integers(0, 9), st.sampled_from(UNITS))
def test_resolution_that_is_known_loses_nothing(count, places, unit):
    """A whole number of counts reads back as the very same float."""
    resolution = 10.0**-places
    value = float(f"{count}e-{places}")
    assert read_entry(show(value, unit.name, resolution)).value == value
