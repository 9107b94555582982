"""What every point of a circuit shows in a setup, healthy and with a fault: values, and lines for the terminal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.errors import WorkshopLogError
from workshop_log.jobs.circuit_ranges import computed_circuit
from workshop_log.jobs.labels import point_words
from workshop_log.measuring.entry import read_entry, show
from workshop_log.measuring.units import UnitMismatchError, dimension_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workshop_log.electrics.faults import Fault
    from workshop_log.electrics.solver import State
    from workshop_log.exchange import records

# Shown digits of a computed value.
_DIGITS = 4
FLOATING = "floating"


class FaultTextError(WorkshopLogError, ValueError):
    """A fault that is not written as it can be understood."""

    def __init__(self, text: str, reason: str) -> None:
        self.text = text
        super().__init__(f"The fault “{text}” is not understood: {reason} Write it as “W1: short to ground=0.5 ohm” or "
                         f"“F7: open”.")


@dataclass(frozen=True, slots=True)
class PointState:
    """One point in a setup.

    Attributes
    ----------
    point : str
        Its name.
    voltage_v : float | None
        Against B−; None where it floats. [V]
    is_live : bool
        Whether it is connected and carries a voltage.
    """

    point: str
    voltage_v: float | None
    is_live: bool


@dataclass(frozen=True, slots=True)
class CircuitState:
    """A circuit in a setup.

    Attributes
    ----------
    points : tuple[PointState, ...]
        Every point, in the circuit's order.
    currents : dict[str, float]
        Current through each element. [A]
    remarks : tuple[str, ...]
        Fuses that blow, relays that pull in or chatter, lamps, in words.
    pulled_in, blown : frozenset[str]
        Relays and fuses.
    """

    points: tuple[PointState, ...]
    currents: dict[str, float]
    remarks: tuple[str, ...]
    pulled_in: frozenset[str] = frozenset()
    blown: frozenset[str] = frozenset()


def circuit_state(circuit: records.Circuit, setup: str, fault: str | None = None) -> CircuitState:
    """Return what a circuit shows in a setup.

    Parameters
    ----------
    circuit : Circuit
        As described.
    setup : str
        Its short name; "as found" always exists.
    fault : str, optional
        "W1: short to ground=0.5 ohm"; healthy without.

    Raises
    ------
    CircuitRangeError, CircuitError, UnknownNameError, FaultError
        If the circuit cannot be computed, or has no such setup, element or fault.
    FaultTextError
        If the fault is not understood.
    """
    from workshop_log.electrics.solver import solve

    computed = computed_circuit(circuit)
    state = solve(computed, setup, read_fault(fault) if fault else None)
    points = tuple(PointState(point, state.voltage_v(point), state.is_live(point)) for point in computed.points)
    currents = {element.id: state.current_a(element.id) for element in computed.elements}
    return CircuitState(points, currents, tuple(_remarks(state)), state.pulled_in, state.blown)


def read_fault(text: str) -> Fault:
    """Return the fault that a text means.

    Raises
    ------
    FaultTextError
        If it is not understood.
    FaultError
        If there is no such kind of fault.
    """
    from workshop_log.electrics.faults import Fault

    element, colon, rest = text.partition(":")
    kind, equals, size = (part.strip() for part in rest.partition("="))
    if not colon or not element.strip() or not kind:
        raise FaultTextError(text, "it names no element and kind.")
    fault = Fault(element.strip(), kind)
    if not equals:
        if fault.has_amount:
            raise FaultTextError(text, f"“{kind}” needs an amount.")
        return fault
    if not fault.has_amount:
        raise FaultTextError(text, f"“{kind}” has no amount.")
    entry = read_entry(size, usual_unit=fault.unit)
    if entry.value is None or entry.relation != "=":
        raise FaultTextError(text, f"“{size}” is no amount.")
    if entry.dimension != dimension_of(fault.unit):
        raise UnitMismatchError(fault.unit, entry.unit)
    return fault.of(entry.value)


def circuit_lines(circuit: records.Circuit, setup: str, fault: str | None = None) -> Iterator[str]:
    """Yield the table for the terminal; with a fault the healthy values stand beside the faulty ones."""
    healthy = circuit_state(circuit, setup)
    faulty = circuit_state(circuit, setup, fault) if fault else None
    columns = [healthy] if faulty is None else [healthy, faulty]
    heads = ["healthy"] if faulty is None else ["healthy", fault or ""]
    yield f"{circuit.title or circuit.id}, {setup}"
    width = max([len(point_words(p.point)) for p in healthy.points] + [len(e.id) for e in circuit.elements] + [8])
    yield "  ".join([f"{'point':<{width}}", *(f"{head:>12}" for head in heads)])
    for rows in zip(*(state.points for state in columns), strict=True):
        shown = (FLOATING if row.voltage_v is None else show(row.voltage_v, "V", digits=_DIGITS) for row in rows)
        yield "  ".join([f"{point_words(rows[0].point):<{width}}", *(f"{text:>12}" for text in shown)])
    yield ""
    yield "  ".join([f"{'through':<{width}}", *(f"{head:>12}" for head in heads)])
    for element in circuit.elements:
        amounts = (show(state.currents[element.id], "A", digits=_DIGITS) for state in columns)
        yield "  ".join([f"{element.id:<{width}}", *(f"{text:>12}" for text in amounts)])
    for head, state in zip(heads, columns, strict=True):
        for remark in state.remarks:
            yield f"{head}: {remark}"


def _remarks(state: State) -> Iterator[str]:
    for fuse in sorted(state.blown):
        yield f"fuse {fuse} blows"
    for relay in sorted(state.pulled_in):
        yield f"relay {relay} pulls in"
    for relay in state.chattering:
        yield f"relay {relay} never settles: it chatters, and is shown at rest"
    for lamp, look in sorted(state.lamps.items()):
        yield f"lamp {lamp} is {look}"
