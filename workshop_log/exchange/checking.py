"""What makes a record false although each of its values is well formed.

An *error* is what cannot be true: a reading in ohms in a voltage step, a step that names an instrument that is not
there, an end before its start. A *warning* is what a person should look at and may leave: a VIN with a wrong check
digit still recognises the vehicle.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Collection, Iterable, Iterator
from datetime import datetime
from decimal import Decimal
from itertools import islice
from typing import Any, Literal

from msgspec import Struct

from workshop_log.exchange import circuit_check, fault_codes, vin
from workshop_log.exchange.circuit_check import CircuitNames, names_of
from workshop_log.exchange.quantity_check import (
    dimension_of,
    problem_of_order,
    problem_of_quantity,
    problem_of_reading,
)
from workshop_log.exchange.records import (
    Access,
    Circuit,
    CurrentStep,
    Expected,
    HandSuspect,
    Instrument,
    Job,
    LampStep,
    LookStep,
    MovementStep,
    ObserveStep,
    Photo,
    Record,
    ResistanceStep,
    Step,
    SwapStep,
    ValueStep,
    VoltageStep,
    WatchCurrent,
    WatchLamp,
)
from workshop_log.exchange.values import instrument_of
from workshop_log.measuring.instruments import InstrumentError


class Finding(Struct, frozen=True):
    """One thing that is wrong in a job: how bad, where, and what, in one sentence."""

    severity: Literal["error", "warning"]
    path: str
    message: str


# What is found below a path that the caller knows: severity, relative path, message.
Found = tuple[Literal["error", "warning"], str, str]

# Of each list in the job: a file in which everything is wrong must not take minutes to say so.
MOST_FINDINGS = 100
_WITH_IDS = ("complaints", "instruments", "circuits", "steps", "suspects", "access", "condemned", "estimate",
             "approvals", "clock", "parts", "charges", "photos", "notes", "reports")
# Control characters other than tab and line ends, halves of pairs and what Unicode says is no character.
_NO_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
# Any time outside is a slip, and conversions to UTC overflow at the ends of the calendar.
_YEARS = range(1900, 3000)
# Money is below a million million and has at most six decimals; more would make sums that nobody can print.
MONEY_DIGITS = 12
MONEY_DECIMALS = 6
_PICTURE_BEGINS = {"image/jpeg": b"\xff\xd8\xff", "image/png": b"\x89PNG\r\n\x1a\n", "image/webp": b"RIFF"}
_LONGEST_SHOWN = 60


def check_job(job: Job, *, text: bool = True) -> list[Finding]:
    """Return what is wrong in a job, errors and warnings in the order of the file, at most 100 in each of its lists.

    Parameters
    ----------
    job : Job
        Its single values are well formed, as the decoder leaves them.
    text : bool
        Whether to look through all text for control characters as well.
    """
    findings = check_text(job) if text else []
    for severity, path, message in (*_head(job), *_vehicle(job)):
        findings.append(Finding(severity, path, message))
    circuits = {circuit.id: names_of(circuit) for circuit in job.circuits}
    ids = {collection: {item.id for item in getattr(job, collection)} for collection in _WITH_IDS}
    for collection, check in (
        ("complaints", lambda _: ()), ("fault_codes", _fault_code), ("instruments", _instrument),
        ("circuits", _circuit), ("steps", lambda step: _step(step, ids, circuits)),
        ("suspects", lambda item: _suspect(item, ids)), ("access", lambda item: _access(item, circuits)),
        ("condemned", lambda item: _condemned(item, ids, circuits)), ("estimate", _estimate),
        ("approvals", lambda item: _approval(item, ids)), ("clock", _clock), ("parts", lambda item: _part(item, ids)),
        ("charges", lambda item: _money("amount", item.amount)), ("photos", lambda item: _photo(item, ids)),
        ("notes", lambda item: _moments(item, "at")), ("reports", lambda item: _moments(item, "at")),
    ):
        items = getattr(job, collection)
        findings += _in_list(collection, items, check)
        if collection in _WITH_IDS:
            findings += _twice(collection, items)
        if collection in ("steps", "condemned", "approvals"):
            findings += _corrections(collection, items)
        if collection == "access":
            findings += islice(_said_twice(items), MOST_FINDINGS)
    return findings


def check_last_step(job: Job) -> list[Finding]:
    """Return what is wrong with the last step of a job, as `check_job` would, and with nothing else of it."""
    start, step = f"steps[{len(job.steps) - 1}]", job.steps[-1]
    circuits = {circuit.id: names_of(circuit) for circuit in job.circuits}
    ids = {collection: {item.id for item in getattr(job, collection)} for collection in _WITH_IDS}
    findings = check_text(step, start)
    findings += (Finding(severity, f"{start}{'.' if path else ''}{path}", message)
                 for severity, path, message in islice(_step(step, ids, circuits), MOST_FINDINGS))
    findings += (finding for finding in (*_twice("steps", job.steps), *_corrections("steps", job.steps))
                 if finding.path.startswith((f"{start}.", f"{start}[")) or finding.path == start)
    return findings


def check_text(record: Record, path: str = "") -> list[Finding]:
    """Return a finding for each text with a character that no screen and no paper can show."""
    found = (Finding("error", where, f"there is a control character (U+{ord(match[0]):04X}) in the text: remove it.")
             for where, words in _texts(record, path) if (match := _NO_TEXT.search(words)))
    return list(islice(found, MOST_FINDINGS))


def _texts(value: Any, path: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield path, value
    elif isinstance(value, Record):
        for name in value.__struct_fields__:
            yield from _texts(getattr(value, name), f"{path}.{name}" if path else name)
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _texts(item, f"{path}[{index}]")


def _in_list(collection: str, items: Iterable[Any], check: Any) -> Iterator[Finding]:
    found = ((severity, f"{collection}[{index}]{'.' if path else ''}{path}", message)
             for index, item in enumerate(items) for severity, path, message in check(item))
    for severity, path, message in islice(found, MOST_FINDINGS):
        yield Finding(severity, path, message)


def _twice(collection: str, items: Iterable[Any]) -> Iterator[Finding]:
    seen: set[str] = set()
    for index, item in enumerate(items):
        if item.id in seen:
            yield Finding("error", f"{collection}[{index}].id", f"the id “{item.id}” stands twice: change one of them.")
        seen.add(item.id)


def _said_twice(items: Iterable[Access]) -> Iterator[Finding]:
    """Find what is said of a thing of which something else is said before: both cannot be."""
    said: dict[tuple[str | None, ...], str] = {}
    for index, item in enumerate(items):
        first = said.setdefault((item.circuit, item.point, item.element, item.test), item.id)
        if first != item.id:
            yield Finding("error", f"access[{index}]", f"“{_short(first)}” says something of the same thing already: "
                                                       f"keep one of them.")


def _corrections(collection: str, items: Iterable[Any]) -> Iterator[Finding]:
    """Find corrections that do not name an entry before them: none may correct itself, and both stay."""
    before: set[str] = set()
    replaced: set[str] = set()
    for index, item in enumerate(items):
        path = f"{collection}[{index}]"
        if item.replaces is not None:
            if item.replaces not in before:
                yield Finding("error", f"{path}.replaces", f"there is no entry “{_short(item.replaces)}” before this "
                                                           f"one: a correction stands after what it replaces.")
            elif item.replaces in replaced:
                yield Finding("warning", f"{path}.replaces", f"“{item.replaces}” is replaced twice: the later "
                                                             f"correction should name the earlier one.")
            if not item.because:
                yield Finding("warning", path, "a correction says why: “because” is missing.")
            replaced.add(item.replaces)
        before.add(item.id)


# --- the parts of a job ---------------------------------------------------------------------------------------------


def _head(job: Job) -> Iterator[Found]:
    yield from _moments(job, "opened", "handed_back", "settled")
    yield from _order(job, "opened", "handed_back", "the vehicle was handed back before the job was opened")
    for name in ("labour_rate", "tax_rate"):
        yield from _money(f"workshop.{name}", getattr(job.workshop, name), lowest=Decimal(0))


def _vehicle(job: Job) -> Iterator[Found]:
    yield from _quantity("vehicle.odometer", job.vehicle.odometer, ("length", "time"), 0)
    yield from _quantity("vehicle.nominal_supply", job.vehicle.nominal_supply, ("voltage",), positive=True)
    if job.vehicle.vin and not job.anonymous:
        for words in vin.check_vin(job.vehicle.vin).findings:
            yield "warning", "vehicle.vin", words


def _fault_code(item: Any) -> Iterator[Found]:
    try:
        fault_codes.read_fault_code(item.code)
    except fault_codes.FaultCodeError as error:
        yield "warning", "code", error.reason


def _instrument(item: Instrument) -> Iterator[Found]:
    yield from _moments(item, "last_proved")
    problems = [
        *_quantity("input_resistance", item.input_resistance, ("resistance",), positive=True),
        *_quantity("voltage", item.voltage, ("voltage",), positive=True),
        *_quantity("current", item.current, ("current",), positive=True)]
    for index, measured in enumerate(item.ranges):
        for key in ("up_to", "resolution"):
            problems += _quantity(f"ranges[{index}].{key}", getattr(measured, key), (measured.quantity,),
                                  positive=True, needed=True)
    yield from problems
    if not problems:
        try:
            instrument_of(item)
        except InstrumentError as error:
            yield "error", "", str(error)


def _circuit(circuit: Circuit) -> Iterator[Found]:
    for path, message in circuit_check.problems(circuit):
        yield "error", path, message
    for index, element in enumerate(circuit.elements):
        yield from _money(f"elements[{index}].price", element.price, lowest=Decimal(0))


def _step(step: Step, ids: dict[str, set[str]], circuits: dict[str, CircuitNames]) -> Iterator[Found]:
    if step.at is not None:
        yield from _moments(step, "at")
    if step.instrument is not None and step.instrument not in ids["instruments"]:
        yield _dangling("instrument", step.instrument, "instrument", ids["instruments"])
    if step.repeats is not None and (step.repeats not in ids["steps"] or step.repeats == step.id):
        yield "error", "repeats", f"there is no other step “{_short(step.repeats)}” that this one could repeat."
    yield from _readings(step)
    if isinstance(step, MovementStep) and step.shown > step.trials:
        yield "error", "shown", f"the fault showed {step.shown} times in {step.trials} trials: one of them is wrong."
    if step.circuit is not None:
        if step.circuit in circuits:
            yield from _step_in_circuit(step, circuits[step.circuit])
        else:
            yield _dangling("circuit", step.circuit, "circuit", circuits)


def _readings(step: Step) -> Iterator[Found]:
    if not isinstance(step, VoltageStep | CurrentStep | ResistanceStep | ValueStep):
        if step.expected is not None:
            yield "error", "expected", "only a step with a reading has an expected range: remove it."
        return
    dimension = "" if isinstance(step, ValueStep) else step.__struct_config__.tag
    problem = problem_of_reading(step.reading, dimension)
    if problem:
        yield "error", "reading", problem
    if step.expected is not None:
        yield from _expected(step.expected, dimension or dimension_of(step.reading))


def _expected(expected: Expected, dimension: str) -> Iterator[Found]:
    """Find limits that the reading cannot be held against; an unreadable reading has no dimension to compare."""
    limits = [(side, text) for side in ("low", "high") if (text := getattr(expected, side)) is not None]
    if not limits:
        yield "error", "expected", "an expected range has a low or a high value: write one, or remove it."
    wrong = False
    for side, text in limits:
        problem = problem_of_quantity(text, (dimension,) if dimension else ())
        if problem:
            wrong = True
            yield "error", f"expected.{side}", problem
    if len(limits) == 2 and not wrong:
        problem = problem_of_order(expected.low, expected.high)
        if problem:
            yield "error", "expected", problem


def _step_in_circuit(step: Step, names: CircuitNames) -> Iterator[Found]:
    if step.setup and step.setup not in names.setups:
        yield _dangling("setup", step.setup, "setup in this circuit", names.setups)
    watched = step.watching if isinstance(step, MovementStep) else None
    for prefix, part in (("", step), ("watching.", watched)):
        if part is None:
            continue
        if isinstance(part, LampStep | WatchLamp):
            keys: tuple[str, ...] = ("clip", "probe")
        else:
            keys = ("red", "black") if hasattr(part, "red") else ()
        for key in keys:
            if getattr(part, key) not in names.points:
                yield _dangling(prefix + key, getattr(part, key), "point in this circuit", names.points)
        if isinstance(part, CurrentStep | WatchCurrent) and part.through not in names.elements:
            yield _dangling(prefix + "through", part.through, "element in this circuit", names.elements)
    if isinstance(step, ObserveStep | SwapStep) and step.element not in names.elements:
        yield _dangling("element", step.element, "element in this circuit", names.elements)
    if isinstance(step, LookStep | MovementStep):
        for index, element in enumerate(step.elements):
            if element not in names.elements:
                yield _dangling(f"elements[{index}]", element, "element in this circuit", names.elements)


def _suspect(item: HandSuspect, ids: dict[str, set[str]]) -> Iterator[Found]:
    seen: set[str] = set()
    for index, bearing in enumerate(item.bearings):
        if bearing.step not in ids["steps"]:
            yield _dangling(f"bearings[{index}].step", bearing.step, "step", ids["steps"])
        elif bearing.step in seen:
            yield ("error", f"bearings[{index}].step",
                   f"step {_short(bearing.step)} says something of this suspect twice: keep one of them.")
        seen.add(bearing.step)


def _access(item: Access, circuits: dict[str, CircuitNames]) -> Iterator[Found]:
    if item.state == "not available":
        if item.test is None:
            yield "error", "test", "“not available” is said of a kind of test: name it in “test”."
        if item.point is not None:
            yield "error", "point", "“not available” is said of a kind of test, not of a point: remove “point”."
    else:
        if item.test is not None:
            yield "error", "test", f"“{item.state}” is said of a point or an element: remove “test”."
        if (item.point is None) == (item.element is None):
            yield "error", "", f"“{item.state}” is said of one point or one element: name either."
    if item.circuit not in circuits:
        yield _dangling("circuit", item.circuit, "circuit", circuits)
        return
    names = circuits[item.circuit]
    # The circuit may have been drawn anew since it was said: it then says nothing, and harms nobody.
    for key, known in (("point", names.points), ("element", names.elements)):
        named = getattr(item, key)
        if named is not None and named not in known:
            yield "warning", key, circuit_check.no_such(named, f"{key} in this circuit", known)


def _condemned(item: Any, ids: dict[str, set[str]], circuits: dict[str, CircuitNames]) -> Iterator[Found]:
    yield from _moments(item, "at", "repaired")
    yield from _order(item, "at", "repaired", "the repair was made before the part was condemned")
    yield from _money("price", item.price, lowest=Decimal(0))
    if item.circuit is not None and item.circuit not in circuits:
        yield _dangling("circuit", item.circuit, "circuit", circuits)
    elif item.element is not None and item.circuit is None:
        yield "error", "element", "an element belongs to a circuit: name it in “circuit”."
    elif item.element is not None and item.element not in circuits[item.circuit].elements:
        yield _dangling("element", item.element, "element in this circuit", circuits[item.circuit].elements)
    yield from _together(item, circuits)
    for index, step in enumerate(item.steps):
        if step not in ids["steps"]:
            yield _dangling(f"steps[{index}]", step, "step", ids["steps"])


def _together(item: Any, circuits: dict[str, CircuitNames]) -> Iterator[Found]:
    if item.together and item.circuit is None:
        yield "error", "together", "elements that go together belong to a circuit: name it in “circuit”."
    for index, element in enumerate(item.together):
        if item.circuit in circuits and element not in circuits[item.circuit].elements:
            yield _dangling(f"together[{index}]", element, "element in this circuit", circuits[item.circuit].elements)


def _estimate(item: Any) -> Iterator[Found]:
    yield from _money("parts", item.parts)
    yield from _money("other", item.other)


def _approval(item: Any, ids: dict[str, set[str]]) -> Iterator[Found]:
    yield from _moments(item, "at")
    yield from _money("up_to", item.up_to, lowest=Decimal(0))
    if item.option is not None and item.option not in ids["estimate"]:
        yield _dangling("option", item.option, "option in the estimate", ids["estimate"])


def _clock(item: Any) -> Iterator[Found]:
    yield from _moments(item, "start", "end")
    yield from _order(item, "start", "end", "the end is before the start")


def _part(item: Any, ids: dict[str, set[str]]) -> Iterator[Found]:
    yield from _moments(item, "ordered", "arrived", "fitted", "returned")
    yield from _money("price", item.price)
    yield from _money("cost", item.cost)
    yield from _money("quantity", item.quantity, lowest=Decimal(0))
    if item.condemned is not None and item.condemned not in ids["condemned"]:
        yield _dangling("condemned", item.condemned, "condemned part", ids["condemned"])


def _photo(item: Photo, ids: dict[str, set[str]]) -> Iterator[Found]:
    yield from _moments(item, "taken")
    if item.step is not None and item.step not in ids["steps"]:
        yield _dangling("step", item.step, "step", ids["steps"])
    if item.data is None:
        return
    if hashlib.sha256(item.data).hexdigest() != item.sha256:
        yield "error", "data", "the bytes are not those of this photo (their SHA-256 differs from “sha256”)."
    elif not item.data.startswith(_PICTURE_BEGINS[item.media_type]):
        yield "warning", "data", f"the bytes are no {item.media_type.removeprefix('image/').upper()} picture."


# --- single values --------------------------------------------------------------------------------------------------


def _moments(record: Any, *keys: str) -> Iterator[Found]:
    for key in keys:
        moment: datetime | None = getattr(record, key)
        if moment is not None and moment.year not in _YEARS:
            yield "error", key, f"the year {moment.year} is outside {_YEARS[0]} to {_YEARS[-1]}: correct the time."


def _order(record: Any, earlier: str, later: str, words: str) -> Iterator[Found]:
    first, second = getattr(record, earlier), getattr(record, later)
    if first is not None and second is not None and second < first:
        yield "error", later, f"{words}: correct one of the two times."


def _money(key: str, amount: Decimal | None, lowest: Decimal | None = None) -> Iterator[Found]:
    if amount is None:
        return
    if not amount.is_finite():
        yield "error", key, f"“{amount}” is no amount: leave the key out where there is none."
    elif amount.adjusted() >= MONEY_DIGITS or not -MONEY_DECIMALS <= amount.as_tuple().exponent <= 0:
        shown = _short(str(amount))
        yield "error", key, (f"“{shown}” has more digits than an amount has: write at most {MONEY_DIGITS} before and "
                             f"{MONEY_DECIMALS} after the point.")
    elif lowest is not None and amount < lowest:
        yield "error", key, f"{amount} is negative: correct the amount."


def _quantity(key: str, text: str, dimensions: tuple[str, ...], lowest: float | None = None, *,
              positive: bool = False, needed: bool = False) -> Iterator[Found]:
    if text or needed:
        problem = problem_of_quantity(text, dimensions, lowest, positive=positive)
        if problem:
            yield "error", key, problem


def _dangling(key: str, named: str, what: str, known: Collection[str]) -> Found:
    return "error", key, circuit_check.no_such(named, what, known)


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else text[:_LONGEST_SHOWN - 1] + "…"
