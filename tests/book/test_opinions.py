"""Marks lead back to their job in this book alone; answers lie beside jobs, once each, and travel with a backup."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest

from workshop_log.book.backup import backup, restore
from workshop_log.book.errors import UnknownJobError
from workshop_log.book.jobs import insert_job
from workshop_log.book.opening import open_book
from workshop_log.book.opinions import LaidBeside, add_opinion, job_of_mark, mark_of, opinions_on
from workshop_log.book.settings import Settings, load_settings
from workshop_log.exchange.records import Job

FIRST, SECOND = "2031-0007", "2031-0008"


@pytest.fixture
def two_jobs(book, now):
    with book.session() as session:
        for number in (FIRST, SECOND):
            insert_job(session, Job(number=number, opened=now), now)
    return book


def mark(book, number):
    with book.session() as session:
        return mark_of(session, number)


def test_a_mark_leads_back_to_its_job(two_jobs):
    """The same each time, another one for each job, of the form that a job file may carry."""
    first, second = mark(two_jobs, FIRST), mark(two_jobs, SECOND)
    assert re.fullmatch("[0-9a-f]{64}", first)
    assert mark(two_jobs, FIRST) == first != second
    with two_jobs.read() as session:
        assert [job_of_mark(session, told) for told in (first, second, "0" * 64, "")] == [FIRST, SECOND, None, None]
        # The key of the marks is no setting that anybody sees.
        assert load_settings(session) == Settings()


def test_a_book_that_never_asked_knows_no_mark(two_jobs):
    """And a job that is not there has none."""
    with two_jobs.read() as session:
        assert job_of_mark(session, "0" * 64) is None
    with pytest.raises(UnknownJobError):
        mark(two_jobs, "2031-9999")


def test_bays_that_ask_at_the_same_moment_get_marks_of_one_key(two_jobs):
    """Else one of the two answers would never find its job."""
    with ThreadPoolExecutor(4) as pool:
        marks = set(pool.map(lambda _: mark(two_jobs, FIRST), range(8)))
    assert marks == {mark(two_jobs, FIRST)}


def test_an_answer_lies_beside_its_job_once_in_the_order_in_which_it_came(two_jobs, now):
    """The same file beside another job is another thing."""
    with two_jobs.session() as session:
        assert add_opinion(session, FIRST, "a" * 64, "Ostrel Venn", now)
        assert add_opinion(session, FIRST, "b" * 64, "Kestrel Moor", now + timedelta(days=1))
        assert not add_opinion(session, FIRST, "a" * 64, "somebody else", now + timedelta(days=2))
        assert add_opinion(session, SECOND, "a" * 64, "Ostrel Venn", now)
    with two_jobs.read() as session:
        assert opinions_on(session, FIRST) == (
            LaidBeside(now, "Ostrel Venn", "a" * 64), LaidBeside(now + timedelta(days=1), "Kestrel Moor", "b" * 64))
        assert opinions_on(session, "2031-9999") == ()
    with two_jobs.session() as session, pytest.raises(UnknownJobError):
        add_opinion(session, "2031-9999", "a" * 64, "", now)


def test_answers_and_marks_come_back_with_a_backup(file_book, now, tmp_path):
    """With their bytes: an answer to a question that was asked before still finds its job."""
    with file_book.session() as session:
        insert_job(session, Job(number=FIRST, opened=now), now)
    sha256 = file_book.files.put(b"an answer")
    asked = mark(file_book, FIRST)
    with file_book.session() as session:
        add_opinion(session, FIRST, sha256, "Ostrel Venn", now)
    backup(file_book, tmp_path / "all.backup")
    target = tmp_path / "elsewhere" / "book.db"
    target.parent.mkdir()
    restore(tmp_path / "all.backup", str(target))
    back = open_book(str(target))
    with back.read() as session:
        assert job_of_mark(session, asked) == FIRST
        assert opinions_on(session, FIRST) == (LaidBeside(now, "Ostrel Venn", sha256),)
    assert back.files.get(sha256) == b"an answer"
    back.close()
