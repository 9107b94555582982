"""The standard uncertainty of a reading, from the instrument's accuracy and the last digit.

References
----------
.. [1] JCGM 100:2008, Guide to the expression of uncertainty in measurement (GUM): 4.3.7 for limits within which a
       value surely lies, F.2.2.1 for the resolution of an indication, 5.1.2 for adding independent parts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from workshop_log.measuring import units
from workshop_log.measuring.entry import Entry
from workshop_log.measuring.instruments import DEFAULT_MULTIMETER, AccuracyRange, Instrument

# Standard deviation of a rectangular distribution: half its width / √3, its whole width / √12.
_HALF_WIDTH_DIVISOR = math.sqrt(3)
_WIDTH_DIVISOR = math.sqrt(12)
_PERCENT = 100.0


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """The standard uncertainty of one reading, with where it comes from.

    Attributes
    ----------
    standard : float
        Combined standard uncertainty, in the reading's unit.
    from_accuracy, from_resolution : float
        Its two parts, in the reading's unit.
    words : str
        What accuracy it rests on.
    largest : float | None
        The largest value the instrument can show, in the reading's unit; None if nobody wrote it down. A reading
        over range lies above it.
    """

    standard: float
    from_accuracy: float = 0.0
    from_resolution: float = 0.0
    words: str = ""
    largest: float | None = None

    def __post_init__(self) -> None:
        if not all(math.isfinite(part) and part >= 0
                   for part in (self.standard, self.from_accuracy, self.from_resolution)):
            raise ValueError("A standard uncertainty is finite and not negative.")


def rectangular(half_width: float) -> float:
    """Return the standard uncertainty of a value that surely lies within ± the half-width (GUM 4.3.7)."""
    return half_width / _HALF_WIDTH_DIVISOR


def from_resolution(count: float) -> float:
    """Return the standard uncertainty that one count of the last digit brings (GUM F.2.2.1)."""
    return count / _WIDTH_DIVISOR


def combine(*standard: float | Uncertainty) -> float:
    """Return the root sum of squares of independent standard uncertainties, all in one unit (GUM 5.1.2)."""
    return math.hypot(*(part.standard if isinstance(part, Uncertainty) else part for part in standard))


def accuracy_limit(value: float, accuracy: AccuracyRange, count: float) -> float:
    """Return a = percent of reading + counts: the true value surely lies within ±a of the reading.

    `value`, `count` and the result share one unit.
    """
    return abs(value) * accuracy.percent / _PERCENT + accuracy.counts * count


def standard_uncertainty(entry: Entry, instrument: Instrument = DEFAULT_MULTIMETER) -> Uncertainty:
    """Return the standard uncertainty of a reading taken with an instrument.

    u² = (a/√3)² + (d/√12)² with a = percent · |y| + counts · c. One count c is the range's resolution, or the
    last digit typed where the range has none; d is the coarser of c and the last digit typed, because a reading
    noted with fewer digits than shown was rounded. The digits of "< 0.1 V" are the person's and not the display's,
    so they are no counts.

    For a reading over range it is that of the end of the largest range, or zero where that is not known.
    """
    quantity = entry.dimension
    if not quantity:
        return Uncertainty(0.0, words="over range, of an instrument that is not named")
    base = units.base_unit(quantity)
    scale = units.scale(base, entry.unit)
    largest = instrument.largest(quantity)
    value = largest if entry.value is None else units.convert(entry.value, entry.unit, base)
    words = instrument.describe_accuracy(quantity, value)
    if value is None:
        return Uncertainty(0.0, words=words)

    accuracy = instrument.range_for(quantity, value)
    typed = entry.resolution / scale if entry.relation == "=" else 0.0
    count = accuracy.resolution or typed
    accuracy_part = rectangular(accuracy_limit(value, accuracy, count)) * scale
    resolution_part = from_resolution(max(count, typed)) * scale
    return Uncertainty(
        standard=combine(accuracy_part, resolution_part),
        from_accuracy=accuracy_part,
        from_resolution=resolution_part,
        words=words,
        largest=None if largest is None else units.convert(largest, base, entry.unit),
    )
