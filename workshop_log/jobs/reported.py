"""What a report says of a job's suspects, worked out in one place: what is possible, how that came about, the figures.

Pure, but not quick: the window does it in a thread of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from workshop_log.jobs.case import current_cases

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from decimal import Decimal

    from workshop_log.exchange.records import Condemned, Job
    from workshop_log.jobs.suspicion import CircuitSuspicion, Decision, Moment


@dataclass(frozen=True, slots=True)
class Reported:
    """All that a report says of suspects.

    Attributes
    ----------
    suspicions : tuple[CircuitSuspicion, ...]
        In each circuit that has elements, and among the suspects written by hand where there are some.
    histories : Mapping[str, tuple[Moment, ...]]
        How that came about, by the circuit's id; blank for the suspects written by hand.
    decisions : Mapping[str, Decision]
        What condemning a part costs on average, by the id of its case; not of parts that were let off.
    """

    suspicions: tuple[CircuitSuspicion, ...] = ()
    histories: Mapping[str, tuple[Moment, ...]] = field(default_factory=dict)
    decisions: Mapping[str, Decision] = field(default_factory=dict)


def reported(job: Job, *, with_decisions: bool = True, come_back: Decimal | None = None,
             is_outdated: Callable[[], bool] | None = None) -> Reported:
    """Return what a report says of a job's suspects.

    Parameters
    ----------
    job : Job
        As it stands; the evidence is what was tested before the repair.
    with_decisions : bool
        Whether the reader wants the figures of the decisions, which take longest.
    come_back : Decimal, optional
        What a vehicle costs the workshop that comes back.
    is_outdated : callable, optional
        Asked now and then; where it says yes, `diagnosis.outdated.Outdated` is raised.
    """
    from workshop_log.jobs import suspecting

    circuits = [circuit.id for circuit in job.circuits if circuit.elements]
    if job.suspects:
        circuits.append("")
    decisions = {}
    for entry in current_cases(job) if with_decisions else ():
        if entry.decision != "let off" and _is_on_circuit(entry, job):
            decision = suspecting.decision_of(job, entry.circuit, entry.element, is_outdated, come_back=come_back)
            decisions |= {entry.id: decision} if decision is not None else {}
    return Reported(tuple(suspecting.suspicion_of(job, circuit, is_outdated) for circuit in circuits),
                    {circuit: suspecting.history_of(job, circuit, is_outdated) for circuit in circuits}, decisions)


def _is_on_circuit(entry: Condemned, job: Job) -> bool:
    return entry.element is not None and entry.circuit in {circuit.id for circuit in job.circuits}
