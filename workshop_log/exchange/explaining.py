"""The decoder's errors in words that a technician can act on, with the place in the file.

The decoder says "Object contains unknown field `readng` - at `$.steps[3]`"; a person needs "steps[3]: unknown key
“readng”; did you mean “reading”?".
"""

from __future__ import annotations

import difflib
import re
import types
import typing
from dataclasses import dataclass
from typing import Any

import msgspec

from workshop_log.exchange.records import Job, Record

# Up to this size the file is decoded a second time without types, to know what stood at the place of the error. A
# larger file is explained without: a hostile one of 64 MB would need gigabytes as plain lists.
_SMALL = 4_000_000
# Up to this many allowed words are listed in a message.
_MOST_LISTED = 20

_AT = re.compile(r"(?P<what>.*) - at `\$(?P<path>[^`]*)`", re.DOTALL)
_STEP_OF_PATH = re.compile(r"\[(\d+)\]|([^.\[\]]+)")
_TYPE_WORDS = {
    "str": "text in quotation marks", "int": "a whole number", "float": "a number", "bool": "true or false",
    "array": "a list in [ ]", "object": "an object in { }", "null": "null", "datetime": "a time", "decimal": "money",
    "bytes": "base64 text",
}
_TIME = "a time is written 2031-04-02T08:35:00+01:00, with its offset"


@dataclass(frozen=True, slots=True)
class _Place:
    """Where in the file: its path, the types that may stand there, and what does (None where unknown)."""

    path: str
    types: tuple[Any, ...]
    found: Any


def explain(error: msgspec.ValidationError, data: bytes) -> tuple[str, str]:
    """Return the path ("steps[3].reading") and one sentence without it."""
    text = str(error)
    match = _AT.fullmatch(text)
    what, path = (match["what"], match["path"].removeprefix(".")) if match else (text, "")
    place = _place(path, data)
    for pattern, words in _EXPLANATIONS:
        matched = re.fullmatch(pattern, what, re.DOTALL)
        if matched:
            return path, words(place, *matched.groups())
    return path, f"{what[:1].lower()}{what[1:]}."


def _place(path: str, data: bytes) -> _Place:
    kinds: tuple[Any, ...] = (Job,)
    found = _untyped(data)
    for index, key in _STEP_OF_PATH.findall(path):
        if index:
            kinds = tuple(inner for kind in kinds for inner in _items(kind))
            found = found[int(index)] if isinstance(found, list) and int(index) < len(found) else None
        else:
            kinds = tuple(inner for kind in _fitting(kinds, found) for inner in _values(kind, key))
            found = found.get(key) if isinstance(found, dict) else None
    return _Place(path, kinds, found)


def _untyped(data: bytes) -> Any:
    if len(data) > _SMALL:
        return None
    try:
        return msgspec.json.decode(data)
    except (msgspec.DecodeError, RecursionError, UnicodeDecodeError):
        return None


def _fitting(kinds: tuple[Any, ...], found: Any) -> tuple[Any, ...]:
    """Return the records that may stand here: of steps, those of the kind that the file names."""
    records = tuple(kind for kind in kinds if isinstance(kind, type) and issubclass(kind, Record))
    if isinstance(found, dict):
        tagged = tuple(kind for kind in records if kind.__struct_config__.tag in (None, found.get("kind")))
        return tagged or records
    return records


def _values(record: type[Record], key: str) -> tuple[Any, ...]:
    if key == record.__struct_config__.tag_field:
        return (typing.Literal[record.__struct_config__.tag],)
    hint = typing.get_type_hints(record).get(key)
    return () if hint is None else _alternatives(hint)


def _items(kind: Any) -> tuple[Any, ...]:
    if typing.get_origin(kind) is tuple:
        return tuple(alternative for inner in typing.get_args(kind) if inner is not Ellipsis
                     for alternative in _alternatives(inner))
    return ()


def _alternatives(hint: Any) -> tuple[Any, ...]:
    if typing.get_origin(hint) in (typing.Union, types.UnionType):
        return tuple(alternative for inner in typing.get_args(hint) for alternative in _alternatives(inner))
    return (hint,)


def _keys(record: type[Record]) -> list[str]:
    tag_field = record.__struct_config__.tag_field
    return [*([tag_field] if tag_field else []), *record.__struct_fields__]


def _what_it_is(place: _Place) -> str:
    """Return "a voltage step", "a wire", "this part of the file"."""
    if isinstance(place.found, dict) and isinstance(place.found.get("kind"), str) and place.path.startswith("steps"):
        kind = place.found["kind"]
        return f"{'an' if kind[:1] in 'aeiou' else 'a'} {kind} step"
    return "this"


def _unknown_key(place: _Place, key: str) -> str:
    records = _fitting(place.types, place.found)
    known = list(dict.fromkeys(name for record in records for name in _keys(record)))
    if key in known:
        # Known to one of the kinds, but the file is too large to look which kind stands here.
        return f"“{key}” does not fit the kind: remove it, or correct the kind."
    near = difflib.get_close_matches(key, known, 1, 0.6)
    shown = key if len(key) <= 60 else key[:57] + "…"
    if near:
        return f"unknown key “{shown}”; did you mean “{near[0]}”?"
    if any(key in _keys(record) for record in _fitting(place.types, None)):
        return f"{_what_it_is(place)} has no “{shown}”: remove it, or correct the kind."
    if len(known) <= _MOST_LISTED:
        return f"unknown key “{shown}”; the keys here are {', '.join(known)}."
    return f"unknown key “{shown}”: remove it."


def _missing_key(place: _Place, key: str) -> str:
    return f"the key “{key}” is missing: {_what_it_is(place)} needs it."


def _not_allowed(place: _Place, value: str) -> str:
    allowed = [word for kind in place.types if typing.get_origin(kind) is typing.Literal
               for word in typing.get_args(kind)]
    if not allowed:
        allowed = [kind.__struct_config__.tag for kind in _siblings(place)]
    shown = value.strip("'")
    shown = shown if len(shown) <= 60 else shown[:57] + "…"
    near = difflib.get_close_matches(shown, [str(word) for word in allowed], 1, 0.6)
    if near:
        return f"“{shown}” is not known here; did you mean “{near[0]}”?"
    listed = ", ".join(f"“{word}”" if word != "" else "nothing" for word in allowed)
    return f"“{shown}” is not known here: write one of {listed}." if listed else f"“{shown}” is not known here."


def _siblings(place: _Place) -> tuple[type[Record], ...]:
    """Return the kinds of record of which a wrong `kind` could have named one."""
    parent = _place(place.path.rpartition(".")[0], b"")
    return tuple(kind for kind in _fitting(parent.types, None) if kind.__struct_config__.tag)


def _wrong_type(_place: _Place, expected: str, got: str) -> str:
    # Union texts such as "str | null": null only says that the key may be left out.
    words = [_TYPE_WORDS.get(part, part) for part in expected.split(" | ") if part != "null"]
    sentence = f"this should be {' or '.join(words)}, not {_TYPE_WORDS.get(got, got)}"
    if "datetime" in expected:
        return f"{sentence}; {_TIME}."
    return f"{sentence}: leave the key out where there is nothing to say." if got == "null" else f"{sentence}."


def _said(sentence: str) -> Any:
    return lambda _place, *_groups: sentence


def _bound(_place: _Place, kind: str, sign: str, limit: str) -> str:
    words = {">=": "at least", "<=": "at most", ">": "more than", "<": "less than"}[sign]
    return f"{_TYPE_WORDS.get(kind, kind)} here is {words} {limit}."


def _length(_place: _Place, kind: str, sign: str, limit: str) -> str:
    if sign == ">=":
        return "this may not be empty."
    return f"{'text' if kind == 'str' else 'the list'} here has at most {limit} characters: shorten it."


_EXPLANATIONS = (
    (r"Object contains unknown field `(.*)`", _unknown_key),
    (r"Object missing required field `(.*)`", _missing_key),
    (r"Invalid (?:enum )?value (.*)", _not_allowed),
    (r"Expected `(.*)`, got `(.*)`", _wrong_type),
    (r"Expected `array` of length (\d+)(?:, got \d+)?",
     lambda _place, count: f"this list has exactly {count} items, the two points in between."),
    (r"Expected `(str|array|bytes)` of length (<=|>=) (\d+)", _length),
    (r"Expected `str` matching regex '\^\[A-Z\]\{3\}\$'", _said("a currency is three capital letters, such as GBP.")),
    (r"Expected `str` matching regex '\^\[0-9a-f\].*", _said("a fingerprint is 64 of the characters 0-9 and a-f.")),
    (r"Expected `(int|float)` (>=|<=|>|<) ([\d.]+)", _bound),
    (r"Number out of range", _said("this number is too large.")),
    (r"Integer value out of range", _said("this number is too large.")),
    (r"Expected `datetime` with a timezone component", _said(f"the offset is missing: {_TIME}.")),
    (r"Invalid RFC3339 encoded datetime", _said(f"this is no time that exists: {_TIME}.")),
    (r"Invalid decimal string", _said('money is a decimal number in quotation marks, such as "86.00".')),
    (r"Invalid base64 encoded string", _said("this is not base64: the photo's bytes are damaged.")),
)
