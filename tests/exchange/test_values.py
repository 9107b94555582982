"""Records become values with the numbers that were typed."""

from __future__ import annotations

import pytest

from workshop_log.exchange import records as r
from workshop_log.exchange.values import entry_of, expected_of, instrument_of
from workshop_log.measuring.entry import EntryError
from workshop_log.measuring.instruments import DEFAULT_INPUT_RESISTANCE_OHM, InstrumentError
from workshop_log.measuring.ranges import RangeError
from workshop_log.measuring.units import UnitMismatchError


def test_a_meter_has_its_ranges_in_base_units():
    """600 ohm, 4 kohm and 400 mA as the figures of the data sheet say."""
    meter = instrument_of(r.Instrument(id="meter", input_resistance="11 Mohm", ranges=(
        r.InstrumentRange(quantity="resistance", up_to="4 kohm", percent=0.9, counts=2, resolution="1 ohm"),
        r.InstrumentRange(quantity="current", up_to="400 mA", percent=1.0, counts=3, resolution="0.1 mA"),
        r.InstrumentRange(quantity="length", up_to="150 mm", resolution="0.01 mm"))))
    found = [(one.quantity, one.up_to, one.percent, one.counts, one.resolution) for one in meter.ranges]
    assert found == [("resistance", 4000.0, 0.9, 2, 1.0), ("current", 0.4, 1.0, 3, pytest.approx(1e-4)),
                     ("length", pytest.approx(0.15), 0.0, 0.0, pytest.approx(1e-5))]
    assert (meter.id, meter.kind, meter.input_resistance_ohm, meter.is_default) == ("meter", "multimeter", 11e6, False)


def test_a_count_in_fahrenheit_is_a_difference():
    """0.9 °F is half a degree Celsius, not seventeen below zero."""
    meter = instrument_of(r.Instrument(id="t", kind="thermometer", ranges=(
        r.InstrumentRange(quantity="temperature", up_to="212 °F", resolution="0.9 °F"),)))
    assert meter.ranges[0].up_to == pytest.approx(100.0)
    assert meter.ranges[0].resolution == pytest.approx(0.5)


def test_a_lamp_has_its_rating_and_what_is_missing_is_the_default():
    """12 V 0.4 A as written; a bare one is the default lamp."""
    lamp = instrument_of(r.Instrument(id="lamp", kind="test lamp", voltage="24 V", current="400 mA"))
    assert (lamp.lamp_voltage_v, lamp.lamp_current_a) == (24.0, 0.4)
    bare = instrument_of(r.Instrument(id="lamp", kind="test lamp"))
    assert (bare.lamp_voltage_v, bare.lamp_current_a) == (12.0, 0.25)
    assert bare.input_resistance_ohm == DEFAULT_INPUT_RESISTANCE_OHM


def test_an_instrument_that_cannot_be_is_refused():
    """A range that measures something else, and one that ends at nothing."""
    with pytest.raises(UnitMismatchError):
        instrument_of(r.Instrument(id="m", ranges=(
            r.InstrumentRange(quantity="voltage", up_to="6 A", resolution="0.01 V"),)))
    with pytest.raises(InstrumentError):
        instrument_of(r.Instrument(id="m", ranges=(
            r.InstrumentRange(quantity="voltage", up_to="0 V", resolution="0.01 V"),)))


@pytest.mark.parametrize(("expected", "low", "high", "unit"), [
    (r.Expected(low="11.9 V", high="12.7 V", source="x"), 11.9, 12.7, "V"),
    (r.Expected(high="200 mV", source="x"), None, 0.2, "V"),
    (r.Expected(low="22 mm", source="x"), 22.0, None, "mm"),
    (r.Expected(low="2 cm", high="25 mm", source="x"), 2.0, 2.5, "cm"),
    (r.Expected(low="-10 °C", high="50 °F", source="x"), -10.0, pytest.approx(10.0), "°C"),
])
def test_expected_ranges(expected, low, high, unit):
    """Both ends in one unit, the missing one missing, the source with it."""
    made = expected_of(expected)
    assert (made.low, made.high, made.unit, made.source) == (low, high, unit, "x")


def test_expected_ranges_that_cannot_be():
    """None, crossed, of two things, and a limit that is no number."""
    with pytest.raises(RangeError):
        expected_of(r.Expected(low="2 V", high="1 V"))
    with pytest.raises(UnitMismatchError):
        expected_of(r.Expected(low="2 V", high="1 A"))
    with pytest.raises(EntryError):
        expected_of(r.Expected(high="OL"))


def test_a_reading_keeps_its_text_and_digits():
    """12.60 and 12.6 are different statements."""
    entry = entry_of(r.VoltageStep(id="s1", red="B+", reading="12.60 V"))
    assert (entry.text, entry.value, entry.unit, entry.resolution) == ("12.60 V", 12.6, "V", 0.01)


@pytest.mark.parametrize(("quantity", "up_to", "resolution", "words"), [
    ("length", "150 mm", "0.01 mm", "up to 150 mm"), ("length", "0.8 mm", "0.001 mm", "up to 0.8 mm"),
    ("voltage", "60 V", "0.01 V", "up to 60 V"), ("voltage", "0.6 V", "0.1 mV", "up to 0.6 V"),
    ("voltage", "600 mV", "0.1 mV", "up to 600 mV"), ("resistance", "6 kohm", "1 ohm", "up to 6 kΩ"),
    ("resistance", "6000 ohm", "1 ohm", "up to 6000 Ω"), ("current", "1400 A", "1 A", "up to 1400 A")])
def test_a_range_ends_where_its_data_sheet_says(quantity, up_to, resolution, words):
    """In the unit that it was written in, without digits that nobody wrote."""
    meter = instrument_of(r.Instrument(id="m", ranges=(
        r.InstrumentRange(quantity=quantity, up_to=up_to, resolution=resolution),)))
    assert meter.ranges[0].range_words().replace("\u00a0", " ") == words
