"""The independent circuit simulator ngspice: netlists of the program's circuits, many solved in one process.

The netlist is written from the described circuit, not from the program's equations. What the program decided about
switching (relays, fuses) goes in as it stands; whether it should stand so is checked on the simulator's voltages.
Where the program is to have no part in it, `settled` lets relays and fuses move on the simulator's own currents.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import dataclass, field
from pathlib import Path

from workshop_log.electrics import faults as kinds
from workshop_log.electrics.circuit import Circuit, Element, Setup
from workshop_log.electrics.connections import groups
from workshop_log.electrics.faults import Fault
from workshop_log.electrics.network import BLOWING_SHARE
from workshop_log.electrics.probes import Lamp, Probe, Resistance, Voltage
from workshop_log.electrics.solver import State

PROGRAM = shutil.which("ngspice")
# k T / q at 27 °C in the simulator's constants. [V]
THERMAL_V = 1.38064852e-23 * 300.15 / 1.6021766208e-19
# Tried one after the other: not every circuit converges with the tightest.
OPTIONS = tuple(f".options reltol={reltol} abstol={abstol} vntol={vntol} gmin={gmin} itl1=500 temp=27 tnom=27"
                for reltol, abstol, vntol, gmin in (
                    ("1e-7", "1e-12", "1e-8", "1e-15"), ("1e-7", "1e-12", "1e-7", "1e-15"),
                    ("1e-7", "1e-12", "1e-8", "1e-14"), ("1e-6", "1e-11", "1e-7", "1e-13")))


# What an ohmmeter sends through its leads. [A]
OHMMETER_A = 1e-4
# What one running process keeps of the circuits it has solved adds up: after so many a new one begins.
ASKED_AT_MOST = 2000
# A diode that carries less connects nothing. [A]
CONDUCTING_A = 1e-6


@dataclass(frozen=True)
class Standing:
    """Relays that are pulled in and fuses that have blown."""

    pulled_in: frozenset[str] = frozenset()
    blown: frozenset[str] = frozenset()


@dataclass
class Netlist:
    """One circuit as the simulator reads it."""

    circuit: Circuit
    setup: Setup
    faults: tuple[Fault, ...]
    probe: Probe | None
    state: State | Standing
    lines: list[str] = field(default_factory=list)
    # Name of the current's vector by element and part.
    currents: dict[tuple[str, str], str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.node = {point: str(number) for number, point in enumerate(self.circuit.points)}
        self.count = 0
        for element in self.circuit.elements:
            if not self.setup.takes_away(element):
                self._element(element)
            self._shorts(element)
        for number, bridge in enumerate(self.setup.bridges, 1):
            start, end = (self.node[point] for point in bridge.between)
            if bridge.through == "lamp":
                self._lamp(f"bridge {number}", start, end, bridge.rating_a, bridge.lamp_at_v)
            elif f"bridge {number}" not in self.state.blown:
                self._resistor(f"bridge {number}", "", start, end, 0.03)
        self.n_parts = len(self.lines)
        if isinstance(self.probe, Voltage):
            self._line(f"R@ {self.node[self.probe.red]} {self.node[self.probe.black]} {self.probe.meter_ohm!r}")
        if isinstance(self.probe, Lamp):
            self._lamp("test lamp", self.node[self.probe.probe], self.node[self.probe.clip], self.probe.rated_a,
                       self.probe.rated_v)
        if isinstance(self.probe, Resistance):
            self._line(f"I@ {self.node[self.probe.black]} {self.node[self.probe.red]} {OHMMETER_A!r}")
        for number in self.node.values():
            if number != "0":
                self._line(f"R@ {number} 0 1e9")

    def text(self, options: str) -> str:
        return "\n".join(["* made up", *self.lines, options, ".op", ".end", ""])

    def current_a(self, element: str, point: dict[str, float], part: str = "") -> float:
        """Return what a clamp around an element shows; around a relay's contacts, unless the part is its coil."""
        kind = self.circuit.element(element).kind
        parts = (part,) if part else ("normally open", "normally closed") if kind == "relay" else ("", "fault across")
        total = sum(point[self.currents[element, each]] for each in parts if (element, each) in self.currents)
        return -total if kind in ("battery", "source") else total

    def groups(self, point: dict[str, float]) -> dict[str, int]:
        """Return for each named point which of them hang together; 0 is B-'s group. Meters and leaks join nothing."""
        joined = []
        for line in self.lines[:self.n_parts]:
            words = line.split()
            if words[0][0] in "RVB" or words[0][0] == "D" and self._conducts(words, point):
                joined.append((words[1], words[2]))
        names = {name for pair in joined for name in pair} | set(self.node.values())
        number = {name: index for index, name in enumerate(sorted(names, key=lambda name: (name != "0", name)))}
        found = groups(len(number), [(number[one], number[other]) for one, other in joined])
        return {name: found[number[node]] for name, node in self.node.items()}

    @staticmethod
    def _conducts(diode: list[str], point: dict[str, float]) -> bool:
        # The ammeter that ends in its first node was written after that node.
        return abs(point[f"vm{int(diode[1][1:]) + 1}#branch"]) > CONDUCTING_A

    def _line(self, line: str) -> None:
        self.count += 1
        self.lines.append(line.replace("@", str(self.count)))

    def _inner(self) -> str:
        self.count += 1
        return f"i{self.count}"

    def _ammeter(self, element: str, part: str, start: str) -> str:
        """Put a source of 0 V in front, whose current is the element's, and return the node behind it."""
        inner = self._inner()
        self._line(f"VM@ {start} {inner} 0")
        self.currents[element, part] = f"vm{self.count}#branch"
        return inner

    def _resistor(self, element: str, part: str, start: str, end: str, ohm: float) -> None:
        inner = self._ammeter(element, part, start)
        self._line(f"R@ {inner} {end} {ohm!r}" if ohm else f"VZ@ {inner} {end} 0")

    def _lamp(self, element: str, start: str, end: str, rated_a: float, rated_v: float) -> None:
        inner = self._ammeter(element, "", start)
        volts = f"V({inner},{end})"
        self._line(f"B@ {inner} {end} I={rated_a / rated_v!r}*{volts}*"
                   f"pow({volts}*{volts}/{rated_v * rated_v!r}+{10 ** (-2 / 0.45)!r}, -0.225)")

    def _fault(self, element: Element, *wanted: str) -> Fault | None:
        return next((fault for fault in self.faults if fault.element == element.id and fault.kind in wanted), None)

    def _element(self, element: Element) -> None:
        if element.kind == "relay":
            self._relay(element)
            return
        start, end = (self.node[point] for point in element.between)
        if self._fault(element, kinds.OPEN, kinds.DEAD, kinds.STUCK_OPEN) or element.id in self.state.blown:
            self._across(element, start, end)
            return
        is_off = element.kind == "switch" and element.id not in self.setup.on
        if is_off and not self._fault(element, kinds.STUCK_CLOSED):
            self._across(element, start, end)
            return
        series = self._fault(element, kinds.HIGH_RESISTANCE)
        added_ohm = series.amount if series else 0.0
        if element.kind in ("battery", "source"):
            weak = self._fault(element, kinds.LOW_VOLTAGE)
            inner = self._inner()
            self._resistor(element.id, "", start, inner, element.resistance_ohm + added_ohm)
            self._line(f"V@ {inner} {end} {weak.amount if weak else element.voltage_v!r}")
        elif element.kind in ("lamp", "diode"):
            middle = self._inner() if added_ohm or element.kind == "diode" and element.resistance_ohm else end
            if element.kind == "lamp":
                self._lamp(element.id, start, middle, element.lamp_power_w / element.lamp_at_v, element.lamp_at_v)
            else:
                inner = self._ammeter(element.id, "", start)
                emission = element.forward_voltage_v / 25.328436022944504 / THERMAL_V
                self._line(f".model junction@ D(IS=1e-12 N={emission!r})")
                self.lines.append(f"D{self.count} {inner} {middle} junction{self.count}")
            if middle != end:
                self._line(f"R@ {middle} {end} {element.resistance_ohm + added_ohm!r}")
            self._across(element, start, end)
        elif element.kind == "wire" and (short := self._fault(element, *kinds.SHORTS)) and short.position < 1:
            middle = self._inner() if short.position else start
            if short.position:
                self._resistor(element.id, "", start, middle, short.position * element.resistance_ohm)
            self._resistor(element.id, "" if not short.position else "second part", middle, end,
                           (1 - short.position) * element.resistance_ohm)
            other = "0" if short.kind == kinds.SHORT_TO_GROUND else self.node[self.circuit.supply_point]
            if middle != other:
                self._line(f"R@ {middle} {other} {short.amount!r}")
        else:
            self._resistor(element.id, "", start, end, element.resistance_ohm + added_ohm)
            self._across(element, start, end)

    def _across(self, element: Element, start: str, end: str) -> None:
        if fault := self._fault(element, kinds.SHORTED, kinds.DRAWS_TOO_MUCH):
            # A clamp around the element shows what passes across it too.
            self._resistor(element.id, "fault across", start, end, fault.amount)

    def _relay(self, relay: Element) -> None:
        start, end = (self.node[point] for point in relay.coil)
        if not self._fault(relay, kinds.OPEN):
            self._resistor(relay.id, "coil", start, end, relay.coil_ohm)
        self._across(relay, start, end)
        added = self._fault(relay, kinds.HIGH_RESISTANCE)
        working = relay.normally_open or relay.normally_closed
        is_in = relay.id in self.state.pulled_in
        for point, closed, part in ((relay.normally_open, is_in, "normally open"),
                                    (relay.normally_closed, not is_in, "normally closed")):
            if point and closed:
                extra_ohm = added.amount if added and point == working else 0.0
                self._resistor(relay.id, part, self.node[relay.common], self.node[point],
                               relay.resistance_ohm + extra_ohm)

    def _shorts(self, element: Element) -> None:
        """Lay the short of what is no wire, or of a wire that is taken away, at its far side."""
        short = self._fault(element, *kinds.SHORTS)
        if short is None or (element.kind == "wire" and short.position < 1 and not self.setup.takes_away(element)):
            return
        start = self.node[element.between[1]]
        other = "0" if short.kind == kinds.SHORT_TO_GROUND else self.node[self.circuit.supply_point]
        if start != other:
            self._line(f"R@ {start} {other} {short.amount!r}")


def operating_points(netlists: list[Netlist], folder: Path) -> list[dict[str, float] | None]:
    """Return node voltages by their numbers and currents by their vectors; None where the simulator finds no point.

    All netlists go through one process; those that do not converge once more with other options.
    """
    found: list[dict[str, float] | None] = [None] * len(netlists)
    for options in OPTIONS:
        left = [number for number, point in enumerate(found) if point is None]
        script = ["* all of them", ".control", "set filetype=ascii", "set numdgt=14"]
        for number in left:
            (folder / f"{number}.cir").write_text(netlists[number].text(options), encoding="utf-8")
            script += [f"source {number}.cir", "op", f"write {number}.raw all", "destroy all", "remcirc"]
        (folder / "all.cir").write_text("\n".join([*script, "quit", ".endc", ".end", ""]), encoding="utf-8")
        if left:
            subprocess.run([PROGRAM, "-b", "all.cir"], cwd=folder, capture_output=True, check=False)
        for number in left:
            raw = folder / f"{number}.raw"
            text = raw.read_text(encoding="utf-8") if raw.exists() else ""
            # Without an operating point the simulator writes its constants instead.
            found[number] = _read(text) if "Operating Point" in text else None
    return found


class Simulator:
    """One running process that is asked for one operating point after another; a context."""

    def __init__(self, folder: Path) -> None:
        self._folder, self._process, self._asked = folder, None, 0

    def __enter__(self) -> Simulator:
        return self

    def __exit__(self, *_: object) -> None:
        if self._process is not None:
            self._process.communicate("quit\n")
            self._process = None

    def point(self, netlist: Netlist) -> dict[str, float] | None:
        """Return node voltages and currents as `operating_points`; None where the simulator finds no point."""
        for options in OPTIONS:
            text = self._run(netlist.text(options))
            if "Operating Point" in text:
                return _read(text)
        return None

    def _run(self, text: str) -> str:
        if self._asked % ASKED_AT_MOST == 0:
            self.__exit__()
            self._process = subprocess.Popen(
                [PROGRAM, "-p"], cwd=self._folder, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT, text=True, bufsize=1)
            self._process.stdin.write("set filetype=ascii\nset numdgt=14\n")
        self._asked += 1
        raw, done = self._folder / "asked.raw", f"done {self._asked}"
        raw.unlink(missing_ok=True)
        (self._folder / "asked.cir").write_text(text, encoding="utf-8")
        self._process.stdin.write(f"source asked.cir\nop\nwrite asked.raw all\ndestroy all\nremcirc\necho {done}\n")
        self._process.stdin.flush()
        for line in self._process.stdout:
            if line.strip() == done:
                break
        return raw.read_text(encoding="utf-8") if raw.exists() else ""


def settled(simulator: Simulator, circuit: Circuit, setup: Setup, faults: tuple[Fault, ...],
            probe: Probe | None = None) -> tuple[Netlist, dict[str, float]] | None:
    """Return the circuit as it comes to stand from rest on the simulator's currents alone; None where it finds none.

    Relays follow their coils all together; when they are settled, the most overloaded fuse blows, and so does the one
    that is overloaded again and again while relays never settle. Relays that chatter are taken at rest.
    """
    stuck = {fault.element: fault.kind for fault in faults if fault.kind in (kinds.STUCK_OPEN, kinds.STUCK_CLOSED)}
    relays = [element for element in circuit.elements if element.kind == "relay" and not setup.takes_away(element)]
    held = frozenset(relay.id for relay in relays if stuck.get(
        relay.id, kinds.STUCK_CLOSED if relay.id in setup.on else "") == kinds.STUCK_CLOSED)
    free = [relay for relay in relays if relay.coil and relay.id not in setup.on and relay.id not in stuck]
    fuses = [element for element in circuit.elements if element.kind == "fuse" and element.rating_a]
    standing, seen, overloads, chatters = Standing(held), [], [], False
    while True:
        if standing in seen and overloads:
            standing, seen, overloads = Standing(held, standing.blown | {max(overloads)[1]}), [], []
        elif standing in seen:
            round_and_round = [each.pulled_in for each in seen[seen.index(standing):]]
            always, chatters = frozenset.intersection(*round_and_round), True
            standing = Standing(always, standing.blown)
        seen.append(standing)
        net = Netlist(circuit, setup, faults, probe, standing)
        point = simulator.point(net)
        if point is None:
            return None
        amperes = {key: abs(point[vector]) for key, vector in net.currents.items()}
        pulled = held | {relay.id for relay in free
                         if amperes.get((relay.id, "coil"), 0.0) * relay.coil_ohm >= relay.pull_in_v}
        loads = [(amperes.get((fuse.id, ""), 0.0) / (BLOWING_SHARE * fuse.rating_a), fuse.id) for fuse in fuses
                 if fuse.id not in standing.blown]
        overloads += [load for load in loads if load[0] > 1]
        if chatters:
            return net, point
        if pulled != standing.pulled_in:
            standing = Standing(pulled, standing.blown)
        elif loads and max(loads)[0] > 1:
            standing, seen, overloads = Standing(pulled, standing.blown | {max(loads)[1]}), [], []
        else:
            return net, point


def _read(raw: str) -> dict[str, float]:
    head, _, values = raw.partition("Values:")
    names = re.findall(r"^\t\d+\t(\S+)\t", head, re.MULTILINE)
    numbers = [line.split()[-1] for line in values.splitlines() if line.strip()]
    clean = [name[2:-1] if name.startswith("v(") else name[2:-1] + "#branch" if name.startswith("i(") else name
             for name in (name.lower() for name in names)]
    return dict(zip(clean, map(float, numbers), strict=True))
