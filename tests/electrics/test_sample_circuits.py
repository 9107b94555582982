"""The circuits of the sample jobs, with the readings that were taken on them."""

from __future__ import annotations

from pathlib import Path

import pytest

from workshop_log.electrics.probes import Current, Lamp, Resistance, Voltage, predict, range_of
from workshop_log.electrics.solver import solve
from workshop_log.exchange import reading, records, values
from workshop_log.exchange.circuits import circuit_of
from workshop_log.measuring.uncertainty import standard_uncertainty
from workshop_log.measuring.verdict import Verdict, judge

SAMPLES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.job.json"))
JOBS = {path.name.split(".")[0]: reading.read_job(path.read_bytes(), path.name) for path in SAMPLES}
CIRCUITS = {f"{name} {circuit.id}": circuit for name, job in JOBS.items() for circuit in job.circuits}

# Readings on the healthy part, or after the repair: what the circuit itself says must agree with what was written.
HEALTHY = {
    "chafed-wire": {"s4", "s6", "s8", "s15"}, "data-bus": {"s7"}, "drained-battery": {"s3", "s8", "s11", "s12", "s18"},
    "fuel-sender": {"s1", "s2"}, "ground-strap": {"s2", "s15", "s16", "s17", "s18"},
    "tailgate-unit": {"s3", "s5", "s6"},
}
# Readings that found the fault: outside what the healthy circuit would show.
FAULTY = {
    "chafed-wire": {"s14"}, "data-bus": {"s2", "s9"}, "drained-battery": {"s7", "s10", "s13"},
    "ground-strap": {"s5", "s8", "s12"}, "tailgate-unit": {"s2"},
}
# Test lamps that found the fault: the healthy circuit would show them otherwise.
LAMPS_OF_THE_FAULT = {("wiper", "s4")}


def probe_of(step):
    match step:
        case records.VoltageStep():
            return Voltage(step.red, step.black)
        case records.CurrentStep():
            return Current(step.through)
        case records.ResistanceStep():
            return Resistance(step.red, step.black)
        case records.LampStep():
            return Lamp(step.clip, step.probe)
    return None


@pytest.mark.parametrize("name", CIRCUITS)
def test_solves_in_every_setup(name):
    """Every described circuit is sound and has a steady state in each of its setups."""
    circuit = circuit_of(CIRCUITS[name])
    assert [finding.words for finding in circuit.check()] == []
    for setup in circuit.setups:
        state = solve(circuit, setup)
        assert not state.chatters
        assert not state.blown


@pytest.mark.parametrize(("name", "step"), [(name, step) for name in JOBS for step in sorted(
    HEALTHY.get(name, set()) | FAULTY.get(name, set()))])
def test_reading_is_what_the_circuit_says(name, step):
    """Inside where the circuit was sound, outside where the fault was found."""
    job = JOBS[name]
    found = next(each for each in job.steps if each.id == step)
    circuit = next(circuit_of(circuit) for circuit in job.circuits if circuit.id == found.circuit)
    probe = probe_of(found)
    expected = range_of(predict(circuit, found.setup, probe), probe)
    instruments = {each.id: values.instrument_of(each) for each in job.instruments}
    entry = values.entry_of(found)
    verdict = judge(entry, expected, standard_uncertainty(entry, instruments[found.instrument])).verdict
    assert verdict is (Verdict.INSIDE if step in HEALTHY.get(name, ()) else Verdict.OUTSIDE), expected.words()


def test_lamp_steps_on_circuits():
    """A lamp looks as it would in the healthy circuit, but for one that found the fault."""
    checked = 0
    for name, job in JOBS.items():
        for step in job.steps:
            if isinstance(step, records.LampStep) and step.circuit:
                circuit = next(circuit_of(circuit) for circuit in job.circuits if circuit.id == step.circuit)
                healthy = predict(circuit, step.setup, probe_of(step)).look
                assert (healthy != step.result) == ((name, step.id) in LAMPS_OF_THE_FAULT), (name, step.id)
                checked += 1
    assert checked
