"""What the book knows about a customer or a vehicle, while somebody stands at the desk."""

from __future__ import annotations

from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session

from workshop_log.book.entities import Customer, Job, Vehicle
from workshop_log.book.listing import JobRow, row_columns, rows_of
from workshop_log.book.search_text import fold, joined
from workshop_log.exchange import records

# Fewer characters are in half the book.
_SHORTEST = 3
_MOST = 8
# Jobs of the same people and vehicle are offered once; this many are looked at for it.
_LOOKED_AT = 40


class Known(NamedTuple):
    """A customer with a vehicle as they stood at their last job.

    Attributes
    ----------
    words : str
        One line to choose it by.
    number : str
        That job.
    vehicle, customer : Vehicle, Customer
        The facts.
    """

    words: str
    number: str
    vehicle: records.Vehicle
    customer: records.Customer


def known_customers(session: Session, text: str) -> list[Known]:
    """Return the customers whose name, telephone, email or address has this text, the newest job first."""
    return _known(session, Job.customer_key, Customer, fold(text), joined(text), "customer")


def known_vehicles(session: Session, text: str) -> list[Known]:
    """Return the vehicles whose plate or VIN has this text, spaced in any way, the newest job first."""
    return _known(session, Job.vehicle_key, Vehicle, joined(text), joined(text), "vehicle")


def past_jobs(session: Session, vehicle: records.Vehicle, limit: int = 50) -> list[JobRow]:
    """Return the jobs on a vehicle, recognised by its VIN or its plate, the newest first."""
    vin, plate = joined(vehicle.vin), joined(vehicle.registration)
    same: list[ColumnElement[bool]] = []
    if vin:
        same.append(Vehicle.recognised_by == f"vin {vin}")
    if plate:
        # Two different VINs are two vehicles, whatever plate they carried.
        same.append(Vehicle.recognised_by == f"plate {plate}")
        if not vin:
            same.append(Vehicle.found_by.startswith(f"{plate} ", autoescape=True))
    if not same:
        return []
    masters = select(Vehicle.key).where(or_(*same))
    return rows_of(session, select(*row_columns()).where(Job.vehicle_key.in_(masters)).order_by(Job.key.desc())
                   .limit(limit))


def _known(session: Session, link: Any, master: type[Any], folded: str, plain: str, first: str) -> list[Known]:
    if len(plain) < _SHORTEST:
        return []
    masters = (select(master.key).where(or_(master.found_by.contains(folded), master.found_by.contains(plain)))
               .order_by(master.last_job.desc()).limit(_LOOKED_AT))
    query = select(Job).where(link.in_(masters)).order_by(Job.key.desc()).limit(_LOOKED_AT)
    found: dict[tuple[Any, ...], Known] = {}
    for job in session.scalars(query):
        known = _known_of(job, first)
        found.setdefault((known.vehicle, known.customer), known)
    return list(found.values())[:_MOST]


def _known_of(job: Job, first: str) -> Known:
    vehicle, customer = (
        struct(**{name: getattr(job, f"{part}_{name}") for name in struct.__struct_fields__})
        for part, struct in (("vehicle", records.Vehicle), ("customer", records.Customer)))
    car = " ".join(filter(None, (vehicle.registration or vehicle.vin, vehicle.make, vehicle.model)))
    who = " ".join(filter(None, (customer.name, customer.phone)))
    words = ", ".join(filter(None, (who, car) if first == "customer" else (car, who)))
    return Known(words, job.number, vehicle, customer)
