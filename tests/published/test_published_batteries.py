"""Batteries against published figures.

Rested voltages are from memory, unsure, and these tests rest on them. Peukert's worked example is found in text, the
other figures are recomputed. The row of a public table that does not reproduce is not used.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from workshop_log.measuring import batteries

DATA = Path(__file__).parent / "data"


def table(name):
    return list(csv.DictReader((DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()))


CASES, RESTED = table("battery_energy_cases"), table("battery_ocv_soc")
PEUKERT = [row for row in CASES if row["case"].startswith("Peukert rated form")]
DRAINS = [row for row in CASES if row["case"].startswith("days from")]


def numbers(text):
    return [float(number) for number in re.findall(r"\d+(?:\.\d+)?", text)]


@pytest.mark.parametrize("row", RESTED, ids=lambda row: row["soc_percent"])
def test_rested_voltage(row):
    """State of charge of a 12 V flooded battery (from memory, unsure); 24 V is twice that."""
    voltage, percent = float(row["ocv_12v_flooded_v"]), float(row["soc_percent"])
    assert batteries.charge_from_rested_voltage(voltage).percent == pytest.approx(percent)
    assert batteries.charge_from_rested_voltage(2 * voltage, 24).percent == pytest.approx(percent)
    assert batteries.rested_voltage_from_charge(percent) == pytest.approx(voltage)


@pytest.mark.parametrize("row", PEUKERT, ids=lambda row: row["case"][-35:])
def test_peukert_in_its_rated_form(row):
    """W. Peukert, t = H (C / (I H))^k; 8.7 h from memory, all recomputed."""
    capacity, hours, exponent, current = re.search(
        r"C=([\d.]+) Ah, H=([\d.]+) h, k=([\d.]+), I=([\d.]+) A", row["case"]).groups()
    found = batteries.peukert_hours(float(capacity), float(current), float(hours), float(exponent))
    assert found == pytest.approx(float(row["computed"]), rel=2e-4)


def test_peukert_worked_example():
    """Found in text: Cp = 100, k = 1.2, I = 5 A gives 14.5 h; the basic form is the rated one with one hour."""
    row = next(row for row in CASES if row["case"].startswith("Peukert basic form"))
    assert batteries.peukert_hours(100 ** (1 / 1.2), 5, 1, 1.2) == pytest.approx(float(row["computed"]), abs=5e-4)


def test_peukert_exponent_from_two_ratings():
    """100 Ah at 20 h and 85 Ah at 5 h; recomputed."""
    row = next(row for row in CASES if row["case"].startswith("Peukert exponent"))
    assert batteries.peukert_exponent(100, 20, 85, 5) == pytest.approx(float(row["computed"]), abs=5e-5)


def test_peukert_is_not_used_far_below_the_rated_current():
    """The caution of the table: at 0.05 A the formula gives 5024 h, capacity over current 2000 h."""
    assert "overstates" in next(row["verified"] for row in PEUKERT if "I=0.05 A" in row["case"])
    assert batteries.drain_time(100, 0.05).hours == 2000


@pytest.mark.parametrize("row", DRAINS, ids=lambda row: row["case"])
def test_days_to_flat(row):
    """Capacity times the part used, over the current; recomputed."""
    first, last, capacity, milliamps = numbers(row["case"])
    days = batteries.hours_to_flat(capacity, milliamps / 1e3, first, last) / 24
    assert days == pytest.approx(float(row["computed"]), abs=0.005)
    assert batteries.drain_time(capacity, milliamps / 1e3, first, last).days == pytest.approx(days)


def test_reserve_capacity():
    """SAE J537: 100 min at 25 A are 41.67 Ah."""
    row = next(row for row in CASES if row["case"].startswith("reserve capacity"))
    assert batteries.reserve_capacity_ah(100) == pytest.approx(float(row["computed"]), abs=0.005)


def test_all_rows_are_there():
    """A table that lost its rows would pass every test."""
    assert (len(RESTED), len(PEUKERT), len(DRAINS)) == (5, 5, 5)
