"""How far a clear test could see: the smallest and the largest fault that it would have shown.

A test with a healthy result clears only what it could have seen. For every fault the reach is where the reading would
leave what counts as healthy, y(R) = threshold, found on the grid of sizes and then between two of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from workshop_log.electrics import faults as kinds
from workshop_log.electrics.curves import LIT_FROM
from workshop_log.electrics.fault_arrays import fault_readings
from workshop_log.electrics.faults import Fault, amounts, faults_of, limits
from workshop_log.electrics.numeric import np
from workshop_log.electrics.probes import Lamp, Probe
from workshop_log.measuring.showing import show

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.electrics.circuit import Circuit, Setup

_GRID_CELLS = 48
# Each finer grid divides the interval in which the reach lies; two of them leave a thousandth of its logarithm.
_FINER = 2
_FINER_CELLS = 12
_SHOWN_DIGITS = 2
# A series resistance is seen from the reach up, everything else from the reach down.
_SEEN_ABOVE = frozenset({kinds.HIGH_RESISTANCE})


@dataclass(frozen=True, slots=True)
class Band:
    """What counts as a healthy reading, in the probe's unit; None where that side has no limit.

    Of a test lamp it is the voltage across it.
    """

    low: float | None
    high: float | None

    @classmethod
    def of_look(cls, lamp: Lamp, look: str) -> Band:
        """Return the voltages at which a test lamp could not be taken for another look than this."""
        threshold = LIT_FROM * lamp.rated_v
        return cls(threshold, None) if look == "lit" else cls(None, threshold)


@dataclass(frozen=True, slots=True)
class Reach:
    """What a clear test could have seen of one fault.

    Attributes
    ----------
    fault : Fault
        The fault; without amount.
    seen : bool
        Whether it would have been seen at any size at all.
    limit : float | None
        The smallest resistance in series, or the largest of a path, or the highest voltage of a source, that would
        have been seen [Ω], [V]; None for a fault of one size, and for one that would not have been seen.
    every_size : bool
        Whether every size that a fault may have would have been seen.
    """

    fault: Fault
    seen: bool
    limit: float | None = None
    every_size: bool = False

    def words(self) -> str:
        """Return the reach in words: "any path to ground below 19 Ω at W1"."""
        if not self.seen:
            return f"not {_what(self.fault)} at {self.fault.element}, of whatever size"
        return f"{_seen_words(self)} at {self.fault.element}"


def reach_of(circuit: Circuit, setup: Setup | str, probe: Probe, band: Band,
             faults: Sequence[Fault] | None = None) -> tuple[Reach, ...]:
    """Return for every fault how much of it a test with a healthy result could have seen.

    Parameters
    ----------
    circuit, setup, probe
        The test.
    band : Band
        What counts as healthy: the expected range widened by what the instrument does not know, or `Band.of_look`.
    faults : sequence of Fault, optional
        All faults of the circuit unless said.
    """
    considered = faults_of(circuit) if faults is None else tuple(fault.of(None) for fault in faults)
    intervals: dict[Fault, tuple[float, float] | None] = {}
    found: dict[Fault, Reach] = {}
    readings = fault_readings(circuit, setup, [probe], considered, _GRID_CELLS)
    for number, fault in enumerate(considered, 1):
        seen = _is_seen(readings.value[readings.cells_of(number), 0], probe, band)
        if not fault.has_amount:
            found[fault] = Reach(fault, bool(seen[0]), every_size=bool(seen[0]))
            continue
        interval = _interval(fault, amounts(circuit.element(fault.element), fault.kind, _GRID_CELLS), seen)
        if interval is None:
            every = bool(seen.all())
            low, high = limits(circuit.element(fault.element), fault.kind)
            found[fault] = Reach(fault, every, (low if fault.kind in _SEEN_ABOVE else high) if every else None, every)
        else:
            intervals[fault] = interval
    for _ in range(_FINER):
        intervals = _finer(circuit, setup, probe, band, intervals)
    found |= {fault: Reach(fault, True, interval[0] if fault.kind not in _SEEN_ABOVE else interval[1])
              for fault, interval in intervals.items()}
    return tuple(found[fault] for fault in considered)


def _finer(circuit: Circuit, setup: Setup | str, probe: Probe, band: Band,
           intervals: dict[Fault, tuple[float, float]]) -> dict[Fault, tuple[float, float]]:
    """Return the intervals in which each reach lies, divided once more."""
    sizes = {fault: np.geomspace(*interval, _FINER_CELLS) for fault, interval in intervals.items()}
    flat = [fault.of(float(size)) for fault, several in sizes.items() for size in several]
    if not flat:
        return {}
    readings = fault_readings(circuit, setup, [probe], flat)
    seen = _is_seen(readings.value[1:, 0], probe, band).reshape(-1, _FINER_CELLS)
    return {fault: _interval(fault, tuple(sizes[fault]), seen[number]) or intervals[fault]
            for number, fault in enumerate(intervals)}


def _is_seen(value: NDArray[np.float64], probe: Probe, band: Band) -> NDArray[np.bool_]:
    """Whether a reading would not have been taken for healthy; a live circuit shows itself to an ohmmeter."""
    seen = np.isnan(value)
    if isinstance(probe, Lamp):
        # It burns either way round.
        value = np.abs(value)
    if band.low is not None:
        seen = seen | (value < band.low)
    if band.high is not None:
        seen = seen | (value > band.high)
    return seen


def _interval(fault: Fault, sizes: tuple[float, ...], seen: NDArray[np.bool_]) -> tuple[float, float] | None:
    """Return two neighbouring sizes between which the fault begins to be seen, going from the worst size on.

    None where the worst size is not seen, or every one is.
    """
    order = range(len(sizes) - 1, -1, -1) if fault.kind in _SEEN_ABOVE else range(len(sizes))
    if not seen[order[0]]:
        return None
    for worse, better in pairwise(order):
        if not seen[better]:
            return tuple(sorted((float(sizes[worse]), float(sizes[better]))))
    return None


def reach_words(reaches: Sequence[Reach], probe: Probe, look: str = "") -> str:
    """Return the reach of a clear test in one sentence, faults of one kind and reach together.

    Parameters
    ----------
    reaches : sequence of Reach
        As `reach_of` returns them.
    probe : Probe
        The instrument.
    look : str
        How a test lamp stayed.
    """
    groups: dict[str, list[str]] = {}
    for reach in reaches:
        if reach.seen:
            elements = groups.setdefault(_seen_words(reach), [])
            if reach.fault.element not in elements:
                elements.append(reach.fault.element)
    verb = "would have shown"
    if isinstance(probe, Lamp):
        verb = "would have gone dim or dark for" if look == "lit" else "would have lit for"
    if not groups:
        return "could have seen none of the faults considered"
    return f"{verb} " + "; ".join(f"{what} at {', '.join(elements)}" for what, elements in groups.items())


def _seen_words(reach: Reach) -> str:
    if reach.limit is None:
        return _what(reach.fault)
    size = show(reach.limit, reach.fault.unit, digits=_SHOWN_DIGITS)
    return f"{_what(reach.fault)} {'above' if reach.fault.kind in _SEEN_ABOVE else 'below'} {size}"


def _what(fault: Fault) -> str:
    return {
        kinds.OPEN: "an open",
        kinds.HIGH_RESISTANCE: "any resistance in series",
        kinds.SHORT_TO_GROUND: "any path to ground",
        kinds.SHORT_TO_SUPPLY: "any path to the supply",
        kinds.SHORTED: "any path across itself",
        kinds.STUCK_OPEN: "a contact stuck open",
        kinds.STUCK_CLOSED: "a contact stuck closed",
        kinds.DEAD: "a load that draws nothing",
        kinds.DRAWS_TOO_MUCH: "any further path beside the load",
        kinds.LOW_VOLTAGE: "a voltage",
    }[fault.kind]
