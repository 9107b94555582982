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
    from workshop_log.exchange.records import Job, Step
    from workshop_log.measuring.instruments import Instrument
    from workshop_log.measuring.ranges import ExpectedRange

# Circuits and predictions that are remembered: some jobs' worth.
_REMEMBERED = 512
AS_FOUND = "as found"


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
    circuit, probe = circuit_of_step(step, job), probe_of(step)
    if circuit is None or probe is None:
        return ""
    try:
        return _predicted(circuit, step.setup or AS_FOUND, probe).look
    except CircuitRangeError:
        return ""


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
            return probes.Lamp(step.clip, step.probe)
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
