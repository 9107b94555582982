"""What the book knows about a customer or a vehicle, while somebody stands at the desk."""

from __future__ import annotations

from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, and_, or_, select
from sqlalchemy.orm import Session

from workshop_log.book.chain import body_of
from workshop_log.book.entities import Customer, Entry, Job, Vehicle
from workshop_log.book.listing import JobRow, row_columns, rows_of
from workshop_log.book.search_text import fold, joined
from workshop_log.exchange import records

# Fewer characters are in half the book.
_SHORTEST = 3
_MOST = 8
# Jobs of the same people and vehicle are offered once; this many are looked at for it.
_LOOKED_AT = 40
# Newest jobs on a model whose circuits are offered again.
_JOBS_WITH_CIRCUITS = 100
_MOST_CIRCUITS = 20


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


class KnownCircuit(NamedTuple):
    """A circuit as it was described in an earlier job on the same model.

    Attributes
    ----------
    number : str
        That job.
    vehicle : str
        Make, model and year of the vehicle that it was described for.
    circuit : Circuit
        As it stood last.
    """

    number: str
    vehicle: str
    circuit: records.Circuit


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


def known_circuits(session: Session, vehicle: records.Vehicle, besides: str = "") -> list[KnownCircuit]:
    """Return the circuits that were described for vehicles of the same make and model, the newest job first.

    Parameters
    ----------
    session : Session
        Open.
    vehicle : Vehicle
        Its make and model count, in any spelling of capitals, accents and spaces; without a model nothing is the same.
    besides : str
        The number of the job that asks: its own circuits are not offered.

    Returns
    -------
    list of KnownCircuit
        Each circuit as it stood last in its job; what several jobs describe alike is offered once.
    """
    same = [and_(Job.vehicle_make == make, Job.vehicle_model == model)
            for make, model in session.execute(select(Job.vehicle_make, Job.vehicle_model).distinct())
            if fold(model) and (joined(make), joined(model)) == (joined(vehicle.make), joined(vehicle.model))]
    if not same:
        return []
    jobs = {job.key: job for job in session.execute(
        select(Job.key, Job.number, Job.vehicle_make, Job.vehicle_model, Job.vehicle_year)
        .where(or_(*same), Job.number != besides).order_by(Job.key.desc()).limit(_JOBS_WITH_CIRCUITS))}
    rows = session.execute(
        select(Entry.job_key, Entry.item_id, Entry.body)
        .where(Entry.job_key.in_(jobs), Entry.kind == "circuit", Entry.place.is_not(None), Entry.body.is_not(None))
        .order_by(Entry.job_key.desc(), Entry.position))
    # A later entry of the same circuit takes the place of the one before.
    last = {(row.job_key, row.item_id): row.body for row in rows}
    found: dict[records.Circuit, KnownCircuit] = {}
    for (key, _), body in last.items():
        job, circuit = jobs[key], body_of("circuit", body)
        if circuit.elements:
            words = " ".join(filter(None, (job.vehicle_make, job.vehicle_model, str(job.vehicle_year or ""))))
            found.setdefault(circuit, KnownCircuit(job.number, words, circuit))
    return list(found.values())[:_MOST_CIRCUITS]


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
