"""What a colleague's answer says differently from the job, in words; nothing of it enters the job.

Evidence is never edited, so whatever in the answer is not piece for piece in the job is the colleague's. What is
edited freely (circuits, suspects written by hand) is compared as it stands now on both sides.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace as changed
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from workshop_log.exchange.opinion import is_of_the_question
from workshop_log.jobs.comparing_descriptions import described_differences
from workshop_log.jobs.comparison import Comparison, Difference
from workshop_log.jobs.labels import DECISIONS, setup_words, step_result, step_title
from workshop_log.jobs.percent import percent_words
from workshop_log.progress import untold

if TYPE_CHECKING:
    from workshop_log.exchange.records import Condemned, Job, Step
    from workshop_log.jobs.suspicion import CircuitSuspicion, Proposal
    from workshop_log.progress import Progress

NOT_MADE = "not made here"
# Shares that differ by less are the same to a person.
_SAME_SHARE = 0.05
# The bar is told by its largest parts.
_MOST_NAMED = 3
_WORTH_NAMING = 0.02


def compare(ours: Job, theirs: Job, progress: Progress = untold, *, with_figures: bool = True,
            usual_minutes: Mapping[str, float] | None = None, come_back: Decimal | None = None) -> Comparison:
    """Return what an answer says against the job.

    Parameters
    ----------
    ours, theirs : Job
        The job as it stands, and the answer.
    progress : Progress
        Told after each circuit.
    with_figures : bool
        Whether to work out as well what each side's steps make of the suspects and the next test; takes seconds.
    usual_minutes, come_back
        What this workshop knows of times and costs, used for both sides.
    """
    added = _added_steps(ours, theirs)
    known = {step.id for step in ours.steps}
    corrected = tuple(step for step in added if step.replaces in known)
    parts, same_parts = _parts(ours, theirs)
    found = Comparison(
        parts=parts, readings=tuple(_corrected(step, ours, theirs) for step in corrected),
        tests=tuple(Difference(_where(step, theirs), NOT_MADE, _showed(step))
                    for step in added if step not in corrected),
        described=tuple(described_differences(ours, theirs)),
        notes=tuple(note for note in theirs.notes if not is_of_the_question(note)), agreed=same_parts,
        unknown_to_them=tuple(step.id for step in _added_steps(theirs, ours)))
    untouched = len(ours.steps) - len(corrected) - len(found.unknown_to_them)
    if untouched > 0:
        steps = "1 step was left as it stands" if untouched == 1 else f"{untouched} steps were left as they stand"
        found = _with(found, agreed=(f"{steps}.",))
    if not with_figures:
        return found
    return _with_figures(found, ours, _on_our_terms(theirs, ours), progress, usual_minutes, come_back)


def _with(found: Comparison, **more: tuple[Any, ...]) -> Comparison:
    return changed(found, **{name: (*getattr(found, name), *items) for name, items in more.items()})


# --- steps ----------------------------------------------------------------------------------------------------------


def _facts(step: Step) -> tuple[object, ...]:
    """Return what makes a step this one, without the words in which something may be masked."""
    return type(step), step.id, step.at, step_result(step), step.circuit, step.after_repair, step.replaces


def _added_steps(before: Job, after: Job) -> tuple[Step, ...]:
    there = {_facts(step) for step in before.steps}
    return tuple(step for step in after.steps if _facts(step) not in there)


def _where(step: Step, job: Job) -> str:
    condition = f", {setup_words(step, job)}" if step.setup else ""
    return f"{step_title(step, job)}{condition}{' (after the repair)' if step.after_repair else ''}"


def _showed(step: Step) -> str:
    more = "; ".join(words for words in (step.because, step.note) if words)
    return f"{step_result(step)} ({more})" if more else step_result(step)


def _corrected(step: Step, ours: Job, theirs: Job) -> Difference:
    own = next(one for one in ours.steps if one.id == step.replaces)
    return Difference(f"Step {own.id}, {_where(step, theirs)}", step_result(own), _showed(step))


# --- parts ----------------------------------------------------------------------------------------------------------


def _parts(ours: Job, theirs: Job) -> tuple[tuple[Difference, ...], tuple[str, ...]]:
    """Return where a part is decided differently, and where the colleague decided the same."""
    def facts(entry: Condemned) -> tuple[object, ...]:
        return entry.id, entry.at, entry.decision, entry.circuit, entry.element, entry.repaired, entry.was_the_cause

    there = {facts(entry) for entry in ours.condemned}
    differences, agreed = [], []
    for entry in theirs.condemned:
        if facts(entry) in there:
            continue
        own = next((one for one in reversed(ours.condemned) if _same_part(one, entry)), None)
        if own is not None and own.decision == entry.decision:
            agreed.append(f"Both: {entry.part} {DECISIONS[entry.decision]}.")
        finding = f": {entry.finding}" if entry.finding else ""
        differences.append(Difference(entry.part, DECISIONS[own.decision] if own else "not considered",
                                      f"{DECISIONS[entry.decision]}{finding}"))
    return tuple(differences), tuple(agreed)


def _same_part(one: Condemned, other: Condemned) -> bool:
    if one.element and other.element:
        return (one.circuit, one.element) == (other.circuit, other.element)
    return one.part.casefold() == other.part.casefold()


# --- figures --------------------------------------------------------------------------------------------------------


def _on_our_terms(theirs: Job, ours: Job) -> Job:
    """Return the answer with this workshop's rates and prices, which it was never told."""
    prices = {(circuit.id, element.id): element.price for circuit in ours.circuits for element in circuit.elements}
    circuits = tuple(replace(circuit, elements=tuple(
        replace(element, price=prices.get((circuit.id, element.id))) for element in circuit.elements))
        for circuit in theirs.circuits)
    return replace(theirs, workshop=ours.workshop, circuits=circuits)


def _with_figures(found: Comparison, ours: Job, theirs: Job, progress: Progress,
                  usual_minutes: Mapping[str, float] | None, come_back: Decimal | None) -> Comparison:
    from workshop_log.jobs.suspecting import proposals_of, suspicion_of

    circuits = [circuit for circuit in _weighed(theirs) if circuit in _weighed(ours)]
    for number, circuit in enumerate(circuits):
        own, their = suspicion_of(ours, circuit), suspicion_of(theirs, circuit)
        progress(2 * number + 1, 2 * len(circuits))
        found = _with(found, **_causes(own, their), readings=_doubts(own, their))
        workshop = {"usual_minutes": usual_minutes, "come_back": come_back}
        found = _with(found, **_next_tests(their.title, proposals_of(ours, circuit, 1, **workshop),
                                           proposals_of(theirs, circuit, 1, **workshop)))
        progress(2 * number + 2, 2 * len(circuits))
    return found


def _weighed(job: Job) -> list[str]:
    return [circuit.id for circuit in job.circuits if circuit.elements] + ([""] if job.suspects else [])


def _causes(ours: CircuitSuspicion, theirs: CircuitSuspicion) -> dict[str, tuple[Any, ...]]:
    about = theirs.title
    if ours.problem or theirs.problem:
        return {"causes": (Difference(about, ours.problem or _bar(ours), theirs.problem or _bar(theirs)),)}
    if not ours.shares or not theirs.shares:
        return {}
    shares = {share.key: share.probability for share in ours.shares}
    their = {share.key: share.probability for share in theirs.shares}
    is_alike = all(abs(shares.get(key, 0.0) - their.get(key, 0.0)) < _SAME_SHARE for key in shares.keys() | their)
    first, second = ours.shares[0], theirs.shares[0]
    told: dict[str, tuple[Any, ...]] = {}
    if first.key == second.key:
        told["agreed"] = (f"Both hold it likeliest in {theirs.title}: {first.name} "
                          f"({percent_words(first.probability)} here, {percent_words(second.probability)} there).",)
    if first.key != second.key or not is_alike:
        told["causes"] = (Difference(about, _bar(ours), _bar(theirs)),)
    return told


def _bar(told: CircuitSuspicion) -> str:
    named = [share for share in told.shares if share.probability >= _WORTH_NAMING][:_MOST_NAMED]
    return ", ".join(f"{share.name} {percent_words(share.probability)}" for share in named)


def _doubts(ours: CircuitSuspicion, theirs: CircuitSuspicion) -> tuple[Difference, ...]:
    return tuple(Difference("Readings that do not go together", "not seen here", words)
                 for words in theirs.contradictions if words not in ours.contradictions)


def _next_tests(title: str, ours: tuple[Proposal, ...], theirs: tuple[Proposal, ...]) -> dict[str, tuple[Any, ...]]:
    first, second = (found[0].title if found else "no test worth making" for found in (ours, theirs))
    if first == second:
        return {"agreed": (f"Both would go on in {title} with: {first}.",)}
    return {"tests": (Difference(f"The next test, {title}", first, second),)}
