"""The chain of fingerprints over the evidence of a job: made, verified, shown short.

Each piece of evidence is one link: the SHA-256 of the canonical JSON of what it says together with the fingerprint
of the link before it. Whoever changes, removes or inserts a piece later changes every fingerprint after it, and the
last one stands printed in the report.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from msgspec.structs import replace

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.records import Circuit, Instrument, Intake, Job, Photo, Record, Seal, SealEntry
from workshop_log.exchange.writing import canonical_json

# The one intake of a job; each change of it is a further link with the same id.
INTAKE_ID = "intake"
# Links of these kinds may stand in the chain several times: whenever the document changed.
DOCUMENTS = ("intake", "instrument", "circuit")
# In this order evidence of the same time enters a chain that is made afterwards.
_ORDER = ("intake", "instrument", "circuit", "photo", "step", "condemned", "approval", "report")
_COLLECTION = {"instrument": "instruments", "circuit": "circuits", "step": "steps", "condemned": "condemned",
               "approval": "approvals", "photo": "photos", "report": "reports"}
_TIME = {"step": "at", "condemned": "at", "approval": "at", "photo": "taken", "report": "at"}
_DIGITS, _SHOWN_DIGITS, _GROUP = 64, 16, 4
# What is read for a nought or a one where it was copied from paper by hand; neither letter is a digit.
_MISREAD = str.maketrans("oil", "011")


class FingerprintError(WorkshopLogError, ValueError):
    """A typed text that is no fingerprint."""


@dataclass(frozen=True, slots=True)
class SealCheck:
    """What came out of computing a chain again.

    Attributes
    ----------
    intact : bool
        Whether every link fits and all evidence in the job is a link. False without a seal.
    first_broken : SealEntry | None
        The first link that does not fit; None where evidence is missing in the chain, or all is well.
    index : int | None
        Its place in the chain, from 0.
    reason : str
        One sentence, in both cases.
    last : str
        The last fingerprint in the file, empty without a seal: what the report prints.
    unsealed : tuple[str, ...]
        Documents that were changed after their last link and wait for the next evidence: "intake".
    why : str
        What is wrong with the link, to go on after its name; empty without one.
    """

    intact: bool
    first_broken: SealEntry | None
    index: int | None
    reason: str
    last: str
    unsealed: tuple[str, ...] = ()
    why: str = ""


def fingerprint(previous: str, kind: str, body: Record) -> str:
    """Return the fingerprint of one link, 64 hexadecimal characters.

    It is the SHA-256 of the canonical JSON of `{"previous": …, "kind": …, "body": …}`; `previous` is empty for the
    first link. A photo enters without its bytes: its own SHA-256 stands for them.
    """
    if isinstance(body, Photo):
        body = replace(body, data=None)
    return hashlib.sha256(canonical_json({"previous": previous, "kind": kind, "body": body})).hexdigest()


def short(full: str) -> str:
    """Return the first 16 digits of a fingerprint in groups of four, as they are printed and read aloud.

    They are for comparing by eye: that this page belongs to that report. Someone who changes a job that is already
    sealed would have to try about 2^64 changes before one has these digits too. But a workshop that means to deceive
    may choose both of its versions itself, and among 2^32 of each it will find two that agree, which takes a computer
    hours. Wherever the program compares it therefore compares all 64 digits, unless only these were typed.
    """
    return grouped(full[:_SHOWN_DIGITS])


def grouped(digits: str) -> str:
    """Return the digits of a fingerprint in groups of four."""
    return " ".join(digits[start:start + _GROUP] for start in range(0, len(digits), _GROUP))


def read_fingerprint(typed: str) -> str:
    """Return the digits of a fingerprint that was copied from paper: all 64, or the 16 of the short form.

    Spaces, dashes and capitals do not matter, nor what stands around a whole one: the text of a report's QR code is
    taken as it is.

    Raises
    ------
    FingerprintError
        If it is neither.
    """
    typed = " ".join(typed.lower().split()).removeprefix("fingerprint")
    whole = re.search(r"(?<![0-9a-f])[0-9a-f]{4}(?: ?[0-9a-f]{4}){15}(?![0-9a-f])", typed)
    digits = re.sub(r"[\s:.\-\u2010-\u2015]", "", whole[0] if whole else typed).translate(_MISREAD)
    strange = re.search(r"[^0-9a-f]", digits)
    if strange:
        raise FingerprintError(f"“{strange[0]}” does not occur in a fingerprint: it has the digits 0 to 9 and the "
                               f"letters a to f only. Compare it with the paper again.")
    if len(digits) not in (_SHOWN_DIGITS, _DIGITS):
        raise FingerprintError(f"A fingerprint has {_SHOWN_DIGITS} digits, or {_DIGITS} in full; this has "
                               f"{len(digits)}. Compare it with the paper again.")
    return digits


def intake_of(job: Job) -> Intake:
    """Return the intake as it stands in the job: what all other evidence rests on."""
    return Intake(vehicle=job.vehicle, complaints=job.complaints, fault_codes=job.fault_codes)


def seal_job(job: Job) -> Job:
    """Return the job with a seal over all its evidence, in the order of time and, at the same time, of kind.

    Evidence without a time follows what stands before it in its list. A job that has a seal keeps it: a chain is
    never made anew.
    """
    if job.seal is not None:
        return job
    entries: list[SealEntry] = []
    previous = ""
    for kind, id_, body in _in_order(job):
        previous = fingerprint(previous, kind, body)
        entries.append(SealEntry(kind=kind, id=id_, fingerprint=previous))
    return replace(job, seal=Seal(entries=tuple(entries)))


def verify_seal(job: Job) -> SealCheck:
    """Compute the chain of a job again and say whether it is intact, and if not, where it breaks first."""
    if job.seal is None:
        return SealCheck(False, None, None, "The job has no seal.", "")
    entries = job.seal.entries
    last = entries[-1].fingerprint if entries else ""
    linked: dict[tuple[str, str], Record] = {}
    previous = ""
    for index, (entry, body) in enumerate(links_of(job)):
        key = entry.kind, entry.id
        broken = _why_no_link(entry, body, previous, key in linked)
        if broken:
            reason = f"Link {index + 1} of the seal, {_named(*key)}, {broken}"
            return SealCheck(False, entry, index, reason, last, why=broken)
        linked[key] = body
        previous = entry.fingerprint
    outside = _what_is_outside(job, linked)
    if outside:
        return SealCheck(False, None, None, outside, last)
    # The intake may be written on until other evidence rests on it; it is then sealed first.
    unsealed = tuple(kind for kind, id_, body in _evidence(job)
                     if kind == "intake" and linked.get((kind, id_)) != body)
    return SealCheck(True, None, None, f"The seal is intact: {len(entries)} links, all as they were entered.", last,
                     unsealed)


def links_of(job: Job) -> list[tuple[SealEntry, Record | None]]:
    """Return each link of the chain with what it seals; None where that is no longer in the job."""
    standing = {(kind, id_): body for kind, id_, body in _evidence(job)}
    entries = job.seal.entries if job.seal else ()
    return [(entry, _body_inside(entry) or standing.get((entry.kind, entry.id))) for entry in entries]


def _what_is_outside(job: Job, linked: dict[tuple[str, str], Record]) -> str:
    """Return what stands in the job as evidence without being the last link of its name, "" where there is none."""
    evidence = list(_evidence(job))
    times_there = Counter((kind, id_) for kind, id_, _ in evidence)
    for kind, id_, body in evidence:
        if times_there[kind, id_] > 1:
            return f"{_sentence(kind, id_)} is in the job twice: only one of the two can have been entered."
        if (kind, id_) not in linked:
            if kind != "intake" or len(evidence) > 1:
                return f"{_sentence(kind, id_)} is not in the seal: it was put in without being entered."
        elif kind != "intake" and linked[kind, id_] != body:
            return f"{_sentence(kind, id_)} differs from what was sealed last: it was changed without being entered."
    return ""


def _named(kind: str, id_: str) -> str:
    return "the intake" if kind == "intake" else f"{kind} {id_}"


def _sentence(kind: str, id_: str) -> str:
    """Return the name at the beginning of a sentence; the id keeps its case."""
    named = _named(kind, id_)
    return named[:1].upper() + named[1:]


def _body_inside(entry: SealEntry) -> Record | None:
    return entry.intake or entry.circuit or entry.instrument


def _why_no_link(entry: SealEntry, body: Record | None, previous: str, is_again: bool) -> str:
    if body is None:
        return "is not in the file: it was taken out."
    if is_again and entry.kind not in DOCUMENTS:
        return "is in the seal twice: evidence is entered once."
    inside = [kind for kind in DOCUMENTS if getattr(entry, kind) is not None]
    if inside and (inside != [entry.kind] or (isinstance(body, Circuit | Instrument) and body.id != entry.id)):
        return "carries the text of something else."
    if fingerprint(previous, entry.kind, body) != entry.fingerprint:
        return "is not what was sealed: it or its place was changed afterwards."
    return ""


def _evidence(job: Job) -> Iterator[tuple[str, str, Record]]:
    """Yield kind, id and body of everything in the job that is evidence."""
    intake = intake_of(job)
    rest = [(kind, item.id, item) for kind, collection in _COLLECTION.items() for item in getattr(job, collection)]
    # A job in which nothing was entered yet has no evidence.
    if rest or intake != Intake(vehicle=type(job.vehicle)()):
        yield "intake", INTAKE_ID, intake
    yield from rest


def _in_order(job: Job) -> list[tuple[str, str, Record]]:
    beginning = datetime.min.replace(tzinfo=UTC)
    latest: dict[str, datetime] = {}
    placed = []
    for kind, id_, body in _evidence(job):
        moment = getattr(body, _TIME[kind]) if kind in _TIME else None
        # Never before its predecessor in the list: a correction stays behind what it replaces.
        latest[kind] = max(latest.get(kind, beginning), moment or beginning)
        placed.append((latest[kind], _ORDER.index(kind), (kind, id_, body)))
    return [entry for _, _, entry in sorted(placed, key=lambda place: place[:2])]
