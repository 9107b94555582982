"""Sensor curves against published tables.

Pt100: IEC 60751 table, found in text. Type K: NIST ITS-90 table (Monograph 175), partly from memory, recomputed from
NIST's coefficients. NTC: a published calculator's default case, found in text, and the Beta equation, recomputed.
Tolerance classes of the Pt100 from memory, of type K found in text. The rows carry their sources in `data/`.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from workshop_log import resources
from workshop_log.measuring import sensors
from workshop_log.measuring.sensors import NtcBeta, SteinhartHart

DATA = Path(__file__).parent / "data"


def table(name):
    return list(csv.DictReader((DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()))


PT100, TYPE_K, NTC = table("pt100_iec60751"), table("thermocouple_k"), table("ntc_cases")
STEINHART_ROWS = [row for row in NTC if row["unit"] == "C"]
BETA_ROWS = [row for row in NTC if row["case"].startswith("Beta equation")]


@pytest.mark.parametrize("row", PT100, ids=lambda row: row["temp_c"])
def test_pt100_table(row):
    """The printed value to its last digit, and back to the temperature."""
    temperature, resistance = float(row["temp_c"]), float(row["table_ohm"])
    assert sensors.pt100_resistance(temperature) == pytest.approx(float(row["computed_ohm"]), abs=6e-5)
    assert row["reproduces"] != "yes" or sensors.pt100_resistance(temperature) == pytest.approx(resistance, abs=0.0051)
    # Half a count of the table is at most 0.02 °C.
    assert sensors.pt100_temperature(float(row["computed_ohm"])) == pytest.approx(temperature, abs=1e-3)


def test_pt100_coefficients_and_classes():
    """IEC 60751: coefficients found in text, classes from memory."""
    constants = {row["quantity"]: row["value"] for row in table("sensor_constants")}
    assert float(constants["IEC 60751 A"]) == sensors.PT100_A
    assert float(constants["IEC 60751 B"]) == sensors.PT100_B
    assert float(constants["IEC 60751 C"]) == sensors.PT100_C
    for name, (fixed, per_degree) in sensors.PT100_CLASSES.items():
        numbers = [float(number) for number in re.findall(r"\d+\.\d+", constants[f"tolerance class {name}"])]
        assert numbers == [fixed, per_degree]
    k = next(name for name in constants if name.startswith("type K tolerance class 2"))
    assert re.findall(r"\d+\.\d+", k) == ["2.5", "0.0075"] and sensors.TYPE_K_CLASS_2 == (2.5, 0.0075)
    assert "-40..1200 C" in k and sensors.TYPE_K_CLASS_2_RANGE_C == (-40, 1200)


@pytest.mark.parametrize("row", TYPE_K, ids=lambda row: row["temp_c"])
def test_type_k_table(row):
    """The printed thermovoltage to its last digit."""
    millivolts = sensors.type_k_voltage(float(row["temp_c"])) * 1e3
    assert millivolts == pytest.approx(float(row["computed_mv"]), abs=6e-5)
    assert row["reproduces"] != "yes" or millivolts == pytest.approx(float(row["table_mv"]), abs=0.00051)


def test_type_k_coefficients_are_those_published():
    """The table that the program reads is the published one, number for number."""
    published = [(row["order"], float(row["value"])) for row in table("thermocouple_k_coefficients")]
    ours = [(row["order"], float(row["value"])) for row in resources.table("thermocouple_k")]
    assert ours == published


def test_cold_junction_adds_up():
    """A thermocouple between two temperatures shows the difference of their table values."""
    values = {float(row["temp_c"]): float(row["table_mv"]) for row in TYPE_K}
    shown = sensors.type_k_voltage(1000, 100) * 1e3
    assert shown == pytest.approx(values[1000] - values[100], abs=0.0011)


@pytest.mark.parametrize("row", STEINHART_ROWS, ids=lambda row: row["case"][-14:])
def test_steinhart_hart(row):
    """Coefficients of a published calculator: 25 kΩ at 5 °C, 10 kΩ at 25 °C, 4 kΩ at 45 °C; and back."""
    a, b, c = (float(number) for number in re.findall(r"[ABC]=(\S+?)[ ,]", STEINHART_ROWS[0]["case"]))
    ntc, ohm = SteinhartHart(a, b, c), float(re.search(r"R=(\d+)", row["case"])[1])
    assert ntc.temperature(ohm) == pytest.approx(float(row["computed"]), abs=6e-5)
    assert ntc.resistance(float(row["computed"])) == pytest.approx(ohm, rel=5e-6)


@pytest.mark.parametrize("row", BETA_ROWS, ids=lambda row: row["case"][-20:])
def test_beta_equation(row):
    """R = R25 exp(B (1/T − 1/T25)), definition of B in IEC 60539-1; recomputed."""
    r25, beta, t = (float(n) for n in re.search(r"R25=(\d+) ohm, B=(\d+) K, t=(-?\d+) C", row["case"]).groups())
    ntc = NtcBeta(r25, beta)
    assert ntc.resistance(t) == pytest.approx(float(row["computed"]), abs=0.006)
    assert ntc.temperature(float(row["computed"])) == pytest.approx(t, abs=1e-3)


def test_b_value_from_two_resistances():
    """B(25/85) from 10 kΩ and 1070 Ω; recomputed."""
    row = next(row for row in NTC if row["case"].startswith("B(25/85)"))
    assert NtcBeta.from_two_points(10000, 25, 1070, 85).beta_k == pytest.approx(float(row["computed"]), abs=0.06)


def test_all_rows_are_there():
    """A table that lost its rows would pass every test."""
    assert (len(STEINHART_ROWS), len(BETA_ROWS)) == (4, 5)
    assert len(PT100) > 15
    assert len(TYPE_K) > 15
