"""One change of one job: one transaction, and what the job waits for worked out again inside it.

Every function of this package that changes a job does it through `changing`, so that the list of jobs can never say
something else than the jobs themselves.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from workshop_log.book.errors import UnknownItemError
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.waiting import waits_for

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy.orm import Session

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job, Record


class Change:
    """A job while it is being changed.

    Attributes
    ----------
    session : Session
        The open transaction.
    number : str
        The job's number.
    job : Job
        As it was when the change began; after the change, as it then stands.
    """

    def __init__(self, session: Session, number: str, job: Job) -> None:
        self.session = session
        self.number = number
        self.job = job

    def find(self, collection: str, id: str) -> Any:  # noqa: A002
        """Return the item with this id.

        Raises
        ------
        UnknownItemError
            If there is none.
        """
        for item in getattr(self.job, collection):
            if item.id == id:
                return item
        raise UnknownItemError(self.number, collection, id)

    def set(self, **fields: Any) -> None:
        """Set fields of the job itself: handed_back, settled."""
        self.set_paths(fields)

    def set_paths(self, fields: dict[str, Any], before: dict[str, Any] | None = None) -> None:
        """Set fields by their paths; `before` is what the person saw there, see `book.jobs.set_fields`."""
        from workshop_log.book import jobs as stored

        stored.set_fields(self.session, self.number, fields, before)

    def add(self, collection: str, record: Record) -> None:
        """Add an item that is no evidence."""
        from workshop_log.book import jobs as stored

        stored.add_item(self.session, self.number, collection, record)

    def remove(self, collection: str, id: str) -> None:  # noqa: A002
        """Remove an item that is no evidence."""
        from workshop_log.book import jobs as stored

        stored.remove_item(self.session, self.number, collection, id)

    def append(self, kind: str, record: Record) -> str:
        """Enter evidence; return its fingerprint."""
        from workshop_log.book import jobs as stored

        return stored.append_entry(self.session, self.number, kind, record)


@contextmanager
def changing(book: Book, number: str) -> Iterator[Change]:
    """Open one transaction on a job; afterwards `change.job` is the job as it then stands."""
    from workshop_log.book import jobs as stored

    with book.session() as session:
        change = Change(session, number, stored.load_job(session, number))
        yield change
        change.job = renew_waiting(session, number)


def renew_waiting(session: Session, number: str) -> Job:
    """Work out what a job waits for, store it with the job, and return the job."""
    from workshop_log.book import jobs as stored
    from workshop_log.book.settings import load_settings

    job = stored.load_job(session, number)
    waiting = waits_for(job, evaluate(job, load_settings(session)))
    stored.set_waiting(session, number, waiting.key, waiting.words, waiting.since)
    return job
