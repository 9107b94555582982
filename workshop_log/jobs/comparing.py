"""What a colleague's answer says differently from the job, in words; nothing of it enters the job.

Evidence is never edited, so whatever in the answer is not piece for piece in the job is the colleague's. What is
edited freely (circuits, suspects written by hand) is compared as it stands now on both sides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from workshop_log.exchange.anonymous import FREE_TEXT
from workshop_log.exchange.opinion import is_of_the_question
from workshop_log.jobs.labels import DECISIONS, point_words, setup_words, step_result, step_title
from workshop_log.jobs.percent import percent_words
from workshop_log.progress import untold

if TYPE_CHECKING:
    from workshop_log.exchange.records import Access, Circuit, Condemned, Job, Note, Step
    from workshop_log.jobs.suspicion import CircuitSuspicion, Proposal
    from workshop_log.progress import Progress

NOTHING_HERE = "nothing of it"
NOT_MADE = "not made here"
# Shares that differ by less are the same to a person.
_SAME_SHARE = 0.05
# The bar is told by its largest parts.
_MOST_NAMED = 3
_WORTH_NAMING = 0.02


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that stands differently on the two sides.

    Attributes
    ----------
    about : str
        What it is about: "Voltage: C3.2b to B−", "The likeliest cause, fuel pump feed".
    ours, theirs : str
        How it stands in the job, and in the answer.
    """

    about: str
    ours: str
    theirs: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """What an answer says against the job.

    Attributes
    ----------
    causes : tuple[Difference, ...]
        What is likeliest in each circuit, where it differs.
    parts : tuple[Difference, ...]
        Parts that the colleague considered, condemned or let off.
    readings : tuple[Difference, ...]
        Steps that the colleague corrected, and those that the answer's figures call in doubt.
    tests : tuple[Difference, ...]
        Steps that the colleague added, and the next test on either side where it differs.
    described : tuple[Difference, ...]
        Circuits, suspects, access, complaints and fault codes that differ.
    notes : tuple[Note, ...]
        What the colleague wrote.
    agreed : tuple[str, ...]
        What both sides say, one sentence each.
    unknown_to_them : tuple[str, ...]
        Ids of steps that were made here after the question.
    """

    causes: tuple[Difference, ...] = ()
    parts: tuple[Difference, ...] = ()
    readings: tuple[Difference, ...] = ()
    tests: tuple[Difference, ...] = ()
    described: tuple[Difference, ...] = ()
    notes: tuple[Note, ...] = ()
    agreed: tuple[str, ...] = ()
    unknown_to_them: tuple[str, ...] = ()

    @property
    def says_something(self) -> bool:
        """Whether the answer has anything that the job has not; figures apart."""
        return any((self.parts, self.readings, self.tests, self.described, self.notes))


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
        described=(*_described(ours, theirs),),
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
    from dataclasses import replace as changed

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


# --- what is described ----------------------------------------------------------------------------------------------


def _described(ours: Job, theirs: Job) -> Iterator[Difference]:
    yield from _circuits(ours, theirs)
    named = {suspect.id: suspect for suspect in ours.suspects}
    for suspect in theirs.suspects:
        own = named.get(suspect.id)
        if own is None:
            yield Difference("A suspect written by hand", NOTHING_HERE, suspect.name)
        elif (own.weight, own.bearings) != (suspect.weight, suspect.bearings):
            yield Difference(f"What the steps say of “{own.name}”", _bearings(own.bearings),
                             _bearings(suspect.bearings))
    said = {_said(one)[1:] for one in ours.access}
    yield from (Difference("Access", NOTHING_HERE, _access_words(one)) for one in theirs.access
                if _said(one)[1:] not in said)
    own_complaints = {complaint.id: complaint for complaint in ours.complaints}
    for complaint in theirs.complaints:
        own = own_complaints.get(complaint.id)
        if own is None:
            yield Difference("A complaint", NOTHING_HERE, complaint.words)
        else:
            yield from (Difference(f"Complaint {own.id}", first, second) for first, second in (
                (_appears(own.appears), _appears(complaint.appears)),
                (_confirmed(own.confirmed), _confirmed(complaint.confirmed))) if first != second)
    codes = {(code.code, code.state) for code in ours.fault_codes}
    yield from (Difference("A fault code", NOTHING_HERE, f"{code.code} {code.state}".rstrip())
                for code in theirs.fault_codes if (code.code, code.state) not in codes)
    photos = {photo.id for photo in ours.photos}
    more = sum(photo.id not in photos for photo in theirs.photos)
    if more:
        yield Difference("Photos", NOTHING_HERE, f"{more} more, in the answer's file")


def _appears(appears: str | None) -> str:
    return {"always": "always there", None: "not said whether it comes and goes"}.get(appears, appears)


def _confirmed(is_confirmed: bool | None) -> str:
    return {True: "confirmed", False: "not confirmed", None: "not tried yet"}[is_confirmed]


def _bearings(bearings: Iterable[Any]) -> str:
    words = [f"{bearing.step} {bearing.says} it ({bearing.strength})" for bearing in bearings]
    return ", ".join(words) or "nothing"


def _said(one: Access) -> tuple[object, ...]:
    return one.id, one.circuit, one.point, one.element, one.test, one.state


def _access_words(one: Access) -> str:
    what = point_words(one.point) if one.point else " of ".join(word for word in (one.test, one.element) if word)
    return f"{what}: {one.state}"


def _circuits(ours: Job, theirs: Job) -> Iterator[Difference]:
    own = {circuit.id: circuit for circuit in ours.circuits}
    for circuit in theirs.circuits:
        title = circuit.title or circuit.id
        if circuit.id not in own:
            yield Difference(f"Circuit {title}", NOTHING_HERE, f"described with {len(circuit.elements)} elements")
        else:
            yield from _elements(title, own[circuit.id], circuit)


def _elements(title: str, ours: Circuit, theirs: Circuit) -> Iterator[Difference]:
    own, their = ({element.id: element for element in circuit.elements} for circuit in (ours, theirs))
    about = f"Circuit {title}"
    yield from (Difference(about, f"without {name}", f"with {name}, a {their[name].kind}")
                for name in their if name not in own)
    yield from (Difference(about, f"with {name}", f"without {name}") for name in own if name not in their)
    for name in (name for name in own if name in their):
        for field in own[name].__struct_fields__:
            first, second = getattr(own[name], field), getattr(their[name], field)
            if field not in FREE_TEXT and field != "price" and first != second:
                yield Difference(f"{about}, {name}, {field.replace('_', ' ')}", _plain(first), _plain(second))


def _plain(value: object) -> str:
    if isinstance(value, tuple):
        return ", ".join(map(str, value)) or "none"
    return {True: "yes", False: "no", None: "not said", "": "not said"}.get(value, str(value))


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
    about = f"The likeliest cause, {theirs.title}"
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
