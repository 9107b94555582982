"""Suspects of a job from its circuits and steps: how likely each is, by what it was cleared, how that moved.

Every function is pure and needs no window; the window calls them in a thread of its own and may ask them to stop.
What was computed of a circuit is kept, so that one more reading costs only itself.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from workshop_log.errors import WorkshopLogError
from workshop_log.jobs import labels
from workshop_log.jobs.circuit_ranges import CircuitRangeError, computed_circuit
from workshop_log.jobs.evidence_of import evidence_of, steps_that_count, weights_of
from workshop_log.jobs.percent import percent_words
from workshop_log.jobs.suspicion import HEALTHY, SEVERAL, CircuitSuspicion, Moment, Share, SuspectLine
from workshop_log.measuring.showing import show

if TYPE_CHECKING:
    from decimal import Decimal

    from workshop_log.diagnosis.evidence import Evidence
    from workshop_log.diagnosis.inference import Inference
    from workshop_log.diagnosis.suspects import Suspect
    from workshop_log.exchange.records import Circuit, Job, Step
    from workshop_log.jobs.suspicion import Decision, Proposal

HEALTHY_WORDS = "nothing wrong in this circuit"
SEVERAL_WORDS = "two faults at once"
# How many circuits' grids are kept.
_KEPT = 4
# A fault's size is told once this much of the whole is its.
_SIZE_FROM = 0.01
# Suspects that are compared with one another: those of which at least this is left, and at most so many.
_COMPARED_FROM, _MOST_COMPARED = 0.002, 24
_SHOWN_DIGITS = 2
_ALIKE_DIGITS = 12
# The summary names at most so many parts.
_MOST_NAMED = 3
_WORTH_NAMING = 0.02

_kept: OrderedDict[tuple, Inference] = OrderedDict()
_lock = threading.Lock()


class SuspicionError(WorkshopLogError, ValueError):
    """What is possible in a circuit cannot be said; the sentence says why."""


def suspicion_of(job: Job, circuit: str, is_outdated: Callable[[], bool] | None = None, *,
                 complete: bool = True) -> CircuitSuspicion:
    """Return what is still possible in one circuit of a job; an empty id for the suspects written by hand.

    Parameters
    ----------
    job : Job
        With its steps; those after the repair do not count.
    circuit : str
        The circuit's id.
    is_outdated : callable, optional
        Asked now and then; where it says yes, `diagnosis.outdated.Outdated` is raised.
    complete : bool
        Whether to work out as well what cleared each suspect, what no measurement tells apart and what contradicts:
        it takes several times as long.
    """
    if not circuit:
        from workshop_log.jobs.hand_suspects import hand_suspicion

        return hand_suspicion(job)
    record = circuit_named(job, circuit)
    try:
        found = inference_of(job, record, is_outdated)
    except SuspicionError as error:
        return CircuitSuspicion(circuit, record.title or record.id, problem=str(error))
    return _told(job, record, found, complete=complete)


def history_of(job: Job, circuit: str, is_outdated: Callable[[], bool] | None = None) -> tuple[Moment, ...]:
    """Return how the bar moved: before the first step, and after each one that counts."""
    if not circuit:
        from workshop_log.jobs.hand_suspects import hand_history

        return hand_history(job)
    record = circuit_named(job, circuit)
    try:
        steps = list(steps_that_count(job, record))
        final = inference_of(job, record, is_outdated)
        keys = [share.key for share in _shares(record, final, {})]
        moments = []
        for count in range(len(steps) + 1):
            found = final if count == len(steps) else _inferred(job, record, tuple(e for _, e in steps[:count]),
                                                                is_outdated)
            shares = {share.key: share for share in _shares(record, found, {})}
            missing = [Share(key, share.name, 0.0) for key, share in
                       ((k, _share_named(record, k)) for k in keys) if key not in shares]
            shares |= {share.key: share for share in missing}
            step = steps[count - 1][0] if count else None
            ordered = [shares[key] for key in keys] + [share for key, share in shares.items() if key not in keys]
            moments.append(Moment(step.id if step else "", _done_words(step, job) if step else "before the first test",
                                  tuple(ordered)))
    except SuspicionError:
        return ()
    return tuple(moments)


def what_if(job: Job, circuit: str, step: Step, is_outdated: Callable[[], bool] | None = None) -> CircuitSuspicion:
    """Return what would be possible if this step were taken down, without taking it down."""
    from msgspec.structs import replace as changed

    if not circuit:
        return suspicion_of(job, circuit)
    record = circuit_named(job, circuit)
    try:
        before = tuple(evidence for _, evidence in steps_that_count(job, record))
        more = evidence_of(changed(step, circuit=circuit), job, record)
        found = _inferred(job, record, (*before, *((more,) if more is not None else ())), is_outdated)
    except (SuspicionError, CircuitRangeError) as error:
        return CircuitSuspicion(circuit, record.title or record.id, problem=str(error))
    return _told(job, record, found, complete=False)


# --- computing ------------------------------------------------------------------------------------------------------


def circuit_named(job: Job, circuit: str) -> Circuit:
    """Return a job's circuit.

    Raises
    ------
    SuspicionError
        If it has none of this id.
    """
    for record in job.circuits:
        if record.id == circuit:
            return record
    raise SuspicionError(f"Job {job.number} has no circuit {circuit}: describe it, or choose another one.")


def inference_of(job: Job, circuit: Circuit, is_outdated: Callable[[], bool] | None = None) -> Inference:
    """Return the inference from all steps that count.

    Raises
    ------
    SuspicionError
        If the circuit cannot be computed.
    """
    try:
        evidence = tuple(evidence for _, evidence in steps_that_count(job, circuit))
    except CircuitRangeError as error:
        raise SuspicionError(str(error)) from error
    return _inferred(job, circuit, evidence, is_outdated)


def _inferred(job: Job, circuit: Circuit, evidence: tuple[Evidence, ...],
              is_outdated: Callable[[], bool] | None) -> Inference:
    """Return an inference, from what is kept of the same circuit."""
    from workshop_log.diagnosis.inference import Options, infer, infer_from

    try:
        computed = computed_circuit(circuit)
        weights = weights_of(job, circuit)
        key = (circuit, weights.comes_and_goes, weights.healthy)
        with _lock:
            known = _kept.get(key)
        options = Options(weights, is_outdated=is_outdated)
        if known is None:
            found = infer(computed, evidence, options)
        else:
            found = infer_from(replace(known, options=options), evidence)
    except WorkshopLogError as error:
        raise SuspicionError(str(error)) from error
    with _lock:
        _kept[key] = replace(found, options=Options(weights))
        _kept.move_to_end(key)
        while len(_kept) > _KEPT:
            _kept.popitem(last=False)
    return found


# --- telling --------------------------------------------------------------------------------------------------------


def _told(job: Job, circuit: Circuit, found: Inference, *, complete: bool) -> CircuitSuspicion:
    """Return an inference in words."""
    from workshop_log.diagnosis.standing import Standing, contradictions, standings

    stands = standings(found) if complete else tuple(Standing("standing") for _ in found.suspects)
    same = same_as(found, job, circuit) if complete else {}
    lines = [_line(circuit, found, number, stands[number], same) for number in range(1, len(found.suspects))
             if found.prior[number] > 0]
    # What differs only in the last digits of the arithmetic is alike.
    lines.sort(key=lambda line: (-round(line.probability, _ALIKE_DIGITS), line.key))
    doubts = contradictions(found) if complete else ()
    by_share: dict[str, list[SuspectLine]] = {}
    for line in lines:
        by_share.setdefault(line.share, []).append(line)
    shares = _shares(circuit, found, by_share if complete else {}, stands[0].cleared_by)
    told = CircuitSuspicion(
        circuit.id, circuit.title or circuit.id, float(found.probability[0]), tuple(lines), tuple(shares),
        contradictions=tuple(_contradiction_words(doubt.repeat, doubt.against) for doubt in doubts),
        contradicting=tuple(doubt.repeat for doubt in doubts),
        assumptions=tuple(_assumptions(job, circuit)), n_steps=len({one.step for one in found.evidence}))
    return replace(told, summary=summary_words(told))


def _line(circuit: Circuit, found: Inference, number: int, standing, same: dict[str, tuple[str, ...]]) -> SuspectLine:
    suspect, probability = found.suspects[number], float(found.probability[number])
    size = found.size_of(number) if probability > _SIZE_FROM else None
    words = ""
    if size is not None:
        low, high, unit = size
        ends = [show(low, unit, digits=_SHOWN_DIGITS), show(high, unit, digits=_SHOWN_DIGITS)]
        words = " to ".join(dict.fromkeys(ends))
    return SuspectLine(
        suspect.key, " and ".join(fault.element for fault in suspect.faults),
        " and ".join(fault.kind for fault in suspect.faults), suspect.appears, suspect_words(circuit, suspect),
        probability, standing.word, words, standing.cleared_by, _reach_words(found, number, standing.cleared_by),
        same.get(suspect.key, ()), suspect.share, size)


def suspect_words(circuit: Circuit, suspect: Suspect) -> str:
    """Return a suspect as it could be read aloud: "W1 (feed to the pump): short to ground, comes and goes"."""
    faults = " and ".join(f"{element_name(circuit, fault.element)}: {fault.kind}" for fault in suspect.faults)
    return f"{faults}, comes and goes" if suspect.comes_and_goes else faults


def element_name(circuit: Circuit, element: str) -> str:
    """Return what an element is called: its id, with its title where it has one that says more."""
    title = next((one.title for one in circuit.elements if one.id == element), "")
    return f"{element} ({title})" if title and title.casefold() != element.casefold() else element


def _reach_words(found: Inference, number: int, steps: tuple[str, ...]) -> str:
    from workshop_log.diagnosis.seen import seen_by

    seen: dict[str, list[str]] = {}
    for step in steps:
        reach = seen_by(found, number, step)
        if reach is not None and reach.seen:
            seen.setdefault(reach.words(), []).append(step)
    return "; ".join(f"{', '.join(by)}: {words}" for words, by in seen.items())


def _shares(circuit: Circuit, found: Inference, by_share: Mapping[str, list[SuspectLine]],
            healthy_cleared_by: tuple[str, ...] = ()) -> list[Share]:
    from workshop_log.diagnosis.standing import PROVED_ABOVE

    shares = []
    for key, probability in found.shares().items():
        lines = by_share.get(key, [])
        cleared_by: tuple[str, ...] = ()
        if key == HEALTHY:
            cleared_by = healthy_cleared_by
            cleared = bool(cleared_by)
        else:
            cleared = bool(lines) and all(line.standing == "cleared" for line in lines)
            if cleared:
                cleared_by = _most_named(lines)
        if key == SEVERAL and not lines and probability == 0:
            continue
        proved = probability > PROVED_ABOVE and bool(by_share)
        shares.append(replace(_share_named(circuit, key), probability=probability, cleared_by=cleared_by,
                              standing="cleared" if cleared else "proved" if proved else "standing"))
    shares.sort(key=lambda share: -round(share.probability, _ALIKE_DIGITS))
    return shares


def _most_named(lines: list[SuspectLine]) -> tuple[str, ...]:
    """Return the fewest steps that name each of these suspects at least once, those that name most first."""
    left = [set(line.cleared_by) for line in lines]
    chosen: list[str] = []
    while left:
        count: dict[str, int] = {}
        for steps in left:
            for step in steps:
                count[step] = count.get(step, 0) + 1
        best = max(count, key=lambda step: (count[step], step))
        chosen.append(best)
        left = [steps for steps in left if best not in steps]
    order = list(dict.fromkeys(step for line in lines for step in line.cleared_by))
    return tuple(sorted(chosen, key=order.index))


def _share_named(circuit: Circuit, key: str) -> Share:
    name = {HEALTHY: HEALTHY_WORDS, SEVERAL: SEVERAL_WORDS}.get(key) or element_name(circuit, key)
    return Share(key, name, 0.0)


def same_as(found: Inference, job: Job, circuit: Circuit) -> dict[str, tuple[str, ...]]:
    """Return for each standing suspect the keys of those that no allowed measurement tells from it."""
    from workshop_log.diagnosis.telling_apart import told_apart
    from workshop_log.jobs.evidence_of import access_of

    order = sorted((n for n in range(1, len(found.suspects)) if found.probability[n] >= _COMPARED_FROM),
                   key=lambda n: -found.probability[n])[:_MOST_COMPARED]
    apart = told_apart(found, tuple(order), access_of(job, circuit))
    result: dict[str, tuple[str, ...]] = {}
    for first, number in enumerate(order):
        alike = [found.suspects[other].key for second, other in enumerate(order)
                 if second != first and not apart[first, second]
                 and found.suspects[other].comes_and_goes == found.suspects[number].comes_and_goes]
        if alike:
            result[found.suspects[number].key] = tuple(alike)
    return result


def _contradiction_words(repeat: str, against: tuple[str, ...]) -> str:
    if not against:
        return f"Step {repeat} does not go with all the others: repeat step {repeat}."
    if len(against) == 1:
        return f"Step {repeat} and step {against[0]} cannot both be right: repeat step {repeat}."
    others = f"{', '.join(against[:-1])} and {against[-1]}"
    return f"Step {repeat} does not go with any of the steps {others}: repeat step {repeat}."


def summary_words(told: CircuitSuspicion) -> str:
    """Return in one or two sentences how much is still possible, and what is the likeliest."""
    parts = [share for share in told.shares if share.key not in (HEALTHY, SEVERAL)]
    cleared = sum(share.standing == "cleared" for share in parts)
    first, *others = told.shares
    if first.key == HEALTHY:
        begin = f"Most likely nothing is wrong in this circuit ({percent_words(first.probability)})"
    elif first.standing == "proved":
        begin = f"It is {first.name} ({percent_words(first.probability)})"
    else:
        begin = f"Most likely it is {first.name} ({percent_words(first.probability)})"
    named = [share for share in others if share.probability >= _WORTH_NAMING][:_MOST_NAMED - 1]
    rest = ", ".join(f"{share.name} ({percent_words(share.probability)})" for share in named)
    more = sum(share.probability >= _WORTH_NAMING for share in others) - len(named)
    words = f"{begin}." if not rest else f"{begin}; also possible: {rest}{f', and {more} more' if more else ''}."
    if cleared:
        words += f" {cleared} of {len(parts)} parts {'is' if cleared == 1 else 'are'} cleared."
    return words


def _done_words(step: Step, job: Job) -> str:
    return f"{labels.step_title(step, job)}: {labels.step_result(step)}"


def _assumptions(job: Job, circuit: Circuit) -> Iterator[str]:
    """Yield what the figures rest on, in sentences."""
    weights = weights_of(job, circuit)
    yield ("Before any test each kind of element counts as failing about as often as is usual in the trade "
           "(own estimates, no source); where a weight is noted for an element, that counts.")
    yield (f"Before any test, that the fault comes and goes was taken as {percent_words(weights.comes_and_goes)}, that "
           f"nothing is wrong in the circuit as {percent_words(weights.healthy)}.")
    yield ("Any reading may be a slip of eye or hand: 1 in 100, with an instrument that was not shown to work 3 in 100 "
           "(own estimates).")
    for element in computed_circuit(circuit).elements:
        if element.defaults:
            yield f"{element.name}: {', '.join(element.defaults)} assumed."


# --- the next test and the decision: worked out in `proposing` ------------------------------------------------------


def proposals_of(job: Job, circuit: str, count: int = 3, is_outdated: Callable[[], bool] | None = None, *,
                 usual_minutes: Mapping[str, float] | None = None, come_back: Decimal | None = None,
                 ) -> tuple[Proposal, ...]:
    """Return the tests that are worth making next (`proposing.proposals_of`)."""
    from workshop_log.jobs import proposing

    return proposing.proposals_of(job, circuit, count, is_outdated, usual_minutes=usual_minutes, come_back=come_back)


def decision_of(job: Job, circuit: str, element: str, is_outdated: Callable[[], bool] | None = None, *,
                usual_minutes: Mapping[str, float] | None = None, come_back: Decimal | None = None,
                ) -> Decision | None:
    """Return what condemning an element now would cost against testing first (`proposing.decision_of`)."""
    from workshop_log.jobs import proposing

    return proposing.decision_of(job, circuit, element, is_outdated, usual_minutes=usual_minutes, come_back=come_back)
