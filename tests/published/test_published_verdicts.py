"""Verdicts against the examples of JCGM 106:2012.

Sources, row by row, in `data/jcgm106_cases.csv`: clauses 7.3 and 7.4 from memory (the two-sided one unsure),
recomputed; the table of z values in 7.3, recomputed. The rows on prior distributions and global risks are about
production, which the program does not judge, and are left out; SciPy stands beside as the second method.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
from scipy.stats import norm

from workshop_log.measuring.entry import read_entry
from workshop_log.measuring.ranges import ExpectedRange
from workshop_log.measuring.uncertainty import Uncertainty
from workshop_log.measuring.verdict import Verdict, VerdictLimits, judge, probability_inside

CASES = Path(__file__).parent / "data" / "jcgm106_cases.csv"
ROWS = list(csv.DictReader(CASES.read_text(encoding="utf-8").splitlines()))
Z_ROWS = [row for row in ROWS if row["case"].startswith("z for one-sided")]
TRADE_ROWS = [row for row in ROWS if row["case"].startswith("trade-size case")]


def computed(words):
    """Return the result of the one row whose case holds the words."""
    found = [row for row in ROWS if words in row["case"]]
    assert len(found) == 1, words
    return float(found[0]["computed"])


def test_upper_limit():
    """JCGM 106 7.3.2 example 1 (from memory): breakdown at −5.47 V, u = 0.05 V, at most −5.40 V: 0.92."""
    entry = read_entry("-5.47 V")
    judgement = judge(entry, ExpectedRange(None, -5.40, "V", "JCGM 106"), Uncertainty(0.05))
    assert judgement.probability_inside == pytest.approx(computed("Zener breakdown"), abs=5e-5)
    assert judgement.verdict is Verdict.TOO_CLOSE


def test_lower_limit():
    """JCGM 106 7.3.2 example 2 (from memory): container at 507 kPa, u = 8 kPa, at least 490 kPa: 0.98."""
    entry = read_entry("507 kPa")
    judgement = judge(entry, ExpectedRange(490, None, "kPa", "JCGM 106"), Uncertainty(8))
    assert judgement.probability_inside == pytest.approx(computed("container pressure"), abs=5e-5)
    assert judgement.verdict is Verdict.INSIDE


def test_two_limits():
    """JCGM 106 7.4 (from memory, unsure): viscosity 13.6, u = 1.8, between 12.5 and 16.3: 0.66."""
    assert probability_inside(13.6, 12.5, 16.3, 1.8) == pytest.approx(computed("oil viscosity"), abs=5e-5)


def test_speed_that_is_surely_above_the_limit():
    """JCGM 106 8.3 (from memory, unsure): with u/v = 2 % and 99.9 %, from 107 km/h on it is surely above 100 km/h."""
    limits = VerdictLimits(inside=0.999, outside=0.001)
    expected = ExpectedRange(None, 100, "km/h", "JCGM 106")
    highest = computed("guarded rejection")
    for speed, verdict in ((highest - 0.01, Verdict.TOO_CLOSE), (highest + 0.01, Verdict.OUTSIDE)):
        entry = read_entry(f"{speed:.2f} km/h")
        assert judge(entry, expected, Uncertainty(0.02 * entry.value), limits).verdict is verdict


@pytest.mark.parametrize("row", Z_ROWS, ids=lambda row: row["case"][-5:])
def test_table_of_coverage_factors(row):
    """JCGM 106 7.3 table 1 (from memory, recomputed): a distance of z·u to a limit gives that probability."""
    probability, z = float(row["case"].split()[-1]), float(row["computed"])
    assert probability_inside(0.0, None, z, 1.0) == pytest.approx(probability, abs=2e-4)
    assert norm.ppf(probability) == pytest.approx(z, abs=5e-4)


@pytest.mark.parametrize("row", TRADE_ROWS, ids=lambda row: row["case"][17:30])
def test_readings_of_the_trade(row):
    """The same formula for voltage drops and charging voltages (recomputed)."""
    y, u, low, high = re.search(r"y=([\d.]+), u=([\d.]+), limits (-|[\d.]+)\.\.([\d.]+):", row["case"]).groups()
    expected = ExpectedRange(None if low == "-" else float(low), float(high), "V", "the table")
    judgement = judge(read_entry(f"{y} V"), expected, Uncertainty(float(u)))
    assert judgement.probability_inside == pytest.approx(float(row["computed"]), abs=1e-6)
    below = 0.0 if low == "-" else norm.cdf(float(low), float(y), float(u))
    by_scipy = norm.cdf(float(high), float(y), float(u)) - below
    assert judgement.probability_inside == pytest.approx(by_scipy, abs=1e-12)


def test_guard_band_of_two_standard_uncertainties():
    """ISO 14253-1 style (from memory): at a guard band of U = 2u the risk of one side is 0.023."""
    assert 1 - probability_inside(-2.0, None, 0.0, 1.0) == pytest.approx(computed("ISO 14253-1:1998"), abs=5e-5)


def test_all_rows_are_there():
    """A table that lost its rows would pass every test."""
    assert (len(Z_ROWS), len(TRADE_ROWS)) == (5, 5)
