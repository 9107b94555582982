"""What of a job can be searched, folded to plain words.

Folding happens here, before the text reaches a database, so that both kinds of database find the same: small letters,
no accents, nothing but letters and digits.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import cache
from typing import Any

from sqlalchemy import select, text
from sqlalchemy.orm import Session

from workshop_log.book import entities
from workshop_log.book.rows import COLLECTIONS
from workshop_log.exchange import records
from workshop_log.exchange.records import Record

# The columns of the search table, and which lists of the job are folded into them.
LISTS = {
    "complaints": ("words", "conditions"), "fault_codes": ("code", "unit", "note"),
    "parts": ("name", "number", "supplier"), "notes": ("who", "words")}
COLUMNS = ("head", *LISTS, "evidence")
_EVIDENCE = {
    records.Instrument: ("title",), records.Condemned: ("part", "finding", "others_cleared", "unproved",
                                                        "all_the_same", "what_was_done", "because"),
    records.Approval: ("by", "words"), records.Photo: ("name", "caption"),
}
_STEP = ("note", "because", "setup", "red", "black", "through", "clip", "probe", "elements", "element", "what", "where",
         "result")
_NO_WORD = re.compile(r"[\W_]+")
# Longer than any word; a row of the search index must stay small even where somebody pasted a file.
LONGEST_WORD = 64
_MOST_WORDS = 10_000
# PostgreSQL takes one megabyte of words for all columns together, each word with its place.
_MOST_BYTES = 100_000
# By the end of a VIN a vehicle is told on the telephone.
_VIN_END = 6


def fold(words: str) -> str:
    """Return the words of a text in small letters without accents, with single spaces between them."""
    if not words.isascii():
        words = "".join(c for c in unicodedata.normalize("NFKD", words) if not unicodedata.combining(c))
    return _NO_WORD.sub(" ", words.casefold()).strip()


def joined(words: str) -> str:
    """Return a plate, VIN or telephone number as one word."""
    return fold(words).replace(" ", "")


def head_text(number: str, customer: records.Customer, vehicle: records.Vehicle) -> str:
    """Return what can be searched of number, customer and vehicle; plates and numbers also without spaces."""
    vin = joined(vehicle.vin)
    ends = [vin[-_VIN_END:]] if len(vin) > _VIN_END else []
    return _unique([
        number, customer.name, customer.phone, customer.email, customer.address, vehicle.registration, vehicle.vin,
        vehicle.make, vehicle.model, str(vehicle.year or ""), joined(number), joined(customer.phone),
        joined(vehicle.registration), *ends])


def list_text(name: str, items: Iterable[Any]) -> str:
    """Return what can be searched of one of the job's lists."""
    texts = [getattr(item, field) for item in items for field in LISTS[name]]
    if name in ("parts", "fault_codes"):
        # A part number is typed with and without its hyphens.
        texts += [joined(item.number if name == "parts" else item.code) for item in items]
    return _unique(texts)


def evidence_text(bodies: Iterable[Record | None]) -> str:
    """Return what can be searched of evidence: each word once."""
    return _unique(text for body in bodies if body is not None for text in _texts_of(body))


def job_texts(job: records.Job) -> dict[str, str]:
    """Return all columns of the search table for a whole job."""
    evidence = (*job.instruments, *job.circuits, *job.steps, *job.condemned, *job.approvals, *job.photos)
    return {"head": head_text(job.number, job.customer, job.vehicle),
            **{name: list_text(name, getattr(job, name)) for name in LISTS}, "evidence": evidence_text(evidence)}


def refresh_list(session: Session, job_key: int, name: str) -> None:
    """Fold one of the job's lists anew after it was changed; a list that is not searched costs nothing."""
    if name not in LISTS:
        return
    session.flush()
    entity = COLLECTIONS[name].entity
    items = session.execute(select(*(getattr(entity, field) for field in LISTS[name]))
                            .where(entity.job_key == job_key).order_by(entity.place)).all()
    _store(session, job_key, name, list_text(name, items))


def refresh_head(session: Session, job: entities.Job) -> None:
    """Fold number, customer and vehicle anew after they were changed."""
    customer = records.Customer(name=job.customer_name, phone=job.customer_phone, email=job.customer_email,
                                address=job.customer_address)
    vehicle = records.Vehicle(registration=job.vehicle_registration, vin=job.vehicle_vin, make=job.vehicle_make,
                              model=job.vehicle_model, year=job.vehicle_year)
    _store(session, job.key, "head", head_text(job.number, customer, vehicle))


def add_evidence(session: Session, job_key: int, body: Record) -> None:
    """Add the words of a new piece of evidence to what can be searched."""
    new = evidence_text([body])
    if not new:
        return
    column = entities.SearchText.evidence
    known = session.execute(select(column).where(entities.SearchText.job_key == job_key)).scalar_one()
    both = _unique([known, new])
    if both != known:
        _store(session, job_key, "evidence", both)


def _store(session: Session, job_key: int, column: str, words: str) -> None:
    session.execute(_update(column), {"words": words, "job_key": job_key})


@cache
def _update(column: str) -> Any:
    # An unchanged text is not written again: rewriting its row of the index is the dearest part of a change.
    return text(f"UPDATE search_texts SET {column} = :words WHERE job_key = :job_key AND {column} <> :words")


def _texts_of(body: Record) -> Iterable[str]:
    if isinstance(body, records.Circuit):
        yield body.title
        for element in body.elements:
            yield from (element.id, element.title, element.connector)
        return
    for name in _EVIDENCE.get(type(body), _STEP):
        value = getattr(body, name, "")
        yield from value if isinstance(value, tuple) else (value or "",)


def _unique(texts: Iterable[str]) -> str:
    words: dict[str, None] = {}
    room = _MOST_BYTES
    for one in texts:
        for word in fold(one).split():
            word = word[:LONGEST_WORD]
            if word in words:
                continue
            room -= len(word.encode()) + 1
            if room < 0 or len(words) == _MOST_WORDS:
                return " ".join(words)
            words[word] = None
    return " ".join(words)
