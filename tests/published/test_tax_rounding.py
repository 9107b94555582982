"""Tax and minor units against the published rules and recomputed cases in `data/money_time_cases.csv`."""

from __future__ import annotations

import csv
import re
from decimal import Decimal
from pathlib import Path

import pytest

from workshop_log.jobs import money
from workshop_log.jobs.money import TaxRule

_TABLE = Path(__file__).with_name("data") / "money_time_cases.csv"
_ROWS = list(csv.DictReader(_TABLE.read_text(encoding="utf-8").splitlines()))


def _row(start: str) -> dict[str, str]:
    """Return the one row whose case begins so."""
    (found,) = (row for row in _ROWS if row["case"].startswith(start))
    return found


_MINOR_UNITS = [(row["case"].removeprefix("ISO 4217 minor unit "), int(row["value"]))
                for row in _ROWS if row["case"].startswith("ISO 4217 minor unit")]
_THREE_LINES = [Decimal("1.23")] * 3
_TWENTY = Decimal(20)


@pytest.mark.parametrize(("currency", "digits"), _MINOR_UNITS)
def test_minor_units_are_those_of_iso_4217(currency: str, digits: int) -> None:
    """Each currency of the table has the digits that the standard's list gives it."""
    assert money.minor_digits(currency) == digits


def test_the_table_of_minor_units_was_read() -> None:
    """The parametrised test above is not empty, and the one currency that CLDR shows otherwise follows the standard."""
    assert len(_MINOR_UNITS) == 17
    assert money.minor_digits("IQD") == int(_row("caution IQD")["value"].split(" / ")[0])


def test_tax_per_line_half_up() -> None:
    """Three lines of 1.23 at 20 %: 0.246 becomes 0.25 on each line."""
    assert money.round_tax(_THREE_LINES, _TWENTY, TaxRule.LINE_HALF_UP) == Decimal(_row("3 lines of 1.23")["value"])


def test_tax_on_the_total_half_up_and_down() -> None:
    """The same three lines: 20 % of 3.69 is 0.738, to the nearest penny or down to a whole one (Notice 700, 17.5.1)."""
    half_up, down = _row("same: VAT on the total 3.69")["value"].split(" ; ")
    assert money.round_tax(_THREE_LINES, _TWENTY, TaxRule.TOTAL_HALF_UP) == Decimal(half_up)
    assert money.round_tax(_THREE_LINES, _TWENTY, TaxRule.TOTAL_DOWN) == Decimal(down)


def test_tax_per_line_down_to_a_tenth_of_a_penny() -> None:
    """Notice 700, 17.5.2: 0.246 stays on each line, and the total of 0.738 goes down to a whole penny."""
    case = _row("same: line VAT rounded down to 0.1p")
    assert money.round_tax(_THREE_LINES, _TWENTY, TaxRule.LINE_TENTH_DOWN) == Decimal(case["value"])


def test_per_line_tax_is_never_rounded_down_to_a_whole_penny() -> None:
    """Notice 700, 17.5.2 forbids it: no rule gives 3 x 0.24 for the three lines."""
    assert all(money.round_tax(_THREE_LINES, _TWENTY, rule) != Decimal("0.72") for rule in TaxRule)


def test_half_a_cent_in_decimal_is_rounded_up() -> None:
    """1.005 is 1.01 in decimal, where a float gives 1.0; and a half goes up, not to the even digit."""
    assert money.round_money(Decimal("1.005"), "EUR") == Decimal(_row("binary float trap")["value"].split(" ; ")[0])
    half_even, half_up = re.findall(r"[\d.]+", _row("half-even vs half-up")["value"])
    assert money.round_money(Decimal("0.125"), "EUR") == Decimal(half_up) != Decimal(half_even)


@pytest.mark.parametrize(("start", "gross", "rate", "currency"), [
    ("gross 119.00 at 19", "119.00", "19", "EUR"), ("gross 100.00 at 20", "100.00", "20", "GBP")])
def test_tax_contained_in_a_gross_amount(start: str, gross: str, rate: str, currency: str) -> None:
    """The contained tax is gross x rate / (100 + rate)."""
    assert money.contained_tax(Decimal(gross), Decimal(rate), currency) == Decimal(_row(start)["value"])
