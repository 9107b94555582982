"""Odd names, odd times, very long texts, and changes that meet: nothing is lost and nothing ends in a fault."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta, timezone

import pytest
from book.samples import NOW, small_job
from book.sealed import verify_job

from workshop_log.book.jobs import add_item, append_entry, insert_job, load_job, set_fields
from workshop_log.book.listing import first_page
from workshop_log.book.opening import open_book
from workshop_log.book.search import search_jobs
from workshop_log.book.times import MomentError
from workshop_log.exchange import records as r

NUMBER = "2031-0007"


@pytest.mark.parametrize("name", ["a b", "50% off %20", "what?x=1", "x#y", "ümläut", "q'uote"])
def test_a_folder_may_have_any_name(tmp_path, name):
    """The book lies where it was said, and in no file whose name is a part of that."""
    path = tmp_path / name / "book.db"
    book = open_book(path)
    with book.session() as session:
        insert_job(session, small_job(), NOW)
    book.close()
    again = open_book(f"sqlite:///{path}", create=False)
    with again.read() as session:
        assert load_job(session, NUMBER).number == NUMBER
    again.close()
    assert [row.number for row in first_page(path)] == [NUMBER]
    assert [entry.name for entry in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize("opened", [datetime(1, 1, 1, tzinfo=timezone(timedelta(hours=5))),
                                    datetime(9999, 12, 31, 23, 59, tzinfo=timezone(-timedelta(hours=5)))])
def test_a_time_at_the_end_of_the_calendar_is_refused_in_one_sentence(book, opened):
    """In UTC it would lie outside the calendar; nothing of the job is kept."""
    with pytest.raises(MomentError, match="check its year"), book.session() as session:
        insert_job(session, small_job(opened=opened), NOW)
    with book.read() as session:
        assert search_jobs(session, "Brask") == []


def test_very_long_names_and_notes_are_kept_and_found(book):
    """As long as a job file allows, in a script whose letters take four bytes, on both databases."""
    letters = [chr(0x20000 + place * 7919 % 42_000) for place in range(40_000)]
    name, phone = "".join(letters[:400]), "".join(letters[400:800])
    notes = tuple(r.Note(id=f"n{count}", at=NOW, words=" ".join(
        "".join(letters[(count * 1000 + place * 13 + at) % 40_000] for at in range(60)) for place in range(1600)))
        for count in range(12))
    with book.session() as session:
        insert_job(session, small_job(customer=r.Customer(name=name, phone=phone), notes=notes), NOW)
    with book.read() as session:
        assert load_job(session, NUMBER).notes == notes
        assert [row.number for row in search_jobs(session, name)] == [NUMBER]


def test_what_is_decided_by_a_job_still_holds_when_it_is_written(book):
    """Two bays that each read a job and give the next id wait for each other; neither loses its part."""
    with book.session() as session:
        insert_job(session, small_job(parts=()), NOW)

    def add(bay):
        for count in range(6):
            with book.session() as session:
                job = load_job(session, NUMBER)
                add_item(session, NUMBER, "parts", r.Part(id=f"p{len(job.parts) + 1}", name=f"{bay} {count}"))

    with ThreadPoolExecutor(3) as pool:
        list(pool.map(add, "abc"))
    with book.read() as session:
        assert len(load_job(session, NUMBER).parts) == 18


def test_a_job_is_read_as_it_stood_at_one_moment(book):
    """A reader never sees the field of one transaction with the evidence of another."""
    with book.session() as session:
        insert_job(session, small_job(), NOW)
    done = threading.Event()
    seen = []

    def write():
        for count in range(60):
            with book.session() as session:
                set_fields(session, NUMBER, {"vehicle.odometer": f"{count + 1} mi"})
                append_entry(session, NUMBER, "step", r.LookStep(id=f"x{count}", elements=(), result="nothing"), NOW)
        done.set()

    def read():
        while not done.is_set():
            with book.read() as session:
                check = verify_job(session, NUMBER)
            seen.append((check.intact, check.unsealed))

    with ThreadPoolExecutor(3) as pool:
        tasks = [pool.submit(work) for work in (read, read, write)]
    for task in tasks:
        task.result()
    assert set(seen) == {(True, ())}


def test_two_bays_that_take_in_the_same_file_at_once_keep_it_once(book):
    """The later one is told that the number is taken."""
    from workshop_log.book.errors import DuplicateJobError

    together = threading.Barrier(3)

    def take_in(_bay):
        together.wait()
        try:
            with book.session() as session:
                return insert_job(session, small_job("own-17"), NOW)
        except DuplicateJobError:
            return None

    with ThreadPoolExecutor(3) as pool:
        assert sorted(pool.map(take_in, range(3)), key=str) == [None, None, "own-17"]
