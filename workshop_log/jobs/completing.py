"""The end of every way in which a step is typed: its instrument and range, what is wrong, what has to be said before.

Pure: a step and a job in; the step as it may be taken down, or why it may not, out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec
from msgspec.structs import replace

from workshop_log.exchange import records
from workshop_log.exchange.checking import check_last_step
from workshop_log.exchange.writing import canonical_json
from workshop_log.jobs.circuit_ranges import push_cautions
from workshop_log.jobs.entry_line import EntryLine, understood_words
from workshop_log.jobs.evaluation import findings_on

if TYPE_CHECKING:
    from collections.abc import Callable

    from workshop_log.exchange.records import Expected, Instrument, Job, Step

# What is odd about a reading and is said while it is typed.
_SAID_BEFORE = ("high-voltage", "above-largest-range")


def completed(text: str, step: Step, job: Job, expected: Expected | None, instrument: Instrument | None,
              words: Callable[[Step, Job], str] = understood_words) -> EntryLine:
    """Return a typed step with the range and the instrument that were chosen beside it, or what is wrong with it.

    Parameters
    ----------
    text : str
        As typed.
    step : Step
        What it was read as; a range or an instrument that it names itself wins.
    job : Job
        As it stands.
    expected, instrument
        Chosen beside the line.
    words : Callable
        Says how the step was understood.
    """
    job = with_instrument(job, instrument)
    if expected is not None and hasattr(step, "reading") and step.expected is None:
        step = replace(step, expected=expected)
    if instrument is not None and step.instrument is None and takes(instrument, step):
        step = replace(step, instrument=instrument.id)
    problem = problem_of_last_step(replace(job, steps=(*job.steps, step)))
    if problem:
        return EntryLine(text, problem=problem[1])
    cautions = push_cautions(step, job)
    refused = [caution.words for caution in cautions if caution.severity == "refused"]
    if refused:
        return EntryLine(text, problem=f"This test must not be made here: {refused[0]}")
    odd = [finding.words.removeprefix(f"Step {step.id}: ") for finding in findings_on(step, job)
           if finding.key in _SAID_BEFORE]
    said = [f"⚠ {caution}" for caution in (*(caution.words for caution in cautions), *odd)]
    return EntryLine(text, step, " ".join([*said, words(step, job)]))


def with_instrument(job: Job, instrument: Instrument | None) -> Job:
    """Return the job with an instrument that it may not have yet."""
    if instrument is None or any(known.id == instrument.id for known in job.instruments):
        return job
    return replace(job, instruments=(*job.instruments, instrument))


def takes(instrument: Instrument, step: Step) -> bool:
    """Return whether an instrument can have made a step: a lamp shows no number, and a meter is no lamp."""
    if isinstance(step, records.LampStep):
        return instrument.kind == "test lamp"
    return hasattr(step, "reading") and instrument.kind != "test lamp"


def problem_of_last_step(job: Job) -> tuple[str, str] | None:
    """Return what is wrong with the last step of a job: the field and a sentence; None if nothing is."""
    step = job.steps[-1]
    try:
        # What the job file could not hold the book must not hold either: a line too long, say.
        msgspec.json.decode(canonical_json(step), type=records.Step)
    except msgspec.ValidationError as error:
        return "", f"This step has a value that cannot be kept: {error}. Shorten it, or put it into the note."
    start = f"steps[{len(job.steps) - 1}]"
    for finding in check_last_step(job):
        if finding.severity == "error":
            message = finding.message
            return finding.path.removeprefix(start).lstrip("."), f"{message[0].upper()}{message[1:]}"
    return None
