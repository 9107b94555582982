"""Taking a job in, and every field of it that is no evidence.

Evidence rests on the complaint, the vehicle and the fault codes; how they stood at the time enters the chain of
fingerprints with the first evidence after each change, which the book sees to.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from workshop_log.book.errors import EditConflictError, UnknownItemError
from workshop_log.exchange.records import Complaint, Customer, FaultCode, Job, Note, Record, Vehicle
from workshop_log.jobs.change import changing, renew_waiting
from workshop_log.jobs.fields import FieldError, read_as, read_field, text_at
from workshop_log.jobs.ids import next_id

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.book.known import Known
    from workshop_log.book.opening import Book

__all__ = ["FieldError", "add_complaint", "add_fault_code", "add_note", "edit", "recognise", "remove_item", "take_in",
           "text_at"]

# What can be taken off a job again: nothing that is evidence.
_REMOVABLE = ("complaints", "fault_codes", "suspects", "access", "parts", "charges", "estimate", "clock", "notes")


def take_in(book: Book, now: datetime, *, person: str = "") -> Job:
    """Begin a job with one empty complaint and the workshop's rates as they are now.

    Parameters
    ----------
    book : Book
        Where it is kept.
    now : datetime
        When the vehicle came.
    person : str
        Who takes it in; noted for the workshop where it is said.
    """
    from workshop_log.book import jobs as stored
    from workshop_log.book.settings import load_settings

    with book.session() as session:
        notes = (Note(id="n1", at=now, who=person, words="Taken in."),) if person else ()
        job = Job(number=stored.next_number(session, now), opened=now, workshop=load_settings(session).workshop,
                  complaints=(Complaint(id="c1"),), notes=notes)
        stored.insert_job(session, job)
        return renew_waiting(session, job.number)


def edit(book: Book, number: str, fields: dict[str, Any], seen: dict[str, Any] | None = None) -> Job:
    """Set fields to what was typed; all of them, or none where one does not fit.

    Parameters
    ----------
    book, number
        Which job.
    fields : dict[str, Any]
        Texts as typed, or values, by path.
    seen : dict[str, Any], optional
        What stood in these fields when the person began to type.

    Raises
    ------
    FieldError
        If a text does not fit its field, or another bay changed the field since it was seen; its `path` says which.
    """
    with changing(book, number) as change:
        values = {path: read_field(path, value, change.job) for path, value in fields.items()}
        before = {path: read_field(path, value, change.job) for path, value in (seen or {}).items()}
        try:
            change.set_paths(values, before)
        except EditConflictError as error:
            theirs = text_at(change.job, error.path) if error.path else ""
            raise FieldError(error.path, f"Another bay wrote “{theirs}” here meanwhile. Press Enter in the field (in a "
                                         f"long one Ctrl+Enter) to put yours in its place.") from error
    return change.job


def add_complaint(book: Book, number: str, words: str = "") -> Job:
    """Add a complaint, to be filled in."""
    with changing(book, number) as change:
        typed = read_as("complaints/words", Complaint, "words", words, change.job.workshop.currency)
        change.add("complaints", Complaint(id=next_id(change.job.complaints, "c"), words=typed))
    return change.job


def add_fault_code(book: Book, number: str, text: str, state: str = "", unit: str = "", note: str = "") -> Job:
    """Add a fault code as the technician read it; two spellings of one code are one code.

    Raises
    ------
    FieldError
        If the text is no fault code, or the same one from the same control unit stands there already.
    """
    from workshop_log.exchange.fault_codes import FaultCodeError, read_fault_code

    try:
        code = read_fault_code(text).code
    except FaultCodeError as error:
        raise FieldError("fault_codes", str(error)) from None
    with changing(book, number) as change:
        if any(known.code == code for known in change.job.fault_codes):
            raise FieldError("fault_codes", f"{code} is noted already: change its state there.")
        currency = change.job.workshop.currency
        facts = {name: read_as(f"fault_codes/{name}", FaultCode, name, value, currency)
                 for name, value in (("state", state), ("unit", unit), ("note", note))}
        change.add("fault_codes", FaultCode(code=code, **facts))
    return change.job


def add_note(book: Book, number: str, words: str, now: datetime, *, who: str = "", internal: bool = True) -> Job:
    """Note something said or thought: a call from the customer, a remark for the workshop.

    Raises
    ------
    FieldError
        If nothing is written.
    """
    if not words.strip():
        raise FieldError("notes/words", "Write what was said, or close the note.")
    with changing(book, number) as change:
        note = Note(id=next_id(change.job.notes, "n"), at=now, who=who, words=words.strip(), internal=internal)
        change.add("notes", note)
    return change.job


def remove_item(book: Book, number: str, collection: str, id: str) -> Job:  # noqa: A002
    """Take something off the job that is no evidence: a complaint, fault code, part, charge, option, time line, note.

    Raises
    ------
    FieldError
        If it is evidence, or an approval rests on it.
    UnknownItemError
        If it is not there.
    """
    if collection not in _REMOVABLE:
        raise FieldError(collection, "Evidence is never taken off a job: correct it by a new entry.")
    with changing(book, number) as change:
        by = "code" if collection == "fault_codes" else "id"
        if not any(getattr(item, by) == id for item in getattr(change.job, collection)):
            raise UnknownItemError(number, collection, id)
        if collection == "estimate" and any(approval.option == id for approval in change.job.approvals):
            raise FieldError(f"{collection}/{id}", "The customer was asked about this option: it stays on record.")
        change.remove(collection, id)
    return change.job


def put_item(book: Book, number: str, collection: str, record: Record) -> Job:
    """Put back what was taken off the job, as it was: the other half of undoing `remove_item`.

    Raises
    ------
    FieldError
        If it is evidence.
    DuplicateItemError
        If something with its id is there already.
    """
    if collection not in _REMOVABLE:
        raise FieldError(collection, "Evidence stays in the record: correct it by a new entry instead.")
    with changing(book, number) as change:
        change.add(collection, record)
    return change.job


def recognise(book: Book, number: str, known: Known) -> Job:
    """Copy what the book knows of a customer and vehicle into a job; what is written there already stays.

    The facts of another vehicle are not mixed into this one: only where plate and VIN, as far as they are written,
    are the same. The odometer is read anew at each visit, so it is not copied.
    """
    with changing(book, number) as change:
        fields = {}
        if _is_same(change.job.customer, known.customer, "name"):
            fields |= _missing("customer", change.job.customer, known.customer)
        if _is_same(change.job.vehicle, known.vehicle, "registration", "vin"):
            fields |= _missing("vehicle", change.job.vehicle, known.vehicle, leave=("odometer",))
        if fields:
            change.set_paths(fields)
    return change.job


def _is_same(now: Customer | Vehicle, past: Customer | Vehicle, *names: str) -> bool:
    """Return whether two records agree in the fields that are written in both, spaces and case aside."""
    pairs = [(getattr(now, name), getattr(past, name)) for name in names]
    return all("".join(one.split()).casefold() == "".join(other.split()).casefold()
               for one, other in pairs if one and other)


def _missing(part: str, now: Customer | Vehicle, past: Customer | Vehicle,
             leave: tuple[str, ...] = ()) -> dict[str, Any]:
    """Return the fields that are known from before and empty now, by their paths."""
    empty = type(now)()
    return {f"{part}.{name}": value for name in type(now).__struct_fields__
            if name not in leave and getattr(now, name) == getattr(empty, name)
            and (value := getattr(past, name)) != getattr(empty, name)}
