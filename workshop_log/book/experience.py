"""What the newest jobs of the workshop say about itself: how its steps followed one another, what became of parts.

Only the newest are looked at: a big book is as quick as a small one, and a workshop changes.
"""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple

import msgspec
from sqlalchemy import literal_column, select
from sqlalchemy.orm import Session

from workshop_log.book.entities import Entry, TimeLine

_MOST_STEPS = 5_000
_MOST_DECISIONS = 4_000
# Values in one statement: SQLite takes some thirty thousand, older ones 999.
_AT_ONCE = 500


class _Step(msgspec.Struct):
    """What of a step tells how long it took; the rest of its body is skipped."""

    kind: str
    at: datetime | None = None
    circuit: str | None = None
    setup: str = ""
    minutes: float | None = None
    replaces: str | None = None
    after_repair: bool = False


class _Decision(msgspec.Struct):
    id: str
    circuit: str | None = None
    element: str | None = None
    together: tuple[str, ...] = ()
    decision: str = "considered"
    repaired: datetime | None = None
    was_the_cause: bool | None = None
    replaces: str | None = None


class _Element(msgspec.Struct):
    id: str
    kind: str


class _Circuit(msgspec.Struct):
    elements: tuple[_Element, ...] = ()


class PastStep(NamedTuple):
    """A test step as far as it tells how long it took.

    Attributes
    ----------
    job : int
        The key of its job.
    position : int
        Its place among all that was entered in the job.
    kind : str
        "voltage", "look", ...
    at : datetime | None
        When it was taken down.
    place : tuple
        Circuit, setup, and whether it was made after the repair: two steps of the same place need no way between.
    minutes : float | None
        As written. [min]
    is_correction : bool
        Whether it corrects another step.
    """

    job: int
    position: int
    kind: str
    at: datetime | None
    place: tuple[str | None, str, bool]
    minutes: float | None
    is_correction: bool


class PastLine(NamedTuple):
    """A line of the clock: of which job, and from when to when; without an end it runs."""

    job: int
    start: datetime
    end: datetime | None


class Outcome(NamedTuple):
    """What became of a condemned part.

    Attributes
    ----------
    kinds : frozenset[str]
        The kinds of the elements that were replaced or repaired together.
    was_the_cause : bool
        As it showed after the repair.
    """

    kinds: frozenset[str]
    was_the_cause: bool


_STEPS, _DECISIONS, _CIRCUITS = (msgspec.json.Decoder(kind) for kind in (_Step, _Decision, _Circuit))


def newest_steps(session: Session) -> tuple[list[PastStep], list[PastLine]]:
    """Return the steps entered last, the newest first, and the lines of the clock of their jobs."""
    newest = select(Entry.job_key, Entry.position, Entry.body).where(
        Entry.kind == "step", Entry.body.is_not(None)).order_by(Entry.key.desc()).limit(_MOST_STEPS)
    steps = []
    for job, position, body in session.execute(newest):
        step = _STEPS.decode(body)
        steps.append(PastStep(job, position, step.kind, step.at, (step.circuit, step.setup, step.after_repair),
                              step.minutes, step.replaces is not None))
    lines = [PastLine(*row) for some in _portions({step.job for step in steps})
             for row in session.execute(select(TimeLine.job_key, TimeLine.start, TimeLine.end)
                                        .where(TimeLine.job_key.in_(some)))]
    return steps, lines


def newest_outcomes(session: Session) -> list[Outcome]:
    """Return what became of the elements of circuits that were condemned last and judged after the repair."""
    # Written out: with a value in its place a server may not see that the index of the decisions is meant.
    condemned = literal_column("'condemned'")
    rows = session.execute(
        select(Entry.job_key, Entry.body).where(Entry.kind == condemned, Entry.body.is_not(None))
        .order_by(Entry.key.desc()).limit(_MOST_DECISIONS))
    judged: list[tuple[int, _Decision]] = []
    replaced: set[tuple[int, str]] = set()
    for job, body in rows:
        decision = _DECISIONS.decode(body)
        # The newest come first, so that what replaces a decision is known before it.
        if ((job, decision.id) not in replaced and decision.was_the_cause is not None and decision.circuit is not None
                and decision.repaired is not None and decision.decision in ("replace", "repair")):
            judged.append((job, decision))
        if decision.replaces is not None:
            replaced.add((job, decision.replaces))
    kinds = _kinds(session, {job for job, _ in judged})
    outcomes = []
    for job, decision in judged:
        elements = decision.together or ((decision.element,) if decision.element else ())
        found = frozenset(kinds.get((job, decision.circuit, element), "") for element in elements)
        if found and "" not in found:
            outcomes.append(Outcome(found, decision.was_the_cause))
    return outcomes


def _kinds(session: Session, jobs: set[int]) -> dict[tuple[int, str, str], str]:
    """Return the kind of each element, by job, circuit and element, as the circuits stood last."""
    kinds: dict[tuple[int, str, str], str] = {}
    for some in _portions(jobs):
        rows = session.execute(
            select(Entry.job_key, Entry.item_id, Entry.body)
            .where(Entry.job_key.in_(some), Entry.kind == "circuit", Entry.body.is_not(None))
            .order_by(Entry.job_key, Entry.position))
        for job, circuit, body in rows:
            kinds |= {(job, circuit, element.id): element.kind for element in _CIRCUITS.decode(body).elements}
    return kinds


def _portions(keys: set[int]) -> list[list[int]]:
    ordered = sorted(keys)
    return [ordered[start:start + _AT_ONCE] for start in range(0, len(ordered), _AT_ONCE)]
