"""A circuit in one setup as numbered nodes and branches, with its faults and the instrument laid in.

Node 0 is battery negative. Nodes without a name stand inside an element: where a short meets a wire, between a
diode and its resistance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from workshop_log.electrics import faults as kinds
from workshop_log.electrics.circuit import REFERENCE, Circuit, Element, Setup
from workshop_log.electrics.curves import Curve, Filament, Junction
from workshop_log.electrics.faults import Fault, check_fault

# From every point to B−: insulation. It gives a point that nothing connects a defined voltage. [S]
LEAK_S = 1e-9
# Where ideal conductors form a ring, how the current divides among them is not defined without this. [Ω]
LEAST_RING_OHM = 1e-6
# A fused lead: a metre of wire there, a fuse, two clips. own estimate. [Ω]
FUSED_LEAD_OHM = 0.03
# A fuse opens, if one waits, above this part of its rating: the operating-time table's 135 %, from memory.
BLOWING_SHARE = 1.35

METER, TEST_LAMP = "meter", "test lamp"
COIL, NORMALLY_OPEN, NORMALLY_CLOSED = "coil", "normally open", "normally closed"
# What a fault adds: in series inside the element, across it, or from it to something else.
SERIES_PART, ACROSS_PART, SHORT_PART = "fault in series", "fault across", "short"
FAULT_PARTS = frozenset({SERIES_PART, ACROSS_PART, SHORT_PART})
# The far half of an element that is cut in two.
INNER_PART = "inner"
# The parts whose currents together are the element's.
OWN_PARTS = ("", NORMALLY_OPEN, NORMALLY_CLOSED, ACROSS_PART)


@dataclass(frozen=True, slots=True)
class Branch:
    """What lies between two nodes.

    Attributes
    ----------
    element, part : str
        The element it belongs to, and which part of it: nothing for the element itself, `COIL`, `NORMALLY_OPEN`, ...
    start, end : int
        Its nodes; its current counts from start to end inside it.
    resistance_ohm : float
        In series with everything else in it; infinite where it conducts nothing whatever happens. [Ω]
    voltage_v : float
        Voltage of its own: v(start) − v(end) without current. [V]
    curve : Curve | None
        The current by voltage, instead of a resistance.
    relay : str
        The relay whose armature opens and closes it.
    closed_when_pulled_in : bool
        Whether that armature closes it when the relay pulls in, or when it drops out.
    blows_above_a : float
        A fuse's limit. [A]
    """

    element: str
    part: str
    start: int
    end: int
    resistance_ohm: float = 0.0
    voltage_v: float = 0.0
    curve: Curve | None = None
    relay: str = ""
    closed_when_pulled_in: bool = True
    blows_above_a: float = math.inf

    @property
    def is_wired(self) -> bool:
        """Whether it may conduct at all."""
        return self.resistance_ohm < math.inf

    def is_closed(self, pulled_in: frozenset[str], blown: frozenset[str]) -> bool:
        """Whether it conducts with these relays pulled in and these fuses blown."""
        if not self.is_wired or (self.element in blown and self.blows_above_a < math.inf):
            return False
        return not self.relay or (self.relay in pulled_in) == self.closed_when_pulled_in


@dataclass(frozen=True, slots=True)
class Coil:
    """A relay's coil: the branch whose current pulls it in, and how much of that is enough [A]."""

    relay: str
    branch: int
    pull_in_a: float


@dataclass(slots=True)
class Network:
    """Nodes, branches and relays of one circuit in one setup.

    Attributes
    ----------
    circuit, setup
        What it was made from.
    node : dict[str, int]
        The number of every point.
    n_nodes : int
        How many nodes there are, B- and nameless ones included.
    branches : list[Branch]
        In the elements' order, then bridges, faults and the instrument.
    coils : list[Coil]
        Of the relays that are free to move, in the elements' order.
    held_in : frozenset[str]
        Relays that are pulled in whatever their coils say.
    """

    circuit: Circuit
    setup: Setup
    node: dict[str, int]
    n_nodes: int
    branches: list[Branch] = field(default_factory=list)
    coils: list[Coil] = field(default_factory=list)
    held_in: frozenset[str] = frozenset()

    def add(self, branch: Branch) -> None:
        """Add a branch."""
        self.branches.append(branch)

    def nameless_node(self) -> int:
        """Return a new node without a name."""
        self.n_nodes += 1
        return self.n_nodes - 1

    def index(self, element: str, part: str = "") -> int | None:
        """Return which branch is this part of an element; None if it has none."""
        for index, branch in enumerate(self.branches):
            if branch.element == element and branch.part == part:
                return index
        return None

    def main_index(self, element: Element) -> int | None:
        """Return the branch that carries an element's own current; of a relay its working contact."""
        if element.kind != "relay":
            return self.index(element.id)
        working = self.index(element.id, NORMALLY_OPEN)
        return self.index(element.id, NORMALLY_CLOSED) if working is None else working


def build(circuit: Circuit, setup: Setup, faults: tuple[Fault, ...] = ()) -> Network:
    """Return the network of a circuit in a setup with faults of known amount.

    Raises
    ------
    UnknownNameError, FaultError
        If a fault is one that the circuit cannot have.
    """
    node = {point: number for number, point in enumerate(circuit.points)}
    network = Network(circuit, setup, node, len(node))
    for element in circuit.elements:
        for branch in _branches(network, element):
            # The inner part stays, or its nameless node would hang on nothing.
            taken = setup.takes_away(element) and branch.part != INNER_PART
            network.add(replace(branch, resistance_ohm=math.inf) if taken else branch)
    network.held_in = frozenset(e.id for e in circuit.elements
                                if e.kind == "relay" and e.id in setup.on and not setup.takes_away(e))
    network.coils = [Coil(e.id, network.index(e.id, COIL), e.pull_in_v / e.coil_ohm) for e in circuit.elements
                     if e.kind == "relay" and e.coil and e.id not in network.held_in and not setup.takes_away(e)]
    for number, bridge in enumerate(setup.bridges, 1):
        start, end = (node[point] for point in bridge.between)
        name = f"bridge {number}"
        if bridge.through == "lamp":
            network.add(Branch(name, "", start, end, curve=Filament(bridge.rating_a, bridge.lamp_at_v)))
        else:
            network.add(Branch(name, "", start, end, FUSED_LEAD_OHM, blows_above_a=BLOWING_SHARE * bridge.rating_a))
    for fault in faults:
        check_fault(circuit, fault)
        _lay_in(network, fault)
    _break_ideal_rings(network)
    return network


def _branches(network: Network, element: Element) -> list[Branch]:
    """Return a healthy element's branches."""
    node = network.node
    if element.kind == "relay":
        return _relay_branches(node, element)
    start, end = (node[point] for point in element.between)
    resistance = element.resistance_ohm
    if element.kind == "switch" and element.id not in network.setup.on:
        resistance = math.inf
    if element.kind == "lamp" and element.lamp_power_w:
        filament = Filament(element.lamp_power_w / element.lamp_at_v, element.lamp_at_v)
        return [Branch(element.id, "", start, end, curve=filament)]
    if element.kind == "diode":
        inner = network.nameless_node() if resistance else end
        junction = Branch(element.id, "", start, inner, curve=Junction(element.forward_voltage_v))
        return [junction, Branch(element.id, INNER_PART, inner, end, resistance)] if resistance else [junction]
    blows_above_a = BLOWING_SHARE * element.rating_a if element.kind == "fuse" and element.rating_a else math.inf
    return [Branch(element.id, "", start, end, resistance, element.voltage_v, blows_above_a=blows_above_a)]


def _relay_branches(node: dict[str, int], relay: Element) -> list[Branch]:
    branches = []
    if relay.coil:
        branches.append(Branch(relay.id, COIL, node[relay.coil[0]], node[relay.coil[1]], relay.coil_ohm))
    for part, point, closed_when_pulled_in in ((NORMALLY_OPEN, relay.normally_open, True),
                                               (NORMALLY_CLOSED, relay.normally_closed, False)):
        if relay.common is not None and point is not None:
            branches.append(Branch(relay.id, part, node[relay.common], node[point], relay.resistance_ohm,
                                   relay=relay.id, closed_when_pulled_in=closed_when_pulled_in))
    return branches


def fault_branch(network: Network, fault: Fault) -> int | None:
    """Return the branch that a fault sits in or across; None where the element has no such part."""
    element = network.circuit.element(fault.element)
    if element.kind == "relay" and fault.kind in (kinds.OPEN, kinds.SHORTED, kinds.DRAWS_TOO_MUCH, kinds.DEAD):
        return network.index(element.id, COIL)
    return network.main_index(element)


def short_points(network: Network, fault: Fault) -> tuple[int, int]:
    """Return the node on the element's far side and the node that a short leads to."""
    element = network.circuit.element(fault.element)
    other = REFERENCE if fault.kind == kinds.SHORT_TO_GROUND else network.circuit.supply_point
    return network.node[element.between[1]], network.node[other]


def _lay_in(network: Network, fault: Fault) -> None:
    """Change the network to one with the fault."""
    element = network.circuit.element(fault.element)
    if fault.kind in kinds.SHORTS:
        start, end = _short_start(network, fault, element), short_points(network, fault)[1]
        if start != end:
            network.add(Branch(fault.element, SHORT_PART, start, end, fault.amount))
        return
    if element.kind == "relay" and fault.kind in (kinds.STUCK_OPEN, kinds.STUCK_CLOSED):
        network.coils = [coil for coil in network.coils if coil.relay != element.id]
        stuck_in = fault.kind == kinds.STUCK_CLOSED and not network.setup.takes_away(element)
        network.held_in = network.held_in - {element.id} | ({element.id} if stuck_in else set())
        return
    index = fault_branch(network, fault)
    if index is None or network.setup.takes_away(element):
        return
    branch = network.branches[index]
    if fault.kind in (kinds.OPEN, kinds.DEAD, kinds.STUCK_OPEN):
        network.branches[index] = replace(branch, resistance_ohm=math.inf)
    elif fault.kind == kinds.STUCK_CLOSED:
        network.branches[index] = replace(branch, resistance_ohm=element.resistance_ohm)
    elif fault.kind == kinds.LOW_VOLTAGE:
        network.branches[index] = replace(branch, voltage_v=fault.amount)
    elif fault.kind == kinds.HIGH_RESISTANCE:
        # Beside the element's own resistance, whose tolerance is not the fault's.
        inner = network.nameless_node()
        network.branches[index] = replace(branch, end=inner)
        network.add(Branch(fault.element, SERIES_PART, inner, branch.end, fault.amount))
    else:
        part = SHORT_PART if element.kind == "relay" else ACROSS_PART
        network.add(Branch(fault.element, part, branch.start, far_end(network, index), fault.amount))


def far_end(network: Network, index: int) -> int:
    """Return the node at the far side of an element, past its inner resistance."""
    branch = network.branches[index]
    inner = network.index(branch.element, INNER_PART)
    return branch.end if inner is None else network.branches[inner].end


def _short_start(network: Network, fault: Fault, element: Element) -> int:
    """Return where a short meets the element; a wire is cut in two there."""
    far = short_points(network, fault)[0]
    index = network.index(element.id)
    if element.kind != "wire" or index is None or not network.branches[index].is_wired or fault.position == 1:
        return far
    wire = network.branches[index]
    if fault.position == 0:
        return wire.start
    middle = network.nameless_node()
    network.branches[index] = replace(wire, end=middle, resistance_ohm=fault.position * wire.resistance_ohm)
    network.add(Branch(element.id, INNER_PART, middle, far, (1 - fault.position) * wire.resistance_ohm))
    return middle


def _break_ideal_rings(network: Network) -> None:
    """Give a branch without resistance that closes a ring of such branches the least resistance."""
    leader = list(range(network.n_nodes))

    def find(number: int) -> int:
        while leader[number] != number:
            leader[number] = leader[leader[number]]
            number = leader[number]
        return number

    for index, branch in enumerate(network.branches):
        if branch.curve is not None or branch.resistance_ohm >= LEAST_RING_OHM:
            continue
        start, end = find(branch.start), find(branch.end)
        if start == end:
            network.branches[index] = replace(branch, resistance_ohm=LEAST_RING_OHM)
        else:
            leader[start] = end
