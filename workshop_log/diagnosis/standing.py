"""Where each suspect stands: standing, cleared by which steps, or proved; and readings that contradict one another.

A suspect is cleared when little of it is left and when there are steps without which it would still be possible: the
one step whose removal would bring it back, or, where several steps each suffice, the fewest that were found.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from workshop_log.diagnosis.evidence import Evidence, LampSeen, Measured, Observed
from workshop_log.diagnosis.inference import Inference, infer_without, slips
from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

CLEARED_BELOW, BACK_ABOVE = 0.002, 0.01
PROVED_ABOVE = 0.95
# A reading is called in question from this probability of a slip on, and settled again below the other.
_DOUBTED, _SETTLED = 0.5, 0.25
# How many steps at most are named together as having cleared a suspect.
_MOST_STEPS = 6


@dataclass(frozen=True, slots=True)
class Standing:
    """Where one suspect stands.

    Attributes
    ----------
    word : str
        "standing", "cleared" or "proved".
    cleared_by : tuple[str, ...]
        The steps that cleared it, in the evidence's order.
    """

    word: Literal["standing", "cleared", "proved"]
    cleared_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Readings that cannot all be right.

    Attributes
    ----------
    repeat : str
        The step that fits least: it is to be repeated.
    against : tuple[str, ...]
        The steps that it does not go with; empty where it goes with none of them all.
    """

    repeat: str
    against: tuple[str, ...]


def standings(found: Inference) -> tuple[Standing, ...]:
    """Return where each suspect stands, in the order of the suspects."""
    probability = found.probability
    shares = found.shares()
    low = np.flatnonzero((probability < CLEARED_BELOW) & (found.prior > 0))
    cleared = _cleared_by(found, low.tolist())
    result = []
    for number, suspect in enumerate(found.suspects):
        if cleared.get(number):
            result.append(Standing("cleared", cleared[number]))
        elif probability[number] > PROVED_ABOVE and shares[suspect.share] > PROVED_ABOVE:
            result.append(Standing("proved"))
        else:
            result.append(Standing("standing"))
    return tuple(result)


def _cleared_by(found: Inference, low: list[int]) -> dict[int, tuple[str, ...]]:
    """Return the steps that cleared each of these suspects."""
    steps = list(dict.fromkeys(one.step for one in found.evidence))
    if not low or not steps:
        return {}
    without = {step: infer_without(found, {step}) for step in steps}
    named: dict[int, tuple[str, ...]] = {}
    left: dict[int, list[str]] = {}
    for number in low:
        back = [step for step in steps if without[step][number] > BACK_ABOVE]
        if back:
            named[number] = tuple(back)
        else:
            left[number] = []
    # Where several steps each clear a suspect: take away, one after the other, the one that brings back most.
    known: dict[frozenset[str], Array] = {frozenset((step,)): shares for step, shares in without.items()}
    for number in left:
        taken: frozenset[str] = frozenset()
        while len(taken) < min(_MOST_STEPS, len(steps)):
            best, best_probability = None, -1.0
            for step in steps:
                if step in taken:
                    continue
                tried = taken | {step}
                if tried not in known:
                    known[tried] = infer_without(found, tried)
                if known[tried][number] > best_probability:
                    best, best_probability = tried, float(known[tried][number])
            taken = best
            if best_probability > BACK_ABOVE:
                break
        if known[taken][number] > BACK_ABOVE or len(taken) == len(steps):
            named[number] = tuple(step for step in steps if step in taken)
    return named


def contradictions(found: Inference) -> tuple[Contradiction, ...]:
    """Return the readings that what is believed can explain only as a slip, and which others they do not go with."""
    keys = found.singles.keys
    doubt = slips(found)
    step_of = {one.content: one.step for one in found.evidence if isinstance(one, Measured | LampSeen | Observed)}
    result = []
    for number in np.flatnonzero(doubt > _DOUBTED).tolist():
        mine = keys[number]
        against = []
        for other in keys:
            if other == mine:
                continue
            less = _without(found, other)
            again = dict(zip(less.singles.keys, slips(less), strict=True))
            if again.get(mine, 1.0) < _SETTLED and not any(v > _DOUBTED for v in again.values()):
                against.append(step_of[other])
        result.append(Contradiction(step_of[mine], tuple(dict.fromkeys(against))))
    return tuple(result)


def _without(found: Inference, content: str) -> Inference:
    from workshop_log.diagnosis.inference import infer_from

    return infer_from(found, _less(found.evidence, content))


def _less(evidence: Iterable[Evidence], content: str) -> tuple[Evidence, ...]:
    return tuple(one for one in evidence if one.content != content)
