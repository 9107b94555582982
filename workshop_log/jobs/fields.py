"""What is typed into a field, as the field's own type: text of a line, a year, a price, a quantity with its unit.

A path names a field as the book does: `customer.name`, `vehicle.odometer`, `complaints/c1/words`, `parts/p1/price`.
"""

from __future__ import annotations

import re
import types
import typing
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated, Any, Literal

import msgspec

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange import records
from workshop_log.exchange.quantity_check import problem_of_quantity
from workshop_log.jobs.money import MoneyError, read_money

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job

_PARTS = {"workshop": records.Workshop, "customer": records.Customer, "vehicle": records.Vehicle}
_COLLECTIONS = {
    "complaints": records.Complaint, "fault_codes": records.FaultCode, "estimate": records.EstimateOption,
    "clock": records.TimeLine, "parts": records.Part, "charges": records.Charge, "notes": records.Note,
}
_OF_THE_JOB = ("opened", "handed_back", "settled", "not_tested")
# What a quantity in a field has to measure, and how it is written.
_QUANTITIES = {
    (records.Vehicle, "odometer"): ("length", "61250 mi or 98600 km"),
    (records.Vehicle, "nominal_supply"): ("voltage", "12 V or 24 V"),
}
# What a field may not be, beyond its type: path's last part, lowest, highest.
_BOUNDS = {"year": (1885, 2200), "tax_rate": (0, 100), "labour_rate": (0, 1_000_000),
           "price": (0, 100_000_000), "cost": (0, 100_000_000), "parts": (0, 100_000_000), "other": (0, 100_000_000),
           "quantity": (0, 1_000_000)}
_YES = {"yes": True, "y": True, "true": True, "1": True, "no": False, "n": False, "false": False, "0": False}
_IDENTIFIERS = ("vin",)


class FieldError(WorkshopLogError, ValueError):
    """What was typed does not fit its field.

    Attributes
    ----------
    path : str
        Which field.
    reason : str
        One sentence: what is wrong and what to write.
    """

    def __init__(self, path: str, reason: str) -> None:
        self.path = path
        self.reason = reason
        super().__init__(reason)


def read_field(path: str, value: Any, job: Job) -> Any:
    """Return what a field becomes when a person types text into it, or a program gives it a value.

    Nothing typed empties a field, except where an empty one makes no sense (an amount that is charged, say).

    Parameters
    ----------
    path : str
        The field.
    value : Any
        Text as typed, or a value of the field's own type.
    job : Job
        Decides the currency and whether the item exists.

    Raises
    ------
    FieldError
        If there is no such field, or the text does not fit it.
    """
    struct, name = _field(path, job)
    return read_as(path, struct, name, value, job.workshop.currency)


def read_as(path: str, struct: type, name: str, value: Any, currency: str) -> Any:
    """Return what a field of a record becomes; `path` is only what an error names. See `read_field`."""
    annotation = typing.get_type_hints(struct, include_extras=True)[name]
    if isinstance(value, str):
        value = _from_text(path, struct, name, annotation, value, currency)
    low, high = _BOUNDS.get(name, (None, None))
    if low is not None and isinstance(value, int | Decimal) and not low <= value <= high:
        raise FieldError(path, f"{value} is not between {low} and {high}: check the digits.")
    return _checked(path, annotation, value)


def _field(path: str, job: Job) -> tuple[type, str]:
    """Return the record that a path leads into and the name of its field."""
    if path in _OF_THE_JOB:
        return records.Job, path
    part, dot, name = path.partition(".")
    if dot and part in _PARTS and name in _PARTS[part].__struct_fields__:
        return _PARTS[part], name
    steps = path.split("/")
    if len(steps) == 3 and steps[0] in _COLLECTIONS:
        struct = _COLLECTIONS[steps[0]]
        if steps[2] in struct.__struct_fields__ and steps[2] != "id":
            items = getattr(job, steps[0])
            if steps[1] in {item.code if struct is records.FaultCode else item.id for item in items}:
                return struct, steps[2]
            raise FieldError(path, f"There is no “{steps[1]}” in {steps[0]} any more: it may have been removed "
                                   f"elsewhere.")
    raise FieldError(path, f"“{path}” is no field that can be edited.")


def _from_text(path: str, struct: type, name: str, annotation: Any, text: str, currency: str) -> Any:
    base, choices, optional = _base_type(annotation)
    if choices:
        return _choice(path, choices, optional, text)
    if base is str:
        return _line_or_words(path, struct, name, annotation, text)
    if not text.strip():
        if optional:
            return None
        if base is tuple:
            return ()
        raise FieldError(path, "This field cannot be empty: type a value or leave what was there.")
    convert = {bool: _truth, int: _whole, float: _minutes, datetime: _moment, tuple: _lines}.get(base)
    if convert:
        return convert(path, text.strip())
    if name == "quantity" or name == "tax_rate":
        return _number(path, text.strip())
    try:
        return read_money(text, currency)
    except MoneyError as error:
        raise FieldError(path, str(error)) from None


def _base_type(annotation: Any) -> tuple[Any, tuple[Any, ...], bool]:
    """Return a field's plain type, its choices if it is a list of them, and whether it may be nothing."""
    optional = False
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        kinds = [kind for kind in typing.get_args(annotation) if kind is not type(None)]
        annotation, optional = kinds[0], True
    if typing.get_origin(annotation) is Annotated:
        annotation = typing.get_args(annotation)[0]
    if typing.get_origin(annotation) is Literal:
        return str, typing.get_args(annotation), optional
    return typing.get_origin(annotation) or annotation, (), optional


def _line_or_words(path: str, struct: type, name: str, annotation: Any, text: str) -> str:
    if (struct, name) in _QUANTITIES:
        return _quantity(path, text, *_QUANTITIES[struct, name])
    if name == "currency":
        return text.strip().upper()
    if name in _IDENTIFIERS:
        return "".join(text.split()).upper()
    if annotation == records.Words:
        return text.strip("\n").rstrip()
    # A line break that came with pasted text would be a second line.
    return " ".join(text.split())


def _quantity(path: str, text: str, dimension: str, example: str) -> str:
    text = text.strip()
    if not text:
        return ""
    if path == "vehicle.odometer":
        # Thousands are set apart here, and an odometer has no use for a decimal comma: 61,250 mi.
        text = re.sub(r"(?<=\d)[ ,.'\u00a0\u202f](?=\d{3}(?!\d))", "", text)
    if re.fullmatch(r"[\d.,\s]+", text, re.ASCII):
        raise FieldError(path, f"“{text}” has no unit: write for example {example}.")
    problem = problem_of_quantity(text, (dimension,), 0)
    if problem:
        raise FieldError(path, problem)
    return text


def _choice(path: str, choices: tuple[Any, ...], optional: bool, text: str) -> Any:
    typed = text.strip().casefold()
    found = next((choice for choice in choices if choice.casefold() == typed), None)
    if found is not None or (optional and not typed):
        return found
    shown = ", ".join(choice for choice in choices if choice)
    raise FieldError(path, f"“{text.strip()}” is not one of the choices: {shown}.")


def _truth(path: str, text: str) -> bool:
    if text.casefold() not in _YES:
        raise FieldError(path, f"“{text}” is neither yes nor no.")
    return _YES[text.casefold()]


def _whole(path: str, text: str) -> int:
    if not re.fullmatch(r"\d{1,9}", text, re.ASCII):
        raise FieldError(path, f"“{text}” is not a whole number: write digits only.")
    return int(text)


def _number(path: str, text: str) -> Decimal:
    plain = text.removesuffix("%").strip().replace(",", ".")
    if not re.fullmatch(r"\d{1,9}(\.\d{1,6})?", plain, re.ASCII):
        raise FieldError(path, f"“{text}” is not a number: write for example 2 or 0.5.")
    return Decimal(plain)


def _minutes(path: str, text: str) -> float:
    """Read `45`, `45 min`, `1:30`, `1 h 30 min`, `1.5 h`."""
    found = (re.fullmatch(r"(?:(?P<h>\d{1,4}(?:[.,]\d+)?)\s*h(?:ours?|rs?)?)?\s*(?:(?P<m>\d{1,5}(?:[.,]\d+)?)\s*"
                          r"(?:m|min|mins|minutes)?)?", text, re.ASCII | re.IGNORECASE)
             or re.fullmatch(r"(?P<h>\d{1,4}):(?P<m>[0-5]\d)", text, re.ASCII))
    if not found or not (found["h"] or found["m"]):
        raise FieldError(path, f"“{text}” is not a time worked: write minutes, or 1:30, or 1 h 30 min.")
    hours, minutes = (float((found[part] or "0").replace(",", ".")) for part in ("h", "m"))
    return hours * 60 + minutes


def _moment(path: str, text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise FieldError(path, f"“{text}” is not a time: write for example 2031-04-02T08:35+01:00.") from None
    if moment.tzinfo is None:
        raise FieldError(path, f"“{text}” does not say in which time zone: add the offset, for example +01:00.")
    return moment


def _lines(_path: str, text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def _checked(path: str, annotation: Any, value: Any) -> Any:
    """Return the value if the job file could hold it in this field."""
    if isinstance(value, str) and any(0xD800 <= ord(c) <= 0xDFFF or (ord(c) < 32 and c not in "\n\t") for c in value):
        raise FieldError(path, "The text has a character that cannot be kept: delete it and type it again.")
    if isinstance(value, datetime) and value.tzinfo is None:
        raise FieldError(path, "The time does not say in which time zone: add the offset.")
    try:
        return msgspec.convert(value, annotation)
    except msgspec.ValidationError as error:
        raise FieldError(path, _why(error)) from None


def _why(error: msgspec.ValidationError) -> str:
    length = re.search(r"length <= (\d+)", str(error))
    if length:
        return f"The text is longer than {int(length[1]):,} characters: put the rest into a note."
    pattern = re.search(r"matching regex '\^\[A-Z\]\{3\}\$'", str(error))
    if pattern:
        return "A currency is three letters, for example GBP or EUR."
    return "This value does not fit the field: check what was typed."


def text_at(job: Job, path: str) -> str:
    """Return what stands in a field, as a person would type it; blank where nothing does.

    Raises
    ------
    FieldError
        If there is no such field.
    """
    struct, name = _field(path, job)
    if path in _OF_THE_JOB:
        value = getattr(job, path)
    elif "/" in path:
        collection, key, _ = path.split("/")
        by = "code" if struct is records.FaultCode else "id"
        value = getattr(next(item for item in getattr(job, collection) if getattr(item, by) == key), name)
    else:
        value = getattr(getattr(job, path.partition(".")[0]), name)
    return _as_typed(value)


def _as_typed(value: Any) -> str:
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case tuple():
            return "\n".join(value)
        case float():
            return f"{value:g}"
        case Decimal():
            return f"{value:f}"
        case datetime():
            return value.isoformat()
        case _:
            return str(value)
