"""Instruments, their ranges and what they say of themselves."""

from __future__ import annotations

import math

import pytest

from workshop_log.measuring.entry import read_entry
from workshop_log.measuring.instruments import (
    DEFAULT_MULTIMETER,
    DEFAULT_TEST_LAMP,
    AccuracyRange,
    Instrument,
    InstrumentError,
    default_instrument,
)
from workshop_log.measuring.units import UnknownUnitError

METER = Instrument("meter", ranges=(
    AccuracyRange("voltage", 600, 0.7, 3, 0.1),
    AccuracyRange("voltage", 6, 0.5, 2, 0.001),
    AccuracyRange("voltage", 60, 0.5, 2, 0.01),
    AccuracyRange("resistance", 600, 0.9, 2, 0.1),
))


@pytest.mark.parametrize(("value", "up_to"), [(0, 6), (6, 6), (-6, 6), (6.01, 60), (60, 60), (61, 600), (700, 600)])
def test_smallest_range_that_reaches_is_used(value, up_to):
    """Ranges may be written down in any order; the end of a range belongs to it; beyond all it is the largest."""
    assert METER.range_for("voltage", value).up_to == up_to


def test_instrument_nobody_named_says_that_it_is_a_default():
    """The words carry the figures of the assumption."""
    assert DEFAULT_MULTIMETER.describe_accuracy("voltage", 12.4) == "default instrument: ±(0.8 % + 2 counts)"
    assert DEFAULT_MULTIMETER.is_default
    assert not METER.is_default


def test_named_instrument_says_which_range():
    """A reader can look the figures up in the data sheet."""
    assert METER.describe_accuracy("voltage", 12.4) == "meter: ±(0.5 % + 2 counts), up to 60.0\u00a0V"


def test_quantity_without_noted_accuracy_is_a_note_and_gets_the_default():
    """A meter whose current ranges nobody wrote down still measures current."""
    entry = read_entry("3 A")
    assert METER.range_for("current", 3).percent == 0.8
    assert "no accuracy noted for current" in METER.describe_accuracy("current", 3)
    assert [(found.severity, found.key) for found in METER.check(entry)] == [("note", "accuracy-not-noted")]


def test_reading_above_the_largest_range_is_a_finding():
    """A slip of the prefix is told, not refused: 14 kV on a 600 V meter."""
    findings = METER.check(read_entry("14 kV"))
    assert [found.key for found in findings] == ["above-largest-range"]
    assert findings[0].words == ("14.0\u00a0kV is above the largest range of meter (600\u00a0V): "
                                 "check the reading, the prefix and the instrument.")
    assert METER.check(read_entry("14 V")) == [] == METER.check(read_entry("600 V"))
    assert DEFAULT_MULTIMETER.check(read_entry("14 kV")) == []


def test_number_from_a_test_lamp_is_an_error():
    """A lamp is lit, dim or dark."""
    assert [found.severity for found in DEFAULT_TEST_LAMP.check(read_entry("12 V"))] == ["error"]


def test_defaults_are_those_of_the_job_file():
    """A 12 V 0.25 A lamp, a 10 MΩ meter, and any other kind with the default accuracy."""
    lamp = default_instrument("test lamp")
    assert (lamp.lamp_voltage_v, lamp.lamp_current_a) == (12, 0.25)
    assert default_instrument().input_resistance_ohm == 10e6
    gauge = default_instrument("gauge")
    assert (gauge.kind, gauge.is_default, gauge.range_for("length", 0.02).counts) == ("gauge", True, 2)


@pytest.mark.parametrize("numbers", [(0, 1, 1, 1), (-1, 1, 1, 1), (1, -1, 1, 1), (1, 1, math.nan, 1), (1, 1, 1, -1)])
def test_impossible_accuracy_cannot_exist(numbers):
    """A range that is checked once need not be checked again."""
    with pytest.raises(InstrumentError):
        AccuracyRange("voltage", *numbers)


def test_unknown_quantity_and_impossible_rating_cannot_exist():
    """The quantity is a dimension of the table; ratings are positive."""
    with pytest.raises(UnknownUnitError):
        AccuracyRange("colour", 1, 1, 1, 1)
    with pytest.raises(InstrumentError):
        Instrument("lamp", "test lamp", lamp_current_a=0)
