"""Which tests could be made next: every point, clamp, dead resistance, lamp, look, movement and swap that is allowed.

Never: a test on a protected element or the wiring that leads to it, an ohmmeter on a live circuit (`outcomes` leaves
those out) or beside a connected battery where the circuit can be made dead, a lamp on a pin of a control unit or a
sensor or on a regulated supply.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from workshop_log.electrics.circuit import (
    AS_FOUND,
    LOAD_KINDS,
    REFERENCE,
    SOURCE_KINDS,
    WIRING_KINDS,
    Circuit,
    Element,
    Setup,
)
from workshop_log.electrics.probes import Current, Lamp, Probe, Resistance, Voltage
from workshop_log.electrics.pushed_current import protected_points

if TYPE_CHECKING:
    from workshop_log.diagnosis.evidence import Evidence

Kind = Literal["voltage", "current", "resistance", "lamp", "look", "movement", "swap"]

# own estimates: how long a test takes once its place lies open. [min]
MINUTES = {"voltage": 2.0, "lamp": 2.5, "current": 3.0, "resistance": 3.0, "look": 3.0, "movement": 4.0, "swap": 20.0}
# own estimates: to bring about another condition, and for each plug or fuse that has to be pulled for it. [min]
SETUP_MINUTES, TAKING_AWAY_MINUTES = 1.0, 1.5
# Movements made in one movement test.
TRIALS = 10
# What pushes a current through what it is laid to.
_PUSHING = frozenset({"resistance", "lamp"})
# What a lamp's current can destroy or pull down.
_SENSITIVE = frozenset({"control unit", "sensor", "source"})
# A known good one is at hand for these; for others only where somebody said how long fitting takes.
_EASILY_SWAPPED = {"fuse": 3.0, "relay": 5.0, "lamp": 8.0}
# What has no current of its own worth a clamp beside its neighbours'.
_CLAMPED = frozenset({"wire", "fuse", "battery", "relay", *LOAD_KINDS})


@dataclass(frozen=True, slots=True)
class Candidate:
    """A test that could be made.

    Attributes
    ----------
    kind : str
        "voltage", "current", "resistance", "lamp", "look", "movement" or "swap".
    setup : str
        In which setup.
    probe : Probe | None
        The instrument; of a movement test what is watched.
    elements : tuple[str, ...]
        What is looked at, moved or swapped.
    """

    kind: Kind
    setup: str = AS_FOUND
    probe: Probe | None = None
    elements: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """Unique among the candidates of a circuit."""
        where = self.elements or self.points
        return f"{self.kind} {'/'.join(where)} in {self.setup}"

    @property
    def points(self) -> tuple[str, ...]:
        """The points that it touches."""
        match self.probe:
            case Voltage() | Resistance():
                return self.probe.red, self.probe.black
            case Lamp():
                return self.probe.clip, self.probe.probe
            case Current():
                return (self.probe.through,)
        return ()


@dataclass(frozen=True)
class Access:
    """What it takes to get at things, and what the technician said of it.

    Attributes
    ----------
    minutes : Mapping[str, float]
        Strip-down before an element can be reached, by its id. [min]
    fit_minutes : Mapping[str, float]
        To replace an element, by its id. [min]
    off : frozenset[str]
        Elements whose access is paid already.
    unreachable_points, unreachable_elements : frozenset[str]
        What cannot be reached.
    not_available : frozenset[tuple[str, str]]
        (kind of test, element or nothing): no clamp at hand, no known good unit.
    usual_minutes : Mapping[str, float]
        How long each kind of test takes in this workshop, where that is known. [min]
    setup : str
        The setup that the vehicle is in.
    """

    minutes: Mapping[str, float] = field(default_factory=dict)
    fit_minutes: Mapping[str, float] = field(default_factory=dict)
    off: frozenset[str] = frozenset()
    unreachable_points: frozenset[str] = frozenset()
    unreachable_elements: frozenset[str] = frozenset()
    not_available: frozenset[tuple[str, str]] = frozenset()
    usual_minutes: Mapping[str, float] = field(default_factory=dict)
    setup: str = AS_FOUND

    def of_element(self, element: str) -> float:
        """Return the strip-down that an element still needs [min]."""
        return 0.0 if element in self.off else self.minutes.get(element, 0.0)

    def allows(self, kind: str, element: str = "") -> bool:
        """Whether a kind of test is available, on this element."""
        return (kind, "") not in self.not_available and (kind, element) not in self.not_available

    def opened_by(self, circuit: Circuit, point: str) -> str:
        """Return the element whose access opens a point: the one that needs least of those that touch it."""
        touching = [e for e in circuit.touching[point] if e.id not in self.unreachable_elements]
        return min(touching, key=lambda e: self.of_element(e.id)).id if touching else ""

    def is_reachable(self, circuit: Circuit, point: str) -> bool:
        """Whether a point can be probed: it is not said to be out of reach, nor all that touches it."""
        return point not in self.unreachable_points and (point == REFERENCE or bool(self.opened_by(circuit, point)))

    def needed(self, circuit: Circuit, candidate: Candidate) -> tuple[str, ...]:
        """Return the elements whose access a test needs and that is not paid yet."""
        if candidate.kind == "current":
            # A clamp goes round at either end.
            ends = circuit.element(candidate.probe.through).points
            opened = [self.opened_by(circuit, point) for point in ends if self.is_reachable(circuit, point)]
            needed = [min(opened, key=self.of_element)] if opened else []
        elif len(candidate.elements) > 1:
            # The pins of a plug lie behind the same trim.
            needed = [max(candidate.elements, key=self.of_element)]
        elif candidate.elements:
            needed = list(candidate.elements)
        else:
            needed = [self.opened_by(circuit, point) for point in candidate.points if point != REFERENCE]
        return tuple(dict.fromkeys(element for element in needed if element and self.of_element(element)))

    def base_minutes(self, circuit: Circuit, candidate: Candidate) -> float:
        """Return how long a test takes once its place lies open, with the change of setup [min]."""
        usual = self.usual_minutes.get(candidate.kind, MINUTES[candidate.kind])
        if candidate.kind == "swap":
            element = circuit.element(candidate.elements[0])
            usual = self.fit_minutes.get(element.id, _EASILY_SWAPPED.get(element.kind, MINUTES["swap"]))
        if candidate.kind == "look" or candidate.setup == self.setup:
            return usual
        wanted, present = circuit.setup(candidate.setup), circuit.setup(self.setup)
        return usual + SETUP_MINUTES + TAKING_AWAY_MINUTES * len(_taken_away(wanted) ^ _taken_away(present))


def _taken_away(setup: Setup) -> frozenset[str]:
    return frozenset((*setup.pulled, *setup.unplugged, *setup.disconnected,
                      *(" ".join(bridge.between) for bridge in setup.bridges)))


def candidates(circuit: Circuit, access: Access, *, with_movement: bool = False) -> tuple[Candidate, ...]:
    """Return all tests that are allowed and within reach.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    access : Access
        What can be reached and what is at hand.
    with_movement : bool
        Whether a fault that comes and goes is likely enough for movement tests.
    """
    guarded = protected_points(circuit)
    points = [point for point in circuit.points if point not in guarded and access.is_reachable(circuit, point)]
    free = [element for element in circuit.elements
            if not element.protected and element.id not in access.unreachable_elements
            and not any(point in guarded for point in element.points)]
    # Beside a restraint nothing pushes a current or moves: voltages, currents and looks are all there is.
    is_guarded = any(element.protected for element in circuit.elements)
    found: list[Candidate] = []
    dead = [setup.id for setup in circuit.setups if _is_dead(circuit, setup)]
    for setup in circuit.setups:
        if any(point in guarded for bridge in setup.bridges for point in bridge.between):
            continue
        measured = _measurements(circuit, setup, points, free, access)
        found += [one for one in measured if (one.kind != "resistance" or not dead or setup.id in dead)
                  and not (is_guarded and one.kind in _PUSHING)]
    found += [Candidate("look", elements=together) for together in _together(free)
              if all(access.allows("look", element) for element in together)]
    if not is_guarded:
        found += [Candidate("swap", elements=(element.id,)) for element in free if _can_be_swapped(element, access)]
    if with_movement and not is_guarded:
        found += _movements(circuit, free, access)
    return tuple(dict.fromkeys(found))


def _is_dead(circuit: Circuit, setup: Setup) -> bool:
    """Whether every battery and source is taken away in a setup."""
    sources = [element for element in circuit.elements if element.kind in SOURCE_KINDS]
    return bool(sources) and all(setup.takes_away(element) for element in sources)


def _measurements(circuit: Circuit, setup: Setup, points: list[str], free: list[Element],
                  access: Access) -> Iterator[Candidate]:
    pairs = [element.between for element in free if element.between is not None
             and all(point in points for point in element.between)]
    across = [pair for pair in pairs if REFERENCE not in pair]
    to_ground = [point for point in points if point != REFERENCE]
    if access.allows("voltage"):
        for red, black in (*((point, REFERENCE) for point in to_ground), *across):
            yield Candidate("voltage", setup.id, Voltage(red, black))
    if access.allows("current"):
        for element in free:
            if element.kind in _CLAMPED and any(point in points for point in element.points):
                yield Candidate("current", setup.id, Current(element.id))
    if access.allows("resistance"):
        for red, black in (*((point, REFERENCE) for point in to_ground), *across):
            yield Candidate("resistance", setup.id, Resistance(red, black))
    if access.allows("lamp"):
        sensitive = {point for element in circuit.elements if element.kind in _SENSITIVE for point in element.points}
        for point in to_ground:
            if point in sensitive:
                continue
            yield Candidate("lamp", setup.id, Lamp(REFERENCE, point))
            if point != circuit.supply_point and circuit.supply_point in points:
                yield Candidate("lamp", setup.id, Lamp(circuit.supply_point, point))


def _can_be_swapped(element: Element, access: Access) -> bool:
    return access.allows("swap", element.id) and (element.kind in _EASILY_SWAPPED or element.id in access.fit_minutes
                                                  and element.kind in LOAD_KINDS)


def _together(free: list[Element]) -> list[tuple[str, ...]]:
    """Return what can be looked at or moved at once: each element by itself, and all pins of a plug."""
    plugs: dict[str, list[str]] = {}
    for element in free:
        if element.connector:
            plugs.setdefault(element.connector, []).append(element.id)
    single = [(element.id,) for element in free if element.kind not in SOURCE_KINDS]
    return [*single, *(tuple(pins) for pins in plugs.values() if len(pins) > 1)]


def _movements(circuit: Circuit, free: list[Element], access: Access) -> Iterator[Candidate]:
    """Yield movement tests of what can be moved, watching the load that takes most in the setup where it runs."""
    if not access.allows("movement"):
        return
    loads = [element for element in free if element.kind in LOAD_KINDS and element.between]
    if not loads:
        return
    setup = max(circuit.setups, key=lambda one: (len(one.on) - len(_taken_away(one)), one.id != AS_FOUND))
    watched = min(loads, key=lambda element: element.resistance_ohm)
    for together in _together(free):
        if circuit.element(together[0]).kind in WIRING_KINDS:
            yield Candidate("movement", setup.id, Voltage(*watched.between), together)


def already_made(evidence: tuple[Evidence, ...]) -> frozenset[str]:
    """Return the keys of the tests that were made already."""
    made = set()
    for one in evidence:
        kind = {"Measured": {"V": "voltage", "A": "current", "ohm": "resistance"}.get(
            getattr(getattr(one, "probe", None), "unit", ""), ""), "LampSeen": "lamp", "Looked": "look",
            "Moved": "movement", "Swapped": "swap"}.get(type(one).__name__, "")
        if not kind:
            continue
        if kind in ("look", "swap"):
            elements = one.elements if kind == "look" else (one.element,)
            made |= {Candidate(kind, elements=(element,)).key for element in elements}
            made.add(Candidate(kind, elements=tuple(elements)).key)
        elif kind == "movement":
            made |= {Candidate(kind, one.setup, elements=(element,)).key for element in one.elements}
            made.add(Candidate(kind, one.setup, elements=one.elements).key)
        else:
            made.add(Candidate(kind, one.setup, one.probe).key)
    return frozenset(made)
