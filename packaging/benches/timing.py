"""Clocks: two things in turn, so that a busy moment of the machine hits both, and figures that stand for many runs."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Figures:
    """Many runs of one thing, in seconds."""

    times: tuple[float, ...]

    @property
    def least(self) -> float:
        """The quickest run: what the thing itself takes, with the least of anything else in it."""
        return min(self.times)

    @property
    def median(self) -> float:
        """The run in the middle."""
        return statistics.median(self.times)

    @property
    def p95(self) -> float:
        """The run that 95 of 100 are not slower than (nearest rank)."""
        ordered = sorted(self.times)
        return ordered[-(-95 * len(ordered) // 100) - 1]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the table.

    Attributes
    ----------
    what : str
        What was measured.
    program, baseline : float | None
        In `unit`; None where there is nothing to hold it against.
    unit : str
        "ms", "µs" or "MB".
    goal : str
        In words; blank where none was set.
    is_met : bool | None
        None without a goal.
    note : str
        What else there is to know of it.
    """

    what: str
    program: float
    unit: str
    baseline: float | None = None
    goal: str = ""
    is_met: bool | None = None
    note: str = ""

    @property
    def ratio(self) -> float | None:
        """Program to baseline."""
        return self.program / self.baseline if self.baseline else None


def seconds(act: Callable[[], Any]) -> float:
    """Return how long a call takes."""
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def in_turn(acts: Sequence[Callable[[], float]], rounds: int) -> list[Figures]:
    """Return the figures of acts that measure themselves, run in turn; every other round in reverse."""
    times: list[list[float]] = [[] for _ in acts]
    for count in range(rounds):
        order = range(len(acts)) if count % 2 == 0 else reversed(range(len(acts)))
        for index in order:
            times[index].append(acts[index]())
    return [Figures(tuple(taken)) for taken in times]


def held_to(what: str, program: float, unit: str, baseline: float | None = None, *, ratio: float | None = None,
            below: float | None = None, note: str = "") -> Line:
    """Return the line of the table with its goals: at most `ratio` times the baseline, below `below` in `unit`."""
    goals, met = [], []
    if ratio is not None and baseline:
        goals.append(f"≤ {ratio:g} ×")
        met.append(program / baseline <= ratio)
    if below is not None:
        goals.append(f"< {below:g} {unit}")
        met.append(program < below)
    return Line(what, program, unit, baseline, " and ".join(goals), all(met) if met else None, note)
