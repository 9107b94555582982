"""Parts that were taken out and are kept for their owner to see."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from workshop_log.jobs.case import current_cases
from workshop_log.jobs.cautions import cautions_for_part

if TYPE_CHECKING:
    from workshop_log.exchange.records import Condemned, Element, Job, Part

# What is dangerous in a part that lies on a shelf; the others are dangerous in a vehicle.
_DANGEROUS_ALONE = ("pyrotechnic", "high voltage", "battery", "fuel")


@dataclass(frozen=True, slots=True)
class RemovedPart:
    """A part that was taken out.

    Attributes
    ----------
    id : str
        Of the case that condemned it, or of the part that was fitted in its place.
    parts : tuple[str, ...]
        The ids of the parts that were fitted in its place.
    name : str
        What it is.
    new_number : str
        The number of what was fitted in its place, which need not be its own; blank where there is none, or several.
    why : str
        The sentence that condemned it; blank where nobody wrote one.
    removed : datetime
        When it came out.
    dangers : tuple[str, ...]
        Keys of the cautions that it brings by itself.
    """

    id: str
    parts: tuple[str, ...]
    name: str
    new_number: str
    why: str
    removed: datetime
    dangers: tuple[str, ...]

    def kept_until(self, days: int) -> datetime:
        """Return the last day on which it is kept."""
        return self.removed + timedelta(days=days)


def removed_parts(job: Job) -> tuple[RemovedPart, ...]:
    """Return the condemned parts that were taken out: replaced, or repaired with a new part in their place.

    Where none was, each fitted part stands for the one that it took the place of.
    """
    made = []
    for entry in current_cases(job):
        fitted = [part for part in _fitted(job) if part.condemned == entry.id]
        is_out = entry.decision == "replace" and entry.repaired or entry.decision in ("replace", "repair") and fitted
        if is_out:
            made.append(_condemned(job, entry, fitted))
    return tuple(made) or tuple(_alike(part) for part in _fitted(job))


def removed_part(job: Job, id_: str) -> RemovedPart | None:
    """Return one part that was taken out, by its case or by a part that was fitted in its place; None without it."""
    for removed in removed_parts(job):
        if id_ == removed.id or id_ in removed.parts:
            return removed
    return next((_alike(part) for part in _fitted(job) if part.id == id_), None)


def _alike(part: Part) -> RemovedPart:
    """Return what a fitted part took the place of, where no case says more: one like it."""
    return RemovedPart(part.id, (part.id,), part.name, part.number, "", part.fitted, _dangers(part.name))


def _fitted(job: Job) -> list[Part]:
    return [part for part in job.parts if part.fitted is not None and part.returned is None]


def _condemned(job: Job, entry: Condemned, fitted: list[Part]) -> RemovedPart:
    times = [part.fitted for part in fitted] or [entry.repaired]
    numbers = {part.number for part in fitted if part.number}
    element = next((element for circuit in job.circuits if circuit.id == entry.circuit
                    for element in circuit.elements if element.id == entry.element), None)
    return RemovedPart(entry.id, tuple(part.id for part in fitted), entry.part,
                       numbers.pop() if len(numbers) == 1 else "", entry.finding, min(times),
                       _dangers(entry.part, element))


def _dangers(name: str, element: Element | None = None) -> tuple[str, ...]:
    return tuple(caution.key for caution in cautions_for_part(name, element) if caution.key in _DANGEROUS_ALONE)
