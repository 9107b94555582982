"""What a step on a circuit should show when the circuit is healthy.

The job's circuit is computed once and remembered: the window asks for the same ranges after every reading.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange import records

if TYPE_CHECKING:
    from workshop_log.electrics.circuit import Circuit
    from workshop_log.electrics.probes import Prediction, Probe
    from workshop_log.electrics.pushed_current import PushCaution
    from workshop_log.electrics.reach import Band
    from workshop_log.exchange.records import Job, Step
    from workshop_log.jobs.evaluation import JudgedReading, Remark
    from workshop_log.measuring.instruments import Instrument
    from workshop_log.measuring.ranges import ExpectedRange

# Circuits and predictions that are remembered: some jobs' worth.
_REMEMBERED = 512
AS_FOUND = "as found"
# A reading counts as healthy as far as twice its standard uncertainty beyond the expected range.
_COVERAGE = 2


class CircuitRangeError(WorkshopLogError, ValueError):
    """A step for which the circuit gives no expected range; the message says why."""


def circuit_of_step(step: Step, job: Job) -> records.Circuit | None:
    """Return the circuit that a step was made on, or None."""
    return next((circuit for circuit in job.circuits if circuit.id == step.circuit), None) if step.circuit else None


def expected_on_circuit(step: Step, job: Job, instrument: Instrument | None = None) -> ExpectedRange | None:
    """Return what the healthy circuit would show at the place of a reading; None where the step is on no circuit.

    Raises
    ------
    CircuitRangeError
        If the circuit cannot say: an unknown point or setup, a circuit that cannot be computed, an ohmmeter on a live
        circuit.
    """
    circuit, probe = circuit_of_step(step, job), probe_of(step, instrument)
    if circuit is None or probe is None:
        return None
    prediction = _predicted(circuit, step.setup or AS_FOUND, probe)
    if prediction.live:
        raise CircuitRangeError(f"The circuit is live there ({prediction.words}): an ohmmeter shows nonsense, and may "
                                "be damaged. Make it dead first, and say so in the setup.")
    from workshop_log.electrics.probes import range_of

    return range_of(prediction, probe)


def healthy_look(step: records.LampStep, job: Job) -> str:
    """Return how a test lamp would look in the healthy circuit: lit, dim or dark; blank where nobody can say."""
    circuit, probe = circuit_of_step(step, job), probe_of(step, _instrument_of(step, job))
    if circuit is None or probe is None:
        return ""
    try:
        return _predicted(circuit, step.setup or AS_FOUND, probe).look
    except CircuitRangeError:
        return ""


def _instrument_of(step: Step, job: Job) -> Instrument | None:
    """Return the instrument that a step names, where it can be computed with."""
    from workshop_log.exchange.values import instrument_of

    record = next((known for known in job.instruments if known.id == step.instrument), None)
    if record is None:
        return None
    try:
        return instrument_of(record)
    except WorkshopLogError:
        return None


def probe_of(step: Step, instrument: Instrument | None = None) -> Probe | None:
    """Return the instrument of a step with its points; None for a step that is no measurement on a circuit."""
    from workshop_log.electrics import probes

    match step:
        case records.VoltageStep():
            if instrument is None:
                return probes.Voltage(step.red, step.black)
            return probes.Voltage(step.red, step.black, instrument.input_resistance_ohm)
        case records.CurrentStep():
            return probes.Current(step.through)
        case records.ResistanceStep():
            return probes.Resistance(step.red, step.black)
        case records.LampStep():
            if instrument is None or instrument.lamp_voltage_v is None or instrument.lamp_current_a is None:
                return probes.Lamp(step.clip, step.probe)
            return probes.Lamp(step.clip, step.probe, instrument.lamp_voltage_v, instrument.lamp_current_a)
    return None


@lru_cache(maxsize=_REMEMBERED)
def computed_circuit(circuit: records.Circuit) -> Circuit:
    """Return a circuit with every number filled in.

    Raises
    ------
    CircuitRangeError
        If it cannot be computed as it is described.
    """
    from workshop_log.exchange.circuits import circuit_of

    try:
        return circuit_of(circuit)
    except WorkshopLogError as error:
        raise CircuitRangeError(f"Circuit {circuit.id} cannot be computed: {error}") from error


@lru_cache(maxsize=_REMEMBERED)
def _predicted(circuit: records.Circuit, setup: str, probe: Probe) -> Prediction:
    from workshop_log.electrics.probes import predict

    try:
        return predict(computed_circuit(circuit), setup, probe)
    except CircuitRangeError:
        raise
    except WorkshopLogError as error:
        raise CircuitRangeError(f"The circuit gives no expected range: {error}") from error


def reach_of_clear_test(told: JudgedReading | Remark, job: Job) -> str:
    """Return what a clear test on a circuit could have seen: "would have lit for any path to ground below 19 Ω at W1".

    Blank for a test that showed something, one that is on no circuit, and one that the circuit cannot say anything of.
    """
    from workshop_log.electrics.reach import Band

    step = told.step
    circuit, probe = circuit_of_step(step, job), probe_of(step, _instrument_of(step, job))
    if circuit is None or probe is None:
        return ""
    if isinstance(step, records.LampStep):
        if healthy_look(step, job) != step.result:
            return ""
        band, look = Band.of_look(probe, step.result), step.result
    else:
        if told.judgement is None or told.verdict.value != "inside" or told.expected.unit != probe.unit:
            return ""
        spread = _COVERAGE * told.uncertainty.standard
        low, high = told.expected.low, told.expected.high
        band = Band(None if low is None else low - spread, None if high is None else high + spread)
        look = ""
    try:
        return _reach(circuit, step.setup or AS_FOUND, probe, band, look)
    except WorkshopLogError:
        return ""


@lru_cache(maxsize=_REMEMBERED)
def _reach(circuit: records.Circuit, setup: str, probe: Probe, band: Band, look: str) -> str:
    from workshop_log.electrics.reach import reach_of, reach_words

    return reach_words(reach_of(computed_circuit(circuit), setup, probe, band), probe, look)


def push_cautions(step: Step, job: Job) -> tuple[PushCaution, ...]:
    """Return what has to be said before a test on a circuit, because of what it would push through the wiring."""
    circuit, probe = circuit_of_step(step, job), probe_of(step, _instrument_of(step, job))
    if circuit is None or probe is None:
        return ()
    try:
        return _cautions(circuit, step.setup or AS_FOUND, probe)
    except WorkshopLogError:
        return ()


@lru_cache(maxsize=_REMEMBERED)
def _cautions(circuit: records.Circuit, setup: str, probe: Probe) -> tuple[PushCaution, ...]:
    from workshop_log.electrics.pushed_current import cautions_for

    return cautions_for(computed_circuit(circuit), setup, probe)
