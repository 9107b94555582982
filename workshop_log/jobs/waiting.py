"""What a job waits for, and since when, worked out from its facts.

A job has no status to maintain: each answer here follows from what is written down, so it can neither be forgotten
nor be wrong. The first thing that is missing counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from workshop_log.exchange import records
from workshop_log.jobs import labels, money
from workshop_log.jobs.before_after import are_clean_trials_missing, not_made_again
from workshop_log.jobs.case import current_cases
from workshop_log.jobs.evaluation import Evaluation, JudgedReading, Remark, evaluate
from workshop_log.measuring.verdict import Verdict

if TYPE_CHECKING:
    from workshop_log.exchange.records import Condemned, Job

# In the order in which a job goes through them.
WORDS = {
    "complaint to describe": "Waits for the complaint to be described",
    "complaint to confirm": "Waits for the complaint to be confirmed",
    "approval": "Waits for approval",
    "part": "Waits for a part",
    "finding the cause": "Waits for the cause to be found",
    "repair": "Waits for repair",
    "proving the repair": "Waits for the repair to be proved",
    "report": "Waits for the report",
    "hand-back": "Waits for hand-back",
    "bill": "Waits for the bill to be settled",
    "nothing": "Finished",
}


@dataclass(frozen=True, slots=True)
class Waiting:
    """What a job waits for.

    Attributes
    ----------
    key : str
        A key of `WORDS`.
    words : str
        The same for the list of jobs.
    since : datetime | None
        When the last thing happened that led here; None where no fact has a time.
    """

    key: str
    words: str
    since: datetime | None = None


def waits_for(job: Job, evaluation: Evaluation | None = None) -> Waiting:
    """Return what a job waits for and since when.

    A vehicle that was handed back waits for nothing but its bill: what was left open then is in the report, not in
    the list of what to do. A customer who refused every option is owed a report and the vehicle, not a repair.

    Parameters
    ----------
    job : Job
        With times as far as they are known.
    evaluation : Evaluation, optional
        Of the same job, where it has been made already.
    """
    if job.handed_back is not None:
        return _waiting("bill", job.handed_back) if job.settled is None else _waiting("nothing", job.settled)
    return (_before_work(job) or _at_work(job, evaluation) or _after_work(job))


def _waiting(key: str, since: datetime | None) -> Waiting:
    return Waiting(key, WORDS[key], since)


def _latest(*times: datetime | None) -> datetime | None:
    return max((time for time in times if time is not None), default=None)


def _before_work(job: Job) -> Waiting | None:
    if not any(complaint.words.strip() for complaint in job.complaints):
        return _waiting("complaint to describe", job.opened)
    decided = _decided(job)
    # Whoever has condemned a part has seen the complaint, ticked or not.
    if not decided and any(c.confirmed is None for c in job.complaints if c.words.strip()):
        return _waiting("complaint to confirm", job.opened)
    if money.needs_approval(job):
        return _waiting("approval", _last_evidence(job) or job.opened)
    return None


def _at_work(job: Job, evaluation: Evaluation | None) -> Waiting | None:
    if money.has_refusal_only(job):
        return None
    awaited = [part.ordered for part in job.parts
               if part.ordered and not (part.arrived or part.fitted or part.returned)]
    if awaited:
        return _waiting("part", min(awaited))
    decided = _decided(job)
    if not decided:
        return _waiting("finding the cause", _latest(job.opened, *_agreed_times(job)))
    unrepaired = [condemned for condemned in decided if condemned.repaired is None]
    if unrepaired:
        arrived = (part.arrived for part in job.parts)
        return _waiting("repair", _latest(*(c.at for c in unrepaired), *arrived, *_agreed_times(job)))
    judged = evaluation or evaluate(job)
    if not is_repair_proved(judged) or not_made_again(job, judged) or are_clean_trials_missing(job, judged):
        return _waiting("proving the repair", _latest(*(condemned.repaired for condemned in decided)))
    return None


def _after_work(job: Job) -> Waiting:
    evidence = _last_evidence(job)
    sent = _latest(*(report.at for report in job.reports))
    if sent is None or (evidence is not None and sent < evidence):
        return _waiting("report", evidence or job.opened)
    return _waiting("hand-back", sent)


def _decided(job: Job) -> list[Condemned]:
    """Return the parts to be replaced or repaired whose entry no later one corrects."""
    return [entry for entry in current_cases(job) if entry.decision in ("replace", "repair")]


def _agreed_times(job: Job) -> list[datetime]:
    return [approval.at for approval in money.standing_approvals(job) if approval.agreed]


def _last_evidence(job: Job) -> datetime | None:
    """Return when the last thing happened that the report has to tell."""
    return _latest(
        *(step.at for step in job.steps),
        *(entry.at for entry in job.condemned), *(entry.repaired for entry in job.condemned),
        *(approval.at for approval in job.approvals),
    )


def is_repair_proved(evaluation: Evaluation) -> bool:
    """Return whether a test made after the repair came out as it should, and none came out wrong.

    Of the same test made several times the last one counts. A reading proves by its verdict, a load by working, a
    movement or a look by showing nothing. A lamp test has no right answer on its own, a reading too close to call
    none at all: they prove nothing and disprove nothing.
    """
    outcomes = {}
    for told in (*evaluation.readings, *evaluation.remarks):
        if told.step.after_repair and not told.replaced:
            outcomes[labels.step_title(told.step)] = _is_good(told)
    return True in outcomes.values() and False not in outcomes.values()


def _is_good(told: JudgedReading | Remark) -> bool | None:
    """Return whether a test came out as a sound vehicle would show it; None where it says neither."""
    match told.step:
        case records.ObserveStep(works=works):
            return works
        case records.MovementStep(shown=shown):
            return not shown
        case records.LookStep(result=result):
            return result == "nothing"
    if isinstance(told, JudgedReading):
        return {Verdict.INSIDE: True, Verdict.OUTSIDE: False}.get(told.verdict)
    return None
