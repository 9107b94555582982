"""Working out the figures of a case, and whether they are still those of the job.

Pure, but not quick: the window does it in a thread of its own and hands the outcome to `deciding`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from msgspec.structs import replace

from workshop_log.jobs.case import current_cases
from workshop_log.jobs.figures import share_of
from workshop_log.jobs.percent import percent_words

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from decimal import Decimal

    from workshop_log.exchange.records import Condemned, Element, HandSuspect, Job
    from workshop_log.jobs.suspicion import CircuitSuspicion, Decision

# A suspect is offered for a case from this share on, and so many at most.
_OFFERED_FROM, _OFFERED_AT_MOST = 0.05, 3


@dataclass(frozen=True, slots=True)
class Weighed:
    """What the figures of one moment say about one part.

    Attributes
    ----------
    basis : tuple[object, ...]
        What they were worked out from.
    suspicion : CircuitSuspicion | None
        What was still possible; None where the case is about no suspect.
    decision : Decision | None
        In money.
    """

    basis: tuple[object, ...]
    suspicion: CircuitSuspicion | None = None
    decision: Decision | None = None

    def is_of(self, job: Job, condemned: Condemned, come_back: Decimal | None = None) -> bool:
        """Return whether the figures would come out the same for the job as it is now."""
        return self.basis == basis_of(job, condemned, come_back)


def basis_of(job: Job, condemned: Condemned, come_back: Decimal | None = None) -> tuple[object, ...]:
    """Return all that the figures of a case rest on."""
    part = (condemned.circuit, condemned.element, condemned.part if condemned.element is None else "",
            condemned.price, condemned.fit_minutes, condemned.returnable, come_back)
    return (part, job.circuits, job.steps, job.instruments, job.suspects, job.access, job.complaints, job.vehicle,
            job.workshop)


def is_about_a_suspect(job: Job, condemned: Condemned) -> bool:
    """Return whether the figures can say anything of a case: of an element of a circuit, or a suspect by its name."""
    named = condemned.part.strip().casefold()
    return is_on_circuit(job, condemned) or (condemned.circuit is None and any(
        suspect.name.strip().casefold() == named for suspect in job.suspects))


def is_on_circuit(job: Job, condemned: Condemned) -> bool:
    """Return whether a case is about an element of a circuit of the job."""
    return condemned.element is not None and any(
        circuit.id == condemned.circuit and any(element.id == condemned.element for element in circuit.elements)
        for circuit in job.circuits)


def weigh(job: Job, condemned: Condemned, come_back: Decimal | None = None,
          is_outdated: Callable[[], bool] | None = None) -> Weighed:
    """Return what the figures say about one part now; of one that is let off or repaired nothing in money.

    Parameters
    ----------
    job : Job
        With the circuit and all steps.
    condemned : Condemned
        The part; its price and fitting time count, whether or not they stand in the job already.
    come_back : Decimal, optional
        What a vehicle costs the workshop that comes back.
    is_outdated : callable, optional
        Asked now and then; where it says yes, `diagnosis.outdated.Outdated` is raised.
    """
    return _weigh(job, condemned, come_back, is_outdated, {})


def weigh_all(job: Job, cases: Iterable[Condemned], come_back: Decimal | None = None,
              is_outdated: Callable[[], bool] | None = None) -> tuple[dict[str, Weighed], tuple[Offer, ...]]:
    """Return what the figures say about each case, by the id of its entry, and the suspects that may be worth one."""
    known: dict[str, CircuitSuspicion] = {}
    weighed = {case.id: _weigh(job, case, come_back, is_outdated, known) for case in cases}
    return weighed, _offers(job, is_outdated, known)


def _weigh(job: Job, condemned: Condemned, come_back: Decimal | None, is_outdated: Callable[[], bool] | None,
           known: dict[str, CircuitSuspicion]) -> Weighed:
    basis = basis_of(job, condemned, come_back)
    if not is_about_a_suspect(job, condemned):
        return Weighed(basis)
    from workshop_log.jobs.suspecting import decision_of

    circuit = condemned.circuit or ""
    suspicion = _suspicion(job, circuit, is_outdated, known)
    share = share_of(condemned, suspicion)
    if share is None or condemned.decision == "let off" or condemned.repaired is not None:
        return Weighed(basis, suspicion)
    # The last entry about an element says what it costs.
    priced = replace(job, condemned=(*job.condemned, condemned))
    return Weighed(basis, suspicion, decision_of(priced, circuit, share.key, is_outdated, come_back=come_back))


def _suspicion(job: Job, circuit: str, is_outdated: Callable[[], bool] | None,
               known: dict[str, CircuitSuspicion]) -> CircuitSuspicion:
    """Return what is possible in a circuit, worked out once for all cases."""
    from workshop_log.jobs.suspecting import suspicion_of

    if circuit not in known:
        known[circuit] = suspicion_of(job, circuit, is_outdated)
    return known[circuit]


@dataclass(frozen=True, slots=True)
class Offer:
    """A suspect that may be worth a case of its own.

    Attributes
    ----------
    circuit, element : str | None
        Of an element of a circuit; None for a suspect written by hand.
    name : str
        "W1 (feed to the pump)".
    probability : float
        Of all that is still possible there.
    """

    circuit: str | None
    element: str | None
    name: str
    probability: float

    @property
    def words(self) -> str:
        """As it is offered: "W1 (feed to the pump), 91 %"."""
        return f"{self.name}, {percent_words(self.probability)}"


def _parts(job: Job, circuit: str) -> tuple[Element, ...] | tuple[HandSuspect, ...]:
    return next((known.elements for known in job.circuits if known.id == circuit), ()) if circuit else job.suspects


def offers(job: Job) -> tuple[Offer, ...]:
    """Return the likeliest suspects of a job that no case is about yet, the likeliest first."""
    return _offers(job, None, {})


def _offers(job: Job, is_outdated: Callable[[], bool] | None, known: dict[str, CircuitSuspicion]) -> tuple[Offer, ...]:
    begun = {(case.circuit, case.element or case.part.strip().casefold()) for case in current_cases(job)}
    made = []
    circuits = [circuit.id for circuit in job.circuits if circuit.elements]
    for circuit in (*circuits, *([""] if job.suspects else [])):
        suspicion = _suspicion(job, circuit, is_outdated, known)
        # The bar has shares for what is no part, too.
        suspects = {part.id for part in _parts(job, circuit)}
        for share in suspicion.shares:
            element = share.key if circuit else None
            if (share.key not in suspects or share.probability < _OFFERED_FROM or not suspicion.n_steps
                    or (circuit or None, element or share.name.strip().casefold()) in begun):
                continue
            made.append(Offer(circuit or None, element, share.name, share.probability))
    return tuple(sorted(made, key=lambda offer: -offer.probability)[:_OFFERED_AT_MOST])
