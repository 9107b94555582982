"""The case for condemning one part: what speaks for it, what is unproved, what being wrong would cost.

Pure. Where a circuit describes the fault, how likely the part is the cause and what every other suspect was cleared by
come from `figures`; without one they are what the technician wrote.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Protocol

from workshop_log.exchange import records
from workshop_log.jobs import labels, money
from workshop_log.jobs.circuit_ranges import healthy_look
from workshop_log.jobs.evaluation import TYPED, JudgedReading, Remark, is_proved, needs_proof
from workshop_log.jobs.figures import figures_of
from workshop_log.measuring.entry import show
from workshop_log.measuring.rules import COMMON_PRACTICE
from workshop_log.measuring.verdict import Verdict

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from workshop_log.exchange.records import Condemned, Job
    from workshop_log.jobs.evaluation import Evaluation
    from workshop_log.jobs.figures import Figures
    from workshop_log.jobs.suspicion import CircuitSuspicion, Decision


class HasComeBack(Protocol):
    """Settings that say what a vehicle costs that comes back."""

    @property
    def come_back(self) -> Decimal | None:
        """What it costs the workshop; None where it did not set that."""
        ...


@dataclass(frozen=True, slots=True)
class CostIfWrong:
    """What it would cost to have condemned the wrong part, without tax.

    Attributes
    ----------
    part, labour, come_back, total : Decimal
        The price if it cannot be returned, the fitting time, and what a come-back costs the workshop.
    words : str
        What it is made of.
    is_known : bool
        Whether anything is known to add up.
    """

    part: Decimal
    labour: Decimal
    come_back: Decimal
    total: Decimal
    words: str
    is_known: bool = True


@dataclass(frozen=True, slots=True)
class Case:
    """The argument for condemning one part.

    Attributes
    ----------
    condemned : Condemned
        The part and the decision.
    speaks_for : tuple[JudgedReading, ...]
        Readings outside their range; those that the case names first.
    remarks : tuple[Remark, ...]
        Looks, movements, substitutions and observations that showed a fault, lamp tests that came out otherwise than
        in the healthy circuit, and lamp tests that the case names.
    too_close : tuple[JudgedReading, ...]
        Readings named for the case that prove nothing.
    speaks_against : tuple[JudgedReading | Remark, ...]
        Tests named for the case that showed nothing wrong.
    doubts : tuple[str, ...]
        What is still unproved, one sentence each.
    others_cleared : str
        What the technician wrote of what every other cause was cleared by, beside `figures.cleared`; blank if nothing.
    not_tested : tuple[str, ...]
        What was left untested.
    cost : CostIfWrong
        What being wrong would cost.
    figures : Figures | None
        How likely it is the cause, what cleared the others, what condemning now loses on average; None where the part
        is no suspect of a circuit, nor one written by hand.
    """

    condemned: Condemned
    speaks_for: tuple[JudgedReading, ...]
    remarks: tuple[Remark, ...]
    too_close: tuple[JudgedReading, ...]
    speaks_against: tuple[JudgedReading | Remark, ...]
    doubts: tuple[str, ...]
    others_cleared: str
    not_tested: tuple[str, ...]
    cost: CostIfWrong
    figures: Figures | None = None

    @property
    def needs_a_reason(self) -> bool:
        """Whether the figures are against it or nothing speaks for it: the technician's own reason is asked for."""
        return bool(self.says_no)

    @property
    def says_no(self) -> tuple[str, ...]:
        """Why the technician's own reason is asked for, one sentence each; none where it is not."""
        against = self.figures.says_no if self.figures else ()
        by_figures = self.figures is not None and self.figures.n_steps > 0 and not against
        if self.speaks_for or self.remarks or by_figures:
            return against
        return (*against, "No reading outside its range and nothing seen speaks for it.")

    @property
    def probability_right(self) -> float | None:
        """How likely it is the cause: as it stood when it was decided, else now; None where nobody can say."""
        if self.condemned.decision in ("replace", "repair") and self.condemned.probability_right is not None:
            return self.condemned.probability_right
        return self.figures.probability_right if self.figures else None

    @property
    def rests_on(self) -> tuple[str, ...]:
        """The ids of the steps that speak for it."""
        return tuple(told.step.id for told in (*self.speaks_for, *self.remarks))

    @property
    def cost_if_wrong(self) -> Decimal | None:
        """What being wrong would cost; None while neither a price nor fitting time is known."""
        return self.cost.total if self.cost.is_known else None

    @property
    def words(self) -> str:
        """The cost in words."""
        return self.cost.words


def current_cases(job: Job) -> tuple[Condemned, ...]:
    """Return the parts considered, condemned or let off, each as its last entry has it."""
    replaced = {entry.replaces for entry in job.condemned if entry.replaces}
    return tuple(entry for entry in job.condemned if entry.id not in replaced)


def case_of(job: Job, evaluation: Evaluation, condemned: Condemned, settings: HasComeBack | None = None,
            suspicion: CircuitSuspicion | None = None, decision: Decision | None = None) -> Case:
    """Return the case for one part that is condemned or considered.

    While a part is only considered, every reading outside its range before the repair is listed, those first that the
    case names: which of them bear on the part is the technician's to say. Once it is decided, the case rests on the
    steps that it names, and on every test before the repair only where it names none.

    Parameters
    ----------
    job : Job
        The job.
    evaluation : Evaluation
        Of the same job.
    condemned : Condemned
        The part.
    settings : HasComeBack, optional
        The workshop's: what a vehicle costs it that comes back with the same fault.
    suspicion : CircuitSuspicion, optional
        What is still possible in the circuit of the part, or among the suspects written by hand.
    decision : Decision, optional
        What condemning the part now would cost on average; see `weighing`.
    """
    come_back = (settings.come_back if settings else None) or Decimal(0)
    told = [t for t in (*evaluation.readings, *evaluation.remarks) if not (t.replaced or t.step.after_repair)]
    told.sort(key=lambda one: one.step.id not in condemned.steps)
    named = [one for one in told if one.step.id in condemned.steps]
    if condemned.steps and condemned.decision != "considered":
        told = named
    sides = {one.step.id: _side(one, job) for one in told}
    readings = tuple(one for one in told if sides[one.step.id] == "for" and isinstance(one, JudgedReading))
    remarks = tuple(one for one in told if isinstance(one, Remark)
                    and (sides[one.step.id] == "for" or (one in named and not sides[one.step.id])))
    too_close = tuple(one for one in named if sides[one.step.id] == "close")
    against = tuple(one for one in named if sides[one.step.id] == "against")
    figures = figures_of(job, condemned, suspicion, decision)
    unproved = (*_doubts(job, [*readings, *remarks], too_close, against, condemned),
                *_doubts_by_figures(condemned, figures, suspicion))
    return Case(
        condemned=condemned, speaks_for=readings, remarks=remarks, too_close=too_close, speaks_against=against,
        doubts=unproved, others_cleared=condemned.others_cleared, not_tested=job.not_tested,
        cost=cost_if_wrong(job, condemned, come_back), figures=figures,
    )


def _side(told: JudgedReading | Remark, job: Job) -> str:
    """Return on which side a test stands: "for", "close" or "against" the case; blank if on none.

    A lamp is neither right nor wrong on its own: what it should have shown depends on the circuit. One that looked as
    in the healthy circuit still proves nothing by itself.
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
        case records.LampStep(result=result):
            return "for" if healthy_look(told.step, job) not in ("", result) else ""
    return ""


def reading_words(reading: JudgedReading) -> str:
    """Return what a reading says for a case: "read 21.3 mm, expected at least 22 mm (...): 0.70 mm below ..."."""
    words = f"read {reading.step.reading}, expected {reading.expected.words()} ({reading.expected.source})"
    return f"{words}: {margin_words(reading) or reading.verdict.value}."


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


def _doubts(job: Job, speaking: list[JudgedReading | Remark], too_close: tuple[JudgedReading, ...],
            against: tuple[JudgedReading | Remark, ...], condemned: Condemned) -> Iterator[str]:
    """Yield what is still unproved about the case, one sentence each."""
    if condemned.unproved.strip():
        yield condemned.unproved.strip()
    if condemned.decision == "let off":
        # What cleared a part needs no defence against what else it could be.
        return
    judged = [one for one in speaking if isinstance(one, JudgedReading)]
    doubtful = (
        (too_close, "{Steps} {are} too close to call and {prove} nothing."),
        (against, "{Steps} showed nothing wrong."),
        ([one for one in speaking if _is_unproved(one, job)], "The instrument was not shown to work for {steps}."),
        ([one for one in judged if one.default_instrument],
         "No instrument was named for {steps}: the usual accuracy was assumed."),
        ([one for one in judged if COMMON_PRACTICE in one.expected.source],
         "The limit of {steps} is common practice, with no source."),
        ([one for one in judged if one.expected.source == TYPED],
         "Nobody noted where the limit of {steps} comes from."),
    )
    for told, sentence in doubtful:
        if told:
            yield _about(told, sentence)
    if any(complaint.appears == "comes and goes" for complaint in job.complaints):
        yield "The fault comes and goes: one test, good or bad, does not settle it."


def _doubts_by_figures(condemned: Condemned, figures: Figures | None, suspicion: CircuitSuspicion | None,
                       ) -> Iterator[str]:
    """Yield what else it could still be, one sentence each."""
    if condemned.decision == "let off":
        return
    if figures is not None:
        # After the repair it is known better than any figure could say.
        yield from () if condemned.was_the_cause else (*figures.still_possible, *figures.contradictions)
        return
    if suspicion is not None and suspicion.problem:
        yield suspicion.problem
    if not condemned.others_cleared.strip():
        yield "Nothing is said about what else it could be, and what cleared that."


def _about(told: Sequence[JudgedReading | Remark], sentence: str) -> str:
    steps = _steps_words([one.step.id for one in told])
    are, prove = ("is", "proves") if len(told) == 1 else ("are", "prove")
    return sentence.format(steps=steps, Steps=steps.capitalize(), are=are, prove=prove)


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
        words.append(f"part {money.show_money(part, currency)}, {sure}")
    if labour:
        words.append(f"fitting {labels.minutes_words(float(minutes))} {money.show_money(labour, currency)}")
    if come_back:
        words.append(f"a come-back {money.show_money(come_back, currency)}")
    known = condemned.returnable is True or condemned.price is not None or bool(labour or come_back)
    sentence = "; ".join(words)
    return CostIfWrong(part, labour, come_back, total, f"{sentence[0].upper()}{sentence[1:]}.", known)
