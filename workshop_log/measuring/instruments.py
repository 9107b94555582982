"""Instruments with their accuracy by range, and the default ones where none is named.

Bare floats are in the base unit of the quantity: volt, ampere, ohm, hertz, watt, farad, °C, pascal, metre
(`units.base_unit`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from workshop_log.errors import WorkshopLogError
from workshop_log.measuring import units
from workshop_log.measuring.entry import Entry
from workshop_log.measuring.findings import Finding
from workshop_log.measuring.showing import show

# What is assumed of an instrument whose accuracy nobody wrote down.
DEFAULT_PERCENT = 0.8
DEFAULT_COUNTS = 2
DEFAULT_LAMP_VOLTAGE_V = 12.0
DEFAULT_LAMP_CURRENT_A = 0.25
DEFAULT_INPUT_RESISTANCE_OHM = 10e6

# Kinds that are no measuring instruments of a number: a lamp is lit, dim or dark.
TEST_LAMP = "test lamp"


class InstrumentError(WorkshopLogError, ValueError):
    """An instrument that cannot be as described."""


@dataclass(frozen=True, slots=True)
class AccuracyRange:
    """The accuracy ±(percent of reading + counts of the last digit) of one range of an instrument.

    Attributes
    ----------
    quantity : str
        Dimension measured: "voltage", "current", "resistance", ...
    up_to : float
        End of the range, in the quantity's base unit; infinite for the default instrument.
    percent, counts : float
        Percent of the reading [%] and number of counts.
    resolution : float
        One count, in the quantity's base unit; 0 means: the last digit typed.
    shown_up_to : str
        The end of the range with the unit it was written in, "150 mm"; blank where nobody wrote it.
    """

    quantity: str
    up_to: float
    percent: float
    counts: float
    resolution: float
    shown_up_to: str = ""

    def __post_init__(self) -> None:
        units.base_unit(self.quantity)
        if not self.up_to > 0:
            raise InstrumentError(f"A range of {self.quantity} ends above zero.")
        if not all(math.isfinite(number) and number >= 0 for number in (self.percent, self.counts, self.resolution)):
            raise InstrumentError(f"Percent, counts and resolution of a range of {self.quantity} are zero or positive.")

    def words(self) -> str:
        """Return the accuracy as a data sheet writes it: "±(0.5 % + 2 counts)"."""
        return f"±({self.percent:g} % + {self.counts:g} {'count' if self.counts == 1 else 'counts'})"

    def range_words(self) -> str:
        """Return the range in words: "up to 60 V"."""
        if math.isinf(self.up_to):
            return "any range"
        return f"up to {self.shown_up_to or show(self.up_to, units.base_unit(self.quantity))}"


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument of the workshop.

    Attributes
    ----------
    id, kind : str
        Its name in the job, and what it is: "multimeter", "test lamp", "clamp", "thermometer", "gauge", ...
    ranges : tuple[AccuracyRange, ...]
        Its accuracy; empty where nobody wrote it down, and the default applies.
    input_resistance_ohm : float
        What a voltmeter puts between its leads. [Ω]
    lamp_voltage_v, lamp_current_a : float
        Rating of a test lamp. [V], [A]
    is_default : bool
        Whether it stands for an instrument that nobody named.
    """

    id: str
    kind: str = "multimeter"
    ranges: tuple[AccuracyRange, ...] = ()
    input_resistance_ohm: float = DEFAULT_INPUT_RESISTANCE_OHM
    lamp_voltage_v: float = DEFAULT_LAMP_VOLTAGE_V
    lamp_current_a: float = DEFAULT_LAMP_CURRENT_A
    is_default: bool = False

    def __post_init__(self) -> None:
        ratings = (self.input_resistance_ohm, self.lamp_voltage_v, self.lamp_current_a)
        if not all(math.isfinite(rating) and rating > 0 for rating in ratings):
            raise InstrumentError(f"Instrument {self.id}: input resistance, lamp voltage and current are positive.")

    def ranges_of(self, quantity: str) -> tuple[AccuracyRange, ...]:
        """Return the ranges for one quantity, the smallest first."""
        return tuple(sorted((r for r in self.ranges if r.quantity == quantity), key=lambda r: r.up_to))

    def range_for(self, quantity: str, value: float | None) -> AccuracyRange:
        """Return the range that would show the value: the smallest that reaches it, else the largest.

        Parameters
        ----------
        quantity : str
            Dimension measured.
        value : float | None
            In the quantity's base unit; None for a reading over range.
        """
        ranges = self.ranges_of(quantity)
        if not ranges:
            return _default_range(quantity)
        if value is None:
            return ranges[-1]
        # Rounding of a unit's factor must not push a reading at the end of a range into the next one.
        return next((r for r in ranges if abs(value) <= r.up_to * (1 + 1e-9)), ranges[-1])

    def largest(self, quantity: str) -> float | None:
        """Return the largest value that it can show, in the quantity's base unit; None if nobody wrote it down."""
        ranges = self.ranges_of(quantity)
        return ranges[-1].up_to if ranges and math.isfinite(ranges[-1].up_to) else None

    def describe_accuracy(self, quantity: str, value: float | None = None) -> str:
        """Return in words what accuracy is used for a value, and whether it is an assumption."""
        accuracy = self.range_for(quantity, value)
        if self.is_default:
            return f"default instrument: {accuracy.words()}"
        if not self.ranges_of(quantity):
            return f"{self.id}: no accuracy noted for {quantity}, taken as {accuracy.words()}"
        return f"{self.id}: {accuracy.words()}, {accuracy.range_words()}"

    def check(self, entry: Entry) -> list[Finding]:
        """Return what is odd about this entry from this instrument; nothing if it could have shown it."""
        findings = []
        quantity = entry.dimension
        largest = self.largest(quantity)
        if self.kind == TEST_LAMP:
            findings.append(Finding("error", self.id, "lamp-has-no-number",
                                    f"{self.id} is a test lamp and shows no number: choose a meter for this reading."))
        elif quantity and self.ranges and not self.ranges_of(quantity):
            findings.append(Finding("note", self.id, "accuracy-not-noted",
                                    f"{self.id} has no accuracy noted for {quantity}: "
                                    f"{_default_range(quantity).words()} is used; add its data sheet's figures."))
        if entry.value is not None and largest is not None:
            base = units.base_unit(quantity)
            value = units.convert(entry.value, entry.unit, base)
            if abs(value) > largest * (1 + 1e-9):
                findings.append(Finding("warning", self.id, "above-largest-range",
                                        f"{show(value, base)} is above the largest range of {self.id} "
                                        f"({show(largest, base)}): check the reading, the prefix and the instrument."))
        return findings


def _default_range(quantity: str) -> AccuracyRange:
    return AccuracyRange(quantity, math.inf, DEFAULT_PERCENT, DEFAULT_COUNTS, 0.0)


DEFAULT_MULTIMETER = Instrument("default multimeter", "multimeter", is_default=True)
DEFAULT_TEST_LAMP = Instrument("default test lamp", TEST_LAMP, is_default=True)


def default_instrument(kind: str = "multimeter") -> Instrument:
    """Return the instrument that stands for one nobody named, of the kind asked for."""
    if kind == TEST_LAMP:
        return DEFAULT_TEST_LAMP
    if kind == DEFAULT_MULTIMETER.kind:
        return DEFAULT_MULTIMETER
    return Instrument(f"default {kind}", kind, is_default=True)
