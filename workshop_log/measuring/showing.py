"""Values and readings shown as a meter shows them, and written as the job file writes them."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import TYPE_CHECKING

from workshop_log.measuring import units
from workshop_log.measuring.units import PREFIXES, UNIT, Unit

if TYPE_CHECKING:
    from workshop_log.measuring.entry import Entry

# A meter that is not asked for a certain resolution shows this many digits.
USUAL_DIGITS = 3
# Below this many decimals of the smallest prefix a value is the rounding of a calculation, and shown as nothing.
MAX_SHOWN_DECIMALS = 6

NO_BREAK_SPACE = "\u00a0"
MINUS = "\u2212"


def show(value: float, unit: str, resolution: float | None = None, digits: int | None = None) -> str:
    """Return a value as a meter shows it: 0.44 A is "440 mA", 1500 ohm is "1.50 kΩ".

    Parameters
    ----------
    value : float
        In `unit`.
    unit : str
        A unit of the table.
    resolution : float, optional
        One count of the last digit that is known, in `unit`.
    digits : int, optional
        Significant digits, where no resolution is given; three unless said. Digits before the decimal point
        are never rounded away for a unit without prefixes: an odometer keeps its last mile.
    """
    found, prefix = units.find_unit(unit)
    exact = _decimal(value).scaleb(PREFIXES[prefix])
    if resolution is None:
        return _shown_with_digits(exact, found, USUAL_DIGITS if digits is None else digits)
    decimals = -math.floor(math.log10(resolution) + 1e-9) - PREFIXES[prefix]
    # Rounded to what is known first: a thousandth where hundredths are known is nothing.
    exact = Decimal(f"{exact.scaleb(decimals):.0f}").scaleb(-decimals)
    return _shown(exact, found, _fitting_prefix(exact, found, decimals), decimals)


def show_entry(entry: Entry) -> str:
    """Return the reading for screen and paper with the digits that were typed: 12.60 V stays 12.60 V."""
    if entry.value is None:
        return "OL"
    sign = "" if entry.relation == "=" else f"{entry.relation}{NO_BREAK_SPACE}"
    unit, value = UNIT[entry.unit], _decimal(entry.value)
    prefix = entry.prefix
    if not _is_comfortable(value, prefix) or entry.decimals + PREFIXES[prefix] < 0:
        prefix = _fitting_prefix(value, unit, entry.decimals)
    return sign + _shown(value, unit, prefix, entry.decimals)


def plain_text(entry: Entry) -> str:
    """Return the reading as the job file writes it: "12.4 V", "440 mA", "4.7 kohm", "<0.1 V", "OL".

    Reading it again gives the same value, unit, digits and relation; over range has the step's usual unit.
    """
    if entry.value is None:
        return "OL"
    unit, prefix = UNIT[entry.unit], entry.prefix
    for larger in unit.prefix_list:
        if entry.decimals + PREFIXES[prefix] >= 0:
            break
        if PREFIXES[larger] > PREFIXES[prefix]:
            prefix = larger
    value = _decimal(entry.value).scaleb(-PREFIXES[prefix])
    places = entry.decimals + PREFIXES[prefix]
    number = f"{value:.{places}f}" if places >= 0 else f"{value.scaleb(places):.0f}e{-places}"
    sign = "" if entry.relation == "=" else entry.relation
    return f"{sign}{number} {prefix.replace('µ', 'u')}{unit.name}"


def _decimal(value: float) -> Decimal:
    # The shortest decimal text of the float, so that 0.44 is 0.44 and not 0.440000000000000002.
    return Decimal(repr(float(value)))


def _is_comfortable(value: Decimal, prefix: str) -> bool:
    """Whether a meter would show the value with this prefix: one to three digits before the point, or zero."""
    return not value or 1 <= abs(value.scaleb(-PREFIXES[prefix])) < 1000


def _fitting_prefix(value: Decimal, unit: Unit, decimals: int) -> str:
    """Return the prefix that a meter would show, unless it needs more than one zero that nobody measured.

    0.44 A becomes 440 mA, but 0.2 ohm stays 0.2 ohm: 200 mΩ would claim two digits more.
    """
    best = ""
    for prefix in unit.prefix_list:
        if PREFIXES[prefix] < 0 and decimals + PREFIXES[prefix] < -1:
            continue
        best = prefix
        # Rounded first: 999.6 with no decimal is 1.000 of the next prefix.
        rounded = _rounded(value.scaleb(-PREFIXES[prefix]), decimals + PREFIXES[prefix])
        if abs(rounded) < 1000 and (rounded or PREFIXES[prefix] >= 0):
            break
    return best


def _rounded(value: Decimal, places: int) -> Decimal:
    return Decimal(f"{value:.{max(places, 0)}f}")


def _shown_with_digits(value: Decimal, unit: Unit, digits: int) -> str:
    """Show significant digits: enough decimals for them, in the prefix that the rounded value needs."""
    smallest = Decimal(1).scaleb(PREFIXES[unit.prefix_list[0]] - MAX_SHOWN_DECIMALS)
    if abs(value) < smallest:
        return _shown(Decimal(0), unit, "", 0)
    # Round to the digits first: 999.96 V with three digits is 1.00 kV.
    rounded = Decimal(f"{value:.{digits - 1}e}")
    decimals = digits - 1 - rounded.adjusted()
    if len(unit.prefix_list) == 1:
        return _shown(value, unit, "", min(decimals, MAX_SHOWN_DECIMALS))
    prefix = next((p for p in reversed(unit.prefix_list) if abs(rounded) >= Decimal(1).scaleb(PREFIXES[p])),
                  unit.prefix_list[0])
    return _shown(value, unit, prefix, min(decimals, MAX_SHOWN_DECIMALS - PREFIXES[prefix]))


def _shown(value: Decimal, unit: Unit, prefix: str, decimals: int) -> str:
    places = max(decimals + PREFIXES[prefix], 0)
    number = f"{value.scaleb(-PREFIXES[prefix]):.{places}f}"
    if number.startswith("-"):
        # A value that rounds to nothing has no sign.
        number = (MINUS if number.strip("-0.") else "") + number[1:]
    return f"{number}{NO_BREAK_SPACE}{prefix}{unit.shown.replace(' ', NO_BREAK_SPACE)}"
