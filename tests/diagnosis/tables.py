"""Small problems made up by a seed, the best that can be done with them, and what following the ranking takes.

What can be done is to make a test, once, or to inspect one part; a part that was inspected is at fault or it is not.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from workshop_log.diagnosis.planning import Problem, by_inspection, rank

# What one can come to is so many situations, each with the probability that it comes to it, and what that takes.
Step = tuple[float, list[tuple[float, Problem]]]


def made_up(chance: np.random.Generator) -> Problem:
    """Return three to six parts of one or two sizes of fault, and three to five tests, some of which err."""
    n_parts = int(chance.integers(3, 7))
    part = np.repeat(np.arange(n_parts), chance.integers(1, 3, n_parts))
    n_tests, n_outcomes = int(chance.integers(3, 6)), int(chance.integers(2, 4))
    error = float(chance.choice([0.0, 0.01, 0.05]))
    table = np.full((n_tests, len(part), n_outcomes), error / n_outcomes)
    for test in range(n_tests):
        table[test, np.arange(len(part)), chance.integers(0, n_outcomes, len(part))] += 1 - error
    names = ("trim", "seat")
    access = tuple(tuple(name for name in names if chance.random() < 0.35) for _ in range(n_tests))
    return Problem(chance.dirichlet(np.ones(len(part))), part, table, chance.uniform(0.5, 6, n_tests).round(1), access,
                   {name: round(float(chance.uniform(0.5, 8)), 1) for name in names},
                   np.exp(chance.uniform(np.log(2), np.log(40), n_parts)).round(1))


def parts_of(problem: Problem) -> np.ndarray:
    """Return the probability of each part."""
    return np.bincount(problem.part, problem.belief, len(problem.inspect_minutes))


def is_over(problem: Problem) -> bool:
    """Whether a part is isolated."""
    return bool(parts_of(problem).max() >= problem.certainty - 1e-12)


def after_test(problem: Problem, test: int) -> Step:
    """Return what a test takes, and where its outcomes lead."""
    others = np.arange(len(problem.table)) != test
    needed = problem.access[test]
    left = replace(problem, table=problem.table[others], minutes=problem.minutes[others],
                   access=tuple(one for one, keep in zip(problem.access, others, strict=True) if keep),
                   access_minutes={name: 0.0 if name in needed else cost
                                   for name, cost in problem.access_minutes.items()})
    joint = problem.belief[:, None] * problem.table[test]
    minutes = float(problem.minutes[test]) + sum(problem.access_minutes[name] for name in needed)
    return minutes, [(float(one.sum()), replace(left, belief=one / one.sum())) for one in joint.T if one.sum() > 1e-12]


def after_inspection(problem: Problem, part: int) -> Step:
    """Return what inspecting a part takes, and where it leads if that was not it."""
    left = np.where(problem.part == part, 0.0, problem.belief)
    rest = [(float(left.sum()), replace(problem, belief=left / left.sum()))] if left.sum() > 1e-12 else []
    return float(problem.inspect_minutes[part]), rest


def steps(problem: Problem) -> list[Step]:
    """Return everything that can be done."""
    return [*(after_test(problem, test) for test in range(len(problem.table))),
            *(after_inspection(problem, int(part)) for part in np.flatnonzero(parts_of(problem) > 1e-12))]


def expected(step: Step, go_on: Callable[[Problem], float]) -> float:
    """Return the expected minutes of a step and all that follows."""
    minutes, rest = step
    return minutes + sum(chance * go_on(problem) for chance, problem in rest)


def optimum(problem: Problem, known: dict | None = None) -> float:
    """Return the least expected minutes, by dynamic programming over everything that can be believed."""
    known = {} if known is None else known
    key = _key(problem)
    if key not in known:
        known[key] = 0.0 if is_over(problem) else min(
            expected(step, lambda one: optimum(one, known)) for step in steps(problem) if not _tells_nothing(step))
    return known[key]


def followed(problem: Problem, known: dict | None = None) -> float:
    """Return the expected minutes of making the first-ranked test again and again, or inspecting where that is less."""
    known = {} if known is None else known
    key = _key(problem)
    if key not in known:
        known[key] = 0.0 if is_over(problem) else expected(_chosen(problem), lambda one: followed(one, known))
    return known[key]


def _chosen(problem: Problem) -> Step:
    """Return the first-ranked test, or the inspection of the first part of those that are inspected best."""
    inspecting = min((after_inspection(problem, int(part)) for part in np.flatnonzero(parts_of(problem) > 1e-12)),
                     key=lambda step: expected(step, lambda one: 0.0 if is_over(one) else _promised(one)))
    ranked = rank(problem, 1)
    promised = expected(inspecting, lambda one: 0.0 if is_over(one) else _promised(one))
    if ranked and ranked[0].bits > 1e-9 and ranked[0].expected_minutes < promised:
        return after_test(problem, ranked[0].test)
    return inspecting


def _promised(problem: Problem) -> float:
    """Return the expected minutes that the ranking promises, or those of inspecting, if they are less."""
    return min([float(by_inspection(parts_of(problem), problem.inspect_minutes)),
                *(one.expected_minutes for one in rank(problem, 1))])


def _tells_nothing(step: Step) -> bool:
    return len(step[1]) == 1 and step[1][0][0] > 1 - 1e-12


def _key(problem: Problem) -> tuple:
    return (np.round(problem.belief, 9).tobytes(), problem.minutes.tobytes(), problem.table.tobytes(),
            tuple(sorted(problem.access_minutes.items())))
