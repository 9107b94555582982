"""What many faults of many sizes would show on many instruments, as arrays, without solving each one anew.

With W = M⁻¹ of the healthy circuit in one switching state, a fault of strength s on the port u moves every reading c by

    y = c·x − φ (u·x)(cᵀWu),   φ = s / (1 + s uᵀWu)      (Sherman–Morrison)

and so do all products cᵀWc′, which give the answer to a second fault, to a meter's load and to each tolerance. Lamps
and diodes are kept as sources in the rows of their branches; their voltages are found by Newton's method for all
cells at once, with as many unknowns as there are lamps and diodes. Where a fault makes relays or fuses switch, the
cell goes to the state in which they stand, and each state that occurs is inverted once.

A cell is one fault (or pair of faults) of one size. Arrays have the cells first: (n_cells, n_probes, ...).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING

from workshop_log.electrics import connections
from workshop_log.electrics.checking import require_sound
from workshop_log.electrics.circuit import SOURCE_KINDS, Circuit, CircuitError, Setup
from workshop_log.electrics.curves import Filament, Junction
from workshop_log.electrics.faults import GRID_CELLS, Fault, amounts, faults_of
from workshop_log.electrics.network import METER, OWN_PARTS, Network, build
from workshop_log.electrics.numeric import np
from workshop_log.electrics.ports import Port, port_of
from workshop_log.electrics.probes import (
    DEAD_BELOW_V,
    FORWARD_TOLERANCE,
    Current,
    Lamp,
    Probe,
    Resistance,
    Voltage,
)
from workshop_log.electrics.solver import ALIKE, CONDUCTING_A, LIVE_FROM_V, tableau
from workshop_log.measuring.uncertainty import rectangular

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# A meter of less is laid into the circuit as an element of its own; a better one hardly moves anything. [Ω]
_LIGHT_METER_OHM = 1e6
# Curves are laid in with this slope, and what they differ from it as a source. Any would do. [S]
_JUNCTION_SLOPE_S = 0.1
# From this part of a meter's resistance on, what it is laid to may bend under its current.
_HEAVY_LOAD = 1e-4
_SETTLED = 1e-10
_ROUNDING = 2e-15
_MOST_NEWTON_STEPS = 200
# Cells times probes times parameters that are worked on at once.
_MOST_AT_ONCE = 2_000_000

SwitchState = tuple[frozenset[str], frozenset[str]]


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
    index, amount = _cells(circuit, faults, cells)
    value = np.empty((len(index), len(probes)))
    floating = np.zeros((len(index), len(probes)), dtype=bool)
    sensitivity, parameters = None, ()
    shared: _Bench | None = None
    for members, laid in _benches(probes):
        bench = _Bench(circuit, found, [probes[member] for member in members], laid, faults, index, amount)
        bench.settle()
        value[:, members], floating[:, members], moved = bench.read(with_sensitivity)
        if with_sensitivity:
            if sensitivity is None:
                parameters = bench.parameter_names
                sensitivity = np.empty((len(index), len(probes), len(parameters)))
            sensitivity[:, members] = moved
        shared = shared if shared is not None and laid else bench
    unladen = tuple(tuple(fault.of(None) for fault in each) for each in faults)
    return FaultReadings(unladen, index, amount, value, floating, shared.state, tuple(shared.states), shared.chatters,
                         parameters, sensitivity)


def _cells(circuit: Circuit, faults: Sequence[tuple[Fault, ...]], cells: int) -> tuple[NDArray[np.int64], Array]:
    """Return for every cell which fault it is, and the amounts of its one or two faults; (n,) and (n, 2)."""
    nothing = (float("nan"),)
    index, amount = [], []
    for number, each in enumerate(faults):
        sizes = []
        for fault in each:
            element = circuit.element(fault.element)
            given = nothing if not fault.has_amount else (fault.amount,) if fault.amount is not None else None
            sizes.append(given or amounts(element, fault.kind, cells))
        sizes += [nothing] * (2 - len(each))
        combined = list(product(*sizes))
        index += [number] * len(combined)
        amount += combined
    return np.array(index, dtype=np.int64), np.array(amount, dtype=float).reshape(-1, 2)


def _benches(probes: Sequence[Probe]) -> Iterator[tuple[list[int], Probe | None]]:
    """Yield which probes share a network, and the probe that is laid into it as an element."""
    light = [number for number, probe in enumerate(probes) if not _is_heavy(probe)]
    yield light, None
    for number, probe in enumerate(probes):
        if _is_heavy(probe):
            yield [number], probe


def _is_heavy(probe: Probe) -> bool:
    return isinstance(probe, Lamp) or isinstance(probe, Voltage) and probe.meter_ohm < _LIGHT_METER_OHM


@dataclass
class _Factored:
    """One switching state: everything about it that cells need, as products with the inverse.

    Rows are functionals (see `_Bench`), columns ports or curves.
    """

    row_x: Array          # c·x: (n_rows,)
    row_u: Array          # cᵀWu: (n_rows, n_ports)
    row_e: Array          # cᵀWe of the curves' rows: (n_rows, n_curves)
    port_x: Array         # u·x: (n_ports,)
    port_u: Array         # uᵀWu′: (n_ports, n_ports)
    probe_c: Array        # cᵀWc of the probes: (n_probes,)
    probe_p: Array        # cᵀWe of the parameters' rows: (n_probes, n_parameters)
    closed: tuple[bool, ...]


@dataclass
class _Laid:
    """Cells of one state with their faults laid in, at the rows that were asked for."""

    x: Array              # (n, n_rows)
    e: Array              # (n, n_rows, n_curves)
    steps: list[tuple[Array, NDArray[np.int64], Array]]  # φ (n,), port (n,), cᵀWu at this step (n, n_all_rows)


class _Bench:
    """One network with its probes, faults and cells.

    Rows of functionals: the probes, the leads of the ohmmeters, the paths across clamped elements, the curves, the
    coils, the fuses, the parameters.
    """

    def __init__(self, circuit: Circuit, setup: Setup, probes: list[Probe], laid: Probe | None,
                 faults: Sequence[tuple[Fault, ...]], index: NDArray[np.int64], amount: Array) -> None:
        self.network = network = build(circuit, setup)
        if laid is not None:
            laid.lay(network)
        self.probes = probes
        self.n_cells = len(index)
        self.first_row = network.n_nodes - 1
        self._find_curves()
        self._find_ports(faults, index, amount)
        self._find_rows()
        self.states: list[SwitchState] = []
        self._state_number: dict[SwitchState, int] = {}
        self._factored: dict[int, _Factored] = {}
        self.state = np.zeros(self.n_cells, dtype=np.int64)
        self.chatters = np.zeros(self.n_cells, dtype=bool)

    def _find_curves(self) -> None:
        self.curved = [index for index, branch in enumerate(self.network.branches)
                       if branch.curve is not None and branch.is_wired]
        self.curves = [self.network.branches[index].curve for index in self.curved]
        self.has_diodes = any(isinstance(curve, Junction) for curve in self.curves)
        self.slope = np.array([curve.rated_a / curve.rated_v if isinstance(curve, Filament) else _JUNCTION_SLOPE_S
                               for curve in self.curves])

    def _find_ports(self, faults: Sequence[tuple[Fault, ...]], index: NDArray[np.int64], amount: Array) -> None:
        """Number the different faults, and note for each cell its two ports with their strengths."""
        numbers: dict[Fault, int] = {}
        for each in faults:
            for fault in each:
                numbers.setdefault(fault.of(None), len(numbers))
        self.ports = [port_of(self.network, fault) for fault in numbers]
        # The last port is none at all: a healthy cell, or the missing second fault.
        self.ports.append(Port(np.zeros(self.first_row + len(self.network.branches))))
        none = len(self.ports) - 1
        of_fault = np.array([[numbers[fault.of(None)] for fault in each] + [none] * (2 - len(each))
                             for each in faults], dtype=np.int64)
        self.port = of_fault[index]
        self.strength, self.driven = np.zeros((2, self.n_cells)), np.zeros((2, self.n_cells))
        for side in (0, 1):
            for number, port in enumerate(self.ports):
                here = self.port[:, side] == number
                if here.any() and port.vector.any():
                    self.strength[side, here], self.driven[side, here] = port.strength(amount[here, side])

    def _find_rows(self) -> None:
        network, size = self.network, self.first_row + len(self.network.branches)
        rows: list[Array] = []

        def add(vectors: list[Array]) -> slice:
            rows.extend(vectors)
            return slice(len(rows) - len(vectors), len(rows))

        def branch_row(index: int, sign: float = 1.0) -> Array:
            vector = np.zeros(size)
            vector[self.first_row + index] = sign
            return vector

        self.probe_rows = add([self._functional(probe) for probe in self.probes])
        ohmmeters = [(number, point) for number, probe in enumerate(self.probes) if isinstance(probe, Resistance)
                     for point in (probe.red, probe.black)]
        self.lead_of = [number for number, _ in ohmmeters]
        self.lead_rows = add([self._between(network.node[point], 0) for _, point in ohmmeters])
        self.across = [(number, port_number) for number, probe in enumerate(self.probes) if isinstance(probe, Current)
                       for port_number, port in enumerate(self.ports) if port.across == probe.through]
        self.across_rows = add([self.ports[port_number].vector for _, port_number in self.across])
        self.curve_rows = add([branch_row(index) for index in self.curved])
        self.coil_rows = add([branch_row(coil.branch) for coil in network.coils])
        self.fused = [index for index, branch in enumerate(network.branches) if branch.blows_above_a < float("inf")]
        self.fuse_rows = add([branch_row(index) for index in self.fused])
        self._find_parameters()
        self.parameter_rows = add([branch_row(index) for index, _, _ in self.parameters])
        self.functionals = np.array(rows).reshape(-1, size)
        self.pull_in_a = np.array([coil.pull_in_a for coil in network.coils])
        self.blows_above_a = np.array([network.branches[index].blows_above_a for index in self.fused])

    def _find_parameters(self) -> None:
        """List what is not known: (branch, how it acts, standard uncertainty); how: "v", "r", "lamp", "diode"."""
        self.parameters: list[tuple[int, str, float]] = []
        names = []
        for index, branch in enumerate(self.network.branches):
            element = self.network.circuit.by_id.get(branch.element)
            if element is None or not branch.is_wired and element.kind != "switch":
                continue
            if element.voltage_tolerance_v:
                self.parameters.append((index, "v", rectangular(element.voltage_tolerance_v)))
                names.append((element.id, "voltage"))
            how = "diode" if isinstance(branch.curve, Junction) else "lamp" if branch.curve is not None else "r"
            tolerance = FORWARD_TOLERANCE if how == "diode" else element.tolerance
            if tolerance:
                self.parameters.append((index, how, rectangular(tolerance)))
                names.append((element.id, branch.part or "itself"))
        self.parameter_names = tuple(names)

    def _between(self, red: int, black: int) -> Array:
        vector = np.zeros(self.first_row + len(self.network.branches))
        if red:
            vector[red - 1] += 1
        if black:
            vector[black - 1] -= 1
        return vector

    def _functional(self, probe: Probe) -> Array:
        node = self.network.node
        if isinstance(probe, Current):
            element = self.network.circuit.element(probe.through)
            vector = self._between(0, 0)
            for index, branch in enumerate(self.network.branches):
                if branch.element == element.id and branch.part in OWN_PARTS:
                    vector[self.first_row + index] = -1.0 if element.kind in SOURCE_KINDS else 1.0
            return vector
        probe.lay(build(self.network.circuit, self.network.setup))  # refuses points that are not there
        if isinstance(probe, Lamp):
            return self._between(node[probe.probe], node[probe.clip])
        return self._between(node[probe.red], node[probe.black])

    # --- switching ---

    def settle(self) -> None:
        """Bring every cell to the state in which its relays and fuses stay: one move at a time, from rest."""
        held = self.network.held_in
        stuck = {number: port for number, port in enumerate(self.ports) if port.kind == "relay"}
        rest = self._number((held, frozenset()))
        self.state[:] = rest
        # A relay that is stuck does not follow its coil.
        self.deaf = np.zeros((self.n_cells, len(self.network.coils)), dtype=bool)
        for side in (0, 1):
            for number, port in stuck.items():
                here = self.port[:, side] == number
                for coil, name in enumerate(coil.relay for coil in self.network.coils):
                    if name == port.relay:
                        self.deaf[here, coil] = True
                for state in set(self.state[here].tolist()):
                    pulled_in, blown = self.states[state]
                    moved = self._number((pulled_in - {port.relay} | ({port.relay} if port.held_in else set()), blown))
                    self.state[here & (self.state == state)] = moved
        if not self.network.coils and not self.fused:
            return
        seen: list[list[int]] = [[int(state)] for state in self.state]
        waiting = np.arange(self.n_cells)
        while len(waiting):
            moved = []
            standing = self.state[waiting]
            for state in sorted(set(standing.tolist())):
                moved += self._move(state, waiting[standing == state], seen)
            waiting = np.array(sorted(moved), dtype=np.int64)

    def _move(self, state: int, cells: NDArray[np.int64], seen: list[list[int]]) -> list[int]:
        """Let the first relay of each cell that wants to move do so, else the most overloaded fuse; who moved."""
        currents = self._currents(state, cells, slice(self.coil_rows.start, self.fuse_rows.stop))
        n_coils = len(self.network.coils)
        pulled_in, blown = self.states[state]
        is_in = np.array([coil.relay in pulled_in for coil in self.network.coils], dtype=bool)
        wants = (np.abs(currents[:, :n_coils]) >= self.pull_in_a) != is_in
        wants &= ~self.deaf[cells]
        load = np.abs(currents[:, n_coils:]) / self.blows_above_a
        for number, index in enumerate(self.fused):
            if self.network.branches[index].element in blown:
                load[:, number] = 0.0
        moved = []
        for coil in range(n_coils):
            here = cells[wants[:, coil] & ~wants[:, :coil].any(axis=1)]
            target = self._number((pulled_in ^ {self.network.coils[coil].relay}, blown)) if len(here) else 0
            for cell in here.tolist():
                if target in seen[cell]:
                    self._rest(cell, seen[cell][seen[cell].index(target):])
                    continue
                seen[cell].append(target)
                self.state[cell] = target
                moved.append(cell)
        if load.shape[1]:
            melting = ~wants.any(axis=1) & (load.max(axis=1) > 1)
            # Of several that are loaded alike the first one opens, as in `solver`.
            worst = (load >= load.max(axis=1, keepdims=True) / ALIKE).argmax(axis=1)
            for number in sorted(set(worst[melting].tolist())):
                here = cells[melting & (worst == number)]
                target = self._number((pulled_in, blown | {self.network.branches[self.fused[number]].element}))
                self.state[here] = target
                for cell in here.tolist():
                    seen[cell] = [target]
                moved += here.tolist()
        return moved

    def _rest(self, cell: int, cycle: list[int]) -> None:
        """Put the relays that chatter in a cell at rest."""
        pulled = [self.states[state][0] for state in cycle]
        restless = frozenset().union(*pulled) - frozenset.intersection(*pulled)
        self.state[cell] = self._number((pulled[0] - restless, self.states[cycle[0]][1]))
        self.chatters[cell] = True

    def _number(self, state: SwitchState) -> int:
        if state not in self._state_number:
            self._state_number[state] = len(self.states)
            self.states.append(state)
        return self._state_number[state]

    # --- the arithmetic ---

    def _factor(self, state: int) -> _Factored:
        """Return the products of one switching state, inverted once."""
        if state in self._factored:
            return self._factored[state]
        pulled_in, blown = self.states[state]
        closed = tuple(branch.is_closed(pulled_in, blown) for branch in self.network.branches)
        matrix, right = tableau(self.network, closed, dict(zip(self.curved, self.slope.tolist(), strict=True)))
        # A closed branch with a curve has its source added cell by cell.
        inverse = np.linalg.inv(matrix)
        unknowns = inverse @ right
        ports = np.array([port.vector for port in self.ports])
        curve_rows = [self.first_row + index for index in self.curved]
        answers = self.functionals @ inverse
        probes = answers[self.probe_rows]
        self._factored[state] = _Factored(
            self.functionals @ unknowns, answers @ ports.T, answers[:, curve_rows], ports @ unknowns,
            ports @ inverse @ ports.T, np.einsum("pn,pn->p", probes, self.functionals[self.probe_rows]),
            probes[:, [self.first_row + index for index, _, _ in self.parameters]], closed)
        return self._factored[state]

    def _lay_in(self, state: int, cells: NDArray[np.int64], rows: NDArray[np.int64]) -> _Laid:
        """Return c·x and cᵀWe at some rows with the cells' faults laid in, one after the other."""
        known = self._factor(state)
        curves = np.arange(self.curve_rows.start, self.curve_rows.stop)
        first, second = self.port[cells, 0], self.port[cells, 1]
        x = np.broadcast_to(known.row_x[rows], (len(cells), len(rows)))
        e = np.broadcast_to(known.row_e[rows], (len(cells), len(rows), len(curves)))
        steps = []
        # The first fault's own products are the healthy circuit's; the second one's are those with the first laid in.
        own_x, own_w = known.port_x[first], known.port_u[first, first]
        row_u, curve_u = known.row_u[:, first].T, known.row_u[curves][:, first].T
        for side, port in ((0, first), (1, second)):
            if side:
                if not self.strength[1, cells].any() and not self.driven[1, cells].any():
                    break
                between = known.port_u[first, second]
                own_x = known.port_x[second] + given * between
                own_w = known.port_u[second, second] - phi * between * between
                row_u = known.row_u[:, second].T - (phi * between)[:, None] * row_u
                curve_u = row_u[:, self.curve_rows]
            strength, driven = self.strength[side, cells], self.driven[side, cells]
            phi = _phi(strength, own_w)
            given = driven - phi * own_x
            x = x + given[:, None] * row_u[:, rows]
            if len(curves):
                e = e - (phi[:, None] * row_u[:, rows])[:, :, None] * curve_u[:, None, :]
            steps.append((phi, port, row_u))
        return _Laid(x, e, steps)

    def _sources(self, x: Array, e: Array) -> tuple[Array, Array]:
        """Return the voltages over the curves and the sources that stand for them, given their rows' c·x and cᵀWe.

        I(v) = i + Y E(v) with E = v − I(v)/g, by Newton's method for all cells at once; shapes (n, n_curves).
        """
        volts = np.zeros_like(x)
        active = np.arange(len(x))
        for _ in range(_MOST_NEWTON_STEPS):
            v = volts[active]
            current, slope = self._curve_values(v)
            source = v - current / self.slope
            miss = current - x[active] - np.einsum("nij,nj->ni", e[active], source)
            jacobian = -e[active] * (1 - slope / self.slope)[:, None, :]
            diagonal = np.arange(v.shape[1])
            jacobian[:, diagonal, diagonal] += slope
            wanted = v - np.linalg.solve(jacobian, miss[:, :, None])[:, :, 0]
            # A diode that blocks leaves the voltage to rounding: nothing is gained beyond that of the currents.
            rounding = _ROUNDING * (np.abs(x[active]) + np.einsum("nij,nj->ni", np.abs(e[active]), np.abs(source)))
            settled = (np.abs(wanted - v) <= _SETTLED * (1 + np.abs(v))) | (np.abs(miss) <= rounding)
            done = settled.all(axis=1)
            volts[active] = np.where(done[:, None], wanted, self._limited(v, wanted))
            active = active[~done]
            if not len(active):
                current, _ = self._curve_values(volts)
                return volts, volts - current / self.slope
        raise CircuitError(f"Circuit {self.network.circuit.id}: with some faults no steady state was found; check the "
                           "voltages and powers of its lamps and diodes.")

    def _curve_values(self, v: Array) -> tuple[Array, Array]:
        current, slope = np.empty_like(v), np.empty_like(v)
        for number, curve in enumerate(self.curves):
            current[:, number], slope[:, number] = curve.current(v[:, number]), curve.slope(v[:, number])
        return current, slope

    def _limited(self, old: Array, new: Array) -> Array:
        return np.stack([curve.limited(old[:, number], new[:, number]) for number, curve in enumerate(self.curves)],
                        axis=1)

    def _currents(self, state: int, cells: NDArray[np.int64], wanted: slice) -> Array:
        """Return the readings of some rows, curves included; shape (n, n_wanted)."""
        n_wanted, n_curves = wanted.stop - wanted.start, len(self.curves)
        rows = np.r_[wanted, self.curve_rows]
        found = np.empty((len(cells), n_wanted))
        for part in _parts(len(cells), len(rows) * (1 + n_curves)):
            laid = self._lay_in(state, cells[part], rows)
            found[part] = laid.x[:, :n_wanted]
            if n_curves:
                _, source = self._sources(laid.x[:, n_wanted:], laid.e[:, n_wanted:])
                found[part] += np.einsum("nij,nj->ni", laid.e[:, :n_wanted], source)
        return found

    # --- what the probes show ---

    def read(self, with_sensitivity: bool) -> tuple[Array, NDArray[np.bool_], Array | None]:
        """Return value and floating, (n_cells, n_probes), and the sensitivities, (n_cells, n_probes, n_parameters)."""
        n_probes = len(self.probes)
        value = np.empty((self.n_cells, n_probes))
        floating = np.zeros((self.n_cells, n_probes), dtype=bool)
        n_parameters = len(self.parameters) if with_sensitivity else 0
        moved = np.empty((self.n_cells, n_probes, n_parameters)) if with_sensitivity else None
        per_cell = (n_probes + len(self.curves)) * (1 + len(self.curves) + n_parameters)
        for state in sorted(set(self.state.tolist())) if n_probes else ():
            cells = np.flatnonzero(self.state == state)
            for part in _parts(len(cells), per_cell):
                self._read_cells(state, cells[part], value, floating, moved)
        return value, floating, moved

    def _read_cells(self, state: int, cells: NDArray[np.int64], value: Array, floating: NDArray[np.bool_],
                    moved: Array | None) -> None:
        known = self._factor(state)
        n_probes, n_curves = len(self.probes), len(self.curves)
        last = self.fuse_rows.start if moved is None else self.parameter_rows.stop
        rows = np.arange(last)
        laid = self._lay_in(state, cells, rows)
        probe = np.arange(n_probes)
        own_c = np.broadcast_to(known.probe_c, (len(cells), n_probes)).copy()
        own_p = np.broadcast_to(known.probe_p, (len(cells), *known.probe_p.shape)).copy() if moved is not None else None
        for phi, _, row_u in laid.steps:
            own_c -= phi[:, None] * row_u[:, probe] ** 2
            if own_p is not None:
                own_p -= (phi[:, None] * row_u[:, probe])[:, :, None] * row_u[:, None, self.parameter_rows]
        x, e = laid.x.copy(), laid.e.copy()
        self._add_across(cells, x, e, own_p, laid)
        bare = (x, e, own_c, own_p)
        volts = None
        if n_curves:
            volts, source = self._sources(x[:, self.curve_rows], e[:, self.curve_rows])
            x = x + np.einsum("nij,nj->ni", e, source)
            own_c, own_p = self._linearise(volts, e, own_c, own_p)
        groups = self._groups(state, cells, x[:, self.curve_rows])
        reading = x[:, self.probe_rows].copy()
        for number, one in enumerate(self.probes):
            if isinstance(one, Voltage):
                red, black = (self.network.node[point] for point in (one.red, one.black))
                afloat = (groups[:, red] != 0) | (groups[:, black] != 0)
                if not _is_heavy(one):
                    load = own_c[:, number] / one.meter_ohm
                    reading[:, number] /= 1 + load
                    if own_p is not None:
                        own_p[:, number] /= (1 + load)[:, None]
                    if self.has_diodes and (heavy := np.flatnonzero(load > _HEAVY_LOAD)).size:
                        reading[heavy, number], current, answer = self._through_meter(
                            number, *(None if each is None else each[heavy] for each in bare))
                        if own_p is not None:
                            own_p[heavy, number] = answer
                        held = self._groups(state, cells[heavy], current)
                        afloat[heavy] = (held[:, red] != 0) | (held[:, black] != 0)
                floating[cells, number] = afloat
            elif isinstance(one, Resistance):
                reading[:, number] = self._ohmmeter(number, x, own_c[:, number], groups)
        value[cells] = reading
        if moved is not None:
            moved[cells] = self._moved(state, own_p, x[:, self.parameter_rows], volts)

    def _through_meter(self, number: int, x: Array, e: Array, own_c: Array,
                       own_p: Array | None) -> tuple[Array, Array, Array | None]:
        """Return what a meter shows whose little current bends a diode's curve, the curves' currents, and cᵀWe.

        The meter is one more change of rank one; lamps and diodes are solved again with it. The last has the
        parameters' rows, where sensitivities are wanted; shapes (n,), (n, n_curves), (n, n_parameters).
        """
        own, probe_e = own_c[:, number], e[:, number]
        phi = 1 / (self.probes[number].meter_ohm + own)
        left = 1 - phi * own
        current = x[:, self.curve_rows] - (phi * x[:, number])[:, None] * probe_e
        answer = e[:, self.curve_rows] - (phi[:, None] * probe_e)[:, :, None] * probe_e[:, None, :]
        volts, source = self._sources(current, answer)
        reading = left * (x[:, number] + np.einsum("nj,nj->n", probe_e, source))
        current = current + np.einsum("nij,nj->ni", answer, source)
        if own_p is None:
            return reading, current, None
        mine = own_p[:, number]
        laid = e[:, self.parameter_rows] - (phi[:, None] * mine)[:, :, None] * probe_e[:, None, :]
        solved = self._bent(volts, answer, (left[:, None] * probe_e)[:, None, :])
        return reading, current, left[:, None] * mine - np.einsum("nkp,nqk->nq", solved, laid)

    def _add_across(self, cells: NDArray[np.int64], x: Array, e: Array, own_p: Array | None, laid: _Laid) -> None:
        """Add to a clamped element's current what its own fault lets pass across it."""
        for row, (number, port) in enumerate(self.across, self.across_rows.start):
            for side in (0, 1):
                here = np.flatnonzero(self.port[cells, side] == port)
                if not len(here):
                    continue
                strength = self.strength[side, cells[here]]
                x[here, number] += strength * x[here, row]
                e[here, number] += strength[:, None] * e[here, row]
                if own_p is not None:
                    # uᵀWe of the parameters, with every fault laid in.
                    answer = self._factor_port_parameters(cells[here], port, laid, here)
                    own_p[here, number] += strength[:, None] * answer

    def _factor_port_parameters(self, cells: NDArray[np.int64], port: int, laid: _Laid,
                                here: NDArray[np.int64]) -> Array:
        known = self._factor(int(self.state[cells[0]]))
        row = self.across_rows.start + next(n for n, (_, number) in enumerate(self.across) if number == port)
        answer = np.broadcast_to(known.row_u[self.parameter_rows, port], (len(here), len(self.parameters))).copy()
        for phi, _, row_u in laid.steps:
            answer -= (phi[here] * row_u[here, row])[:, None] * row_u[here][:, self.parameter_rows]
        return answer

    def _linearise(self, volts: Array, e: Array, own_c: Array, own_p: Array | None) -> tuple[Array, Array | None]:
        """Return cᵀWc and cᵀWe of the parameters with every curve as steep as it is where it stands."""
        probe_e = e[:, self.probe_rows]
        solved = self._bent(volts, e[:, self.curve_rows], probe_e)
        own_c = own_c - np.einsum("npk,nkp->np", probe_e, solved)
        if own_p is not None:
            own_p = own_p - np.einsum("nkp,nqk->npq", solved, e[:, self.parameter_rows])
        return own_c, own_p

    def _bent(self, volts: Array, between: Array, probe_e: Array) -> Array:
        """Return (1 + D Y)⁻¹ D times the probes' rows, by which slopes other than those laid in change an answer.

        M′ = M + D on the curves' rows: their −1/g becomes −1/g′. Shape (n, n_curves, n_probes).
        """
        _, slope = self._curve_values(volts)
        more = 1 / self.slope - 1 / slope
        matrix = more[:, :, None] * between
        diagonal = np.arange(len(self.curves))
        matrix[:, diagonal, diagonal] += 1
        return np.linalg.solve(matrix, more[:, :, None] * probe_e.transpose(0, 2, 1))

    def _ohmmeter(self, number: int, x: Array, between_ohm: Array, groups: NDArray[np.int64]) -> Array:
        probe = self.probes[number]
        leads = [self.lead_rows.start + lead for lead, of in enumerate(self.lead_of) if of == number]
        red, black = (self.network.node[point] for point in (probe.red, probe.black))
        live = np.abs(x[:, number]) > DEAD_BELOW_V
        for lead, node in zip(leads, (red, black), strict=True):
            live |= (np.abs(x[:, lead]) >= LIVE_FROM_V) & (groups[:, node] == 0)
        reading = np.where(groups[:, red] == groups[:, black], between_ohm, np.inf)
        return np.where(live, np.nan, reading)

    def _moved(self, state: int, own_p: Array, current: Array, volts: Array | None) -> Array:
        """Return what one standard uncertainty of each parameter moves each reading by."""
        closed = self._factor(state).closed
        drop = np.zeros_like(current)
        for number, (index, how, standard) in enumerate(self.parameters):
            if not closed[index]:
                continue
            if how == "v":
                drop[:, number] = standard
            elif how == "r":
                drop[:, number] = standard * self.network.branches[index].resistance_ohm * current[:, number]
            else:
                curve = self.curved.index(index)
                over = volts[:, curve]
                if how == "lamp":
                    drop[:, number] = -standard * current[:, number] / self.curves[curve].slope(over)
                else:
                    drop[:, number] = standard * over
        moved = own_p * drop[:, None, :]
        for number, probe in enumerate(self.probes):
            if isinstance(probe, Resistance):
                for parameter, (index, how, standard) in enumerate(self.parameters):
                    if not closed[index]:
                        continue
                    own_ohm = self.network.branches[index].resistance_ohm if how == "r" else 0.0
                    if how in ("lamp", "diode"):
                        curve = self.curved.index(index)
                        own_ohm = 1 / self.curves[curve].slope(volts[:, curve])
                    moved[:, number, parameter] = own_p[:, number, parameter] ** 2 * standard * own_ohm
        return moved

    def _groups(self, state: int, cells: NDArray[np.int64], currents: Array) -> NDArray[np.int64]:
        """Return for each cell the group that each node belongs to, as `connections.groups`; (n, n_nodes)."""
        diodes = [number for number, curve in enumerate(self.curves) if isinstance(curve, Junction)]
        conducts = np.abs(currents[:, diodes]) > CONDUCTING_A
        keys = np.concatenate([self.port[cells], conducts.astype(np.int64)], axis=1)
        different, which = np.unique(keys, axis=0, return_inverse=True)
        found = np.array([self._groups_of(state, key[:2], dict(zip(
            (self.curved[number] for number in diodes), key[2:], strict=True))) for key in different])
        return found[which.reshape(-1)]

    def _groups_of(self, state: int, ports: NDArray[np.int64], conducts: dict[int, int]) -> list[int]:
        closed = self._factor(state).closed
        faults = [self.ports[number] for number in ports]
        removed = {port.removes for port in faults}
        edges = [(branch.start, branch.end) for index, branch in enumerate(self.network.branches)
                 if closed[index] and index not in removed and branch.element != METER and conducts.get(index, 1)]
        edges += [port.joins for port in faults if port.joins is not None]
        return connections.groups(self.network.n_nodes, edges)


def _phi(strength: Array, own_w: Array) -> Array:
    """Return s / (1 + s w), also for an infinite s."""
    infinite = np.isinf(strength)
    finite = np.where(infinite, 0.0, strength)
    return np.where(infinite, 1 / np.where(infinite, own_w, 1.0), finite / (1 + finite * own_w))


def _parts(count: int, per_cell: int) -> Iterator[slice]:
    """Yield slices of the cells that are worked on at once."""
    step = max(1, _MOST_AT_ONCE // max(per_cell, 1))
    for start in range(0, count, step):
        yield slice(start, min(start + step, count))
