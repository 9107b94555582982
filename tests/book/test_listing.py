"""The list of jobs, before and after SQLAlchemy is there."""

from __future__ import annotations

import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from book.samples import NOW, small_job

from workshop_log.book.jobs import insert_job, set_waiting
from workshop_log.book.listing import FIRST_PAGE_SQL, PAGE, WAITING_ORDER, JobRow, first_page, list_jobs
from workshop_log.exchange import records as r
from workshop_log.jobs.waiting import WORDS

PROJECT = Path(__file__).parents[2]


def put(book, number, key=None, since=None, **changed):
    with book.session() as session:
        insert_job(session, small_job(number, **changed), NOW)
        if key is not None:
            set_waiting(session, number, key, WORDS[key], since)


def numbers(book, **how):
    with book.read() as session:
        return [row.number for row in list_jobs(session, **how)]


def test_the_order_knows_everything_a_job_can_wait_for():
    """What is waited for is worked out elsewhere; the list must know the same keys in the same order."""
    assert tuple(WORDS) == WAITING_ORDER


def test_jobs_stand_by_what_they_wait_for_the_longest_wait_first(book):
    """Finished ones come last, the newest of them first; one that nobody has worked out yet stands on top."""
    put(book, "a", "nothing", NOW)
    put(book, "b", "repair", NOW)
    put(book, "c", "approval", NOW)
    put(book, "d", "repair", NOW - timedelta(days=2))
    put(book, "e", "nothing", NOW + timedelta(days=1))
    put(book, "f")
    put(book, "g", "approval", None, opened=NOW - timedelta(days=9))
    put(book, "h", "complaint to describe", NOW + timedelta(days=3))
    assert numbers(book) == ["f", "h", "g", "c", "d", "b", "e", "a"]


def test_the_offset_of_a_clock_does_not_change_the_order(book):
    """10:00 in one zone is before 09:30 in another that is an hour behind."""
    from datetime import timezone

    put(book, "later", "part", NOW.astimezone(timezone(timedelta(hours=-5))) + timedelta(minutes=1))
    put(book, "sooner", "part", NOW.astimezone(timezone(timedelta(hours=9))))
    assert numbers(book) == ["sooner", "later"]


def test_a_row_says_what_the_list_shows(book):
    """Plate, vehicle, first complaint, customer, what it waits for and since when."""
    put(book, "2031-0007", "part", NOW)
    job = small_job()
    with book.read() as session:
        assert list_jobs(session) == [JobRow(
            "2031-0007", "ZZ00 KLD", "Brannick Tarn 2026", "The rear lamp flickers.", "Ottoline Brásk",
            "Waits for a part", NOW, job.opened)]


def test_pages_give_every_job_once(book):
    """Going on after the last row of a page neither repeats nor leaves out a job, also among equal times."""
    for count in range(7):
        put(book, f"n{count}", "part", NOW, complaints=(), photos=())
    first = numbers(book, limit=3)
    second = numbers(book, limit=3, after=first[-1])
    third = numbers(book, limit=3, after=second[-1])
    assert [*first, *second, *third] == numbers(book)
    assert numbers(book, after=third[-1]) == []


def test_the_first_page_is_the_same_without_sqlalchemy(file_book):
    """The window may show it before anything heavy is loaded."""
    keys = list(WORDS)
    for count in range(PAGE + 5):
        since = None if count % 5 == 0 else NOW - timedelta(hours=count * 7 % 11)
        vehicle = r.Vehicle(registration=f"ZZ{count:02}", year=None if count % 3 else 2020)
        put(file_book, f"n{count}", keys[count % len(keys)], since, photos=(), vehicle=vehicle,
            complaints=() if count % 4 == 0 else (r.Complaint(id="c1", words="x" * 500),))
    rows = first_page(file_book.path)
    with file_book.read() as session:
        assert rows == list_jobs(session)
    assert len(rows) == PAGE


def test_the_first_page_uses_the_index(file_book):
    """A hundred thousand jobs must not be sorted for fifty rows."""
    import sqlite3

    connection = sqlite3.connect(file_book.path)
    plan = " ".join(row[3] for row in connection.execute(f"EXPLAIN QUERY PLAN {FIRST_PAGE_SQL}"))
    connection.close()
    assert "ix_jobs_list" in plan
    assert "TEMP B-TREE" not in plan


@pytest.mark.parametrize("content", [None, b"", b"not a book at all", b"SQLite format 3\x00" + b"\xa5" * 5000])
def test_without_a_readable_book_the_first_page_is_empty(tmp_path, content):
    """What is wrong is said by opening the book, a moment later."""
    path = tmp_path / "book.db"
    if content is not None:
        path.write_bytes(content)
    assert first_page(path) == []


def test_a_book_of_another_release_is_not_read(file_book):
    """Its tables may mean something else until they are brought up to date."""
    from sqlalchemy import text

    put(file_book, "2031-0007")
    with file_book.session() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '0000'"))
    assert first_page(file_book.path) == []


def test_the_list_loads_nothing_heavy():
    """Importing it must not cost the window its start."""
    heavy = ("sqlalchemy", "alembic", "pint", "msgspec", "psycopg")
    done = subprocess.run(
        [sys.executable, "-c", "import sys; import workshop_log.book.listing, workshop_log.book.place; "
         f"print([name for name in {heavy!r} if name in sys.modules])"],
        capture_output=True, text=True, check=True, cwd=PROJECT)
    assert done.stdout.strip() == "[]"
