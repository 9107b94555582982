"""Messages on their way out: what is written to whom, what became of it, and who may send it.

A message that is `sending` belongs to the running program named in `taken_by`. Each step from one state to the next is
one UPDATE that names the state it comes from: of two programs that try it, one finds the row as it was.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from workshop_log.book.entities import Job, OutboxMessage
from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.attached import Attached
from workshop_log.exchange.letter import Letter

WAITING, SENDING, SENT, IN_DOUBT, REFUSED, WITHDRAWN = (
    "waiting", "sending", "sent", "in doubt", "refused", "withdrawn")
# Stands in `answer` from just before the end of a message is handed over until the server has answered.
HANDED_OVER = "Handed over to the server; its answer is not here yet."


class UnknownMessageError(WorkshopLogError, LookupError):
    """There is no such message in the outbox."""

    def __init__(self) -> None:
        super().__init__("This message is no longer in the outbox: it may have been taken out in another bay.")


@dataclass(frozen=True, slots=True)
class Message:
    """A message of the outbox as it stands.

    Attributes
    ----------
    key : int
        What it is known by here.
    number : str
        The job that it is about; blank without one.
    message_id : str
        Its own name, the same at every try.
    letter : Letter
        From whom, to whom, what.
    attached : tuple[Attached, ...]
        What is attached; the bytes lie in the file store.
    state : str
        One of those above.
    tries : int
        How often it was tried.
    written_at : datetime
        When it was put into the outbox.
    tried_at, next_at, sent_at : datetime | None
        The last try, the next one, and when it left.
    taken_by : str
        Which running program sends it.
    answer : str
        Why the last try failed, or what the server answered.
    """

    key: int
    number: str
    message_id: str
    letter: Letter
    attached: tuple[Attached, ...]
    state: str
    tries: int
    written_at: datetime
    tried_at: datetime | None
    next_at: datetime | None
    sent_at: datetime | None
    taken_by: str
    answer: str


def put(session: Session, number: str, message_id: str, letter: Letter, attached: tuple[Attached, ...],
        now: datetime) -> int:
    """Put a message into the outbox and return its key."""
    job_key = session.scalar(select(Job.key).where(Job.number == number)) if number else None
    row = OutboxMessage(
        job_key=job_key, message_id=message_id, sender=letter.sender, recipients=letter.recipients,
        copies=letter.copies, subject=letter.subject, body=letter.body, attached=attached, state=WAITING, tries=0,
        written_at=now, tried_at=None, next_at=None, sent_at=None, taken_by="", answer="")
    session.add(row)
    session.flush()
    return row.key


def load_message(session: Session, key: int) -> Message:
    """Return one message.

    Raises
    ------
    UnknownMessageError
        If it is not there.
    """
    found = session.execute(_select().where(OutboxMessage.key == key)).first()
    if found is None:
        raise UnknownMessageError
    return _message(*found)


def list_messages(session: Session, *, states: tuple[str, ...] = (), limit: int | None = None) -> tuple[Message, ...]:
    """Return the messages in these states, or all, the newest first."""
    query = _select().order_by(OutboxMessage.written_at.desc(), OutboxMessage.key.desc()).limit(limit)
    if states:
        query = query.where(OutboxMessage.state.in_(states))
    return tuple(_message(*row) for row in session.execute(query))


def claim(session: Session, me: str, now: datetime) -> Message | None:
    """Take the message that has been due the longest, so that nobody else sends it; None where none is due."""
    row = OutboxMessage
    waiting = session.execute(select(row.key, row.next_at, row.written_at).where(row.state == WAITING)).all()
    due = sorted((next_at or written_at, key) for key, next_at, written_at in waiting
                 if next_at is None or next_at <= now)
    for _, key in due:
        if change(session, key, (WAITING,), state=SENDING, taken_by=me, tried_at=now, tries=row.tries + 1, answer=""):
            return load_message(session, key)
    return None


def change(session: Session, key: int, before: tuple[str, ...], *, taken_by_me: str | None = None,
           **values: Any) -> bool:
    """Set columns of a message that is in one of the states `before`; return whether it was.

    Parameters
    ----------
    session : Session
        Open.
    key : int
        The message.
    before : tuple[str, ...]
        The states that it may come from.
    taken_by_me : str, optional
        Which program has to have it.
    **values
        Columns and what they become.
    """
    row = OutboxMessage
    query = update(row).where(row.key == key, row.state.in_(before))
    if taken_by_me is not None:
        query = query.where(row.taken_by == taken_by_me)
    done = session.execute(query.values(version=row.version + 1, **values)
                           .execution_options(synchronize_session=False))
    return done.rowcount == 1


def doubt_all_unsent(session: Session) -> None:
    """Put every message that was still to be sent in doubt: the book is a copy, and they may have left since."""
    row = OutboxMessage
    session.execute(update(row).where(row.state.in_((WAITING, SENDING))).values(
        version=row.version + 1, state=IN_DOUBT, taken_by="", next_at=None,
        answer="The book was taken back from a backup: the message may have left after that was made.")
        .execution_options(synchronize_session=False))


def _select() -> Any:
    return select(OutboxMessage, Job.number).outerjoin(Job, Job.key == OutboxMessage.job_key).execution_options(
        populate_existing=True)


def _message(row: OutboxMessage, number: str | None) -> Message:
    letter = Letter(sender=row.sender, recipients=row.recipients, copies=row.copies, subject=row.subject, body=row.body)
    return Message(row.key, number or "", row.message_id, letter, row.attached, row.state, row.tries, row.written_at,
                   row.tried_at, row.next_at, row.sent_at, row.taken_by, row.answer)
