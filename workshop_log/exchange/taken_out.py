"""What a copy for a colleague no longer says, counted and named for the person who gives it away."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from workshop_log.exchange.anonymous import mask_of
from workshop_log.exchange.free_text import all_texts, free_texts, labels_of
from workshop_log.exchange.opinion import MASKED
from workshop_log.exchange.pictures import has_position
from workshop_log.exchange.prices import amounts_in
from workshop_log.exchange.records import Job
from workshop_log.exchange.vin import LENGTH, check_vin

# The mark and fingerprints are no names, whatever figures they are made of.
_OWN = frozenset({"opinion_on", "sha256", "format"})
_TIMES = "\N{NO-BREAK SPACE}×\N{NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True)
class TakenOut:
    """What was taken out.

    Attributes
    ----------
    people : tuple[str, ...]
        Everybody whom the job names in a field of their own.
    plate, vin : bool
        Whether there was a plate, and a VIN.
    is_vin_whole : bool
        Whether the whole VIN went rather than its serial part: one of another length tells in any place.
    prices : int
        Amounts of money in fields of their own.
    clock, approvals, internal_notes : int
        Time lines, approvals and notes for the workshop, all left out whole.
    photos, positions : int
        Photos whose bytes are lost or cannot be read, and photos that said where they were taken.
    masked : tuple[tuple[str, int], ...]
        What was masked in free text, and how often: ("[price]", 2).
    left : tuple[str, ...]
        Names of points, elements and circuits that tell something of people or the vehicle and are still there: steps
        refer to them.
    """

    people: tuple[str, ...]
    plate: bool
    vin: bool
    is_vin_whole: bool
    prices: int
    clock: int
    approvals: int
    internal_notes: int
    photos: int
    positions: int
    masked: tuple[tuple[str, int], ...]
    left: tuple[str, ...] = ()

    def lines(self) -> Iterator[str]:
        """Yield it in words, one line for each kind."""
        yield f"People: {', '.join(self.people)}" if self.people else "People: none was named in a field"
        yield "Plate: taken out" if self.plate else "Plate: none was noted"
        if self.vin:
            yield "VIN: taken out whole" if self.is_vin_whole else "VIN: its last six places"
        else:
            yield "VIN: none was noted"
        yield f"Prices: {_counted(self.prices, 'amount')}" if self.prices else "Prices: none was noted"
        whole = [_counted(number, what) for number, what in (
            (self.clock, "clock line"), (self.approvals, "approval"), (self.internal_notes, "internal note"),
            (self.photos, "photo that cannot be read")) if number]
        if whole:
            yield f"Left out whole: {', '.join(whole)}"
        yield f"Photo positions: {self.positions}" if self.positions else "Photo positions: no photo carried one"
        if self.masked:
            masked = (f"{number}{_TIMES}{word}" for word, number in self.masked)
            yield f"In what was typed: {', '.join(masked)}"


def taken_out(job: Job, copy: Job, also: Iterable[str] = ()) -> TakenOut:
    """Return what of a job is no longer in its copy for a colleague, whatever else was left out by choice.

    Parameters
    ----------
    job, copy : Job
        The job, and the copy.
    also : Iterable[str]
        Names that were taken out although the job does not know them.
    """
    mask = mask_of(job, also)
    named = (job.customer.name, *(line.person for line in job.clock), *(approval.by for approval in job.approvals),
             *(note.who for note in job.notes))
    texts = (*(text.words for text in free_texts(copy)), *labels_of(copy))
    masked = Counter(word for text in texts for word in MASKED.findall(text))
    vin = check_vin(job.vehicle.vin).vin
    return TakenOut(
        people=tuple(dict.fromkeys(name.strip() for name in named if name.strip())),
        plate=bool(job.vehicle.registration.strip()), vin=bool(vin), is_vin_whole=len(vin) != LENGTH,
        prices=sum(1 for _ in amounts_in(job)), clock=len(job.clock), approvals=len(job.approvals),
        internal_notes=sum(note.internal for note in job.notes),
        photos=sum(photo.data is None for photo in job.photos),
        positions=sum(photo.data is not None and has_position(photo.data) for photo in job.photos),
        masked=tuple(sorted(masked.items())),
        left=tuple(dict.fromkeys(text for name, text in all_texts(copy) if name not in _OWN and mask(text) != text)))


def _counted(number: int, what: str) -> str:
    first, *rest = what.split(" ", 1)
    if what in ("clock line", "internal note"):
        first, rest = what, []
    plural = first if number == 1 else f"{first}s"
    return " ".join((str(number), plural, *rest))
