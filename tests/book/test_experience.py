"""What the newest jobs say about the workshop, on both kinds of database."""

from __future__ import annotations

from datetime import timedelta

import pytest
from book.samples import NOW

from workshop_log.book import experience
from workshop_log.book.experience import Outcome, newest_outcomes, newest_steps
from workshop_log.book.jobs import append_entry, insert_job
from workshop_log.exchange import records as r

MINUTE = timedelta(minutes=1)
FEED = r.Circuit(id="feed", elements=(
    r.Element(id="F7", kind="fuse", between=("B+", "p")), r.Element(id="C1", kind="contact", between=("p", "q")),
    r.Element(id="C2", kind="contact", between=("q", "B-"))))


def put(book, number, **lists):
    with book.session() as session:
        insert_job(session, r.Job(number=number, circuits=(FEED,), **lists), NOW)


def judged(id_, element="C1", *, was_the_cause=True, **changed):
    facts = {"part": "the part", "circuit": "feed", "element": element, "decision": "replace", "repaired": NOW}
    return r.Condemned(id=id_, was_the_cause=was_the_cause, **facts | changed)


def outcomes(book):
    with book.read() as session:
        return newest_outcomes(session)


def test_steps_come_newest_first_with_their_jobs_clock(book):
    """Of each step what tells its time; of another job's clock nothing."""
    line = r.TimeLine(id="t1", person="Mara", start=NOW, end=NOW + 40 * MINUTE)
    put(book, "1", clock=(line,), steps=(
        r.VoltageStep(id="s1", at=NOW, circuit="feed", red="B+", reading="12.6 V", minutes=3),
        r.LookStep(id="s2", at=NOW + MINUTE, setup="cold", elements=(), result="nothing", after_repair=True)))
    put(book, "2", clock=(r.TimeLine(id="t1", person="Ned", start=NOW),))
    with book.session() as session:
        append_entry(session, "1", "step", r.SwapStep(id="s3", element="relay", cured=True, replaces="s1",
                                                      because="the other one"), NOW)
    with book.read() as session:
        steps, lines = newest_steps(session)
    assert [(step.kind, step.at, step.place, step.minutes, step.is_correction) for step in steps] == [
        ("swap", None, (None, "", False), None, True),
        ("look", NOW + MINUTE, (None, "cold", True), None, False),
        ("voltage", NOW, ("feed", "", False), 3.0, False)]
    assert [(line.start, line.end) for line in lines] == [(NOW, NOW + 40 * MINUTE)]
    assert {step.job for step in steps} == {line.job for line in lines}


def test_only_the_newest_steps_are_looked_at(book, monkeypatch):
    """A big book costs no more than a small one."""
    monkeypatch.setattr(experience, "_MOST_STEPS", 3)
    put(book, "1", steps=tuple(r.LookStep(id=f"s{n}", elements=(), result="nothing", minutes=n) for n in range(1, 8)))
    with book.read() as session:
        assert [step.minutes for step in newest_steps(session)[0]] == [7, 6, 5]


def test_the_last_decision_about_a_part_is_its_outcome(book):
    """What it replaced does not count again; considered, let off and not judged parts have no outcome."""
    put(book, "1", condemned=(
        judged("k1", was_the_cause=None), judged("k2", replaces="k1", because="it was the cause"),
        judged("k3", "F7", decision="let off"), judged("k4", "F7", was_the_cause=None),
        judged("k5", "F7", repaired=None), judged("k6", "F7", was_the_cause=False)))
    assert outcomes(book) == [Outcome(frozenset({"fuse"}), False), Outcome(frozenset({"contact"}), True)]


def test_a_judgement_taken_back_counts_as_it_is_now(book):
    """It came back after a week: the later entry says that it was not the cause."""
    put(book, "1", condemned=(judged("k1"), judged("k2", was_the_cause=False, replaces="k1", because="came back")))
    assert outcomes(book) == [Outcome(frozenset({"contact"}), False)]


def test_kinds_are_those_of_the_jobs_own_circuit_as_it_stood_last(book):
    """Another job's element of the same name is another part; one that is not described has no kind."""
    put(book, "1", condemned=(judged("k1", "C2"),))
    with book.session() as session:
        redrawn = r.Circuit(id="feed", elements=(
            *FEED.elements[:2], r.Element(id="C2", kind="ground point", between=("q", "B-"))))
        append_entry(session, "1", "circuit", redrawn, NOW)
    put(book, "2", condemned=(judged("k1", "C2"), judged("k2", "C9"), judged("k3", None),
                              judged("k4", circuit=None, element=None),
                              judged("k5", "C1", together=("C1", "F7"), was_the_cause=False)))
    assert outcomes(book) == [Outcome(frozenset({"contact", "fuse"}), False), Outcome(frozenset({"contact"}), True),
                              Outcome(frozenset({"ground point"}), True)]


@pytest.mark.parametrize("count", [1, 7])
def test_an_empty_and_a_large_number_of_jobs_have_their_outcomes(book, monkeypatch, count):
    """Jobs are asked for in portions."""
    monkeypatch.setattr(experience, "_AT_ONCE", 2)
    assert outcomes(book) == []
    for number in range(count):
        put(book, f"{number}", condemned=(judged("k1"),))
    assert outcomes(book) == [Outcome(frozenset({"contact"}), True)] * count


def test_the_decisions_are_found_by_their_index(book):
    """Among a million readings a few decisions are not searched for one by one."""
    from sqlalchemy import event, text

    said = []
    with book.read() as session:
        event.listen(session.connection(), "before_cursor_execute",
                     lambda _c, _cursor, statement, parameters, *_: said.append((statement, parameters)))
        newest_outcomes(session)
    statement = next(statement for statement, _ in said if "condemned" in statement)
    assert "entries.kind = 'condemned'" in statement
    if not book.is_shared:
        with book.read() as session:
            plan = session.connection().exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", said[0][1]).fetchall()
            assert any("ix_entries_condemned" in row[3] for row in plan), plan
            assert session.scalar(text("SELECT count(*) FROM entries")) == 0
