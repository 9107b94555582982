"""Evidence as rows: links of the chain of fingerprints, in the order in which they were entered.

Nothing is changed here once it is entered. A circuit, an instrument or the intake that changed is a further link with
the same id; a correction of a step is a step of its own that names the one it replaces.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

import msgspec
from msgspec.structs import replace
from sqlalchemy import bindparam, select

from workshop_log.book import entities
from workshop_log.book.rows import Reader
from workshop_log.errors import WorkshopLogError
from workshop_log.exchange import records
from workshop_log.exchange.records import Job, Record, Seal, SealEntry
from workshop_log.exchange.seal import DOCUMENTS, INTAKE_ID, intake_of
from workshop_log.exchange.values import entry_of
from workshop_log.exchange.writing import canonical_json

# Evidence whose records stand in a list of the job: kind, the list, what decodes it.
LISTS = {"instrument": "instruments", "circuit": "circuits", "step": "steps", "condemned": "condemned",
         "approval": "approvals", "photo": "photos", "report": "reports"}
# Photos and reports have tables of their own, from which they are read.
READ_FROM_ENTRIES = ("instrument", "circuit", "step", "condemned", "approval")
TYPES: dict[str, Any] = {
    "intake": records.Intake, "instrument": records.Instrument, "circuit": records.Circuit, "step": records.Step,
    "condemned": records.Condemned, "approval": records.Approval, "photo": records.Photo,
    "report": records.IssuedReport}
_DECODERS = {kind: msgspec.json.Decoder(type_) for kind, type_ in TYPES.items()}
_ENTRY_COLUMNS = ("kind", "item_id", "place", "body", "fingerprint")


def body_text(body: Record) -> str:
    """Return the canonical JSON of a piece of evidence, without a photo's bytes."""
    if isinstance(body, records.Photo):
        body = replace(body, data=None)
    return canonical_json(body).decode()


def body_of(kind: str, text: str) -> Record:
    """Return the piece of evidence that a body says."""
    return _DECODERS[kind].decode(text)


def settled(kind: str, body: Record) -> Record:
    """Return the record as it will be read back, so that its fingerprint is that of what is kept.

    A whole number in a field of minutes becomes 45.0, as it will be after reading; a photo loses its bytes.

    Raises
    ------
    msgspec.ValidationError
        If the record has a value that its field cannot have.
    """
    return body_of(kind, body_text(body))


# --- rows of a whole job --------------------------------------------------------------------------------------------


def entry_row(job_key: int, position: int, kind: str, item_id: str, body: Record | None, *, place: int | None,
              previous: str | None, fingerprint: str | None, now: datetime) -> dict[str, Any]:
    """Return the columns of one entry."""
    what, value, unit = _reading(body)
    return {"job_key": job_key, "position": position, "kind": kind, "item_id": item_id, "place": place,
            "body": None if body is None else body_text(body), "what": what, "value": value, "unit": unit,
            "entered_at": now, "replaces": getattr(body, "replaces", None), "previous": previous,
            "fingerprint": fingerprint}


def entry_rows(job_key: int, job: Job, now: datetime) -> list[dict[str, Any]]:
    """Return the entries of a whole job that has a seal, each link with the fingerprint that it has there.

    The seal may be a broken one: it is kept as it is, and `verify` goes on saying where it breaks. What stands in the
    job without being a link, or differs from its last link, becomes a row without fingerprint behind the chain.
    """
    standing = _standing(job)
    last_link = {(entry.kind, entry.id): index for index, entry in enumerate(job.seal.entries)}
    rows: list[dict[str, Any]] = []
    used: set[str] = set()
    previous = ""
    for index, entry in enumerate(job.seal.entries):
        name = entry.kind, entry.id
        here = standing.get(name, [])
        carried = getattr(entry, entry.kind, None) if entry.kind in DOCUMENTS else None
        place, body = here[-1] if here else (None, None)
        if carried is not None:
            body = carried
        rows.append(entry_row(job_key, index, *name, body, place=place, fingerprint=entry.fingerprint, now=now,
                              # A forged chain may name a link twice; a place in the chain is unique all the same.
                              previous=None if previous in used else previous))
        used.add(previous)
        previous = entry.fingerprint
        if here and last_link[name] == index and _same(body, here[-1][1]):
            here.pop()
    for (kind, id_), left in standing.items():
        if kind != "intake":
            rows += [entry_row(job_key, len(rows) + number, kind, id_, body, place=place, previous=None,
                               fingerprint=None, now=now) for number, (place, body) in enumerate(left)]
    return rows


def _standing(job: Job) -> dict[tuple[str, str], list[tuple[int | None, Record]]]:
    """Return what stands in the job by kind and id, each with its place in its list."""
    found: dict[tuple[str, str], list[tuple[int | None, Record]]] = defaultdict(list)
    found["intake", INTAKE_ID].append((None, intake_of(job)))
    for kind, collection in LISTS.items():
        for place, item in enumerate(getattr(job, collection)):
            found[kind, item.id].append((place, item))
    return found


def _same(one: Record, other: Record) -> bool:
    return body_text(one) == body_text(other)


def _reading(body: Record | None) -> tuple[str | None, float | None, str | None]:
    """Return what a step measured, its value and unit; nothing for anything else."""
    if not isinstance(body, records.ReadingStep):
        return None, None, None
    what = body.what if isinstance(body, records.ValueStep) else body.__struct_config__.tag
    try:
        entry = entry_of(body)
    except WorkshopLogError:
        # A step that nobody checked: it stays as typed, and is left out of the history of values.
        return what, None, None
    return what, entry.value, entry.unit or None


# --- reading --------------------------------------------------------------------------------------------------------


def entries_reader() -> Reader:
    """Return the reader of a job's entries, by the key of the job."""
    entry = entities.Entry
    columns = [getattr(entry, name) for name in _ENTRY_COLUMNS]
    return Reader(select(*columns).where(entry.job_key == bindparam("wanted")).order_by(entry.position))


def evidence_of(rows: Iterable[Sequence[Any]]) -> tuple[dict[str, tuple[Record, ...]], dict[str, str]]:
    """Return the lists of evidence from the rows of `entries_reader`, and the body of each document that stands.

    Returns
    -------
    lists : dict[str, tuple[Record, ...]]
        By the name of the job's field.
    standing : dict[str, str]
        The text of each document as it stands, by "kind id".
    """
    at: dict[str, dict[int, tuple[str, str]]] = {kind: {} for kind in READ_FROM_ENTRIES}
    for kind, id_, place, body, _ in rows:
        if place is not None and kind in at:
            # The row entered last is the one that counts.
            at[kind][place] = id_, body
    lists = {LISTS[kind]: tuple(_DECODERS[kind].decode(body) for _, (_, body) in sorted(found.items()))
             for kind, found in at.items()}
    standing = {f"{kind} {id_}": body for kind in ("instrument", "circuit") for id_, body in at[kind].values()}
    return lists, standing


def seal_of(rows: Iterable[Sequence[Any]], intake: records.Intake, standing: dict[str, str]) -> Seal:
    """Return the seal; a link carries its body where that no longer stands elsewhere in the job."""
    links = []
    for kind, id_, _, body, fingerprint in rows:
        if fingerprint is None:
            continue
        carried = {}
        if kind in DOCUMENTS and body is not None:
            # The intake is put together from the job's rows: as a record it is compared quicker than written out.
            stands = body_of(kind, body) == intake if kind == "intake" else standing.get(f"{kind} {id_}") == body
            if not stands:
                carried[kind] = body_of(kind, body)
        links.append(SealEntry(kind=kind, id=id_, fingerprint=fingerprint, **carried))
    return Seal(entries=tuple(links))
