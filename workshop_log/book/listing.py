"""The list of jobs: what each waits for, and since when.

Light on purpose: the window shows its first page before SQLAlchemy is loaded. `first_page` reads the file with
Python's own sqlite3; `list_jobs` gives the same rows from any book, page by page.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from workshop_log.book.schema_version import CURRENT
from workshop_log.book.times import moment_of

if TYPE_CHECKING:
    from sqlalchemy import Select
    from sqlalchemy.orm import Session

# In the order in which a workshop looks for something to do; unknown to the list, a job stands on top.
WAITING_ORDER = ("complaint to describe", "complaint to confirm", "approval", "part", "finding the cause", "repair",
                 "proving the repair", "report", "hand-back", "bill", "nothing")
FINISHED = "nothing"
PAGE = 50

_COLUMNS = """
    jobs.number, jobs.vehicle_registration, jobs.vehicle_make, jobs.vehicle_model, jobs.vehicle_year,
    (SELECT substr(complaints.words, 1, 400) FROM complaints WHERE complaints.job_key = jobs.key
     ORDER BY complaints.place LIMIT 1),
    jobs.customer_name, jobs.waits_for, jobs.waits_since, jobs.opened"""
FIRST_PAGE_SQL = f"SELECT {_COLUMNS} FROM jobs ORDER BY list_group, list_order, key LIMIT {PAGE}"


class JobRow(NamedTuple):
    """One job in the list."""

    number: str
    registration: str
    # Make, model and year.
    vehicle: str
    # The first complaint.
    complaint: str
    customer: str
    waits_for: str
    waits_since: datetime | None
    opened: datetime | None


def group_of(key: str) -> int:
    """Return where in the list the jobs stand that wait for this; a job nobody has worked out yet stands on top."""
    return WAITING_ORDER.index(key) + 1 if key in WAITING_ORDER else 0


def first_page(path: str | os.PathLike[str]) -> list[JobRow]:
    """Return the first page of the list from a book's file; nothing where there is no book of this release yet.

    A file that cannot be read gives nothing here: opening the book, a moment later, says what is wrong with it.
    """
    path = Path(path)
    if not path.is_file():
        return []
    try:
        with contextlib.closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=1)) as book:
            if book.execute("SELECT version_num FROM alembic_version").fetchone() != (CURRENT,):
                return []
            return [_row(values) for values in book.execute(FIRST_PAGE_SQL)]
    except sqlite3.DatabaseError:
        return []


def list_jobs(session: Session, *, after: str | None = None, limit: int = PAGE) -> list[JobRow]:
    """Return a page of the list.

    Parameters
    ----------
    session : Session
        Open.
    after : str, optional
        The number of the last job of the page before.
    limit : int
        How many at most.
    """
    from sqlalchemy import select, tuple_

    from workshop_log.book import entities

    job = entities.Job
    order = (job.list_group, job.list_order, job.key)
    query = select(*row_columns()).order_by(*order).limit(limit)
    if after is not None:
        last = session.execute(select(*order).where(job.number == after)).first()
        if last is None:
            return []
        query = query.where(tuple_(*order) > tuple_(*last))
    return rows_of(session, query)


def row_columns() -> list[Any]:
    """Return the columns from which `rows_of` makes rows."""
    from sqlalchemy import func, select

    from workshop_log.book import entities

    job, complaint = entities.Job, entities.Complaint
    first = (select(func.substr(complaint.words, 1, 400)).where(complaint.job_key == job.key)
             .order_by(complaint.place).limit(1).scalar_subquery())
    return [job.number, job.vehicle_registration, job.vehicle_make, job.vehicle_model, job.vehicle_year, first,
            job.customer_name, job.waits_for, job.waits_since, job.opened]


def rows_of(session: Session, query: Select[Any]) -> list[JobRow]:
    """Return the rows of a query for `row_columns`."""
    return [_row(values) for values in session.execute(query)]


def _row(values: Sequence[Any]) -> JobRow:
    number, registration, make, model, year, complaint, customer, waits_for, since, opened = values
    vehicle = " ".join(part for part in (make, model, str(year or "")) if part)
    return JobRow(number, registration, vehicle, complaint or "", customer, waits_for, _moment(since), _moment(opened))


def _moment(value: Any) -> datetime | None:
    return moment_of(value) if isinstance(value, str) else value
