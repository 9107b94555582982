"""The outbox: put a message in, take one to send it, say what became of it; a report that has left enters the record.

A message is sent at most once without a person saying otherwise. Whoever takes one marks it just before its end is
handed to the server. After a crash a message without that mark waits again, because nothing was handed over whole; one
with the mark is in doubt, and a person who asks the receiver decides.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.attached import Attached
from workshop_log.jobs.change import changing
from workshop_log.jobs.handing import enter_report

if TYPE_CHECKING:
    from datetime import datetime
    from typing import Literal

    from workshop_log.book.opening import Book
    from workshop_log.book.outbox import Message
    from workshop_log.exchange.letter import Letter

# After so many minutes it is tried again, then every hour.
GAPS_MIN = (1, 2, 5, 15, 30, 60)
# For so long it is tried, but once round all gaps even where the program was closed meanwhile.
TRIED_FOR = timedelta(days=3)
# No try takes longer than this, see `delivery.smtp.Patience`: whoever has had a message for longer has gone.
LONGEST_TRY = timedelta(hours=1)
_GONE = "The program ended before the server's answer came: it may have arrived or not. Ask whom it was for."


class OutboxError(WorkshopLogError, RuntimeError):
    """Something that cannot be done with a message as it now stands."""


def put(book: Book, number: str, message_id: str, letter: Letter,
        files: tuple[tuple[str, str, bytes, Literal["", "customer", "expert"]], ...], now: datetime) -> Message:
    """Put a message into the outbox, with its files exactly as they are.

    Parameters
    ----------
    book : Book
        Whose outbox.
    number : str
        The job that it is about.
    message_id : str
        The message's own name.
    letter : Letter
        Checked.
    files : tuple
        Of each file its name, media type, bytes, and whom it is for where it is a report.
    now : datetime
        The message's date.
    """
    from workshop_log.book import outbox

    # The files first: a message without its files would be worse than files that nothing names.
    attached = tuple(Attached(name=name, media_type=kind, sha256=book.files.put(data), size=len(data), reader=reader)
                     for name, kind, data, reader in files)
    with book.session() as session:
        return outbox.load_message(session, outbox.put(session, number, message_id, letter, attached, now))


def messages(book: Book, limit: int | None = None) -> tuple[Message, ...]:
    """Return the messages of the outbox, the newest first."""
    from workshop_log.book import outbox

    with book.read() as session:
        return outbox.list_messages(session, limit=limit)


# --- whoever sends --------------------------------------------------------------------------------------------------


def is_any_due(book: Book, now: datetime) -> bool:
    """Return whether a message waits for a try."""
    from workshop_log.book import outbox

    with book.read() as session:
        waiting = outbox.list_messages(session, states=(outbox.WAITING,))
    return any(message.next_at is None or message.next_at <= now for message in waiting)


def claim(book: Book, me: str, now: datetime) -> Message | None:
    """Take the message that has been due the longest; None where none is due."""
    from workshop_log.book import outbox

    with book.session() as session:
        return outbox.claim(session, me, now)


def mark_handed_over(book: Book, key: int, me: str) -> bool:
    """Note that the end of a message is about to be handed over; return whether it is still ours to send."""
    from workshop_log.book import outbox

    with book.session() as session:
        return outbox.change(session, key, (outbox.SENDING,), taken_by_me=me, answer=outbox.HANDED_OVER)


def note_left(book: Book, key: int, answer: str, now: datetime) -> Message:
    """Note that the server took a message, and enter its reports into the job's record, once."""
    from workshop_log.book import outbox

    return _sent(book, key, (outbox.SENDING, outbox.IN_DOUBT), answer, now)


def note_not_sent(book: Book, key: int, me: str, answer: str, now: datetime) -> Message:
    """Note that a try failed, and when the next one is due; after three days it is given up."""
    from workshop_log.book import outbox

    with book.session() as session:
        message = outbox.load_message(session, key)
        is_over = now - message.written_at >= TRIED_FOR and message.tries >= len(GAPS_MIN)
        gap = timedelta(minutes=GAPS_MIN[min(max(message.tries, 1), len(GAPS_MIN)) - 1])
        values = ({"state": outbox.REFUSED, "next_at": None, "answer": f"{answer} It was tried for three days."}
                  if is_over else {"state": outbox.WAITING, "next_at": now + gap, "answer": answer})
        outbox.change(session, key, (outbox.SENDING,), taken_by_me=me, taken_by="", **values)
        return outbox.load_message(session, key)


def give_back(book: Book, key: int, me: str, answer: str, before: Message) -> Message:
    """Let a message wait as it did before it was taken: the try did not come as far as the message."""
    from workshop_log.book import outbox

    with book.session() as session:
        outbox.change(session, key, (outbox.SENDING,), taken_by_me=me, taken_by="", state=outbox.WAITING,
                      next_at=before.next_at, tries=before.tries - 1, answer=answer)
        return outbox.load_message(session, key)


def note_refused(book: Book, key: int, me: str, answer: str) -> Message:
    """Note that the server will not take a message as it is."""
    return _ends(book, key, me, "refused", answer)


def note_in_doubt(book: Book, key: int, me: str, answer: str) -> Message:
    """Note that nobody knows whether a message has arrived."""
    return _ends(book, key, me, "in doubt", answer)


def free_left_behind(book: Book, me: str, now: datetime, *, is_alone: bool) -> tuple[Message, ...]:
    """Free the messages of programs that ended in the middle of sending, and return them.

    Parameters
    ----------
    book : Book
        Whose outbox.
    me : str
        This running program; its own messages are left alone.
    now : datetime
        A program that took a message longer ago than any try takes has ended.
    is_alone : bool
        Whether no other program has this book open: then every other one has ended.
    """
    from workshop_log.book import outbox

    with book.read() as session:
        taken = [message for message in outbox.list_messages(session, states=(outbox.SENDING,))
                 if message.taken_by != me and (is_alone or now - message.tried_at > LONGEST_TRY)]
    # Most of the time nothing was left behind, and nobody need wait for the right to write.
    if not taken:
        return ()
    freed = []
    with book.session() as session:
        for message in taken:
            message = outbox.load_message(session, message.key)
            is_marked = message.answer == outbox.HANDED_OVER
            values = ({"state": outbox.IN_DOUBT, "answer": _GONE} if is_marked else
                      {"state": outbox.WAITING, "next_at": now, "answer": "The program ended before it was sent."})
            if outbox.change(session, message.key, (outbox.SENDING,), taken_by_me=message.taken_by, taken_by="",
                             **values):
                freed.append(outbox.load_message(session, message.key))
    return tuple(freed)


# --- whoever decides ------------------------------------------------------------------------------------------------


def withdraw(book: Book, key: int) -> Message:
    """Keep a message from being sent.

    Raises
    ------
    OutboxError
        If it is being sent or has left.
    """
    return _decided(book, key, ("waiting", "refused", "in doubt"), "It cannot be withdrawn any more: it is on its way "
                    "or has left.", state="withdrawn", next_at=None)


def send_now(book: Book, key: int, now: datetime) -> Message:
    """Have a message tried at once, whatever was said of it; it keeps its name, so that a receiver can tell it again.

    Raises
    ------
    OutboxError
        If it is being sent, has left or was withdrawn.
    """
    return _decided(book, key, ("waiting", "refused", "in doubt"), "It cannot be sent again: it is on its way, has "
                    "left, or was withdrawn.", state="waiting", next_at=now)


def note_arrived(book: Book, key: int, now: datetime) -> Message:
    """Note that a message in doubt has arrived, as its receiver says.

    Raises
    ------
    OutboxError
        If it is not in doubt.
    """
    from workshop_log.book import outbox

    with book.read() as session:
        if outbox.load_message(session, key).state != outbox.IN_DOUBT:
            raise OutboxError("Only a message in doubt can be said to have arrived.")
    return _sent(book, key, (outbox.IN_DOUBT,), "It arrived, as whom it was for says.", now)


def write_again(book: Book, key: int, message_id: str, letter: Letter, now: datetime) -> Message:
    """Put a refused or withdrawn message in once more as a new one, with the same files; the old one stays as it is.

    Raises
    ------
    OutboxError
        If it may still be sent or has left.
    """
    from workshop_log.book import outbox

    with book.session() as session:
        old = outbox.load_message(session, key)
        if old.state not in (outbox.REFUSED, outbox.WITHDRAWN):
            raise OutboxError("Only a message that was refused or withdrawn can be changed: withdraw it first.")
        return outbox.load_message(session, outbox.put(session, old.number, message_id, letter, old.attached, now))


def _decided(book: Book, key: int, before: tuple[str, ...], otherwise: str, **values: object) -> Message:
    from workshop_log.book import outbox

    with book.session() as session:
        if not outbox.change(session, key, before, taken_by="", **values):
            outbox.load_message(session, key)
            raise OutboxError(otherwise)
        return outbox.load_message(session, key)


def _ends(book: Book, key: int, me: str, state: str, answer: str) -> Message:
    from workshop_log.book import outbox

    with book.session() as session:
        outbox.change(session, key, (outbox.SENDING,), taken_by_me=me, taken_by="", state=state, next_at=None,
                      answer=answer)
        return outbox.load_message(session, key)


def _sent(book: Book, key: int, before: tuple[str, ...], answer: str, now: datetime) -> Message:
    """Note in one transaction that a message has left and which reports left with it."""
    from workshop_log.book import outbox

    values = {"state": outbox.SENT, "sent_at": now, "next_at": None, "taken_by": "", "answer": answer}
    with book.read() as session:
        message = outbox.load_message(session, key)
    reports = tuple(one for one in message.attached if one.reader)
    if not message.number or not reports:
        with book.session() as session:
            outbox.change(session, key, before, **values)
            return outbox.load_message(session, key)
    with changing(book, message.number) as change:
        if outbox.change(change.session, key, before, **values):
            for report in reports:
                enter_report(change, report.sha256, report.reader, now)
        return outbox.load_message(change.session, key)

