"""A job to bytes: the pretty file that people open, and the canonical JSON on which fingerprints rest."""

from __future__ import annotations

import json
from datetime import datetime
from decimal import Decimal
from functools import cache
from typing import Any, get_args

import msgspec
from msgspec.structs import FieldInfo, fields

from workshop_log.exchange.records import FORMAT, VERSION, Job, Record


def write_job(job: Job) -> bytes:
    """Return the job file: indented UTF-8 JSON, format and version first, then the keys in their usual order.

    The same job gives the same bytes, and reading them gives an equal job: a value that equals its default is
    left out, everything else stands there as it was typed.
    """
    document = {"format": FORMAT, "version": VERSION} | plain(job)
    return msgspec.json.format(msgspec.json.encode(document), indent=2) + b"\n"


def canonical_json(value: object) -> bytes:
    """Return the one way in which a value is written for a fingerprint.

    Exactly: the JSON of `plain(value)`, UTF-8, keys sorted by their characters at every depth, no white space,
    characters beyond ASCII as themselves, values that equal their default left out. Money is a decimal string with
    the digits that were typed, a time ISO 8601 with the offset that was typed (`Z` for UTC), a number the shortest
    text that reads back as the same float (`5.0`, not `5`), bytes are base64. Any JSON library can make it again
    from the job file: sort the keys and drop the white space.
    """
    return json.dumps(plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False,
                      allow_nan=False).encode()


def plain(value: Any) -> Any:
    """Return the value in JSON's own types, keys in the order of the record, defaults left out.

    A default is recognised by equality, not by identity: a job that was read and one that was built must not
    differ in a fingerprint because of a zero that one of them carries twice.
    """
    if isinstance(value, Record):
        return _plain_record(value)
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, datetime | Decimal | bytes):
        return msgspec.to_builtins(value)
    return value


def _plain_record(record: Record) -> dict[str, Any]:
    tag_field, tag, described, floats = _shape(type(record))
    document: dict[str, Any] = {tag_field: tag} if tag_field else {}
    for field in described:
        value = getattr(record, field.name)
        if field.required or value != field.default:
            # `counts=2` and `counts=2.0` are the same record and must have the same fingerprint.
            document[field.encode_name] = float(value) if field.name in floats and type(value) is int else plain(value)
    return document


@cache
def _shape(kind: type[Record]) -> tuple[str | None, object, tuple[FieldInfo, ...], frozenset[str]]:
    config = kind.__struct_config__
    described = fields(kind)
    return config.tag_field, config.tag, described, frozenset(f.name for f in described if _takes_float(f.type))


def _takes_float(annotation: Any) -> bool:
    return annotation is float or any(_takes_float(part) for part in get_args(annotation))
