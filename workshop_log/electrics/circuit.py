"""Elements, setups and circuits as plain numbers in SI units, every one of them filled in.

What the technician did not say was filled in before (`exchange.circuits`), and each element names what was assumed
of it in `defaults`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from workshop_log.errors import WorkshopLogError

REFERENCE = "B-"
AS_FOUND = "as found"

ElementKind = Literal["battery", "source", "fuse", "wire", "contact", "switch", "relay", "lamp", "motor", "heater",
                      "coil", "sensor", "control unit", "load", "diode", "ground point"]
# What makes a voltage of its own.
SOURCE_KINDS = frozenset({"battery", "source"})
# What brings the current to a load and takes it away again; a healthy one loses next to nothing.
WIRING_KINDS = frozenset({"fuse", "wire", "contact", "switch", "relay", "ground point"})
# What the current is meant for.
LOAD_KINDS = frozenset({"lamp", "motor", "heater", "coil", "sensor", "control unit", "load"})


class CircuitError(WorkshopLogError, ValueError):
    """A circuit that cannot be computed as described; the sentence names the element."""


class UnknownNameError(WorkshopLogError, LookupError):
    """A point, element or setup that the circuit does not have; `name` is what was asked for."""

    def __init__(self, what: str, name: str, circuit: str) -> None:
        self.name = name
        super().__init__(f"Circuit {circuit} has no {what} “{name}”: correct the name, or add it to the circuit.")


@dataclass(frozen=True, slots=True)
class Element:
    """One part of a circuit.

    Attributes
    ----------
    id, kind, title : str
        Its name, its kind (`ElementKind`) and what people call it.
    between : tuple[str, str] | None
        The points it lies between, the supply side first; None for a relay, which has `coil` and contacts.
    resistance_ohm : float
        Of the element when it conducts: of a source its internal one, of a switch, contact, ground point or relay
        that of the closed contact, of a lamp the hot filament's at `lamp_at_v`, of a motor while it runs. [Ω]
    tolerance : float
        The resistance surely lies within ± this part of it: 0.1 for 10 %.
    voltage_v, voltage_tolerance_v : float
        Open-circuit voltage of a source, and ± how much of it is not known. [V]
    rating_a : float
        Rated current of a fuse; 0 where nobody knows it, and it is then taken never to blow. [A]
    lamp_power_w, lamp_at_v : float
        A filament lamp's rating. [W], [V]
    standing_ohm : float
        A motor's resistance while it stands; 0 for everything that has no other resistance at rest. [Ω]
    coil : tuple[str, str] | None
        A relay's coil points.
    coil_ohm, pull_in_v : float
        A relay's coil resistance, and the voltage from which it pulls in. [Ω], [V]
    common, normally_open, normally_closed : str | None
        A relay's contact points.
    forward_voltage_v : float
        Of a diode at `curves.DIODE_RATED_A`. [V]
    length_m, section_mm2 : float
        Of a wire; 0 where not known. [m], [mm²]
    connector : str
        The connector that a contact is a pin of.
    protected : str
        "pyrotechnic", "high voltage" or nothing: no test is ever made on a protected element.
    faults : tuple[str, ...]
        The kinds of fault that it may have; empty for those of its kind.
    defaults : tuple[str, ...]
        What was assumed because nobody said it, in words: "resistance 5 mΩ (default)".
    """

    id: str
    kind: ElementKind
    between: tuple[str, str] | None = None
    title: str = ""
    resistance_ohm: float = 0.0
    tolerance: float = 0.0
    voltage_v: float = 0.0
    voltage_tolerance_v: float = 0.0
    rating_a: float = 0.0
    lamp_power_w: float = 0.0
    lamp_at_v: float = 0.0
    standing_ohm: float = 0.0
    coil: tuple[str, str] | None = None
    coil_ohm: float = 0.0
    pull_in_v: float = 0.0
    common: str | None = None
    normally_open: str | None = None
    normally_closed: str | None = None
    forward_voltage_v: float = 0.0
    length_m: float = 0.0
    section_mm2: float = 0.0
    connector: str = ""
    protected: str = ""
    faults: tuple[str, ...] = ()
    defaults: tuple[str, ...] = ()

    @property
    def points(self) -> tuple[str, ...]:
        """The points that it touches, the supply side first."""
        contacts = (self.common, self.normally_open, self.normally_closed)
        return (*(self.between or ()), *(self.coil or ()), *(point for point in contacts if point is not None))

    @property
    def name(self) -> str:
        """What it is called in a sentence: its id, with its title where it has one."""
        return f"{self.id} ({self.title})" if self.title else self.id


@dataclass(frozen=True, slots=True)
class Bridge:
    """A lamp or a fused lead laid between two points for a test.

    Attributes
    ----------
    between : tuple[str, str]
        The two points.
    through : str
        "lamp" or "fused lead".
    rating_a : float
        Current of the lamp at its rated voltage, or rating of the fuse. [A]
    lamp_at_v : float
        Rated voltage of the lamp. [V]
    """

    between: tuple[str, str]
    through: Literal["lamp", "fused lead"]
    rating_a: float
    lamp_at_v: float = 12.0


@dataclass(frozen=True, slots=True)
class Setup:
    """The condition under which a test is made.

    Attributes
    ----------
    id, title : str
        Its name, and what it says in words.
    on : tuple[str, ...]
        Switches that are closed; a relay named here is held pulled in.
    pulled, unplugged, disconnected : tuple[str, ...]
        Elements that conduct nothing now; `unplugged` may also name a connector with all its contacts.
    bridges : tuple[Bridge, ...]
        What is laid between points for the test.
    """

    id: str
    title: str = ""
    on: tuple[str, ...] = ()
    pulled: tuple[str, ...] = ()
    unplugged: tuple[str, ...] = ()
    disconnected: tuple[str, ...] = ()
    bridges: tuple[Bridge, ...] = ()

    def takes_away(self, element: Element) -> bool:
        """Whether the element is pulled, unplugged or disconnected in this setup."""
        return (element.id in self.pulled or element.id in self.disconnected or element.id in self.unplugged
                or bool(element.connector) and element.connector in self.unplugged)


# Nothing on, nothing pulled: every circuit has it.
AS_FOUND_SETUP = Setup(AS_FOUND)


@dataclass(frozen=True)
class Circuit:
    """The elements and points that concern the complaint.

    Attributes
    ----------
    id, title : str
        Its name in the job.
    elements : tuple[Element, ...]
        In the order in which the technician described them.
    setups : tuple[Setup, ...]
        With the setup `as found`, which always exists, first.
    """

    id: str
    title: str = ""
    elements: tuple[Element, ...] = ()
    setups: tuple[Setup, ...] = ()

    def __post_init__(self) -> None:
        if all(setup.id != AS_FOUND for setup in self.setups):
            object.__setattr__(self, "setups", (AS_FOUND_SETUP, *self.setups))

    @cached_property
    def points(self) -> tuple[str, ...]:
        """All points: the reference first, then in the order in which the elements name them."""
        return tuple(dict.fromkeys((REFERENCE, *(point for element in self.elements for point in element.points))))

    @cached_property
    def touching(self) -> dict[str, tuple[Element, ...]]:
        """The elements at each point, in the circuit's order."""
        return {point: tuple(element for element in self.elements if point in element.points) for point in self.points}

    @cached_property
    def by_id(self) -> dict[str, Element]:
        """The elements by their ids."""
        return {element.id: element for element in self.elements}

    def element(self, name: str) -> Element:
        """Return the element of this id.

        Raises
        ------
        UnknownNameError
            If there is none.
        """
        if name not in self.by_id:
            raise UnknownNameError("element", name, self.id)
        return self.by_id[name]

    def setup(self, name: str = AS_FOUND) -> Setup:
        """Return the setup of this id; an empty id means as found.

        Raises
        ------
        UnknownNameError
            If there is none.
        """
        for setup in self.setups:
            if setup.id == (name or AS_FOUND):
                return setup
        raise UnknownNameError("setup", name, self.id)

    @cached_property
    def supply_point(self) -> str:
        """The point that a short to supply leads to: the first battery's, else the first source's supply side."""
        for kind in ("battery", "source"):
            for element in self.elements:
                if element.kind == kind and element.between:
                    return element.between[0]
        return REFERENCE

    def check(self) -> list:
        """Return all that makes this circuit one that cannot, or hardly, be computed (`checking.check_circuit`)."""
        from workshop_log.electrics.checking import check_circuit

        return check_circuit(self)
