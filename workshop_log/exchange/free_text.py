"""What people wrote freely in a job: found with its place, and left out where somebody does not want it to travel."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any, NamedTuple

from msgspec.structs import replace

from workshop_log.exchange.anonymous import FREE_TEXT
from workshop_log.exchange.records import Job, Record

# Fields with sentences, by the list of the job that they stand in.
_SENTENCES = {
    "complaints": ("words", "conditions"), "fault_codes": ("note",), "steps": ("note", "because"),
    "condemned": ("finding", "others_cleared", "unproved", "all_the_same", "what_was_done", "because"),
    "photos": ("caption",), "notes": ("words",),
}


class Place(NamedTuple):
    """Where a sentence stands.

    Attributes
    ----------
    kind : str
        The list of the job: "steps", "not_tested".
    item : str
        The item's id; of what has none its number in the list, from 0.
    field : str
        "note"; blank where the item is the sentence.
    """

    kind: str
    item: str
    field: str


class FreeText(NamedTuple):
    """Something that was written, as it stands there."""

    place: Place
    words: str


def free_texts(job: Job) -> tuple[FreeText, ...]:
    """Return all sentences that people wrote, in the order of the job file."""
    found = [FreeText(Place(kind, _item(item, number), field), words) for kind, written in _SENTENCES.items()
             for number, item in enumerate(getattr(job, kind)) for field in written if (words := getattr(item, field))]
    found += [FreeText(Place("not_tested", str(number), ""), words) for number, words in enumerate(job.not_tested)
              if words]
    return tuple(found)


def _item(item: Record, number: int) -> str:
    return getattr(item, "id", str(number))


def labels_of(job: Job) -> tuple[str, ...]:
    """Return all names and titles that people gave to parts, points and conditions, each once."""
    sentences = {field for written in _SENTENCES.values() for field in written}
    found = (words for name, words in all_texts(job) if name in FREE_TEXT and name not in sentences)
    already = {text.words for text in free_texts(job)}
    return tuple(dict.fromkeys(words for words in found if words and words not in already))


def without_texts(job: Job, places: Collection[Place]) -> Job:
    """Return the job without the sentences at these places; a note without its words goes with them."""
    changes: dict[str, Any] = {}
    for kind, written in _SENTENCES.items():
        items = []
        for number, item in enumerate(getattr(job, kind)):
            gone = {field: "" for field in written if (kind, _item(item, number), field) in places}
            if not (gone and kind == "notes"):
                items.append(replace(item, **gone) if gone else item)
        changes[kind] = tuple(items)
    kept = tuple(words for number, words in enumerate(job.not_tested)
                 if ("not_tested", str(number), "") not in places)
    return replace(job, **changes, not_tested=kept)


def all_texts(record: Record) -> Iterator[tuple[str, str]]:
    """Yield every text in a record and all that is inside it, with the name of its field."""
    for name in record.__struct_fields__:
        value = getattr(record, name)
        for item in value if isinstance(value, tuple) else (value,):
            if isinstance(item, Record):
                yield from all_texts(item)
            elif isinstance(item, str):
                yield name, item
