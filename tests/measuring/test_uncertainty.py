"""The standard uncertainty of a reading."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.measuring.entry import read_entry
from workshop_log.measuring.instruments import AccuracyRange, Instrument
from workshop_log.measuring.uncertainty import Uncertainty, combine, standard_uncertainty

METER = Instrument("meter", ranges=(
    AccuracyRange("voltage", 60, 0.5, 2, 0.01),
    AccuracyRange("length", 0.15, 0, 2, 1e-5),
))


def test_default_instrument_counts_the_last_digit_typed():
    """12.6 V: a = 0.008·12.6 + 2·0.1 = 0.3008 V, u = √((a/√3)² + (0.1/√12)²) = 0.17605 V, by hand."""
    found = standard_uncertainty(read_entry("12.6 V"))
    assert found.from_accuracy == pytest.approx(0.3008 / math.sqrt(3))
    assert found.from_resolution == pytest.approx(0.1 / math.sqrt(12))
    assert found.standard == pytest.approx(0.17605, abs=5e-6)
    assert found.words == "default instrument: ±(0.8 % + 2 counts)"


def test_one_digit_more_is_known_better():
    """12.60 V was read on a display with a hundredth of a volt."""
    assert standard_uncertainty(read_entry("12.60 V")).standard < standard_uncertainty(read_entry("12.6 V")).standard


def test_named_range_brings_its_own_count():
    """12.60 V on the 60 V range: a = 0.005·12.6 + 2·0.01 = 0.083 V."""
    found = standard_uncertainty(read_entry("12.60 V"), METER)
    assert found.from_accuracy == pytest.approx(0.083 / math.sqrt(3))
    assert found.from_resolution == pytest.approx(0.01 / math.sqrt(12))
    assert found.largest == 60


def test_reading_noted_with_fewer_digits_was_rounded():
    """The counts stay the instrument's; the resolution is that of the note."""
    found = standard_uncertainty(read_entry("12.6 V"), METER)
    assert found.from_accuracy == pytest.approx(0.083 / math.sqrt(3))
    assert found.from_resolution == pytest.approx(0.1 / math.sqrt(12))


def test_uncertainty_is_in_the_unit_of_the_reading():
    """21.30 mm with two counts of 0.01 mm: 0.02 mm / √3."""
    found = standard_uncertainty(read_entry("21.30 mm"), METER)
    assert found.from_accuracy == pytest.approx(0.02 / math.sqrt(3))
    assert found.largest == pytest.approx(150)


def test_digits_of_a_bound_are_no_counts():
    """Who types "< 0.1 V" read no display with tenths of a volt."""
    found = standard_uncertainty(read_entry("< 0.1 V"))
    assert found.standard == pytest.approx(0.008 * 0.1 / math.sqrt(3))


def test_over_range_has_the_uncertainty_of_the_ranges_end():
    """60 V: a = 0.32 V; with an instrument nobody named there is nothing to reckon with."""
    assert standard_uncertainty(read_entry("OL", usual_unit="V"), METER).from_accuracy == \
        pytest.approx(0.32 / math.sqrt(3))
    assert standard_uncertainty(read_entry("OL", usual_unit="V")).standard == 0
    assert standard_uncertainty(read_entry("OL")).standard == 0


def test_independent_parts_add_as_squares():
    """3 and 4 make 5."""
    assert combine(3.0, Uncertainty(4.0)) == 5.0
    assert combine() == 0.0


@pytest.mark.parametrize("standard", [-1.0, math.nan, math.inf])
def test_impossible_uncertainty_cannot_exist(standard):
    """A standard uncertainty is finite and not negative."""
    with pytest.raises(ValueError):
        Uncertainty(standard)


@given(st.integers(-10**5, 10**5), st.integers(0, 4))
def test_combined_uncertainty_agrees_with_an_independent_library(count, places):
    """The `uncertainties` package propagates the same two parts to the same result."""
    from uncertainties import ufloat

    entry = read_entry(f"{count / 10**places:.{places}f} V")
    a = abs(entry.value) * 0.008 + 2 * 10.0**-places
    by_package = ufloat(entry.value, a / 3**0.5) + ufloat(0, 10.0**-places / 12**0.5)
    assert standard_uncertainty(entry).standard == pytest.approx(by_package.std_dev, rel=1e-9)
