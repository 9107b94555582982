"""The job's records as values of `measuring`: what was typed becomes a number with its unit here and nowhere else."""

from __future__ import annotations

from functools import lru_cache

from workshop_log.exchange import records
from workshop_log.measuring import units
from workshop_log.measuring.entry import Entry, EntryError, read_entry
from workshop_log.measuring.instruments import AccuracyRange, Instrument
from workshop_log.measuring.ranges import ExpectedRange, limit_words


def entry_of(step: records.ReadingStep) -> Entry:
    """Return a step's reading.

    Raises
    ------
    EntryError
        If the step's text is no reading; a step from a checked job always is one.
    """
    return read_entry(step.reading)


def expected_of(expected: records.Expected) -> ExpectedRange:
    """Return an expected range in the unit of its low end, or of its high end where there is no low one.

    Raises
    ------
    EntryError, UnitMismatchError, RangeError
        If the limits are no quantities, measure different things or stand in the wrong order.
    """
    low, high = (None if text is None else _limit(text) for text in (expected.low, expected.high))
    unit = low[1] if low else high[1] if high else ""
    return ExpectedRange(low[0] if low else None, units.convert(*high, unit) if high else None, unit, expected.source)


@lru_cache(maxsize=64)
def instrument_of(instrument: records.Instrument) -> Instrument:
    """Return an instrument with its accuracy in base units; what nobody wrote down is the default's.

    Raises
    ------
    EntryError, UnitMismatchError, InstrumentError
        If a range cannot be as it is described.
    """
    ranges = tuple(
        AccuracyRange(accuracy.quantity, _in_base(accuracy.up_to, accuracy.quantity), accuracy.percent,
                      accuracy.counts, _step_in_base(accuracy.resolution, accuracy.quantity),
                      limit_words(*_limit(accuracy.up_to), read_entry(accuracy.up_to).prefix))
        for accuracy in instrument.ranges)
    given = {name: _in_base(text, dimension) for name, text, dimension in (
        ("input_resistance_ohm", instrument.input_resistance, "resistance"),
        ("lamp_voltage_v", instrument.voltage, "voltage"),
        ("lamp_current_a", instrument.current, "current")) if text}
    return Instrument(instrument.id, instrument.kind, ranges, **given)


def _limit(text: str) -> tuple[float, str]:
    """Return one number with its unit."""
    entry = read_entry(text)
    if entry.value is None:
        raise EntryError(text, f"“{text}” is no limit: write one number with its unit, or leave this side out.")
    return entry.value, entry.unit


def _in_base(text: str, dimension: str) -> float:
    return units.convert(*_limit(text), units.base_unit(dimension))


def _step_in_base(text: str, dimension: str) -> float:
    """Return a difference in the base unit: a count of 0.1 °F is a count of 0.056 °C."""
    value, unit = _limit(text)
    return value * units.scale(unit, units.base_unit(dimension))
