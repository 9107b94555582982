"""Choosing the next test from tables, against the best that can be done."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from diagnosis.tables import followed, made_up, optimum, parts_of
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop_log.diagnosis.outdated import Outdated
from workshop_log.diagnosis.planning import Problem, by_inspection, rank

SEEDS = range(40)


def test_following_the_ranking_takes_hardly_longer_than_the_optimum():
    """On made-up problems of at most six parts the expected minutes lie within 1.02 of the optimum on average."""
    problems = [made_up(np.random.default_rng(seed)) for seed in SEEDS]
    ratios = [followed(problem) / best for problem in problems if (best := optimum(problem)) > 0]
    assert len(ratios) >= 30
    assert min(ratios) >= 1 - 1e-9
    assert sum(ratios) / len(ratios) < 1.02


@given(seed=st.integers(0, 10_000))
@settings(max_examples=40, deadline=None)
def test_information_is_never_negative_and_never_more_than_what_is_missing(seed):
    """Bits lie between nothing and the entropy over parts; the minutes count the access."""
    problem = made_up(np.random.default_rng(seed))
    parts = parts_of(problem)
    missing = -float((parts[parts > 0] * np.log2(parts[parts > 0])).sum())
    for one in rank(problem, 20):
        assert -1e-9 <= one.bits <= missing + 1e-9
        access = sum(problem.access_minutes[name] for name in problem.access[one.test])
        assert math.isclose(one.minutes, problem.minutes[one.test] + access)


@given(seed=st.integers(0, 10_000), order=st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_the_order_of_tests_and_hypotheses_does_not_matter(seed, order):
    """Shuffled, each test makes the same promises."""
    problem = made_up(np.random.default_rng(seed))
    tests, guesses = list(range(len(problem.table))), list(range(len(problem.belief)))
    order.shuffle(tests)
    order.shuffle(guesses)
    shuffled = replace(problem, belief=problem.belief[guesses], part=problem.part[guesses],
                       table=problem.table[tests][:, guesses], minutes=problem.minutes[tests],
                       access=tuple(problem.access[test] for test in tests))
    ranked, again = rank(problem, 20), {tests[one.test]: one for one in rank(shuffled, 20)}
    assert {one.test for one in ranked} == set(again)
    for one in ranked:
        assert math.isclose(one.expected_minutes, again[one.test].expected_minutes, rel_tol=1e-9)
        assert math.isclose(one.bits, again[one.test].bits, abs_tol=1e-9)


def problem_of(table, minutes, belief=(0.5, 0.5), part=(0, 1), access=None, access_minutes=None) -> Problem:
    """Return a problem of two parts, unless said otherwise, whose inspection takes long."""
    table = np.array(table, dtype=float)
    return Problem(np.array(belief), np.array(part), table, np.array(minutes, dtype=float),
                   access or ((),) * len(table), access_minutes or {}, np.full(max(part) + 1, 60.0))


TELLS, TELLS_NOTHING = [[1, 0], [0, 1]], [[0.5, 0.5], [0.5, 0.5]]


def test_of_two_tests_that_tell_the_same_the_quicker_is_first():
    """Two minutes before six; what tells nothing comes last however quick it is."""
    ranked = rank(problem_of([TELLS, TELLS, TELLS_NOTHING], [6, 2, 0.1]), 3)
    assert [one.test for one in ranked] == [1, 0, 2]


def test_strip_down_counts_unless_it_is_paid():
    """A quick test behind a trim comes after a slower one that lies open, and before it once the trim is off."""
    closed = problem_of([TELLS, TELLS], [2, 6], access=(("trim",), ()), access_minutes={"trim": 20.0})
    opened = problem_of([TELLS, TELLS], [2, 6], access=((), ()))
    assert rank(closed, 1)[0].test == 1
    assert rank(opened, 1)[0].test == 0


def test_telling_two_sizes_of_one_fault_apart_is_worth_nothing():
    """Information counts about the part that would be replaced."""
    sizes, parts = [[1, 0], [0, 1], [0.5, 0.5]], [[1, 0], [1, 0], [0, 1]]
    problem = problem_of([sizes, parts], [1, 5], belief=(0.3, 0.3, 0.4), part=(0, 0, 1))
    first, second = rank(problem, 2)
    assert first.test == 1
    # Either outcome leaves 0.6 and 0.4; H(0.4) = 0.971 bit.
    assert math.isclose(second.bits, 0.0, abs_tol=1e-12)
    assert math.isclose(first.bits, 0.971, abs_tol=5e-4)


def test_a_test_that_opens_the_way_for_another_is_seen_one_step_ahead():
    """Two tests behind the same trim together beat two that lie open and tell little."""
    half, other = [[1, 0], [1, 0], [0, 1], [0, 1]], [[1, 0], [0, 1], [1, 0], [0, 1]]
    weak = [[0.6, 0.4], [0.4, 0.6], [0.5, 0.5], [0.5, 0.5]]
    problem = problem_of([half, other, weak], [2, 2, 4], belief=(0.25,) * 4, part=(0, 1, 2, 3),
                         access=(("trim",), ("trim",), ()), access_minutes={"trim": 8.0})
    assert rank(problem, 1)[0].test in (0, 1)


def test_inspecting_goes_by_probability_over_cost_and_saves_the_last():
    """0.8 at 10 minutes and 0.2 at 1 minute: the cheap one first, 1 minute, then nobody need look."""
    assert math.isclose(float(by_inspection(np.array([0.8, 0.2]), np.array([10.0, 1.0]))), 1.0)


def test_nothing_to_test_ranks_nothing():
    """No test, no proposal."""
    assert rank(problem_of(np.zeros((0, 2, 2)), []), 3) == ()


def test_an_outdated_ranking_is_given_up():
    """Whoever asks may change their mind."""
    with pytest.raises(Outdated):
        rank(made_up(np.random.default_rng(1)), 3, is_outdated=lambda: True)


def test_a_quick_test_that_tells_little_is_not_made_before_the_telling_one():
    """Putting off the test that decides costs time: half a minute for next to nothing never comes first."""
    weak = [[0.52, 0.48], [0.48, 0.52]]
    assert rank(problem_of([weak, weak, weak, TELLS], [0.5, 0.5, 0.5, 4]), 4)[0].test == 3


def test_a_part_that_no_hypothesis_names_takes_nothing():
    """Time to inspect may be known of parts that are no suspects any more."""
    problem = replace(problem_of([TELLS], [2]), inspect_minutes=np.array([60.0, 60.0, 5.0]))
    assert math.isclose(rank(problem, 1)[0].expected_minutes, 2.0)


def test_what_a_part_is_isolated_by_is_not_looked_at_any_further():
    """Once a part has 95 %, any test takes its own minutes and no more."""
    assert math.isclose(rank(problem_of([TELLS], [2], belief=(0.96, 0.04)), 1)[0].expected_minutes, 2.0)
