"""What an email needs before it leaves, done beside the window: its files drawn, then kept, saved or handed over."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from workshop_log.progress import Progress, part_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from workshop_log.book.opening import Book
    from workshop_log.book.outbox import Message
    from workshop_log.delivery.outbox import Enclosure
    from workshop_log.exchange.letter import Letter


class AttachmentOffer(NamedTuple):
    """A file that can be attached.

    Attributes
    ----------
    name : str
        As its receiver sees it: "Report 2031-0007.pdf".
    media_type : str
        "application/pdf".
    make : callable
        Returns its bytes; called beside the window, and only where the file is wanted.
    is_chosen : bool
        Whether it is attached unless the person says otherwise.
    reader : str
        Whom it is for where it is a report: that enters the job's record once the message has left.
    """

    name: str
    media_type: str
    make: Callable[[Progress], bytes]
    is_chosen: bool = True
    reader: Literal["", "customer", "expert"] = ""


def with_files(act: Callable[..., Any], letter: Letter, chosen: tuple[tuple[int, AttachmentOffer], ...],
               made: dict[int, bytes], args: tuple[Any, ...], progress: Progress) -> Any:
    """Draw the chosen files that are not in `made` yet, and return `act(letter, enclosures, *args, progress)`."""
    from workshop_log.delivery.messages import Attachment
    from workshop_log.delivery.outbox import Enclosure

    whole = len(chosen) + 1
    enclosures = []
    for place, (number, offer) in enumerate(chosen):
        if number not in made:
            made[number] = offer.make(part_of(progress, place, place + 1, whole))
        enclosures.append(Enclosure(Attachment(offer.name, offer.media_type, made[number]), offer.reader))
    return act(letter, tuple(enclosures), *args, part_of(progress, len(chosen), whole, whole))


def put(letter: Letter, enclosures: tuple[Enclosure, ...], book: Book, number: str, at: datetime,
        progress: Progress) -> Message:
    """Put the message into the outbox."""
    from workshop_log.delivery import outbox

    return outbox.put(book, number, letter, enclosures, at, progress)


def draft(letter: Letter, enclosures: tuple[Enclosure, ...], at: datetime, _progress: Progress) -> bytes:
    """Return the message as a file."""
    from workshop_log.delivery.own_program import draft_bytes

    return draft_bytes(letter, [one.file for one in enclosures], at)


def to_own_program(letter: Letter, enclosures: tuple[Enclosure, ...], folder: Path,
                   _progress: Progress) -> tuple[Letter, tuple[Path, ...], bool]:
    """Save the files and open the mail program with them where this machine can; return whether it did."""
    from workshop_log.delivery import own_program

    paths = own_program.save_files(folder, [one.file for one in enclosures])
    if own_program.can_attach():
        own_program.open_with_files(letter, paths)
    return letter, paths, own_program.can_attach()
