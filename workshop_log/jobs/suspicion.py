"""What is still possible, as people read it: suspects, the bar, proposals, the figures of a decision.

Values only, made by `suspecting` (from a circuit), `hand_suspects` (written by hand) and `proposing`; shown by the
window and printed by the report in the same words.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from workshop_log.jobs.places import Place

# The key of “nothing wrong in this circuit”, and of several faults at once.
HEALTHY, SEVERAL = "nothing wrong", "two faults"

Standing = Literal["standing", "cleared", "proved"]


@dataclass(frozen=True, slots=True)
class SuspectLine:
    """One possible cause.

    Attributes
    ----------
    key : str
        Unique in its circuit: "W1: short to ground, always"; of a suspect written by hand its id.
    element, fault, appears : str
        The element's id, the kind of fault, "always" or "comes and goes"; of two faults at once both with " and "
        between; blank for a suspect written by hand.
    name : str
        As it could be read aloud: "W1 (feed to the pump): short to ground, comes and goes".
    probability : float
        Of all that is still possible; all lines and `CircuitSuspicion.healthy` add up to one.
    standing : str
        "standing", "cleared" or "proved".
    size : str
        How large the fault is if it is this one: "0.20 Ω to 1.4 Ω"; blank where it has no size or nothing is known.
    cleared_by : tuple[str, ...]
        The steps that cleared it.
    reach : str
        What those steps could have seen of it, in words; blank where that is not known.
    same_as : tuple[str, ...]
        The keys of the suspects that no allowed measurement can tell from it.
    share : str
        The key of the part of the bar that it belongs to.
    """

    key: str
    element: str
    fault: str
    appears: str
    name: str
    probability: float
    standing: Standing
    size: str = ""
    cleared_by: tuple[str, ...] = ()
    reach: str = ""
    same_as: tuple[str, ...] = ()
    share: str = ""
    # Low and high of the size in its unit, for `evaluate --json`.
    resistance: tuple[float, float, str] | None = None


@dataclass(frozen=True, slots=True)
class Share:
    """One part of the bar of what is still possible: an element with all its kinds of fault.

    Attributes
    ----------
    key : str
        The element's id; `HEALTHY`, `SEVERAL`, or the id of a suspect written by hand.
    name : str
        "W1 (feed to the pump)", "nothing wrong in this circuit".
    probability : float
        All shares add up to one.
    standing : str
        "cleared" where all its suspects are.
    cleared_by : tuple[str, ...]
        The steps that cleared its suspects.
    """

    key: str
    name: str
    probability: float
    standing: Standing = "standing"
    cleared_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proposal:
    """A test that is worth making next.

    Attributes
    ----------
    key : str
        Unique among the proposals of a circuit, and the same for the same test.
    kind : str
        "voltage", "current", "resistance", "lamp", "look", "movement" or "swap".
    place : Place
        Where; the entry line is set to it when the proposal is taken.
    title : str
        "Voltage from C3.2b to B−, pump running".
    why : str
        One sentence: "Splits the four wires still possible in half; 3 minutes, nothing to take off."
    minutes : float
        With the access that it needs now.
    healthy, faulty : str
        What a healthy circuit would show, and what the likeliest faults would: "12.4 V", "0 V if W1 is open".
    reach : str
        What a clear result could have seen; blank where that is not known.
    cautions : tuple[str, ...]
        To be read before the test, one sentence each.
    takes_off : str
        What has to come off first; blank for nothing.
    bits : float
        Information expected. Never shown to a person.
    worth : Decimal
        What it saves on average, in money.
    step : dict[str, object]
        The step without its result, as the job file writes it.
    """

    key: str
    kind: str
    place: Place
    title: str
    why: str
    minutes: float
    healthy: str = ""
    faulty: str = ""
    reach: str = ""
    cautions: tuple[str, ...] = ()
    takes_off: str = ""
    bits: float = 0.0
    worth: Decimal = Decimal(0)
    step: dict[str, object] = field(default_factory=dict)
    healthy_value: float | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Decision:
    """What condemning one part now would cost on average, against the best test first. Money is without tax.

    Attributes
    ----------
    share : str
        The element's id.
    name : str
        The part in words.
    together : tuple[str, ...]
        The elements that are replaced together with it because no measurement tells them apart; with itself.
    probability_right : float
        That the cause is among `together`.
    cost_if_wrong, expected_loss : Decimal
        What being wrong costs, and that times the probability of being wrong.
    better_first : Proposal | None
        The best test, where going on with it costs less than condemning now.
    going_on : Decimal | None
        The cost of that test and the expected loss after it; None where no test is left.
    look_first : Proposal | None
        The look that costs least to go on with, where that is less than condemning now: opening a loom, pulling a
        plug. It may be `better_first`.
    looking : Decimal | None
        The cost of that look and the expected loss after it.
    words : str
        Which is smaller and by how much, in sentences that could be read aloud.
    is_cost_known : bool
        Whether a price or fitting time is known at all; without one the money says nothing.
    """

    share: str
    name: str
    together: tuple[str, ...]
    probability_right: float
    cost_if_wrong: Decimal
    expected_loss: Decimal
    better_first: Proposal | None = None
    going_on: Decimal | None = None
    look_first: Proposal | None = None
    looking: Decimal | None = None
    words: str = ""
    is_cost_known: bool = True


@dataclass(frozen=True, slots=True)
class Moment:
    """How the bar stood after one step; shares are in the order of the final bar.

    Attributes
    ----------
    step : str
        The step's id; blank for before the first one.
    title : str
        What was done, in words.
    shares : tuple[Share, ...]
        The bar then.
    """

    step: str
    title: str
    shares: tuple[Share, ...]


@dataclass(frozen=True, slots=True)
class CircuitSuspicion:
    """What is still possible in one circuit, or among the suspects written by hand.

    Attributes
    ----------
    circuit : str
        Its id; blank for suspects written by hand.
    title : str
        Its name in words.
    healthy : float
        Probability that nothing is wrong in it.
    suspects : tuple[SuspectLine, ...]
        The likeliest first.
    shares : tuple[Share, ...]
        The bar, the likeliest first; `HEALTHY` and `SEVERAL` among them.
    summary : str
        One or two sentences for the customer: how much is still possible, what is the likeliest.
    contradictions : tuple[str, ...]
        "Step s4 and step s9 cannot both be right: repeat step s4."
    contradicting : tuple[str, ...]
        The ids of the steps that ought to be repeated.
    assumptions : tuple[str, ...]
        What the figures rest on: defaults used, weights, in sentences.
    problem : str
        Why nothing could be computed; blank where it could.
    n_steps : int
        How many steps counted as evidence.
    """

    circuit: str
    title: str
    healthy: float = 0.0
    suspects: tuple[SuspectLine, ...] = ()
    shares: tuple[Share, ...] = ()
    summary: str = ""
    contradictions: tuple[str, ...] = ()
    contradicting: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    problem: str = ""
    n_steps: int = 0

    def share_of(self, key: str) -> Share | None:
        """Return the part of the bar with this key."""
        return next((share for share in self.shares if share.key == key), None)

    def lines_of(self, share: str) -> tuple[SuspectLine, ...]:
        """Return the suspects that belong to one part of the bar, the likeliest first."""
        return tuple(line for line in self.suspects if line.share == share)
