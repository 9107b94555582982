"""The case for condemning one part: what speaks for it, what is unproved, what being wrong would cost.

Pure. Where a circuit describes the fault, what every other suspect was cleared by will be computed; without one it
is what the technician wrote.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from workshop_log.exchange import records
from workshop_log.jobs import labels, money
from workshop_log.jobs.evaluation import TYPED, JudgedReading, Remark, is_proved, needs_proof
from workshop_log.measuring.entry import show
from workshop_log.measuring.rules import COMMON_PRACTICE
from workshop_log.measuring.verdict import Verdict

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workshop_log.exchange.records import Condemned, Job
    from workshop_log.jobs.evaluation import Evaluation


@dataclass(frozen=True, slots=True)
class Argument:
    """One test that bears on the case.

    Attributes
    ----------
    step : str
        Its id.
    title : str
        What was done.
    words : str
        What it showed and what that means.
    """

    step: str
    title: str
    words: str


@dataclass(frozen=True, slots=True)
class CostIfWrong:
    """What it would cost to have condemned the wrong part, without tax.

    Attributes
    ----------
    part, labour, come_back, total : Decimal
        The price if it cannot be returned, the fitting time, and what a come-back costs the workshop.
    words : str
        The same as a sum.
    """

    part: Decimal
    labour: Decimal
    come_back: Decimal
    total: Decimal
    words: str


@dataclass(frozen=True, slots=True)
class Case:
    """The argument for condemning one part.

    Attributes
    ----------
    condemned : Condemned
        The part and the decision.
    speaks_for : tuple[Argument, ...]
        Readings outside their range, with their margin, and other tests that showed a fault.
    too_close : tuple[Argument, ...]
        Readings named for the case that prove nothing.
    speaks_against : tuple[Argument, ...]
        Tests named for the case that showed nothing wrong.
    unproved : tuple[str, ...]
        What is still unproved, one sentence each.
    others_cleared : str
        What every other suspect was cleared by; blank if nobody said.
    not_tested : tuple[str, ...]
        What was left untested.
    cost : CostIfWrong
        What being wrong would cost.
    """

    condemned: Condemned
    speaks_for: tuple[Argument, ...]
    too_close: tuple[Argument, ...]
    speaks_against: tuple[Argument, ...]
    unproved: tuple[str, ...]
    others_cleared: str
    not_tested: tuple[str, ...]
    cost: CostIfWrong

    @property
    def needs_a_reason(self) -> bool:
        """Whether nothing measured or seen speaks for it, so that the technician's own reason is asked for."""
        return not self.speaks_for


def case_of(job: Job, evaluation: Evaluation, condemned: Condemned, come_back: Decimal = Decimal(0)) -> Case:
    """Return the case for one part that is condemned or considered.

    Parameters
    ----------
    job : Job
        The job.
    evaluation : Evaluation
        Of the same job.
    condemned : Condemned
        The part. Where it names no steps, every test before the repair bears on it.
    come_back : Decimal
        What a customer who has to come back costs the workshop, as it set it.
    """
    told = [t for t in (*evaluation.readings, *evaluation.remarks) if _bears_on(t, condemned)]
    sides: dict[str, list[Argument]] = {"for": [], "close": [], "against": []}
    for one in told:
        side = _side(one)
        if side:
            words = _reading_words(one) if isinstance(one, JudgedReading) else _remark_words(one)
            sides[side].append(Argument(one.step.id, labels.step_title(one.step, job), words))
    return Case(
        condemned=condemned,
        speaks_for=tuple(sides["for"]), too_close=tuple(sides["close"]), speaks_against=tuple(sides["against"]),
        unproved=tuple(_unproved(job, told, condemned)),
        others_cleared=condemned.others_cleared,
        not_tested=job.not_tested,
        cost=cost_if_wrong(job, condemned, come_back),
    )


def _bears_on(told: JudgedReading | Remark, condemned: Condemned) -> bool:
    step = told.step
    if told.replaced or step.after_repair:
        return False
    return step.id in condemned.steps if condemned.steps else True


def _side(told: JudgedReading | Remark) -> str:
    """Return on which side a test stands: "for", "close" or "against" the case; blank if on none.

    A lamp is neither right nor wrong on its own: what it should have shown depends on the circuit.
    """
    if isinstance(told, JudgedReading):
        return {Verdict.OUTSIDE: "for", Verdict.TOO_CLOSE: "close", Verdict.INSIDE: "against"}.get(told.verdict, "")
    match told.step:
        case records.LookStep(result=result):
            return "for" if result == "damage" else "against"
        case records.MovementStep(shown=shown):
            return "for" if shown else "against"
        case records.SwapStep(cured=cured):
            return "for" if cured else "against"
        case records.ObserveStep(works=works):
            return "against" if works else "for"
    return ""


def _reading_words(reading: JudgedReading) -> str:
    shown = reading.step.reading
    words = f"read {shown}, expected {reading.expected.words()} ({reading.expected.source})"
    margin = margin_words(reading)
    return f"{words}: {margin}." if margin else f"{words}: {reading.verdict.value}."


def margin_words(reading: JudgedReading) -> str:
    """Return how far a reading lies beyond its limit, and how many standard uncertainties that is; blank if inside."""
    entry, expected, uncertainty = reading.entry, reading.expected, reading.uncertainty
    if entry is None or expected is None or reading.verdict is not Verdict.OUTSIDE:
        return ""
    if entry.value is None:
        return "over range, beyond every limit"
    here = expected.in_unit(entry.unit)
    if here.high is not None and entry.value > here.high:
        beyond, side = entry.value - here.high, "above the highest"
    elif here.low is not None and entry.value < here.low:
        beyond, side = here.low - entry.value, "below the lowest"
    else:
        return ""
    words = f"{show(beyond, entry.unit, digits=2)} {side}"
    if uncertainty and uncertainty.standard:
        words += f", {beyond / uncertainty.standard:.3g} times its standard uncertainty"
    return words


def _remark_words(remark: Remark) -> str:
    return f"{remark.words}. {remark.caveat}".strip() if remark.caveat else f"{remark.words}."


def _unproved(job: Job, told: list[JudgedReading | Remark], condemned: Condemned) -> Iterator[str]:
    """Yield what is still unproved about the case, one sentence each."""
    if condemned.unproved.strip():
        yield condemned.unproved.strip()
    unproved_tools = [one.step.id for one in told if _is_unproved(one, job)]
    if unproved_tools:
        yield f"The instrument was not shown to work for {_steps_words(unproved_tools)}."
    assumed = [one.step.id for one in told
               if isinstance(one, JudgedReading) and one.judgement and one.default_instrument]
    if assumed:
        yield f"No instrument was named for {_steps_words(assumed)}: the usual accuracy was assumed."
    practice = [one.step.id for one in told if isinstance(one, JudgedReading) and one.judgement
                and COMMON_PRACTICE in one.expected.source]
    if practice:
        yield f"The limit of {_steps_words(practice)} is common practice, with no source."
    typed = [one.step.id for one in told if isinstance(one, JudgedReading) and one.judgement
             and one.expected.source == TYPED]
    if typed:
        yield f"Nobody noted where the limit of {_steps_words(typed)} comes from."
    if not condemned.others_cleared.strip():
        yield "Nothing is said about what else it could be, and what cleared that."
    if any(complaint.appears == "comes and goes" for complaint in job.complaints):
        yield "The fault comes and goes: one test, good or bad, does not settle it."


def _is_unproved(told: JudgedReading | Remark, job: Job) -> bool:
    if told.step.proved is False:
        return True
    return needs_proof(told.step) and not is_proved(told.step, job)


def _steps_words(ids: list[str]) -> str:
    if len(ids) == 1:
        return f"step {ids[0]}"
    return f"steps {', '.join(ids[:-1])} and {ids[-1]}"


def cost_if_wrong(job: Job, condemned: Condemned, come_back: Decimal = Decimal(0)) -> CostIfWrong:
    """Return what being wrong about a part would cost: price if not returnable, fitting, and a come-back.

    A part of which nobody knows whether it can be returned counts as one that cannot.
    """
    currency, rate = job.workshop.currency, job.workshop.labour_rate or Decimal(0)
    part = Decimal(0) if condemned.returnable else condemned.price or Decimal(0)
    minutes = Decimal(str(condemned.fit_minutes or 0))
    labour = money.round_money(minutes * rate / 60, currency)
    total = part + labour + come_back
    words = []
    if condemned.returnable:
        words.append("the part can go back")
    elif condemned.price is None:
        words.append("its price is not known")
    else:
        sure = "which cannot go back" if condemned.returnable is False else "if it cannot go back"
        words.append(f"the part {money.show_money(part, currency)}, {sure}")
    if labour:
        words.append(f"fitting {labels.minutes_words(float(minutes))} {money.show_money(labour, currency)}")
    if come_back:
        words.append(f"a come-back {money.show_money(come_back, currency)}")
    return CostIfWrong(part, labour, come_back, total, f"{money.show_money(total, currency)}: {'; '.join(words)}.")
