"""What is written goes into the outbox; what is due goes from there to the server, one after the other."""

from __future__ import annotations

import logging
import os
import uuid
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from msgspec.structs import replace

from workshop_log.delivery import messages
from workshop_log.delivery.addresses import address_of
from workshop_log.delivery.messages import Attachment, message_bytes
from workshop_log.delivery.outcomes import InDoubt, NotSent, Outcome, Refused, Sent
from workshop_log.jobs import outgoing

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

    from workshop_log.book.opening import Book
    from workshop_log.book.outbox import Message
    from workshop_log.delivery.smtp import Call
    from workshop_log.exchange.letter import Letter
    from workshop_log.progress import Progress

log = logging.getLogger("workshop_log.outbox")
Reader = Literal["", "customer", "expert"]


@dataclass(frozen=True, slots=True)
class Enclosure:
    """A file to be attached; a report says whom it is for, and enters the job's record once it has left."""

    file: Attachment
    reader: Reader = ""


@dataclass(frozen=True, slots=True)
class Tried:
    """One message that was tried, as it then stands, and what became of it."""

    message: Message
    outcome: Outcome


@dataclass(slots=True)
class Sending:
    """One running program that sends.

    Attributes
    ----------
    book : Book
        Whose outbox.
    call : callable
        Makes a new call at the server.
    now : callable
        The clock.
    me : str
        The name of this running program, which no other has.
    unnoted : tuple[Message, Outcome] | None
        What became of a message and could not be written into the book yet.
    """

    book: Book
    call: Callable[[], Call]
    now: Callable[[], datetime]
    me: str = field(default_factory=lambda: f"{os.getpid()}-{uuid.uuid4().hex}")
    unnoted: tuple[Message, Outcome] | None = None


def put(book: Book, number: str, letter: Letter, enclosures: tuple[Enclosure, ...], now: datetime,
        progress: Progress | None = None) -> Message:
    """Put a letter into the outbox.

    Raises
    ------
    AddressError, MessageError
        If it cannot be sent as it is; nothing is put in then.
    """
    messages.check_letter(letter)
    letter = replace(letter, body=messages.plain_text(letter.body))
    message_id = messages.new_message_id(letter.sender)
    message_bytes(letter, [one.file for one in enclosures], message_id, now)
    if progress is not None:
        progress(1, 2)
    files = tuple((one.file.name, one.file.media_type, one.file.data, one.reader) for one in enclosures)
    return outgoing.put(book, number, message_id, letter, files, now)


def write_again(book: Book, key: int, letter: Letter, now: datetime) -> Message:
    """Put a refused message in once more, to other addresses; it is a new one with the same files."""
    messages.check_letter(letter)
    return outgoing.write_again(book, key, messages.new_message_id(letter.sender), letter, now)


def bytes_of(book: Book, message: Message) -> bytes:
    """Return a message of the outbox as it travels.

    Raises
    ------
    MissingFileError
        If a file of it is lost.
    """
    files = [Attachment(one.name, one.media_type, book.files.get(one.sha256)) for one in message.attached]
    return message_bytes(message.letter, files, message.message_id, message.written_at)


def send_next(sending: Sending) -> Tried | None:
    """Send the message that has been due the longest; None where none is due.

    Raises
    ------
    StorageUnavailableError
        If the book cannot be written. What became of a message is kept then, and written by the next call.
    """
    if sending.unnoted is None:
        message = outgoing.claim(sending.book, sending.me, sending.now())
        if message is None:
            return None
        sending.unnoted = message, _try(sending, message)
    message, outcome = sending.unnoted
    noted = _note(sending, message, outcome)
    sending.unnoted = None
    return Tried(noted, outcome)


def _try(sending: Sending, message: Message) -> Outcome:
    from workshop_log.book.errors import MissingFileError
    from workshop_log.errors import WorkshopLogError

    is_handed_over = False

    def is_mine() -> bool:
        nonlocal is_handed_over
        is_handed_over = outgoing.mark_handed_over(sending.book, message.key, sending.me)
        return is_handed_over

    try:
        data = bytes_of(sending.book, message)
    except (MissingFileError, ValueError) as error:
        return Refused(f"{error} Nobody has got the message.")
    to = tuple(dict.fromkeys(address_of(one) for one in (*message.letter.recipients, *message.letter.copies)))
    try:
        return sending.call().send(address_of(message.letter.sender), to, data, is_mine)
    except WorkshopLogError as error:
        # Only from `is_mine`: the end of the message was not handed over.
        return NotSent(f"{error} Nobody has got the message.")
    except Exception as error:
        # A fault of the program must not keep the message where it is until the next start.
        log.exception("sending failed")
        fault = f"There was a fault in the program ({type(error).__name__}; the details are in its log)."
        return InDoubt(fault) if is_handed_over else NotSent(f"{fault} Nobody has got the message.")


def _note(sending: Sending, message: Message, outcome: Outcome) -> Message:
    book, key, me, now = sending.book, message.key, sending.me, sending.now()
    match outcome:
        case Sent():
            return outgoing.note_left(book, key, outcome.answer, now)
        case Refused():
            return outgoing.note_refused(book, key, me, outcome.answer)
        case InDoubt():
            return outgoing.note_in_doubt(book, key, me, outcome.answer)
        case NotSent(is_login=True):
            return outgoing.give_back(book, key, me, outcome.answer, message)
        case _:
            return outgoing.note_not_sent(book, key, me, outcome.answer, now)
