"""The kinds of fault that an element may have, and how large each may be.

A fault has an amount where one size of it differs from another: the resistance that it puts in series or lays across
[Ω], or the voltage that a weak source still gives [V]. The others are there or not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from workshop_log.electrics.circuit import LOAD_KINDS
from workshop_log.errors import WorkshopLogError
from workshop_log.measuring.showing import show

if TYPE_CHECKING:
    from workshop_log.electrics.circuit import Circuit, Element

OPEN, HIGH_RESISTANCE = "open", "high resistance"
SHORT_TO_GROUND, SHORT_TO_SUPPLY, SHORTED = "short to ground", "short to supply", "shorted"
STUCK_OPEN, STUCK_CLOSED = "stuck open", "stuck closed"
DEAD, DRAWS_TOO_MUCH, LOW_VOLTAGE = "dead", "draws too much", "low voltage"

KINDS = (OPEN, HIGH_RESISTANCE, SHORT_TO_GROUND, SHORT_TO_SUPPLY, SHORTED, STUCK_OPEN, STUCK_CLOSED, DEAD,
         DRAWS_TOO_MUCH, LOW_VOLTAGE)
# Faults of one size only.
WITHOUT_AMOUNT = frozenset({OPEN, DEAD, STUCK_OPEN, STUCK_CLOSED})
# What lays a path between the element and something else.
SHORTS = frozenset({SHORT_TO_GROUND, SHORT_TO_SUPPLY})

# What is considered of an element that does not say it.
KINDS_OF_ELEMENT: dict[str, tuple[str, ...]] = {
    "battery": (LOW_VOLTAGE, HIGH_RESISTANCE),
    "source": (LOW_VOLTAGE, HIGH_RESISTANCE, OPEN),
    "fuse": (OPEN, HIGH_RESISTANCE),
    "wire": (OPEN, HIGH_RESISTANCE, SHORT_TO_GROUND, SHORT_TO_SUPPLY),
    "contact": (OPEN, HIGH_RESISTANCE),
    "switch": (STUCK_OPEN, STUCK_CLOSED, HIGH_RESISTANCE),
    "relay": (OPEN, SHORTED, HIGH_RESISTANCE, STUCK_OPEN, STUCK_CLOSED),
    "lamp": (OPEN, SHORTED),
    "motor": (OPEN, HIGH_RESISTANCE, SHORTED, DRAWS_TOO_MUCH),
    "heater": (OPEN, HIGH_RESISTANCE, SHORTED),
    "coil": (OPEN, SHORTED),
    "sensor": (OPEN, HIGH_RESISTANCE, SHORTED),
    "control unit": (DEAD, SHORTED, DRAWS_TOO_MUCH),
    "load": (OPEN, HIGH_RESISTANCE, SHORTED, DRAWS_TOO_MUCH),
    "diode": (OPEN, SHORTED),
    "ground point": (OPEN, HIGH_RESISTANCE),
}

# own estimate: below, a joint is as good as new; above, it is as good as open.
SERIES_OHM = (0.05, 100e3)
# own estimate: from a welded contact to moisture between two wires.
PATH_OHM = (0.01, 10e3)
# own estimate: what is left of a load across itself, as a part of its own resistance.
_SHORTED_SHARE = (0.0005, 0.1)
_DRAWING_SHARE = (0.1, 10.0)
_LEAST_SHORTED_OHM = 0.01
# own estimate: worn brushes add at least this part of a motor's resistance before anybody notices.
_LOAD_SHARE = 0.05
# own estimate: a weak source gives from a third of its voltage to 97 %.
_LOW_VOLTAGE_SHARE = (0.3, 0.97)
GRID_CELLS = 64


class FaultError(WorkshopLogError, ValueError):
    """A fault that the element cannot have, or of an amount that cannot be."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One kind of fault of one element.

    Attributes
    ----------
    element : str
        The element's id.
    kind : str
        One of `KINDS`.
    amount : float | None
        Resistance in series or across [Ω]; the voltage that a source still gives [V]; None for a fault of one size
        only, and for a fault of which only the kind is meant.
    position : float
        Where a short lies along a wire: 0 at its supply side, 1 at its other end.
    """

    element: str
    kind: str
    amount: float | None = None
    position: float = 0.5

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise FaultError(f"“{self.kind}” is no kind of fault: write one of {', '.join(KINDS)}.")
        if self.amount is not None and not (math.isfinite(self.amount) and self.amount >= 0):
            raise FaultError(f"{self.element}: the amount of a fault is zero or a positive number.")
        if not 0 <= self.position <= 1:
            raise FaultError(f"{self.element}: a short lies between 0 and 1 of the wire's length.")

    @property
    def has_amount(self) -> bool:
        """Whether one size of this kind of fault differs from another."""
        return self.kind not in WITHOUT_AMOUNT

    @property
    def unit(self) -> str:
        """The unit of the amount: "ohm", "V" or nothing."""
        return "" if not self.has_amount else "V" if self.kind == LOW_VOLTAGE else "ohm"

    def of(self, amount: float | None) -> Fault:
        """Return the same fault with an amount."""
        return replace(self, amount=amount)

    def words(self) -> str:
        """Return the fault in words: "W1: short to ground, 0.50 Ω"."""
        size = "" if self.amount is None or not self.has_amount else f", {show(self.amount, self.unit)}"
        return f"{self.element}: {self.kind}{size}"


def kinds_of(element: Element) -> tuple[str, ...]:
    """Return the kinds of fault that are considered of an element."""
    return element.faults or KINDS_OF_ELEMENT[element.kind]


def faults_of(circuit: Circuit) -> tuple[Fault, ...]:
    """Return every element with each of its kinds of fault, without amounts, in the circuit's order.

    Nothing protected is left out: it may be the cause, even though no test is made on it.
    """
    return tuple(Fault(element.id, kind) for element in circuit.elements for kind in kinds_of(element))


def check_fault(circuit: Circuit, fault: Fault) -> None:
    """Refuse a fault that the element cannot have.

    Raises
    ------
    UnknownNameError
        If the circuit has no such element.
    FaultError
        If the element cannot have this kind of fault, or the amount is missing.
    """
    element = circuit.element(fault.element)
    if fault.kind not in _possible_kinds(element):
        raise FaultError(f"{element.id}: a {element.kind} cannot be “{fault.kind}”: choose one of "
                         f"{', '.join(kind for kind in KINDS if kind in _possible_kinds(element))}.")
    if fault.has_amount and fault.amount is None:
        example = "10.5 V" if fault.unit == "V" else "0.5 ohm"
        raise FaultError(f"{element.id}: say how large “{fault.kind}” is, as in “{fault.kind}={example}”.")


def amounts(element: Element, kind: str, cells: int = GRID_CELLS) -> tuple[float, ...]:
    """Return the middle amounts of equal cells between the smallest and the largest that a fault may have.

    Resistances are spaced evenly in their logarithm, voltages evenly; a fault of one size only has no amounts.
    """
    if kind in WITHOUT_AMOUNT:
        return ()
    low, high = limits(element, kind)
    shares = [(cell + 0.5) / cells for cell in range(cells)]
    if kind == LOW_VOLTAGE:
        return tuple(low + (high - low) * share for share in shares)
    return tuple(low * (high / low) ** share for share in shares)


def limits(element: Element, kind: str) -> tuple[float, float]:
    """Return the smallest and the largest amount that a fault of this element may have; [Ω], or [V] of a source."""
    if kind == LOW_VOLTAGE:
        return tuple(share * element.voltage_v for share in _LOW_VOLTAGE_SHARE)
    if kind == HIGH_RESISTANCE:
        # A joint that carries hundreds of amperes is bad from a thousandth of an ohm on, a load from a part of its own.
        own_ohm = element.resistance_ohm * (_LOAD_SHARE if element.kind in LOAD_KINDS else 1.0)
        return min(SERIES_OHM[0], max(own_ohm, 1e-3)), SERIES_OHM[1]
    if kind in SHORTS:
        return PATH_OHM
    own = element.coil_ohm if element.kind == "relay" else element.resistance_ohm
    if kind == DRAWS_TOO_MUCH:
        return tuple(share * own for share in _DRAWING_SHARE)
    low, high = (share * own for share in _SHORTED_SHARE)
    return max(low, _LEAST_SHORTED_OHM), max(high, 10 * _LEAST_SHORTED_OHM)


def _possible_kinds(element: Element) -> frozenset[str]:
    kinds = {*KINDS_OF_ELEMENT[element.kind], *element.faults, OPEN, HIGH_RESISTANCE}
    if element.kind not in ("switch", "relay"):
        kinds -= {STUCK_OPEN, STUCK_CLOSED}
    if element.kind in ("battery", "source"):
        return frozenset(kinds - {SHORTED, DEAD, DRAWS_TOO_MUCH, *SHORTS})
    kinds.discard(LOW_VOLTAGE)
    if element.between is not None:
        kinds |= {*SHORTS, SHORTED}
    return frozenset(kinds)
