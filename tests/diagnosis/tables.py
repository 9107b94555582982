"""Small problems made up by a seed, the best that can be done with them, and what following the ranking takes."""

from __future__ import annotations

import numpy as np

from workshop_log.diagnosis.planning import Problem, by_inspection, rank


def made_up(chance: np.random.Generator) -> Problem:
    """Return four to eight parts in five to ten hypotheses, with six to eleven tests that each divide them."""
    n_hypotheses = int(chance.integers(5, 11))
    n_parts = int(chance.integers(4, min(n_hypotheses, 8) + 1))
    part = np.concatenate([np.arange(n_parts), chance.integers(0, n_parts, n_hypotheses - n_parts)])
    n_tests = int(chance.integers(6, 12))
    table = np.zeros((n_tests, n_hypotheses, 3))
    for test in range(n_tests):
        table[test, np.arange(n_hypotheses), chance.integers(0, chance.integers(2, 4), n_hypotheses)] = 1
    names = ("trim", "seat", "lamp")
    access = tuple((names[int(chance.integers(3))],) if chance.random() < 0.3 else () for _ in range(n_tests))
    return Problem(chance.dirichlet(np.ones(n_hypotheses)), part, table, chance.uniform(1, 6, n_tests).round(1), access,
                   {name: float(chance.integers(2, 15)) for name in names},
                   chance.uniform(4, 25, n_parts).round(1))


def after(problem: Problem, test: int, outcome: int) -> tuple[float, np.ndarray]:
    """Return the probability of an outcome and what is believed after it."""
    joint = problem.belief * problem.table[test, :, outcome]
    total = float(joint.sum())
    return total, joint / total if total else joint


def with_belief(problem: Problem, belief: np.ndarray, paid: frozenset[str]) -> Problem:
    """Return the problem as it stands after some tests, what was opened costing nothing any more."""
    access_minutes = {name: 0.0 if name in paid else cost for name, cost in problem.access_minutes.items()}
    return Problem(belief, problem.part, problem.table, problem.minutes, problem.access, access_minutes,
                   problem.inspect_minutes, problem.certainty)


def parts_of(problem: Problem) -> np.ndarray:
    """Return the probability of each part."""
    return np.bincount(problem.part, problem.belief, len(problem.inspect_minutes))


def optimum(problem: Problem, paid: frozenset[str] = frozenset(), known: dict | None = None) -> float:
    """Return the least expected minutes, by dynamic programming over everything that can be believed."""
    known = {} if known is None else known
    key = np.round(problem.belief, 9).tobytes(), paid
    if key not in known:
        parts = parts_of(problem)
        best = 0.0 if parts.max() >= problem.certainty else float(by_inspection(parts, problem.inspect_minutes))
        if best:
            for test in range(len(problem.table)):
                best = min(best, _with_first(problem, test, paid, lambda one, more: optimum(one, more, known), best))
        known[key] = best
    return known[key]


def followed(problem: Problem, paid: frozenset[str] = frozenset(), known: dict | None = None) -> float:
    """Return the expected minutes of making the first-ranked test again and again, or inspecting where that is less."""
    known = {} if known is None else known
    key = np.round(problem.belief, 9).tobytes(), paid
    if key not in known:
        parts = parts_of(problem)
        if parts.max() >= problem.certainty:
            known[key] = 0.0
        else:
            inspecting = float(by_inspection(parts, problem.inspect_minutes))
            first = rank(problem, 1)[0]
            known[key] = inspecting if first.expected_minutes >= inspecting else _with_first(
                problem, first.test, paid, lambda one, more: followed(one, more, known))
    return known[key]


def _with_first(problem: Problem, test: int, paid: frozenset[str], go_on, at_most: float = np.inf) -> float:
    needed = problem.access[test]
    total = float(problem.minutes[test]) + sum(problem.access_minutes[name] for name in needed)
    outcomes = [after(problem, test, outcome) for outcome in range(problem.table.shape[2])]
    if total >= at_most or max(chance for chance, _ in outcomes) > 1 - 1e-9:
        return np.inf
    more = paid | frozenset(needed)
    for chance, belief in outcomes:
        if chance > 1e-9:
            total += chance * go_on(with_belief(problem, belief, more), more)
            if total >= at_most:
                return np.inf
    return total
