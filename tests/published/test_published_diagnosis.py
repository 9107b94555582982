"""Choosing tests, trials and decisions against textbook problems with known answers.

Sources, row by row, in `data/diagnosis_cases.csv`: half-splitting as an optimal alphabetic tree (Hu and Tucker 1971,
Gilbert and Moore 1959; from memory, recomputed), inspection by probability over cost (Kadane and Simon 1975;
Heckerman, Breese and Rommelse 1995), the multiplier-adder circuit (de Kleer and Williams, Artificial Intelligence 32
(1987) 97; structure from memory, recomputed), Laplace's rule and the rule of three (Ross; Hanley and Lippman-Hand
1983), the value of information (Russell and Norvig; Raiffa 1968), Bayes' rule.
"""

from __future__ import annotations

import csv
import itertools
import json
import math
import re
from collections import defaultdict
from pathlib import Path

import numpy as np
import pytest

from workshop_log.diagnosis.inference import posterior
from workshop_log.diagnosis.planning import Problem, by_inspection, entropy, information, rank
from workshop_log.diagnosis.trials import (
    clean_trials_after_repair,
    clean_trials_needed,
    rule_of_three,
    upper_bound_rate,
)
from workshop_log.diagnosis.worth import expected_loss, worth_of_certainty, worth_of_test

CASES = Path(__file__).parent / "data" / "diagnosis_cases.csv"
ROWS = list(csv.DictReader(CASES.read_text(encoding="utf-8").splitlines()))
CHAINS = [(int(re.search(r"chain of (\d+)", row["case"])[1]), *map(float, row["value"].split(";")))
          for row in ROWS if row["case"].startswith("series chain of")]
CLEAN = [(int(re.search(r"n=(\d+)", row["case"])[1]), *map(float, row["value"].split(";")))
         for row in ROWS if row["case"].startswith("no failure in n=")]
SEEN = [(float(re.search(r"probability ([\d.]+)", row["case"])[1]), int(row["value"]))
        for row in ROWS if row["case"].startswith("intermittent present")]
SHOWN = [(*map(int, re.search(r"s=(\d+) failures seen in n=(\d+)", row["case"]).groups()), float(row["value"]))
         for row in ROWS if row["case"].startswith("Laplace (s+1)/(n+2), s=")]
# Nothing is settled by a part's own inspection where only tests count.
NEVER = 1e6
SURE = 1 - 1e-9


def value(beginning: str) -> str:
    """Return what the one row whose case begins so says."""
    found = [row["value"] for row in ROWS if row["case"].startswith(beginning)]
    assert len(found) == 1, beginning
    return found[0]


# --- tests along a chain --------------------------------------------------------------------------------------------


def chain(weights) -> Problem:
    """Return a chain of parts in series, one of them at fault: a test between two says on which side of it."""
    n = len(weights)
    table = np.zeros((n - 1, n, 2))
    for test in range(n - 1):
        table[test, :test + 1, 0] = 1
        table[test, test + 1:, 1] = 1
    belief = np.array(weights, dtype=float)
    return Problem(belief / belief.sum(), np.arange(n), table, np.ones(n - 1), ((),) * (n - 1), {},
                   np.full(n, NEVER), SURE)


def played(problem: Problem) -> float:
    """Return the expected time when the first-ranked test is made again and again, all outcomes enumerated."""
    if problem.belief.max() >= problem.certainty:
        return 0.0
    first = rank(problem, 1)[0].test
    joint = problem.belief[:, None] * problem.table[first]
    total = float(problem.minutes[first])
    for outcome in np.flatnonzero(joint.sum(axis=0) > 1e-12).tolist():
        chance = float(joint[:, outcome].sum())
        after = Problem(joint[:, outcome] / chance, problem.part, problem.table, problem.minutes, problem.access,
                        problem.access_minutes, problem.inspect_minutes, problem.certainty)
        total += chance * played(after)
    return total


def from_the_end(weights) -> float:
    """Return the expected number of tests from one end on; the last part needs none."""
    shares = np.array(weights) / sum(weights)
    n = len(shares)
    return float(sum(share * min(number + 1, n - 1) for number, share in enumerate(shares)))


@pytest.mark.parametrize(("n", "best", "in_order"), CHAINS)
def test_equal_parts_in_a_row_are_halved(n, best, in_order):
    """The first-ranked tests reach the optimal alphabetic tree; probing from one end takes as long as published."""
    assert math.isclose(played(chain([1] * n)), best, rel_tol=1e-6)
    assert math.isclose(from_the_end([1] * n), in_order, rel_tol=1e-6)


def test_the_first_test_of_a_chain_lies_in_its_middle():
    """Of 16 equal parts: between the eighth and the ninth."""
    assert rank(chain([1] * 16), 1)[0].test == 7


def test_unequal_parts_in_a_row_are_divided_by_their_weight():
    """Weights 50, 20, 10, 10, 5, 5 in order: 2.1 tests; no sequence can do better than the entropy."""
    weights = [50, 20, 10, 10, 5, 5]
    best, bound = (float(text) for text in value("series chain with prior weights").split(";"))
    assert math.isclose(played(chain(weights)), best, rel_tol=1e-6)
    assert math.isclose(float(entropy(np.array(weights) / 100)), bound, abs_tol=1e-4)


# --- inspections ----------------------------------------------------------------------------------------------------

P, COST = (0.4, 0.3, 0.2, 0.1), (60.0, 20.0, 25.0, 5.0)


def cost_of(order) -> float:
    """Return the expected cost of inspecting in an order until the fault is found; the last one is inspected too."""
    return sum(P[part] * sum(COST[known] for known in order[:place + 1]) for place, part in enumerate(order))


def inspections() -> Problem:
    """Return four parts of which each can only be inspected for itself, for sure."""
    table = np.zeros((4, 4, 2))
    for part in range(4):
        table[part, :, 1] = 1
        table[part, part] = (1, 0)
    return Problem(np.array(P), np.arange(4), table, np.array(COST), ((),) * 4, {}, np.full(4, NEVER), SURE)


def test_inspections_go_by_probability_over_cost():
    """The published order costs least of all 24, and it is the order of probability over cost."""
    published = json.loads(value("case p=(0.4,0.3,0.2,0.1)").split(" cost")[0])
    best = [part - 1 for part in published]
    costs = {order: cost_of(order) for order in itertools.permutations(range(4))}
    assert list(min(costs, key=costs.get)) == best
    assert math.isclose(costs[tuple(best)], float(value("case p=(0.4,0.3,0.2,0.1)").split("cost ")[1]))
    assert sorted(range(4), key=lambda part: -P[part] / COST[part]) == best
    by_probability, worst = value("same case: cost of the order by probability").split(";")
    assert math.isclose(cost_of((0, 1, 2, 3)), float(by_probability))
    assert math.isclose(max(costs.values()), float(worst.split()[0]))


def test_the_time_to_go_by_inspection_is_that_of_the_best_order():
    """What the last one costs is saved where it is the only one left: nobody need look."""
    best = cost_of((3, 1, 2, 0))
    assert math.isclose(float(by_inspection(np.array(P), np.array(COST))), best - P[0] * COST[0])


def test_where_only_inspections_are_left_the_first_is_the_best_order_s_first():
    """The ranking begins with the part of the highest probability over cost."""
    assert rank(inspections(), 1)[0].test == 3


# --- the multiplier-adder circuit -----------------------------------------------------------------------------------

PARTS = ("M1", "M2", "M3", "A1", "A2")
FAULTY = 0.01


def polybox(f: int, g: int | None, spread: int):
    """Return what is believed of each set of faulty parts, and what a probe of X, Y and Z would show with it.

    X = A·C = 6, Y = B·D = 6, Z = C·E = 6 (A=3, B=2, C=2, D=3, E=3), F = X + Y, G = Y + Z; a faulty part gives any of
    `spread` values alike, counted round as on a clock, so that no sum falls out of them.
    """
    belief, shown = {}, {point: {} for point in "XYZ"}
    for bad in itertools.product((False, True), repeat=5):
        is_bad = dict(zip(PARTS, bad, strict=True))
        total, marginal = 0.0, {point: defaultdict(float) for point in "XYZ"}
        values = [range(spread) if is_bad[part] else (6,) for part in ("M1", "M2", "M3")]
        for x, y, z in itertools.product(*values):
            chance = spread ** -(is_bad["M1"] + is_bad["M2"] + is_bad["M3"])
            chance *= 1 / spread if is_bad["A1"] else (x + y - f) % spread == 0
            if g is not None:
                chance *= 1 / spread if is_bad["A2"] else (y + z - g) % spread == 0
            total += chance
            for point, reading in zip("XYZ", (x, y, z), strict=True):
                marginal[point][reading] += chance
        if total:
            key = tuple(part for part in PARTS if is_bad[part])
            belief[key] = total * math.prod(FAULTY if one else 1 - FAULTY for one in bad)
            for point in "XYZ":
                shown[point][key] = {reading: chance / total for reading, chance in marginal[point].items()}
    whole = sum(belief.values())
    return {key: chance / whole for key, chance in belief.items()}, shown


def minimal(diagnoses) -> list[list[str]]:
    """Return the sets of which no part can be left out."""
    return sorted(sorted(one) for one in diagnoses if not any(set(other) < set(one) for other in diagnoses))


def probes(belief, shown) -> Problem:
    """Return the three probes as a problem: every set of faulty parts is a part of its own."""
    keys = list(belief)
    readings = sorted({reading for point in "XYZ" for key in keys for reading in shown[point][key]})
    table = np.array([[[shown[point][key].get(reading, 0.0) for reading in readings] for key in keys]
                      for point in "XYZ"])
    return Problem(np.array([belief[key] for key in keys]), np.arange(len(keys)), table, np.ones(3), ((),) * 3, {},
                   np.full(len(keys), NEVER), SURE)


def test_minimal_diagnoses_of_the_multiplier_adder_circuit():
    """F = 10 where 12 belongs, with G unknown and with G right; 27 of 32 sets are consistent."""
    assert minimal(polybox(10, None, 16)[0]) == sorted(eval_list("polybox F=10 (G not measured)"))
    both, _ = polybox(10, 12, 16)
    assert minimal(both) == sorted(sorted(one) for one in eval_list("polybox F=10, G=12: minimal diagnoses"))
    assert len(both) == int(value("polybox: number of consistent subsets"))
    alone = [float(text) for text in value("polybox, independent p=0.01").split(",")]
    assert math.isclose(both["A1",], alone[0], abs_tol=1e-5)
    assert math.isclose(both["M1",], alone[1], abs_tol=1e-5)


def eval_list(beginning: str) -> list[list[str]]:
    """Return a list of names as the table writes it."""
    return json.loads(value(beginning).replace("'", '"'))


def test_minimal_conflicts_of_the_multiplier_adder_circuit():
    """Parts that cannot all be right: every consistent set of faulty ones has at least one of them."""
    consistent, _ = polybox(10, 12, 16)
    conflicts = [right for size in range(6) for right in itertools.combinations(PARTS, size)
                 if all(set(bad) & set(right) for bad in consistent)]
    published = [names.split(",") for names in
                 re.findall(r"\[([^]]+)\]", value("polybox F=10, G=12: minimal conflicts"))]
    assert minimal(conflicts) == sorted(sorted(one) for one in published)


def test_the_multiplier_adder_circuit_shows_twelve_when_it_is_right():
    """F and G of 12 leave the set without any faulty part; F of 10 excludes it."""
    f, g = (int(text) for text in value("polybox: X=A*C").split(","))
    assert () in polybox(f, g, 16)[0]
    assert () not in polybox(10, g, 16)[0]


@pytest.mark.parametrize("spread", [8, 16, 100])
def test_the_first_probe_of_the_multiplier_adder_circuit_is_x(spread):
    """Ranked first, with the expected entropies of the table in natural units."""
    belief, shown = polybox(10, 12, spread)
    problem = probes(belief, shown)
    row = next(row for row in ROWS if row["case"].startswith("polybox expected entropy") and f"m={spread} " in
               row["case"])
    published = [float(text) for text in re.findall(r"[XYZ] ([\d.]+)", row["value"])]
    now = float(re.search(r"current entropy ([\d.]+)", row["case"])[1]) / math.log(2)
    assert math.isclose(float(entropy(problem.belief)), now, abs_tol=1e-4)
    joint = (problem.belief[None, :, None] * problem.table).swapaxes(1, 2)
    left = (float(entropy(problem.belief)) - information(joint, problem.belief)) * math.log(2)
    assert np.allclose(left, published, atol=5e-5)
    assert rank(problem, 1)[0].test == 0


@pytest.mark.parametrize("reading", [4, 6])
def test_what_the_probe_leaves_of_the_multiplier_adder_circuit(reading):
    """X = 4 condemns M1 alone; X = 6 clears it and leaves three."""
    belief, shown = polybox(10, 12, 16)
    left = {key: chance * shown["X"][key].get(reading, 0.0) for key, chance in belief.items()}
    consistent = [key for key, chance in left.items() if chance > 0]
    assert minimal(consistent) == sorted(sorted(one) for one in eval_list(f"polybox after X={reading}"))


# --- trials ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("n", "laplace", "three", "bound"), CLEAN)
def test_clean_trials_leave_what_the_exact_bound_says(n, laplace, three, bound):
    """1 − 0.05^(1/n), with the rule of three beside it; Laplace's rule is the mean of what is left."""
    assert math.isclose(upper_bound_rate(n), bound, abs_tol=1e-4)
    assert math.isclose(rule_of_three(n), min(three, 1.0), abs_tol=1e-5)
    assert rule_of_three(n) >= bound - 1e-9 or n < 3
    assert math.isclose(1 / (n + 2), laplace, abs_tol=1e-5)


@pytest.mark.parametrize(("shown", "trials", "laplace"), SHOWN)
def test_after_trials_the_next_one_shows_a_fault_as_laplace_s_rule_says(shown, trials, laplace):
    """(s + 1)/(n + 2) is the certainty that one clean trial after the repair gives, and no more."""
    assert clean_trials_after_repair(shown, trials, laplace - 1e-5) == 1
    assert clean_trials_after_repair(shown, trials, laplace + 1e-5) == 2


@pytest.mark.parametrize(("rate", "trials"), SEEN)
def test_trials_until_a_fault_of_known_rate_has_shown_itself(rate, trials):
    """29, 14 and 5 trials for 95 % at a tenth, a fifth and a half."""
    assert clean_trials_needed(rate) == trials


# --- decisions ------------------------------------------------------------------------------------------------------


def test_a_survey_of_one_block_is_worth_its_price():
    """Of n blocks one is worth C, each sold for C/n: a survey of one is worth C/n (Russell and Norvig)."""
    n, worth = 5, 1_000_000.0
    assert value("value of information: n blocks").endswith("200 000)")
    # Decisions: buy nothing, or block k; states: which block it is. Loss is the price less what it brings.
    loss = np.vstack([np.zeros(n), worth / n - worth * np.eye(n)])
    belief = np.full(n, 1 / n)
    survey = np.zeros((n, 2))
    survey[0, 0], survey[1:, 1] = 1, 1
    assert math.isclose(worth_of_test(loss, belief, survey), 200_000.0, rel_tol=1e-12)


def test_the_oil_wildcatter_pays_at_most_what_the_soundings_are_worth():
    """Drill or not, with and without soundings: 20.0, 22.5, 12.5 and 35.0 thousand dollars (Raiffa 1968)."""
    without, with_net, sample, perfect = (float(text) for text in value("oil wildcatter").split(";"))
    loss = -np.array([[-70.0, 50.0, 200.0], [0.0, 0.0, 0.0]])
    belief = np.array([0.5, 0.3, 0.2])
    soundings = np.array([[0.6, 0.3, 0.1], [0.3, 0.4, 0.3], [0.1, 0.4, 0.5]])
    assert math.isclose(-expected_loss(loss, belief), without)
    assert math.isclose(worth_of_test(loss, belief, soundings), sample, abs_tol=1e-9)
    assert math.isclose(worth_of_certainty(loss, belief), perfect)
    assert math.isclose(without + sample - 10.0, with_net)


def test_bayes_rule():
    """Open 0.5, high resistance 0.3, short 0.2, with a reading of 0.02, 0.9, 0.02."""
    published = [float(text) for text in value("Bayes update").split(",")]
    assert np.allclose(posterior(np.array([0.5, 0.3, 0.2]), np.log([0.02, 0.9, 0.02])), published, atol=1e-5)
