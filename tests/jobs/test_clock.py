"""Labour as it is worked: one running line for each person in the whole book."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from workshop_log.exchange.records import VoltageStep
from workshop_log.jobs import clock, handing, intake, testing
from workshop_log.jobs.clock import ClockError, RunningLine

MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


@pytest.fixture
def other(book, now):
    return intake.take_in(book, now)


def lines(book, number):
    from workshop_log.book.jobs import load_job

    with book.read() as session:
        return [(line.person, line.what, line.start, line.end) for line in load_job(session, number).clock]


def test_switching_jobs_is_one_call_that_ends_the_line_elsewhere(book, job, other, now) -> None:
    """At each moment a person has one running line in the whole book; another person's runs on."""
    clock.start_clock(book, job.number, "Ida", now)
    clock.start_clock(book, job.number, "Ben", now)
    clock.start_clock(book, other.number, "Ida", now + 30 * MINUTE, "Radio")
    assert lines(book, job.number) == [("Ida", "", now, now + 30 * MINUTE), ("Ben", "", now, None)]
    assert (clock.running(book, "Ida").number, clock.running(book, "Ben").number) == (other.number, job.number)
    stopped = clock.stop_clock(book, "Ida", now + HOUR)
    assert (stopped.number, stopped.clock[0].end) == (other.number, now + HOUR)
    assert clock.running(book, "Ida") is None


def test_starting_the_same_work_again_goes_on_and_other_work_is_a_new_line(book, job, now) -> None:
    """A second press is no second line."""
    clock.start_clock(book, job.number, "Ida", now, "Testing")
    again = clock.start_clock(book, job.number, " Ida ", now + MINUTE, "Testing")
    assert len(again.clock) == 1
    clock.start_clock(book, job.number, "Ida", now + HOUR, "Repair")
    assert [(what, end) for _, what, _, end in lines(book, job.number)] == [("Testing", now + HOUR), ("Repair", None)]


def test_running_line_survives_the_program(book, job, now) -> None:
    """It is a row of the book: whoever opens the book next sees it."""
    from workshop_log.book.opening import open_book

    clock.start_clock(book, job.number, "Ida", now)
    second = open_book(book.url)
    try:
        assert clock.running(second, "Ida").start == now
    finally:
        second.close()


@pytest.mark.parametrize(("start", "now", "is_forgotten"), [
    (datetime(2031, 4, 2, 8, 0, tzinfo=UTC), datetime(2031, 4, 2, 12, 0, tzinfo=UTC), False),
    (datetime(2031, 4, 2, 8, 0, tzinfo=UTC), datetime(2031, 4, 2, 12, 0, 1, tzinfo=UTC), True),
    (datetime(2031, 4, 2, 23, 30, tzinfo=UTC), datetime(2031, 4, 3, 0, 10, tzinfo=UTC), True),
    (datetime(2031, 4, 2, 23, 30, tzinfo=UTC), datetime.fromisoformat("2031-04-03T01:10+01:00"), False),
    (datetime(2031, 4, 2, 22, 50, tzinfo=UTC), datetime.fromisoformat("2031-04-03T00:10+01:00"), True),
])
def test_line_over_four_hours_or_past_local_midnight_is_forgotten(start, now, is_forgotten) -> None:
    """Midnight is that of the workshop's clock, not that of UTC."""
    line = RunningLine("2031-0001", "", "t1", "Ida", start, "", start)
    assert clock.forgotten(line, now) is is_forgotten


def test_forgotten_line_says_when_it_likely_ended_and_ends_then(book, job, other, now) -> None:
    """The last thing recorded in the job is the proposal; starting elsewhere the next day ends it there."""
    clock.start_clock(book, job.number, "Ida", now)
    testing.record_step(book, job.number, VoltageStep(id="x", red="strap", reading="0.5 V"), now + 40 * MINUTE)
    tomorrow = now + 24 * HOUR
    assert clock.forgotten(clock.running(book, "Ida"), tomorrow)
    assert clock.running(book, "Ida").last_recorded == now + 40 * MINUTE
    clock.start_clock(book, other.number, "Ida", tomorrow)
    assert lines(book, job.number) == [("Ida", "", now, now + 40 * MINUTE)]


def test_clock_is_refused_without_a_person_and_after_the_hand_back(book, job, now) -> None:
    """Nobody works for nobody, and nobody works on a vehicle that is gone."""
    with pytest.raises(ClockError, match="Who works here"):
        clock.start_clock(book, job.number, "  ", now)
    with pytest.raises(ClockError, match="No clock runs for Ida"):
        clock.stop_clock(book, "Ida", now)
    assert clock.running(book, "") is None
    clock.start_clock(book, job.number, "Ida", now)
    with pytest.raises(handing.HandingError, match="still runs for Ida"):
        handing.hand_back(book, job.number, now + HOUR)
    with pytest.raises(ClockError, match="cannot end before"):
        clock.stop_clock(book, "Ida", now - MINUTE)
    clock.stop_clock(book, "Ida", now + HOUR)
    handing.hand_back(book, job.number, now + HOUR)
    with pytest.raises(ClockError, match="handed back"):
        clock.start_clock(book, job.number, "Ida", now + HOUR)


def test_line_is_put_right(book, job, now) -> None:
    """Start, end, person and work can be changed; an end before the start cannot."""
    clock.start_clock(book, job.number, "Ida", now)
    clock.stop_clock(book, "Ida", now + 3 * HOUR)
    job = clock.change_line(book, job.number, "t1", end=now + HOUR, what="Testing", person="Ben")
    assert lines(book, job.number) == [("Ben", "Testing", now, now + HOUR)]
    with pytest.raises(ClockError, match="before it began"):
        clock.change_line(book, job.number, "t1", start=now + 2 * HOUR)
    with pytest.raises(ClockError, match="Who worked"):
        clock.change_line(book, job.number, "t1", person=" ")
