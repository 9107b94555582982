"""The suspects of a circuit: each element with each of its kinds of fault, how often each is met, before any test.

All weights are own estimates: how often one kind of element fails compared with another, and how. The element's own
`weight` and the workshop's history change them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from workshop_log.electrics import faults as kinds
from workshop_log.electrics.circuit import Circuit, Element
from workshop_log.electrics.faults import Fault, faults_of, kinds_of

HEALTHY, SEVERAL = "nothing wrong", "two faults"

# own estimates: how often elements fail, compared with one another.
WEIGHT = {"battery": 1.0, "source": 0.7, "fuse": 1.0, "wire": 1.0, "contact": 1.5, "switch": 1.2, "relay": 1.5,
          "lamp": 1.5, "motor": 1.2, "heater": 1.0, "coil": 0.8, "sensor": 1.2, "control unit": 0.7, "load": 1.0,
          "diode": 0.5, "ground point": 1.5}
# own estimates: how the failures of an element divide among its kinds of fault.
KIND_WEIGHT = {kinds.OPEN: 1.0, kinds.HIGH_RESISTANCE: 1.0, kinds.SHORT_TO_GROUND: 0.5, kinds.SHORT_TO_SUPPLY: 0.25,
               kinds.SHORTED: 0.5, kinds.STUCK_OPEN: 1.0, kinds.STUCK_CLOSED: 0.6, kinds.DEAD: 1.0,
               kinds.DRAWS_TOO_MUCH: 0.5, kinds.LOW_VOLTAGE: 1.0}
# own estimates: kinds of fault that are met more seldom in one kind of element than in others.
KIND_WEIGHT_OF = {("lamp", kinds.SHORTED): 0.15, ("heater", kinds.SHORTED): 0.3, ("motor", kinds.SHORTED): 0.4,
                  ("wire", kinds.SHORT_TO_GROUND): 0.8}
# own estimates: the part of faults that come and go, by what the customer says of the complaint.
COMES_AND_GOES = {"always": 0.08, "comes and goes": 0.85, "": 0.25}
# own estimates: how often nothing is wrong in the circuit described, by whether the complaint was confirmed.
NOTHING_WRONG = {True: 0.02, None: 0.04, False: 0.25}
# own estimate: how often two things are wrong at once.
TWO_FAULTS = 0.02


@dataclass(frozen=True, slots=True)
class Suspect:
    """One possible cause: one fault, or two at once; none at all is “nothing wrong in this circuit”.

    Attributes
    ----------
    faults : tuple[Fault, ...]
        Without amounts.
    comes_and_goes : bool
        Whether it is there only now and then.
    """

    faults: tuple[Fault, ...]
    comes_and_goes: bool = False

    @property
    def share(self) -> str:
        """The part of the bar that it belongs to: its element, `HEALTHY` or `SEVERAL`."""
        if not self.faults:
            return HEALTHY
        return self.faults[0].element if len(self.faults) == 1 else SEVERAL

    @property
    def appears(self) -> str:
        """When it is there: "always" or "comes and goes"."""
        return "comes and goes" if self.comes_and_goes else "always"

    @property
    def key(self) -> str:
        """Unique among the suspects of a circuit: "W1: short to ground, always"."""
        if not self.faults:
            return HEALTHY
        return f"{' and '.join(fault.words() for fault in self.faults)}, {self.appears}"


@dataclass(frozen=True)
class Weights:
    """What is thought of the suspects before any test.

    Attributes
    ----------
    elements : Mapping[str, float]
        How often an element fails compared with others, by its id, where somebody said so.
    kinds : Mapping[str, float]
        By which factor a kind of element fails more often in this workshop than usually.
    comes_and_goes : float
        Part of the faults that come and go; between 0 and 1.
    healthy : float
        Probability that nothing is wrong; between 0 and 1.
    """

    elements: Mapping[str, float] = field(default_factory=dict)
    kinds: Mapping[str, float] = field(default_factory=dict)
    comes_and_goes: float = COMES_AND_GOES[""]
    healthy: float = NOTHING_WRONG[None]

    def of_element(self, element: Element) -> float:
        """Return how often an element fails compared with others."""
        own = self.elements.get(element.id)
        return (WEIGHT[element.kind] if own is None else own) * self.kinds.get(element.kind, 1.0)


def may_come_and_go(circuit: Circuit, fault: Fault) -> bool:
    """Whether a fault may be there only now and then: a fuse that has opened stays open."""
    return not (circuit.element(fault.element).kind == "fuse" and fault.kind == kinds.OPEN)


def fault_weights(circuit: Circuit, weights: Weights) -> tuple[tuple[Fault, ...], tuple[float, ...]]:
    """Return all single faults and how likely each is, given that there is one; they add up to one.

    An element's weight is divided among its kinds of fault. Where nothing has a weight, all are alike.
    """
    found, each = faults_of(circuit), []
    for element in circuit.elements:
        own = [KIND_WEIGHT_OF.get((element.kind, kind), KIND_WEIGHT[kind]) for kind in kinds_of(element)]
        each += [weights.of_element(element) * share / sum(own) for share in own]
    total = sum(each)
    return found, tuple(one / total if total else 1 / len(each) for one in each)
