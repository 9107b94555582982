"""Choosing the next test from tables of what each would show: the one that brings the end nearest.

What counts is the expected time to the end, not information: the minutes of the test and the strip-down that it still
needs, once, and then the time to go. At first that is estimated, as the smaller of inspecting what is left one part
after the other, in order of probability over cost [1]_, and the information still missing at the rate of the best tests
at hand [2]_. The best few tests are then played out: after each outcome follows what the estimate finds best, a test or
an inspection, until a part is isolated. Where playing breaks off, inspecting to the end is counted, which can always be
done: a plan that ends in an estimate gains by putting off what the estimate is too hopeful about.

References
----------
.. [1] Kadane and Simon, Optimal strategies for a class of constrained sequential problems, Annals of Statistics 5
       (1977) 237; Heckerman, Breese and Rommelse, Decision-theoretic troubleshooting, CACM 38 (1995) 49: with one
       fault, independent costs and sure inspections, falling probability over cost is best.
.. [2] Shannon's bound: no sequence of tests settles more than their information.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from workshop_log.diagnosis.outdated import Outdated
from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Indices = NDArray[np.int64]
    Flags = NDArray[np.bool_]

__all__ = ["Outdated", "Problem", "Ranked", "rank"]

# A part that has this much is isolated.
CERTAINTY = 0.95
# The rate of information is that of the best few tests.
_RATE_OF = 3
# The quickest tests per bit are estimated and may follow another: so many, or as many as have so many entries of
# tables together, outcomes merged. So many of them are played out; and so many, again the quickest per bit, are weighed
# where one is to follow.
_SHORT_LIST, _SHORT_ENTRIES, _PLAYED, _WEIGHED = 20, 40_000, 8, 5
# In what is played out, neighbouring outcomes that tell the least apart are one, and hypotheses that have less than
# this together are left out.
_MOST_OUTCOMES, _NEGLIGIBLE = 4, 1e-3
# What is less probable is not played further.
_LEAST_PLAYED = 0.02
# Playing out may touch so many entries of tables, hundredths of a second; what needs more stays estimated.
_MOST_ENTRIES = 3_000_000
# What takes hardly longer is as good: of these the one that tells most for its time comes first.
_AS_GOOD = 0.03
# Less information than this is rounding. [bit]
_NO_BITS = 1e-9
# A bit costs this where no test tells anything. [min]
_NEVER = 1e9
# Times that agree to so many decimals are the same, whatever the order of a sum.
_DECIMALS = 9
_LEAST_OUTCOME, _LEAST = 1e-12, 1e-300


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
        Probability of each outcome with each hypothesis; shape (n_tests, n_hypotheses, n_outcomes). Outcomes that have
        an order stand in it.
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

    Those that were played out come first, then those that were estimated, then the others by their time per bit.

    Raises
    ------
    Outdated
        If nobody waits for the answer any more.
    """
    if not len(problem.table):
        return ()
    bench = _Bench.of(problem, is_outdated)
    now = _Situations(problem.belief[None, bench.order], np.zeros((1, len(problem.table)), dtype=bool),
                      np.zeros((1, bench.needs.shape[1]), dtype=bool), np.ones(1), np.zeros(1, dtype=np.int64))
    view = _View(bench, now)
    by_rate = _rising(view.minutes_per_bit[0])
    # Whoever learns nothing is where they were.
    to_end = view.minutes[0] + view.by_inspection[0]
    entries = len(problem.belief) * min(problem.table.shape[2], _MOST_OUTCOMES)
    short = np.sort(by_rate[:max(_SHORT_LIST, _SHORT_ENTRIES // entries)])
    short = short[np.isfinite(view.minutes_per_bit[0, short])]
    played = short[:0]
    if len(short):
        bench, now = _narrowed(bench, view, short)
        to_end[short] = _View(bench, now).estimates(np.arange(len(short))[None])[0]
        short = short[_rising(to_end[short])]
        best = np.sort(short[:_PLAYED])
        to_the_end = _played_out(bench, now, np.searchsorted(np.sort(short), best))
        if to_the_end is not None:
            to_end[best] = to_the_end
            near = to_end[best] <= (1 + _AS_GOOD) * to_end[best].min()
            played = best[np.lexsort((_alike(np.where(near, view.minutes_per_bit[0, best], to_end[best])), ~near))]
    order = dict.fromkeys([*played.tolist(), *short.tolist(), *by_rate.tolist()])
    return tuple(Ranked(test, float(view.bits[0, test]), float(view.minutes[0, test]), float(to_end[test]))
                 for test in list(order)[:count])


@dataclass(frozen=True)
class _Bench:
    """The problem as arrays; hypotheses in the order of their parts, only parts that occur.

    `table` is (n_hypotheses, n_tests, n_outcomes), `starts` the first hypothesis of each part, `needs` (n_tests,
    n_accesses).
    """

    order: Indices
    starts: Indices
    table: Array
    minutes: Array
    needs: Flags
    access_minutes: Array
    inspect: Array
    certainty: float
    is_outdated: Callable[[], bool] | None

    @classmethod
    def of(cls, problem: Problem, is_outdated: Callable[[], bool] | None) -> _Bench:
        order = np.argsort(problem.part, kind="stable")
        parts, starts = np.unique(problem.part[order], return_index=True)
        names = sorted(problem.access_minutes)
        needs = np.array([[name in needed for name in names] for needed in problem.access], dtype=bool)
        return cls(order, starts, np.ascontiguousarray(problem.table[:, order].transpose(1, 0, 2)), problem.minutes,
                   needs.reshape(len(problem.table), len(names)),
                   np.array([problem.access_minutes[name] for name in names], dtype=float),
                   problem.inspect_minutes[parts].astype(float), problem.certainty, is_outdated)

    def parts(self, belief: Array) -> Array:
        """Return the probability of each part in each situation; shape (n_situations, n_parts)."""
        return np.add.reduceat(belief, self.starts, axis=1)

    def joint(self, belief: Array) -> Array:
        """Return that of each part with each outcome; shape (n_situations, n_tests, n_outcomes, n_parts)."""
        n_hypotheses, n_tests, n_outcomes = self.table.shape
        table = self.table.reshape(n_hypotheses, -1)
        ends = [*self.starts[1:].tolist(), n_hypotheses]
        joint = np.stack([belief[:, start:end] @ table[start:end]
                          for start, end in zip(self.starts.tolist(), ends, strict=True)], axis=-1)
        return joint.reshape(len(belief), n_tests, n_outcomes, -1)

    def minutes_at(self, at: _Situations) -> Array:
        """Return what each test takes in each situation; shape (n_situations, n_tests)."""
        return self.minutes + (self.needs & ~at.paid[:, None]) @ self.access_minutes

    def check(self) -> None:
        """Stop if nobody waits for the answer."""
        if self.is_outdated is not None and self.is_outdated():
            raise Outdated


@dataclass(frozen=True)
class _Situations:
    """Where tests may have led to: what is believed, what was made and paid, how probably, after which first test."""

    belief: Array
    made: Flags
    paid: Flags
    chance: Array
    first: Indices

    def __len__(self) -> int:
        return len(self.belief)

    def only(self, which: Flags | Indices) -> _Situations:
        return _Situations(self.belief[which], self.made[which], self.paid[which], self.chance[which],
                           self.first[which])

    def and_also(self, others: _Situations) -> _Situations:
        return _Situations(*(np.concatenate([getattr(one, name) for one in (self, others)])
                             for name in ("belief", "made", "paid", "chance", "first")))

    def after_tests(self, bench: _Bench, tests: Indices) -> _Situations:
        """Return the situations after each outcome, each situation with a test of its own."""
        joint = self.belief[:, None, :] * bench.table[:, tests].transpose(1, 2, 0)
        chance = joint.sum(axis=2)
        source, outcome = np.nonzero(chance > _LEAST_OUTCOME)
        made = self.made.copy()
        made[np.arange(len(self)), tests] = True
        return _Situations(joint[source, outcome] / chance[source, outcome][:, None], made[source],
                           (self.paid | bench.needs[tests])[source],
                           self.chance[source] * chance[source, outcome], self.first[source])

    def after_inspecting(self, bench: _Bench, parts: Indices) -> _Situations:
        """Return the situations in which the inspected part, one for each, was not the one."""
        of_part = np.repeat(np.arange(len(bench.starts)), np.diff(bench.starts, append=self.belief.shape[1]))
        belief = np.where(of_part == parts[:, None], 0.0, self.belief)
        chance = belief.sum(axis=1)
        return _Situations(belief / np.maximum(chance, _LEAST)[:, None], self.made, self.paid, self.chance * chance,
                           self.first).only(chance > _LEAST_OUTCOME)


class _View:
    """What tests promise in each of several situations.

    Attributes
    ----------
    parts : NDArray
        Probability of each part; shape (n_situations, n_parts).
    joint : NDArray
        Probability of each part with each outcome; shape (n_situations, n_tests, n_outcomes, n_parts).
    bits, minutes, minutes_per_bit : NDArray
        Information about the part, minutes with the access still needed, and their ratio, infinite for a test that was
        made or tells nothing; shape (n_situations, n_tests).
    rate : NDArray
        Minutes per bit of the best few tests; shape (n_situations,).
    by_inspection, inspected : NDArray
        Expected minutes by inspecting part after part, and the first of them; shape (n_situations,).
    """

    def __init__(self, bench: _Bench, at: _Situations) -> None:
        bench.check()
        self.bench, self.at = bench, at
        self.parts, self.joint = bench.parts(at.belief), bench.joint(at.belief)
        self.bits = information(self.joint, self.parts)
        self.minutes = bench.minutes_at(at)
        tells = ~at.made & (self.bits > _NO_BITS)
        self.minutes_per_bit = np.where(tells, self.minutes / np.maximum(self.bits, _NO_BITS), np.inf)
        best = np.argsort(self.minutes_per_bit, axis=1, kind="stable")[:, :_RATE_OF]
        bits, minutes = (np.where(np.take_along_axis(tells, best, 1), np.take_along_axis(of, best, 1), 0.0).sum(axis=1)
                         for of in (self.bits, self.minutes))
        self.rate = np.where(bits > 0, minutes / np.maximum(bits, _LEAST), _NEVER)
        self.by_inspection, self.inspected = _in_order(self.parts, bench.inspect, bench.certainty)

    def estimates(self, tests: Indices) -> Array:
        """Return the expected minutes to the end, estimated, with some tests next; infinite for one that tells nothing.

        Parameters
        ----------
        tests : NDArray of int
            Of each situation as many; shape (n_situations, n).
        """
        to_go = self._to_go(np.take_along_axis(self.joint, tests[:, :, None, None], 1), self.rate[:, None, None])
        per_bit, minutes = (np.take_along_axis(of, tests, 1) for of in (self.minutes_per_bit, self.minutes))
        return np.where(np.isfinite(per_bit), minutes + to_go.sum(axis=2), np.inf)

    def estimate_inspecting(self) -> Array:
        """Return the expected minutes to the end with the inspection of a part next, estimated."""
        others = self.parts.copy()
        others[np.arange(len(others)), self.inspected] = 0.0
        return self.bench.inspect[self.inspected] + self._to_go(others, self.rate)

    def _to_go(self, parts: Array, rate: Array) -> Array:
        """Return the estimate of what is still to go, times the probability that is in the parts."""
        bench = self.bench
        inspecting, _ = _in_order(parts, bench.inspect, bench.certainty)
        return np.where(_is_isolated(parts, bench.certainty), 0.0, np.minimum(inspecting, rate * _missing(parts)))


def _narrowed(bench: _Bench, view: _View, tests: Indices) -> tuple[_Bench, _Situations]:
    """Return these tests alone, without hypotheses that hardly count, neighbouring outcomes that tell alike as one."""
    at = view.at
    rising = np.argsort(at.belief[0], kind="stable")
    kept = np.sort(rising[np.cumsum(at.belief[0, rising]) > _NEGLIGIBLE])
    table = bench.table[:, tests]
    n_outcomes = table.shape[2]
    if n_outcomes > _MOST_OUTCOMES:
        joint = view.joint[0, tests]
        missing = _missing(joint)
        lost = _missing(joint[:, 1:] + joint[:, :-1]) - missing[:, 1:] - missing[:, :-1]
        cuts = np.zeros((len(tests), n_outcomes), dtype=np.int64)
        np.put_along_axis(cuts, np.argsort(-lost, axis=1, kind="stable")[:, :_MOST_OUTCOMES - 1] + 1, 1, axis=1)
        groups = np.cumsum(cuts, axis=1)[:, :, None] == np.arange(_MOST_OUTCOMES)
        table = np.matmul(table.transpose(1, 0, 2), groups.astype(float)).transpose(1, 0, 2)
    part = np.repeat(np.arange(len(bench.starts)), np.diff(bench.starts, append=len(table)))
    parts, starts = np.unique(part[kept], return_index=True)
    belief = at.belief[:, kept] / at.belief[0, kept].sum()
    return (replace(bench, starts=starts, table=np.ascontiguousarray(table[kept]), minutes=bench.minutes[tests],
                    needs=bench.needs[tests], inspect=bench.inspect[parts]),
            replace(at, belief=belief, made=at.made[:, tests]))


def _played_out(bench: _Bench, now: _Situations, tests: Indices) -> Array | None:
    """Return the expected minutes to the end with each of these tests first, the best estimate followed from then on.

    None where that would take too long.
    """
    expected = bench.minutes_at(now)[0, tests]
    at = replace(now.only(np.zeros(len(tests), dtype=np.int64)), first=np.arange(len(tests))).after_tests(bench, tests)
    entries = _MOST_ENTRIES
    while True:
        at = at.only(~_is_isolated(bench.parts(at.belief), bench.certainty))
        over, at = at.only(at.chance < _LEAST_PLAYED), at.only(at.chance >= _LEAST_PLAYED)
        inspecting = by_inspection(bench.parts(over.belief), bench.inspect, bench.certainty)
        expected = expected + np.bincount(over.first, over.chance * inspecting, len(tests))
        if not len(at):
            return expected
        entries -= len(at) * bench.table.size
        if entries < 0:
            return None
        view = _View(bench, at)
        weighed = np.argsort(_alike(view.minutes_per_bit), axis=1, kind="stable")[:, :_WEIGHED]
        estimates = view.estimates(weighed)
        best = _alike(estimates).argmin(axis=1)[:, None]
        test, estimate = (np.take_along_axis(of, best, 1)[:, 0] for of in (weighed, estimates))
        tested = estimate < view.estimate_inspecting()
        minutes = np.where(tested, view.minutes[np.arange(len(at)), test], bench.inspect[view.inspected])
        expected = expected + np.bincount(at.first, at.chance * minutes, len(tests))
        at = at.only(tested).after_tests(bench, test[tested]).and_also(
            at.only(~tested).after_inspecting(bench, view.inspected[~tested]))


def by_inspection(belief: Array, minutes: Array, certainty: float = CERTAINTY) -> Array:
    """Return the expected minutes to find the part at fault by inspecting one after the other, the best order first.

    The last one needs no inspection: it is what is left. Neither does one that has become certain enough.

    Parameters
    ----------
    belief : NDArray
        Probability of each part; shape (..., n_parts).
    minutes : NDArray
        To inspect each; shape (n_parts,).
    certainty : float
        From which share of what is left on a part needs no inspection.
    """
    return _in_order(belief, minutes, certainty)[0]


def _in_order(belief: Array, minutes: Array, certainty: float) -> tuple[Array, Indices]:
    """Return the expected minutes of inspecting and the first part to inspect; times the sum of the belief.

    One part is spared, as it is found by the others being cleared: that which saves most, or the most probable one,
    which is soon certain.
    """
    order = np.argsort(-belief / minutes, axis=-1)
    share, cost = np.take_along_axis(belief, order, axis=-1), minutes[order]
    left = np.cumsum(share[..., ::-1], axis=-1)[..., ::-1]
    behind = np.cumsum(cost[..., ::-1], axis=-1)[..., ::-1] - cost
    place = np.arange(belief.shape[-1])
    plans = []
    for spared in (np.argmax(cost * left - share * behind, axis=-1), np.argmax(share, axis=-1)):
        spared = spared[..., None]
        held = np.take_along_axis(share, spared, axis=-1)
        remaining = left + np.where(place > spared, held, 0.0)
        asked = (place != spared) & (held < certainty * remaining)
        first = np.take_along_axis(order, asked.argmax(axis=-1)[..., None], axis=-1)[..., 0]
        plans.append(((cost * remaining * asked).sum(axis=-1), first))
    (one, first), (other, first_of_other) = plans
    return np.minimum(one, other), np.where(other < one, first_of_other, first)


def _is_isolated(parts: Array, certainty: float) -> Flags:
    return parts.max(axis=-1) >= certainty * parts.sum(axis=-1) - 1e-12


def entropy(belief: Array) -> Array:
    """Return the information still missing [bit] of probabilities along the last axis."""
    return -(belief * np.log2(np.maximum(belief, _LEAST))).sum(axis=-1)


def information(joint: Array, parts: Array) -> Array:
    """Return the information that tests are expected to give about the part [bit].

    Parameters
    ----------
    joint : NDArray
        Probability of each outcome with each part; shape (..., n_tests, n_outcomes, n_parts).
    parts : NDArray
        Probability of each part; shape (..., n_parts).
    """
    return np.maximum(entropy(parts)[..., None] - _missing(joint).sum(axis=-1), 0.0)


def _missing(joint: Array) -> Array:
    """Return the information missing after each outcome, times its probability; parts along the last axis."""
    return entropy(joint) - entropy(joint.sum(axis=-1)[..., None])


def _alike(minutes: Array) -> Array:
    """Return times of which those that differ only by the rounding of sums are equal."""
    return np.round(minutes, _DECIMALS)


def _rising(minutes: Array) -> Indices:
    """Return the order of times, ties in the order given."""
    return np.argsort(_alike(minutes), kind="stable")
