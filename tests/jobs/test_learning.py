"""What the workshop's own jobs teach, and what they do not."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from workshop_log.book.experience import Outcome, PastLine, PastStep
from workshop_log.exchange.records import LookStep, VoltageStep
from workshop_log.jobs import clock, intake, testing
from workshop_log.jobs.learning import LEAST, NEWEST, counted, learnt_minutes, learnt_weights, minutes_of

NOW = datetime(2031, 4, 2, 9, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
HERE = ("feed", "running", False)
WHOLE_DAY = PastLine(1, NOW - MINUTE, NOW + 500 * MINUTE)


def step(position, minute, *, place=HERE, minutes=None, kind="voltage", is_correction=False, job=1):
    at = None if minute is None else NOW + minute * MINUTE
    return PastStep(job, position, kind, at, place, minutes, is_correction)


def known(*steps, lines=(WHOLE_DAY,)):
    return list(minutes_of(steps, lines))


def test_the_clock_tells_the_time_from_one_result_to_the_next():
    """Four minutes apart under one running line; of the first nobody knows when it began."""
    assert known(step(1, 0), step(2, 4), step(3, 6.5, kind="lamp")) == [("voltage", 4.0), ("lamp", 2.5)]
    assert known(step(2, 4), step(1, 0), lines=(PastLine(1, NOW, None),)) == [("voltage", 4.0)]


@pytest.mark.parametrize(("second", "lines"), [
    # Another circuit, setup or side of the repair: something was put on, taken off or mended in between.
    (step(2, 4, place=("lamp", "running", False)), [WHOLE_DAY]),
    (step(2, 4, place=("feed", "cold", False)), [WHOLE_DAY]),
    (step(2, 4, place=("feed", "running", True)), [WHOLE_DAY]),
    # Something else was entered in between.
    (step(3, 4), [WHOLE_DAY]),
    (step(2, 4, is_correction=True), [WHOLE_DAY]),
    (step(2, 4, job=2), [WHOLE_DAY]),
    # No time, the same time, or typed one after the other.
    (step(2, None), [WHOLE_DAY]),
    (step(2, 0), [WHOLE_DAY]),
    (step(2, -3), [WHOLE_DAY]),
    (step(2, 0.4), [WHOLE_DAY]),
    # No clock, a clock that stood still in between, began late, ended early, or ran for somebody else as well.
    (step(2, 4), []),
    (step(2, 4), [PastLine(2, NOW - MINUTE, None)]),
    (step(2, 4), [PastLine(1, NOW - MINUTE, NOW + MINUTE), PastLine(1, NOW + 2 * MINUTE, None)]),
    (step(2, 4), [PastLine(1, NOW + MINUTE, None)]),
    (step(2, 4), [PastLine(1, NOW - MINUTE, NOW + 3 * MINUTE)]),
    (step(2, 4), [WHOLE_DAY, PastLine(1, NOW + MINUTE, NOW + 2 * MINUTE)]),
])
def test_where_the_clock_may_have_measured_something_else_nothing_is_known(second, lines):
    """Better no time than an invented one."""
    assert known(step(1, 0), second, lines=lines) == []


def test_what_was_written_counts_and_a_correction_takes_no_test():
    """Written minutes need no clock; nought is no time."""
    assert known(step(1, 0, minutes=7), step(2, 4, minutes=2), lines=()) == [("voltage", 7), ("voltage", 2)]
    assert known(step(1, 0), step(2, 4, minutes=5, is_correction=True), step(3, 9, minutes=0)) == []


def test_a_part_that_went_with_others_counts_where_all_are_of_one_kind():
    """Of a wire and a pin nobody knows which it was, whatever came of it."""
    wire, both = frozenset({"wire"}), frozenset({"wire", "contact"})
    assert counted([Outcome(wire, True), Outcome(wire, False), Outcome(both, True), Outcome(both, False),
                    Outcome(frozenset({"fuse"}), False)]) == {"fuse": (0, 1), "wire": (1, 2)}
    assert counted([]) == {}


# --- from the book --------------------------------------------------------------------------------------------------


def learnt(book, learn=learnt_minutes):
    with book.read() as session:
        return learn(session)


def test_a_workshop_that_works_by_its_clock_learns_its_times(book, job, now):
    """Six voltages 2, 3, 4, 5, 30 minutes apart: the median of the five is 4; four looks are too few."""
    clock.start_clock(book, job.number, "Ida", now)
    at = now
    for gap in (1, 2, 3, 4, 5, 30):
        at += gap * MINUTE
        testing.record_step(book, job.number, VoltageStep(id="x", red="F7", reading="12.4 V"), at)
    assert learnt(book) == {"voltage": 4.0}
    for _ in range(LEAST - 1):
        testing.record_step(book, job.number, LookStep(id="x", elements=("loom",), result="nothing", minutes=6), at)
    assert learnt(book) == {"voltage": 4.0}
    other = intake.take_in(book, now).number
    testing.record_step(book, other, LookStep(id="x", elements=("loom",), result="nothing", minutes=10), at)
    assert learnt(book) == {"look": 6.0, "voltage": 4.0}


def test_a_new_book_has_learnt_nothing(book, job, now):
    """No step, no decision: nothing is made up."""
    assert (learnt(book), learnt(book, learnt_weights)) == ({}, {})


def test_only_the_newest_of_each_kind_count(book, job, now):
    """A workshop that became quicker is as quick as it is now, however slow it was for years."""
    from workshop_log.book.jobs import insert_job
    from workshop_log.exchange.records import Job

    slow, quick = (tuple(LookStep(id=f"s{n}", elements=(), result="nothing", minutes=minutes) for n in range(count))
                   for minutes, count in ((20, NEWEST), (4, NEWEST)))
    with book.session() as session:
        insert_job(session, Job(steps=slow))
        insert_job(session, Job(steps=quick))
    assert learnt(book) == {"look": 4.0}


def test_what_became_of_condemned_parts_is_counted_by_kind(book, job, now):
    """Taken through the book: two contacts, of which one was the cause."""
    from workshop_log.book.jobs import insert_job
    from workshop_log.exchange.records import Circuit, Condemned, Element, Job

    circuit = Circuit(id="feed", elements=(Element(id="C1", kind="contact", between=("B+", "B-")),))
    with book.session() as session:
        for was_the_cause in (True, False, None):
            insert_job(session, Job(circuits=(circuit,), condemned=(Condemned(
                id="k1", part="pin", circuit="feed", element="C1", decision="repair", repaired=now,
                was_the_cause=was_the_cause),)))
    assert learnt(book, learnt_weights) == {"contact": (1, 2)}
