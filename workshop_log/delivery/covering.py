"""The email that a paper travels with, proposed in plain words from the job.

Nothing is said that no fact stands behind.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.delivery.addresses import has_controls, parts_of, shown
from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.letter import Letter
from workshop_log.jobs.labels import vehicle_words
from workshop_log.jobs.money import show_money, totals

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.exchange.records import Job, Workshop
    from workshop_log.exchange.stationery import MailAccount

# Longer texts of the job stand in the paper itself.
_LONGEST = 400
# What these say is still to come: the bill as it stands says nothing of it.
_AHEAD = "estimate"


def proposed_letter(job: Job, account: MailAccount, what: str, now: datetime) -> Letter:
    """Return the letter as it is proposed; the person changes what they like.

    Parameters
    ----------
    job : Job
        The job that the paper is about.
    account : MailAccount
        Says from which address it comes, if not from the workshop's own.
    what : str
        What is sent, as it stands in a sentence: "report", "estimate".
    now : datetime
        For a clock that still runs.
    """
    return Letter(sender=sender_of(job.workshop, account), recipients=_recipients(job),
                  subject=_subject(job, what), body=_body(job, what, now))


def sender_of(workshop: Workshop, account: MailAccount) -> str:
    """Return the address that mail comes from, with the workshop's name; blank where none is known."""
    address = (account.sender or workshop.email).strip()
    if not address or "<" in address:
        return address
    return _named(workshop.name, address)


def _recipients(job: Job) -> tuple[str, ...]:
    address = job.customer.email.strip()
    return (_named(job.customer.name, address),) if address else ()


def _named(name: str, address: str) -> str:
    """Return an address with a name before it, where the two make an address."""
    name = shown(name.replace('"', "").replace("\\", ""), 100)
    quoted = f'"{name}"' if any(sign in name for sign in ",;:<>@()[]") else name
    try:
        parts_of(f"{quoted} <{address}>")
    except WorkshopLogError:
        return address
    return f"{quoted} <{address}>" if name else address


def _subject(job: Job, what: str) -> str:
    vehicle = ", ".join(word for word in (vehicle_words(job.vehicle), job.vehicle.registration) if word)
    start = f"{what[:1].upper()}{what[1:]}" + (f" {job.number}" if job.number else "")
    words = f"{start}: {vehicle}" if vehicle else start
    return shown(words, 150) if has_controls(words) or len(words) > 150 else words


def _body(job: Job, what: str, now: datetime) -> str:
    from workshop_log.paper import sentences

    vehicle = ", ".join(word for word in (vehicle_words(job.vehicle), job.vehicle.registration) if word)
    parts = [f"Dear {job.customer.name.strip()}," if job.customer.name.strip() else "Good day,",
             f"attached is the {what} on your vehicle{f' ({vehicle})' if vehicle else ''}."]
    said = [shown(complaint.words, _LONGEST) for complaint in job.complaints if complaint.words.strip()]
    if said:
        parts.append(f"What you told us: {' / '.join(said)}")
    decided = sentences.decided(job)
    if decided:
        found = sentences.finding_sentences(job)[:len(decided)]
        parts.append(f"What we found: {shown(' '.join(found), _LONGEST)}")
    done = [words for entry in decided for words in sentences.done_sentences(entry, job.parts)]
    if done:
        parts.append(f"What was done: {shown(' '.join(done), _LONGEST)}")
    money = totals(job, now)
    if money.lines and not money.open_questions and _AHEAD not in what:
        tax = f", tax of {show_money(money.tax, money.currency)} included" if money.tax else ""
        parts.append(f"In total: {show_money(money.gross, money.currency)}{tax}.")
    parts.append("If you have a question, answer this message" + (
        f" or call {job.workshop.phone.strip()}." if job.workshop.phone.strip() else "."))
    if job.workshop.name.strip():
        parts.append(f"Kind regards\n{job.workshop.name.strip()}")
    return "\n\n".join(part.replace("\N{NO-BREAK SPACE}", " ") for part in parts) + "\n"
