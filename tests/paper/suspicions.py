"""Suspicions made by hand: what would be worked out of a circuit, with factors in place of readings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from workshop_log.electrics.faults import KINDS_OF_ELEMENT
from workshop_log.exchange.records import Circuit
from workshop_log.jobs.suspicion import HEALTHY, CircuitSuspicion, Moment, Share, SuspectLine

# (step, what was done, by which factor the suspects of a part grew or shrank).
Told = tuple[str, str, Mapping[str, float]]


def _scaled(weights: Mapping[str, float], factors: Mapping[str, float]) -> dict[str, float]:
    grown = {key: weight * factors.get(key, 1.0) for key, weight in weights.items()}
    return {key: weight / sum(grown.values()) for key, weight in grown.items()}


def suspicion_by_hand(circuit: Circuit, told: Sequence[Told], **facts: object,
                      ) -> tuple[CircuitSuspicion, tuple[Moment, ...]]:
    """Return what is still possible after all steps, and how it came about; at first all parts count alike.

    All kinds of fault of a part are alike, a quarter of each comes and goes. A part below 0.2 % is cleared by the step
    that shrank it most.
    """
    names = {one.id: f"{one.id} ({one.title})" if one.title else one.id for one in circuit.elements}
    weights = _scaled({**dict.fromkeys(names, 1.0), HEALTHY: 1.0}, {})
    names[HEALTHY] = "nothing wrong in this circuit"
    course = [("", "before the first test", weights)]
    for step, title, factors in told:
        weights = _scaled(weights, factors)
        course.append((step, title, weights))
    cleared_by = {key: (min(told, key=lambda one: one[2].get(key, 1.0))[0],)
                  for key, weight in weights.items() if weight < 0.002}
    order = sorted(weights, key=lambda key: (-weights[key], key))
    standing = {key: "cleared" if key in cleared_by else "proved" if weights[key] > 0.95 else "standing"
                for key in order}
    moments = tuple(Moment(step, title, tuple(Share(key, names[key], then[key]) for key in order))
                    for step, title, then in course)
    shares = tuple(Share(key, names[key], weights[key], standing[key], cleared_by.get(key, ())) for key in order)
    lines = [SuspectLine(
        f"{one.id}: {kind}, {appears}", one.id, kind, appears, f"{names[one.id]}: {kind}",
        weights[one.id] * part / len(KINDS_OF_ELEMENT[one.kind]), standing[one.id],
        cleared_by=cleared_by.get(one.id, ()), share=one.id,
        reach="; ".join(f"{step}: any resistance in series above 350 mΩ at {one.id}"
                        for step in cleared_by.get(one.id, ())))
        for one in circuit.elements for kind in KINDS_OF_ELEMENT[one.kind]
        for appears, part in (("always", 0.75), ("comes and goes", 0.25))]
    lines.sort(key=lambda line: (-line.probability, line.key))
    values = {"title": circuit.title, "n_steps": len(told), **facts}
    made = CircuitSuspicion(circuit.id, healthy=weights[HEALTHY], suspects=tuple(lines), shares=shares, **values)
    return made, moments
