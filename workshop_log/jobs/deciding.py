"""Parts considered, condemned, let off and repaired.

A decision is evidence: it is never changed in place. Each later decision about the same part is a new entry that
replaces the one before and says why; the last one stands. The case for a part is worked out in `case`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from msgspec.structs import replace

from workshop_log.book.errors import UnknownItemError
from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.records import Condemned
from workshop_log.jobs.before_after import BeforeAfter, CleanTrials, before_and_after, clean_trials
from workshop_log.jobs.case import Case, case_of, current_cases
from workshop_log.jobs.change import changing
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.fields import FieldError, read_as
from workshop_log.jobs.ids import next_id
from workshop_log.jobs.weighing import Weighed, weigh

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Element, Job
    from workshop_log.jobs.change import Change

__all__ = ["BeforeAfter", "Case", "CleanTrials", "DecisionError", "FactError", "before_and_after", "case_of",
           "check_fact", "clean_trials", "condemn", "consider", "decide", "judge_repair", "let_off", "record_repair",
           "current_cases"]

Decision = Literal["considered", "replace", "repair", "let off"]
# What may be written about a part before it is decided.
FACTS = ("part", "finding", "others_cleared", "unproved", "price", "returnable", "fit_minutes", "all_the_same",
         "what_was_done")
# What an entry says of the one that it replaces, where the technician gave no other reason.
_BECAUSE = {"considered": "considered again", "replace": "decided: to be replaced", "repair": "decided: to be repaired",
            "let off": "let off"}

# What is written about a part before the decision is a field like any other.
FactError = FieldError


class DecisionError(WorkshopLogError, ValueError):
    """A decision that cannot be recorded as it is."""


def check_fact(name: str, text: Any, currency: str) -> Any:
    """Return what a fact about a part becomes when it is typed.

    Raises
    ------
    FactError
        If the text does not fit.
    """
    if name not in FACTS:
        raise FactError(name, f"“{name}” is no fact about a part.")
    return read_as(name, Condemned, name, text, currency)


def consider(book: Book, number: str, part: str, steps: tuple[str, ...], now: datetime, *,
             circuit: str | None = None, element: str | None = None, **facts: Any) -> Job:
    """Begin a case: name a part that may have to be condemned, and the steps that led to it.

    Of an element of a circuit the name, the price, the fitting time and whether it can be returned are taken over from
    the circuit, except those that are given.

    Parameters
    ----------
    book, number
        The job.
    part : str
        Its name as the customer will read it; blank for the name of the element.
    steps : tuple[str, ...]
        What led to it.
    now : datetime
        The moment.
    circuit, element : str, optional
        Which element of which circuit it is.
    **facts : Any
        Of `FACTS`.

    Raises
    ------
    DecisionError
        If the part has no name.
    UnknownItemError
        If a step, the circuit or the element is not in the job.
    """
    with changing(book, number) as change:
        for step in steps:
            change.find("steps", step)
        known: dict[str, Any] = {}
        if element is not None:
            found = _element(change, circuit, element)
            part = part.strip() or found.title or found.id
            known = {name: getattr(found, name) for name in ("price", "fit_minutes", "returnable")}
        if not part.strip():
            raise DecisionError("Which part? Name it as the customer will read it.")
        written = {name: check_fact(name, value, change.job.workshop.currency)
                   for name, value in {"part": part, **known, **facts}.items()}
        change.append("condemned", Condemned(id=next_id(change.job.condemned, "k"), at=now, steps=steps,
                                             circuit=circuit, element=element, **written))
    return change.job


def _element(change: Change, circuit: str | None, element: str) -> Element:
    for known in change.find("circuits", circuit or "").elements:
        if known.id == element:
            return known
    raise UnknownItemError(change.number, "elements", element)


def decide(book: Book, number: str, condemned_id: str, decision: Decision, facts: dict[str, str], now: datetime,
           because: str = "", weighed: Weighed | None = None) -> Job:
    """Record the decision about a part with what was written about it.

    A part that is condemned rests on the steps named for it and on every test that spoke for it at that moment, and
    keeps how likely it was then that it is the cause. A part may always be condemned; where the figures are against it,
    or nothing measured or seen speaks for it, the technician's own reason is asked for, and printed.

    Parameters
    ----------
    book, number, condemned_id
        The part.
    decision : Decision
        What is decided.
    facts : dict[str, str]
        Of `FACTS`, as typed.
    now : datetime
        The moment.
    because : str
        Why the entry before is replaced.
    weighed : Weighed, optional
        The figures, where they were worked out already; those that are not of this moment are worked out again.

    Raises
    ------
    FactError
        If something written does not fit.
    DecisionError
        If the figures are against it, or nothing speaks for the part, and no own reason is given.
    UnknownItemError
        If the part is not in the job, or another entry has replaced it.
    """
    with changing(book, number) as change:
        before = _standing(change, condemned_id)
        currency = change.job.workshop.currency
        because = read_as("because", Condemned, "because", because, currency)
        written = {name: check_fact(name, text, currency) for name, text in facts.items()}
        entry = _next(change, before, now, because or _BECAUSE[decision], decision=decision,
                      **{"probability_right": None, "together": (), **written})
        if decision in ("replace", "repair"):
            case = _case_as_considered(change, entry, weighed)
            if case.needs_a_reason and not entry.all_the_same.strip():
                raise DecisionError(f"{' '.join(case.says_no)} Test further, or write why {entry.part} is condemned "
                                    f"all the same.")
            entry = replace(entry, steps=tuple(dict.fromkeys((*before.steps, *case.rests_on))),
                            **_figures_kept(case))
        change.append("condemned", entry)
    return change.job


def _case_as_considered(change: Change, entry: Condemned, weighed: Weighed | None) -> Case:
    from workshop_log.book.settings import load_settings

    settings = load_settings(change.session)
    if weighed is None or not weighed.is_of(change.job, entry, settings.come_back):
        weighed = weigh(change.job, entry, settings.come_back)
    evaluation = evaluate(change.job, settings)
    return case_of(change.job, evaluation, replace(entry, decision="considered"), settings,
                   weighed.suspicion, weighed.decision)


def _figures_kept(case: Case) -> dict[str, Any]:
    """Return what the entry keeps of the figures at the moment of the decision."""
    if case.figures is None:
        return {}
    together = case.figures.together if case.condemned.circuit is not None else ()
    return {"probability_right": round(case.figures.probability_right, 4), "together": together}


def condemn(book: Book, number: str, condemned_id: str, now: datetime, *, repair: bool = False,
            **facts: str) -> Job:
    """Condemn a part that was considered: to be replaced, or to be repaired."""
    return decide(book, number, condemned_id, "repair" if repair else "replace", facts, now)


def let_off(book: Book, number: str, condemned_id: str, because: str, now: datetime) -> Job:
    """Let a part off that was considered or condemned, and say why.

    Raises
    ------
    DecisionError
        If no reason is given.
    """
    if not because.strip():
        raise DecisionError("Why is it let off? Write the reason: both entries stay in the record.")
    return decide(book, number, condemned_id, "let off", {}, now, because)


def record_repair(book: Book, number: str, condemned_id: str, what_was_done: str, now: datetime) -> Job:
    """Record that a condemned part was replaced or repaired.

    Raises
    ------
    DecisionError
        If the part was not condemned, or is repaired already.
    """
    with changing(book, number) as change:
        before = _standing(change, condemned_id)
        if before.decision not in ("replace", "repair"):
            raise DecisionError(f"{before.part} was not condemned: decide that it is to be replaced or repaired first.")
        if before.repaired is not None:
            raise DecisionError(f"{before.part} is repaired already.")
        done = read_as("what_was_done", Condemned, "what_was_done", what_was_done, change.job.workshop.currency)
        change.append("condemned", _next(change, before, now, "repaired", repaired=now, what_was_done=done))
    return change.job


def judge_repair(book: Book, number: str, condemned_id: str, was_the_cause: bool, now: datetime) -> Job:
    """Record whether a repaired part really was the cause: the book learns from it.

    Raises
    ------
    DecisionError
        If the part is not repaired yet.
    """
    with changing(book, number) as change:
        before = _standing(change, condemned_id)
        if before.repaired is None:
            raise DecisionError(f"{before.part} is not repaired yet: whether it was the cause shows only afterwards.")
        reason = "it was the cause" if was_the_cause else "it was not the cause"
        change.append("condemned", _next(change, before, now, reason, was_the_cause=was_the_cause))
    return change.job


def _standing(change: Change, condemned_id: str) -> Condemned:
    """Return the entry with this id if no later one replaces it."""
    for entry in current_cases(change.job):
        if entry.id == condemned_id:
            return entry
    raise UnknownItemError(change.number, "condemned", condemned_id)


def _next(change: Change, before: Condemned, now: datetime, because: str, **facts: Any) -> Condemned:
    """Return the entry that replaces another; when a part was condemned stays known through its first entry."""
    at = before.at if facts.get("decision", before.decision) == before.decision else now
    return replace(before, id=next_id(change.job.condemned, "k"), at=at, replaces=before.id, because=because, **facts)
