"""Which test to make next, and what condemning a part now would cost against testing first.

What matters is the part that would be replaced: telling two faults of one element apart is worth nothing. The tables
of `outcomes` go to `planning`, which minimises the minutes to the end.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from workshop_log.diagnosis.candidates import MINUTES, Access, Candidate, already_made, candidates
from workshop_log.diagnosis.outcomes import Hypotheses, Outcomes, hypotheses, outcomes
from workshop_log.diagnosis.planning import Problem, entropy, rank
from workshop_log.diagnosis.worth import expected_losses_after
from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.diagnosis.inference import Inference

    Array = NDArray[np.float64]

# From this share of faults that come and go on, movement tests are considered, and a measurement may be made again.
_MOVE_FROM = 0.15
# What a fault that comes and goes may change from one time to the next, and how often it is tried at most.
_MAY_CHANGE = frozenset({"voltage", "current", "resistance", "lamp", "movement"})
_MOST_AGAIN = 3
# own estimate: to settle one part for good once it lies open. [min]
_SETTLE_MINUTES = 6.0
# Two tests whose outcomes differ by less than this tell the same.
_ALIKE = 0.01
# What tells less than this part of what is missing is not proposed.
_LEAST_PART = 0.02
# How many of the ranking are looked through for tests that differ.
_LOOKED_THROUGH = 40
# A test is chosen for proving more than is called proved: one that only just lifts a part over that is no test.
_AIM = 0.975


@dataclass(frozen=True)
class Proposed:
    """A test that is worth making.

    Attributes
    ----------
    candidate : Candidate
        The test.
    number : int
        Which of the table's tests it is.
    bits : float
        Information expected on which part it is.
    minutes : float
        With the change of setup and the access that it needs now.
    opens : tuple[str, ...]
        The elements that have to be got at first.
    """

    candidate: Candidate
    number: int
    bits: float
    minutes: float
    opens: tuple[str, ...]


class NextTest:
    """All tests that could be made now, with what they would show.

    Parameters
    ----------
    found : Inference
        What is still possible.
    access : Access
        What it takes to get at things.
    """

    def __init__(self, found: Inference, access: Access | None = None) -> None:
        self.found, self.access = found, access or Access()
        self.of: Hypotheses = hypotheses(found)
        now_and_then = sum(float(p) for suspect, p in zip(found.suspects, found.probability, strict=True)
                           if suspect.comes_and_goes)
        may_move = now_and_then > _MOVE_FROM
        # The same measurement again would show the same again, unless the fault comes and goes; and then not for ever.
        made = Counter(key for one in found.evidence for key in already_made((one,)))
        most = {kind: _MOST_AGAIN if may_move and kind in _MAY_CHANGE else 1 for kind in MINUTES}
        possible = tuple(one for one in candidates(found.circuit, self.access, with_movement=may_move)
                         if made[one.key] < most[one.kind])
        self.outcomes: Outcomes = outcomes(found, self.of, possible)

    @cached_property
    def shares(self) -> tuple[str, ...]:
        """The parts of the bar that occur, in the order of their numbers."""
        return tuple(dict.fromkeys(self.found.suspects[number].share for number in self.of.suspect.tolist()))

    @cached_property
    def part(self) -> NDArray[np.int64]:
        """Which part each hypothesis belongs to; shape (n_hypotheses,)."""
        number = {share: index for index, share in enumerate(self.shares)}
        return np.array([number[self.found.suspects[n].share] for n in self.of.suspect.tolist()])

    @cached_property
    def belief(self) -> Array:
        """Probability of each part; shape (n_parts,)."""
        return np.bincount(self.part, self.of.probability, len(self.shares))

    @cached_property
    def joint(self) -> Array:
        """Probability of each outcome together with each part; shape (n_tests, n_parts, n_outcomes)."""
        weight = np.zeros((len(self.shares), len(self.of)))
        weight[self.part, np.arange(len(self.of))] = self.of.probability
        return np.matmul(weight, self.outcomes.table)

    @cached_property
    def minutes(self) -> Array:
        """Minutes of each test without access; shape (n_tests,)."""
        return np.array([self.access.base_minutes(self.found.circuit, one) for one in self.outcomes.candidates])

    @cached_property
    def opens(self) -> tuple[tuple[str, ...], ...]:
        """The elements that each test needs to get at first."""
        return tuple(self.access.needed(self.found.circuit, one) for one in self.outcomes.candidates)

    def access_minutes(self, number: int) -> float:
        """Return the strip-down that a test needs now [min]."""
        return sum(self.access.of_element(element) for element in self.opens[number])

    def best(self, count: int = 3) -> tuple[Proposed, ...]:
        """Return the tests that bring the end nearest, the best first."""
        if not self.outcomes.candidates:
            return ()
        settle = np.array([_SETTLE_MINUTES + (self.access.of_element(share) if share in self.found.circuit.by_id
                                              else MINUTES["look"]) for share in self.shares])
        problem = Problem(
            belief=self.of.probability, part=self.part, table=self.outcomes.table, minutes=self.minutes,
            access=self.opens, access_minutes={e: self.access.of_element(e) for needed in self.opens for e in needed},
            inspect_minutes=settle, certainty=_AIM)
        chosen: list[Proposed] = []
        least = _LEAST_PART * float(entropy(self.belief))
        for one in rank(problem, max(_LOOKED_THROUGH, count), is_outdated=self.found.options.is_outdated):
            if one.bits > least and not any(self._is_like(one.test, other.number) for other in chosen):
                chosen.append(Proposed(self.outcomes.candidates[one.test], one.test, one.bits,
                                       float(self.minutes[one.test]) + self.access_minutes(one.test),
                                       self.opens[one.test]))
            if len(chosen) == count:
                break
        return tuple(chosen)

    def _is_like(self, one: int, other: int) -> bool:
        """Whether two tests are of one kind and tell the same: a lamp at either end of a wire is no choice."""
        kinds = {self.outcomes.candidates[number].kind for number in (one, other)}
        return len(kinds) == 1 and float(np.abs(self.joint[one] - self.joint[other]).max()) < _ALIKE

    # --- in money ----------------------------------------------------------------------------------------------------

    def losses(self, cost_if_wrong: Mapping[str, float], together: tuple[str, ...] = ()) -> tuple[Array, list[str]]:
        """Return what each decision costs with each part at fault, and which part each decision condemns.

        Parameters
        ----------
        cost_if_wrong : Mapping[str, float]
            What condemning each element wrongly costs.
        together : tuple[str, ...]
            Elements that are condemned together.

        Returns
        -------
        loss : NDArray
            Shape (n_decisions, n_parts).
        condemned : list[str]
            The element of each decision; of those condemned together the first.
        """
        elements = [share for share in self.shares if share in cost_if_wrong]
        if together and together[0] not in elements:
            elements.append(together[0])
        loss = np.empty((len(elements), len(self.shares)))
        for row, element in enumerate(elements):
            group = together if together and element == together[0] else (element,)
            cost = sum(cost_if_wrong.get(one, 0.0) for one in group)
            loss[row] = [0.0 if share in group else cost for share in self.shares]
        return loss, elements

    def loss_after(self, loss: Array) -> Array:
        """Return the expected loss of the best decision after each test; shape (n_tests,)."""
        return expected_losses_after(loss, self.joint)


def propose(found: Inference, count: int = 3, access: Access | None = None) -> tuple[Proposed, ...]:
    """Return the tests that are worth making next, the best first."""
    return NextTest(found, access).best(count)
