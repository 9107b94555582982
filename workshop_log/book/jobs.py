"""Jobs in the book: whole, field by field, and entry by entry.

Every function takes an open session that its caller commits; what it needs to keep true at once (search, masters, the
chain) it does in the same transaction. Records in, records out.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any, NamedTuple

import msgspec
from msgspec.structs import replace
from sqlalchemy import func, insert, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from workshop_log.book import chain, entities, masters, rows, search_text
from workshop_log.book.chain import LISTS
from workshop_log.book.errors import (
    DuplicateItemError,
    DuplicateJobError,
    EditConflictError,
    MissingFileError,
    UnknownItemError,
    UnknownJobError,
)
from workshop_log.book.listing import FINISHED, group_of
from workshop_log.book.loading import load_job
from workshop_log.book.numbers import next_number, note_number
from workshop_log.book.rows import COLLECTIONS, Collection
from workshop_log.book.times import microseconds
from workshop_log.exchange import records
from workshop_log.exchange.records import Intake, Job, Record, Seal
from workshop_log.exchange.seal import DOCUMENTS, INTAKE_ID, fingerprint, seal_job
from workshop_log.exchange.writing import canonical_json

__all__ = ["RunningLine", "add_item", "append_entry", "insert_job", "is_taken", "load_job", "next_number",
           "remove_item", "running_lines", "set_fields", "set_waiting"]

# Lists that a person edits; photos and reports are evidence and only ever grow.
EDITED = ("complaints", "fault_codes", "suspects", "access", "estimate", "clock", "parts", "charges", "notes")
_JOB_FIELDS = ("opened", "anonymous", "opinion_on", "handed_back", "settled", "not_tested")
_UNSEEN = object()


class RunningLine(NamedTuple):
    """A clock line that has no end yet, and whose job it is."""

    number: str
    registration: str
    line: records.TimeLine


# --- whole jobs -----------------------------------------------------------------------------------------------------


def insert_job(session: Session, job: Job, now: datetime | None = None) -> str:
    """Put a whole job into the book and return its number.

    A seal is kept link by link, intact or not. A job without one gets a chain over its evidence; where there is none
    but the intake, the chain begins with the first. Photos' bytes go to the file store.

    Parameters
    ----------
    session : Session
        Open; the caller commits.
    job : Job
        Any. One without a number gets the next one of its year.
    now : datetime, optional
        When it is entered; the present without.

    Raises
    ------
    DuplicateJobError
        If its number is taken: nothing is changed then.
    MissingFileError
        If a photo's bytes are not those that its fingerprint names.
    """
    now = now or datetime.now(UTC)
    job = _kept(session, job)
    if not job.number:
        job = replace(job, number=next_number(session, job.opened or now))
    elif is_taken(session, job.number):
        raise DuplicateJobError(job.number)
    note_number(session, job.number)
    row = entities.Job(**rows.head_row(job))
    session.add(row)
    try:
        session.flush()
    except IntegrityError as error:
        # Two bays took in the same file at once.
        raise DuplicateJobError(job.number) from error
    for name, collection in COLLECTIONS.items():
        values = [rows.item_row(collection, row.key, place, item) for place, item in enumerate(getattr(job, name))]
        if values:
            session.execute(insert(collection.entity), values)
    entries = chain.entry_rows(row.key, job, now)
    if entries:
        session.execute(insert(entities.Entry), entries)
    session.execute(insert(entities.SearchText), {"job_key": row.key, **search_text.job_texts(job)})
    masters.remember_customer(session, row)
    masters.remember_vehicle(session, row)
    _changed(session, job.number)
    return job.number


def is_taken(session: Session, number: str) -> bool:
    """Return whether a job in this book has this number."""
    return session.scalar(select(entities.Job.key).where(entities.Job.number == number)) is not None


def _kept(session: Session, job: Job) -> Job:
    """Return the job as it will be read back, sealed, its photos' bytes in the file store."""
    for photo in job.photos:
        if photo.data is not None:
            _keep_bytes(session, photo)
    job = replace(job, photos=tuple(replace(photo, data=None) for photo in job.photos))
    # Through its own JSON: fingerprints must be those of what is read back later, 45 minutes being 45.0 then.
    job = msgspec.json.decode(canonical_json(job), type=Job)
    if job.seal is None:
        job = seal_job(job) if any(getattr(job, name) for name in LISTS.values()) else replace(job, seal=Seal())
    return job


def _keep_bytes(session: Session, photo: records.Photo) -> None:
    if session.info["files"].put(photo.data) != photo.sha256:
        raise MissingFileError(photo.sha256, f"is to be photo {photo.id}, but its bytes are others: they were damaged "
                                             "on the way. Fetch the picture again.")


# --- fields and items -----------------------------------------------------------------------------------------------


def set_fields(session: Session, number: str, values: Mapping[str, Any],
               before: Mapping[str, Any] | None = None) -> None:
    """Set fields of a job that are not evidence.

    Parameters
    ----------
    session : Session
        Open.
    number : str
        The job.
    values : Mapping[str, Any]
        Values of the fields' own types by path: `customer.name`, `vehicle.vin`, `opened`, `not_tested`,
        `complaints/c1/words`, `parts/p1/price`, `fault_codes/B1234-11/state`.
    before : Mapping[str, Any], optional
        What the person saw in these fields; if one now holds neither this nor the new value, nothing is set.

    Raises
    ------
    EditConflictError
        If a field was changed in another bay meanwhile.
    UnknownJobError, UnknownItemError
        If the job or an item is no longer there.
    ValueError
        If a path names no field that can be edited.
    """
    job = _locked(session, number)
    touched = set()
    for path, value in values.items():
        row, name = _field(session, job, path)
        stands = getattr(row, name)
        seen = (before or {}).get(path, _UNSEEN)
        if seen is not _UNSEEN and stands not in (seen, value):
            raise EditConflictError(number, path, stands)
        setattr(row, name, value)
        touched.add(path.split("/")[0].split(".")[0])
    session.flush()
    for name in touched & set(EDITED):
        search_text.refresh_list(session, job.key, name)
    if touched & {"customer", "vehicle", "anonymous"}:
        search_text.refresh_head(session, job)
        masters.remember_customer(session, job)
        masters.remember_vehicle(session, job)
    _changed(session, number)


def _field(session: Session, job: entities.Job, path: str) -> tuple[Any, str]:
    """Return the row that a path leads to and the name of its column."""
    part, dot, name = path.partition(".")
    if dot and part in rows.HEAD_PARTS and name in rows.HEAD_PARTS[part].__struct_fields__:
        return job, f"{part}_{name}"
    if path in _JOB_FIELDS:
        return job, path
    steps = path.split("/")
    if len(steps) == 3 and steps[0] in EDITED:
        collection = COLLECTIONS[steps[0]]
        if steps[2] in collection.fields and steps[2] != "id":
            return _item(session, job, collection, steps[1]), steps[2]
    raise ValueError(f"{path!r} is no field that can be edited.")


def add_item(session: Session, number: str, collection: str, record: Record) -> None:
    """Put an item at the end of one of the job's lists that a person edits.

    Raises
    ------
    DuplicateItemError
        If its id is taken.
    """
    job = _locked(session, number)
    table = _edited(collection)
    if table.id_field == "id" and _found(session, job, table, record.id) is not None:
        raise DuplicateItemError(number, collection, record.id)
    session.add(table.entity(**(rows.item_row(table, job.key, _next_place(session, job, table.entity), record)
                                | {"version": None})))
    search_text.refresh_list(session, job.key, collection)
    _changed(session, number)


def remove_item(session: Session, number: str, collection: str, item_id: str) -> None:
    """Take an item out of one of the job's lists that a person edits.

    Parameters
    ----------
    session : Session
        Open.
    number, collection : str
        The job and its list.
    item_id : str
        The item's id; of a fault code its code, or its place in the list counted from 0.

    Raises
    ------
    UnknownItemError
        If it is no longer there.
    """
    job = _locked(session, number)
    session.delete(_item(session, job, _edited(collection), item_id))
    search_text.refresh_list(session, job.key, collection)
    _changed(session, number)


def _edited(collection: str) -> Collection:
    if collection not in EDITED:
        raise ValueError(f"{collection!r} is no list that can be edited.")
    return COLLECTIONS[collection]


def _found(session: Session, job: entities.Job, collection: Collection, item_id: str) -> Any:
    entity = collection.entity
    of_job = select(entity).where(entity.job_key == job.key).order_by(entity.place)
    found = session.scalars(of_job.where(getattr(entity, collection.id_field) == item_id)).first()
    if found is None and collection.id_field == "code" and item_id.isascii() and item_id.isdigit():
        found = session.scalars(of_job.offset(int(item_id)).limit(1)).first()
    return found


def _item(session: Session, job: entities.Job, collection: Collection, item_id: str) -> Any:
    found = _found(session, job, collection, item_id)
    if found is None:
        raise UnknownItemError(job.number, collection.name, item_id)
    return found


def _next_place(session: Session, job: entities.Job, entity: type[Any]) -> int:
    last = session.scalar(select(func.max(entity.place)).where(entity.job_key == job.key))
    return 0 if last is None else last + 1


# --- evidence -------------------------------------------------------------------------------------------------------


def append_entry(session: Session, number: str, kind: str, record: Record, now: datetime | None = None) -> str:
    """Enter a piece of evidence at the end of the job's chain and return its fingerprint.

    Where vehicle, complaints or fault codes differ from the last intake in the chain, the intake as it stands is
    entered first: evidence rests on it. A circuit or an instrument that changed is entered again, with the same id.

    Parameters
    ----------
    session : Session
        Open.
    number : str
        The job.
    kind : str
        intake, instrument, circuit, step, condemned, approval, photo or report.
    record : Record
        What is entered. A photo's bytes go to the file store.
    now : datetime, optional
        When; the present without.

    Raises
    ------
    DuplicateItemError
        If evidence with this id was entered already.
    """
    now = now or datetime.now(UTC)
    job = _locked(session, number)
    if isinstance(record, records.Photo) and record.data is not None:
        _keep_bytes(session, record)
    record = chain.settled(kind, record)
    if kind == "intake":
        mark = _append(session, job, kind, record, now)
    else:
        intake = _intake_now(session, job)
        if _last_body(session, job, "intake", INTAKE_ID) != chain.body_text(intake):
            _append(session, job, "intake", intake, now)
        mark = _append(session, job, kind, record, now)
        search_text.add_evidence(session, job.key, record)
    _changed(session, number)
    return mark


def _append(session: Session, job: entities.Job, kind: str, record: Record, now: datetime) -> str:
    item_id = INTAKE_ID if kind == "intake" else record.id
    place = None if kind == "intake" else _place(session, job, kind, item_id)
    entry = entities.Entry
    of_job = select(entry).where(entry.job_key == job.key).order_by(entry.position.desc())
    last = session.scalars(of_job.limit(1)).first()
    last_link = last if last is None or last.fingerprint else session.scalars(
        of_job.where(entry.fingerprint.is_not(None)).limit(1)).first()
    previous = last_link.fingerprint if last_link else ""
    mark = fingerprint(previous, kind, record)
    session.add(entry(**chain.entry_row(
        job.key, last.position + 1 if last else 0, kind, item_id, record, place=place, previous=previous,
        fingerprint=mark, now=now)))
    if kind in ("photo", "report"):
        collection = COLLECTIONS[LISTS[kind]]
        session.add(collection.entity(**(rows.item_row(collection, job.key, place, record) | {"version": None})))
    session.flush()
    return mark


def _place(session: Session, job: entities.Job, kind: str, item_id: str) -> int:
    """Return the place in its list of a new piece of evidence; a document that changed keeps its place."""
    entry = entities.Entry
    of_kind = (entry.job_key == job.key, entry.kind == kind)
    place = session.scalar(select(entry.place).where(*of_kind, entry.item_id == item_id, entry.place.is_not(None))
                           .limit(1))
    if place is not None and kind not in DOCUMENTS:
        raise DuplicateItemError(job.number, LISTS[kind], item_id)
    if place is not None:
        return place
    last = session.scalar(select(func.max(entry.place)).where(*of_kind))
    return 0 if last is None else last + 1


def _last_body(session: Session, job: entities.Job, kind: str, item_id: str) -> str | None:
    entry = entities.Entry
    of_item = select(entry.body).where(entry.job_key == job.key, entry.kind == kind, entry.item_id == item_id)
    return session.scalar(of_item.order_by(entry.position.desc()).limit(1))


def _intake_now(session: Session, job: entities.Job) -> Intake:
    """Return the intake as it stands, as it will be read back."""
    session.flush()
    connection = session.connection()
    names = records.Vehicle.__struct_fields__
    vehicle = records.Vehicle(**{name: getattr(job, f"vehicle_{name}") for name in names})
    with contextlib.closing(connection.connection.cursor()) as cursor:
        complaints, codes = (
            rows.items(COLLECTIONS[name], _INTAKE_READERS[name].rows(cursor, connection.dialect, job.key))
            for name in ("complaints", "fault_codes"))
    return chain.settled("intake", Intake(vehicle=vehicle, complaints=complaints, fault_codes=codes))


_INTAKE_READERS = {name: rows.items_reader(COLLECTIONS[name]) for name in ("complaints", "fault_codes")}


# --- what the job waits for, and who works on it --------------------------------------------------------------------


def set_waiting(session: Session, number: str, key: str, words: str, since: datetime | None) -> None:
    """Keep what the job waits for with it, for the list.

    Parameters
    ----------
    session : Session
        Open.
    number : str
        The job.
    key, words : str
        What it waits for: one of `listing.WAITING_ORDER`, and the words for it.
    since : datetime | None
        Since when, where that is known.
    """
    job = _locked(session, number)
    job.waits_key, job.waits_for, job.waits_since = key, words, since
    moment = since or job.opened
    order = microseconds(moment) if moment else 0
    job.list_group = group_of(key)
    # Finished jobs: newest first.
    job.list_order = -order if key == FINISHED else order
    _changed(session, number)


def running_lines(session: Session, person: str | None = None) -> tuple[RunningLine, ...]:
    """Return the clock lines that have no end, of one person or of all, the oldest start first."""
    line = entities.TimeLine
    columns = [getattr(line, field) for field in COLLECTIONS["clock"].fields]
    query = (select(entities.Job.number, entities.Job.vehicle_registration, *columns)
             .join(entities.Job, entities.Job.key == line.job_key).where(line.end.is_(None)).order_by(line.start))
    if person is not None:
        query = query.where(line.person == person)
    return tuple(RunningLine(number, registration, records.TimeLine(**dict(zip(COLLECTIONS["clock"].fields, values,
                                                                               strict=True))))
                 for number, registration, *values in session.execute(query))


def _locked(session: Session, number: str) -> entities.Job:
    """Return the job's row as it stands now; another bay's change to the same job waits until this one is done."""
    session.flush()
    job = session.scalars(select(entities.Job).where(entities.Job.number == number).with_for_update()
                          .execution_options(populate_existing=True)).first()
    if job is None:
        raise UnknownJobError(number)
    return job


def _changed(session: Session, number: str) -> None:
    """Have the other bays told, once the transaction is done."""
    session.info.setdefault("changed", set()).add(number)
