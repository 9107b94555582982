"""What many faults of many sizes would show on many instruments, as arrays, without solving each one anew.

Each fault is a change of rank one of the healthy circuit (`ports`, `laid_in`), a pair of faults one of rank two. Where
a fault makes relays or fuses switch, its cell goes to the state in which they stand, and each state that occurs is
inverted once (`moving`). Instruments that load the circuit much, a test lamp or a meter of low resistance, are laid in
as elements of a network of their own (`shown`).

A cell is one fault (or pair of faults) of one size. Arrays have the cells first: (n_cells, n_probes, ...).
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING

from workshop_log.electrics.checking import require_sound
from workshop_log.electrics.circuit import Circuit, CircuitError, Setup
from workshop_log.electrics.faults import GRID_CELLS, Fault, amounts, faults_of
from workshop_log.electrics.laid_in import SwitchState
from workshop_log.electrics.numeric import np
from workshop_log.electrics.shown import Bench, is_heavy

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.electrics.probes import Probe

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class FaultReadings:
    """What each fault of each size would show.

    Attributes
    ----------
    faults : tuple[tuple[Fault, ...], ...]
        The faults without amounts, one or two of each cell; the empty one is the healthy circuit.
    fault : NDArray of int
        Which of `faults` each cell is; rising. Shape (n_cells,).
    amount : NDArray
        Amount of each cell's faults, as `Fault.amount`; not a number for a fault of one size. Shape (n_cells, 2).
    value : NDArray
        The reading in the probe's unit; infinite for an ohmmeter over range, not a number for one on a live circuit.
        Shape (n_cells, n_probes).
    floating : NDArray of bool
        Whether a lead of a voltmeter hangs on a point that nothing connects. Shape (n_cells, n_probes).
    state : NDArray of int
        Which of `states` the relays and fuses come to. Shape (n_cells,).
    states : tuple[tuple[frozenset[str], frozenset[str]], ...]
        Relays pulled in and fuses blown.
    chatters : NDArray of bool
        Whether a relay never settles; it is then taken at rest. Shape (n_cells,).
    parameters : tuple[tuple[str, str], ...]
        Element and what is not known of it, where sensitivities were asked for.
    sensitivity : NDArray
        What one standard uncertainty of each parameter moves each reading by, with its sign, in the reading's unit.
        For a wire's own resistance with a short along it, it holds as if the short lay at the wire's end. Shape
        (n_cells, n_probes, n_parameters); None unless asked for.
    """

    faults: tuple[tuple[Fault, ...], ...]
    fault: NDArray[np.int64]
    amount: Array
    value: Array
    floating: NDArray[np.bool_]
    state: NDArray[np.int64]
    states: tuple[SwitchState, ...]
    chatters: NDArray[np.bool_]
    parameters: tuple[tuple[str, str], ...] = ()
    sensitivity: Array | None = field(default=None, repr=False)

    @cached_property
    def starts(self) -> NDArray[np.int64]:
        """First cell of each fault, and the number of cells at the end; shape (n_faults + 1,)."""
        return np.searchsorted(self.fault, np.arange(len(self.faults) + 1))

    def cells_of(self, index: int) -> slice:
        """Return the cells of one of `faults`."""
        return slice(int(self.starts[index]), int(self.starts[index + 1]))


def fault_readings(circuit: Circuit, setup: Setup | str, probes: Sequence[Probe],
                   faults: Sequence[Fault] | None = None, cells: int = GRID_CELLS, *,
                   with_sensitivity: bool = False) -> FaultReadings:
    """Return what single faults would show, each in this many sizes, and the healthy circuit as the first cell.

    Parameters
    ----------
    circuit, setup
        As `solver.solve`.
    probes : sequence of Probe
        Instruments, each laid to the circuit on its own.
    faults : sequence of Fault, optional
        All faults of the circuit unless said. One with an amount is computed for that amount alone.
    cells : int
        Number of sizes of a fault that has more than one.
    with_sensitivity : bool
        Whether to compute the sensitivities too.
    """
    singles = [(fault,) for fault in (faults_of(circuit) if faults is None else faults)]
    return _readings(circuit, setup, probes, [(), *singles], cells, with_sensitivity)


def pair_readings(circuit: Circuit, setup: Setup | str, probes: Sequence[Probe],
                  pairs: Sequence[tuple[Fault, Fault]], cells: int = 8, *,
                  with_sensitivity: bool = False) -> FaultReadings:
    """Return what pairs of faults at once would show, in all combinations of this many sizes of each.

    The healthy circuit is the first cell. The two faults of a pair are of different elements.

    Raises
    ------
    CircuitError
        If both faults of a pair are of one element.
    """
    for first, second in pairs:
        if first.element == second.element:
            raise CircuitError(f"{first.element}: a pair of faults is of two different elements.")
    return _readings(circuit, setup, probes, [(), *pairs], cells, with_sensitivity)


def _readings(circuit: Circuit, setup: Setup | str, probes: Sequence[Probe], faults: Sequence[tuple[Fault, ...]],
              cells: int, with_sensitivity: bool) -> FaultReadings:
    require_sound(circuit)
    found = circuit.setup(setup) if isinstance(setup, str) else setup
    index, amount = cells_of_faults(circuit, faults, cells)
    value = np.empty((len(index), len(probes)))
    floating = np.zeros((len(index), len(probes)), dtype=bool)
    light = [number for number, probe in enumerate(probes) if not is_heavy(probe)]
    shared = Bench(circuit, found, [probes[number] for number in light], faults, index, amount)
    sensitivity = np.empty((len(index), len(probes), len(shared.parameters))) if with_sensitivity else None
    heavy = (([number], Bench(circuit, found, [probes[number]], faults, index, amount))
             for number, probe in enumerate(probes) if is_heavy(probe))
    for members, bench in ((light, shared), *heavy):
        bench.settle()
        value[:, members], floating[:, members], moved, _ = bench.read(with_sensitivity)
        if sensitivity is not None:
            sensitivity[:, members] = moved
    moving = shared.moving
    return FaultReadings(tuple(tuple(fault.of(None) for fault in each) for each in faults), index, amount, value,
                         floating, moving.state, tuple(moving.states), moving.chatters,
                         shared.parameter_names if with_sensitivity else (), sensitivity)


def cells_of_faults(circuit: Circuit, faults: Sequence[tuple[Fault, ...]],
                    cells: int) -> tuple[NDArray[np.int64], Array]:
    """Return for every cell which fault it is, and the amounts of its one or two faults; (n,) and (n, 2)."""
    nothing = (float("nan"),)
    index, amount = [], []
    for number, each in enumerate(faults):
        sizes = [nothing if not fault.has_amount else (fault.amount,) if fault.amount is not None
                 else amounts(circuit.element(fault.element), fault.kind, cells) for fault in each]
        combined = list(product(*sizes, *[nothing] * (2 - len(each))))
        index += [number] * len(combined)
        amount += combined
    return np.array(index, dtype=np.int64), np.array(amount, dtype=float).reshape(-1, 2)


class SettledCells:
    """All cells of a circuit in one setup, settled once: each further instrument costs only its own reading.

    Parameters
    ----------
    circuit, setup
        As `solver.solve`.
    faults : sequence of tuple[Fault, ...]
        One or two faults each; the empty one is the healthy circuit.
    index, amount : NDArray
        The cells, as `cells_of_faults` returns them.
    """

    def __init__(self, circuit: Circuit, setup: Setup | str, faults: Sequence[tuple[Fault, ...]],
                 index: NDArray[np.int64], amount: Array) -> None:
        require_sound(circuit)
        self._circuit, self._faults, self._index, self._amount = circuit, faults, index, amount
        self._setup = circuit.setup(setup) if isinstance(setup, str) else setup
        self._bench = Bench(circuit, self._setup, [], faults, index, amount)
        self._bench.settle()

    def only(self, cells: NDArray[np.int64]) -> SettledCells:
        """Return some of the cells, settled as they are."""
        other = copy(self)
        other._index, other._amount, other._bench = self._index[cells], self._amount[cells], self._bench.only(cells)
        return other

    @property
    def parameters(self) -> tuple[tuple[str, str], ...]:
        """Element and what is not known of it, for each sensitivity; the same in every setup of a circuit."""
        return self._bench.parameter_names

    def read(self, probes: Sequence[Probe], *, with_sensitivity: bool = False) -> Shown:
        """Return what instruments show in every cell, each laid to the circuit on its own."""
        heavy = [number for number, probe in enumerate(probes) if is_heavy(probe)]
        light = [number for number, probe in enumerate(probes) if not is_heavy(probe)]
        n_cells, n_probes = len(self._index), len(probes)
        shown = Shown(np.empty((n_cells, n_probes)), np.zeros((n_cells, n_probes), dtype=bool),
                      np.empty((n_cells, n_probes)), np.empty((n_cells, n_probes, len(self.parameters)))
                      if with_sensitivity else None)
        if light:
            self._put(shown, light, self._bench.with_probes([probes[number] for number in light]))
        for number in heavy:
            bench = Bench(self._circuit, self._setup, [probes[number]], self._faults, self._index, self._amount)
            bench.settle()
            self._put(shown, [number], bench)
        return shown

    @staticmethod
    def _put(shown: Shown, members: list[int], bench: Bench) -> None:
        value, floating, moved, source_ohm = bench.read(shown.sensitivity is not None)
        shown.value[:, members], shown.floating[:, members] = value, floating
        shown.source_ohm[:, members] = source_ohm
        if shown.sensitivity is not None:
            shown.sensitivity[:, members] = moved

    @property
    def switching(self) -> tuple[NDArray[np.int64], list[SwitchState]]:
        """Which switching state each cell is in, and the states: relays pulled in, fuses blown."""
        return self._bench.moving.state, self._bench.moving.states


@dataclass(frozen=True)
class Shown:
    """What instruments show in every cell; fields as of `FaultReadings`.

    Attributes
    ----------
    value, floating : NDArray
        Shape (n_cells, n_probes).
    source_ohm : NDArray
        The resistance that a voltmeter's leads look into [Ω]; shape (n_cells, n_probes).
    sensitivity : NDArray | None
        Shape (n_cells, n_probes, n_parameters).
    """

    value: Array
    floating: NDArray[np.bool_]
    source_ohm: Array
    sensitivity: Array | None = field(default=None, repr=False)
