"""Choosing the next test from tables: information for its time. A first version: one step ahead."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.diagnosis.outdated import Outdated
from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Outdated", "Problem", "Ranked", "rank"]


@dataclass(frozen=True)
class Problem:
    """Hypotheses in parts, tests with what they show and take."""

    belief: Array
    part: NDArray[np.int64]
    table: Array
    minutes: Array
    access: tuple[tuple[str, ...], ...]
    access_minutes: Mapping[str, float]
    inspect_minutes: Array


@dataclass(frozen=True, slots=True)
class Ranked:
    """One test with its information on the part."""

    test: int
    bits: float


def rank(problem: Problem, count: int = 10, is_outdated: Callable[[], bool] | None = None) -> tuple[Ranked, ...]:
    """Return the tests with most information for their minutes."""
    if is_outdated is not None and is_outdated():
        raise Outdated
    weight = np.zeros((int(problem.part.max()) + 1, len(problem.belief)))
    weight[problem.part, np.arange(len(problem.belief))] = problem.belief
    joint = np.matmul(weight, problem.table)
    outcome = np.maximum(joint.sum(axis=1, keepdims=True), 1e-300)
    belief = weight.sum(axis=1)
    entropy = -(belief * np.log2(np.maximum(belief, 1e-300))).sum()
    bits = entropy + (joint * np.log2(np.maximum(joint / outcome, 1e-300))).sum(axis=(1, 2))
    minutes = problem.minutes + np.array([sum(problem.access_minutes[one] for one in needed)
                                          for needed in problem.access])
    order = np.argsort(-bits / np.maximum(minutes, 1e-9), kind="stable")[:count]
    return tuple(Ranked(int(test), max(float(bits[test]), 0.0)) for test in order)
