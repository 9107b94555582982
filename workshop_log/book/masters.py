"""Customers and vehicles remembered from job to job.

A job keeps its own copy of both, as they stood at that visit. Beside that, each is linked to a master that has the
newest facts. A vehicle is the same one by its VIN, or without one by its plate; a customer by name with telephone or
email. A master that no job names any more (half a name, corrected at once) goes away.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import delete, exists, select
from sqlalchemy.orm import Session

from workshop_log.book import entities
from workshop_log.book.search_text import fold, joined

# As much of a name as an index of PostgreSQL takes, in any script.
_LONGEST = 400
_CUSTOMER = ("name", "phone", "email", "address")
_VEHICLE = ("registration", "vin", "make", "model", "year", "odometer", "nominal_supply", "systems")


def remember_customer(session: Session, job: entities.Job) -> None:
    """Link the job's customer to the master that is the same person, making one where there is none."""
    recognised = fold(job.customer_name)
    if recognised:
        recognised += f" / {joined(job.customer_phone) or job.customer_email.strip().casefold()}"
    found_by = " ".join(filter(None, (fold(job.customer_name), joined(job.customer_phone), fold(job.customer_email),
                                      fold(job.customer_address))))
    _remember(session, job, entities.Customer, "customer", _CUSTOMER, recognised, found_by)


def remember_vehicle(session: Session, job: entities.Job) -> None:
    """Link the job's vehicle to the master that is the same vehicle, making one where there is none."""
    vin, plate = joined(job.vehicle_vin), joined(job.vehicle_registration)
    recognised = f"vin {vin}" if vin else f"plate {plate}" if plate else ""
    _remember(session, job, entities.Vehicle, "vehicle", _VEHICLE, recognised, f"{plate} {vin}".strip())


def _remember(session: Session, job: entities.Job, entity: type[Any], name: str, fields: tuple[str, ...],
              recognised: str, found_by: str) -> None:
    before = getattr(job, f"{name}_key")
    recognised = recognised[:_LONGEST]
    # An anonymous copy belongs to nobody here.
    master = None if job.anonymous or not recognised else _master(session, entity, recognised)
    if master is not None and (master.last_job is None or master.last_job <= job.key):
        for field in fields:
            value = getattr(job, f"{name}_{field}")
            # A plate typed into a new job does not make its make and model unknown.
            if value or getattr(master, field) is None:
                setattr(master, field, value)
        master.found_by = found_by
        master.last_job = job.key
    if master is not None:
        session.flush()
    setattr(job, f"{name}_key", None if master is None else master.key)
    if before is not None and before != getattr(job, f"{name}_key"):
        session.flush()
        _forget(session, entity, name, before)


def _master(session: Session, entity: type[Any], recognised: str) -> Any:
    found = session.scalar(select(entity).where(entity.recognised_by == recognised))
    if found is None:
        found = entity(recognised_by=recognised)
        session.add(found)
    return found


def _forget(session: Session, entity: type[Any], name: str, key: int) -> None:
    """Delete a master that no job names any more; otherwise the newest of its other jobs speaks for it."""
    column = getattr(entities.Job, f"{name}_key")
    session.execute(delete(entity).where(entity.key == key, ~exists().where(column == key)))
    master = session.get(entity, key)
    if master is not None:
        newest = session.scalars(select(entities.Job).where(column == key).order_by(entities.Job.key.desc())).first()
        master.last_job = newest.key
