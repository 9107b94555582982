"""Small circuits that tests share."""

from __future__ import annotations

from workshop_log.electrics.circuit import Circuit, Element, Setup

# Series circuit of the published cases: battery, fuse, wire, switch, contact, load, ground wire, ground point.
SERIES_OHM = {"battery": 0.01, "F": 0.0076, "W": 0.0508, "S": 0.01, "C": 0.005, "M": 4.0, "W31": 0.0127, "G": 0.002}


def series(**resistances: float) -> Circuit:
    """Return the series circuit of the published cases, with some resistances changed, in [Ω]."""
    ohm = SERIES_OHM | resistances
    return Circuit("series", "", (
        Element("battery", "battery", ("bat", "B-"), resistance_ohm=ohm["battery"], voltage_v=12.6,
                voltage_tolerance_v=0.2),
        Element("F", "fuse", ("bat", "f"), resistance_ohm=ohm["F"]),
        Element("W", "wire", ("f", "w"), resistance_ohm=ohm["W"]),
        Element("S", "switch", ("w", "s"), resistance_ohm=ohm["S"]),
        Element("C", "contact", ("s", "a"), resistance_ohm=ohm["C"], connector="X1"),
        Element("M", "load", ("a", "b"), resistance_ohm=ohm["M"], tolerance=0.1),
        Element("W31", "wire", ("b", "g"), resistance_ohm=ohm["W31"]),
        Element("G", "ground point", ("g", "B-"), resistance_ohm=ohm["G"]),
    ), (Setup("on", on=("S",)), Setup("F out", on=("S",), pulled=("F",)), Setup("X1 off", on=("S",), unplugged=("X1",)),
        Setup("battery off", on=("S",), disconnected=("battery",))))


def horn(pull_in_v: float = 7.2, coil_ohm: float = 90.0) -> Circuit:
    """Return a relay-driven load: the switch grounds the coil, the contact feeds the load."""
    return Circuit("horn", "", (
        Element("battery", "battery", ("B+", "B-"), resistance_ohm=0.01, voltage_v=12.6, voltage_tolerance_v=0.2),
        Element("F1", "fuse", ("B+", "30"), resistance_ohm=0.005, rating_a=15.0),
        Element("K1", "relay", coil=("30", "85"), coil_ohm=coil_ohm, pull_in_v=pull_in_v, common="30",
                normally_open="87", resistance_ohm=0.005),
        Element("S1", "switch", ("85", "B-"), resistance_ohm=0.02),
        Element("H1", "load", ("87", "B-"), resistance_ohm=2.4, tolerance=0.1),
    ), (Setup("pressed", on=("S1",)),))


def lamp(series_ohm: float = 0.05) -> Circuit:
    """Return a 55 W lamp behind a resistance on 12.6 V: the published cases."""
    return Circuit("lamp", "", (
        Element("battery", "battery", ("B+", "B-"), voltage_v=12.6),
        Element("W", "wire", ("B+", "l"), resistance_ohm=series_ohm, tolerance=0.1),
        Element("L", "lamp", ("l", "B-"), lamp_power_w=55.0, lamp_at_v=12.0, tolerance=0.1),
    ))
