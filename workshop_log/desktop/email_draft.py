"""An email that is being written is kept in the book until it is sent: Escape or a crash loses none of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

if TYPE_CHECKING:
    from workshop_log.desktop.desk import Desk


class Written(msgspec.Struct, frozen=True):
    """What stands in the fields, right or wrong."""

    to: str
    copy: str
    subject: str
    text: str


def load(desk: Desk, number: str, what: str) -> Written | None:
    """Return what was written on a paper of a job and not sent yet; nothing where there is none."""
    from workshop_log.book.drafts import load_draft

    with desk.book.read() as session:
        words = load_draft(session, _key(number, what))
    try:
        return msgspec.json.decode(words, type=Written) if words else None
    except msgspec.MsgspecError:
        # Of another release: the letter is proposed anew.
        return None


def save(desk: Desk, number: str, what: str, written: Written | None) -> None:
    """Keep what is written; None forgets it."""
    from workshop_log.book.drafts import save_draft

    with desk.book.session() as session:
        save_draft(session, _key(number, what), msgspec.json.encode(written).decode() if written else "")


def _key(number: str, what: str) -> str:
    return f"{number}/email {what}"
