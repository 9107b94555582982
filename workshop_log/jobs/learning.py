"""What the workshop's own jobs teach: how long each kind of test takes here, how often a condemned part was the cause.

Nothing is invented: a step tells its time where it was written, or where the clock can have measured nothing else.
"""

from __future__ import annotations

from collections import defaultdict
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from sqlalchemy.orm import Session

    from workshop_log.book.experience import Outcome, PastLine, PastStep

# Fewer say more about one bad day than about the workshop.
LEAST = 5
# Older ones are no longer how the workshop works.
NEWEST = 200
# own estimate: whoever takes down two results within half a minute types them from paper.
TYPED_IN_A_ROW_MIN = 0.5


def learnt_minutes(session: Session) -> dict[str, float]:
    """Return how long each kind of test usually takes in this workshop [min], of the kinds with at least five.

    It is the median, so that one test with a long search, or a clock that was left running, moves it little. Without
    strip-down and change of setup, where it comes from the clock (see `minutes_of`); as written, where it was written.

    Parameters
    ----------
    session : Session
        Open for reading.

    Returns
    -------
    dict[str, float]
        By the kind of step as the job file calls it: "voltage", "look".
    """
    from workshop_log.book.experience import newest_steps

    taken: dict[str, list[float]] = defaultdict(list)
    for kind, minutes in minutes_of(*newest_steps(session)):
        if len(taken[kind]) < NEWEST:
            taken[kind].append(minutes)
    return {kind: median(minutes) for kind, minutes in sorted(taken.items()) if len(minutes) >= LEAST}


def minutes_of(steps: Sequence[PastStep], lines: Iterable[PastLine]) -> Iterator[tuple[str, float]]:
    """Yield kind and minutes of each step of which they are known, in the order in which the steps are given.

    What was written counts. Else the clock is believed only where the time from one result to the next can have been
    nothing but the test: the same circuit and setup, nothing entered in between, one line of the clock over the whole
    of it and nobody else on the job at the time. A correction takes no test, and results that were typed one after
    the other tell nothing of how long the tests took.

    Parameters
    ----------
    steps : Sequence[PastStep]
        Of any jobs, in any order.
    lines : Iterable[PastLine]
        All lines of the clock of these jobs.
    """
    before = {(step.job, step.position): step for step in steps}
    clock: dict[int, list[PastLine]] = defaultdict(list)
    for line in lines:
        clock[line.job].append(line)
    for step in steps:
        if step.is_correction:
            continue
        minutes = step.minutes
        if minutes is None:
            minutes = _by_the_clock(before.get((step.job, step.position - 1)), step, clock[step.job])
        if minutes:
            yield step.kind, minutes


def _by_the_clock(before: PastStep | None, step: PastStep, lines: Sequence[PastLine]) -> float | None:
    if before is None or before.at is None or step.at is None or before.place != step.place:
        return None
    minutes = (step.at - before.at).total_seconds() / 60
    if minutes < TYPED_IN_A_ROW_MIN:
        return None
    during = [line for line in lines if line.start < step.at and (line.end is None or line.end > before.at)]
    if len(during) != 1 or during[0].start > before.at or (during[0].end is not None and during[0].end < step.at):
        return None
    return minutes


def learnt_weights(session: Session) -> dict[str, tuple[int, int]]:
    """Return how often an element that was condemned here was the cause, by its kind.

    Only parts count that were replaced or repaired, of which it was noted afterwards whether they were the cause, and
    that are elements of a circuit. Where several elements went together, they count once, and only where all are of
    one kind: which of them it was, nobody knows. The kind of fault is not part of a decision and is not learnt.

    Returns
    -------
    dict[str, tuple[int, int]]
        {"ground point": (was the cause, condemned)}.
    """
    from workshop_log.book.experience import newest_outcomes

    return counted(newest_outcomes(session))


def counted(outcomes: Iterable[Outcome]) -> dict[str, tuple[int, int]]:
    """Return for each kind of element how often it was the cause, and how often it was condemned."""
    found: dict[str, tuple[int, int]] = {}
    for outcome in outcomes:
        if len(outcome.kinds) == 1:
            (kind,) = outcome.kinds
            causes, condemned = found.get(kind, (0, 0))
            found[kind] = causes + outcome.was_the_cause, condemned + 1
    return dict(sorted(found.items()))
