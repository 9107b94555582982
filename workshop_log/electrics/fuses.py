"""Fuses: the cold resistance of a rating, and how soon an overload opens it.

References
----------
.. [1] Blade fuses after ISO 8820-3: resistances are order-of-magnitude catalogue values, operating times those of the
       standard's table; both from memory, unsure (see the headers of the tables).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from workshop_log import resources

_OHM_PER_MILLIOHM = 1e-3
SOURCE = "catalogue values of blade fuses, from memory, unsure"


@dataclass(frozen=True, slots=True)
class OpeningTime:
    """How long a fuse takes to open at an overload.

    Attributes
    ----------
    percent : float
        Current as a part of the rating. [%]
    least_s, most_s : float
        It opens not before the first and not after the second; infinite where there is no limit. [s]
    """

    percent: float
    least_s: float
    most_s: float


@cache
def _resistances() -> tuple[tuple[float, float], ...]:
    """Return (rating [A], cold resistance [Ω]), rising by rating."""
    return tuple(sorted((float(row["rating"]), float(row["resistance"]) * _OHM_PER_MILLIOHM)
                        for row in resources.table("fuses")))


@cache
def opening_times() -> tuple[OpeningTime, ...]:
    """Return the operating-time table [1]_, rising by current."""
    return tuple(OpeningTime(float(row["percent"]), float(row["least"]), float(row["most"] or math.inf))
                 for row in resources.table("fuse_times"))


def cold_resistance_ohm(rating_a: float) -> float:
    """Return the usual cold resistance [Ω] of a fuse.

    Between two ratings of the table by straight lines of logs; beyond its ends every rating loses as much at its rated
    current as the last one (own estimate).
    """
    table = _resistances()
    for end_a, end_ohm in (table[0], table[-1]):
        if (rating_a <= end_a) if end_a == table[0][0] else (rating_a >= end_a):
            return end_ohm * end_a / rating_a
    for (low_a, low_ohm), (high_a, high_ohm) in pairwise(table):
        if rating_a <= high_a:
            share = math.log(rating_a / low_a) / math.log(high_a / low_a)
            return low_ohm * (high_ohm / low_ohm) ** share
    raise AssertionError("the table ends above every rating that comes here")


def opening_time(rating_a: float, current_a: float) -> OpeningTime | None:
    """Return how soon a current opens a fuse: the row of the table at or below it; None where it carries it."""
    percent = 100 * abs(current_a) / rating_a
    return next((row for row in reversed(opening_times()) if percent >= row.percent), None)
