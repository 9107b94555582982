"""Records to rows and back, by the names of their fields.

Rows are read as the driver gives them, without a mapped object for each: opening a job with a hundred readings must
not be felt.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from sqlalchemy import Dialect, Select, bindparam, select
from sqlalchemy.types import Boolean

from workshop_log.book import entities
from workshop_log.book.columns import DecimalText, MomentText, Records, Texts
from workshop_log.book.times import moment_of
from workshop_log.exchange import records
from workshop_log.exchange.records import Record


@dataclass(frozen=True, slots=True)
class Collection:
    """One of the job's lists that has a table of its own.

    Attributes
    ----------
    name : str
        The field of the job.
    entity : type
        The table's class.
    record : type
        The struct of its items.
    fields : tuple[str, ...]
        The struct's fields that are columns: all but a photo's bytes.
    """

    name: str
    entity: type[Any]
    record: type[Record]
    fields: tuple[str, ...]

    @property
    def id_field(self) -> str:
        """What an item is called by: a fault code has no id but itself."""
        return "id" if "id" in self.fields else "code"


def _collection(name: str, entity: type[Any], record: type[Record]) -> Collection:
    return Collection(name, entity, record, tuple(field for field in record.__struct_fields__ if field != "data"))


COLLECTIONS = {collection.name: collection for collection in (
    _collection("complaints", entities.Complaint, records.Complaint),
    _collection("fault_codes", entities.FaultCode, records.FaultCode),
    _collection("suspects", entities.HandSuspect, records.HandSuspect),
    _collection("access", entities.Access, records.Access),
    _collection("estimate", entities.EstimateOption, records.EstimateOption),
    _collection("clock", entities.TimeLine, records.TimeLine),
    _collection("parts", entities.Part, records.Part),
    _collection("charges", entities.Charge, records.Charge),
    _collection("notes", entities.Note, records.Note),
    _collection("photos", entities.Photo, records.Photo),
    _collection("reports", entities.IssuedReport, records.IssuedReport),
)}
# What lies in the job's own row, as `customer_name`.
HEAD_PARTS: dict[str, type[Record]] = {
    "workshop": records.Workshop, "customer": records.Customer, "vehicle": records.Vehicle}
HEAD_FIELDS = ("number", "opened", "anonymous", "opinion_on", "handed_back", "settled", "not_tested")


def item_row(collection: Collection, job_key: int, place: int, item: Record) -> dict[str, Any]:
    """Return the columns of one item of a list."""
    values = {field: getattr(item, field) for field in collection.fields}
    return values | {"job_key": job_key, "place": place, "version": 1}


def head_row(job: records.Job) -> dict[str, Any]:
    """Return the columns of the job's own row."""
    values = {field: getattr(job, field) for field in HEAD_FIELDS}
    for part, struct in HEAD_PARTS.items():
        inner = getattr(job, part)
        values |= {f"{part}_{field}": getattr(inner, field) for field in struct.__struct_fields__}
    return values


# --- reading --------------------------------------------------------------------------------------------------------


class Reader:
    """One SELECT, compiled once for each kind of database, and its rows as values by the driver's own cursor."""

    def __init__(self, statement: Select[Any]) -> None:
        self._statement = statement
        self._converters = tuple(
            (index, convert) for index, column in enumerate(statement.selected_columns)
            if (convert := _converter(column.type)) is not None)

    def rows(self, cursor: Any, dialect: Dialect, wanted: object) -> list[Sequence[Any]]:
        """Return the rows for the one value that the statement asks with, by a cursor of the driver."""
        text, is_positional = _compiled(self, dialect)
        cursor.execute(text, (wanted,) if is_positional else {"wanted": wanted})
        found = cursor.fetchall()
        return [self._converted(row) for row in found] if self._converters else found

    def text(self, dialect: Dialect) -> tuple[str, bool]:
        """Return the statement in the words of one kind of database."""
        compiled = self._statement.compile(dialect=dialect)
        return str(compiled), compiled.positional

    def _converted(self, row: Sequence[Any]) -> list[Any]:
        values = list(row)
        for index, convert in self._converters:
            if values[index] is not None:
                values[index] = convert(values[index])
        return values


@cache
def _compiled(reader: Reader, dialect: Dialect) -> tuple[str, bool]:
    return reader.text(dialect)


def _converter(kind: Any) -> Callable[[Any], Any] | None:
    if isinstance(kind, MomentText):
        return moment_of
    if isinstance(kind, DecimalText):
        return Decimal
    if isinstance(kind, Texts):
        return lambda text: tuple(json.loads(text))
    if isinstance(kind, Records):
        return kind.read
    return bool if isinstance(kind, Boolean) else None


def items_reader(collection: Collection) -> Reader:
    """Return the reader of a job's list, by the key of the job."""
    entity = collection.entity
    columns = [getattr(entity, field) for field in collection.fields]
    return Reader(select(*columns).where(entity.job_key == bindparam("wanted")).order_by(entity.place))


def head_reader(*, to_change: bool = False) -> Reader:
    """Return the reader of a job's own row, by its number; the key comes first. To change it, it is locked."""
    names = ["key", *HEAD_FIELDS,
             *(f"{part}_{field}" for part, struct in HEAD_PARTS.items() for field in struct.__struct_fields__)]
    columns = [getattr(entities.Job, name) for name in names]
    statement = select(*columns).where(entities.Job.number == bindparam("wanted"))
    return Reader(statement.with_for_update() if to_change else statement)


def head_values(row: Sequence[Any]) -> dict[str, Any]:
    """Return the fields of a job that its own row holds, from a row of `head_reader`."""
    values: dict[str, Any] = dict(zip(HEAD_FIELDS, row[1:], strict=False))
    start = 1 + len(HEAD_FIELDS)
    for part, struct in HEAD_PARTS.items():
        names = struct.__struct_fields__
        values[part] = struct(**dict(zip(names, row[start:start + len(names)], strict=True)))
        start += len(names)
    return values


def items(collection: Collection, rows: Iterable[Sequence[Any]]) -> tuple[Record, ...]:
    """Return the records of a list from the rows of `items_reader`."""
    return tuple(collection.record(**dict(zip(collection.fields, row, strict=True))) for row in rows)
