"""A fault as a change of rank one of the solved circuit: where it acts, and how strongly for each amount.

M x = b is the healthy tableau. A resistance in series with branch k changes one number of its diagonal, a path between
two nodes adds the same number to four places: both are M + s u uᵀ. A weak source changes b alone. A relay that is
stuck changes how it is switched, and nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.electrics import faults as kinds
from workshop_log.electrics.network import Network, far_end, fault_branch, short_points
from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.electrics.faults import Fault

    Array = NDArray[np.float64]

# A path of no resistance at all is taken as one of a millionth of an ohm. [Ω]
_LEAST_PATH_OHM = 1e-6


@dataclass(frozen=True)
class Port:
    """Where and how a fault acts.

    Attributes
    ----------
    vector : NDArray
        u, over the unknowns of the tableau; shape (n,). All zero where the fault changes nothing in this setup.
    kind : str
        "series": resistance added in a branch; "path": one laid between two nodes; "source": another voltage of a
        source; "relay": an armature that does not move; "nothing".
    extra_ohm : float
        What lies in series with a path besides its own resistance. [Ω]
    healthy_v : float
        A source's voltage without the fault. [V]
    removes : int | None
        The branch that no longer conducts.
    joins : tuple[int, int] | None
        The two nodes that the fault connects.
    across : str
        The element whose current it adds to, seen by a clamp.
    relay, held_in : str, bool
        The relay that is stuck, and whether it is stuck pulled in.
    """

    vector: Array
    kind: str = "nothing"
    extra_ohm: float = 0.0
    healthy_v: float = 0.0
    removes: int | None = None
    joins: tuple[int, int] | None = None
    across: str = ""
    relay: str = ""
    held_in: bool = False

    def strength(self, amount: Array) -> tuple[Array, Array]:
        """Return s of M + s u uᵀ, and the voltage [V] that b gains on u, for amounts; none of both for a relay.

        Parameters
        ----------
        amount : NDArray
            As `Fault.amount`, not a number for a fault of one size; shape (n,).
        """
        nothing = np.zeros(len(amount))
        if self.kind == "series":
            return np.where(np.isnan(amount), -np.inf, -amount), nothing
        if self.kind == "path":
            path_ohm = np.where(np.isnan(amount), 0.0, amount) + self.extra_ohm
            return 1 / np.maximum(path_ohm, _LEAST_PATH_OHM), nothing
        if self.kind == "source":
            return nothing, amount - self.healthy_v
        return nothing, nothing


def port_of(network: Network, fault: Fault) -> Port:
    """Return how a fault acts on the healthy network of a setup."""
    vector = np.zeros(network.n_nodes - 1 + len(network.branches))
    element = network.circuit.element(fault.element)
    is_away = network.setup.takes_away(element)
    if fault.kind in kinds.SHORTS:
        return _short(network, fault, vector)
    if element.kind == "relay" and fault.kind in (kinds.STUCK_OPEN, kinds.STUCK_CLOSED):
        return Port(vector, "relay", relay=element.id, held_in=fault.kind == kinds.STUCK_CLOSED and not is_away)
    index = fault_branch(network, fault)
    if index is None or is_away:
        return Port(vector)
    branch, row = network.branches[index], network.n_nodes - 1 + index
    if fault.kind == kinds.LOW_VOLTAGE:
        vector[row] = 1.0
        return Port(vector, "source", healthy_v=branch.voltage_v)
    if fault.kind in (kinds.OPEN, kinds.DEAD, kinds.STUCK_OPEN, kinds.HIGH_RESISTANCE):
        if branch.is_wired:
            vector[row] = 1.0
        removes = None if fault.kind == kinds.HIGH_RESISTANCE else index
        return Port(vector, "series", removes=removes) if branch.is_wired else Port(vector)
    if fault.kind == kinds.STUCK_CLOSED:
        if branch.is_wired:
            return Port(vector)
        return _path(vector, branch.start, branch.end, element.resistance_ohm, element.id)
    # Shorted, draws too much: a path across the element; a relay's lies across its coil.
    return _path(vector, branch.start, far_end(network, index), 0.0, "" if element.kind == "relay" else element.id)


def _path(vector: Array, start: int, end: int, extra_ohm: float, across: str) -> Port:
    if start:
        vector[start - 1] += 1
    if end:
        vector[end - 1] -= 1
    return Port(vector, "path", extra_ohm, joins=(start, end), across=across)


def _short(network: Network, fault: Fault, vector: Array) -> Port:
    """Return a short, which meets a wire anywhere along it: what lies between there and its end adds to the path.

    With the current of the branch counted where it enters the wire, a current J drawn at the part p of its length
    leaves v(end) + (1 − p) R i − (1 − p) R J there: u has 1 at the end and (1 − p) R in the wire's own equation.
    """
    element = network.circuit.element(fault.element)
    far, other = short_points(network, fault)
    index = network.index(element.id)
    rest_ohm, meets = 0.0, far
    if element.kind == "wire" and index is not None and network.branches[index].is_wired:
        rest_ohm = (1 - fault.position) * network.branches[index].resistance_ohm
        # Inside the wire it meets no node that has a number.
        meets = network.branches[index].start if fault.position == 0 else far if fault.position == 1 else -1
    if meets == other:
        return Port(vector)
    port = _path(vector, far, other, rest_ohm, "")
    if rest_ohm:
        vector[network.n_nodes - 1 + index] += rest_ohm
    return port
