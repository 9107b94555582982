"""A copy of a job without the people, the plate, the serial part of the VIN, and where photos were taken.

Prices, readings and the trade's words stay: the copy is for learning from a case. What people typed into free text
is searched for what is known of them; a name that nobody noted anywhere else cannot be found there, so a person
reads the copy before it is given away.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from msgspec.structs import replace

from workshop_log.exchange.pictures import without_metadata
from workshop_log.exchange.records import Customer, Job, Photo, Record, StepBase, Workshop
from workshop_log.exchange.vin import LENGTH, check_vin
from workshop_log.progress import Progress, untold

# Maker, model, plant and year; the serial part begins behind them (49 CFR 565.15(a)).
_VIN_KEPT = 11
_MASKED = "*"
# Fields in which people write what they like.
FREE_TEXT = frozenset({
    "title", "words", "conditions", "note", "because", "finding", "others_cleared", "unproved", "all_the_same",
    "what_was_done", "tells", "what", "caption", "source", "part", "where", "unit", "not_tested", "setup", "name",
    "supplier", "make", "model", "red", "black", "through", "clip", "probe", "element", "elements",
})
# Names in which steps and circuits refer to each other: masked they would refer to nothing.
_REFERENCES = frozenset({"red", "black", "through", "clip", "probe", "element", "elements"})
# Words in names of people that are also other words.
_NOT_TELLING = frozenset({"mr", "mrs", "ms", "miss", "dr", "prof", "and", "the", "ltd", "limited", "co", "garage",
                          "motors", "services", "de", "van", "von", "der", "la", "le"})
_SHORTEST_NAME = 3
_SHORTEST_PHONE = 6
_EMAIL = re.compile(r"[\w.+-]+@[\w-]+(?:\.[\w-]+)+")
# Ten or more digits in a row as people group them, beginning like a telephone number.
_PHONE = re.compile(r"(?<![\w.,])(?:\+|\(?0)(?:[ \-/()]{0,2}\d){8,14}(?![\d.,]*\d)")
_SEPARATORS = r"[\s\-/().]{0,2}"
# Between the characters of a plate or VIN anything may stand that is none of them.
_ANY_SEPARATORS = r"[\W_]{0,3}"
# As long as a line of the job file may be; a word that stands for a shorter one must not make it longer.
_LINE = 400

Mask = Callable[[str], str]
# What is looked for, and what stands in its place or finds out what shall.
Rule = tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]]


def anonymous_copy(job: Job, also: Iterable[str] = (), further: Iterable[Rule] = (),
                   progress: Progress = untold) -> Job:
    """Return the copy; it has no seal, for its evidence is no longer what was sealed.

    Parameters
    ----------
    job : Job
        Stays as it is.
    also : Iterable[str]
        More names to look for in free text than the job itself knows.
    further : Iterable[Rule]
        What else is masked in free text, after all that names people and the vehicle.
    progress : Progress
        Told before each photo, which is drawn anew; may end it.
    """
    persons = _persons(job)
    mask = mask_of(job, also, further)
    workshop = Workshop(currency=job.workshop.currency, labour_rate=job.workshop.labour_rate,
                        tax_rate=job.workshop.tax_rate, tax_rule=job.workshop.tax_rule)
    kept = replace(
        job, anonymous=True, seal=None, reports=(), workshop=workshop, customer=Customer(),
        vehicle=replace(job.vehicle, registration="", vin=_vin_without_serial(job.vehicle.vin)),
        clock=tuple(replace(line, person=persons[line.person]) for line in job.clock),
        approvals=tuple(replace(approval, by=persons[approval.by]) for approval in job.approvals),
        notes=tuple(replace(note, who=persons.get(note.who, "")) for note in job.notes),
        photos=tuple(_photos(job.photos, progress)))
    return _masked(kept, mask)


def _persons(job: Job) -> dict[str, str]:
    """Return what each person is called in the copy: "the customer", or "person 1" in the order of appearance."""
    named = dict.fromkeys([*(line.person for line in job.clock), *(approval.by for approval in job.approvals),
                           *(note.who for note in job.notes)])
    customer = job.customer.name.strip().casefold()
    others = [name for name in named if name and name.strip().casefold() != customer]
    called = {name: f"person {number}" for number, name in enumerate(others, start=1)}
    return {name: called.get(name, "the customer" if name else "") for name in named}


def _vin_without_serial(vin: str) -> str:
    """Return the VIN with its last six places masked; a VIN of another length is left out, for any part may tell."""
    plain = check_vin(vin).vin
    return plain[:_VIN_KEPT] + _MASKED * (LENGTH - _VIN_KEPT) if len(plain) == LENGTH else ""


def _photos(photos: tuple[Photo, ...], progress: Progress) -> Iterator[Photo]:
    for done, photo in enumerate(photos):
        progress(done, len(photos))
        yield _photo(photo)


def _photo(photo: Photo) -> Photo:
    """Return the photo without its file name, and its bytes without positions; unreadable bytes are left out."""
    if photo.data is None:
        return replace(photo, name="")
    data = without_metadata(photo.data, photo.media_type)
    if data is None:
        return replace(photo, name="", data=None)
    return replace(photo, name="", data=data, sha256=hashlib.sha256(data).hexdigest())


# --- free text ------------------------------------------------------------------------------------------------------


def mask_of(job: Job, also: Iterable[str] = (), further: Iterable[Rule] = ()) -> Mask:
    """Return the function that masks in a text whatever is known of the people, the plate and the VIN of a job."""
    persons = _persons(job)
    rules: list[Rule] = [(_EMAIL, "[email]")]
    vehicle, customer, workshop = job.vehicle, job.customer, job.workshop
    vin = check_vin(vehicle.vin).vin
    # Its last eight or six are what people say for short.
    short_vins = (vin[-8:], vin[-6:]) if len(vin) == LENGTH else ()
    for text, word in ((vin, "[VIN]"), *((short, "[VIN]") for short in short_vins), (vehicle.registration, "[plate]")):
        if text.strip():
            rules.append((_spelled(text), word))
    for phone in (customer.phone, workshop.phone):
        digits = re.sub(r"\D", "", phone)
        if len(digits) >= _SHORTEST_PHONE:
            # With or without the country's prefix: the last nine digits are always said.
            rules.append((re.compile(r"(?:[+(\d][\d\s\-/()]{0,8})?" + _SEPARATORS.join(digits[-9:])), "[phone]"))
    rules.append((_PHONE, "[phone]"))
    for address in (customer.address, workshop.address):
        for line in re.split(r"[\n,;]", address):
            if len(line.strip()) > _SHORTEST_NAME and not line.strip().isdigit():
                rules.append((_whole(line.strip()), "[address]"))
    also = tuple(also)
    for name in (customer.name, workshop.name, workshop.tax_number, *persons, *also):
        if name.strip():
            rules.append((_whole(name.strip()), "[name]"))
    for name in (customer.name, *persons, *also):
        for part in re.split(r"[\s.,&]+", name):
            if len(part) >= _SHORTEST_NAME and part.casefold() not in _NOT_TELLING:
                # As it is written, or all in capitals, so that Mr Dent's dent stays one.
                either = "|".join(dict.fromkeys((re.escape(part), re.escape(part.upper()))))
                rules.append((re.compile(rf"(?<!\w)(?:{either})(?!\w)"), "[name]"))
    rules.extend(further)

    def mask(text: str) -> str:
        for pattern, word in rules:
            text = pattern.sub(word, text)
        return text

    return mask


def _spelled(text: str) -> re.Pattern[str]:
    """Find a plate or VIN however it is grouped and in whatever case."""
    characters = [re.escape(character) for character in text if character.isalnum()] or [re.escape(text.strip())]
    return re.compile(rf"(?<![^\W_]){_ANY_SEPARATORS.join(characters)}(?![^\W_])", re.IGNORECASE)


def _whole(text: str) -> re.Pattern[str]:
    words = r"\s+".join(re.escape(word) for word in text.split())
    return re.compile(rf"(?<!\w){words}(?!\w)", re.IGNORECASE)


def _masked(record: Any, mask: Mask) -> Any:
    """Return the record with the mask over all its free text."""
    changes: dict[str, Any] = {}
    for name in record.__struct_fields__:
        value = getattr(record, name)
        if isinstance(value, Record):
            new: Any = _masked(value, mask)
        elif isinstance(value, tuple):
            new = tuple(_masked(item, mask) if isinstance(item, Record) else _text(record, name, item, mask)
                        for item in value)
        else:
            new = _text(record, name, value, mask)
        if new != value:
            changes[name] = new
    return replace(record, **changes) if changes else record


def _text(record: Record, name: str, value: Any, mask: Mask) -> Any:
    if not isinstance(value, str) or name not in FREE_TEXT:
        return value
    if isinstance(record, StepBase) and record.circuit is not None and (name == "setup" or name in _REFERENCES):
        return value
    if name in _REFERENCES and not isinstance(record, StepBase):
        return value
    masked = mask(value)
    return f"{masked[:_LINE - 1]}…" if len(masked) > _LINE >= len(value) else masked
