"""What is still possible as `evaluate --json` prints it: full precision, nothing rounded but money."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from workshop_log.jobs import money
from workshop_log.jobs.suspecting import decision_of, proposals_of, suspicion_of
from workshop_log.jobs.suspicion import HEALTHY, SEVERAL

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job
    from workshop_log.jobs.suspicion import CircuitSuspicion, Decision, Proposal, SuspectLine

# How many tests are told.
_PROPOSALS = 5


def circuits_json(job: Job, *, usual_minutes: Mapping[str, float] | None = None,
                  come_back: Decimal | None = None) -> list[dict[str, Any]]:
    """Return what is still possible in every circuit of a job, what to test next and what condemning would cost."""
    return [_circuit_json(job, suspicion_of(job, circuit.id), usual_minutes, come_back)
            for circuit in job.circuits if circuit.elements]


def _circuit_json(job: Job, told: CircuitSuspicion, usual_minutes: Mapping[str, float] | None,
                  come_back: Decimal | None) -> dict[str, Any]:
    if told.problem:
        return {"circuit": told.circuit, "problem": told.problem, "healthy": None, "suspects": [], "next": [],
                "condemn": None}
    names = {line.key: f"{line.element}: {line.fault}" for line in told.suspects}
    parts = [share.key for share in told.shares if share.key not in (HEALTHY, SEVERAL)]
    decision = decision_of(job, told.circuit, parts[0], usual_minutes=usual_minutes, come_back=come_back)
    proposals = proposals_of(job, told.circuit, _PROPOSALS, usual_minutes=usual_minutes, come_back=come_back)
    return {
        "circuit": told.circuit,
        "healthy": told.healthy,
        "suspects": [_suspect_json(line, names) for line in told.suspects],
        "contradictions": list(told.contradictions),
        "next": [_proposal_json(proposal, job) for proposal in proposals],
        "condemn": decision and _decision_json(decision, job),
    }


def _suspect_json(line: SuspectLine, names: Mapping[str, str]) -> dict[str, Any]:
    low_high = line.resistance and dict(zip(("low", "high", "unit"), line.resistance, strict=True))
    return {"element": line.element, "fault": line.fault, "appears": line.appears, "probability": line.probability,
            "standing": line.standing, "resistance": low_high, "cleared_by": list(line.cleared_by),
            "same_as": [names[key] for key in line.same_as]}


def _proposal_json(proposal: Proposal, job: Job) -> dict[str, Any]:
    return {"step": proposal.step, "bits": proposal.bits, "minutes": proposal.minutes,
            "worth": _amount(proposal.worth, job), "cautions": list(proposal.cautions),
            "healthy_reading": proposal.healthy_value, "unit": proposal.unit or None}


def _decision_json(decision: Decision, job: Job) -> dict[str, Any]:
    return {"element": decision.share, "together": list(decision.together),
            "probability_right": decision.probability_right, "cost_if_wrong": _amount(decision.cost_if_wrong, job),
            "expected_loss": _amount(decision.expected_loss, job),
            "better_first": decision.better_first and decision.better_first.step}


def _amount(amount: Decimal, job: Job) -> str:
    return f"{money.round_money(amount, job.workshop.currency):f}"
