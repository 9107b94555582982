"""A job out of its rows: a handful of statements, each along an index, whatever the size of the book."""

from __future__ import annotations

import contextlib
from functools import cache

from msgspec.structs import replace
from sqlalchemy.orm import Session

from workshop_log.book import chain, rows
from workshop_log.book.errors import UnknownJobError
from workshop_log.book.rows import COLLECTIONS, Reader
from workshop_log.exchange.records import Intake, Job


def load_job(session: Session, number: str, *, photo_data: bool = False) -> Job:
    """Return the job with this number, whole.

    In a transaction that writes, other bays' changes of this job wait from here on until it is done: what is
    decided by the job as it was read still holds when it is written.

    Parameters
    ----------
    session : Session
        Open.
    number : str
        As people say it.
    photo_data : bool
        Whether photos bring their bytes, for a file; without, they are fetched one by one from the file store.

    Raises
    ------
    UnknownJobError
        If there is none.
    MissingFileError
        If bytes are wanted that are no longer there.
    """
    session.flush()
    connection = session.connection()
    readers = _readers()
    is_writing = connection.get_execution_options().get("writes", False)
    with contextlib.closing(connection.connection.cursor()) as cursor:
        head = readers["jobs to change" if is_writing else "jobs"].rows(cursor, connection.dialect, number)
        if not head:
            raise UnknownJobError(number)
        key = head[0][0]
        entries = readers["entries"].rows(cursor, connection.dialect, key)
        lists, standing = chain.evidence_of(entries)
        for name, collection in COLLECTIONS.items():
            lists[name] = rows.items(collection, readers[name].rows(cursor, connection.dialect, key))
    values = rows.head_values(head[0]) | lists
    intake = Intake(vehicle=values["vehicle"], complaints=values["complaints"], fault_codes=values["fault_codes"])
    job = Job(**values, seal=chain.seal_of(entries, intake, standing))
    return _with_photo_data(session, job) if photo_data else job


def _with_photo_data(session: Session, job: Job) -> Job:
    files = session.info["files"]
    return replace(job, photos=tuple(replace(photo, data=files.get(photo.sha256)) for photo in job.photos))


@cache
def _readers() -> dict[str, Reader]:
    return {"jobs": rows.head_reader(), "jobs to change": rows.head_reader(to_change=True),
            "entries": chain.entries_reader(),
            **{name: rows.items_reader(collection) for name, collection in COLLECTIONS.items()}}
