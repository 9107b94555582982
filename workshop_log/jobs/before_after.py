"""The same tests before and after the repair, side by side; of a fault that comes and goes, how many are enough."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.exchange.records import MovementStep
from workshop_log.jobs import labels
from workshop_log.jobs.evaluation import JudgedReading, Remark
from workshop_log.measuring.verdict import Verdict

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job
    from workshop_log.jobs.evaluation import Evaluation

# How sure a repair has to be by clean trials alone.
CERTAINTY = 0.95


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


@dataclass(frozen=True, slots=True)
class CleanTrials:
    """How often a fault that comes and goes was provoked before the repair, and how often in vain after it.

    Attributes
    ----------
    title, setup : str
        What was moved, and under which condition.
    shown, trials : int
        Before the repair it showed in so many of so many movements.
    needed : int
        So many clean ones after the repair make it `CERTAINTY` sure.
    made : int
        Clean ones after the last repair.
    shown_again : int
        How often it showed after the last repair.
    before, after : tuple[str, ...]
        The ids of the steps in which it was moved.
    """

    title: str
    setup: str
    shown: int
    trials: int
    needed: int
    made: int = 0
    shown_again: int = 0
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()

    @property
    def is_enough(self) -> bool:
        """Whether the clean trials prove the repair."""
        return self.made >= self.needed and not self.shown_again

    @property
    def words(self) -> str:
        """The trials in sentences that could be read aloud."""
        before = f"Before the repair it showed in {self.shown} of {_movements(self.trials)}"
        sure = f"{CERTAINTY * 100:.0f}\u00a0% sure"
        if self.shown_again:
            return f"{before}, and {_times(self.shown_again)} again after it: the repair is not proved."
        if self.is_enough:
            return f"{before}, after it in none of {self.made}: {self.needed} clean ones are enough to be {sure}."
        makes = "one after it makes" if self.needed == 1 else "ones after it make"
        made = "none made" if not self.made else f"{self.made} made"
        return f"{before}: {self.needed} clean {makes} it {sure}; {made} so far."


def _movements(trials: int) -> str:
    return f"{trials} movement" if trials == 1 else f"{trials} movements"


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


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


def clean_trials(job: Job, evaluation: Evaluation) -> tuple[CleanTrials, ...]:
    """Return the movement tests that showed the fault before the repair, with what was made of them after it.

    Only of a complaint that comes and goes: a fault that is always there either shows after the repair or is gone.
    Trials of the same movement under the same condition are added up; those before the last repair do not count as
    made after it.
    """
    from workshop_log.diagnosis.trials import clean_trials_after_repair

    if not any(complaint.appears == "comes and goes" for complaint in job.complaints):
        return ()
    moved = [told for told in evaluation.remarks if isinstance(told.step, MovementStep) and not told.replaced]
    by_id = {one.step.id: one for one in moved}
    before: dict[tuple[str, str], list[MovementStep]] = {}
    for told in moved:
        if not told.step.after_repair:
            before.setdefault(_same(told, job), []).append(told.step)
    last_repair = max((entry.repaired for entry in job.condemned if entry.repaired), default=None)
    after: dict[tuple[str, str], list[MovementStep]] = {}
    for told in moved:
        step = told.step
        is_older = step.at is not None and last_repair is not None and step.at < last_repair
        if step.after_repair and not is_older:
            named = _current(step.repeats, by_id, job)
            after.setdefault(_same(named or told, job), []).append(step)
    made = []
    for same, steps in before.items():
        trials = sum(step.trials for step in steps)
        shown = min(sum(step.shown for step in steps), trials)
        if shown:
            again = after.get(same, [])
            made.append(CleanTrials(
                labels.step_title(steps[0], job), labels.setup_words(steps[0], job), shown, trials,
                needed=clean_trials_after_repair(shown, trials, CERTAINTY),
                made=sum(step.trials - step.shown for step in again), shown_again=sum(step.shown for step in again),
                before=tuple(step.id for step in steps), after=tuple(step.id for step in again)))
    return tuple(made)


def are_clean_trials_missing(job: Job, evaluation: Evaluation) -> bool:
    """Return whether a fault that was provoked by moving something has not been tried for often enough since.

    Enough of one movement that had shown it are enough; once again in any of them is too often.
    """
    tried = clean_trials(job, evaluation)
    return bool(tried) and (any(one.shown_again for one in tried) or not any(one.is_enough for one in tried))


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
