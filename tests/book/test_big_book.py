"""The big book for measuring, made small: what is measured must be true jobs."""

from __future__ import annotations

import importlib.util
import sqlite3
from pathlib import Path

import pytest
from book.sealed import verify_job
from sqlalchemy import func, select

from workshop_log.book import entities
from workshop_log.book.jobs import append_entry, insert_job, load_job, next_number
from workshop_log.book.listing import list_jobs
from workshop_log.book.opening import open_book
from workshop_log.book.search import search_jobs
from workshop_log.book.search_text import job_texts
from workshop_log.exchange import records as r
from workshop_log.exchange.reading import check_job

_FILE = Path(__file__).parents[2] / "packaging" / "big_book.py"


@pytest.fixture(scope="module")
def big_book():
    spec = importlib.util.spec_from_file_location("big_book", _FILE)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_its_jobs_are_whole_and_their_chains_intact(big_book, book):
    """Each is what the program itself would have kept: chain, search, list, numbers."""
    big_book.make_big_book(book.url, 500, 4_000)
    with book.read() as session:
        count = select(func.count()).select_from(entities.Entry)
        assert session.scalar(count.where(entities.Entry.kind == "step")) == 4_000
        rows = list_jobs(session, limit=1000)
        assert len(rows) == 500
        assert [row.waits_for != "Waits for: nothing" for row in rows].count(True) == 2
        for row in rows[::50]:
            job = load_job(session, row.number)
            assert len(job.steps) == 8
            assert verify_job(session, row.number).intact
            assert [finding for finding in check_job(job) if finding.severity == "error"] == []
            kept = session.scalars(select(entities.SearchText).join(entities.Job).where(
                entities.Job.number == row.number)).one()
            for name, words in job_texts(job).items():
                # Points and setups of the steps are left out there; nobody searches for them.
                assert set(getattr(kept, name).split()) <= set(words.split())
            assert row.number in [found.number for found in search_jobs(session, row.registration)]
    with book.session() as session:
        number = insert_job(session, r.Job(number=next_number(session, rows[0].opened)))
        append_entry(session, number, "step", r.LookStep(id="s1", elements=(), result="nothing"))


def test_it_is_the_same_each_time(big_book, tmp_path):
    """Figures of two runs can be compared."""
    dumps = []
    for name in ("one", "other"):
        path = tmp_path / f"{name}.db"
        open_book(path).close()
        big_book.make_big_book(path, 40, 200)
        connection = sqlite3.connect(path)
        dumps.append([connection.execute(f"SELECT * FROM {table}").fetchall()
                      for table in ("jobs", "entries", "search_texts", "customers")])
        connection.close()
    assert dumps[0] == dumps[1]


def test_more_jobs_than_customers_are_refused(big_book, tmp_path):
    """Two jobs would claim one customer."""
    with pytest.raises(ValueError, match="132000"):
        big_book.make_big_book(tmp_path / "book.db", 132_001)
