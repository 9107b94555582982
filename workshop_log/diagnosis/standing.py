"""Where each suspect stands: standing, cleared by which steps, or proved; and readings that contradict one another.

A suspect is cleared when little of it is left and when there are steps without which it would still be possible: the
steps whose removal would bring it back, or, where several steps each suffice, those that speak most against it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from workshop_log.diagnosis.evidence import LampSeen, Measured, Observed
from workshop_log.diagnosis.inference import Inference, infer_less, infer_without, slips
from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

CLEARED_BELOW, BACK_ABOVE = 0.002, 0.01
PROVED_ABOVE = 0.95
# A reading is called in question from this probability of a slip on, and settled again below the other.
_DOUBTED, _SETTLED = 0.5, 0.25
# Where no step alone would bring a suspect back, so many are named at most.
_MOST_STEPS = 4


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
    together: dict[frozenset[str], Array] = {}
    for number in low:
        back = [step for step in steps if without[step][number] > BACK_ABOVE]
        if not back:
            # Several steps clear it: those that speak most against it, as many as it takes.
            gain = {step: float(without[step][number]) for step in steps}
            telling = sorted(steps, key=lambda step: -gain[step])
            for count in range(2, min(_MOST_STEPS, len(steps)) + 1):
                taken = frozenset(telling[:count])
                if taken not in together:
                    together[taken] = infer_without(found, taken)
                if together[taken][number] > BACK_ABOVE or count == min(_MOST_STEPS, len(steps)):
                    back = [step for step in steps if step in taken]
                    break
        if back:
            named[number] = tuple(back)
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
    return infer_less(found, tuple(one for one in found.evidence if one.content != content))
