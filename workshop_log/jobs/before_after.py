"""The same tests before and after the repair, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.jobs import labels
from workshop_log.jobs.evaluation import JudgedReading, Remark
from workshop_log.measuring.verdict import Verdict

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job
    from workshop_log.jobs.evaluation import Evaluation


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """One test made before the repair and again after it.

    Attributes
    ----------
    title : str
        What was done both times.
    setup : str
        Under which condition.
    before, after : JudgedReading | Remark
        What each showed.
    """

    title: str
    setup: str
    before: JudgedReading | Remark
    after: JudgedReading | Remark

    @property
    def words(self) -> str:
        """The pair in a sentence: "Voltage: strap to B−, cranking: 0.48 V before, 0.04 V after."."""
        before, after = labels.step_result(self.before.step), labels.step_result(self.after.step)
        setup = "" if self.setup == labels.AS_FOUND else f", {self.setup}"
        return f"{self.title}{setup}: {before} before, {after} after."


def before_and_after(job: Job, evaluation: Evaluation) -> tuple[BeforeAfter, ...]:
    """Return the tests that were made again after the repair, in the order of the tests after it.

    A step that says which one it repeats is paired with that; else with the last one before the repair of the same
    kind, at the same place and under the same condition. Corrected steps take no part.
    """
    order = {step.id: place for place, step in enumerate(job.steps)}
    told = sorted((t for t in (*evaluation.readings, *evaluation.remarks) if not t.replaced),
                  key=lambda one: order[one.step.id])
    by_id = {one.step.id: one for one in told}
    before = {_same(one, job): one for one in told if not one.step.after_repair}
    pairs = []
    for after in told:
        if not after.step.after_repair:
            continue
        named = _current(after.step.repeats, by_id, job)
        match = named or before.get(_same(after, job))
        if match is not None:
            title, setup = labels.step_title(after.step, job), labels.setup_words(after.step, job)
            pairs.append(BeforeAfter(title, setup, match, after))
    return tuple(pairs)


def not_made_again(job: Job, evaluation: Evaluation) -> tuple[JudgedReading, ...]:
    """Return the readings that a condemned part rests on and that were not taken again after the repair.

    Looks and movements are left out: whoever has put a new part in need not look for the old damage.
    """
    named = {step for entry in job.condemned if entry.repaired for step in entry.steps}
    again = {id(pair.before) for pair in before_and_after(job, evaluation)}
    return tuple(reading for reading in evaluation.readings
                 if reading.step.id in named and reading.verdict is Verdict.OUTSIDE and not reading.replaced
                 and not reading.step.after_repair and id(reading) not in again)


def _current(step_id: str | None, by_id: dict[str, JudgedReading | Remark], job: Job) -> JudgedReading | Remark | None:
    """Return the step with this id, or the one that corrects it."""
    replaced_by = {step.replaces: step.id for step in job.steps if step.replaces}
    seen = set()
    while step_id in replaced_by and step_id not in seen:
        seen.add(step_id)
        step_id = replaced_by[step_id]
    return by_id.get(step_id) if step_id else None


def _same(told: JudgedReading | Remark, job: Job) -> tuple[str, str]:
    """Return what makes two steps the same test."""
    return (labels.step_title(told.step, job).casefold(), labels.setup_words(told.step, job).casefold())
