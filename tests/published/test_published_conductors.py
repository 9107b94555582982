"""Conductors and voltage drops against published figures.

The table of vehicle wires (ISO 6722-1) is from memory, and these tests rest on it; copper after IEC 60028 and
aluminium's handbook figures are found in text; the drops are recomputed from R = R20 · l · (1 + 0.00393 (t − 20)).
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from workshop_log.measuring import conductors

DATA = Path(__file__).parent / "data"


def table(name):
    return list(csv.DictReader((DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()))


SECTIONS, DROPS = table("conductors_iso6722"), table("wire_drop_cases")


@pytest.mark.parametrize("row", SECTIONS, ids=lambda row: row["nominal_area_mm2"])
def test_largest_resistance_of_a_section(row):
    """Milliohm per metre at 20 °C (from memory), and the check figure R · A."""
    section = float(row["nominal_area_mm2"])
    resistance = conductors.conductor_resistance(1.0, section)
    assert resistance.ohm * 1e3 == pytest.approx(float(row["max_resistance"]))
    assert "from memory" in resistance.source
    assert resistance.ohm * 1e3 * section == pytest.approx(float(row["sanity_R_times_A_mohm_mm2_per_m"]), abs=0.006)


@pytest.mark.parametrize("row", DROPS, ids=lambda row: row["case"])
def test_voltage_drop(row):
    """Resistance, drop and heat of a length at a current and a temperature (recomputed)."""
    length, section, current, temperature = (
        float(row[key]) for key in ("length_m", "area_mm2", "current_a", "temp_c"))
    resistance = conductors.conductor_resistance(length, section, temperature_c=temperature).ohm
    assert resistance == pytest.approx(float(row["resistance_ohm"]), rel=1e-5)
    expected = conductors.expected_drop(length, section, current, temperature_c=temperature)
    assert expected.high == pytest.approx(float(row["drop_v"]), rel=1e-5)
    assert conductors.voltage_drop(length, section, current, temperature_c=temperature) * current == \
        pytest.approx(float(row["power_w"]), rel=1e-5)


def test_metals():
    """IEC 60028: 1/58 Ω mm²/m and 0.00393/K; aluminium 34.8 MS/m and 0.00403/K."""
    figures = {row["quantity"]: row["value"] for row in table("materials")}
    copper, aluminium = conductors.MATERIALS["copper"], conductors.MATERIALS["aluminium"]
    assert 1 / copper.conductivity == pytest.approx(
        float(figures["copper resistivity, annealed standard (= 1/58)"]), abs=5e-7)
    assert float(figures["copper temperature coefficient alpha20 (constant mass)"]) == copper.temperature_coefficient
    assert float(figures["aluminium conductivity (about 60-61 % IACS)"]) == aluminium.conductivity
    assert float(figures["aluminium temperature coefficient alpha20"]) == aluminium.temperature_coefficient


def test_all_rows_are_there():
    """A table that lost its rows would pass every test."""
    assert len(SECTIONS) == len(conductors.table_ohm_per_m()) == 28
    assert len(DROPS) == 4
