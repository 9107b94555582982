"""The grid of a circuit's faults: every fault in every size, and what each piece of evidence makes of each cell.

A cell is one fault, or a pair of faults, of one size; the first cell is the healthy circuit. What a test shows in all
cells is computed once for each test and kept.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from workshop_log.diagnosis import telling
from workshop_log.diagnosis.evidence import LampSeen, Measured, Observed
from workshop_log.electrics import faults as kinds
from workshop_log.electrics.circuit import LOAD_KINDS, SOURCE_KINDS, Circuit
from workshop_log.electrics.fault_arrays import SettledCells, cells_of_faults
from workshop_log.electrics.numeric import np
from workshop_log.electrics.probes import FLOATING_V, LEADS_STANDARD, Current, Lamp, Probe, Resistance, Voltage

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.electrics.faults import Fault

    Array = NDArray[np.float64]

GRID_CELLS = 48
# A uniform distribution has its width / √12 as standard deviation.
_WIDTH_DIVISOR = 12**0.5
# A parameter that moves a reading by less than this part of the instrument's uncertainty is left out of the sharing.
_LEAST_MOVE = 0.02
# A motor's resistance in a dead circuit lies between that at rest and that while it runs: its middle and ± as shares.
_MOTOR_MIDDLE, _MOTOR_SPREAD = 0.5, 0.7
# Of a reading that nobody expects: over the supply's voltage and a little beyond; over eight decades of resistance.
_VOLTS_BEYOND, _OHM_DECADES, _LEAST_OHM = 1.4, 8.0, 0.1
_SLIP_BETWEEN_LIMITS = 0.2
# What "shows nothing" looks like.
_NOTHING_V, _NOTHING_A = 0.1, 0.1
# A point that nothing connects shows anything now and then.
_FLOATING_ANYTHING = 0.3
_OVER_RANGE_SEEN = 0.98
# Of a current that nobody expects; at least. [A]
_LEAST_SPAN_A = 1.0


@dataclass(frozen=True)
class Told:
    """What one reading makes of each cell, before it is weighed together with the others.

    Attributes
    ----------
    residual : NDArray
        Reading less prediction; shape (n_cells,).
    moved : NDArray
        What one standard uncertainty of each unknown parameter moves the prediction by, those columns only that
        matter; the sizes of its faults within their cell are the last ones. Shape (n_cells, n_columns).
    columns : NDArray of int
        Which parameters they are.
    spread : NDArray
        Σ moved²; shape (n_cells,).
    noise : NDArray
        Variance of the reading alone; shape (n_cells,).
    slip : NDArray
        Density of a slip at this reading times its probability, that of an instrument that shows nothing with it;
        shape (n_cells,).
    believed : NDArray
        Probability that the reading is what the cell predicts with its uncertainty; shape (n_cells,).
    binds : NDArray of bool
        Whether the reading tells anything of the shared parameters in this cell; shape (n_cells,).
    is_number : bool
        Whether `believed` belongs to a density; of a reading between limits it is the probability itself.
    """

    residual: Array
    moved: Array = field(repr=False)
    columns: NDArray[np.int64]
    spread: Array
    noise: Array
    slip: Array
    believed: Array
    binds: NDArray[np.bool_]
    is_number: bool


class Cells:
    """All faults of a circuit in all sizes.

    Parameters
    ----------
    circuit : Circuit
        A sound circuit.
    faults : tuple[tuple[Fault, ...], ...]
        The empty one first.
    count : int
        Sizes of each fault that has more than one; of a pair, of each of the two.
    known : Cells | None
        Other cells of the same circuit, which know what it shows when healthy.
    """

    def __init__(self, circuit: Circuit, faults: tuple[tuple[Fault, ...], ...], count: int = GRID_CELLS,
                 known: Cells | None = None) -> None:
        self.circuit, self.faults, self.count, self._known = circuit, faults, count, known
        self.index, self.amount = cells_of_faults(circuit, faults, count)
        self.starts = np.searchsorted(self.index, np.arange(len(faults) + 1))
        sources = [abs(element.voltage_v) for element in circuit.elements if element.kind in SOURCE_KINDS]
        self.supply_v = max(sources, default=0.0) or 1.0
        self._settled: dict[tuple[str, bool], SettledCells] = {}
        self._dead: Circuit | None = None
        self._told: dict[str, Told | Array] = {}
        self._design: dict[str, tuple[float, float]] = {}

    def __len__(self) -> int:
        return len(self.index)

    def cells_of(self, fault: int) -> slice:
        """Return the cells of one of the faults, by its number."""
        return slice(int(self.starts[fault]), int(self.starts[fault + 1]))

    def settled(self, setup: str, *, dead: bool = False) -> SettledCells:
        """Return the cells settled in a setup; for an ohmmeter with the motors as they are at rest."""
        dead = dead and any(element.standing_ohm for element in self.circuit.elements)
        key = setup, dead
        if key not in self._settled:
            circuit = self.at_rest() if dead else self.circuit
            self._settled[key] = SettledCells(circuit, setup, self.faults, self.index, self.amount)
        return self._settled[key]

    def at_rest(self) -> Circuit:
        """Return the circuit with its motors as an ohmmeter finds them."""
        from dataclasses import replace

        if self._dead is None:
            self._dead = replace(self.circuit, elements=tuple(
                replace(element, resistance_ohm=_MOTOR_MIDDLE * (element.resistance_ohm + element.standing_ohm),
                        tolerance=_MOTOR_SPREAD) if element.standing_ohm else element
                for element in self.circuit.elements))
        return self._dead

    def read(self, setup: str, probes: list[Probe], *, with_sensitivity: bool = False):
        """Return what probes of one sort show in every cell, a `fault_arrays.Shown`."""
        dead = any(isinstance(probe, Resistance) for probe in probes)
        return self.settled(setup, dead=dead).read(probes, with_sensitivity=with_sensitivity)

    # --- what evidence makes of the cells ----------------------------------------------------------------------------

    def told(self, evidence: Measured | LampSeen | Observed) -> Told | Array:
        """Return what a piece of evidence makes of each cell; log of a probability where it is no number."""
        key = evidence.content
        if key not in self._told:
            if isinstance(evidence, Measured):
                self._told[key] = self._measured(evidence)
            elif isinstance(evidence, LampSeen):
                self._told[key] = np.log(self._lamp(evidence))
            else:
                self._told[key] = np.log(self._observed(evidence))
        return self._told[key]

    def prepare(self, evidence: tuple[Measured | LampSeen | Observed, ...]) -> None:
        """Compute what many readings make of the cells, those of one setup together."""
        waiting: dict[tuple[str, bool], list[Measured]] = {}
        for one in evidence:
            if isinstance(one, Measured) and one.content not in self._told:
                waiting.setdefault((one.setup, isinstance(one.probe, Resistance)), []).append(one)
        for (setup, _), readings in waiting.items():
            probes = list(dict.fromkeys(reading.probe for reading in readings))
            shown = self.read(setup, probes, with_sensitivity=True)
            for reading in readings:
                self._told[reading.content] = self._told_of(reading, shown, probes.index(reading.probe))

    def _measured(self, reading: Measured) -> Told:
        return self._told_of(reading, self.read(reading.setup, [reading.probe], with_sensitivity=True), 0)

    def _told_of(self, reading: Measured, shown, number: int) -> Told:
        value, floating = shown.value[:, number], shown.floating[:, number]
        unit = reading.probe.unit
        no_number = ~np.isfinite(value)
        predicted = np.where(no_number, 0.0, value)
        moved = np.where(no_number[:, None], 0.0, shown.sensitivity[:, number])
        within = self._within_cell(predicted, reading.setup)
        noise = np.full(len(value), reading.standard**2 + LEADS_STANDARD[unit] ** 2)
        noise[floating] += FLOATING_V**2
        columns = np.flatnonzero(np.abs(moved).max(axis=0) > _LEAST_MOVE * np.sqrt(noise.min()))
        spread = np.einsum("np,np->n", moved, moved) + (within**2).sum(axis=1)
        moved = np.concatenate([moved[:, columns], within], axis=1)
        columns = np.append(columns, shown.sensitivity.shape[2] + np.arange(within.shape[1]))
        slip, nothing = telling.SLIP[reading.proved], telling.SHOWS_NOTHING[reading.proved]
        density = self._density(reading, value)
        believed = np.full(len(value), 1 - slip - nothing)
        believed[floating] *= 1 - _FLOATING_ANYTHING
        stray = np.full(len(value), slip * density + nothing * _nothing_density(reading))
        stray[floating] += _FLOATING_ANYTHING * density
        binds = ~floating & ~no_number & reading.is_number
        if reading.is_number:
            residual = np.where(no_number, np.inf, reading.low - predicted)
            # Something drives an ohmmeter's leads: it shows anything.
            stray[np.isnan(value)] = density
        else:
            residual, believed = self._between(reading, value, predicted, np.sqrt(noise + spread), believed)
            stray = np.full(len(value), slip * _SLIP_BETWEEN_LIMITS
                            + nothing * (unit == "ohm" and reading.high == np.inf))
        return Told(residual, moved, columns, spread, noise, stray, believed, binds, reading.is_number)

    @staticmethod
    def _between(reading: Measured, value: Array, predicted: Array, standard: Array, believed: Array,
                 ) -> tuple[Array, Array]:
        """Return no residual, and the probability that the value lies between the limits."""
        inside = (telling.normal_below((np.minimum(reading.high, 1e300) - predicted) / standard)
                  - telling.normal_below((np.maximum(reading.low, -1e300) - predicted) / standard))
        over = _OVER_RANGE_SEEN if reading.high == np.inf else 0.0
        inside = np.where(np.isinf(value), over, np.where(np.isnan(value), 0.5, inside))
        return np.zeros(len(value)), believed * np.clip(inside, 0.0, 1.0)

    def _density(self, reading: Measured, value: Array) -> float:
        """Return the density of a reading that is a slip of eye or hand [1/unit]."""
        middle = reading.low if reading.is_number else 0.0
        if reading.probe.unit == "V":
            return 1 / (_VOLTS_BEYOND * self.supply_v)
        if reading.probe.unit == "A":
            usual = np.nanmax(np.abs(value[:1])) if len(value) else 0.0
            return 1 / max(2 * float(usual), 2 * abs(middle), _LEAST_SPAN_A)
        return 1 / (max(abs(middle), _LEAST_OHM) * _OHM_DECADES * np.log(10.0))

    def _within_cell(self, value: Array, setup: str) -> Array:
        """Return what the width of each cell brings: half the way to its neighbours of the same fault and state.

        One column for each fault of a cell, with its sign: the size is the same one for all readings.
        """
        state, _ = self.settled(setup).switching
        if max((len(fault) for fault in self.faults), default=0) > 1:
            return self._within_pair(value, state)
        alike = (np.diff(self.index) == 0) & (np.diff(state) == 0)
        return _half_way(np.where(alike, np.diff(value), 0.0), alike)[:, None] / _WIDTH_DIVISOR

    def _within_pair(self, value: Array, state: NDArray[np.int64]) -> Array:
        """Return the same for pairs, whose cells form a rectangle."""
        within = np.zeros((len(value), 2))
        for number, fault in enumerate(self.faults):
            here = self.cells_of(number)
            shape = [self.count if one.has_amount else 1 for one in fault]
            for axis, length in enumerate(shape):
                if length > 1:
                    # The axis that is looked along comes last, and every line of cells stands by itself.
                    lines = np.moveaxis(value[here].reshape(shape), axis, -1)
                    states = np.moveaxis(state[here].reshape(shape), axis, -1)
                    alike = np.diff(states, axis=-1) == 0
                    step = _half_way(np.where(alike, np.diff(lines, axis=-1), 0.0), alike)
                    within[here, axis] = np.moveaxis(step, -1, axis).reshape(-1)
        return within / _WIDTH_DIVISOR

    # --- what shows no number ----------------------------------------------------------------------------------------

    def lamp_share(self, setup: str, probe: Lamp) -> tuple[Array, Array]:
        """Return the voltage across a test lamp as a share of its rated one, and the standard uncertainty of that."""
        shown = self.settled(setup).read([probe], with_sensitivity=True)
        spread = np.sqrt(np.einsum("np,np->n", shown.sensitivity[:, 0], shown.sensitivity[:, 0]))
        return shown.value[:, 0] / probe.rated_v, spread / probe.rated_v

    def _lamp(self, seen: LampSeen) -> Array:
        share, standard = self.lamp_share(seen.setup, seen.probe)
        probability = telling.lamp_looks(share, standard)[seen.look]
        nothing = telling.SHOWS_NOTHING[seen.proved]
        return (1 - nothing) * probability + nothing * (seen.look == "dark")

    def design(self, element: str) -> tuple[float, float]:
        """Return the largest healthy voltage across an element and current through it, over all setups [V], [A]."""
        if self._known is not None:
            return self._known.design(element)
        if element not in self._design:
            volts, amperes = 0.0, 0.0
            for setup in self.circuit.setups:
                voltage, current = self._across(setup.id, element)
                volts, amperes = max(volts, abs(float(voltage[0]))), max(amperes, abs(float(current[0])))
            self._design[element] = volts, amperes
        return self._design[element]

    def _across(self, setup: str, element: str) -> tuple[Array, Array]:
        found = self.circuit.element(element)
        ends = found.between or found.coil or (found.common, found.normally_open or found.normally_closed)
        shown = self.settled(setup).read([Voltage(*ends), Current(element)])
        return np.nan_to_num(shown.value[:, 0]), np.nan_to_num(shown.value[:, 1])

    def _observed(self, seen: Observed) -> Array:
        """Return how probable it is that something works, or not, in each cell."""
        element = self.circuit.element(seen.element)
        if element.kind == "fuse":
            holds = 1 - self.opens(seen.element, None if not seen.works else seen.setup)
        else:
            volts, amperes = self.design(seen.element)
            voltage, current = self._across(seen.setup, seen.element)
            voltage_share = np.abs(voltage) / max(volts, 1e-9)
            current_share = np.abs(current) / max(amperes, 1e-9)
            if element.kind not in LOAD_KINDS:
                # What is no load works when it lets its current through.
                voltage_share = current_share
            holds = telling.works(voltage_share)
            for number, faults in enumerate(self.faults):
                own = tuple(fault.kind for fault in faults if fault.element == seen.element)
                if own:
                    here = self.cells_of(number)
                    holds[here] = telling.load_works(own, voltage_share[here], current_share[here])
        return holds if seen.works else 1 - holds

    def opens(self, fuse: str, setup: str | None = None) -> Array:
        """Return how probable it is that a fuse is found open; without a setup it may have opened in any of them."""
        # A fuse that is found open is not overlooked, nor does it open for nothing: that is a suspect of its own.
        opens = np.full(len(self), 0.003)
        for each in self.circuit.setups if setup is None else (self.circuit.setup(setup),):
            state, states = self.settled(each.id).switching
            blown = np.array([fuse in blown for _, blown in states])[state]
            opens[blown] = 0.97 if setup is not None else np.maximum(opens[blown], 0.9)
        for number, faults in enumerate(self.faults):
            if any(fault.element == fuse and fault.kind == kinds.OPEN for fault in faults):
                opens[self.cells_of(number)] = 0.98
        return opens


def _half_way(step: Array, counts: NDArray[np.bool_]) -> Array:
    """Return the mean of the steps to the neighbours before and after, of those that count; along the last axis."""
    together, sides = np.zeros((*step.shape[:-1], step.shape[-1] + 1)), np.zeros((*step.shape[:-1], step.shape[-1] + 1))
    together[..., 1:] += step
    together[..., :-1] += step
    sides[..., 1:] += counts
    sides[..., :-1] += counts
    return together / np.maximum(sides, 1.0)


def _nothing_density(reading: Measured) -> float:
    """Return the density of a reading of an instrument that shows nothing [1/unit]."""
    if not reading.is_number:
        return 0.0
    if reading.probe.unit == "V":
        return 1 / (2 * _NOTHING_V) if abs(reading.low) < _NOTHING_V else 0.0
    if reading.probe.unit == "A":
        return 1 / (2 * _NOTHING_A) if abs(reading.low) < _NOTHING_A else 0.0
    return 0.0
