"""A point or an element of a circuit that was pressed, and what is typed for it: a reading, a look, a lamp.

Pure: the place, the text and the job in; a step, or why there is none, out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.exchange import records
from workshop_log.jobs import labels
from workshop_log.jobs.circuit_ranges import AS_FOUND, CircuitRangeError, expected_on_circuit
from workshop_log.jobs.completing import completed
from workshop_log.jobs.entry_line import EntryLine, is_bare_number, read_count, read_look, read_swap
from workshop_log.jobs.evaluation import judge_step
from workshop_log.jobs.ids import next_id
from workshop_log.measuring.entry import EntryError, plain_text, read_entry

if TYPE_CHECKING:
    from workshop_log.exchange.records import Expected, Instrument, Job, Step

REFERENCE = "B-"
_WORKS = {"works": True, "runs": True, "works not": False, "does not work": False, "dead": False}


@dataclass(frozen=True, slots=True)
class Place:
    """Where the next test is made.

    Attributes
    ----------
    circuit, setup : str
        Of the job; the setup by its short name.
    point, black : str
        Where the red and the black lead lie; blank for an element.
    element : str
        The element; blank for a point.
    others : tuple[str, ...]
        Elements that are moved or looked at together with it: the other pins of its plug.
    watching : tuple[str, str] | None
        Where a voltmeter lies while it is moved.
    """

    circuit: str
    setup: str = AS_FOUND
    point: str = ""
    black: str = REFERENCE
    element: str = ""
    others: tuple[str, ...] = ()
    watching: tuple[str, str] | None = None


def place_words(place: Place, job: Job) -> str:
    """Return the place in words: "red at 45, black at B−, cranking"."""
    circuit = next((c for c in job.circuits if c.id == place.circuit), None)
    setups = circuit.setups if circuit else ()
    setup = next((s.title or s.id for s in setups if s.id == place.setup), place.setup)
    if place.element:
        names = [labels.element_words(element, circuit) for element in (place.element, *place.others)]
        return f"{' and '.join(names)}, {setup}"
    return f"red at {labels.point_words(place.point)}, black at {labels.point_words(place.black)}, {setup}"


def healthy_words(place: Place, job: Job) -> str:
    """Return what a meter must show there when the circuit is healthy, with the reason; or why nobody can say."""
    step = _step(place, "0 A" if place.element else "0 V", "A" if place.element else "V", job)
    try:
        expected = expected_on_circuit(step, job)
    except CircuitRangeError as error:
        return str(error)
    return f"Healthy: {expected.words()} ({expected.source.removeprefix('computed: ')})" if expected else ""


def read_at(text: str, place: Place, job: Job, *, expected: Expected | None = None,
            instrument: Instrument | None = None) -> EntryLine:
    """Read what was typed for a place.

    Parameters
    ----------
    text : str
        A reading, in volt at a point and ampere at an element where no unit is typed; `lit`, `dim`, `dark` for a test
        lamp from B− to the point; `damage`, `nothing` for a look at an element, with `slight`, `fair` or `strong` for
        how much it says; `works`, `works not`; `cured`, `not cured` for a known good one in an element's place; `3/10`
        for an element that was moved while the voltage after it was watched.
    place : Place
        Where.
    job : Job
        With the circuit.
    expected, instrument
        Chosen beside the line.
    """
    words = " ".join(text.split())
    if not words:
        return EntryLine(text)
    step = _step_without_number(words.lower(), place, job) or _step_with_number(words, place, job)
    if isinstance(step, str):
        return EntryLine(text, problem=step)
    return completed(text, step, job, expected, instrument, lambda made, known: (
        f"{labels.step_title(made, known)}: {labels.step_result(made)}, {place_words(place, known)}."
        f"{_verdict(made, known)}"))


def _verdict(step: Step, job: Job) -> str:
    """Return the verdict that the step would get, as a hint while it is typed."""
    if not hasattr(step, "reading"):
        return ""
    judged = judge_step(step, job)
    return f" Expected {judged.expected.words()}: {judged.verdict.value}." if judged.verdict else ""


def _step_without_number(word: str, place: Place, job: Job) -> Step | None:
    common = {"id": next_id(job.steps, "s"), "circuit": place.circuit, "setup": _setup(place)}
    if place.point and word in ("lit", "dim", "dark"):
        return records.LampStep(**common, clip=place.black, probe=place.point, result=word)
    return _step_on_element(word, place, common) if place.element else None


def _step_on_element(word: str, place: Place, common: dict[str, str]) -> Step | None:
    element, together = place.element, (place.element, *place.others)
    if word in _WORKS:
        return records.ObserveStep(**common, element=element, works=_WORKS[word])
    look, cured, counted = read_look(word), read_swap(word), read_count(word)
    if look is not None:
        return records.LookStep(**common, elements=together, result=look[0], strength=look[1])
    if cured is not None:
        return records.SwapStep(**common, element=element, cured=cured)
    if counted is not None:
        watching = records.WatchVoltage(red=place.watching[0], black=place.watching[1]) if place.watching else None
        return records.MovementStep(**common, elements=together, watching=watching, shown=counted[0],
                                    trials=counted[1])
    return None


def _step_with_number(words: str, place: Place, job: Job) -> Step | str:
    """Return the reading's step, or what is wrong with the reading."""
    try:
        entry = read_entry(words, usual_unit="A" if place.element else "V")
    except EntryError as error:
        return error.reason
    has_unit = entry.is_over_range or not is_bare_number(words)
    # Only an ohmmeter is over range at a place where nothing is wrong with the meter.
    unit = "ohm" if entry.is_over_range else entry.unit
    step = _step(place, words if has_unit else plain_text(entry), unit, job)
    if step is None:
        return f"A {entry.dimension} cannot be measured there: a voltage, a current or a resistance can."
    return step


def _step(place: Place, reading: str, unit: str, job: Job) -> Step | None:
    common = {"id": next_id(job.steps, "s"), "circuit": place.circuit, "setup": _setup(place), "reading": reading}
    red, black = place.point, place.black
    if place.element:
        if unit == "A":
            return records.CurrentStep(**common, through=place.element)
        circuit = next((c for c in job.circuits if c.id == place.circuit), None)
        element = next((e for e in circuit.elements if e.id == place.element), None) if circuit else None
        if element is None or element.between is None:
            return None
        red, black = element.between
    if unit == "V":
        return records.VoltageStep(**common, red=red, black=black)
    if unit == "ohm":
        return records.ResistanceStep(**common, red=red, black=black)
    return None


def _setup(place: Place) -> str:
    # As found is what a step without a setup means.
    return "" if place.setup == AS_FOUND else place.setup
