"""What is attached to a message: a file by its name and fingerprint."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta

from workshop_log.exchange.records import Line, Record


class Attached(Record, kw_only=True):
    """One file of a message; its bytes lie in the book's file store."""

    name: Line
    media_type: Line = "application/pdf"
    sha256: Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
    # In bytes.
    size: int
    # Whom it was made for, where it is a report: it enters the job's record when the message has left.
    reader: Literal["", "customer", "expert"] = ""
