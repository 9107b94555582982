"""How a workshop's papers look and how its mail goes out: the workshop's own settings, in no job file."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta

from workshop_log.exchange.records import Line, Record, Words

Colour = Annotated[str, Meta(pattern="^#[0-9A-Fa-f]{6}$")]
ACCENT, INK = "#0B5D5E", "#1C1F24"


class Stationery(Record, kw_only=True):
    """What makes the papers of one workshop its own. The letterhead's words are those of `records.Workshop`."""

    # The fingerprint of the logo's picture in the book's file store; blank without one.
    logo: str = ""
    # Headings and rules.
    accent: Colour = ACCENT
    # The text itself.
    ink: Colour = INK
    # Printed below an estimate and an invoice summary: how long it holds, how it is paid.
    terms: Words = ""
    # One line at the end of the report's first page: thanks, opening hours.
    closing: Line = ""
    # For how long a removed part is kept for its owner to see.
    keep_days: Annotated[int, Meta(ge=0, le=3650)] = 30


class MailAccount(Record, kw_only=True):
    """How the workshop's mail goes out. The password is never here: it is in the system's keyring, or asked for."""

    server: Line = ""
    port: Annotated[int, Meta(ge=1, le=65535)] = 587
    security: Literal["STARTTLS", "TLS"] = "STARTTLS"
    # The login; blank where the server asks for none.
    user: Line = ""
    # The address that mail comes from; the workshop's own where it is blank.
    sender: Line = ""
    # A file with the certificate of an authority of one's own, on this machine; blank for those of the system.
    authority: Line = ""
