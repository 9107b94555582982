"""Steps on a circuit without a typed range are held against what the healthy circuit would show."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from workshop_log.exchange.records import (
    Circuit,
    CurrentStep,
    Element,
    Expected,
    Job,
    LampStep,
    ResistanceStep,
    Setup,
    VoltageStep,
)
from workshop_log.jobs.circuit_ranges import CircuitRangeError, expected_on_circuit
from workshop_log.jobs.circuit_table import CircuitState, FaultTextError, circuit_lines, circuit_state, read_fault
from workshop_log.jobs.evaluation import as_json, evaluate

# 12 V and 0.1 Ω, a wire of 0.4 Ω, a load of 5.5 Ω: 2 A, so 11.8 V at the battery and 11.0 V at the load.
CIRCUIT = Circuit(
    id="feed", title="Feed",
    elements=(
        Element(id="battery", kind="battery", between=("B+", "B-"), voltage="12 V", voltage_tolerance="0.1 V",
                resistance="0.1 ohm"),
        Element(id="S1", kind="switch", between=("B+", "S1 out"), resistance="0 ohm"),
        Element(id="W1", kind="wire", between=("S1 out", "R1 in"), resistance="0.4 ohm"),
        Element(id="R1", kind="load", between=("R1 in", "B-"), resistance="5.5 ohm")),
    setups=(Setup(id="on", on=("S1",)),))


def _job(*steps: object) -> Job:
    return Job(number="2031-0900", circuits=(CIRCUIT,), steps=steps)


def test_a_reading_is_judged_by_the_healthy_circuit_with_the_reason_in_words() -> None:
    """11 V at the load are 12 V less 1 V lost on the way, by hand."""
    job = _job(VoltageStep(id="s1", circuit="feed", setup="on", red="R1 in", reading="11.00 V"),
               VoltageStep(id="s2", circuit="feed", setup="on", red="R1 in", reading="8.00 V"))
    first, second = evaluate(job).readings
    assert first.expected.low < 11.0 < first.expected.high
    assert "battery" in first.expected.source
    assert (first.verdict.value, second.verdict.value) == ("inside", "outside")


def test_a_typed_range_goes_before_the_computed_one() -> None:
    """What the technician typed for this vehicle counts."""
    step = VoltageStep(id="s1", circuit="feed", setup="on", red="R1 in", reading="8.00 V",
                       expected=Expected(low="7 V", source="typed"))
    judged = evaluate(_job(step)).readings[0]
    assert judged.expected.source == "typed"
    assert judged.verdict.value == "inside"


def test_an_ohmmeter_on_a_live_circuit_gets_a_warning_instead_of_a_range() -> None:
    """The reading would be nonsense, and the meter may be damaged."""
    step = ResistanceStep(id="s1", circuit="feed", setup="on", red="R1 in", black="B-", reading="5.5 ohm")
    with pytest.raises(CircuitRangeError, match="live"):
        expected_on_circuit(step, _job(step))
    evaluation = evaluate(_job(step))
    assert evaluation.readings[0].verdict is None
    assert any("live" in finding.words for finding in evaluation.findings)


def test_a_dead_resistance_is_expected_from_the_elements() -> None:
    """With the battery off, the load alone lies between its ends: 5.5 Ω."""
    dead = replace(CIRCUIT, setups=(Setup(id="dead", disconnected=("battery",)),))
    step = ResistanceStep(id="s1", circuit="feed", setup="dead", red="R1 in", black="B-", reading="5.5 ohm")
    judged = evaluate(replace(_job(step), circuits=(dead,))).readings[0]
    assert judged.expected.low < 5.5 < judged.expected.high
    assert judged.verdict.value == "inside"


def test_a_setup_that_is_not_there_is_named_and_nothing_is_judged() -> None:
    """Words that name no setup of the circuit give no range, and say so."""
    step = VoltageStep(id="s1", circuit="feed", setup="raining", red="R1 in", reading="11 V")
    evaluation = evaluate(_job(step))
    assert evaluation.readings[0].verdict is None
    assert "raining" in evaluation.readings[0].words


def test_a_test_lamp_is_compared_with_the_healthy_circuit() -> None:
    """Dark where the healthy circuit would light the lamp is worth a word."""
    step = LampStep(id="s1", circuit="feed", setup="on", clip="B-", probe="R1 in", result="dark")
    remark = evaluate(_job(step)).remark_of("s1")
    assert "would be lit" in remark.caveat


def test_json_has_the_computed_range() -> None:
    """What the terminal prints for a step on a circuit has its expected range and verdict."""
    step = CurrentStep(id="s1", circuit="feed", setup="on", through="R1", reading="2.00 A")
    printed = as_json(evaluate(_job(step)))["readings"][0]
    assert printed["verdict"] == "inside"
    assert printed["expected"]["low"] < 2 < printed["expected"]["high"]


# --- the table ------------------------------------------------------------------------------------------------------


def _voltage(state: CircuitState, point: str) -> float | None:
    return next(p.voltage_v for p in state.points if p.point == point)


def test_the_table_shows_every_point_healthy_and_faulty() -> None:
    """A joint of 5.6 Ω more halves the current: (12 V)/(12 Ω) = 1 A, so 5.5 V stay for the load, by hand."""
    healthy = circuit_state(CIRCUIT, "on")
    faulty = circuit_state(CIRCUIT, "on", "W1: high resistance=6 ohm")
    assert _voltage(healthy, "R1 in") == pytest.approx(11.0, abs=0.01)
    assert healthy.currents["R1"] == pytest.approx(2.0, abs=0.01)
    assert _voltage(faulty, "R1 in") == pytest.approx(5.5, abs=0.01)
    lines = "\n".join(circuit_lines(CIRCUIT, "on", "W1: high resistance=6 ohm"))
    assert "R1 in" in lines
    assert "5.500" in lines


def test_a_point_behind_an_open_switch_floats_or_is_dead() -> None:
    """As found the switch is open: its output hangs on the load alone, and carries nothing."""
    state = circuit_state(CIRCUIT, "as found")
    assert _voltage(state, "B+") == pytest.approx(12.0, abs=0.01)
    assert not next(p for p in state.points if p.point == "R1 in").is_live


@pytest.mark.parametrize("text", ["W1", "W1:", ": open", "W1: short to ground", "W1: open=3 ohm", "W1: shorted=much",
                                  ""])
def test_a_fault_that_is_not_understood_is_refused_with_an_example(text: str) -> None:
    """One sentence, with the way to write it."""
    with pytest.raises((FaultTextError, ValueError), match="W1|number|unit|kind"):
        read_fault(text)


def test_a_fault_is_read_with_its_amount_and_unit() -> None:
    """500 mΩ is half an ohm."""
    fault = read_fault("W1: short to ground=500 mohm")
    assert (fault.element, fault.kind, fault.amount) == ("W1", "short to ground", 0.5)
