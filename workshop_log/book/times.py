"""A moment as text that sorts by time and keeps the offset that was typed.

`2031-04-02T07:35:00.000000Z+01:00` is 08:35 on a clock one hour ahead of UTC: first the moment in UTC, in a fixed
width, then the offset of the clock that it was read from.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from functools import lru_cache

from workshop_log.errors import WorkshopLogError

# Where the moment in UTC ends; behind it stand Z and the offset.
_WIDTH = 26


class MomentError(WorkshopLogError, ValueError):
    """A time that cannot be kept."""


def text_of(moment: datetime) -> str:
    """Return the text of an aware moment.

    Raises
    ------
    MomentError
        If the moment does not say in which zone it is, or lies outside the calendar in UTC.
    """
    offset = moment.utcoffset()
    if offset is None:
        raise MomentError(f"{moment} has no time zone.")
    try:
        utc = moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds")
    except OverflowError as error:
        raise MomentError(f"The time {moment.isoformat()} lies at the end of the calendar: check its year.") from error
    sign, size = ("-", -offset) if offset < timedelta(0) else ("+", offset)
    minutes, seconds = divmod(int(size.total_seconds()), 60)
    tail = f":{seconds:02}" if seconds else ""
    return f"{utc}Z{sign}{minutes // 60:02}:{minutes % 60:02}{tail}"


def moment_of(text: str) -> datetime:
    """Return the moment that a text of `text_of` says, on the clock that it was read from."""
    zone = _zone(text[_WIDTH + 1:])
    return (datetime.fromisoformat(text[:_WIDTH]) + zone.utcoffset(None)).replace(tzinfo=zone)


def microseconds(moment: datetime) -> int:
    """Return the microseconds since 1970, for sorting."""
    return (moment - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(microseconds=1)


@lru_cache(maxsize=256)
def _zone(text: str) -> timezone:
    hours, minutes, *seconds = (int(part) for part in text[1:].split(":"))
    offset = timedelta(hours=hours, minutes=minutes, seconds=seconds[0] if seconds else 0)
    return timezone(-offset if text[0] == "-" else offset) if offset else UTC
