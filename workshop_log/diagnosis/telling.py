"""What tests without a number say: how probable each result is with a fault and without, as tables.

All figures are own estimates; each leaves room for error, because eyes and hands slip.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from workshop_log.diagnosis.evidence import Looked, Moved, Swapped
from workshop_log.electrics import faults as kinds
from workshop_log.electrics.curves import DARK_BELOW, LIT_FROM
from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.diagnosis.suspects import Suspect
    from workshop_log.electrics.circuit import Circuit

    Array = NDArray[np.float64]

# A slip of eye or hand in any one test: of an instrument that was shown to work, or of which nobody said anything,
# and of one that was not.
SLIP = {True: 0.01, None: 0.01, False: 0.03}
# An instrument that shows nothing whatever it is laid to: a broken lead, a dead lamp, a probe on paint.
SHOWS_NOTHING = {True: 0.001, None: 0.004, False: 0.05}

# Damage is found where there is a fault, by how well it could be seen; and where there is none.
_FOUND = {"slight": 0.5, "fair": 0.75, "strong": 0.95}
_FOUND_ELSEWHERE = {"slight": 0.15, "fair": 0.04, "strong": 0.01}
# What can be seen of the faults of an element from outside; of those not named here a third.
_VISIBLE = {"wire": 1.0, "contact": 0.9, "ground point": 1.0, "fuse": 1.0, "lamp": 0.9, "battery": 0.5}
_LESS_VISIBLE = 0.35

# A swap of the right part cures; of another one it does not, but a fault that comes and goes may stay away.
_CURES, _CURES_OTHER, _STAYS_AWAY = 0.97, 0.02, 0.3

# How often a fault shows in a movement: as Beta(a, b) distributions of that rate. One that comes and goes, in what is
# moved: nothing is known of it. One that is always there: seldom changes. One elsewhere: by chance.
_MOVED_HERE, _ALWAYS_HERE, _ELSEWHERE, _BY_CHANCE = (1.0, 1.0), (1.0, 6.0), (1.0, 300.0), (1.0, 120.0)

# A lamp's look by its share of the rated voltage is a matter of the eye near the limits.
_LIT_BLUR, _DARK_BLUR = 0.08, 0.05
_LAMP_SLIP = 0.01
# A load works from about this share of its healthy voltage on. own estimate.
_WORKS_FROM, _WORKS_BLUR = 0.6, 0.12


def normal_below(z: Array) -> Array:
    """Return Φ(z), the part of a normal distribution below z; to 1e-7.

    References
    ----------
    .. [1] Abramowitz and Stegun, Handbook of Mathematical Functions, 7.1.26: erf to 1.5e-7.
    """
    x = np.minimum(np.abs(z), 40.0) / math.sqrt(2)
    t = 1 / (1 + 0.3275911 * x)
    tail = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    erf = 1 - tail * np.exp(-x * x)
    return 0.5 * (1 + np.sign(z) * erf)


def lamp_looks(share: Array, standard: Array | float = 0.0) -> dict[str, Array]:
    """Return how probable each look of a lamp is, by its share of the rated voltage and how sure that is."""
    size = np.abs(share)
    lit = normal_below((size - LIT_FROM) / np.hypot(_LIT_BLUR, standard))
    dark = normal_below((DARK_BELOW - size) / np.hypot(_DARK_BLUR, standard))
    dim = np.maximum(1 - lit - dark, 0.0)
    total = lit + dim + dark
    return {look: (1 - _LAMP_SLIP) * part / total + _LAMP_SLIP / 3
            for look, part in (("lit", lit), ("dim", dim), ("dark", dark))}


def works(share: Array) -> Array:
    """Return how probable it is that a load works, by the share of its healthy voltage."""
    return 0.98 * normal_below((share - _WORKS_FROM) / _WORKS_BLUR) + 0.01


def look_says(test: Looked, suspects: tuple[Suspect, ...], circuit: Circuit, blown: Array | float = 0.0) -> Array:
    """Return how probable what a look found is with each suspect; shape (n_suspects,).

    Parameters
    ----------
    test, suspects, circuit
        What was looked at, and what may be wrong.
    blown : NDArray or float
        How probable it is with each suspect that a fuse which was looked at has blown because of it.
    """
    elsewhere = _FOUND_ELSEWHERE[test.strength]
    found = []
    for suspect in suspects:
        missed = 1 - elsewhere
        for fault in suspect.faults:
            if fault.element in test.elements:
                missed *= 1 - _FOUND[test.strength] * visible(circuit, fault.element)
        found.append(1 - missed)
    probability = 1 - (1 - np.array(found)) * (1 - _FOUND[test.strength] * blown)
    return probability if test.damage else 1 - probability


def visible(circuit: Circuit, element: str) -> float:
    """Return which part of an element's faults can be seen from outside."""
    return _VISIBLE.get(circuit.element(element).kind, _LESS_VISIBLE)


def swap_says(test: Swapped, suspects: tuple[Suspect, ...]) -> Array:
    """Return how probable the result of a swap is with each suspect; shape (n_suspects,)."""
    found = []
    for suspect in suspects:
        here = [fault.element == test.element for fault in suspect.faults]
        if here and all(here):
            cured = _CURES
        elif suspect.comes_and_goes:
            cured = _STAYS_AWAY
        else:
            # Of nothing wrong nothing can be cured; by chance somebody thinks so.
            cured = _CURES_OTHER
        found.append(cured if test.cured else 1 - cured)
    return np.array(found)


def movement_says(test: Moved, suspects: tuple[Suspect, ...], seen: Array) -> Array:
    """Return how probable it is that a movement test showed what it did, in one order of its trials.

    Parameters
    ----------
    test : Moved
        How often it was tried and how often it showed.
    suspects : tuple[Suspect, ...]
        One of each.
    seen : NDArray
        With which probability the instrument that was watched could show each one at all; shape (n_suspects,).
    """
    # By whether the fault is in what is moved, and whether it comes and goes.
    shows = {(True, True): _beta(test, _MOVED_HERE), (True, False): _beta(test, _ALWAYS_HERE),
             (False, True): _beta(test, _BY_CHANCE), (False, False): _beta(test, _ELSEWHERE)}
    found = np.array([shows[any(fault.element in test.elements for fault in suspect.faults), suspect.comes_and_goes]
                      for suspect in suspects])
    return seen * found + (1 - seen) * shows[False, False]


def _beta(test: Moved, prior: tuple[float, float]) -> float:
    """Return ∫ q^k (1 − q)^(n−k) over Beta(a, b): for a = b = 1 it is k! (n−k)! / (n+1)!."""
    a, b = prior
    k, n = min(test.shown, test.trials), test.trials
    return math.exp(math.lgamma(a + k) + math.lgamma(b + n - k) - math.lgamma(a + b + n)
                    - math.lgamma(a) - math.lgamma(b) + math.lgamma(a + b))


def load_works(fault_kinds: tuple[str, ...], voltage_share: Array, current_share: Array) -> Array:
    """Return how probable it is that a load works with its own faults, by its shares of healthy voltage and current."""
    if kinds.SHORTED in fault_kinds or kinds.OPEN in fault_kinds or kinds.DEAD in fault_kinds:
        return np.full(len(voltage_share), 0.01)
    if kinds.HIGH_RESISTANCE in fault_kinds:
        return works(current_share)
    return works(voltage_share)
