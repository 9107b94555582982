"""A vehicle that answers every test from the circuit simulator: true values, the fault laid in, meter or lamp too.

The program's own solver has no part in it. What a person sees and feels is drawn by the tables that the program states
(`diagnosis.telling`); what a meter shows lies evenly within its accuracy and is rounded to its digits.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from published import ngspice
from published.vehicles import Truth, Vehicle

from workshop_log.diagnosis import telling
from workshop_log.diagnosis.candidates import TRIALS, Candidate
from workshop_log.diagnosis.evidence import Evidence, LampSeen, Looked, Measured, Moved, Observed, Swapped
from workshop_log.diagnosis.suspects import Suspect
from workshop_log.electrics.circuit import LOAD_KINDS, Circuit
from workshop_log.electrics.faults import OPEN, Fault
from workshop_log.electrics.probes import (
    DEAD_BELOW_V,
    FLOATING_V,
    LEADS_STANDARD,
    Current,
    Lamp,
    Probe,
    Resistance,
)
from workshop_log.electrics.solver import LIVE_FROM_V
from workshop_log.measuring.entry import read_entry
from workshop_log.measuring.instruments import DEFAULT_COUNTS, DEFAULT_PERCENT
from workshop_log.measuring.uncertainty import standard_uncertainty

# Counts of a display, and how many decimals its smallest range has.
COUNTS, DECIMALS = 6000, {"V": 3, "A": 2, "ohm": 1}
# An ohmmeter shows OL beyond. [Ω]
OVER_RANGE_OHM = 60e6
# A meter on a point that nothing connects shows anything so often.
SHOWS_ANYTHING = 0.3


class NoPointError(Exception):
    """A circuit for which the simulator finds no operating point."""


@dataclass
class Simulated:
    """A vehicle with its fault.

    Attributes
    ----------
    vehicle, truth
        The circuit, and what is really the matter.
    simulator : Simulator
        A running one.
    design : dict[str, tuple[float, float]]
        As `design` returns it.
    key : str
        What the case is called: everything that is drawn hangs on it and on the test, not on the order of tests.
    misread : float
        How often a reading is written down wrongly.
    """

    vehicle: Vehicle
    truth: Truth
    simulator: ngspice.Simulator
    design: dict[str, tuple[float, float]]
    key: str
    misread: float = 0.0
    _settled: dict[tuple, tuple] = field(default_factory=dict, repr=False)
    _asked: dict[str, int] = field(default_factory=dict, repr=False)

    @property
    def suspect(self) -> Suspect:
        """The truth as the program names it."""
        return Suspect(tuple(fault.of(None) for fault in self.truth.faults), self.truth.comes_and_goes)

    def answer(self, test: Candidate, step: str) -> Evidence:
        """Return what a test finds.

        Raises
        ------
        NoPointError
            If the simulator finds none.
        """
        chance = self._chance(f"{test.key} {test.probe}")
        if test.kind == "look":
            found = Looked(step=step, elements=test.elements, damage=True)
            there = Suspect((*self.suspect.faults, *self._blown))
            return replace(found, damage=chance.random() < telling.look_says(found, (there,), self.vehicle.circuit)[0])
        if test.kind == "swap":
            found = Swapped(step=step, element=test.elements[0], cured=True)
            return replace(found, cured=chance.random() < telling.swap_says(found, (self.suspect,))[0])
        if test.kind == "movement":
            return self._movement(test, step, chance)
        if test.kind == "lamp":
            share = self.value(test.setup, test.probe, self._is_there(chance))[0] / test.probe.rated_v
            looks = telling.lamp_looks(share)
            look, = chance.choices(list(looks), [float(probability) for probability in looks.values()])
            return LampSeen(step=step, setup=test.setup, probe=test.probe, look=look)
        return self._reading(test.setup, test.probe, step, chance)

    def works(self, element: str, setup: str, step: str) -> Observed:
        """Return whether a load is seen to work."""
        chance = self._chance(f"{element} works in {setup}")
        there = self.truth.faults if self._is_there(chance) else ()
        volts, amperes = _across(*self._at(setup, None, self.truth.circuit, there), element)
        voltage_share, current_share = (np.array([now / usual]) for now, usual in zip(
            (volts, amperes), self.design[element], strict=True))
        own = tuple(fault.kind for fault in there if fault.element == element)
        probability = (telling.load_works(own, voltage_share, current_share) if own else telling.works(voltage_share))
        return Observed(step=step, setup=setup, element=element, works=chance.random() < probability[0])

    # --- what a test meets ------------------------------------------------------------------------------------------

    def _chance(self, test: str) -> random.Random:
        """Return chance that hangs on the case, the test and how often it was made."""
        self._asked[test] = self._asked.get(test, 0) + 1
        return random.Random(f"{self.key} {test} {self._asked[test]}")

    def _is_there(self, chance: random.Random) -> bool:
        return chance.random() < self.truth.chance

    def _movement(self, test: Candidate, step: str, chance: random.Random) -> Moved:
        shows = True
        if test.probe is not None:
            healthy_value = self.value(test.setup, test.probe, False)[0]
            shows = abs(self.value(test.setup, test.probe, True)[0] - healthy_value) > 0.05 * abs(healthy_value)
        none = Moved(step=step, setup=test.setup, elements=test.elements, probe=test.probe, trials=TRIALS, shown=0)
        probability = [math.comb(TRIALS, shown) * telling.movement_says(replace(none, shown=shown), (self.suspect,),
                                                                        np.array([float(shows)]))[0]
                       for shown in range(TRIALS + 1)]
        shown, = chance.choices(range(TRIALS + 1), probability)
        return replace(none, shown=shown)

    def _at(self, setup: str, probe: Probe | None, circuit: Circuit, faults: tuple) -> tuple:
        key = setup, probe, circuit is self.truth.circuit, faults
        if key not in self._settled:
            self._settled[key] = _found(ngspice.settled(self.simulator, circuit, circuit.setup(setup), faults, probe))
        return self._settled[key]

    def value(self, setup: str, probe: Probe, is_there: bool) -> tuple[float, bool]:
        """Return what an instrument without error would show, and whether a voltmeter's lead floats."""
        faults = self.truth.faults if is_there else ()
        if isinstance(probe, Current):
            net, point = self._at(setup, None, self.truth.circuit, faults)
            return net.current_a(probe.through, point), False
        if isinstance(probe, Resistance):
            return self._resistance(setup, probe, faults), False
        net, point = self._at(setup, probe, self.truth.circuit, faults)
        if isinstance(probe, Lamp):
            return _volts(net, point, probe.probe) - _volts(net, point, probe.clip), False
        hangs = net.groups(point)
        return (_volts(net, point, probe.red) - _volts(net, point, probe.black),
                bool(hangs[probe.red] or hangs[probe.black]))

    def _resistance(self, setup: str, probe: Resistance, faults: tuple) -> float:
        """Return the resistance between two points; not a number where something drives the leads."""
        net, before = self._at(setup, None, self.resting, faults)
        hangs, red, black = net.groups(before), probe.red, probe.black
        between_v = _volts(net, before, red) - _volts(net, before, black)
        live = [not hangs[lead] and abs(_volts(net, before, lead)) >= LIVE_FROM_V for lead in (red, black)]
        if any(live) or abs(between_v) > DEAD_BELOW_V:
            return math.nan
        if hangs[red] != hangs[black]:
            return math.inf
        net, point = self._at(setup, probe, self.resting, faults)
        return (_volts(net, point, red) - _volts(net, point, black) - between_v) / ngspice.OHMMETER_A

    @cached_property
    def _blown(self) -> tuple[Fault, ...]:
        """The fuses that the fault has blown, in whatever setup: whoever looks sees them open."""
        blown = {fuse for setup in self.vehicle.circuit.setups
                 for fuse in self._at(setup.id, None, self.truth.circuit, self.truth.faults)[0].state.blown}
        return tuple(Fault(fuse, OPEN) for fuse in sorted(blown))

    @cached_property
    def resting(self) -> Circuit:
        """The true circuit with its motors as they are while nobody runs them."""
        return replace(self.truth.circuit, elements=tuple(
            replace(element, resistance_ohm=element.standing_ohm) if element.standing_ohm else element
            for element in self.truth.circuit.elements))

    # --- what is written down ---------------------------------------------------------------------------------------

    def _reading(self, setup: str, probe: Probe, step: str, chance: random.Random) -> Measured:
        value, floats = self.value(setup, probe, self._is_there(chance))
        unit = probe.unit
        if floats and chance.random() < SHOWS_ANYTHING:
            value = chance.uniform(-0.2, 1.2) * max(abs(e.voltage_v) for e in self.vehicle.circuit.elements)
        elif floats:
            value += chance.gauss(0, FLOATING_V)
        if math.isnan(value):
            value = 10 ** chance.uniform(-1, 7)
        value += chance.gauss(0, LEADS_STANDARD[unit])
        if unit == "ohm":
            value = max(value, 0.0)
        if value >= OVER_RANGE_OHM:
            return Measured(step=step, setup=setup, probe=probe, low=OVER_RANGE_OHM, high=math.inf,
                            standard=0.0)
        value += chance.uniform(-1, 1) * (abs(value) * DEFAULT_PERCENT / 100 + DEFAULT_COUNTS * 10.0 ** -_decimals(
            value, unit))
        text = f"{value:.{max(_decimals(value, unit), 0)}f}"
        if self.misread and chance.random() < self.misread:
            text = misread(text, chance)
        entry = read_entry(f"{text} {unit}")
        return Measured(step=step, setup=setup, probe=probe, low=entry.value, high=entry.value,
                        standard=standard_uncertainty(entry).standard)


def design(vehicle: Vehicle, simulator: ngspice.Simulator) -> dict[str, tuple[float, float]]:
    """Return for each load its largest voltage and current when nothing is wrong, over all setups."""
    circuit = vehicle.circuit
    stands = [_found(ngspice.settled(simulator, circuit, setup, ())) for setup in circuit.setups]
    return {load.id: tuple(max(each) for each in zip(*(_across(*stand, load.id) for stand in stands), strict=True))
            for load in circuit.elements if load.kind in LOAD_KINDS}


def _found(stand: tuple | None) -> tuple:
    if stand is None:
        raise NoPointError
    return stand


def _across(net: ngspice.Netlist, point: dict[str, float], element: str) -> tuple[float, float]:
    start, end = net.circuit.element(element).between
    return abs(_volts(net, point, start) - _volts(net, point, end)), abs(net.current_a(element, point))


def _decimals(value: float, unit: str) -> int:
    """Return how many decimals a display of so many counts shows a value with."""
    decimals = DECIMALS[unit]
    while abs(value) * 10**decimals >= COUNTS and decimals > -4:
        decimals -= 1
    return decimals


def _volts(net: ngspice.Netlist, point: dict[str, float], name: str) -> float:
    number = net.node[name]
    return 0.0 if number == "0" else point[number]


def misread(text: str, chance: random.Random) -> str:
    """Return a reading as somebody might write it down: a wrong digit, a factor of ten, no point."""
    what = chance.choice(["digit", "factor", "point"])
    if what == "point" and "." in text:
        return text.replace(".", "")
    if what == "factor":
        return f"{float(text) * chance.choice([0.1, 10.0]):.{len(text.partition('.')[2])}f}"
    places = [place for place, sign in enumerate(text) if sign.isdigit()]
    place = chance.choice(places)
    digit = chance.choice([digit for digit in "0123456789" if digit != text[place]])
    return text[:place] + digit + text[place + 1:]
