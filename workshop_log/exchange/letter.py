"""What is written to whom: an email before it is bytes."""

from __future__ import annotations

from workshop_log.exchange.records import Line, Record, Words


class Letter(Record, kw_only=True):
    """An email as a person reads it; an address may carry a name: `Ottoline Brásk <o.brask@example.org>`."""

    sender: Line = ""
    recipients: tuple[Line, ...] = ()
    copies: tuple[Line, ...] = ()
    subject: Line = ""
    body: Words = ""
