"""Two accounts of the same job's evidence: the first entry in which they differ, and what differs in it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from msgspec.structs import replace

from workshop_log.exchange.records import Job, Photo, Record, SealEntry
from workshop_log.exchange.seal import links_of
from workshop_log.exchange.writing import plain


@dataclass(frozen=True, slots=True)
class FieldDifference:
    """One field of an entry that two accounts give differently.

    Attributes
    ----------
    path : str
        The field as the job file spells it, "expected/high"; empty for the entry as a whole.
    here, there : str
        Both texts; empty where one account has nothing.
    """

    path: str
    here: str
    there: str


@dataclass(frozen=True, slots=True)
class Difference:
    """The first entry in which two accounts differ.

    Attributes
    ----------
    index : int
        Its place in both chains, from 0.
    here, there : tuple[SealEntry, Record | None] | None
        The entry in each account with what it seals; None where the account ends before it.
    fields : tuple[FieldDifference, ...]
        What differs, where both accounts have the same entry in this place.
    is_known_here, is_known_there : bool
        Whether the other account's entry stands somewhere in this one, as often as there: it is then not missing but
        in another place.
    """

    index: int
    here: tuple[SealEntry, Record | None] | None
    there: tuple[SealEntry, Record | None] | None
    fields: tuple[FieldDifference, ...] = ()
    is_known_here: bool = False
    is_known_there: bool = False


def first_difference(here: Job, there: Job) -> Difference | None:
    """Return the first entry of `here` that `there` does not have in the same place with the same text.

    `there` may go on after `here` ends: a report is made before its job is done. Whether either chain fits its own
    entries is another question, which `verify_seal` answers.
    """
    ours, theirs = links_of(here), links_of(there)
    for index, link in enumerate(ours):
        if index == len(theirs):
            return Difference(index, link, None)
        other = theirs[index]
        if _key(link) != _key(other):
            here_keys, there_keys = [_key(one) for one in ours], [_key(one) for one in theirs]
            return Difference(
                index, link, other,
                is_known_here=here_keys.count(_key(other)) >= there_keys.count(_key(other)),
                is_known_there=there_keys.count(_key(link)) >= here_keys.count(_key(link)))
        fields = tuple(field_differences(link[1], other[1]))
        if fields or link[0].fingerprint != other[0].fingerprint:
            return Difference(index, link, other, fields, is_known_here=True, is_known_there=True)
    return None


def field_differences(here: Record | None, there: Record | None) -> Iterator[FieldDifference]:
    """Yield every field in which two pieces of evidence differ, in the order of the record."""
    yield from _differences(_plain(here), _plain(there), "")


def _key(link: tuple[SealEntry, Record | None]) -> tuple[str, str]:
    return link[0].kind, link[0].id


def _plain(body: Record | None) -> Any:
    return plain(replace(body, data=None) if isinstance(body, Photo) else body)


def _differences(here: Any, there: Any, path: str) -> Iterator[FieldDifference]:
    if isinstance(here, list) or isinstance(there, list):
        # An empty list is left out of the file.
        here, there = here or [], there or []
    if isinstance(here, dict) and isinstance(there, dict):
        for key in [*here, *(key for key in there if key not in here)]:
            yield from _differences(here.get(key), there.get(key), f"{path}/{key}".strip("/"))
    elif _is_named_list(here) and _is_named_list(there):
        ours, theirs = ({item["id"]: item for item in items} for items in (here, there))
        for id_ in [*ours, *(id_ for id_ in theirs if id_ not in ours)]:
            yield from _differences(ours.get(id_), theirs.get(id_), f"{path}/{id_}")
        if ours == theirs and here != there:
            # The same things in another order.
            yield FieldDifference(path, _text(list(ours)), _text(list(theirs)))
    elif type(here) is not type(there) or here != there:
        yield FieldDifference(path, _text(here), _text(there))


def _is_named_list(value: Any) -> bool:
    """Return whether it is a list of things with an id of their own, each of which can be named."""
    return (isinstance(value, list) and all(isinstance(item, dict) and "id" in item for item in value)
            and len({item["id"] for item in value}) == len(value))


def _text(value: Any) -> str:
    if value in (None, []):
        return ""
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
