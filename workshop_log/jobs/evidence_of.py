"""A job's steps as evidence about one of its circuits, and what is thought of its suspects before any test.

Steps after the repair, and steps that a later one replaces, say nothing of the fault.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange import records, values
from workshop_log.jobs.circuit_ranges import AS_FOUND, computed_circuit, probe_of
from workshop_log.jobs.evaluation import is_proved
from workshop_log.measuring import units
from workshop_log.measuring.instruments import default_instrument
from workshop_log.measuring.uncertainty import standard_uncertainty

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from workshop_log.diagnosis.candidates import Access
    from workshop_log.diagnosis.evidence import Evidence
    from workshop_log.diagnosis.suspects import Weights
    from workshop_log.exchange.records import Circuit, Job, Step
    from workshop_log.measuring.instruments import Instrument

# What words in a setup or a note say of how a fault that comes and goes was provoked.
_PROVOKED = (
    ("hot", re.compile(r"\b(hot|heat|heated|warm|warmed)\b", re.IGNORECASE)),
    ("cold", re.compile(r"\b(cold|cooled|frost)\b", re.IGNORECASE)),
    ("wet", re.compile(r"\b(wet|water|damp|rain|moist)\b", re.IGNORECASE)),
    ("driven", re.compile(r"\b(driven|driving|road test|on the road|shaken)\b", re.IGNORECASE)),
)
# Over range means at least this where nobody wrote down how far the meter goes. [Ω]
_OVER_RANGE_OHM = 1e6
# An instrument whose reading has no uncertainty of its own, from "OL" say, gets this. [V], [A], [Ω]
_LEAST_STANDARD = 1e-6


def evidence_in(job: Job, circuit: Circuit) -> tuple[Evidence, ...]:
    """Return what a job's steps say of a circuit, in the order in which they were taken down."""
    return tuple(evidence for _, evidence in steps_that_count(job, circuit))


def steps_that_count(job: Job, circuit: Circuit) -> Iterator[tuple[Step, Evidence]]:
    """Yield the steps that are evidence about a circuit, each with what it says."""
    replaced = {step.replaces for step in job.steps if step.replaces}
    for step in job.steps:
        if step.after_repair or step.id in replaced:
            continue
        evidence = evidence_of(step, job, circuit)
        if evidence is not None:
            yield step, evidence


def evidence_of(step: Step, job: Job, circuit: Circuit) -> Evidence | None:
    """Return what one step says of a circuit; None where it says nothing of it."""
    from workshop_log.diagnosis import evidence

    if not _is_on(step, job, circuit):
        return None
    about = {"step": step.id, "setup": step.setup or AS_FOUND, "proved": is_proved(step, job),
             "provoked": provoked(step, circuit)}
    if not _names_known(step, circuit):
        return None
    match step:
        case records.VoltageStep() | records.CurrentStep() | records.ResistanceStep():
            return _measured(step, job, about)
        case records.LampStep():
            return evidence.LampSeen(**about, probe=probe_of(step, _instrument(step, job)), look=step.result)
        case records.LookStep():
            return evidence.Looked(**about, elements=step.elements, damage=step.result == "damage",
                                   strength=step.strength)
        case records.MovementStep():
            return evidence.Moved(**about, elements=step.elements, probe=watched_probe(step.watching),
                                  trials=step.trials, shown=min(step.shown, step.trials))
        case records.ObserveStep():
            return evidence.Observed(**about, element=step.element, works=step.works)
        case records.SwapStep():
            return evidence.Swapped(**about, element=step.element, cured=step.cured)
    return None


def _is_on(step: Step, job: Job, circuit: Circuit) -> bool:
    if step.circuit is not None:
        return step.circuit == circuit.id
    # A step that names no circuit is about the only one there is, if it knows the names.
    return len(job.circuits) == 1 and not isinstance(step, records.ValueStep)


def names_of(step: Step) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the points and the elements that a step names."""
    match step:
        case records.VoltageStep() | records.ResistanceStep() | records.WatchVoltage() | records.WatchResistance():
            return (step.red, step.black), ()
        case records.CurrentStep() | records.WatchCurrent():
            return (), (step.through,)
        case records.LampStep() | records.WatchLamp():
            return (step.clip, step.probe), ()
        case records.LookStep():
            return (), step.elements
        case records.MovementStep():
            points, elements = names_of(step.watching) if step.watching else ((), ())
            return points, (*step.elements, *elements)
        case records.ObserveStep() | records.SwapStep():
            return (), (step.element,)
    return (), ()


def _names_known(step: Step, circuit: Circuit) -> bool:
    computed = computed_circuit(circuit)
    points, elements = names_of(step)
    return (all(point in computed.points for point in points)
            and all(element in computed.by_id for element in elements)
            and any(setup.id == (step.setup or AS_FOUND) for setup in computed.setups))


def _measured(step: records.ReadingStep, job: Job, about: dict) -> Evidence | None:
    from workshop_log.diagnosis.evidence import Measured

    instrument = _instrument(step, job) or default_instrument("multimeter")
    probe = probe_of(step, instrument)
    try:
        entry = values.entry_of(step)
        uncertainty = standard_uncertainty(entry, instrument)
        if entry.value is None:
            largest = uncertainty.largest
            low = _OVER_RANGE_OHM if largest is None else units.convert(largest, entry.unit, probe.unit)
            return Measured(**about, probe=probe, low=low, high=math.inf, standard=max(low / 100, _LEAST_STANDARD))
        value = units.convert(entry.value, entry.unit, probe.unit)
        standard = max(uncertainty.standard * units.scale(entry.unit, probe.unit), _LEAST_STANDARD)
    except WorkshopLogError:
        # What is no reading is told where it is judged.
        return None
    low = -math.inf if entry.relation == "<" else value
    high = math.inf if entry.relation == ">" else value
    return Measured(**about, probe=probe, low=low, high=high, standard=standard)


def _instrument(step: Step, job: Job) -> Instrument | None:
    record = next((known for known in job.instruments if known.id == step.instrument), None)
    if record is None:
        return None
    try:
        return values.instrument_of(record)
    except WorkshopLogError:
        return None


def watched_probe(watching: object | None):
    """Return the instrument that was watched during a movement test; None for the complaint itself."""
    from workshop_log.electrics import probes

    match watching:
        case records.WatchVoltage():
            return probes.Voltage(watching.red, watching.black)
        case records.WatchCurrent():
            return probes.Current(watching.through)
        case records.WatchResistance():
            return probes.Resistance(watching.red, watching.black)
        case records.WatchLamp():
            return probes.Lamp(watching.clip, watching.probe)
    return None


def provoked(step: Step, circuit: Circuit) -> str:
    """Return how a fault that comes and goes was provoked at a step, by the words of its setup and note."""
    from workshop_log.diagnosis.evidence import STILL

    setup = next((one for one in circuit.setups if one.id == step.setup), None)
    words = f"{step.setup} {setup.title if setup else ''} {step.note}"
    return next((way for way, sign in _PROVOKED if sign.search(words)), STILL)


# --- before any test ------------------------------------------------------------------------------------------------


def weights_of(job: Job, circuit: Circuit) -> Weights:
    """Return what is thought of a circuit's suspects before any test."""
    from workshop_log.diagnosis.suspects import COMES_AND_GOES, NOTHING_WRONG, Weights

    told = {complaint.appears or "" for complaint in job.complaints if complaint.words.strip() or complaint.appears}
    appears = told.pop() if len(told) == 1 else ""
    confirmed = {complaint.confirmed for complaint in job.complaints}
    known = True if True in confirmed else False if confirmed == {False} else None
    return Weights({element.id: element.weight for element in circuit.elements if element.weight is not None},
                   comes_and_goes=COMES_AND_GOES[appears], healthy=NOTHING_WRONG[known])


def access_of(job: Job, circuit: Circuit, usual_minutes: Mapping[str, float] | None = None) -> Access:
    """Return what it takes to get at a circuit's elements: noted in the circuit, said by the technician, paid already.

    What was touched or looked at by an earlier step lies open.
    """
    from dataclasses import replace

    from workshop_log.diagnosis.candidates import Access
    from workshop_log.jobs.access import is_off, not_available, unreachable_elements, unreachable_points

    computed = computed_circuit(circuit)
    access = Access(
        minutes={e.id: e.access_minutes for e in circuit.elements if e.access_minutes},
        fit_minutes={e.id: e.fit_minutes for e in circuit.elements if e.fit_minutes},
        off=frozenset(e.id for e in circuit.elements if is_off(job, circuit.id, e.id)),
        unreachable_points=unreachable_points(job, circuit.id),
        unreachable_elements=unreachable_elements(job, circuit.id),
        not_available=not_available(job, circuit.id), usual_minutes=_for_all_kinds(usual_minutes or {}))
    opened = {access.opened_by(computed, point) for point in computed.points if is_off(job, circuit.id, point)}
    setup = AS_FOUND
    for step, evidence in steps_that_count(job, circuit):
        points, elements = names_of(step)
        opened.update(access.opened_by(computed, point) for point in points)
        opened.update(elements if isinstance(step, records.LookStep | records.MovementStep | records.SwapStep) else ())
        if not isinstance(step, records.LookStep):
            setup = evidence.setup
    return replace(access, off=access.off | {element for element in opened if element}, setup=setup)


def _for_all_kinds(usual_minutes: Mapping[str, float]) -> Mapping[str, float]:
    """Return usual times with those of measurements that are not known yet: as much slower here as voltages are."""
    from workshop_log.diagnosis.candidates import MINUTES

    if "voltage" not in usual_minutes:
        return usual_minutes
    slower = usual_minutes["voltage"] / MINUTES["voltage"]
    return {kind: slower * MINUTES[kind] for kind in ("lamp", "current", "resistance")} | dict(usual_minutes)
