"""Standard uncertainties against the GUM's worked examples and its distributions.

Sources, row by row, in `data/uncertainty_cases.csv`: JCGM 100:2008 4.3.7, 5.1.5, F.2.2.1 and H.1 (the first two from
memory, recomputed; H.1 found in text). Rows on distributions and degrees of freedom that the program does not use
are left out.
"""

from __future__ import annotations

import csv
import math
import re
from pathlib import Path

import pytest

from workshop_log.measuring.entry import read_entry
from workshop_log.measuring.instruments import AccuracyRange, Instrument
from workshop_log.measuring.uncertainty import (
    accuracy_limit,
    combine,
    from_resolution,
    rectangular,
    standard_uncertainty,
)

CASES = Path(__file__).parent / "data" / "uncertainty_cases.csv"
ROWS = {row["case"]: row for row in csv.DictReader(CASES.read_text(encoding="utf-8").splitlines())}
METER_ROWS = [row for row in ROWS.values() if row["case"].startswith("DMM ")]
DIMENSION = {"V": "voltage", "A": "current", "ohm": "resistance"}


def case(beginning):
    """Return the one row whose case begins so."""
    found = [row for name, row in ROWS.items() if name.startswith(beginning)]
    assert len(found) == 1, beginning
    return found[0]


def test_gum_example_of_a_digital_voltmeter():
    """JCGM 100 4.3.7 example 2 and 5.1.5 (from memory): a = 15 µV, a/√3 = 8.7 µV, with 12 µV 15 µV."""
    # 2e-6 of the 1 V range is written as two counts of a microvolt.
    limit = accuracy_limit(0.928571, AccuracyRange("voltage", 1.0, 14e-4, 2, 1e-6), 1e-6)
    assert limit * 1e6 == pytest.approx(float(case("GUM 4.3.7 ex. 2")["computed"]), abs=0.005)
    assert rectangular(limit) * 1e6 == pytest.approx(float(case("same: u = a/sqrt(3)")["computed"]), abs=0.005)
    together = combine(rectangular(limit), 12e-6) * 1e6
    assert together == pytest.approx(float(case("same with Type A")["computed"]), abs=0.005)


def test_gum_example_of_the_end_gauge():
    """JCGM 100 H.1 (found in text): 25, 9.7, 2.9 and 16.6 nm combine to 32 nm."""
    parts = [float(part) for part in case("GUM H.1 contributions")["computed"].split(",")]
    row = case("GUM H.1 combined")
    assert combine(*parts) == pytest.approx(float(row["computed"]), abs=0.01)
    assert round(combine(*parts)) == int(row["published"])


def test_distributions_used():
    """JCGM 100 4.3.7 and F.2.2.1 (from memory, recomputed): a/√3 and d/√12."""
    assert rectangular(1.0) == pytest.approx(float(case("rectangular half-width")["computed"]), abs=5e-7)
    assert from_resolution(1.0) == pytest.approx(float(case("resolution step")["computed"]), abs=5e-7)


@pytest.mark.parametrize("row", METER_ROWS, ids=lambda row: row["case"][:16])
def test_meters_accuracy(row):
    """Percent of reading and counts, as limits of a rectangular distribution (GUM 4.3.7; recomputed)."""
    reading, percent, counts, count = re.match(
        r"DMM (\S+ \w+), spec \+-\((\S+) % of reading \+ (\d) counts of (\S+)\)", row["case"]).groups()
    accuracy = AccuracyRange(DIMENSION[row["unit"]], 1e4, float(percent), float(counts), float(count))
    a, u, u_res = (float(number) for number in re.findall(r"=([\d.e-]+)", row["computed"]))
    entry = read_entry(reading)
    found = standard_uncertainty(entry, Instrument("meter", ranges=(accuracy,)))
    assert accuracy_limit(entry.value, accuracy, accuracy.resolution) == pytest.approx(a, rel=1e-6)
    assert found.from_accuracy == pytest.approx(u, rel=1e-5)
    assert found.from_resolution == pytest.approx(u_res, rel=1e-3)
    assert found.standard == pytest.approx(math.sqrt(u**2 + u_res**2), rel=1e-5)


def test_all_meter_rows_are_there():
    """A table that lost its rows would pass every test."""
    assert len(METER_ROWS) == 4
