"""What a reading should be: an expected range with its source."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from decimal import Decimal

from workshop_log.errors import WorkshopLogError
from workshop_log.measuring import units
from workshop_log.measuring.showing import MINUS, NO_BREAK_SPACE
from workshop_log.measuring.units import PREFIXES, UNIT

# Limits are rounded to this many significant digits when shown.
_SHOWN_DIGITS = 4
# Limits from a tenth of the unit to a thousand are shown without prefix: "at most 0.2 V".
_WITHOUT_PREFIX = (0.1, 1000.0)


class RangeError(WorkshopLogError, ValueError):
    """An expected range that cannot be: no limit at all, limits in the wrong order, a limit that is no number."""


@dataclass(frozen=True, slots=True)
class ExpectedRange:
    """The limits that a reading is held against.

    Attributes
    ----------
    low, high : float | None
        In `unit`; None where that side has no limit. At least one is given and low does not exceed high.
    unit : str
        Canonical unit of the table.
    source : str
        Where the limits come from, in words for the report.
    uncertainty : float
        Standard uncertainty of the limits themselves, in `unit`.
    shown_as_near_as : float
        Words show computed limits to the second digit of this, in `unit`: further ones say nothing (JCGM 100:2008,
        7.2.6). Zero for limits that somebody wrote.
    """

    low: float | None
    high: float | None
    unit: str
    source: str
    uncertainty: float = 0.0
    shown_as_near_as: float = 0.0

    def __post_init__(self) -> None:
        if self.unit not in UNIT:
            raise units.UnknownUnitError(self.unit)
        limits = [limit for limit in (self.low, self.high) if limit is not None]
        if not limits:
            raise RangeError("An expected range needs a lowest or a highest value.")
        if not all(map(math.isfinite, limits)):
            raise RangeError("The limits of an expected range are finite numbers; leave out the side without limit.")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise RangeError(f"The lowest expected value ({self.low:g} {self.unit}) is above the highest "
                             f"({self.high:g} {self.unit}): exchange them.")
        if not (math.isfinite(self.uncertainty) and self.uncertainty >= 0):
            raise RangeError("The uncertainty of an expected range is zero or a positive number.")

    @classmethod
    def typed(cls, low: float | None, high: float | None, unit: str, source: str) -> ExpectedRange:
        """Return the range for limits in any spelling of a unit, with or without prefix: (None, 50, "mA")."""
        found, prefix = units.find_unit(unit)

        def without_prefix(limit: float | None) -> float | None:
            # In decimal, so that 50 mA is exactly the float 0.05.
            return None if limit is None else float(Decimal(repr(float(limit))).scaleb(PREFIXES[prefix]))

        return cls(without_prefix(low), without_prefix(high), found.name, source)

    @property
    def dimension(self) -> str:
        """What is expected: "voltage", "length", ..."""
        return UNIT[self.unit].dimension

    def in_unit(self, unit: str) -> ExpectedRange:
        """Return the same range in another unit of its dimension.

        Raises
        ------
        UnitMismatchError
            If the unit measures something else.
        """
        if unit == self.unit:
            return self
        low = None if self.low is None else units.convert(self.low, self.unit, unit)
        high = None if self.high is None else units.convert(self.high, self.unit, unit)
        scale = units.scale(self.unit, unit)
        return replace(self, low=low, high=high, unit=unit, uncertainty=self.uncertainty * scale,
                       shown_as_near_as=self.shown_as_near_as * scale)

    def words(self) -> str:
        """Return the range in words: "12.1 to 12.6 V", "at most 0.2 V", "at least 9.6 V"."""
        shown_low, shown_high = (None if limit is None else _shown(limit, self.shown_as_near_as)
                                 for limit in (self.low, self.high))
        limits = [limit for limit in (shown_low, shown_high) if limit is not None]
        prefix = _prefix_for(max(map(abs, limits)), self.unit)
        unit = _unit_text(prefix, self.unit)
        if shown_low is None:
            return f"at most {_limit_text(shown_high, prefix)}{unit}"
        if shown_high is None:
            return f"at least {_limit_text(shown_low, prefix)}{unit}"
        low, high = _limit_text(shown_low, prefix), _limit_text(shown_high, prefix)
        return f"exactly {low}{unit}" if self.low == self.high else f"{low} to {high}{unit}"


def limit_words(limit: float, unit: str, prefix: str = "") -> str:
    """Return one limit, which is in `unit`, in words and with this prefix: "150 mm", "600 mV", "6 kΩ"."""
    return f"{_limit_text(limit, prefix)}{_unit_text(prefix, unit)}"


def _unit_text(prefix: str, unit: str) -> str:
    return f"{NO_BREAK_SPACE}{prefix}{UNIT[unit].shown.replace(' ', NO_BREAK_SPACE)}"


def _shown(limit: float, nearness: float) -> float:
    """Return a limit to the second digit of `nearness`, or as it is where that is zero."""
    return round(limit, 1 - math.floor(math.log10(nearness))) if nearness > 0 else limit


def _prefix_for(largest: float, unit: str) -> str:
    if not largest or _WITHOUT_PREFIX[0] <= largest < _WITHOUT_PREFIX[1]:
        return ""
    prefixes = UNIT[unit].prefix_list
    return next((prefix for prefix in reversed(prefixes) if largest >= 10.0 ** PREFIXES[prefix]), prefixes[0])


def _limit_text(limit: float, prefix: str) -> str:
    """Return the number with up to four significant digits, or all before the point, and no trailing zeros."""
    value = Decimal(repr(limit)).scaleb(-PREFIXES[prefix])
    decimals = max(_SHOWN_DIGITS - 1 - value.adjusted(), 0) if value else 0
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", MINUS)
