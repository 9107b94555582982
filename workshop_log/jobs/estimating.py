"""An estimate as the customer is asked about it: the ways to go on, the cheapest first, and the step before them.

Amounts are those of `money`; nothing is added up here.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from workshop_log.exchange.records import EstimateOption
from workshop_log.jobs.case import current_cases
from workshop_log.jobs.figures import in_a_hundred
from workshop_log.jobs.money import gross_with, option_totals, standing_approvals

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from workshop_log.exchange.records import Approval, Condemned, Job
    from workshop_log.jobs.money import OptionTotals
    from workshop_log.jobs.suspicion import Decision

Answer = Literal["open", "agreed", "refused"]


@dataclass(frozen=True, slots=True)
class Way:
    """One way to go on.

    Attributes
    ----------
    number : int
        Its place, the cheapest being 1.
    totals : OptionTotals
        What it costs by itself.
    whole : Decimal
        What the whole job comes to with it, tax included.
    answer : str
        "open", "agreed" or "refused".
    approval : Approval | None
        The customer's answer; None while it is open.
    """

    number: int
    totals: OptionTotals
    whole: Decimal
    answer: Answer = "open"
    approval: Approval | None = None


@dataclass(frozen=True, slots=True)
class CheaperStep:
    """A cheaper step that may spare a dearer one.

    Attributes
    ----------
    title : str
        What would be done first.
    minutes : float
        How long it takes.
    gross : Decimal
        What it costs, tax included.
    whole : Decimal
        What the whole job comes to with it, tax included.
    spares : str
        What may not be needed after it: the part that is suspected, or the title of a dearer way.
    spares_gross : Decimal | None
        What that costs, tax included; None where nobody said.
    tells : str
        What it would tell, in the technician's words; blank where the figures say it.
    chance : str
        How likely the suspected part is the cause so far: "about 62 in 100"; blank for a way of the estimate.
    going_on, at_once : Decimal | None
        What it costs on average to go on with it, and to replace the part at once, without tax; None for a way of the
        estimate.
    """

    title: str
    minutes: float
    gross: Decimal
    whole: Decimal
    spares: str
    spares_gross: Decimal | None
    tells: str = ""
    chance: str = ""
    going_on: Decimal | None = None
    at_once: Decimal | None = None


def ways(job: Job, now: datetime | None = None) -> tuple[Way, ...]:
    """Return the ways to go on with what was answered, the cheapest first."""
    priced = sorted((option_totals(option, job.workshop) for option in job.estimate), key=lambda one: one.gross)
    answers = {approval.option: approval for approval in standing_approvals(job) if approval.option}
    return tuple(
        Way(number, one, gross_with(job, one.option, now), _answer(answers.get(one.option.id)),
            answers.get(one.option.id))
        for number, one in enumerate(priced, start=1))


def _answer(approval: Approval | None) -> Answer:
    if approval is None:
        return "open"
    return "agreed" if approval.agreed else "refused"


def decisions_to_price(job: Job, come_back: Decimal | None = None,
                       is_outdated: Callable[[], bool] | None = None) -> dict[str, Decision]:
    """Return what deciding now would cost, by the case's id, of every part that nothing was done about yet.

    Not quick where a circuit is described. `come_back` and `is_outdated` are those of `jobs.reported`.
    """
    from workshop_log.jobs.suspecting import decision_of

    circuits = {circuit.id for circuit in job.circuits}
    found = {entry.id: decision_of(job, entry.circuit, entry.element, is_outdated, come_back=come_back)
             for entry in _undone(job) if entry.element is not None and entry.circuit in circuits}
    return {id_: decision for id_, decision in found.items() if decision is not None}


def _undone(job: Job) -> tuple[Condemned, ...]:
    return tuple(entry for entry in current_cases(job) if entry.decision != "let off" and entry.repaired is None)


def cheaper_steps(job: Job, decisions: Mapping[str, Decision], now: datetime | None = None) -> tuple[CheaperStep, ...]:
    """Return the cheaper steps that are known: tests worth making first, and work without parts before a part.

    Nothing is known of a test where no figures say that making it first costs less than deciding now.
    """
    tests = [_test_first(job, entry, decisions[entry.id], now) for entry in _undone(job) if entry.id in decisions]
    # Two cases may have the same best test.
    said = {step.title: step for step in reversed([test for test in tests if test is not None])}
    work = _work_first(job, now)
    return (*reversed(said.values()), *([work] if work else []))


def _test_first(job: Job, entry: Condemned, decision: Decision, now: datetime | None) -> CheaperStep | None:
    """Return the test that is better made before this part is decided, where it costs less than the part."""
    test = decision.better_first
    if test is None:
        return None
    option = _option(test.title, test.minutes)
    gross, spared = option_totals(option, job.workshop).gross, _spared(job, entry)
    if spared is not None and spared <= gross:
        return None
    return CheaperStep(test.title, test.minutes, gross, gross_with(job, option, now), entry.part, spared,
                       chance=in_a_hundred(decision.probability_right), going_on=decision.going_on,
                       at_once=decision.expected_loss)


def _spared(job: Job, entry: Condemned) -> Decimal | None:
    """Return what replacing a part costs as far as it is known: its price, and fitting it."""
    elements = {(circuit.id, element.id): element for circuit in job.circuits for element in circuit.elements}
    element = elements.get((entry.circuit, entry.element))
    price, minutes = (getattr(entry, name) if getattr(entry, name) is not None else getattr(element, name, None)
                      for name in ("price", "fit_minutes"))
    return None if price is None else option_totals(_option(entry.part, minutes or 0, price), job.workshop).gross


def _option(title: str, minutes: float, parts: Decimal = Decimal(0)) -> EstimateOption:
    return EstimateOption(id="step", title=title, labour_minutes=minutes, parts=parts)


def _work_first(job: Job, now: datetime | None) -> CheaperStep | None:
    """Return the cheapest way without any part, where a dearer way with parts is still to be decided."""
    found = [way for way in ways(job, now) if way.answer != "refused"]
    if any(way.answer == "agreed" for way in found):
        return None
    first = next((way for way in found if way.totals.gross and not way.totals.option.parts), None)
    if first is None:
        return None
    dearer = [way for way in found if way.totals.option.parts and way.totals.gross > first.totals.gross]
    if not dearer:
        return None
    option, spared = first.totals.option, dearer[-1].totals
    return CheaperStep(option.title, float(option.labour_minutes), first.totals.gross, first.whole,
                       spared.option.title, spared.gross, option.tells)
