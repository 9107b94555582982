"""The verdict on a reading: inside, outside or too close to call, given the instrument.

The probability that the true value lies inside the expected range is that of a normal distribution about the
reading [1]_. A reading that only says "below", "above" or "over range" stands for every value it leaves possible;
the verdict then has to hold for all of them. Outside means beyond one of the limits, and which one is known.

References
----------
.. [1] JCGM 106:2012, The role of measurement uncertainty in conformity assessment, clause 7.
"""

from __future__ import annotations

import enum
import math
from dataclasses import dataclass

from workshop_log.errors import WorkshopLogError
from workshop_log.measuring.entry import Entry
from workshop_log.measuring.ranges import ExpectedRange
from workshop_log.measuring.showing import NO_BREAK_SPACE, show, show_entry
from workshop_log.measuring.uncertainty import Uncertainty, combine
from workshop_log.measuring.units import UnitMismatchError

__all__ = ["Judgement", "UnitMismatchError", "Verdict", "VerdictLimits", "judge", "probability_inside"]

_SQRT_2 = math.sqrt(2)
# Two standard uncertainties either way hold the true value with a confidence of 95 %.
COVERAGE_FACTOR = 2


class Verdict(enum.Enum):
    """What a reading is against its expected range."""

    # So probable that the true value lies in the range that it may be relied on.
    INSIDE = "inside"
    # So improbable that the reading may speak against a part.
    OUTSIDE = "outside"
    # The instrument cannot tell: the reading proves nothing and excludes nothing.
    TOO_CLOSE = "too close to call"


class VerdictLimitsError(WorkshopLogError, ValueError):
    """Limits of the verdict that leave no room or overlap."""


@dataclass(frozen=True, slots=True)
class VerdictLimits:
    """From which probability a reading counts as inside, and up to which as outside: the workshop's settings."""

    inside: float = 0.95
    outside: float = 0.05

    def __post_init__(self) -> None:
        if not 0 <= self.outside < self.inside <= 1:
            raise VerdictLimitsError("The limit for “outside” lies below the limit for “inside”, both from 0 to 1.")


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict with what it rests on.

    Attributes
    ----------
    entry, expected, uncertainty
        What was judged, against what, and how well it is known. The uncertainty is in the entry's unit.
    probability_inside : float
        Probability that the true value lies inside (JCGM 106). For "<", ">" and over range the
        bound that decides; the middle of what is possible where nothing is decided.
    verdict : Verdict
        The verdict.
    reason : tuple[str, ...]
        Short sentences: the reading, the range, the instrument, what follows.
    """

    entry: Entry
    expected: ExpectedRange
    uncertainty: Uncertainty
    probability_inside: float
    verdict: Verdict
    reason: tuple[str, ...]


def probability_inside(value: float, low: float | None, high: float | None, standard: float) -> float:
    """Return the probability that the true value lies between the limits, p = Φ((high−y)/u) − Φ((low−y)/u).

    Parameters
    ----------
    value : float
        The reading y; may be infinite.
    low, high : float | None
        The limits in the same unit; None where that side has none.
    standard : float
        Standard uncertainty u in the same unit. With none, the answer is 0 or 1, and a limit itself is inside.
    """
    below, above = (-math.inf if low is None else low), (math.inf if high is None else high)
    if math.isinf(value):
        return float((low is None) if value < 0 else (high is None))
    if not standard:
        return float(below <= value <= above)
    z_low, z_high = (below - value) / standard, (above - value) / standard
    # Both limits on one side: subtract the two small tails, not two numbers near one.
    if z_low > 0:
        z_low, z_high = -z_high, -z_low
    return max(_normal(z_high) - _normal(z_low), 0.0)


DEFAULT_LIMITS = VerdictLimits()


def judge(entry: Entry, expected: ExpectedRange, uncertainty: Uncertainty,
          limits: VerdictLimits = DEFAULT_LIMITS) -> Judgement:
    """Return the verdict on a reading.

    Parameters
    ----------
    entry : Entry
        The reading.
    expected : ExpectedRange
        What it is held against; converted when its unit is another one of the same dimension.
    uncertainty : Uncertainty
        Standard uncertainty of the reading, in its unit.
    limits : VerdictLimits
        From which probability a reading is inside or outside.

    Raises
    ------
    UnitMismatchError
        If the reading measures something else than what is expected.
    """
    here = expected.in_unit(_unit_of(entry, expected))
    total = combine(uncertainty, here.uncertainty)
    least, most = _possible_values(entry, here, uncertainty)
    lowest, highest = _probabilities(least, most, here, total)
    if lowest >= limits.inside:
        verdict, probability = Verdict.INSIDE, lowest
    elif _not_beyond(least, most, here, total) <= limits.outside:
        verdict, probability = Verdict.OUTSIDE, highest
    else:
        verdict, probability = Verdict.TOO_CLOSE, (lowest + highest) / 2
    return Judgement(entry, expected, uncertainty, probability, verdict,
                     _reason(entry, expected, here, uncertainty, verdict, limits))


def _unit_of(entry: Entry, expected: ExpectedRange) -> str:
    """Return the unit to judge in; an over-range reading without unit means what was expected."""
    if not entry.unit:
        return expected.unit
    if entry.dimension != expected.dimension:
        raise UnitMismatchError(expected.unit, entry.unit)
    return entry.unit


def _possible_values(entry: Entry, here: ExpectedRange, uncertainty: Uncertainty) -> tuple[float, float]:
    """Return the least and the most that the reading leaves possible."""
    if entry.value is None:
        # An instrument whose end is not known is taken to have reached beyond the limits: nobody measures a
        # 1 kΩ part on a range that ends below it.
        return (math.inf if uncertainty.largest is None else uncertainty.largest), math.inf
    if entry.relation == ">":
        return entry.value, math.inf
    if entry.relation == "<":
        # "< 0.1 V" speaks of a small amount, not of minus twelve volts; a temperature may go below zero.
        has_floor = entry.value >= 0 and here.dimension != "temperature"
        return (0.0 if has_floor else -math.inf), entry.value
    return entry.value, entry.value


def _probabilities(least: float, most: float, here: ExpectedRange, standard: float) -> tuple[float, float]:
    """Return the smallest and the largest probability inside over all values from least to most.

    The probability rises towards the middle of the range and falls beyond it, so the smallest is at an end and
    the largest at the middle or the end next to it.
    """
    at_ends = [probability_inside(value, here.low, here.high, standard) for value in (least, most)]
    if here.low is None or here.high is None:
        return min(at_ends), max(at_ends)
    middle = min(max((here.low + here.high) / 2, least), most)
    return min(at_ends), max(*at_ends, probability_inside(middle, here.low, here.high, standard))


def _not_beyond(least: float, most: float, here: ExpectedRange, standard: float) -> float:
    """Return how probable it is at most that the true value is not beyond the one limit it most likely is beyond.

    For a range wider than the uncertainty this is the probability inside. For a narrower one that probability is
    small wherever the reading lies, even in the middle: such an instrument cannot tell, and must not condemn.
    """
    not_above = 1.0 if here.high is None else probability_inside(least, None, here.high, standard)
    not_below = 1.0 if here.low is None else probability_inside(most, here.low, None, standard)
    return min(not_above, not_below)


def _normal(z: float) -> float:
    """Return the standard normal distribution function Φ(z), accurate in the lower tail."""
    return math.erfc(-z / _SQRT_2) / 2


def _reason(entry: Entry, expected: ExpectedRange, here: ExpectedRange, uncertainty: Uncertainty,
            verdict: Verdict, limits: VerdictLimits) -> tuple[str, ...]:
    sentences = [f"Read {show_entry(entry)}, expected {expected.words()} ({expected.source})."]
    if entry.value is None:
        sentences.append(
            "Over range; the instrument is taken to reach beyond the limits." if uncertainty.largest is None
            else f"Over range: above {show(uncertainty.largest, here.unit)}, where the instrument's ranges end.")
    elif uncertainty.words:
        interval = show(COVERAGE_FACTOR * uncertainty.standard, entry.unit, digits=2)
        sentences.append(f"Known to ±{NO_BREAK_SPACE}{interval} with 95{NO_BREAK_SPACE}% confidence "
                         f"({uncertainty.words}).")
    sentences.append(_conclusion(entry, here, verdict))
    middle_is_inside = _probability_in_middle(here, combine(uncertainty, here.uncertainty)) >= limits.inside
    if verdict is Verdict.TOO_CLOSE and not middle_is_inside:
        sentences.append("No reading of this instrument with so few digits could be surely inside so narrow a range.")
    return tuple(sentences)


def _probability_in_middle(here: ExpectedRange, standard: float) -> float:
    """Return the largest probability inside that any reading could have."""
    if here.low is None or here.high is None:
        return 1.0
    return probability_inside((here.low + here.high) / 2, here.low, here.high, standard)


def _conclusion(entry: Entry, here: ExpectedRange, verdict: Verdict) -> str:
    if verdict is Verdict.INSIDE:
        return "The reading is inside the expected range."
    if verdict is Verdict.OUTSIDE:
        is_high = entry.value is None or (here.high is not None and entry.value > here.high)
        return f"The reading is outside: too {'high' if is_high else 'low'}."
    if entry.relation != "=":
        return "The reading leaves values inside and outside possible: measure on a range that shows a number."
    return "Too close to a limit for this instrument: the reading proves nothing and excludes nothing."
