"""What every point shows: node voltages and element currents of a circuit in one setup.

Unknowns are the node voltages and the branch currents together (tableau form):

    [ L   A ] [v]   [0]      A: incidence, R: branch resistances,
    [ Aᵀ −R ] [i] = [E]      L: 1 nS from every point to B−, E: sources

so that an ideal wire is no problem and a disconnected node floats at a defined voltage. Filament lamps and diodes
are linearised anew until nothing moves (Newton). Switching is a fixed point from rest: relays follow their coils, all
together or, where that never settles, one at a time; when they are settled the most overloaded fuse opens, and
everything is computed again. Relays that never settle chatter, unless a fuse is overloaded meanwhile and opens.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from workshop_log.electrics import connections
from workshop_log.electrics.checking import require_sound
from workshop_log.electrics.circuit import SOURCE_KINDS, Circuit, CircuitError, Setup, UnknownNameError
from workshop_log.electrics.curves import Filament, Junction
from workshop_log.electrics.network import (
    LEAK_S,
    METER,
    OWN_PARTS,
    Branch,
    Network,
    build,
)
from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.electrics.faults import Fault
    from workshop_log.electrics.probes import Probe

    Array = NDArray[np.float64]

# Newton ends when no lamp or diode moves by more than this part of its voltage.
_SETTLED = 1e-11
# Nor need a diode that blocks, whose voltage rounding moves, once its current stands to this. [A]
_ROUNDING_A = 5e-14
_MOST_NEWTON_STEPS = 200
# Two fuses whose loads differ by less than this factor are loaded alike: rounding must not choose between them.
ALIKE = 1 + 1e-6
# A diode that carries less does not connect its two points. [A]
CONDUCTING_A = 1e-6
# A connected point at less than this against B− is dead: nothing of a supply is left there. own estimate. [V]
LIVE_FROM_V = 0.5


@dataclass(frozen=True)
class State:
    """A solved circuit.

    Attributes
    ----------
    network : Network
        Its nodes and branches.
    unknowns : NDArray
        Voltages of the nodes 1, 2, ... [V], then currents of the branches [A]; shape (n_nodes − 1 + n_branches,).
    matrix : NDArray
        The tableau, linearised where the circuit stands; symmetric, shape (n, n).
    closed : tuple[bool, ...]
        Which branches conduct.
    pulled_in, blown : frozenset[str]
        Relays that are pulled in, fuses that have blown.
    chattering : tuple[str, ...]
        Relays that never settle. They are shown at rest, and what is computed holds for that moment only.
    iterations : int
        How often the circuit was solved.
    """

    network: Network
    unknowns: Array = field(repr=False)
    matrix: Array = field(repr=False)
    closed: tuple[bool, ...] = ()
    pulled_in: frozenset[str] = frozenset()
    blown: frozenset[str] = frozenset()
    chattering: tuple[str, ...] = ()
    iterations: int = 0

    @property
    def chatters(self) -> bool:
        """Whether a relay never settles."""
        return bool(self.chattering)

    def voltage_v(self, point: str, black: str = "B-") -> float | None:
        """Return the voltage [V] of a point against another one; None where either floats."""
        if self.is_floating(point) or self.is_floating(black):
            return None
        return self.node_v(self._node(point)) - self.node_v(self._node(black))

    def current_a(self, element: str, part: str = "") -> float:
        """Return the current [A] through an element, from between[0] to between[1]; of a source, what it delivers.

        It is what a clamp around the element's supply side shows, with what a fault lets pass across it.

        Parameters
        ----------
        element : str
            An element's id; also "bridge 1", ...
        part : str
            Of a relay, "coil" for its coil; otherwise the current is that of its contacts, out of `common`.
        """
        branches = self.network.branches
        wanted = {part} if part else OWN_PARTS
        found = [index for index, branch in enumerate(branches) if branch.element == element and branch.part in wanted]
        if not found:
            raise UnknownNameError("element", element, self.network.circuit.id)
        total = sum(self.branch_a(index) for index in found)
        known = self.network.circuit.by_id.get(element)
        return -total if known is not None and known.kind in SOURCE_KINDS else total

    def is_floating(self, point: str) -> bool:
        """Whether nothing that conducts connects the point to B−; a meter's own resistance connects nothing."""
        return self.groups[self._node(point)] != 0

    def is_live(self, point: str) -> bool:
        """Whether the point is connected and carries a voltage against B−."""
        return not self.is_floating(point) and abs(self.node_v(self._node(point))) >= LIVE_FROM_V

    def is_dead(self, point: str) -> bool:
        """Whether the point is connected and carries no voltage."""
        return not self.is_floating(point) and not self.is_live(point)

    def lamp(self, element: str) -> str:
        """Return what a filament lamp looks like: "lit", "dim" or "dark"."""
        for branch in self.network.branches:
            if branch.element == element and isinstance(branch.curve, Filament):
                return branch.curve.look(self.across_v(branch))
        raise UnknownNameError("filament lamp", element, self.network.circuit.id)

    @cached_property
    def lamps(self) -> dict[str, str]:
        """What each filament lamp looks like, bridges and a test lamp included."""
        return {branch.element: branch.curve.look(self.across_v(branch)) for branch in self.network.branches
                if isinstance(branch.curve, Filament)}

    # --- below: for the modules of this package, by numbers instead of names ---

    def node_v(self, node: int) -> float:
        """Return a node's voltage [V] against B−."""
        # Plus zero, so that nothing is never minus nothing.
        return float(self.unknowns[node - 1]) + 0.0 if node else 0.0

    def branch_a(self, index: int) -> float:
        """Return a branch's current [A], from its start to its end."""
        return float(self.unknowns[self.network.n_nodes - 1 + index])

    def across_v(self, branch: Branch) -> float:
        """Return the voltage [V] from a branch's start to its end."""
        return self.node_v(branch.start) - self.node_v(branch.end)

    @cached_property
    def groups(self) -> list[int]:
        """For every node the smallest node that it is connected with; 0 for all that do not float."""
        return connections.groups(self.network.n_nodes, (
            (branch.start, branch.end) for index, branch in enumerate(self.network.branches) if self.connects(index)))

    def connects(self, index: int) -> bool:
        """Whether a branch connects its two nodes; a meter and a diode that blocks do not."""
        branch = self.network.branches[index]
        if not self.closed[index] or branch.element == METER:
            return False
        return not isinstance(branch.curve, Junction) or abs(self.branch_a(index)) > CONDUCTING_A

    def selector(self, red: int, black: int) -> Array:
        """Return the vector that picks v(red) − v(black) out of the unknowns; shape (n,)."""
        vector = np.zeros(len(self.unknowns))
        if red:
            vector[red - 1] += 1
        if black:
            vector[black - 1] -= 1
        return vector

    def adjoint(self, selector: Array) -> Array:
        """Return λ = M⁻¹ c: how the quantity c·x answers to a source in each equation; shape (n,)."""
        return np.linalg.solve(self.matrix, selector)

    def _node(self, point: str) -> int:
        if point not in self.network.node:
            raise UnknownNameError("point", point, self.network.circuit.id)
        return self.network.node[point]


def solve(circuit: Circuit, setup: Setup | str = "", fault: Fault | tuple[Fault, ...] | None = None,
          probe: Probe | None = None) -> State:
    """Return what a circuit shows in a setup.

    Parameters
    ----------
    circuit : Circuit
        A circuit of up to some hundred elements.
    setup : Setup | str
        The setup or its id; as found unless said.
    fault : Fault | tuple[Fault, ...] | None
        Faults of known amount, all at once; healthy unless said.
    probe : Probe | None
        An instrument laid to it, which loads the circuit: a meter, a test lamp.

    Raises
    ------
    CircuitError
        If the circuit cannot be computed as described, or has no steady state.
    UnknownNameError, FaultError
        If the setup, the fault or the probe names something that is not there.
    """
    require_sound(circuit)
    found = circuit.setup(setup) if isinstance(setup, str) else setup
    faults = () if fault is None else fault if isinstance(fault, tuple) else (fault,)
    network = build(circuit, found, faults)
    if probe is not None:
        probe.lay(network)
    return settle(network)


def settle(network: Network) -> State:
    """Return the state that a network comes to from rest."""
    pulled_in, blown = network.held_in, frozenset()
    guess = np.zeros(len(network.branches))
    seen, one_by_one, rounds = [pulled_in], False, 0
    worst: tuple[float, str | None] = (1.0, None)
    while True:
        state = _solved(network, pulled_in, blown, guess)
        rounds += state.iterations
        guess = np.array([state.across_v(branch) for branch in network.branches])
        moving = [coil.relay for coil in network.coils
                  if (abs(state.branch_a(coil.branch)) >= coil.pull_in_a) != (coil.relay in pulled_in)]
        load = _most_loaded(state)
        if load[0] > worst[0] * ALIKE:
            worst = load
        if moving:
            pulled_in = pulled_in ^ frozenset(moving[:1] if one_by_one else moving)
            if pulled_in not in seen:
                seen.append(pulled_in)
                continue
            if one_by_one and worst[1] is None:
                return _at_rest(network, seen[seen.index(pulled_in):], blown, rounds)
            if one_by_one:
                # A fuse that is overloaded again and again while relays chatter gets as hot as one that is for good.
                blown = blown | {worst[1]}
            # Two relays that would never settle together may do so one after the other.
            one_by_one, pulled_in = True, network.held_in
        elif load[0] > 1:
            blown = blown | {load[1]}
        else:
            return State(network, state.unknowns, state.matrix, state.closed, pulled_in, blown, (), rounds)
        seen, worst = [pulled_in], (1.0, None)


def _at_rest(network: Network, cycle: list[frozenset[str]], blown: frozenset[str], rounds: int) -> State:
    """Return the state with the relays of a cycle at rest: they chatter."""
    restless = frozenset().union(*cycle) - frozenset.intersection(*cycle)
    chattering = tuple(coil.relay for coil in network.coils if coil.relay in restless)
    pulled_in = cycle[0] - restless
    state = _solved(network, pulled_in, blown, np.zeros(len(network.branches)))
    return State(network, state.unknowns, state.matrix, state.closed, pulled_in, blown, chattering,
                 rounds + state.iterations)


def _most_loaded(state: State) -> tuple[float, str | None]:
    """Return what the most loaded whole fuse carries in proportion to what it bears, and which it is."""
    shares = [(abs(state.branch_a(index)) / branch.blows_above_a, branch.element)
              for index, branch in enumerate(state.network.branches)
              if branch.blows_above_a < math.inf and branch.element not in state.blown]
    most = max((share for share, _ in shares), default=0.0)
    # Of several that are loaded alike the first one.
    return most, next((element for share, element in shares if share >= most / ALIKE), None)


def tableau(network: Network, closed: tuple[bool, ...], slope: dict[int, float]) -> tuple[Array, Array]:
    """Return the matrix and the right side of a network whose curves have these slopes.

    Parameters
    ----------
    network : Network
        The network.
    closed : tuple[bool, ...]
        Which branches conduct; the others have the equation i = 0.
    slope : dict[int, float]
        dI/dV of each branch with a curve, by its index. [S]
    """
    n_voltages, n_branches = network.n_nodes - 1, len(network.branches)
    size = n_voltages + n_branches
    matrix, right = np.zeros((size, size)), np.zeros(size)
    # Points come before nameless nodes, which always hang on a point.
    points = np.arange(len(network.node) - 1)
    matrix[points, points] = LEAK_S
    for index, branch in enumerate(network.branches):
        row = n_voltages + index
        if not closed[index]:
            matrix[row, row] = -1.0
            continue
        for node, sign in ((branch.start, 1.0), (branch.end, -1.0)):
            if node:
                matrix[node - 1, row] += sign
                matrix[row, node - 1] += sign
        matrix[row, row] = -1 / slope[index] if index in slope else -branch.resistance_ohm
        right[row] = branch.voltage_v
    return matrix, right


def _solved(network: Network, pulled_in: frozenset[str], blown: frozenset[str], guess: Array) -> State:
    """Return the state with relays and fuses as given, whether they would stay so or not."""
    closed = tuple(branch.is_closed(pulled_in, blown) for branch in network.branches)
    curved = [index for index, branch in enumerate(network.branches) if branch.curve is not None and closed[index]]
    at_v = {index: float(guess[index]) for index in curved}
    first_row = network.n_nodes - 1
    for step in range(1, _MOST_NEWTON_STEPS + 1):
        slope = {index: float(network.branches[index].curve.slope(at_v[index])) for index in curved}
        matrix, right = tableau(network, closed, slope)
        for index in curved:
            right[first_row + index] = at_v[index] - float(
                network.branches[index].curve.current(at_v[index])) / slope[index]
        unknowns = np.linalg.solve(matrix, right)
        state = State(network, unknowns, matrix, closed, pulled_in, blown, (), step)
        new_v = {index: state.across_v(network.branches[index]) for index in curved}
        moves = {index: abs(new_v[index] - at_v[index]) for index in curved}
        if all(move <= _SETTLED * (1 + abs(at_v[index])) or move * slope[index] <= _ROUNDING_A
               for index, move in moves.items()):
            return state
        at_v = {index: float(network.branches[index].curve.limited(at_v[index], new_v[index])) for index in curved}
    names = ", ".join(dict.fromkeys(network.branches[index].element for index in curved))
    raise CircuitError(f"Circuit {network.circuit.id}: no steady state was found with {names}; check their voltages "
                       "and powers.")
