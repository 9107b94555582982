"""Choosing the next test from tables of what each would show: the one that brings the end nearest.

What counts is the expected time to the end, not information: the minutes of the test and the strip-down that it still
needs, once, and then the time to go. That is the smaller of inspecting what is left one part after the other, in order
of probability over cost [1]_, and the information still missing at the rate of the best tests at hand [2]_. The best
few tests are looked at one step further, and small problems are played to the end with the same rule.

References
----------
.. [1] Kadane and Simon, Optimal strategies for a class of constrained sequential problems, Annals of Statistics 5
       (1977) 237; Heckerman, Breese and Rommelse, Decision-theoretic troubleshooting, CACM 38 (1995) 49: with one
       fault, independent costs and sure inspections, falling probability over cost is best.
.. [2] Shannon's bound: no sequence of tests settles more than their information.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from workshop_log.diagnosis.outdated import Outdated
from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Indices = NDArray[np.int64]

__all__ = ["Outdated", "Problem", "Ranked", "rank"]

# A part that has this much is isolated.
CERTAINTY = 0.95
# The rate of information is that of the best few tests.
_RATE_OF = 3
# How many tests are looked at one step further, over how many that may follow, and how many outcomes of each.
_AHEAD, _FOLLOWING, _MOST_OUTCOMES = 6, 14, 6
# The same where the tables are large.
_AHEAD_IN_LARGE, _FOLLOWING_IN_LARGE = 3, 8
# Outcomes after which nearly the same is believed are one.
_ALIKE = 0.2
_LEAST_OUTCOME = 1e-4
# Problems of at most so many entries are played to the end, the best few tests of them.
_SMALL, _PLAYED, _MOST_ROUNDS = 40_000, 5, 14
# Each of them at most so many steps; beyond, what is still to go is estimated.
_MOST_STEPS = 120
_LEAST = 1e-300
# What tells less than this part of the best test's information stands behind all others.
_LEAST_CHOICE = 0.25
# Nor is one looked at closely that tells less than this part of what the most telling one does.
_LEAST_TELLING = 0.1


@dataclass(frozen=True)
class Problem:
    """What may be wrong, and the tests that could be made.

    Attributes
    ----------
    belief : NDArray
        Probability of each hypothesis; shape (n_hypotheses,), adding up to one.
    part : NDArray of int
        Which part would be replaced for each hypothesis, from 0 on; shape (n_hypotheses,).
    table : NDArray
        Probability of each outcome with each hypothesis; shape (n_tests, n_hypotheses, n_outcomes).
    minutes : NDArray
        Time of each test without access; shape (n_tests,). [min]
    access : tuple[tuple[str, ...], ...]
        What each test needs to get at first, by names.
    access_minutes : Mapping[str, float]
        Time to get at each; paid once. [min]
    inspect_minutes : NDArray
        Time to settle each part for good by itself; shape (n_parts,). [min]
    certainty : float
        From which probability on a part counts as isolated.
    """

    belief: Array
    part: Indices
    table: Array = field(repr=False)
    minutes: Array
    access: tuple[tuple[str, ...], ...]
    access_minutes: Mapping[str, float]
    inspect_minutes: Array
    certainty: float = CERTAINTY


@dataclass(frozen=True, slots=True)
class Ranked:
    """A test with what it is worth.

    Attributes
    ----------
    test : int
        Its number in the problem.
    bits : float
        Information expected about the part.
    minutes : float
        Now, with the access that it needs.
    expected_minutes : float
        To the end, with this test first.
    """

    test: int
    bits: float
    minutes: float
    expected_minutes: float


def rank(problem: Problem, count: int = 10, is_outdated: Callable[[], bool] | None = None) -> tuple[Ranked, ...]:
    """Return the tests in the order of the expected minutes to the end, the best first; ties in the order given.

    Raises
    ------
    Outdated
        If nobody waits for the answer any more.
    """
    if not len(problem.table):
        return ()
    planner = _Planner(problem, is_outdated)
    return planner.ranked(count)


class _Planner:
    """One problem, with what is asked of it again and again."""

    def __init__(self, problem: Problem, is_outdated: Callable[[], bool] | None) -> None:
        self.problem, self.is_outdated = problem, is_outdated
        n_parts = int(problem.part.max()) + 1
        self.of_part = np.zeros((n_parts, len(problem.belief)))
        self.of_part[problem.part, np.arange(len(problem.belief))] = 1.0
        self.inspect = np.broadcast_to(problem.inspect_minutes, (n_parts,)).astype(float)
        self.played: dict[tuple[bytes, frozenset[str]], float] = {}
        self.steps_left = 0

    def ranked(self, count: int) -> tuple[Ranked, ...]:
        """Return the ranking."""
        everything = np.arange(len(self.problem.table))
        view = _View(self, self.problem.belief, frozenset(), everything)
        score = view.score.copy()
        # What tells next to nothing may still lift a part over the certainty wanted; nobody would make such a test.
        tells = view.bits >= _LEAST_TELLING * view.bits.max()
        order = np.lexsort((everything, score, ~tells))
        by_rate = np.argsort(-view.bits / np.maximum(view.minutes, 1e-9), kind="stable")
        if view.is_isolated or view.bits.max() <= 0:
            return self._told(view, score, by_rate[:count])
        is_small = self.problem.table.size <= _SMALL
        n_ahead, n_following = (_AHEAD, _FOLLOWING) if is_small else (_AHEAD_IN_LARGE, _FOLLOWING_IN_LARGE)
        ahead = list(dict.fromkeys([*order[:n_ahead].tolist(), *by_rate[:2].tolist()]))
        following = np.array(sorted(dict.fromkeys([*order[:n_following].tolist(), *by_rate[:n_following].tolist()])))
        self._look_ahead(view, score, ahead, following)
        if is_small:
            best = sorted(ahead, key=lambda test: (score[test], test))[:_PLAYED]
            for test in best:
                score[test] = self._played_to_the_end(view, test)
            ahead = [*best, *(test for test in ahead if test not in best)]
            # What was played is compared with what was played; the others come behind.
            first = sorted(best, key=lambda test: (score[test], test))
        else:
            first = sorted(ahead, key=lambda test: (score[test], test))
        everyone = [*first, *(test for test in order.tolist() if test not in first)]
        # A quick test that tells little, before the best one, would look well; it is no choice beside it.
        least = _LEAST_CHOICE * view.bits[everyone[0]]
        everyone.sort(key=lambda test: view.bits[test] < least)
        return self._told(view, score, everyone[:count])

    @staticmethod
    def _told(view: _View, score: Array, order) -> tuple[Ranked, ...]:
        return tuple(Ranked(int(test), max(float(view.bits[test]), 0.0), float(view.minutes[test]),
                            float(score[test])) for test in order)

    def _look_ahead(self, view: _View, score: Array, tests: list[int], following: Indices) -> None:
        """Replace the time to go after each outcome of some tests by the best that may follow."""
        for test in tests:
            self.check()
            after = 0.0
            paid = view.paid | frozenset(self.problem.access[test])
            for chance, belief in self.outcomes(view.belief, test):
                next_view = _View(self, belief, paid, following)
                after += chance * next_view.best
            score[test] = view.minutes[test] + after

    def _played_to_the_end(self, view: _View, test: int) -> float:
        """Return the expected minutes with a test first and the same rule from then on."""
        paid = view.paid | frozenset(self.problem.access[test])
        everything = np.arange(len(self.problem.table))
        self.steps_left = _MOST_STEPS
        return float(view.minutes[test]) + sum(
            chance * self._play(belief, paid, everything, _MOST_ROUNDS)
            for chance, belief in self.outcomes(view.belief, test))

    def _play(self, belief: Array, paid: frozenset[str], tests: Indices, rounds: int) -> float:
        key = np.round(belief, 9).tobytes(), paid
        if key not in self.played:
            self.check()
            self.steps_left -= 1
            view = _View(self, belief, paid, tests)
            if view.is_isolated or rounds == 0 or view.by_inspection <= view.score.min():
                self.played[key] = 0.0 if view.is_isolated else view.by_inspection
            elif self.steps_left < 0:
                return view.best
            else:
                test = int(view.score.argmin())
                more = paid | frozenset(self.problem.access[test])
                cost = float(view.minutes[test]) + sum(
                    chance * self._play(next_belief, more, tests, rounds - 1)
                    for chance, next_belief in self.outcomes(belief, test))
                self.played[key] = min(cost, view.by_inspection)
        return self.played[key]

    def outcomes(self, belief: Array, test: int) -> list[tuple[float, Array]]:
        """Return each outcome's probability with what is believed after it; outcomes that say the same are one."""
        joint = belief[:, None] * self.problem.table[test]
        chance = joint.sum(axis=0)
        merged: list[tuple[float, Array, Array]] = []
        for outcome in np.argsort(-chance, kind="stable").tolist():
            if chance[outcome] < _LEAST_OUTCOME:
                break
            parts = self.of_part @ joint[:, outcome] / chance[outcome]
            distances = [float(np.abs(parts - known).sum()) for _, _, known in merged]
            near = int(np.argmin(distances)) if distances else -1
            if merged and (distances[near] < _ALIKE or len(merged) == _MOST_OUTCOMES):
                total, together, _ = merged[near]
                total, together = total + chance[outcome], together + joint[:, outcome]
                merged[near] = total, together, self.of_part @ together / total
            else:
                merged.append((float(chance[outcome]), joint[:, outcome], parts))
        total = sum(one for one, _, _ in merged)
        return [(one / total, together / together.sum()) for one, together, _ in merged]

    def check(self) -> None:
        """Stop if nobody waits for the answer."""
        if self.is_outdated is not None and self.is_outdated():
            raise Outdated


class _View:
    """What some tests promise from what is believed.

    Attributes
    ----------
    bits, minutes, score : NDArray
        Information about the part, minutes with the access still needed, expected minutes to the end; shape (n_tests,).
    by_inspection : float
        Expected minutes by inspecting what is left.
    best : float
        The smaller of that and the best score.
    """

    def __init__(self, planner: _Planner, belief: Array, paid: frozenset[str], tests: Indices) -> None:
        problem = planner.problem
        self.belief, self.paid = belief, paid
        parts = planner.of_part @ belief
        self.is_isolated = bool(parts.max() >= problem.certainty)
        self.by_inspection = float(by_inspection(parts, planner.inspect))
        self.minutes = problem.minutes[tests] + np.array([
            sum(problem.access_minutes.get(one, 0.0) for one in problem.access[test] if one not in paid)
            for test in tests.tolist()])
        if self.is_isolated:
            self.best = self.by_inspection = 0.0
            self.bits, self.score = np.zeros(len(tests)), self.minutes.copy()
            if not paid:
                self.bits = information(np.matmul(planner.of_part * belief, problem.table[tests]), parts)
            return
        joint = np.matmul(planner.of_part * belief, problem.table[tests])
        self.bits = information(joint, parts)
        rate = self.bits / np.maximum(self.minutes, 1e-9)
        best_rates = np.sort(rate)[-_RATE_OF:]
        minutes_per_bit = 1 / max(float(best_rates.mean()), 1e-9)
        chance = joint.sum(axis=1)
        after = np.moveaxis(joint, 1, 2) / np.maximum(chance, _LEAST)[:, :, None]
        to_go = np.minimum(by_inspection(after, planner.inspect), minutes_per_bit * entropy(after))
        to_go[after.max(axis=2) >= problem.certainty] = 0.0
        self.score = self.minutes + (chance * to_go).sum(axis=1)
        self.best = min(self.by_inspection, float(self.score.min()))


def by_inspection(belief: Array, minutes: Array) -> Array:
    """Return the expected minutes to find the part at fault by inspecting one after the other, the best order first.

    The last one needs no inspection: it is what is left.

    Parameters
    ----------
    belief : NDArray
        Probability of each part; shape (..., n_parts).
    minutes : NDArray
        To inspect each; shape (n_parts,).
    """
    order = np.argsort(-belief / np.maximum(minutes, 1e-9), axis=-1, kind="stable")
    probability = np.take_along_axis(belief, order, axis=-1)
    cost = np.broadcast_to(minutes, belief.shape)[..., :]
    cost = np.take_along_axis(cost, order, axis=-1)
    left = 1 - (np.cumsum(probability, axis=-1) - probability)
    # Whoever has nothing left behind it is known without being inspected.
    behind = 1 - np.cumsum(probability, axis=-1)
    return (cost * left * (behind > 1e-9)).sum(axis=-1)


def entropy(belief: Array) -> Array:
    """Return the information still missing [bit] of probabilities along the last axis."""
    return -(belief * np.log2(np.maximum(belief, _LEAST))).sum(axis=-1)


def information(joint: Array, parts: Array) -> Array:
    """Return the information that tests are expected to give about the part [bit].

    Parameters
    ----------
    joint : NDArray
        Probability of each part with each outcome; shape (n_tests, n_parts, n_outcomes).
    parts : NDArray
        Probability of each part; shape (n_parts,).
    """
    chance = np.maximum(joint.sum(axis=1, keepdims=True), _LEAST)
    return entropy(parts) + (joint * np.log2(np.maximum(joint / chance, _LEAST))).sum(axis=(1, 2))
