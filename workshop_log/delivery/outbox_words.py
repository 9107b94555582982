"""A message of the outbox in plain words: how it stands, since when, what comes next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.delivery.addresses import parts_of, shown
from workshop_log.delivery.messages import megabytes

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.book.outbox import Message

STATES = {"waiting": "Waiting", "sending": "On its way", "sent": "Sent", "in doubt": "In doubt", "refused": "Refused",
          "withdrawn": "Withdrawn"}


def to_words(message: Message) -> str:
    """Return to whom it goes: names where there are any, else addresses."""
    return ", ".join(parts_of(one)[0] or one for one in (*message.letter.recipients, *message.letter.copies))


def moment_words(moment: datetime, now: datetime) -> str:
    """Return a time on this machine's clock; the day where it is not today's."""
    local, today = moment.astimezone(), now.astimezone().date()
    return f"{local:%H:%M}" if local.date() == today else f"{local.day} {local:%b %Y, %H:%M}"


def when_words(message: Message, now: datetime) -> str:
    """Return when it left, is tried next, or was tried last."""
    if message.sent_at is not None:
        return moment_words(message.sent_at, now)
    if message.state == "waiting":
        if message.next_at is None or message.next_at <= now:
            return "next: at once"
        return f"next: {moment_words(message.next_at, now)}"
    return moment_words(message.tried_at or message.written_at, now)


def told_words(message: Message, now: datetime) -> str:
    """Return all there is to say of it, in a few sentences."""
    said = [f"Written {moment_words(message.written_at, now)} to {_addresses(message)}."]
    tries = f"{message.tries} {'try' if message.tries == 1 else 'tries'} so far"
    match message.state:
        case "waiting" if message.tries:
            said.append(f"Not sent yet, {tries}. {when_words(message, now).capitalize()}.")
        case "waiting":
            said.append("Not sent yet.")
        case "sending":
            said.append(f"Being sent since {moment_words(message.tried_at or message.written_at, now)}.")
        case "sent":
            said.append(f"Sent {moment_words(message.sent_at, now)}.")
        case "in doubt":
            said.append("Whether it arrived is not known. Ask whom it was for, then say that it arrived or send it "
                        "again.")
        case "refused":
            said.append("It was not sent and is not tried again. Correct the address, or send it again as it is.")
        case _:
            said.append("It was taken back and is not sent.")
    if message.answer:
        said.append(f"The server's answer: {message.answer}" if message.state == "sent" else message.answer)
    return " ".join(said)


def attached_words(name: str, size: int) -> str:
    """Return a file as a button shows it: "Report.pdf, 120 kB"."""
    return f"{shown(name, 60)}, {megabytes(size)}"


def _addresses(message: Message) -> str:
    to, copies = ", ".join(message.letter.recipients), ", ".join(message.letter.copies)
    return f"{to}, copy to {copies}" if copies else to
