"""Second opinions: the mark that leads an answer back to its job, and the answers laid beside jobs.

A mark is made of the job's number with a key that only this book knows: the colleague learns nothing from it, not even
by trying plates out against a fingerprint, and every question about one job carries the same one.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import select, text
from sqlalchemy.orm import Session

from workshop_log.book import entities
from workshop_log.book.errors import UnknownJobError

# Kept with the settings, but none of them: nobody sets it.
_KEY_NAME = "opinion key"
# Two bays that ask at the same moment must end with the same key.
_KEEP_KEY = text("INSERT INTO settings (name, value, version) VALUES (:name, :value, 1) ON CONFLICT (name) DO NOTHING")


class LaidBeside(NamedTuple):
    """One answer laid beside a job.

    Attributes
    ----------
    by : str
        From whom, as the technician said.
    sha256 : str
        The fingerprint of the answer's file in the file store.
    """

    received_at: datetime
    by: str
    sha256: str


def mark_of(session: Session, number: str) -> str:
    """Return the mark of a job, 64 hexadecimal characters; the first in a book makes its key, so a session that writes.

    Raises
    ------
    UnknownJobError
        If there is no such job.
    """
    _key_of(session, number)
    return _mark(_secret(session) or _new_secret(session), number)


def job_of_mark(session: Session, mark: str) -> str | None:
    """Return the number of the job whose mark this is; None where it is none of this book's."""
    secret = _secret(session)
    if not mark or secret is None:
        return None
    numbers: Iterator[str] = session.scalars(select(entities.Job.number))
    return next((number for number in numbers if hmac.compare_digest(_mark(secret, number), mark)), None)


def add_opinion(session: Session, number: str, sha256: str, by: str, received_at: datetime) -> bool:
    """Lay an answer, whose bytes the file store has, beside a job; return False where it lies there already."""
    key = _key_of(session, number)
    opinion = entities.Opinion
    if session.scalar(select(opinion.key).where(opinion.job_key == key, opinion.sha256 == sha256)) is not None:
        return False
    session.add(opinion(job_key=key, received_at=received_at, by=by, sha256=sha256))
    session.flush()
    # Other bays show it, too.
    session.info.setdefault("changed", set()).add(number)
    return True


def opinions_on(session: Session, number: str) -> tuple[LaidBeside, ...]:
    """Return the answers laid beside a job, in the order in which they came."""
    opinion = entities.Opinion
    query = (select(opinion.received_at, opinion.by, opinion.sha256)
             .join(entities.Job, entities.Job.key == opinion.job_key).where(entities.Job.number == number)
             .order_by(opinion.key))
    return tuple(LaidBeside(*row) for row in session.execute(query))


def _key_of(session: Session, number: str) -> int:
    key = session.scalar(select(entities.Job.key).where(entities.Job.number == number))
    if key is None:
        raise UnknownJobError(number)
    return key


def _secret(session: Session) -> str | None:
    value = session.scalar(select(entities.Setting.value).where(entities.Setting.name == _KEY_NAME))
    return None if value is None else json.loads(value)


def _new_secret(session: Session) -> str:
    session.execute(_KEEP_KEY, {"name": _KEY_NAME, "value": json.dumps(secrets.token_hex(32))})
    return _secret(session)


def _mark(secret: str, number: str) -> str:
    return hmac.new(bytes.fromhex(secret), number.encode(), hashlib.sha256).hexdigest()
