"""Circuits against published and recomputed figures: operating points, wire drops, fuses, filament lamps.

The operating points are recomputed with an independent circuit simulator; fuse figures are from memory, and the tests
that rest on them only hold the program's tables equal to them.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from electrics.samples import lamp, series

from workshop_log.electrics import fuses
from workshop_log.electrics.circuit import Circuit, Element, Setup
from workshop_log.electrics.curves import Filament
from workshop_log.electrics.faults import Fault
from workshop_log.electrics.probes import Voltage
from workshop_log.electrics.solver import solve
from workshop_log.measuring.conductors import conductor_resistance

DATA = Path(__file__).parent / "data"


def table(name):
    return list(csv.DictReader((DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()))


CASES, DROPS = table("circuit_cases"), table("wire_drop_cases")
# The short to supply of the cases lies at the switched side, not behind the contact.
SOLVED = {
    "healthy": lambda: solve(series(), "on"),
    "ground_high_R_0.5": lambda: solve(series(), "on", Fault("G", "high resistance", 0.5)),
    "supply_conn_high_R_0.5": lambda: solve(series(), "on", Fault("C", "high resistance", 0.5)),
    "open_connector_meter_at_load": lambda: solve(series(), "on", Fault("C", "open"), Voltage("a")),
    "open_earth_meter_at_load_in": lambda: solve(series(), "on", Fault("G", "open"), Voltage("a")),
    "open_earth_meter_at_load_out": lambda: solve(series(), "on", Fault("G", "open"), Voltage("b")),
    "short_to_ground_at_a_0.02": lambda: solve(series(), "on", Fault("C", "short to ground", 0.02)),
    "short_to_supply_switch_open": lambda: solve(series(), "", Fault("C", "short to supply", 0.05)),
    "internal_short_load_2ohm": lambda: solve(series(M=2.0), "on"),
    "lamp_55W_12V_R0": lambda: solve(lamp(0.0)),
    "lamp_55W_12V_R0.05": lambda: solve(lamp(0.05)),
    "lamp_55W_12V_R0.5": lambda: solve(lamp(0.5)),
}


@pytest.mark.parametrize("row", CASES, ids=lambda row: f"{row['case']} {row['quantity']}")
def test_operating_point(row):
    """Node voltages and battery current to the microvolt and microampere that the table has."""
    state = SOLVED[row["case"]]()
    if row["quantity"] == "battery current":
        value = state.current_a("battery")
    else:
        value = state.node_v(state.network.node[row["quantity"][2:-1]])
    # Insulation of 1 nS at each node takes up to 25 µV behind an open ground, where the cases have none.
    assert value == pytest.approx(float(row["value"]), rel=1e-5, abs=5e-5)


def test_every_case_is_solved():
    assert {row["case"] for row in CASES} == set(SOLVED)


@pytest.mark.parametrize("row", DROPS, ids=lambda row: row["case"])
def test_wire_drop(row):
    """A wire that carries the case's current loses the case's voltage and makes its heat."""
    length_m, section_mm2, current_a, temp_c = (
        float(row[key]) for key in ("length_m", "area_mm2", "current_a", "temp_c"))
    wire_ohm = conductor_resistance(length_m, section_mm2, temperature_c=temp_c).ohm
    circuit = Circuit("drop", "", (
        Element("battery", "battery", ("B+", "B-"), voltage_v=12.0),
        Element("W", "wire", ("B+", "x"), resistance_ohm=wire_ohm),
        Element("M", "load", ("x", "B-"), resistance_ohm=12.0 / current_a - wire_ohm)), (Setup("on"),))
    state = solve(circuit)
    assert state.current_a("W") == pytest.approx(current_a, rel=1e-6)
    assert state.voltage_v("B+", "x") == pytest.approx(float(row["drop_v"]), rel=1e-5)
    assert state.voltage_v("B+", "x") * state.current_a("W") == pytest.approx(float(row["power_w"]), rel=1e-5)


@pytest.mark.parametrize("row", [row for row in table("fuses_iso8820") if row["typical_cold_resistance_mohm"]],
                         ids=lambda row: row["rating_a"])
def test_fuse_resistance(row):
    """The program's table is the reference table (from memory)."""
    expected_ohm = float(row["typical_cold_resistance_mohm"]) / 1000
    assert fuses.cold_resistance_ohm(float(row["rating_a"])) == pytest.approx(expected_ohm)


def test_fuse_between_and_beyond_the_ratings():
    """Between two ratings the resistance lies between theirs; beyond the table it falls with the rating."""
    assert fuses.cold_resistance_ohm(15) > fuses.cold_resistance_ohm(17.5) > fuses.cold_resistance_ohm(20)
    assert fuses.cold_resistance_ohm(40) < fuses.cold_resistance_ohm(30)


def test_fuse_opening_times():
    """The program's operating times are the reference's first five rows (from memory)."""
    rows = [row for row in table("fuse_time_limits") if row["item"].endswith("blade")]
    assert len(rows) == 5
    for row, time in zip(rows, fuses.opening_times(), strict=True):
        most = math.inf if row["max_opening_s"] == "no limit" else float(row["max_opening_s"])
        assert (time.percent, time.least_s, time.most_s) == (
            float(row["percent_of_rating_or_value"]), float(row["min_opening_s"]), most)
    assert fuses.opening_time(10, 10.9) is None
    assert fuses.opening_time(10, 13.5).most_s == 600


@pytest.mark.parametrize("row", [row for row in table("lamp_cases") if row["quantity"].startswith("55 W")],
                         ids=lambda row: row["quantity"])
def test_filament_lamp(row):
    """Current and resistance of the power law at several voltages (recomputed)."""
    at_v = float(row["quantity"].split(" at ")[1].split()[0])
    current_a, resistance_ohm = (float(part.split("=")[1].split()[0]) for part in row["value"].split(",")[:2])
    filament = Filament(55 / 12, 12.0)
    assert filament.current(at_v) == pytest.approx(current_a, rel=3e-5)
    assert at_v / filament.current(at_v) == pytest.approx(resistance_ohm, rel=3e-5)


def test_filament_is_cold_at_zero():
    """Cold to hot resistance 1:10 (common practice)."""
    filament = Filament(55 / 12, 12.0)
    assert 1 / filament.slope(0.0) == pytest.approx(12 / (55 / 12) / 10, rel=1e-9)
