"""Entries of the seal, and what differs in them, in the words of the report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.exchange import records
from workshop_log.jobs import labels
from workshop_log.paper.sentences import number_of
from workshop_log.paper.wording import list_words, time_words

if TYPE_CHECKING:
    from workshop_log.exchange.comparing import Difference, FieldDifference
    from workshop_log.exchange.records import Job, Record, SealEntry

# How many fields of one entry are told, and how much of a text. [characters]
_MOST_FIELDS = 3
_LONGEST = 120
_KINDS = {"intake": "the intake", "step": "test", "condemned": "decision"}


def entry_words(entry: SealEntry, body: Record | None, job: Job) -> str:
    """Return what an entry is: "test 4 (Voltage: starter housing to B−, 2 April 2031, 09:17)"."""
    kind = _KINDS.get(entry.kind, entry.kind)
    name = kind if entry.kind == "intake" else f"{kind} {number_of(entry.id) if entry.kind == 'step' else entry.id}"
    facts = ", ".join(fact for fact in (_what(body, job), _when(body)) if fact)
    return f"{name} ({facts})" if facts else name


def _what(body: Record | None, job: Job) -> str:
    match body:
        case records.StepBase():
            return labels.step_title(body, job)
        case records.Condemned():
            return body.part
        case records.Approval():
            return body.by
        case records.Photo():
            return _cut(body.caption or body.name)
        case records.IssuedReport():
            return f"for the {body.reader}"
        case records.Instrument() | records.Circuit():
            return body.title
        case _:
            return ""


def _when(body: Record | None) -> str:
    moment = getattr(body, "at", None) or getattr(body, "taken", None)
    return time_words(moment) if moment else ""


def difference_words(found: Difference, here: Job, there: Job, *, ours: str, theirs: str) -> str:
    """Return in a sentence the first entry in which two accounts differ.

    Parameters
    ----------
    found : Difference
        From `first_difference(here, there)`.
    here, there : Job
        The two accounts.
    ours, theirs : str
        What they are called inside a sentence: "this report", "the book".
    """
    number = f"entry {found.index + 1}"
    mine = entry_words(*found.here, here)
    if found.there is None:
        return f"{number}, {mine}, is not in {theirs}: it was put in, or {theirs} is an older copy."
    other = entry_words(*found.there, there)
    if (found.here[0].kind, found.here[0].id) == (found.there[0].kind, found.there[0].id):
        return f"{number}, {other}: {_fields_words(found.fields, ours, theirs)}."
    if not found.is_known_here:
        return f"{number} in {theirs}, {other}, is not in {ours}: it was taken out."
    if not found.is_known_there:
        return f"{number}, {mine}, is not in {theirs}: it was put in."
    return f"{number} is {mine} in {ours}, and {other} in {theirs}: the order was changed."


def _fields_words(fields: tuple[FieldDifference, ...], ours: str, theirs: str) -> str:
    if not fields:
        return "the text is the same and its fingerprint is another: the seal was made anew"
    told = [field_words(field, ours, theirs) for field in fields[:_MOST_FIELDS]]
    more = len(fields) - _MOST_FIELDS
    return "; ".join(told) + (f"; and {more} more" if more > 0 else "")


def field_words(field: FieldDifference, ours: str, theirs: str) -> str:
    """Return what one field says on either side: "reading: “1.31 V” in this report, “0.31 V” in the book"."""
    here, there = _from_difference(field.here, field.there), _from_difference(field.there, field.here)
    said = f"{here} in {ours}, {there} in {theirs}"
    return f"{', '.join(field.path.replace('_', ' ').split('/'))}: {said}" if field.path else said


def _from_difference(text: str, other: str) -> str:
    """Return a text in quotes; a long one from shortly before the place where the two part."""
    if not text:
        return "nothing"
    same = next((place for place, (one, two) in enumerate(zip(text, other, strict=False)) if one != two),
                min(len(text), len(other)))
    begin = max(0, same - _LONGEST // 4) if len(text) > _LONGEST else 0
    return f"“{'… ' if begin else ''}{_cut(text[begin:])}”"


def _cut(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST].rstrip()} …"


def entries_since_words(job: Job, first: int) -> str:
    """Return what the chain of `job` goes on with from its entry `first` on: "2 tests and 1 report"; empty for none."""
    counts: dict[str, int] = {}
    for entry in (job.seal.entries if job.seal else ())[first:]:
        kind = "intake" if entry.kind == "intake" else _KINDS.get(entry.kind, entry.kind)
        counts[kind] = counts.get(kind, 0) + 1
    return list_words([f"{count} {kind}{'' if count == 1 else 's'}" for kind, count in counts.items()])
