"""Circuits as they are found in vehicles, made up by a seed, with a fault in each and true values within tolerance.

Small ones have a supply, a fuse, wiring, a switch, one load and its ground; larger ones several branches with lamps, a
shared ground and a relay. They are described as a technician describes them, and what is not said is assumed by the
program. Which fault a case has is drawn by what the program thinks of the suspects before any test, its size evenly
over its decades.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from workshop_log.diagnosis.suspects import COMES_AND_GOES, NOTHING_WRONG, Suspect, Weights
from workshop_log.electrics.circuit import LOAD_KINDS, SOURCE_KINDS, Circuit, Element
from workshop_log.electrics.faults import LOW_VOLTAGE, Fault, limits
from workshop_log.electrics.probes import FORWARD_TOLERANCE
from workshop_log.exchange import records
from workshop_log.exchange.circuits import circuit_of

FUSES_A = (5, 7.5, 10, 15, 20, 25, 30, 40)
SUPPLY_V = 12.6
# A relay's tolerance is that of its contacts; a coil's resistance is known better.
COIL_TOLERANCE = 0.15
# What a technician begins with: a load that was seen not to work, or nothing at all.
WITH_COMPLAINT = 0.85


@dataclass(frozen=True)
class Vehicle:
    """A circuit with what it takes to work on it.

    Attributes
    ----------
    size, seed : str, int
        "small" or "large", and what it was made by.
    circuit : Circuit
        As the program sees it.
    access_minutes : dict[str, float]
        Strip-down before an element can be reached. [min]
    complaint : tuple[str, str]
        A load, and a setup in which it works when nothing is wrong.
    """

    size: str
    seed: int
    circuit: Circuit
    access_minutes: dict[str, float]
    complaint: tuple[str, str]


@dataclass(frozen=True)
class Truth:
    """What is really the matter.

    Attributes
    ----------
    faults : tuple[Fault, ...]
        One fault of a size, two, or none.
    comes_and_goes : bool
        Whether it is there only now and then.
    chance : float
        How often it is there then.
    circuit : Circuit
        The circuit with its true values.
    """

    faults: tuple[Fault, ...]
    comes_and_goes: bool
    chance: float
    circuit: Circuit = field(repr=False)

    @property
    def words(self) -> str:
        """The fault in words."""
        words = " and ".join(fault.words() for fault in self.faults) or "nothing wrong"
        return f"{words}, there {self.chance:.0%} of the time" if self.comes_and_goes else words


def weights(with_complaint: bool, appears: str = "always") -> Weights:
    """Return what is thought of the suspects before any test, by what the customer says of when it is there."""
    return Weights(comes_and_goes=COMES_AND_GOES[appears], healthy=NOTHING_WRONG[True if with_complaint else None])


def truth(vehicle: Vehicle, suspects: Sequence[Suspect], prior: Sequence[float], chance: random.Random, *,
          spread: float = 1.0) -> Truth:
    """Return a fault drawn by what is thought before any test, and true values within so many times the tolerances."""
    true = replace(vehicle.circuit, elements=tuple(_true_element(element, chance, spread)
                                                   for element in vehicle.circuit.elements))
    suspect, = chance.choices(suspects, prior)
    return Truth(tuple(_of_a_size(vehicle.circuit.element(fault.element), fault, chance) for fault in suspect.faults),
                 suspect.comes_and_goes, chance.random() if suspect.comes_and_goes else 1.0, true)


def _of_a_size(element: Element, fault: Fault, chance: random.Random) -> Fault:
    if not fault.has_amount:
        return fault
    low, high = limits(element, fault.kind)
    amount = chance.uniform(low, high) if fault.kind == LOW_VOLTAGE else math.exp(
        chance.uniform(math.log(low), math.log(high)))
    return replace(fault, amount=amount, position=chance.random())


def _true_element(element: Element, chance: random.Random, spread: float) -> Element:
    def near(value: float, tolerance: float) -> float:
        lowest, highest = max(1 - spread * tolerance, 0.0), 1 + spread * tolerance
        return value * chance.uniform(lowest, highest)

    return replace(
        element, resistance_ohm=near(element.resistance_ohm, element.tolerance),
        voltage_v=element.voltage_v + chance.uniform(-1, 1) * spread * element.voltage_tolerance_v,
        lamp_power_w=near(element.lamp_power_w, element.tolerance),
        coil_ohm=near(element.coil_ohm, min(element.tolerance, COIL_TOLERANCE)),
        forward_voltage_v=near(element.forward_voltage_v, FORWARD_TOLERANCE),
        # A motor in a dead circuit is anything between standing and running.
        standing_ohm=chance.uniform(element.standing_ohm, element.resistance_ohm) if element.standing_ohm else 0.0)


# --- circuits -------------------------------------------------------------------------------------------------------


class _Maker:
    """Adds elements one after another and names their points."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.chance = random.Random(f"vehicle {seed}")
        self.elements: list[records.Element] = []
        self.points = 0

    def point(self) -> str:
        self.points += 1
        return f"p{self.points}"

    def add(self, kind: str, start: str, end: str, **said: object) -> None:
        """Add an element between two points."""
        self.put(kind, between=(start, end), **said)

    def put(self, kind: str, **said: object) -> None:
        """Add an element; every third or so lies behind something."""
        count = sum(element.kind == kind for element in self.elements)
        name = f"{kind.title().replace(' ', '')}{count + 1}"
        if kind not in SOURCE_KINDS and self.chance.random() < 0.35:
            said["access_minutes"] = self.chance.choice([2, 5, 10, 20])
        self.elements.append(records.Element(id=name, kind=kind, **said))

    def wire(self, start: str, end: str) -> None:
        length_m, section = self.chance.uniform(0.3, 4.0), self.chance.choice(["0.75", "1", "1.5", "2.5"])
        self.add("wire", start, end, length=f"{length_m:.1f} m", section=f"{section} mm2")

    def fuse(self, start: str, end: str, load_a: float) -> None:
        rating = next((rating for rating in FUSES_A if rating > 1.5 * load_a), FUSES_A[-1])
        self.add("fuse", start, end, rating=f"{rating} A")

    def load_kind(self) -> tuple[str, float, dict[str, object]]:
        """Return a kind of load, about what it takes [A], and what is said of it."""
        kind = self.chance.choice(["lamp", "lamp", "lamp", "motor", "heater", "load"])
        if kind == "lamp":
            power = self.chance.choice([5, 10, 21, 55])
            return kind, power / 12, {"power": f"{power} W", "at": "12 V"}
        current_a = round(math.exp(self.chance.uniform(math.log(0.5), math.log(15))), 1)
        return kind, current_a, {"current": f"{current_a} A", "at": "12 V"}

    def pieces(self, start: str, end: str, kinds: list[str], load_a: float = 1.0) -> None:
        """Add pieces of wiring in a row; the last one ends at a given point."""
        for number, kind in enumerate(kinds):
            to = end if number == len(kinds) - 1 else self.point()
            if kind == "wire":
                self.wire(start, to)
            elif kind == "fuse":
                self.fuse(start, to, load_a)
            elif kind == "contact":
                self.add("contact", start, to, connector=f"X{1 + sum(e.kind == 'contact' for e in self.elements)}")
            else:
                self.add(kind, start, to)
            start = to

    def some(self, *kinds_and_chances: tuple[str, float]) -> list[str]:
        return [kind for kind, chance in kinds_and_chances if self.chance.random() < chance]


def small_vehicle(seed: int) -> Vehicle:
    """Return a vehicle with one load in a row of four to nine elements."""
    maker = _Maker(seed)
    chance = maker.chance
    kind, load_a, said = maker.load_kind()
    maker.add("battery", "B+", "B-", voltage=f"{SUPPLY_V} V")
    feed = ["fuse", *maker.some(("wire", 0.6)), "switch", *maker.some(("wire", 0.6), ("contact", 0.5))]
    maker.pieces("B+", "feed", feed, load_a)
    maker.add(kind, "feed", "back", **said)
    maker.pieces("back", "B-", [*maker.some(("wire", 0.5)), "ground point"])
    others = [records.Setup(id="battery off", on=("Switch1",), disconnected=("Battery1",))]
    if "contact" in feed:
        others.append(records.Setup(id="X1 apart", on=("Switch1",), unplugged=("X1",)))
    return _vehicle("small", maker, [records.Setup(id="on", on=("Switch1",)),
                                     *chance.sample(others, chance.randint(0, len(others)))])


def large_vehicle(seed: int) -> Vehicle:
    """Return a vehicle with several branches, a shared ground and a relay, of twelve to some twenty-five elements."""
    maker = _Maker(seed)
    chance = maker.chance
    maker.add("battery", "B+", "B-", voltage=f"{SUPPLY_V} V")
    maker.pieces("B+", "supply", ["fuse", *maker.some(("wire", 0.7))], 20.0)
    maker.pieces("star", "B-", [*maker.some(("wire", 0.5)), "ground point"])
    maker.add("switch", "supply", "lights")
    for _ in range(chance.randint(1, 2)):
        kind, load_a, said = maker.load_kind()
        front, back = maker.point(), maker.point()
        maker.pieces("lights", front, ["fuse", *maker.some(("wire", 0.7), ("contact", 0.4))], load_a)
        if chance.random() < 0.4:
            maker.add(kind, front, "star", **said)
        else:
            maker.add(kind, front, back, **said)
            maker.wire(back, "star")
    kind, load_a, said = maker.load_kind()
    fed, coil, front, back = maker.point(), maker.point(), maker.point(), maker.point()
    maker.pieces("supply", fed, ["fuse", *maker.some(("wire", 0.4))], load_a)
    maker.put("relay", coil=(fed, coil), common=fed, normally_open="87")
    maker.pieces(coil, "star", [*maker.some(("wire", 0.6), ("contact", 0.3)), "switch"])
    maker.pieces("87", front, ["wire", *maker.some(("contact", 0.5))])
    maker.add(kind, front, back, **said)
    maker.pieces(back, "star", ["wire"])
    if chance.random() < 0.3:
        maker.add("diode", "lights", tail := maker.point())
        maker.add("lamp", tail, "star", power="5 W", at="12 V")
    switches = tuple(element.id for element in maker.elements if element.kind == "switch")
    others = [records.Setup(id="lights only", on=switches[:1]),
              records.Setup(id="battery off", on=switches, disconnected=("Battery1",))]
    return _vehicle("large", maker, [records.Setup(id="all on", on=switches),
                                     *chance.sample(others, chance.randint(0, 2))])


def _vehicle(size: str, maker: _Maker, setups: list[records.Setup]) -> Vehicle:
    circuit = circuit_of(records.Circuit(id="made up", elements=tuple(maker.elements), setups=tuple(setups)))
    loads = [element.id for element in circuit.elements if element.kind in LOAD_KINDS]
    access = {element.id: float(element.access_minutes) for element in maker.elements if element.access_minutes}
    return Vehicle(size, maker.seed, circuit, access, (maker.chance.choice(loads), setups[0].id))
