"""VINs and fault codes against published examples and rules.

Check digits, lengths and letters were found in public texts or recomputed. The table of year codes and who defines
which fault code are from memory, and those tests rest on that.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from workshop_log.exchange.fault_codes import read_fault_code
from workshop_log.exchange.vin import check_character, check_vin

DATA = Path(__file__).parent / "data"


def table(name):
    return list(csv.DictReader((DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()))


VINS = table("vin_cases")
RULES = {row["rule"]: row["value"] for row in table("vin_rules")}
# What the table expects, as the check says it: check digit, and whether something is wrong.
MEANING = {
    "valid": ("right", True), "passes although wrong": ("right", True), "check digit mismatch": ("wrong", False),
    "bad length": ("not used", False), "bad character": ("not used", False),
    "well formed, no North American check digit": ("not used", True),
}


@pytest.mark.parametrize("row", VINS, ids=lambda row: row["vin"])
def test_vin_cases(row):
    """Each case of the table, and its computed check character where it has one."""
    check = check_vin(row["vin"])
    assert (check.check_digit, check.is_well_formed) == MEANING[row["expected"]]
    if row["computed_check"]:
        assert check_character(row["vin"]) == row["computed_check"]


@pytest.mark.parametrize("letter", RULES["excluded letters"].split(", "))
def test_excluded_letters(letter):
    """Each of the excluded letters is refused in each position."""
    for place in range(17):
        vin = "1" * place + letter + "1" * (16 - place)
        assert f"position {place + 1} is {letter}" in check_vin(vin).findings[0]


def test_letter_values_and_weights():
    """A VIN of ones with one letter in position 2 has the remainder that the two tables of the rule give."""
    weights = [int(weight) for weight in RULES["weights positions 1..17"].split()]
    for pair in RULES["letter values"].split():
        letter, value = pair[0], int(pair[1])
        for place in (1, 9, 16):
            remainder = (sum(weights) + (value - 1) * weights[place]) % 11
            vin = "1" * place + letter + "1" * (16 - place)
            assert check_character(vin) == ("X" if remainder == 10 else str(remainder))


@pytest.mark.parametrize("row", table("vin_year_codes"), ids=lambda row: row["code"])
def test_year_codes(row):
    """Two candidates thirty years apart (from memory); no North American number, so both stand."""
    years = tuple(int(year) for year in row["years"].split(" / "))
    assert check_vin(f"WG4AH59H0{row['code']}G118341").model_years == years


@pytest.mark.parametrize("row", table("dtc_cases"), ids=lambda row: row["hex"])
def test_fault_code_cases(row):
    """Bytes to the written code; the row says that it reproduces."""
    assert row["reproduces"] == "yes"
    assert read_fault_code(row["hex"]).code == row["expected"]


@pytest.mark.parametrize(("code", "by"), [
    ("P0FFF", "the standard"), ("P2000", "the standard"), ("P1000", "the maker"), ("P3000", "the maker"),
    ("P33FF", "the maker"), ("P3400", "the standard"), ("P3FFF", "the standard"), ("B0001", "the standard"),
    ("C1001", "the maker"), ("U2001", "the maker"), ("B3001", "reserved by the standard"),
])
def test_who_defines_a_code(code, by):
    """The rule's ranges (from memory; the halves of P3 found in a public text), both ends."""
    assert read_fault_code(code).defined_by == by


def test_electrical_failure_types():
    """The first category's subtypes (from memory)."""
    row = next(row for row in table("dtc_rules") if row["rule"].startswith("subtypes"))
    for part in row["rule"].removeprefix("subtypes ").split(", "):
        number, words = part.split(" ", 1)
        said = read_fault_code(f"B1000-{number}").failure_type
        # The trade's words of this program: supply for battery, comes and goes for intermittent.
        first = words.replace("battery", "supply").replace("intermittent", "comes and goes").split(" ")[0]
        assert first in said or first in ("above", "below")
