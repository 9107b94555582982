"""What was found out: each test with its result, as plain values in SI units.

A piece of evidence names the step it comes from; what it says of a suspect is worked out in `telling`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from workshop_log.electrics.circuit import AS_FOUND
from workshop_log.electrics.probes import Current, Lamp, Probe, Resistance, Voltage

Look = Literal["lit", "dim", "dark"]
Strength = Literal["slight", "fair", "strong"]

# How a fault that comes and goes was provoked, where nobody said anything else.
STILL = "still"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Test:
    """What every test has.

    Attributes
    ----------
    step : str
        The step it comes from.
    setup : str
        The setup of the circuit in which it was made.
    proved : bool | None
        Whether the instrument was shown to work for it; None where nobody said.
    provoked : str
        How a fault that comes and goes was provoked: "still", "hot", "wet", "driven".
    """

    step: str = ""
    setup: str = AS_FOUND
    proved: bool | None = None
    provoked: str = STILL

    @property
    def content(self) -> str:
        """What it says, whichever step says it: evidence is put in the order of this."""
        return repr(replace(self, step=""))


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured(_Test):
    """A reading: the true value lies between two limits, which are equal for a plain number.

    Attributes
    ----------
    probe : Voltage | Current | Resistance
        The instrument with its points.
    low, high : float
        The limits; infinite where there is none: a reading over range lies between the range's end and infinity.
        [V], [A] or [Ω]
    standard : float
        Standard uncertainty of the instrument. [same unit]
    """

    probe: Voltage | Current | Resistance
    low: float
    high: float
    standard: float

    @property
    def is_number(self) -> bool:
        """Whether it is a plain number."""
        return self.low == self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class LampSeen(_Test):
    """A test lamp that was lit, dim or dark."""

    probe: Lamp
    look: Look


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked(_Test):
    """A look at elements, and whether damage was found; `strength` is how well it could be seen."""

    elements: tuple[str, ...]
    damage: bool
    strength: Strength = "fair"


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved(_Test):
    """Elements moved by hand while an instrument was watched, or the complaint itself where there is none."""

    elements: tuple[str, ...]
    probe: Probe | None
    trials: int
    shown: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed(_Test):
    """A load that works or not, a fuse that holds or not."""

    element: str
    works: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Swapped(_Test):
    """A known good one put in an element's place, and whether that cured the complaint."""

    element: str
    cured: bool


Evidence = Measured | LampSeen | Looked | Moved | Observed | Swapped


def in_order(evidence: tuple[Evidence, ...]) -> tuple[Evidence, ...]:
    """Return evidence in an order of its own, so that nothing depends on the order in which it was entered."""
    return tuple(sorted(evidence, key=lambda one: one.content))
