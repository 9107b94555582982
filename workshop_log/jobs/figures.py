"""What the figures say about condemning one part: how likely it is the cause, what cleared the others, what is left.

Values only, made from what `suspecting` worked out; `weighing` says when to work it out. Shown on the Case page and
printed by the report in the same words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.jobs.money import show_money
from workshop_log.jobs.percent import percent_words
from workshop_log.jobs.suspicion import HEALTHY, SEVERAL

if TYPE_CHECKING:
    from workshop_log.exchange.records import Circuit, Condemned, Element, Job
    from workshop_log.jobs.suspicion import CircuitSuspicion, Decision, Share, Standing, SuspectLine

# From this probability on a part is condemned without a reason of one's own.
SURE_ENOUGH = 0.95
# What is less likely than this is not named by itself, and no more than so many are.
_NAMED_FROM, _NAMED_AT_MOST = 0.01, 4


@dataclass(frozen=True, slots=True)
class Cleared:
    """Something else that it could have been, with what cleared it.

    Attributes
    ----------
    name : str
        "F7 (pump fuse)"; with its kinds of fault where only those are cleared.
    steps : tuple[str, ...]
        The ids of the steps that cleared it.
    """

    name: str
    steps: tuple[str, ...]

    @property
    def words(self) -> str:
        """As it is printed: "F7 (pump fuse): cleared by s3, s4"."""
        return f"{self.name}: cleared by {', '.join(self.steps)}" if self.steps else f"{self.name}: cleared"


@dataclass(frozen=True, slots=True)
class Figures:
    """What is known by figures about condemning one part now.

    Attributes
    ----------
    share : str
        The key of the part in the bar of what is still possible.
    name : str
        The part as it stands inside a sentence: "the wire W1 (feed to the pump)".
    probability_right : float
        That the cause is this part, or what is replaced together with it.
    standing : str
        "standing", "cleared" or "proved".
    together : tuple[str, ...]
        The keys of what is replaced together with it because no test tells them apart, with itself; nothing for a part
        that is replaced alone.
    together_words : str
        "In the wire W1 or in the contact C3.2: no test tells them apart, both are replaced together."; blank for a
        part that is replaced alone.
    cleared : tuple[Cleared, ...]
        Everything else that was cleared, with the steps.
    still_possible : tuple[str, ...]
        What else is still possible, one sentence each, the likeliest first.
    contradictions : tuple[str, ...]
        Steps that cannot all be right, one sentence each.
    says_no : tuple[str, ...]
        Why the figures are against condemning it now, one sentence each; none where they are not.
    n_steps : int
        How many steps the figures rest on.
    decision : Decision | None
        In money; None where nobody could say.
    """

    share: str
    name: str
    probability_right: float
    standing: Standing
    together: tuple[str, ...] = ()
    together_words: str = ""
    cleared: tuple[Cleared, ...] = ()
    still_possible: tuple[str, ...] = ()
    contradictions: tuple[str, ...] = ()
    says_no: tuple[str, ...] = ()
    n_steps: int = 0
    decision: Decision | None = None

    @property
    def right_words(self) -> str:
        """How likely it is the cause: "about 93 in 100"."""
        return in_a_hundred(self.probability_right)

    @property
    def is_money_known(self) -> bool:
        """Whether being wrong has a cost that can be held against a test."""
        return self.decision is not None and self.decision.is_cost_known

    @property
    def is_testing_better(self) -> bool:
        """Whether the best test first costs less on average than condemning now."""
        return is_testing_better(self.decision)


def is_testing_better(decision: Decision | None) -> bool:
    """Return whether the best test first costs less on average than condemning now."""
    return (decision is not None and decision.is_cost_known and decision.going_on is not None
            and decision.going_on < decision.expected_loss)


def figures_of(job: Job, condemned: Condemned, suspicion: CircuitSuspicion | None,
               decision: Decision | None = None) -> Figures | None:
    """Return what the figures say about one part; None where they say nothing of it.

    Parameters
    ----------
    job : Job
        With the circuit.
    condemned : Condemned
        The part: an element of the suspicion's circuit, or the name of a suspect written by hand.
    suspicion : CircuitSuspicion | None
        What is still possible.
    decision : Decision, optional
        The same part's, in money.
    """
    share = share_of(condemned, suspicion) if suspicion else None
    if share is None:
        return None
    circuit = next((known for known in job.circuits if known.id == suspicion.circuit), None)
    together = decision.together if decision and share.key in decision.together else (share.key,)
    right = decision.probability_right if decision else share.probability
    name = inner_name(share.key, share.name, circuit)
    return Figures(
        share=share.key, name=name, probability_right=right, standing=share.standing,
        together=together if len(together) > 1 else (), together_words=_together_words(together, suspicion, circuit),
        cleared=_cleared(job, suspicion, together), still_possible=_still_possible(suspicion, together, circuit),
        contradictions=suspicion.contradictions, says_no=_says_no(name, right, suspicion, decision, job),
        n_steps=suspicion.n_steps, decision=decision)


def share_of(condemned: Condemned, suspicion: CircuitSuspicion) -> Share | None:
    """Return the part of the bar that a case is about: its element, or the suspect with its name; None without one."""
    if suspicion.problem or (condemned.circuit or "") != suspicion.circuit:
        return None
    if condemned.element is not None or suspicion.circuit:
        return suspicion.share_of(condemned.element or "")
    named = condemned.part.strip().casefold()
    return next((share for share in suspicion.shares if share.name.strip().casefold() == named), None)


# --- words ----------------------------------------------------------------------------------------------------------


def in_a_hundred(probability: float) -> str:
    """Return how likely something is, as it is said: "about 93 in 100"; never rounded up to what is sure enough."""
    if probability > 0.99:
        return "more than 99 in 100"
    if probability < 0.01:
        return "less than 1 in 100"
    whole = int(probability * 100 + 0.5)
    return f"about {whole - 1 if whole / 100 >= SURE_ENOUGH > probability else whole} in 100"


def inner_name(key: str, name: str, circuit: Circuit | None) -> str:
    """Return a part's name as it stands inside a sentence: "the wire W1 (feed to the pump)"; by hand as written."""
    element = _element(key, circuit)
    if element is None:
        return name
    return f"the {name}" if name.casefold().startswith(element.kind) else f"the {element.kind} {name}"


def _element(key: str, circuit: Circuit | None) -> Element | None:
    return next((element for element in circuit.elements if element.id == key), None) if circuit else None


def _upper_first(words: str) -> str:
    return words[:1].upper() + words[1:]


def _together_words(together: tuple[str, ...], suspicion: CircuitSuspicion, circuit: Circuit | None) -> str:
    if len(together) < 2:
        return ""
    names = []
    for key in together:
        share = suspicion.share_of(key)
        names.append(f"in {inner_name(key, share.name if share else key, circuit)}")
    every = "both" if len(together) == 2 else "all"
    where = f"{_upper_first(', '.join(names[:-1]))} or {names[-1]}"
    return f"{where}: no test tells them apart, {every} are replaced together."


# --- what else it could be ------------------------------------------------------------------------------------------


def _still_possible(suspicion: CircuitSuspicion, together: tuple[str, ...], circuit: Circuit | None) -> tuple[str, ...]:
    """Return what else is still possible, the likeliest first; what is hardly possible in one sentence together."""
    others = sorted((share for share in suspicion.shares if share.key not in together and share.standing != "cleared"),
                    key=lambda share: -share.probability)
    named = [share for share in others if share.probability >= _NAMED_FROM][:_NAMED_AT_MOST]
    sentences = [_possible_words(share, circuit) for share in named]
    rest = [share for share in others if share not in named]
    if rest and named:
        left = sum(share.probability for share in rest)
        one = "One other is" if len(rest) == 1 else f"{len(rest)} others are"
        words = percent_words(left)
        sentences.append(f"{one} still possible ({words if len(rest) == 1 else f'together {words}'}).")
    elif rest:
        left = percent_words(sum(share.probability for share in rest))
        sentences.append(f"Everything else together is hardly possible any more ({left}).")
    return tuple(sentences)


def _possible_words(share: Share, circuit: Circuit | None) -> str:
    percent = percent_words(share.probability)
    if share.key == HEALTHY:
        return f"That nothing is wrong there is still possible ({percent})."
    if share.key == SEVERAL:
        return f"Two faults at once are still possible ({percent})."
    return f"{_upper_first(inner_name(share.key, share.name, circuit))} is still possible ({percent})."


def _cleared(job: Job, suspicion: CircuitSuspicion, together: tuple[str, ...]) -> tuple[Cleared, ...]:
    """Return everything else that was cleared, by the first step that cleared it; parts cleared as a whole first."""
    order = {step.id: place for place, step in enumerate(job.steps)}

    def place_of(step: str) -> int:
        return order.get(step, len(order))

    whole, in_part = [], []
    for share in suspicion.shares:
        if share.key in (*together, HEALTHY, SEVERAL):
            continue
        lines = suspicion.lines_of(share.key)
        gone = [line for line in lines if line.standing == "cleared"]
        named = share.cleared_by or tuple(step for line in gone for step in line.cleared_by)
        steps = tuple(sorted(dict.fromkeys(named), key=place_of))
        if share.standing == "cleared":
            whole.append(Cleared(share.name, steps))
        elif gone:
            in_part.append(Cleared(f"{share.name}, {_kinds(gone, lines)}", steps))
    for found in (whole, in_part):
        found.sort(key=lambda one: min(map(place_of, one.steps), default=len(order)))
    return (*whole, *in_part)


def _kinds(gone: list[SuspectLine], lines: tuple[SuspectLine, ...]) -> str:
    """Return the cleared kinds of fault of a part of which others are possible: "open, shorted if always there"."""
    left = {line.fault for line in lines if line.standing != "cleared"}
    said: dict[str, dict[str, None]] = {}
    for line in gone:
        appears = {"always": " if always there", "comes and goes": " if it comes and goes"}.get(line.appears, "")
        said.setdefault(appears if line.fault in left else "", {})[line.fault] = None
    return ", ".join(f"{' or '.join(faults)}{appears}" for appears, faults in sorted(said.items()))


# --- against condemning it now --------------------------------------------------------------------------------------


def _says_no(name: str, right: float, suspicion: CircuitSuspicion, decision: Decision | None,
             job: Job) -> tuple[str, ...]:
    """Return why the figures are against condemning a part now."""
    reasons = []
    if right < SURE_ENOUGH:
        whose = "By the circuit" if suspicion.circuit else "By the suspects written down"
        reasons.append(f"{whose} it is {in_a_hundred(right)} that it is {name}: from {SURE_ENOUGH * 100:.0f} on it is "
                       f"sure enough.")
    if is_testing_better(decision):
        going_on, loss = (show_money(amount, job.workshop.currency)
                          for amount in (decision.going_on, decision.expected_loss))
        test = f"the test “{decision.better_first.title}”" if decision.better_first else "another test"
        reasons.append(f"To make {test} first costs {going_on} on average, and to condemn it now {loss}.")
    return tuple(reasons)
