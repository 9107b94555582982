"""What can hurt on a job, and steps that are refused because of it.

The texts are in `resources/cautions.toml` with their sources. Cautions appear when their facts are there: the
vehicle's systems, elements of a circuit, words in complaints, steps, conditions and parts.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from workshop_log import resources
from workshop_log.exchange import records
from workshop_log.jobs import labels
from workshop_log.measuring.entry import EntryError, read_entry

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workshop_log.exchange.records import Circuit, Element, Job, Step

PYROTECHNIC = "pyrotechnic"
HIGH_VOLTAGE = "high voltage"

_REFERENCE_POINTS = frozenset({"B-", "B+"})


# UN Regulation No. 100, definitions: high voltage is more than 60 V DC or 30 V AC. [V]
HIGH_VOLTAGE_V = 60.0


@dataclass(frozen=True, slots=True)
class Caution:
    """One warning, as shown on screen before the step and printed in the report."""

    key: str
    title: str
    words: str


@dataclass(frozen=True, slots=True)
class _Trigger:
    """A caution with the facts that bring it."""

    caution: Caution
    systems: frozenset[str]
    kinds: frozenset[str]
    signs: re.Pattern[str]


@cache
def _triggers() -> tuple[_Trigger, ...]:
    table = tomllib.loads(resources.path("cautions.toml").read_text(encoding="utf-8"))
    return tuple(
        _Trigger(
            Caution(row["key"], row["title"], row["words"]),
            frozenset(row.get("systems", ())) | frozenset(row.get("protected", ())),
            frozenset(row.get("kinds", ())),
            _sign_pattern(row["signs"]),
        )
        for row in table["caution"]
    )


def _sign_pattern(signs: list[str]) -> re.Pattern[str]:
    """Return a pattern for whole words, singular or plural; a space may be a hyphen, as people write it."""
    words = "|".join(re.escape(sign).replace(r"\ ", r"[\s-]+") for sign in signs)
    return re.compile(rf"(?<!\w)(?:{words})(?:s|es)?(?!\w)", re.IGNORECASE)


def all_cautions() -> tuple[Caution, ...]:
    """Return every caution that there is, in the order in which they are shown."""
    return tuple(trigger.caution for trigger in _triggers())


# Strip, page and paper ask one after the other.
@lru_cache(maxsize=2)
def cautions_for(job: Job) -> tuple[Caution, ...]:
    """Return the cautions that a job's facts bring, the gravest first."""
    text = "\n".join(_job_words(job))
    systems = set(job.vehicle.systems) | {e.protected for e in _elements(job) if e.protected}
    if any(_is_high_voltage(step) for step in job.steps):
        systems.add("high voltage")
    kinds = {element.kind for element in _elements(job)}
    return _matching(text, systems, kinds)


def cautions_for_step(step: Step, job: Job) -> tuple[Caution, ...]:
    """Return the cautions to be shown before one step: what it names, and what the vehicle always brings."""
    elements = _touched(_places(step), step, job)
    text = "\n".join(_step_words(step, job))
    systems = set(job.vehicle.systems) | {element.protected for element in elements if element.protected}
    return _matching(text, systems, {element.kind for element in elements})


def cautions_for_part(name: str, element: Element | None = None) -> tuple[Caution, ...]:
    """Return the cautions that a part brings by itself, taken out of its vehicle: by its name and what it is."""
    systems = {element.protected} if element and element.protected else set()
    return _matching(name, systems, {element.kind} if element else set())


def _is_high_voltage(step: Step) -> bool:
    """Return whether a step read more than 60 V, whatever was said of the vehicle."""
    if not isinstance(step, records.VoltageStep):
        return False
    try:
        entry = read_entry(step.reading, usual_unit="V")
    except EntryError:
        return False
    return entry.value is not None and abs(entry.value) > HIGH_VOLTAGE_V


def _matching(text: str, systems: set[str], kinds: set[str]) -> tuple[Caution, ...]:
    return tuple(trigger.caution for trigger in _triggers()
                 if trigger.systems & systems or trigger.kinds & kinds or trigger.signs.search(text))


def _elements(job: Job) -> Iterator[Element]:
    for circuit in job.circuits:
        yield from circuit.elements


def _job_words(job: Job) -> Iterator[str]:
    for complaint in job.complaints:
        yield complaint.words
        yield complaint.conditions
    for step in job.steps:
        yield from _step_words(step, job)
    for condemned in job.condemned:
        yield condemned.part
    for part in job.parts:
        yield part.name


def _step_words(step: Step, job: Job) -> Iterator[str]:
    yield labels.step_title(step, job)
    yield labels.setup_words(step, job)
    yield from _places(step)


def _places(step: Step) -> tuple[str, ...]:
    """Return the names of points and elements that a step touches, as typed."""
    match step:
        case records.VoltageStep() | records.ResistanceStep() | records.WatchVoltage() | records.WatchResistance():
            return step.red, step.black
        case records.CurrentStep() | records.WatchCurrent():
            return (step.through,)
        case records.LampStep() | records.WatchLamp():
            return step.clip, step.probe
        case records.MovementStep():
            return step.elements + (_places(step.watching) if step.watching else ())
        case records.LookStep():
            return step.elements
        case records.ObserveStep() | records.SwapStep():
            return (step.element,)
        case _:
            return step.what, step.where


def _circuit_of(step: Step, job: Job) -> Circuit | None:
    return next((circuit for circuit in job.circuits if circuit.id == step.circuit), None)


def _touched(names: tuple[str, ...], step: Step, job: Job) -> tuple[Element, ...]:
    """Return the elements that are named or that hang on a point which is named.

    Battery negative and positive are on almost every element and say nothing of one. A step that names no circuit is
    looked up in all of them: a slip there must not let a lamp onto a restraint.
    """
    circuit = _circuit_of(step, job)
    points = set(names) - _REFERENCE_POINTS
    elements = circuit.elements if circuit else tuple(_elements(job))
    return tuple(e for e in elements if e.id in names or (e.title and e.title in names)
                 or points & set(e.between or ()))


def step_refused(step: Step, job: Job) -> str | None:
    """Return why a step is refused, in one sentence, or None.

    A lamp or an ohmmeter pushes current through what it tests, and a bridge supplies it; on the wiring of a
    pyrotechnic restraint that can fire it.
    """
    names = _pushed_into(step, job)
    if not names:
        return None
    signs = next(trigger.signs for trigger in _triggers() if trigger.caution.key == PYROTECHNIC)
    named = next((name for name in names if signs.search(name)), None)
    named = named or next((e.title or e.id for e in _touched(names, step, job) if e.protected == PYROTECHNIC), None)
    if named is None:
        return None
    return (f"{named} belongs to a pyrotechnic restraint: no lamp, no ohmmeter and no supply on its wiring, because "
            f"the current can fire it. Follow the maker's instructions and leave it to trained persons.")


def _pushed_into(step: Step, job: Job) -> tuple[str, ...]:
    """Return the names of the points and elements that a step pushes current into."""
    tested = step.watching if isinstance(step, records.MovementStep) else step
    pushes = isinstance(tested, records.LampStep | records.WatchLamp | records.ResistanceStep | records.WatchResistance)
    circuit = _circuit_of(step, job)
    bridges = [bridge for setup in (circuit.setups if circuit else ()) if setup.id == step.setup
               for bridge in setup.bridges]
    return (_places(tested) if pushes else ()) + tuple(point for bridge in bridges for point in bridge.between)
