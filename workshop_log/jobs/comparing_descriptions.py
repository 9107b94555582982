"""What a colleague described differently: as it stands now on both sides, for descriptions are edited freely."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from workshop_log.exchange.anonymous import FREE_TEXT
from workshop_log.jobs.comparison import NOTHING_HERE, Difference
from workshop_log.jobs.labels import point_words

if TYPE_CHECKING:
    from workshop_log.exchange.records import Access, Bearing, Circuit, Job


def described_differences(ours: Job, theirs: Job) -> Iterator[Difference]:
    """Yield what of circuits, suspects by hand, access, complaints, codes and photos stands otherwise in an answer.

    Words are no difference: something may be masked in them.
    """
    yield from _circuits(ours, theirs)
    named = {suspect.id: suspect for suspect in ours.suspects}
    for suspect in theirs.suspects:
        own = named.get(suspect.id)
        if own is None:
            yield Difference("A suspect written by hand", NOTHING_HERE, suspect.name)
        elif (own.weight, own.bearings) != (suspect.weight, suspect.bearings):
            yield Difference(f"What the steps say of “{own.name}”", _bearings(own.bearings),
                             _bearings(suspect.bearings))
    said = {_said(one)[1:] for one in ours.access}
    yield from (Difference("Access", NOTHING_HERE, _access_words(one)) for one in theirs.access
                if _said(one)[1:] not in said)
    own_complaints = {complaint.id: complaint for complaint in ours.complaints}
    for complaint in theirs.complaints:
        own = own_complaints.get(complaint.id)
        if own is None:
            yield Difference("A complaint", NOTHING_HERE, complaint.words)
        else:
            yield from (Difference(f"Complaint {own.id}", first, second) for first, second in (
                (_appears(own.appears), _appears(complaint.appears)),
                (_confirmed(own.confirmed), _confirmed(complaint.confirmed))) if first != second)
    codes = {(code.code, code.state) for code in ours.fault_codes}
    yield from (Difference("A fault code", NOTHING_HERE, f"{code.code} {code.state}".rstrip())
                for code in theirs.fault_codes if (code.code, code.state) not in codes)
    photos = {(photo.id, photo.taken) for photo in ours.photos}
    more = sum((photo.id, photo.taken) not in photos for photo in theirs.photos)
    if more:
        yield Difference("Photos", NOTHING_HERE, f"{more} more, in the answer's file")


def _appears(appears: str | None) -> str:
    return {"always": "always there", None: "not said whether it comes and goes"}.get(appears, appears)


def _confirmed(is_confirmed: bool | None) -> str:
    return {True: "confirmed", False: "not confirmed", None: "not tried yet"}[is_confirmed]


def _bearings(bearings: Iterable[Bearing]) -> str:
    words = [f"{bearing.step} {bearing.says} it ({bearing.strength})" for bearing in bearings]
    return ", ".join(words) or "nothing"


def _said(one: Access) -> tuple[object, ...]:
    return one.id, one.circuit, one.point, one.element, one.test, one.state


def _access_words(one: Access) -> str:
    what = point_words(one.point) if one.point else " of ".join(word for word in (one.test, one.element) if word)
    return f"{what}: {one.state}"


def _circuits(ours: Job, theirs: Job) -> Iterator[Difference]:
    own = {circuit.id: circuit for circuit in ours.circuits}
    for circuit in theirs.circuits:
        title = circuit.title or circuit.id
        if circuit.id not in own:
            yield Difference(f"Circuit {title}", NOTHING_HERE, f"described with {len(circuit.elements)} elements")
        else:
            yield from _elements(title, own[circuit.id], circuit)


def _elements(title: str, ours: Circuit, theirs: Circuit) -> Iterator[Difference]:
    own, their = ({element.id: element for element in circuit.elements} for circuit in (ours, theirs))
    about = f"Circuit {title}"
    yield from (Difference(about, f"without {name}", f"with {name}, a {their[name].kind}")
                for name in their if name not in own)
    yield from (Difference(about, f"with {name}", f"without {name}") for name in own if name not in their)
    for name in (name for name in own if name in their):
        for field in own[name].__struct_fields__:
            first, second = getattr(own[name], field), getattr(their[name], field)
            if field not in FREE_TEXT and field != "price" and first != second:
                yield Difference(f"{about}, {name}, {field.replace('_', ' ')}", _plain(first), _plain(second))


def _plain(value: object) -> str:
    if isinstance(value, tuple):
        return ", ".join(map(str, value)) or "none"
    return {True: "yes", False: "no", None: "not said", "": "not said"}.get(value, str(value))
