"""How often a fault that comes and goes may still be there after clean trials, and how many it takes to be sure.

Each trial shows the fault with the same chance, independently of the others.
"""

from __future__ import annotations

import math


def clean_trials_needed(rate: float, certainty: float = 0.95) -> int:
    """Return after how many clean trials a fault of a known rate would have shown itself with this certainty.

    The smallest n with (1 − rate)^n ≤ 1 − certainty.

    Parameters
    ----------
    rate : float
        Chance to show in one trial; above 0, at most 1.
    certainty : float
        Between 0 and 1.

    Raises
    ------
    ValueError
        If the rate or the certainty is no such number.
    """
    if not 0 < rate <= 1 or not 0 < certainty < 1:
        raise ValueError("A rate lies above 0 and up to 1, a certainty between 0 and 1.")
    if rate == 1:
        return 1
    needed = math.ceil(math.log(1 - certainty) / math.log1p(-rate) - 1e-12)
    # The logarithms round; the powers decide.
    while (1 - rate) ** needed > 1 - certainty:
        needed += 1
    return max(needed, 1)


def upper_bound_rate(trials: int, confidence: float = 0.95) -> float:
    """Return the largest rate that n clean trials leave possible: 1 − (1 − confidence)^(1/n), exact binomial [1]_.

    References
    ----------
    .. [1] Hanley and Lippman-Hand, If nothing goes wrong, is everything all right?, JAMA 249 (1983) 1743 (from memory):
           the rule of three, 3/n, is its approximation for 95 %.
    """
    if trials < 1 or not 0 < confidence < 1:
        raise ValueError("There is at least one trial, and a confidence between 0 and 1.")
    return -math.expm1(math.log(1 - confidence) / trials)


def rule_of_three(trials: int) -> float:
    """Return 3/n, the rule of thumb for `upper_bound_rate` at 95 %; never above 1."""
    if trials < 1:
        raise ValueError("There is at least one trial.")
    return min(3 / trials, 1.0)


def clean_trials_after_repair(shown: int, trials: int, certainty: float = 0.95) -> int:
    """Return how many clean trials after a repair make it certain that the fault is gone.

    Of its rate nothing is known but that it showed k times in n trials before: Beta(k + 1, n − k + 1). A fault that is
    still there passes m clean trials with the chance B(k + 1, n − k + 1 + m) / B(k + 1, n − k + 1); the smallest m for
    which that is at most 1 − certainty.

    Raises
    ------
    ValueError
        If it showed oftener than it was tried, or never: then nothing says how often it would show.
    """
    if not 0 < shown <= trials or not 0 < certainty < 1:
        raise ValueError("The fault showed at least once and at most as often as it was tried.")
    chance, clean = 1.0, 0
    while chance > 1 - certainty:
        # B(a, b + 1) / B(a, b) = b / (a + b)
        chance *= (trials - shown + 1 + clean) / (trials + 2 + clean)
        clean += 1
    return clean
