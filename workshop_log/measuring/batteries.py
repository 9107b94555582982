"""Batteries: rested voltage against state of charge, and how long a drain takes.

References
----------
.. [1] Table of rested voltages, from memory, unsure (see the header of the table).
.. [2] W. Peukert (1897), capacity against discharge current, in the rated form t = H (C / (I H))^k.
.. [3] SAE J537: reserve capacity is the time in minutes for which a battery gives 25 A.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from workshop_log import resources
from workshop_log.errors import WorkshopLogError
from workshop_log.measuring.ranges import ExpectedRange
from workshop_log.measuring.showing import show

TABLE_NOMINAL_V = 12.0
NOMINAL_VOLTAGES_V = (6.0, 12.0, 24.0)
TABLE_SOURCE = "rested voltage of a flooded lead-acid battery at about 27 °C, table from memory"
RESERVE_CURRENT_A = 25.0  # [3]_
RATED_HOURS = 20.0
# A usual exponent of a flooded lead-acid battery.
PEUKERT_EXPONENT = 1.2  # own estimate: the worked examples of the trade use 1.1 to 1.3
# Above the table by more than this, the battery was charged a short while ago. [V at 12 V nominal]
SURFACE_CHARGE_V = 0.05  # own estimate: the doubt of the table itself
HOURS_PER_DAY = 24.0
_MINUTES_PER_HOUR = 60.0
_PERCENT = 100.0


class BatteryError(WorkshopLogError, ValueError):
    """A battery or a drain that cannot be as described."""


@dataclass(frozen=True, slots=True)
class Charge:
    """A state of charge read off the table.

    Attributes
    ----------
    percent : float
        State of charge, 0 to 100. [%]
    source : str
        Where it comes from.
    caution : str
        What makes it doubtful; empty if nothing does.
    """

    percent: float
    source: str
    caution: str = ""


@dataclass(frozen=True, slots=True)
class DrainTime:
    """How long a battery lasts.

    Attributes
    ----------
    hours : float
        Time from the first to the last state of charge. [h]
    method : str
        How it was reckoned.
    caution : str
        What makes it doubtful; empty if nothing does.
    """

    hours: float
    method: str
    caution: str = ""

    @property
    def days(self) -> float:
        """The same time in days."""
        return self.hours / HOURS_PER_DAY


@cache
def _table() -> tuple[tuple[float, float], ...]:
    """Return (rested voltage of a 12 V battery [V], state of charge [%]), rising."""
    rows = resources.table("battery_rested_voltage")
    return tuple(sorted((float(row["voltage"]), float(row["charge"])) for row in rows))


def charge_from_rested_voltage(voltage_v: float, nominal_v: float = TABLE_NOMINAL_V) -> Charge:
    """Return the state of charge of a flooded lead-acid battery that rested some hours, from the table [1]_.

    Parameters
    ----------
    voltage_v : float
        Rested voltage at its terminals. [V]
    nominal_v : float
        6, 12 or 24 V: a 24 V battery is two of 12 V in a row.
    """
    at_12_v = voltage_v / _blocks(nominal_v)
    if not math.isfinite(at_12_v):
        raise BatteryError("A battery's voltage is a number of volts.")
    table = _table()
    (lowest_v, _), (highest_v, _) = table[0], table[-1]
    percent = _interpolate(table, min(max(at_12_v, lowest_v), highest_v))
    caution = ""
    if at_12_v > highest_v + SURFACE_CHARGE_V:
        caution = "Above any rested voltage: let it rest or take off the surface charge, then measure again."
    elif at_12_v < lowest_v:
        caution = "Below the table: empty, and it may have a shorted cell or be damaged by lying flat."
    return Charge(percent, TABLE_SOURCE, caution)


def rested_voltage_from_charge(percent: float, nominal_v: float = TABLE_NOMINAL_V) -> float:
    """Return the rested voltage [V] at a state of charge [%], from the table [1]_."""
    _require_percent(percent)
    by_charge = tuple((charge, voltage) for voltage, charge in _table())
    return _interpolate(by_charge, percent) * _blocks(nominal_v)


def expected_rested_voltage(least_percent: float, nominal_v: float = TABLE_NOMINAL_V) -> ExpectedRange:
    """Return what a battery with at least this state of charge [%] should show after resting."""
    return ExpectedRange(rested_voltage_from_charge(least_percent, nominal_v), None, "V",
                         f"at least {least_percent:g} % charged: {TABLE_SOURCE}")


def hours_to_flat(capacity_ah: float, drain_a: float, from_percent: float = _PERCENT,
                  to_percent: float = 0.0) -> float:
    """Return the hours in which a small drain takes a battery from one state of charge to another.

    t = C (S₀ − S₁) / I. Holds for a drain of up to the 20-hour current; self-discharge is not counted.

    Parameters
    ----------
    capacity_ah, drain_a : float
        Rated capacity [Ah] and drain [A].
    from_percent, to_percent : float
        State of charge at the beginning and at the end. [%]
    """
    _require_positive(capacity_ah, "capacity", "ampere hours")
    _require_positive(drain_a, "drain", "amperes")
    _require_percent(from_percent)
    _require_percent(to_percent)
    if to_percent > from_percent:
        raise BatteryError("A drain ends at a lower state of charge than it begins at: exchange the two.")
    return capacity_ah * (from_percent - to_percent) / _PERCENT / drain_a


def drain_time(capacity_ah: float, drain_a: float, from_percent: float = _PERCENT, to_percent: float = 0.0,
               rated_hours: float = RATED_HOURS, exponent: float = PEUKERT_EXPONENT) -> DrainTime:
    """Return how long a drain of any size takes, by the method that fits it.

    Up to the rated current plainly capacity over current; above it after Peukert [2]_, because a large current
    gets less out of a battery. Below it Peukert would promise months that no battery keeps.
    """
    plain = hours_to_flat(capacity_ah, drain_a, from_percent, to_percent)
    _require_positive(rated_hours, "rated time", "hours")
    if drain_a * rated_hours <= capacity_ah:
        return DrainTime(plain, "capacity over current")
    whole = peukert_hours(capacity_ah, drain_a, rated_hours, exponent)
    return DrainTime(whole * (from_percent - to_percent) / _PERCENT, f"Peukert with exponent {exponent:g}",
                     f"An estimate for {show(drain_a, 'A')}: temperature and age change it.")


def peukert_hours(capacity_ah: float, current_a: float, rated_hours: float = RATED_HOURS,
                  exponent: float = PEUKERT_EXPONENT) -> float:
    """Return the hours for which a full battery gives a current, t = H (C / (I H))^k [2]_.

    Only for currents of the rated one (C / H) and more: far below it the formula overstates, use `hours_to_flat`.
    """
    _require_positive(capacity_ah, "capacity", "ampere hours")
    _require_positive(current_a, "current", "amperes")
    _require_positive(rated_hours, "rated time", "hours")
    if not 1 <= exponent < math.inf:
        raise BatteryError("Peukert's exponent is 1 or more.")
    return rated_hours * (capacity_ah / (current_a * rated_hours)) ** exponent


def peukert_exponent(capacity_1_ah: float, hours_1: float, capacity_2_ah: float, hours_2: float) -> float:
    """Return Peukert's exponent from two ratings of one battery, k = ln(t₂/t₁) / ln(I₁/I₂) [2]_."""
    for capacity in (capacity_1_ah, capacity_2_ah):
        _require_positive(capacity, "capacity", "ampere hours")
    for hours in (hours_1, hours_2):
        _require_positive(hours, "rated time", "hours")
    current_1, current_2 = capacity_1_ah / hours_1, capacity_2_ah / hours_2
    if current_1 == current_2:
        raise BatteryError("Two ratings at the same current say nothing about the exponent.")
    return math.log(hours_2 / hours_1) / math.log(current_1 / current_2)


def reserve_capacity_ah(minutes: float) -> float:
    """Return the charge [Ah] that a reserve capacity in minutes at 25 A means [3]_."""
    return RESERVE_CURRENT_A * minutes / _MINUTES_PER_HOUR


def _blocks(nominal_v: float) -> float:
    if nominal_v not in NOMINAL_VOLTAGES_V:
        raise BatteryError(f"A vehicle's battery has 6, 12 or 24 V, not {nominal_v:g} V.")
    return nominal_v / TABLE_NOMINAL_V


def _interpolate(table: tuple[tuple[float, float], ...], x: float) -> float:
    """Return y at x along the straight lines between the table's points; x lies within the table."""
    for (x_low, y_low), (x_high, y_high) in pairwise(table):
        if x <= x_high:
            return y_low + (y_high - y_low) * (x - x_low) / (x_high - x_low)
    return table[-1][1]


def _require_percent(percent: float) -> None:
    if not 0 <= percent <= _PERCENT:
        raise BatteryError("A state of charge lies between 0 and 100 %.")


def _require_positive(number: float, what: str, unit: str) -> None:
    if not 0 < number < math.inf:
        raise BatteryError(f"A battery's {what} is a positive number of {unit}.")
