"""Parts and other charges of a job: added, ordered, arrived, fitted, returned."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.records import Charge, Part
from workshop_log.jobs.change import changing
from workshop_log.jobs.fields import read_as
from workshop_log.jobs.ids import next_id

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job

PartState = Literal["ordered", "arrived", "fitted", "returned"]


class PartError(WorkshopLogError, ValueError):
    """A step in a part's life that cannot follow the one before."""


def add_part(book: Book, number: str, name: str, *, condemned: str | None = None, **facts: object) -> Job:
    """Add a part by its name; price, number, supplier and the rest are fields of it, now or later."""
    with changing(book, number) as change:
        if condemned is not None:
            change.find("condemned", condemned)
        typed = {field: read_as(f"parts/{field}", Part, field, value, change.job.workshop.currency)
                 for field, value in {"name": name, **facts}.items()}
        change.add("parts", Part(id=next_id(change.job.parts, "p"), condemned=condemned, **typed))
    return change.job


def order_part(book: Book, number: str, part_id: str, now: datetime) -> Job:
    """Note that a part was ordered."""
    return mark_part(book, number, part_id, "ordered", now)


def part_arrived(book: Book, number: str, part_id: str, now: datetime) -> Job:
    """Note that a part arrived."""
    return mark_part(book, number, part_id, "arrived", now)


def fit_part(book: Book, number: str, part_id: str, now: datetime) -> Job:
    """Note that a part was fitted."""
    return mark_part(book, number, part_id, "fitted", now)


def return_part(book: Book, number: str, part_id: str, now: datetime) -> Job:
    """Note that a part went back to its supplier; it is off the bill from then on."""
    return mark_part(book, number, part_id, "returned", now)


def mark_part(book: Book, number: str, part_id: str, state: PartState, now: datetime) -> Job:
    """Note that a part was ordered, arrived, was fitted or was returned.

    A part off the shelf is fitted without having been ordered; a fitted one that has to go back is taken out first.

    Raises
    ------
    PartError
        If it went back already, cannot be returned, or is in that state.
    """
    with changing(book, number) as change:
        part = change.find("parts", part_id)
        if getattr(part, state) is not None:
            raise PartError(f"{part.name} is {state} already.")
        if part.returned is not None:
            raise PartError(f"{part.name} went back to its supplier: add it again as a new part.")
        if state == "returned" and part.returnable is False:
            raise PartError(f"{part.name} is marked as one that cannot be returned: change that first if it can.")
        change.set_paths({f"parts/{part_id}/{state}": now})
    return change.job


def add_charge(book: Book, number: str, what: str, amount: Decimal = Decimal(0)) -> Job:
    """Add another line to the bill: an amount without tax."""
    with changing(book, number) as change:
        what = read_as("charges/what", Charge, "what", what, change.job.workshop.currency)
        change.add("charges", Charge(id=next_id(change.job.charges, "x"), what=what, amount=amount))
    return change.job
