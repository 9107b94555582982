"""Circuits made up by a seed: all kinds of element, fault and setup, wired as in a vehicle and sometimes oddly."""

from __future__ import annotations

import math
import random
from dataclasses import replace

from workshop_log.electrics.circuit import Bridge, Circuit, Element, Setup
from workshop_log.electrics.faults import Fault, amounts, kinds_of
from workshop_log.electrics.fuses import cold_resistance_ohm
from workshop_log.electrics.probes import Current, Lamp, Probe, Resistance, Voltage


class _Maker:
    """Adds elements one after another and names their points."""

    def __init__(self, chance: random.Random) -> None:
        self.chance = chance
        self.elements: list[Element] = []
        self.points = 0

    def point(self) -> str:
        self.points += 1
        return f"p{self.points}"

    def add(self, kind: str, start: str, end: str, **facts) -> Element:
        element = Element(f"{kind.title().replace(' ', '')}{len(self.elements)}", kind, (start, end), **facts)
        self.elements.append(element)
        return element

    def between(self, low: float, high: float) -> float:
        return math.exp(self.chance.uniform(math.log(low), math.log(high)))

    def wiring(self, start: str, *, may_switch: bool = True) -> str:
        """Add one to four pieces of wiring in a row and return where they end."""
        for _ in range(self.chance.randint(1, 4)):
            end = self.point()
            kind = self.chance.choice(["wire", "wire", "contact", "fuse", "switch", "diode"] if may_switch
                                      else ["wire", "wire", "contact"])
            if kind == "fuse":
                rating = self.chance.choice([3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0])
                self.add("fuse", start, end, resistance_ohm=cold_resistance_ohm(rating), rating_a=rating, tolerance=0.2)
            elif kind == "contact":
                self.add("contact", start, end, resistance_ohm=self.between(0.5e-3, 0.05), tolerance=1.0,
                         connector=f"X{self.chance.randint(1, 4)}")
            elif kind == "diode":
                # Most diodes in a feed let the current through; some stand the other way.
                ends = (start, end) if self.chance.random() < 0.8 else (end, start)
                self.add("diode", *ends, forward_voltage_v=self.chance.choice([0.4, 0.7, 1.0]),
                         resistance_ohm=self.chance.choice([0.0, 0.02]))
            elif kind == "wire" and self.chance.random() < 0.05:
                self.add("wire", start, end)
            else:
                self.add(kind, start, end, resistance_ohm=self.between(1e-3, 0.3), tolerance=0.1)
            start = end
        return start

    def load(self, start: str, end: str) -> None:
        """Add one load, or a lamp."""
        kind = self.chance.choice(["lamp", "lamp", "motor", "heater", "coil", "sensor", "control unit", "load"])
        if kind == "lamp":
            self.add("lamp", start, end, lamp_power_w=self.chance.choice([1.2, 5.0, 10.0, 21.0, 55.0]), lamp_at_v=12.0,
                     tolerance=0.1)
            return
        low, high = {"sensor": (50.0, 50e3), "control unit": (5.0, 5e3), "coil": (10.0, 200.0)}.get(kind, (0.6, 60.0))
        self.add(kind, start, end, resistance_ohm=self.between(low, high), tolerance=0.15)

    def relay(self, feed: str, ground: str) -> str:
        """Add a relay with its switch and return the point that it feeds."""
        coil, out = self.point(), self.point()
        number = len(self.elements)
        changeover = self.chance.random() < 0.4
        rest = self.point() if changeover else None
        self.elements.append(Element(
            f"Relay{number}", "relay", coil=(feed, coil), coil_ohm=self.between(40.0, 200.0),
            pull_in_v=self.chance.uniform(5.0, 9.0), common=feed, normally_open=out, normally_closed=rest,
            resistance_ohm=self.between(1e-3, 0.02), tolerance=0.1))
        self.add("switch", coil, ground, resistance_ohm=0.02)
        if rest:
            self.load(rest, ground)
        return out


def circuit_and_setup(seed: int, elements: int = 0) -> tuple[Circuit, Setup]:
    """Return a circuit, of about this many elements where it is said, and one of its setups."""
    chance = random.Random(seed)
    maker = _Maker(chance)
    wanted = elements or chance.randint(2, 45)
    maker.add("battery", "B+", "B-", voltage_v=chance.choice([12.6, 12.2, 24.8]), voltage_tolerance_v=0.2,
              resistance_ohm=maker.between(4e-3, 0.03), tolerance=0.5)
    if chance.random() < 0.3:
        maker.add("source", "5V", "B-", voltage_v=5.0, voltage_tolerance_v=0.1, resistance_ohm=maker.between(0.1, 50.0),
                  tolerance=0.2)
        maker.load("5V", "signal")
        maker.load("signal", "B-")
    grounds = ["B-"]
    for _ in range(chance.randint(0, 2)):
        stud = maker.point()
        maker.add("ground point", stud, "B-", resistance_ohm=maker.between(0.5e-3, 0.02), tolerance=1.0)
        grounds.append(stud)
    feeds = ["B+"]
    while len(maker.elements) < wanted:
        ground = chance.choice(grounds)
        end = maker.wiring(chance.choice(feeds))
        feeds.append(end)
        what = chance.random()
        if what < 0.25:
            end = maker.relay(end, ground)
        if what < 0.85:
            back = maker.point() if chance.random() < 0.5 else ground
            maker.load(end, back)
            if back != ground:
                maker.add("wire", back, ground, resistance_ohm=maker.between(1e-3, 0.3), tolerance=0.1)
    setup = _setup(chance, maker.elements)
    return Circuit(f"seed {seed}", "", tuple(maker.elements), (setup,)), setup


def _setup(chance: random.Random, elements: list[Element]) -> Setup:
    switches = [element.id for element in elements if element.kind == "switch"]
    fuses = [element.id for element in elements if element.kind == "fuse"]
    connectors = sorted({element.connector for element in elements if element.connector})
    points = sorted({point for element in elements for point in element.points})
    setup = Setup("made up", on=tuple(s for s in switches if chance.random() < 0.75))
    if fuses and chance.random() < 0.15:
        setup = replace(setup, pulled=(chance.choice(fuses),))
    if connectors and chance.random() < 0.15:
        setup = replace(setup, unplugged=(chance.choice(connectors),))
    if chance.random() < 0.1:
        setup = replace(setup, disconnected=(elements[0].id,))
    if chance.random() < 0.15:
        between = tuple(chance.sample(points, 2))
        through, rating = chance.choice([("lamp", 0.4), ("lamp", 1.75), ("fused lead", 5.0)])
        setup = replace(setup, bridges=(Bridge(between, through, rating),))
    return setup


def random_fault(seed: int, circuit: Circuit) -> Fault:
    """Return a fault of some size that an element of the circuit may have."""
    chance = random.Random(seed)
    element = chance.choice(circuit.elements)
    kind = chance.choice(kinds_of(element))
    sizes = amounts(element, kind)
    return Fault(element.id, kind, chance.choice(sizes) if sizes else None, chance.choice([0.0, 0.3, 0.5, 1.0]))


def random_probe(seed: int, circuit: Circuit, *, ohmmeter: bool = False) -> Probe:
    """Return an instrument somewhere in the circuit."""
    chance = random.Random(seed)
    red, black = chance.sample(circuit.points, 2)
    what = chance.random()
    if ohmmeter and what < 0.2:
        return Resistance(red, black)
    if what < 0.6:
        return Voltage(red, chance.choice(["B-", black]) if red != "B-" else black)
    return Lamp("B-" if red != "B-" else black, red) if what < 0.8 else Current(chance.choice(circuit.elements).id)
