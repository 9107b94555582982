"""Relays and fuses of many cells: each cell comes to the state in which they stay, by the rules of `solver.settle`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.electrics.numeric import np
from workshop_log.electrics.solver import ALIKE

if TYPE_CHECKING:
    from collections.abc import Callable

    from workshop_log.electrics.laid_in import Array, CellPorts, Indices, SwitchState
    from workshop_log.electrics.network import Network


class Moving:
    """Where the relays and fuses of every cell stand.

    Attributes
    ----------
    states : list[SwitchState]
        Relays pulled in and fuses blown, of each state that occurs.
    state : NDArray of int
        Which of them each cell is in; shape (n_cells,).
    chatters : NDArray of bool
        Whether a relay never settles; it is then taken at rest. Shape (n_cells,).
    """

    def __init__(self, network: Network, ports: CellPorts) -> None:
        self.coils, self._network = network.coils, network
        self.fuses = [index for index, branch in enumerate(network.branches) if branch.blows_above_a < float("inf")]
        self._pull_in_a = np.array([coil.pull_in_a for coil in network.coils])
        self._blows_above_a = np.array([network.branches[index].blows_above_a for index in self.fuses])
        n_cells = len(ports.of_cell)
        self.states: list[SwitchState] = []
        self._number_of: dict[SwitchState, int] = {}
        self.state = np.full(n_cells, self._number((network.held_in, frozenset())))
        self.chatters = np.zeros(n_cells, dtype=bool)
        # A relay that is stuck does not follow its coil.
        self._deaf = np.zeros((n_cells, len(network.coils)), dtype=bool)
        for side in (0, 1):
            for number, port in enumerate(ports.each):
                if port.kind == "relay":
                    self._hold(np.flatnonzero(ports.of_cell[:, side] == number), port.relay, port.held_in)
        self._rest = [self.states[state][0] for state in self.state]
        self._one_by_one = np.zeros(n_cells, dtype=bool)
        self._load, self._fuse = np.zeros(n_cells), np.zeros(n_cells, dtype=np.int64)
        self._worst_load, self._worst_fuse = np.ones(n_cells), np.zeros(n_cells, dtype=np.int64)

    def _hold(self, cells: Indices, relay: str, held_in: bool) -> None:
        for coil, each in enumerate(self.coils):
            if each.relay == relay:
                self._deaf[cells, coil] = True
        for cell in cells.tolist():
            pulled_in, blown = self.states[self.state[cell]]
            self.state[cell] = self._number((pulled_in - {relay} | ({relay} if held_in else set()), blown))

    def settle(self, currents: Callable[[SwitchState, Indices], Array]) -> None:
        """Let relays and fuses move until none wants to.

        Parameters
        ----------
        currents : callable
            Returns the currents of the coils and then of the fuses [A] of cells in a state; shape (n, n_coils +
            n_fuses).
        """
        if not self.coils and not self.fuses:
            return
        self._seen = [[int(state)] for state in self.state]
        waiting = np.arange(len(self.state))
        while len(waiting):
            standing = self.state[waiting]
            moved: list[int] = []
            for state in np.unique(standing).tolist():
                cells = waiting[standing == state]
                moved += self._move(state, cells, currents(self.states[state], cells))
            waiting = np.array(sorted(moved), dtype=np.int64)

    def _move(self, state: int, cells: Indices, currents: Array) -> list[int]:
        """Let the relays of each cell that want to move do so, else its most overloaded fuse; return who moved."""
        n_coils = len(self.coils)
        pulled_in, blown = self.states[state]
        self._note_loads(blown, cells, np.abs(currents[:, n_coils:]))
        is_in = np.array([coil.relay in pulled_in for coil in self.coils], dtype=bool)
        wants = ((np.abs(currents[:, :n_coils]) >= self._pull_in_a) != is_in) & ~self._deaf[cells]
        # One by one: only the first of them.
        wants &= ~self._one_by_one[cells][:, None] | (wants.cumsum(axis=1) == 1)
        moved: list[int] = []
        for pattern, here in _alike(wants):
            if pattern.any():
                relays = {coil.relay for coil, moves in zip(self.coils, pattern, strict=True) if moves}
                moved += self._follow((pulled_in ^ relays, blown), cells[here].tolist())
            else:
                for cell in cells[here][self._load[cells[here]] > 1].tolist():
                    self._begin_anew(cell, pulled_in, blown | {self._loaded_fuse(cell)})
                    moved.append(cell)
        return moved

    def _note_loads(self, blown: frozenset[str], cells: Indices, fuse_a: Array) -> None:
        """Note how loaded each cell's most loaded fuse is now, and has been since the cell began anew."""
        if not self.fuses:
            return
        load = fuse_a / self._blows_above_a
        load[:, [self._network.branches[index].element in blown for index in self.fuses]] = 0.0
        most = load.max(axis=1)
        # Of several that are loaded alike the first one.
        self._load[cells], self._fuse[cells] = most, (load >= most[:, None] / ALIKE).argmax(axis=1)
        worse = most > self._worst_load[cells] * ALIKE
        self._worst_load[cells[worse]], self._worst_fuse[cells[worse]] = most[worse], self._fuse[cells[worse]]

    def _loaded_fuse(self, cell: int, *, ever: bool = False) -> str:
        fuse = self._worst_fuse[cell] if ever else self._fuse[cell]
        return self._network.branches[self.fuses[fuse]].element

    def _begin_anew(self, cell: int, pulled_in: frozenset[str], blown: frozenset[str]) -> None:
        self.state[cell] = self._number((pulled_in, blown))
        self._seen[cell] = [int(self.state[cell])]
        self._worst_load[cell] = 1.0

    def _follow(self, target: SwitchState, cells: list[int]) -> list[int]:
        """Move cells to a state; one that was there before goes on one by one from rest, and then it chatters."""
        number = self._number(target)
        moved = []
        for cell in cells:
            seen = self._seen[cell]
            if number in seen and self._one_by_one[cell] and self._worst_load[cell] <= 1:
                pulled = [self.states[state][0] for state in seen[seen.index(number):]]
                restless = frozenset().union(*pulled) - frozenset.intersection(*pulled)
                self.state[cell] = self._number((pulled[0] - restless, target[1]))
                self.chatters[cell] = True
                continue
            moved.append(cell)
            if number not in seen:
                seen.append(number)
                self.state[cell] = number
                continue
            blown = target[1] | ({self._loaded_fuse(cell, ever=True)} if self._one_by_one[cell] else set())
            self._one_by_one[cell] = True
            self._begin_anew(cell, self._rest[cell], blown)
        return moved

    def _number(self, state: SwitchState) -> int:
        if state not in self._number_of:
            self._number_of[state] = len(self.states)
            self.states.append(state)
        return self._number_of[state]


def _alike(rows: Array) -> list[tuple[Array, Indices]]:
    """Return the different rows and where each stands."""
    different, which = np.unique(rows, axis=0, return_inverse=True)
    which = which.reshape(-1)
    return [(row, np.flatnonzero(which == number)) for number, row in enumerate(different)]
