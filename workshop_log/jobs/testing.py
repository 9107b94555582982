"""Test steps as they are made: taken down, corrected, made again; instruments proved; circuits kept.

A step is evidence: it is never changed in place. A correction is a new step that names the one it replaces and why,
and both stay.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange import records
from workshop_log.exchange.checking import check_job
from workshop_log.exchange.records import Circuit, Expected, Instrument
from workshop_log.jobs import entry_line
from workshop_log.jobs.cautions import step_refused
from workshop_log.jobs.change import changing
from workshop_log.jobs.completing import completed, problem_of_last_step, takes, with_instrument
from workshop_log.jobs.entry_line import EntryLine
from workshop_log.jobs.ids import next_id
from workshop_log.jobs.photos import add_photo
from workshop_log.measuring.entry import MAX_DIGITS, EntryError, plain_text, read_entry

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job, Step
    from workshop_log.jobs.change import Change
    from workshop_log.measuring.ranges import ExpectedRange
    from workshop_log.measuring.rules import Rule

__all__ = ["EntryLine", "StepError", "StepRefusedError", "add_photo", "correct_step", "expected_record",
           "prove_instrument", "read_again", "read_entry_line", "record_step", "save_circuit", "save_instrument",
           "words_to_retype"]


class StepError(WorkshopLogError, ValueError):
    """A step that could not stand in the job; `path` names the field."""

    def __init__(self, path: str, reason: str) -> None:
        self.path = path
        super().__init__(reason)


class StepRefusedError(WorkshopLogError, ValueError):
    """A step that is not taken down because making it can hurt."""


# --- a line typed at the vehicle ------------------------------------------------------------------------------------


def read_entry_line(text: str, job: Job, rules: Sequence[Rule] | None = None, *, expected: Expected | None = None,
                    instrument: Instrument | None = None) -> EntryLine:
    """Read one line typed at the vehicle (see `entry_line`).

    Parameters
    ----------
    text, job, rules
        As `entry_line.read_entry_line` has them.
    expected : Expected, optional
        The range chosen beside the line; one in the line wins.
    instrument : Instrument, optional
        The instrument in the hand; one named in the line wins.
    """
    line = entry_line.read_entry_line(text, with_instrument(job, instrument), rules)
    return line if line.step is None else completed(text, line.step, job, expected, instrument)


def read_again(text: str, template: Step, job: Job, *, after_repair: bool, expected: Expected | None = None,
               instrument: Instrument | None = None) -> EntryLine:
    """Read a new result for a step that is corrected or made again: the place, setup and range are those of before.

    Parameters
    ----------
    text : str
        A reading alone, in the unit of before if none is typed; or a whole line.
    template : Step
        The step before.
    job : Job
        The job.
    after_repair : bool
        Whether it is made again after the repair; else it corrects the step.
    expected, instrument
        Chosen beside the line.
    """
    if not text.strip():
        return EntryLine(text)
    again = {"after_repair": after_repair or template.after_repair, "repeats": template.id if after_repair else
             template.repeats, "id": next_id(job.steps, "s"), "at": None, "replaces": None, "because": "", "note": ""}
    alone = _result_alone(text, template)
    if alone is None:
        line = entry_line.read_entry_line(text, with_instrument(job, instrument))
        if line.step is None:
            return line
        step = replace(line.step, after_repair=again["after_repair"], repeats=again["repeats"])
        usual = template.expected if type(step) is type(template) else None
        if hasattr(step, "reading"):
            step = replace(step, expected=step.expected or expected or usual)
    else:
        step = replace(template, **again, **alone, proved=None)
        step = replace(step, expected=expected or template.expected) if hasattr(step, "reading") else step
    if instrument is not None and takes(instrument, step):
        step = replace(step, instrument=instrument.id)
    return completed(text, step, job, None, instrument)


def _result_alone(text: str, template: Step) -> dict[str, object] | None:
    """Return the new result of a step if the text is nothing else: a reading, a word, a count."""
    word = text.strip().lower()
    match template:
        case records.LampStep():
            return {"result": word} if word in ("lit", "dim", "dark") else None
        case records.LookStep():
            look = entry_line.read_look(word)
            return None if look is None else {"result": look[0], "strength": look[1]}
        case records.ObserveStep():
            works = {"works": True, "yes": True, "works not": False, "no": False, "does not work": False}.get(word)
            return None if works is None else {"works": works}
        case records.SwapStep():
            cured = entry_line.read_swap(word)
            return None if cured is None else {"cured": cured}
        case records.MovementStep():
            counted = entry_line.read_count(text)
            return None if counted is None else {"shown": counted[0], "trials": counted[1]}
        case _:
            return _reading_alone(text, template)


def _reading_alone(text: str, template: Step) -> dict[str, object] | None:
    try:
        unit = read_entry(template.reading).unit or None
    except EntryError:
        unit = None
    try:
        entry = read_entry(text, usual_unit=unit)
    except EntryError:
        return None
    has_unit = entry.is_over_range or not entry_line.is_bare_number(text)
    return {"reading": text.strip() if has_unit else plain_text(entry)}


def words_to_retype(step: Step) -> str:
    """Return what a step showed as a person would type it again: "0.48 V", "dark", "3/10"."""
    match step:
        case records.MovementStep():
            return f"{step.shown}/{step.trials}"
        case records.LampStep():
            return step.result
        case records.LookStep():
            return step.result if step.strength == "fair" else f"{step.result} {step.strength}"
        case records.ObserveStep():
            return "works" if step.works else "works not"
        case records.SwapStep():
            return "cured" if step.cured else "same"
        case _:
            return step.reading


def expected_record(expected: ExpectedRange) -> Expected:
    """Return an expected range as the job file writes it, with the fifteen digits that a quantity may have."""
    def limit(value: float | None) -> str | None:
        return None if value is None else f"{value:.{MAX_DIGITS}g} {expected.unit}"

    return Expected(low=limit(expected.low), high=limit(expected.high), source=expected.source)


# --- in the book ----------------------------------------------------------------------------------------------------


def record_step(book: Book, number: str, step: Step, now: datetime, *, instrument: Instrument | None = None) -> Job:
    """Take down a test step; it gets its number and, where it has none, its time.

    Parameters
    ----------
    book, number
        The job.
    step : Step
        As it was made.
    now : datetime
        The time of a step that says none.
    instrument : Instrument, optional
        The one in the hand, where the job does not know it yet or knows an earlier state of it.

    Raises
    ------
    StepRefusedError
        If making it can hurt.
    StepError
        If it could not stand in the job: an unreadable reading, an unknown instrument, a point that is not there.
    """
    with changing(book, number) as change:
        _enter_step(change, step, now, instrument)
    return change.job


def correct_step(book: Book, number: str, step_id: str, step: Step, because: str, now: datetime, *,
                 instrument: Instrument | None = None) -> Job:
    """Take down a step that corrects another; both stay in the record.

    Raises
    ------
    StepError
        If no reason is given, or the step was corrected before.
    UnknownItemError
        If there is no such step.
    StepRefusedError
        If making it can hurt.
    """
    if not because.strip():
        raise StepError("because", "A correction needs a reason: both entries stay in the record.")
    with changing(book, number) as change:
        before = change.find("steps", step_id)
        later = next((s.id for s in change.job.steps if s.replaces == step_id), None)
        if later is not None:
            raise StepError("replaces", f"Step {step_id} is corrected by step {later} already: correct that one.")
        step = replace(step, replaces=before.id, because=because.strip(), after_repair=before.after_repair,
                       repeats=before.repeats)
        _enter_step(change, step, now, instrument)
    return change.job


def _enter_step(change: Change, step: Step, now: datetime, instrument: Instrument | None) -> None:
    step = replace(step, id=next_id(change.job.steps, "s"), at=step.at or now)
    job = change.job
    if step.instrument is not None:
        job = _known_instrument(change, step.instrument, instrument)
    refused = step_refused(step, job)
    if refused:
        raise StepRefusedError(refused)
    problem = problem_of_last_step(replace(job, steps=(*job.steps, step)))
    if problem:
        raise StepError(*problem)
    change.append("step", step)


def _known_instrument(change: Change, id: str, given: Instrument | None) -> Job:  # noqa: A002
    """Keep the instrument that a step names with the job, as it is now, and return the job with it."""
    from workshop_log.book.settings import load_settings

    known = next((i for i in change.job.instruments if i.id == id), None)
    wanted = given if given is not None and given.id == id else known
    if wanted is None:
        wanted = next((i for i in load_settings(change.session).instruments if i.id == id), None)
    if wanted is None or wanted == known:
        return change.job
    if known is not None and known.last_proved and (not wanted.last_proved or wanted.last_proved < known.last_proved):
        # The window may still hold the state from before it was proved.
        return change.job
    change.append("instrument", wanted)
    others = tuple(i for i in change.job.instruments if i.id != id)
    return replace(change.job, instruments=(*others, wanted))


def save_instrument(book: Book, number: str, instrument: Instrument) -> Job:
    """Keep an instrument, as it is now, with the job whose readings it takes.

    Raises
    ------
    StepError
        If it cannot be as described.
    """
    with changing(book, number) as change:
        others = tuple(i for i in change.job.instruments if i.id != instrument.id)
        _check_document(replace(change.job, instruments=(*others, instrument)), f"instruments[{len(others)}]")
        change.append("instrument", instrument)
    return change.job


def prove_instrument(book: Book, number: str, instrument: Instrument, now: datetime) -> Job:
    """Note that an instrument was just shown to work, on a known supply and a known ground."""
    return save_instrument(book, number, replace(instrument, last_proved=now))


def save_circuit(book: Book, number: str, circuit: Circuit) -> Job:
    """Keep a circuit, as it is now, with the job; each change is kept beside the ones before.

    Raises
    ------
    StepError
        If it cannot be as described.
    EditRefusedError
        If it lacks a point, an element or a setup that a test step of the job names.
    """
    from workshop_log.jobs.circuit_editing import require_evidence

    with changing(book, number) as change:
        others = tuple(c for c in change.job.circuits if c.id != circuit.id)
        require_evidence(change.job, circuit)
        _check_document(replace(change.job, circuits=(*others, circuit)), f"circuits[{len(others)}]")
        change.append("circuit", circuit)
    return change.job


def _check_document(job: Job, start: str) -> None:
    for finding in check_job(job):
        if finding.severity == "error" and finding.path.startswith(start):
            raise StepError(finding.path.removeprefix(start).lstrip("."), finding.message)
