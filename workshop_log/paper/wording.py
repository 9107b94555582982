"""The report's own sentences, from `resources/wording.toml`."""

from __future__ import annotations

import tomllib
from functools import cache
from typing import TYPE_CHECKING

from workshop_log import resources

if TYPE_CHECKING:
    from datetime import datetime

_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
           "December")


@cache
def _table() -> dict[str, dict]:
    with resources.path("wording.toml").open("rb") as file:
        return tomllib.load(file)


def say(key: str, **values: object) -> str:
    """Return the sentence `section.name` with the facts filled in.

    Facts are put in as they are and never read as a template themselves, whatever a person typed.
    """
    found: dict | str = _table()
    for part in key.split("."):
        found = found[part]
    return found.format_map(values)


def date_words(moment: datetime) -> str:
    """Return a day in words, in the zone that the moment carries: "2 April 2031"."""
    return f"{moment.day}\u00a0{_MONTHS[moment.month - 1]} {moment.year}"


def time_words(moment: datetime) -> str:
    """Return a day and time in words: "2 April 2031, 08:35"."""
    return f"{date_words(moment)}, {moment:%H:%M}"


def list_words(words: list[str]) -> str:
    """Return words as a list inside a sentence: "3, 5 and 9"."""
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)


def sentence(text: str) -> str:
    """Return the text ended as a sentence: a full stop where it has no mark of its own."""
    text = text.strip()
    return text if not text or text[-1] in ".!?…”\"'" else f"{text}."


def bare(text: str) -> str:
    """Return the text without the full stop at its end, to go on after it."""
    return text.strip().removesuffix(".")


def upper_first(text: str) -> str:
    """Return the text to begin a sentence or a cell; a unit or prefix keeps its small letter."""
    return text if text[:1].isdigit() else text[:1].upper() + text[1:]


def lower_first(text: str) -> str:
    """Return the text to stand inside a sentence; abbreviations keep their capitals."""
    return text if text[1:2].isupper() or text[1:2].isdigit() else text[:1].lower() + text[1:]
