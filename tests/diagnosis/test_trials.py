"""How many clean trials it takes."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.diagnosis.trials import (
    clean_trials_after_repair,
    clean_trials_needed,
    rule_of_three,
    upper_bound_rate,
)

rates = st.floats(min_value=0.001, max_value=1.0)
certainties = st.floats(min_value=0.5, max_value=0.999)


@given(rate=rates, certainty=certainties)
def test_the_needed_trials_are_the_fewest(rate, certainty):
    """With them a fault would have shown itself with the certainty wanted, with one less it would not."""
    n = clean_trials_needed(rate, certainty)
    assert (1 - rate) ** n <= 1 - certainty + 1e-12
    assert n == 1 or (1 - rate) ** (n - 1) > 1 - certainty - 1e-12


@given(n=st.integers(min_value=3, max_value=5000))
def test_the_rule_of_three_lies_above_the_exact_bound(n):
    """It errs on the careful side, and less the more trials there are."""
    assert upper_bound_rate(n) <= rule_of_three(n)


@given(n=st.integers(min_value=1, max_value=200), certainty=certainties)
def test_bound_and_needed_trials_are_one_another_s_inverse(n, certainty):
    """A fault of the largest rate left after n clean trials needs n trials to show itself."""
    assert clean_trials_needed(upper_bound_rate(n, certainty) * (1 + 1e-9), certainty) == n


@pytest.mark.parametrize(("shown", "trials"), [(3, 10), (1, 1), (10, 10), (1, 20)])
def test_clean_trials_after_a_repair_by_the_beta_integral(shown, trials):
    """B(k+1, n−k+1+m) / B(k+1, n−k+1) falls to 5 % at that m and not before; by the gamma function."""

    def passes(m: int) -> float:
        a, b = shown + 1, trials - shown + 1
        return math.exp(math.lgamma(b + m) + math.lgamma(a + b) - math.lgamma(a + b + m) - math.lgamma(b))

    m = clean_trials_after_repair(shown, trials)
    assert passes(m) <= 0.05 + 1e-12
    assert passes(m - 1) > 0.05


def test_a_fault_that_showed_often_needs_few_clean_trials():
    """Nine of ten before: a handful after; one of twenty before: many."""
    assert clean_trials_after_repair(9, 10) < 6
    assert clean_trials_after_repair(1, 20) > 30


@pytest.mark.parametrize("call", [
    lambda: clean_trials_needed(0.0), lambda: clean_trials_needed(0.5, 1.0), lambda: upper_bound_rate(0),
    lambda: rule_of_three(0), lambda: clean_trials_after_repair(0, 5), lambda: clean_trials_after_repair(6, 5)])
def test_numbers_that_cannot_be_are_refused(call):
    """A rate of nothing, a certainty of one, no trial at all, more shown than tried."""
    with pytest.raises(ValueError, match=r"\."):
        call()
