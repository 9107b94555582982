"""What it is worth to know more before deciding."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.diagnosis.worth import expected_loss, expected_losses_after, worth_of_certainty, worth_of_test

ANY_SEED = st.integers(0, 100_000)


def made_up(seed):
    """Return losses of some decisions in some states, what is believed, and a test."""
    chance = np.random.default_rng(seed)
    n_decisions, n_states, n_outcomes = chance.integers(1, 6, 3)
    return (chance.uniform(0, 500, (n_decisions, n_states)), chance.dirichlet(np.ones(n_states)),
            chance.dirichlet(np.ones(n_outcomes), n_states))


@given(seed=ANY_SEED)
def test_a_test_is_worth_something_between_nothing_and_certainty(seed):
    """Nobody has to heed a test, and none tells more than the state itself."""
    loss, belief, table = made_up(seed)
    assert 0 <= worth_of_test(loss, belief, table) <= worth_of_certainty(loss, belief) + 1e-9


@given(seed=ANY_SEED)
def test_a_test_that_tells_the_state_is_worth_certainty(seed):
    """Each state has an outcome of its own."""
    loss, belief, _ = made_up(seed)
    assert math.isclose(worth_of_test(loss, belief, np.eye(len(belief))), worth_of_certainty(loss, belief),
                        abs_tol=1e-9)


@given(seed=ANY_SEED)
def test_a_test_that_shows_the_same_in_every_state_is_worth_nothing(seed):
    """Its outcome changes no belief."""
    loss, belief, table = made_up(seed)
    same = np.repeat(table[:1], len(belief), axis=0)
    assert math.isclose(worth_of_test(loss, belief, same), 0.0, abs_tol=1e-9)


@given(seed=ANY_SEED)
def test_a_blurred_test_is_worth_no_more(seed):
    """Two outcomes that are taken for one tell less, or as much."""
    loss, belief, table = made_up(seed)
    blurred = np.column_stack([table[:, :2].sum(axis=1), table[:, 2:]])
    assert worth_of_test(loss, belief, blurred) <= worth_of_test(loss, belief, table) + 1e-9


@pytest.mark.parametrize(("likely", "now", "after"), [(0.8, 40.0, 20.0), (0.99, 2.0, 2.0), (0.5, 100.0, 20.0)])
def test_a_part_is_condemned_or_tested_first(likely, now, after):
    """Either of two parts wrongly condemned costs 200; a test is right nine times in ten.

    At 0.8 and 0.2: now 0.2 · 200 = 40; after "first" (0.72 and 0.02) 0.02 · 200 = 4, after "second" (0.08 and 0.18)
    0.08 · 200 = 16, together 20. At 0.99 both outcomes leave the first: 2. At 0.5: now 100, after 2 · 0.05 · 200 = 20.
    """
    loss = np.array([[0.0, 200.0], [200.0, 0.0]])
    belief, table = np.array([likely, 1 - likely]), np.array([[0.9, 0.1], [0.1, 0.9]])
    assert math.isclose(expected_loss(loss, belief), now)
    assert math.isclose(now - worth_of_test(loss, belief, table), after)


@given(seed=ANY_SEED)
def test_several_tests_at_once_are_as_each_alone(seed):
    """What is left after each does not depend on its neighbours."""
    loss, belief, table = made_up(seed)
    joint = np.stack([belief[:, None] * table, belief[:, None] * table[:, ::-1], np.outer(belief, table[0])])
    together = expected_losses_after(loss, joint)
    for one, alone in zip(joint, together, strict=True):
        assert math.isclose(float(expected_losses_after(loss, one[None])[0]), float(alone))
