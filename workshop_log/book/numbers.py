"""The numbers of jobs: the year, a hyphen, and a count that starts anew each year. A number is given once."""

from __future__ import annotations

import re
from datetime import datetime

from sqlalchemy import text
from sqlalchemy.orm import Session

_NUMBER = re.compile(r"(\d{4})-(\d{1,9})", re.ASCII)
# One row for each year: two bays that take in at the same moment wait for each other here.
_NEXT = text("INSERT INTO counters (name, last) VALUES (:year, 1) "
             "ON CONFLICT (name) DO UPDATE SET last = counters.last + 1 RETURNING last")
_AT_LEAST = text("INSERT INTO counters (name, last) VALUES (:year, :last) "
                 "ON CONFLICT (name) DO UPDATE SET last = excluded.last WHERE counters.last < excluded.last")


def next_number(session: Session, now: datetime) -> str:
    """Return a number that no job has and none will have, such as 2031-0007; `now` gives the year."""
    year = f"{now:%Y}"
    count = session.execute(_NEXT, {"year": year}).scalar_one()
    return f"{year}-{count:04}"


def note_number(session: Session, number: str) -> None:
    """Never give this number again: a job came with it."""
    match = _NUMBER.fullmatch(number)
    if match:
        session.execute(_AT_LEAST, {"year": match[1], "last": int(match[2])})
