"""What the probes show in many cells, and how each unknown parameter moves that."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import copy
from typing import TYPE_CHECKING

from workshop_log.electrics import connections
from workshop_log.electrics.circuit import SOURCE_KINDS, Circuit, Setup
from workshop_log.electrics.curves import Junction
from workshop_log.electrics.laid_in import Board, CellPorts, Curves
from workshop_log.electrics.moving import Moving
from workshop_log.electrics.network import METER, OWN_PARTS, build
from workshop_log.electrics.numeric import np
from workshop_log.electrics.probes import DEAD_BELOW_V, FORWARD_TOLERANCE, Current, Lamp, Probe, Resistance, Voltage
from workshop_log.electrics.solver import CONDUCTING_A, LIVE_FROM_V
from workshop_log.measuring.uncertainty import rectangular

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.electrics.faults import Fault
    from workshop_log.electrics.laid_in import Array, Indices, SwitchState

# A meter of less is laid into the circuit as an element of its own; a better one hardly moves anything. [Ω]
_LIGHT_METER_OHM = 1e6
# From this part of a meter's resistance on, what it is laid to may bend under its current.
_HEAVY_LOAD = 1e-4
# Numbers that are worked on at once.
_MOST_AT_ONCE = 4_000_000


def is_heavy(probe: Probe) -> bool:
    """Whether a probe loads the circuit so much that it needs a network of its own."""
    return isinstance(probe, Lamp) or (isinstance(probe, Voltage) and probe.meter_ohm < _LIGHT_METER_OHM)


class Bench:
    """A circuit in a setup with its probes and all cells.

    Rows of functionals: the probes, the leads of the ohmmeters, the paths across clamped elements, the curves, the
    coils, the fuses; the parameters come last.
    """

    def __init__(self, circuit: Circuit, setup: Setup, probes: Sequence[Probe], faults: Sequence[tuple[Fault, ...]],
                 index: Indices, amount: Array) -> None:
        self.network = network = build(circuit, setup)
        # Also refuses points and elements that are not there.
        self._scratch = build(circuit, setup)
        for probe in probes:
            probe.lay(network if is_heavy(probe) else self._scratch)
        self.probes, self.n_cells = list(probes), len(index)
        self.curves = Curves(network)
        self.ports = CellPorts(network, faults, index, amount)
        self.moving = Moving(network, self.ports)
        self._find_parameters()
        self._find_rows()
        self.volts = np.zeros((self.n_cells, len(self.curves)))
        # What lamps and diodes are like in some cells of a state; the same for all probes.
        self.lit: dict[tuple, tuple[Array, Array, Array, Array | None]] = {}
        # Which nodes hang together, by what conducts; the same for all probes.
        self.known_groups: dict[tuple, list[int]] = {}
        # For each port the first one that removes and joins the same.
        first: dict[tuple, int] = {}
        self.alike = np.array([first.setdefault((port.removes, port.joins), number)
                               for number, port in enumerate(self.ports.each)])

    def _find_parameters(self) -> None:
        """List what is not known: (branch, how it acts, standard uncertainty), and what each is called."""
        self.parameters: list[tuple[int, str, float]] = []
        names = []
        for index, branch in enumerate(self.network.branches):
            element = self.network.circuit.by_id.get(branch.element)
            if element is None:
                continue
            if element.voltage_tolerance_v:
                self.parameters.append((index, "voltage", rectangular(element.voltage_tolerance_v)))
                names.append((element.id, "voltage"))
            how = ("resistance" if branch.curve is None else "diode" if isinstance(branch.curve, Junction) else "lamp")
            tolerance = FORWARD_TOLERANCE if how == "diode" else element.tolerance
            if tolerance:
                self.parameters.append((index, how, rectangular(tolerance)))
                names.append((element.id, branch.part or "itself"))
        self.parameter_names = tuple(names)

    def _find_rows(self) -> None:
        network = self.network
        rows: list[Array] = []

        def add(vectors: list[Array]) -> slice:
            rows.extend(vectors)
            return slice(len(rows) - len(vectors), len(rows))

        probe_rows = add([self._functional(probe) for probe in self.probes])
        leads = [(number, point) for number, probe in enumerate(self.probes) if isinstance(probe, Resistance)
                 for point in (probe.red, probe.black)]
        self.lead_of = [number for number, _ in leads]
        self.lead_rows = add([self._between(network.node[point], 0) for _, point in leads])
        self.across = [(number, port_number) for number, probe in enumerate(self.probes) if isinstance(probe, Current)
                       for port_number, port in enumerate(self.ports.each) if port.across == probe.through]
        self.across_rows = add([self.ports.each[port_number].vector for _, port_number in self.across])
        curve_rows = add([self._branch(index) for index in self.curves.index])
        coils = add([self._branch(coil.branch) for coil in network.coils])
        fuses = add([self._branch(index) for index in self.moving.fuses])
        self.switch_rows = slice(coils.start, fuses.stop)
        parameter_rows = add([self._branch(index) for index, _, _ in self.parameters])
        self.board = Board(network, self.curves, self.ports, np.array(rows).reshape(len(rows), -1), probe_rows,
                           curve_rows, parameter_rows, [index for index, _, _ in self.parameters],
                           getattr(self, "board", None))

    def _branch(self, index: int, sign: float = 1.0) -> Array:
        vector = self._between(0, 0)
        vector[self.network.n_nodes - 1 + index] = sign
        return vector

    def _between(self, red: int, black: int) -> Array:
        vector = np.zeros(self.network.n_nodes - 1 + len(self.network.branches))
        for node, sign in ((red, 1.0), (black, -1.0)):
            if node:
                vector[node - 1] += sign
        return vector

    def _functional(self, probe: Probe) -> Array:
        if isinstance(probe, Current):
            sign = -1.0 if self.network.circuit.element(probe.through).kind in SOURCE_KINDS else 1.0
            return sum((self._branch(index, sign) for index, branch in enumerate(self.network.branches)
                        if branch.element == probe.through and branch.part in OWN_PARTS), self._between(0, 0))
        return self._between(*self.leads(probe))

    def leads(self, probe: Probe) -> tuple[int, int]:
        """Return the nodes of a probe's two leads, the one that counts as plus first."""
        ends = (probe.probe, probe.clip) if isinstance(probe, Lamp) else (probe.red, probe.black)
        return tuple(self.network.node[point] for point in ends)

    def with_probes(self, probes: Sequence[Probe]) -> Bench:
        """Return the same settled cells with other probes, none of which loads the circuit much."""
        other = copy(self)
        for probe in probes:
            probe.lay(self._scratch)
        other.probes = list(probes)
        other._find_rows()
        return other

    def only(self, cells: Indices) -> Bench:
        """Return some of the settled cells, as a bench of their own."""
        other = copy(self)
        other.n_cells, other.volts, other.lit = len(cells), self.volts[cells], {}
        other.ports, other.moving = copy(self.ports), copy(self.moving)
        other.ports.of_cell = self.ports.of_cell[cells]
        other.ports.strength, other.ports.driven = self.ports.strength[:, cells], self.ports.driven[:, cells]
        other.moving.state, other.moving.chatters = self.moving.state[cells], self.moving.chatters[cells]
        return other

    # --- solving ---

    def settle(self) -> None:
        """Bring every cell to where its relays and fuses stay."""
        if len(self.curves):
            # What lamps and diodes show in the first cell at rest is where the others begin.
            first = np.array([0])
            laid = self.board.lay_in(self._state_of(0), first, self.board.curve_rows.stop)
            self.volts[:] = self.curves.solve(laid, self.volts[first])
        self.moving.settle(self._switch_currents)

    def _state_of(self, cell: int) -> SwitchState:
        return self.moving.states[self.moving.state[cell]]

    def _switch_currents(self, state: SwitchState, cells: Indices) -> Array:
        """Return the currents of coils and fuses [A]; shape (n, n_coils + n_fuses)."""
        found = np.empty((len(cells), self.switch_rows.stop - self.switch_rows.start))
        for part in _parts(len(cells), self.switch_rows.stop + len(self.curves) ** 2):
            laid = self.board.lay_in(state, cells[part], self.switch_rows.stop)
            found[part] = laid.x[:, self.switch_rows]
            if len(self.curves):
                self.volts[cells[part]] = volts = self.curves.solve(laid, self.volts[cells[part]])
                found[part] += laid.moved_by(self.curves.sources(volts), self.switch_rows)
        return found

    def read(self, with_sensitivity: bool) -> tuple[Array, NDArray[np.bool_], Array | None, Array]:
        """Return what the probes show.

        Returns
        -------
        value, floating : NDArray
            Shape (n_cells, n_probes).
        moved : NDArray | None
            The sensitivities; shape (n_cells, n_probes, n_parameters).
        source_ohm : NDArray
            Resistance that a probe's leads look into, or for a clamp what stands for it; shape (n_cells, n_probes).
        """
        n_probes, n_parameters = len(self.probes), len(self.parameters) if with_sensitivity else 0
        value = np.empty((self.n_cells, n_probes))
        floating = np.zeros((self.n_cells, n_probes), dtype=bool)
        moved = np.empty((self.n_cells, n_probes, n_parameters)) if with_sensitivity else None
        source_ohm = np.empty((self.n_cells, n_probes))
        n_curves = len(self.curves)
        per_cell = n_curves**2 + (n_probes + n_parameters) * (1 + n_curves) + n_probes * n_parameters
        for state in np.unique(self.moving.state).tolist() if n_probes else ():
            cells = np.flatnonzero(self.moving.state == state)
            for part in _parts(len(cells), per_cell):
                here = cells[part]
                shown = _Shown(self, self.moving.states[state], here, with_sensitivity)
                value[here], floating[here], more = shown.read()
                source_ohm[here] = shown.own_c
                if moved is not None:
                    moved[here] = more
        return value, floating, moved, source_ohm


class _Shown:
    """The readings of some cells of one switching state."""

    def __init__(self, bench: Bench, state: SwitchState, cells: Indices, with_sensitivity: bool) -> None:
        self.bench, self.state, self.cells = bench, state, cells
        board = self.board = bench.board
        self.known = board.factor(state)
        n_rows = board.parameter_rows.stop if with_sensitivity else board.parameter_rows.start
        self.laid = board.lay_in(state, cells, n_rows)
        self.x = self.laid.x.copy()
        # cᵀWc of the probes, and cᵀWe of the parameters: how a reading answers to a load and to a tolerance.
        self.own_c = np.broadcast_to(self.known.probe_c, (len(cells), len(bench.probes))).copy()
        self.own_p = None
        if with_sensitivity:
            self.own_p = np.broadcast_to(self.known.probe_p, (len(cells), *self.known.probe_p.shape)).copy()
        for phi, row_u in self.laid.steps:
            probe_u = row_u[:, board.probe_rows]
            self.own_c -= phi[:, None] * probe_u**2
            if self.own_p is not None:
                self.own_p -= (phi[:, None] * probe_u)[:, :, None] * row_u[:, None, board.parameter_rows]

    def read(self) -> tuple[Array, NDArray[np.bool_], Array | None]:
        """Return value, floating, and what each parameter moves the values by."""
        bench, board = self.bench, self.board
        n_curves = len(bench.curves)
        self.probe_e = self.laid.answers(board.probe_rows).copy() if n_curves else None
        self._add_across()
        bare_x, bare_c, bare_p = self.x.copy(), self.own_c, self.own_p
        self.volts = None
        if n_curves:
            self._light_up()
        groups = self._groups(slice(None), self.x[:, board.curve_rows])
        value = self.x[:, board.probe_rows].copy()
        floating = np.zeros(value.shape, dtype=bool)
        for number, probe in enumerate(bench.probes):
            if isinstance(probe, Resistance):
                value[:, number] = self._ohmmeter(number, groups)
            if not isinstance(probe, Voltage):
                continue
            floating[:, number] = (groups[:, bench.leads(probe)] != 0).any(axis=1)
            if is_heavy(probe):
                continue
            load = self.own_c[:, number] / probe.meter_ohm
            value[:, number] /= 1 + load
            if self.own_p is not None:
                self.own_p[:, number] /= (1 + load)[:, None]
            if bench.curves.diodes and (heavy := np.flatnonzero(load > _HEAVY_LOAD)).size:
                value[heavy, number], held = self._through_meter(number, heavy, bare_x, bare_c, bare_p)
                floating[heavy, number] = (held[:, bench.leads(probe)] != 0).any(axis=1)
        return value, floating, None if self.own_p is None else self._moved()

    def _add_across(self) -> None:
        """Add to a clamped element's current what its own fault lets pass across it."""
        ports, board = self.bench.ports, self.board
        for row, (number, port) in enumerate(self.bench.across, self.bench.across_rows.start):
            for side in (0, 1):
                here = np.flatnonzero(ports.of_cell[self.cells, side] == port)
                if not len(here):
                    continue
                strength = ports.strength[side, self.cells[here]]
                self.x[here, number] += strength * self.x[here, row]
                if self.probe_e is not None:
                    self.probe_e[here, number] += strength[:, None] * self.laid.answers(slice(row, row + 1), here)[:, 0]
                if self.own_p is not None:
                    answer = self.known.row_u[port, board.parameter_rows][None]
                    for phi, row_u in self.laid.steps:
                        answer = answer - (phi[here] * row_u[here, row])[:, None] * row_u[here, board.parameter_rows]
                    self.own_p[here, number] += strength[:, None] * answer

    def _light_up(self) -> None:
        """Lay in lamps and diodes as they stand, with their currents and with their slopes."""
        board, curves = self.board, self.bench.curves
        self.volts, source, self.between, self.parameter_e = self._lit()
        self.x[:, board.probe_rows] += np.einsum("npk,nk->np", self.probe_e, source)
        others = slice(board.probe_rows.stop, self.x.shape[1])
        self.x[:, others] += self.laid.moved_by(source, others)
        solved = curves.bent(self.volts, self.between, self.probe_e)
        self.own_c = self.own_c - np.einsum("npk,nkp->np", self.probe_e, solved)
        if self.own_p is not None:
            self.own_p = self.own_p - np.einsum("nkp,nqk->npq", solved, self.parameter_e)

    def _lit(self) -> tuple[Array, Array, Array, Array | None]:
        """Return voltages and sources of the curves, and how curves and parameters answer to them; for all probes."""
        bench, board, curves = self.bench, self.board, self.bench.curves
        key = self.state, int(self.cells[0]), len(self.cells), self.own_p is not None
        if key not in bench.lit:
            volts = bench.volts[self.cells] = curves.solve(self.laid, bench.volts[self.cells])
            parameter_e = self.laid.answers(board.parameter_rows) if self.own_p is not None else None
            bench.lit[key] = volts, curves.sources(volts), self.laid.answers(board.curve_rows), parameter_e
        return bench.lit[key]

    def _through_meter(self, number: int, heavy: Indices, x: Array, own_c: Array,
                       own_p: Array | None) -> tuple[Array, Indices]:
        """Return what a meter shows whose little current bends a diode's curve, and which nodes hang together then.

        The meter is one more change of rank one; lamps and diodes are solved again with it.
        """
        curves, rows = self.bench.curves, self.board.curve_rows
        own, probe_e = own_c[heavy, number], self.probe_e[heavy, number]
        phi = 1 / (self.bench.probes[number].meter_ohm + own)
        left = 1 - phi * own
        current = x[heavy, rows] - (phi * x[heavy, number])[:, None] * probe_e
        between = self.between[heavy] - (phi[:, None] * probe_e)[:, :, None] * probe_e[:, None, :]
        volts = curves.solve_with(current, between, self.volts[heavy])
        source = curves.sources(volts)
        if own_p is not None:
            mine = own_p[heavy, number]
            laid = self.parameter_e[heavy] - (phi[:, None] * mine)[:, :, None] * probe_e[:, None, :]
            solved = curves.bent(volts, between, (left[:, None] * probe_e)[:, None, :])
            self.own_p[heavy, number] = left[:, None] * mine - np.einsum("nkp,nqk->nq", solved, laid)
            # What is not known of a diode goes with its voltage, which is another one under the meter's current.
            for parameter, (index, how, _) in enumerate(self.bench.parameters):
                if how == "diode":
                    curve = curves.index.index(index)
                    was = self.volts[heavy, curve]
                    self.own_p[heavy, number, parameter] *= volts[:, curve] / np.where(was, was, 1.0)
        groups = self._groups(heavy, current + np.einsum("nij,nj->ni", between, source))
        return left * (x[heavy, number] + np.einsum("nj,nj->n", probe_e, source)), groups

    def _ohmmeter(self, number: int, groups: Indices) -> Array:
        """Return cᵀWc, infinite where nothing connects the leads, not a number where something drives them."""
        leads = [self.bench.lead_rows.start + lead for lead, of in enumerate(self.bench.lead_of) if of == number]
        nodes = self.bench.leads(self.bench.probes[number])
        live = np.abs(self.x[:, number]) > DEAD_BELOW_V
        for lead, node in zip(leads, nodes, strict=True):
            live |= (np.abs(self.x[:, lead]) >= LIVE_FROM_V) & (groups[:, node] == 0)
        connected = groups[:, nodes[0]] == groups[:, nodes[1]]
        return np.where(live, np.nan, np.where(connected, self.own_c[:, number], np.inf))

    def _moved(self) -> Array:
        """Return what one standard uncertainty of each parameter moves each reading by."""
        bench, curves = self.bench, self.bench.curves
        current = self.x[:, self.board.parameter_rows]
        slope = curves.values(self.volts)[1] if self.volts is not None else None
        # Voltage that a parameter adds to its branch's equation, and its resistance there.
        drop, ohm = np.zeros_like(current), np.zeros_like(current)
        for number, (index, how, standard) in enumerate(bench.parameters):
            branch = bench.network.branches[index]
            if not self.known.closed[index]:
                continue
            if how == "voltage":
                drop[:, number] = standard
            elif how == "resistance":
                ohm[:, number] = standard * branch.resistance_ohm
                drop[:, number] = ohm[:, number] * current[:, number]
            else:
                curve = curves.index.index(index)
                ohm[:, number] = standard / slope[:, curve]
                drop[:, number] = (standard * self.volts[:, curve] if how == "diode"
                                   else -ohm[:, number] * current[:, number])
        moved = self.own_p * drop[:, None, :]
        for number, probe in enumerate(bench.probes):
            if isinstance(probe, Resistance):
                moved[:, number] = self.own_p[:, number] ** 2 * ohm
        return moved

    def _groups(self, cells: Indices | slice, currents: Array) -> Indices:
        """Return for each cell the group of each node, as `connections.groups`; shape (n, n_nodes)."""
        diodes = self.bench.curves.diodes
        conducts = np.abs(currents[:, diodes]) > CONDUCTING_A
        # Faults that connect and cut alike, most of them nothing at all, are one case.
        ports = self.bench.alike[self.bench.ports.of_cell[self.cells[cells]]]
        different, which = np.unique(np.concatenate([ports, conducts], axis=1), axis=0, return_inverse=True)
        found = np.array([self._groups_of(tuple(key[:2]), tuple(key[2:])) for key in different.tolist()])
        return found[which.reshape(-1)]

    def _groups_of(self, ports: tuple[int, ...], conducts: tuple[int, ...]) -> list[int]:
        known = self.bench.known_groups
        key = self.known.closed, ports, conducts
        if key not in known:
            known[key] = self._found_groups(ports, conducts)
        return known[key]

    def _found_groups(self, ports: tuple[int, ...], conducts: tuple[int, ...]) -> list[int]:
        network, curves = self.bench.network, self.bench.curves
        faults = [self.bench.ports.each[number] for number in ports]
        away = {port.removes for port in faults} | {
            curves.index[number] for number, conducting in zip(curves.diodes, conducts, strict=True) if not conducting}
        edges = [(branch.start, branch.end) for index, branch in enumerate(network.branches)
                 if self.known.closed[index] and index not in away and branch.element != METER]
        edges += [port.joins for port in faults if port.joins is not None]
        return connections.groups(network.n_nodes, edges)


def _parts(count: int, per_cell: int) -> Iterator[slice]:
    """Yield slices of the cells that are worked on at once."""
    step = max(1, _MOST_AT_ONCE // max(per_cell, 1))
    for start in range(0, count, step):
        yield slice(start, min(start + step, count))
