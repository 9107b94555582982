"""Values of the records that a database has no type for, as text in a column."""

from __future__ import annotations

import json
from datetime import datetime
from decimal import Decimal
from typing import Any

import msgspec
from sqlalchemy import String, Text
from sqlalchemy.types import TypeDecorator

from workshop_log.book.times import moment_of, text_of
from workshop_log.exchange.records import Record
from workshop_log.exchange.writing import canonical_json


class MomentText(TypeDecorator[datetime]):
    """An aware moment: sorts by time, and keeps the offset that was typed."""

    impl = String
    cache_ok = True

    def process_bind_param(self, value: datetime | None, _dialect: Any) -> str | None:
        """Return the text that is stored."""
        return None if value is None else text_of(value)

    def process_result_value(self, value: str | None, _dialect: Any) -> datetime | None:
        """Return the moment that the column says."""
        return None if value is None else moment_of(value)


class DecimalText(TypeDecorator[Decimal]):
    """An amount with the digits that were typed: 64.00 stays 64.00."""

    impl = String
    cache_ok = True

    def process_bind_param(self, value: Decimal | None, _dialect: Any) -> str | None:
        """Return the digits that is stored."""
        return None if value is None else str(value)

    def process_result_value(self, value: str | None, _dialect: Any) -> Decimal | None:
        """Return the amount that the column says."""
        return None if value is None else Decimal(value)


class Texts(TypeDecorator[tuple[str, ...]]):
    """A short list of texts, as JSON."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: tuple[str, ...] | None, _dialect: Any) -> str:
        """Return the JSON that is stored."""
        return json.dumps(value or (), ensure_ascii=False)

    def process_result_value(self, value: str | None, _dialect: Any) -> tuple[str, ...]:
        """Return the list that the column says."""
        return tuple(json.loads(value)) if value else ()


class Records(TypeDecorator[tuple[Record, ...]]):
    """A short list of records of one kind that belong to a row and to nothing else, as their JSON.

    Parameters
    ----------
    kind : type
        Their struct.
    """

    impl = Text
    cache_ok = True

    def __init__(self, kind: type[Record]) -> None:
        super().__init__()
        self.kind = kind

    def read(self, text: str) -> tuple[Record, ...]:
        """Return the records that a text says."""
        return msgspec.json.decode(text, type=tuple[self.kind, ...])

    def process_bind_param(self, value: tuple[Record, ...] | None, _dialect: Any) -> str:
        """Return the JSON that is stored."""
        return canonical_json(value or ()).decode()

    def process_result_value(self, value: str | None, _dialect: Any) -> tuple[Record, ...]:
        """Return the list that the column says."""
        return self.read(value) if value else ()
