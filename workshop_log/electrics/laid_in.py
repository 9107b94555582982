"""The arithmetic of many faults: every product with the inverse that cells need, one inversion for a switching state.

A cell is one fault, or a pair, of one size. Rows are functionals c of the unknowns: readings, currents of coils and
fuses, paths across elements, parameters. With W = M⁻¹ of the healthy circuit, a fault of strength s on the port u
moves c·x and cᵀWc′ by

    c·x  → c·x − φ (u·x)(cᵀWu),    cᵀWc′ → cᵀWc′ − φ (cᵀWu)(uᵀWc′),    φ = s / (1 + s uᵀWu)      (Sherman–Morrison)

and a second fault does the same to what the first one left. Lamps and diodes lie in the matrix with a slope g of
their own and in the right side with a source E(v) = v − I(v)/g, which Newton's method finds for all cells at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.electrics.circuit import CircuitError
from workshop_log.electrics.curves import Filament, Junction
from workshop_log.electrics.network import Network
from workshop_log.electrics.numeric import np
from workshop_log.electrics.ports import Port, port_of
from workshop_log.electrics.solver import tableau

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.electrics.faults import Fault

    Array = NDArray[np.float64]
    Indices = NDArray[np.int64]

# A diode's slope in the matrix. Any would do; a moderate one keeps the numbers moderate. [S]
_JUNCTION_SLOPE_S = 0.1
_SETTLED = 1e-10
# A diode that blocks leaves its voltage to rounding: nothing is gained beyond that of a cell's largest current.
_ROUNDING = 2e-15
_MOST_NEWTON_STEPS = 200

SwitchState = tuple[frozenset[str], frozenset[str]]


@dataclass(frozen=True)
class Factored:
    """One switching state: all products that cells begin with.

    Attributes
    ----------
    closed : tuple[bool, ...]
        Which branches conduct.
    row_x : NDArray
        c·x; shape (n_rows,).
    row_u : NDArray
        cᵀWu of the ports; shape (n_ports, n_rows).
    row_e : NDArray
        cᵀWe of the curves' branches; shape (n_rows, n_curves).
    port_x, own_w : NDArray
        u·x and uᵀWu of the ports; shape (n_ports,).
    port_w : NDArray
        uᵀW; shape (n_ports, n).
    probe_c : NDArray
        cᵀWc of the probes; shape (n_probes,).
    probe_p : NDArray
        cᵀWe of the probes and the parameters' branches; shape (n_probes, n_parameters).
    """

    closed: tuple[bool, ...]
    row_x: Array
    row_u: Array
    row_e: Array
    port_x: Array
    own_w: Array
    port_w: Array
    probe_c: Array
    probe_p: Array


@dataclass(frozen=True)
class LaidIn:
    """Cells of one switching state with their faults laid in, lamps and diodes not yet.

    Attributes
    ----------
    known : Factored
        Their state.
    x : NDArray
        c·x; shape (n, n_rows).
    steps : tuple[tuple[NDArray, NDArray], ...]
        φ, shape (n,), and cᵀWu, shape (n, n_rows), of the first and the second fault.
    curve_rows : slice
        The rows of the curves' branches.
    """

    known: Factored
    x: Array
    steps: tuple[tuple[Array, Array], ...]
    curve_rows: slice

    def answers(self, rows: slice, cells: Indices | slice = slice(None)) -> Array:
        """Return cᵀWe of some rows with the curves' branches; shape (n, n_rows, n_curves)."""
        answers = self.known.row_e[rows][None]
        for phi, row_u in self.steps:
            answers = answers - (phi[cells, None] * row_u[cells, rows])[:, :, None] * row_u[cells, None,
                                                                                           self.curve_rows]
        return np.broadcast_to(answers, (len(self.x[cells]), *answers.shape[1:]))

    def moved_by(self, source: Array, rows: slice, cells: Indices | slice = slice(None)) -> Array:
        """Return what the curves' sources add to c·x of some rows; shape (n, n_rows)."""
        moved = source @ self.known.row_e[rows].T
        for phi, row_u in self.steps:
            through = np.einsum("nk,nk->n", row_u[cells, self.curve_rows], source)
            moved -= (phi[cells] * through)[:, None] * row_u[cells, rows]
        return moved


class Curves:
    """All lamps and diodes of a network, their voltages in columns."""

    def __init__(self, network: Network) -> None:
        self.circuit = network.circuit.id
        self.index = [index for index, branch in enumerate(network.branches)
                      if branch.curve is not None and branch.is_wired]
        self.each = [network.branches[index].curve for index in self.index]
        self.diodes = [number for number, curve in enumerate(self.each) if isinstance(curve, Junction)]
        self.slope = np.array([curve.rated_a / curve.rated_v if isinstance(curve, Filament) else _JUNCTION_SLOPE_S
                               for curve in self.each])

        # All of one kind are one curve whose figures are rows.
        lamps = [number for number, curve in enumerate(self.each) if isinstance(curve, Filament)]
        self._together = [
            (lamps, Filament(np.array([self.each[number].rated_a for number in lamps]),
                             np.array([self.each[number].rated_v for number in lamps]))),
            (self.diodes, Junction(np.array([self.each[number].forward_v for number in self.diodes])))]

    def __len__(self) -> int:
        return len(self.each)

    def values(self, volts: Array) -> tuple[Array, Array]:
        """Return currents [A] and slopes [S] at voltages [V]; shapes (n, n_curves)."""
        current, slope = np.empty_like(volts), np.empty_like(volts)
        for columns, curve in self._together:
            if columns:
                own = volts[:, columns]
                current[:, columns], slope[:, columns] = curve.current(own), curve.slope(own)
        return current, slope

    def sources(self, volts: Array) -> Array:
        """Return E(v) = v − I(v)/g [V]."""
        return volts - self.values(volts)[0] / self.slope

    def bent(self, volts: Array, between: Array, probe_e: Array) -> Array:
        """Return (1 + D Y)⁻¹ D times the probes' rows: how slopes other than those laid in change an answer.

        M′ = M + D on the curves' rows: their −1/g becomes −1/g′. Shape (n, n_curves, n_probes).
        """
        more = 1 / self.slope - 1 / self.values(volts)[1]
        matrix = more[:, :, None] * between
        diagonal = np.arange(len(self))
        matrix[:, diagonal, diagonal] += 1
        return np.linalg.solve(matrix, more[:, :, None] * probe_e.transpose(0, 2, 1))

    def solve(self, laid: LaidIn, volts: Array) -> Array:
        """Return the voltages at which I(v) = i + Y E(v) in every cell; shape (n, n_curves).

        Parameters
        ----------
        laid : LaidIn
            The cells: i is c·x of the curves' own branches, Y their cᵀWe.
        volts : NDArray
            Where to begin.
        """
        rows = laid.curve_rows
        size = np.abs(laid.known.row_e[rows])
        return self._newton(
            laid.x[:, rows], lambda source, cells: laid.moved_by(source, rows, cells),
            lambda cells: laid.answers(rows, cells), lambda source: np.abs(source) @ size.T, volts)

    def solve_with(self, current: Array, between: Array, volts: Array) -> Array:
        """Return the same for cells whose i and Y are given; shapes (n, n_curves) and (n, n_curves, n_curves)."""
        return self._newton(
            current, lambda source, cells: np.einsum("nij,nj->ni", between[cells], source),
            lambda cells: between[cells], lambda source: np.abs(source), volts)

    def _newton(self, current, moved_by, answers, size_of, start: Array) -> Array:
        volts = start.copy()
        active = np.arange(len(volts))
        diagonal = np.arange(len(self))
        for _ in range(_MOST_NEWTON_STEPS):
            here = volts[active]
            carried, slope = self.values(here)
            source = here - carried / self.slope
            miss = carried - current[active] - moved_by(source, active)
            jacobian = -answers(active) * (1 - slope / self.slope)[:, None, :]
            jacobian[:, diagonal, diagonal] += slope
            wanted = here - np.linalg.solve(jacobian, miss[:, :, None])[:, :, 0]
            rounding = _ROUNDING * (np.abs(current[active]) + size_of(source)).max(axis=1, keepdims=True)
            done = ((np.abs(wanted - here) <= _SETTLED * (1 + np.abs(here))) | (np.abs(miss) <= rounding)).all(axis=1)
            volts[active] = np.where(done[:, None], wanted, self._limited(here, wanted))
            active = active[~done]
            if not len(active):
                return volts
        raise CircuitError(f"Circuit {self.circuit}: with some faults no steady state was found; check the voltages "
                           "and powers of its lamps and diodes.")

    def _limited(self, old: Array, new: Array) -> Array:
        limited = np.empty_like(new)
        for columns, curve in self._together:
            if columns:
                limited[:, columns] = curve.limited(old[:, columns], new[:, columns])
        return limited


class CellPorts:
    """The ports of all faults, and for every cell which two are its own and how strong they are.

    Attributes
    ----------
    each : list[Port]
        One of each different fault, and at the end none at all: a healthy cell, or the missing second fault.
    vectors : NDArray
        Their u; shape (n_ports, n).
    of_cell : NDArray of int
        Shape (n_cells, 2).
    strength, driven : NDArray
        s, and the voltage that the right side gains on u [V]; shape (2, n_cells).
    """

    def __init__(self, network: Network, faults: Sequence[tuple[Fault, ...]], index: Indices, amount: Array) -> None:
        numbers: dict[Fault, int] = {}
        for fault in (fault for each in faults for fault in each):
            numbers.setdefault(fault.of(None), len(numbers))
        none = Port(np.zeros(network.n_nodes - 1 + len(network.branches)))
        self.each = [*(port_of(network, fault) for fault in numbers), none]
        self.vectors = np.array([port.vector for port in self.each])
        of_fault = np.array([[numbers[fault.of(None)] for fault in each] + [len(numbers)] * (2 - len(each))
                             for each in faults], dtype=np.int64)
        self.of_cell = of_fault[index]
        self.strength, self.driven = np.zeros((2, len(index))), np.zeros((2, len(index)))
        for side in (0, 1):
            order = np.argsort(self.of_cell[:, side], kind="stable")
            starts = np.searchsorted(self.of_cell[order, side], np.arange(len(self.each) + 1))
            for number, port in enumerate(self.each):
                here = order[starts[number]:starts[number + 1]]
                if len(here) and port.vector.any():
                    self.strength[side, here], self.driven[side, here] = port.strength(amount[here, side])


class Board:
    """A network with its functionals and its cells' ports: factors each switching state once and lays cells in.

    Attributes
    ----------
    functionals : NDArray
        The rows; shape (n_rows, n).
    probe_rows, curve_rows, parameter_rows : slice
        Which of them are the probes, the curves' and the parameters' branches.
    known : Board | None
        One of the same network and ports with other rows, whose inverses are used again.
    """

    def __init__(self, network: Network, curves: Curves, ports: CellPorts, functionals: Array, probe_rows: slice,
                 curve_rows: slice, parameter_rows: slice, parameter_branches: Sequence[int],
                 known: Board | None = None) -> None:
        self.network, self.curves, self.ports = network, curves, ports
        self.functionals = functionals
        self.probe_rows, self.curve_rows, self.parameter_rows = probe_rows, curve_rows, parameter_rows
        self._parameter_branches = list(parameter_branches)
        self._factored: dict[SwitchState, Factored] = {}
        self._inverses: dict[SwitchState, tuple[tuple[bool, ...], Array, Array]] = {} if known is None else (
            known._inverses)

    def factor(self, state: SwitchState) -> Factored:
        """Return the products of a switching state."""
        if state not in self._factored:
            self._factored[state] = self._inverted(*state)
        return self._factored[state]

    def _inverse(self, pulled_in: frozenset[str], blown: frozenset[str]) -> tuple[tuple[bool, ...], Array, Array]:
        """Return which branches conduct, W, and the unknowns of the healthy circuit."""
        if (pulled_in, blown) not in self._inverses:
            closed = tuple(branch.is_closed(pulled_in, blown) for branch in self.network.branches)
            slopes = dict(zip(self.curves.index, self.curves.slope.tolist(), strict=True))
            matrix, right = tableau(self.network, closed, slopes)
            inverse = np.linalg.inv(matrix)
            self._inverses[pulled_in, blown] = closed, inverse, inverse @ right
        return self._inverses[pulled_in, blown]

    def _inverted(self, pulled_in: frozenset[str], blown: frozenset[str]) -> Factored:
        first_row = self.network.n_nodes - 1
        closed, inverse, unknowns = self._inverse(pulled_in, blown)
        row_w = self.functionals @ inverse
        port_w = self.ports.vectors @ inverse
        probe_w = row_w[self.probe_rows]
        return Factored(
            closed, self.functionals @ unknowns, port_w @ self.functionals.T,
            row_w[:, [first_row + index for index in self.curves.index]], self.ports.vectors @ unknowns,
            np.einsum("un,un->u", port_w, self.ports.vectors), port_w,
            np.einsum("pn,pn->p", probe_w, self.functionals[self.probe_rows]),
            probe_w[:, [first_row + index for index in self._parameter_branches]])

    def lay_in(self, state: SwitchState, cells: Indices, n_rows: int) -> LaidIn:
        """Return cells with their faults laid in one after the other, at the first rows."""
        known, ports = self.factor(state), self.ports
        first, second = ports.of_cell[cells, 0], ports.of_cell[cells, 1]
        row_u, own_x, own_w = known.row_u[first, :n_rows], known.port_x[first], known.own_w[first]
        phi, given = _effect(ports.strength[0, cells], ports.driven[0, cells], own_x, own_w)
        x = known.row_x[:n_rows] + given[:, None] * row_u
        steps = [(phi, row_u)]
        if ports.strength[1, cells].any() or ports.driven[1, cells].any():
            # The second fault meets what the first one left.
            between = self._between(known, first, second)
            row_u = known.row_u[second, :n_rows] - (phi * between)[:, None] * row_u
            own_x = known.port_x[second] + given * between
            own_w = known.own_w[second] - phi * between * between
            phi, given = _effect(ports.strength[1, cells], ports.driven[1, cells], own_x, own_w)
            x = x + given[:, None] * row_u
            steps.append((phi, row_u))
        return LaidIn(known, x, tuple(steps), self.curve_rows)

    def _between(self, known: Factored, first: Indices, second: Indices) -> Array:
        """Return uᵀWu′ of each cell's two ports."""
        pairs, which = np.unique(np.stack([first, second], axis=1), axis=0, return_inverse=True)
        products = np.einsum("an,an->a", known.port_w[pairs[:, 0]], self.ports.vectors[pairs[:, 1]])
        return products[which.reshape(-1)]


def _effect(strength: Array, driven: Array, own_x: Array, own_w: Array) -> tuple[Array, Array]:
    """Return φ = s / (1 + s w), also for an infinite s, and what the fault gives to c·x for each cᵀWu."""
    infinite = np.isinf(strength)
    finite = np.where(infinite, 0.0, strength)
    phi = np.where(infinite, 1 / np.where(infinite, own_w, 1.0), finite / (1 + finite * own_w))
    return phi, driven - phi * own_x
