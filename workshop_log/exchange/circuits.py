"""The job's circuits as values of `electrics`: what was typed becomes numbers in SI units, the rest is assumed.

Every assumption is named in the element's `defaults`, in words, so that a result can say what it rests on.
"""

from __future__ import annotations

from workshop_log.electrics import circuit as electrics
from workshop_log.electrics import fuses
from workshop_log.electrics.circuit import LOAD_KINDS, SOURCE_KINDS, CircuitError
from workshop_log.exchange import records
from workshop_log.measuring import units
from workshop_log.measuring.conductors import REFERENCE_C, conductor_resistance
from workshop_log.measuring.entry import read_entry
from workshop_log.measuring.instruments import DEFAULT_LAMP_CURRENT_A, DEFAULT_LAMP_VOLTAGE_V
from workshop_log.measuring.showing import show

_PERCENT = 100.0

# own estimates, all of them: what a sound element of its kind has. [Ω]
_RESISTANCE_OHM = {"battery": 0.010, "source": 0.1, "contact": 0.005, "switch": 0.020, "relay": 0.005,
                   "ground point": 0.002, "diode": 0.0}
_FUSE_WITHOUT_RATING_OHM = 0.005
_COIL_OHM = 90.0
# Of the supply's voltage: common practice, no source.
_PULL_IN_SHARE = 0.6
_FORWARD_V = 0.7
_VOLTAGE_V = 12.6
_BATTERY_TOLERANCE_V = 0.2
_SOURCE_TOLERANCE_SHARE = 0.02
_LENGTH_M = 2.0
_SECTION_MM2 = 1.0
# A motor that stands takes several times the current of one that runs: common practice, no source.
_STANDING_SHARE = 1 / 6
_FUSED_LEAD_A = 10.0
# own estimates: ± how much of its resistance an element's resistance is not known, by whether that was said or not.
_TOLERANCE = {"battery": 0.5, "source": 0.5, "fuse": 0.2, "wire": 0.1, "contact": 1.0, "switch": 1.0, "relay": 1.0,
              "lamp": 0.1, "motor": 0.2, "heater": 0.1, "coil": 0.1, "sensor": 0.05, "control unit": 0.3,
              "load": 0.1, "diode": 0.1, "ground point": 1.0}


def circuit_of(circuit: records.Circuit) -> electrics.Circuit:
    """Return a circuit with every number filled in.

    Raises
    ------
    CircuitError
        If an element cannot be computed: a load of which nothing is known, a wire of an impossible section.
    EntryError, UnitMismatchError
        If a text is no quantity; a circuit from a checked job has none such.
    """
    supply_v = _supply_v(circuit)
    return electrics.Circuit(
        circuit.id, circuit.title, tuple(element_of(element, supply_v) for element in circuit.elements),
        tuple(setup_of(setup, supply_v) for setup in circuit.setups))


def setup_of(setup: records.Setup, supply_v: float = DEFAULT_LAMP_VOLTAGE_V) -> electrics.Setup:
    """Return a setup; a lamp laid between points is one for the supply's nominal voltage [V]."""
    bridges = tuple(_bridge(bridge, supply_v) for bridge in setup.bridges)
    return electrics.Setup(setup.id, setup.title, setup.on, setup.pulled, setup.unplugged, setup.disconnected, bridges)


def element_of(element: records.Element, supply_v: float = _VOLTAGE_V) -> electrics.Element:
    """Return an element with every number filled in.

    Parameters
    ----------
    element : records.Element
        As described by the technician.
    supply_v : float
        Voltage of the circuit's supply, for a relay that does not say when it pulls in. [V]
    """
    reader = _Reader(element, supply_v)
    kind = element.kind
    common = {"resistance_ohm": reader.resistance_ohm(), "tolerance": reader.tolerance()}
    if kind in SOURCE_KINDS:
        common |= reader.source()
    elif kind == "fuse":
        common["rating_a"] = reader.given("rating", "A") or 0.0
    elif kind == "wire":
        common |= {"length_m": reader.given("length", "m") or 0.0, "section_mm2": reader.section_mm2()}
    elif kind == "relay":
        common |= reader.relay()
    elif kind == "lamp" and not element.resistance:
        power_w, at_v = reader.power_and_voltage()
        common |= {"lamp_power_w": power_w, "lamp_at_v": at_v}
    elif kind == "motor" and not element.resistance:
        common["standing_ohm"] = reader.assumed("resistance while it stands", _STANDING_SHARE
                                                * common["resistance_ohm"], "ohm")
    elif kind == "diode":
        common["forward_voltage_v"] = reader.or_default("forward_voltage", "V", "forward voltage", _FORWARD_V)
    return electrics.Element(
        element.id, kind, element.between, element.title, connector=element.connector,
        protected=element.protected or "", faults=element.faults or (), defaults=tuple(reader.defaults), **common)


class _Reader:
    """Reads one element's quantities and keeps account of what had to be assumed."""

    def __init__(self, element: records.Element, supply_v: float) -> None:
        self.element = element
        self.supply_v = supply_v
        self.defaults: list[str] = []

    def given(self, key: str, unit: str) -> float | None:
        """Return the number under a key, in a unit; None where nothing is written."""
        text = getattr(self.element, key)
        return _number(text, unit) if text else None

    def assumed(self, what: str, value: float, unit: str) -> float:
        """Return a value that nobody gave, and note it."""
        self.defaults.append(f"{what} {show(value, unit, digits=2)}")
        return value

    def or_default(self, key: str, unit: str, what: str, default: float) -> float:
        """Return the number under a key, or the default."""
        given = self.given(key, unit)
        return self.assumed(what, default, unit) if given is None else given

    def resistance_ohm(self) -> float:
        """Return the resistance of the element while it conducts [Ω]."""
        given = self.given("resistance", "ohm")
        if given is not None:
            return given
        kind = self.element.kind
        if kind == "wire":
            return self._wire_ohm()
        if kind == "fuse":
            rating = self.given("rating", "A")
            usual = fuses.cold_resistance_ohm(rating) if rating else _FUSE_WITHOUT_RATING_OHM
            return self.assumed("cold resistance", usual, "ohm")
        if kind in LOAD_KINDS:
            power_w, at_v = self.power_and_voltage()
            return at_v * at_v / power_w
        return self.assumed("resistance", _RESISTANCE_OHM[kind], "ohm") if kind != "diode" else 0.0

    def tolerance(self) -> float:
        """Return ± which part of its resistance is not known; never marked, because nobody is asked for it."""
        given = self.element.tolerance
        return _TOLERANCE[self.element.kind] if given is None else given / _PERCENT

    def power_and_voltage(self) -> tuple[float, float]:
        """Return the power [W] that a load takes at a voltage [V]."""
        at_v = self.given("at", "V")
        power_w, current_a = self.given("power", "W"), self.given("current", "A")
        if power_w is None and current_a is None:
            raise CircuitError(f"{self.element.id}: a {self.element.kind} needs its resistance, or the current or "
                               "power that it takes at a voltage.")
        if at_v is None:
            at_v = _nominal_v(self.supply_v)
            if "voltage of its rating" not in " ".join(self.defaults):
                self.assumed("voltage of its rating", at_v, "V")
        return (power_w if power_w is not None else current_a * at_v), at_v

    def section_mm2(self) -> float:
        """Return a wire's section, 0 where nobody said it."""
        return self.given("section", "mm2") or 0.0

    def _wire_ohm(self) -> float:
        length_m = self.or_default("length", "m", "length", _LENGTH_M)
        section_mm2 = self.section_mm2() or self.assumed("section", _SECTION_MM2, "mm2")
        temperature_c = self.given("temperature", "°C")
        return conductor_resistance(length_m, section_mm2, self.element.material or "copper",
                                    REFERENCE_C if temperature_c is None else temperature_c).ohm

    def source(self) -> dict[str, float]:
        """Return a battery's or source's voltage and what is not known of it."""
        voltage_v = self.or_default("voltage", "V", "voltage", _VOLTAGE_V)
        usual_v = _BATTERY_TOLERANCE_V if self.element.kind == "battery" else _SOURCE_TOLERANCE_SHARE * voltage_v
        given_v = self.given("voltage_tolerance", "V")
        if given_v is None:
            self.assumed("voltage known to ±", usual_v, "V")
        return {"voltage_v": voltage_v, "voltage_tolerance_v": usual_v if given_v is None else given_v}

    def relay(self) -> dict[str, object]:
        """Return a relay's coil and contacts."""
        element = self.element
        coil_ohm = self.or_default("coil_resistance", "ohm", "coil resistance", _COIL_OHM) if element.coil else 0.0
        return {"coil": element.coil, "coil_ohm": coil_ohm, "pull_in_v": self._pull_in_v(coil_ohm),
                "common": element.common, "normally_open": element.normally_open,
                "normally_closed": element.normally_closed}

    def _pull_in_v(self, coil_ohm: float) -> float:
        if not self.element.coil:
            return 0.0
        if not self.element.pull_in:
            return self.assumed("pull-in voltage", _PULL_IN_SHARE * _nominal_v(self.supply_v), "V")
        entry = read_entry(self.element.pull_in)
        if entry.dimension == "current":
            return _number(self.element.pull_in, "A") * coil_ohm
        return _number(self.element.pull_in, "V")


def _bridge(bridge: records.Bridge, supply_v: float) -> electrics.Bridge:
    usual_a = DEFAULT_LAMP_CURRENT_A if bridge.through == "lamp" else _FUSED_LEAD_A
    rating_a = _number(bridge.rating, "A") if bridge.rating else usual_a
    return electrics.Bridge(bridge.between, bridge.through, rating_a, _nominal_v(supply_v))


def nominal_supply_v(circuit: records.Circuit) -> float:
    """Return the nominal voltage of what the circuit's supply feeds [V]."""
    return _nominal_v(_supply_v(circuit))


def _supply_v(circuit: records.Circuit) -> float:
    """Return the highest voltage of a battery or source, or the usual one."""
    found = [_number(element.voltage, "V") for element in circuit.elements
             if element.kind in SOURCE_KINDS and element.voltage]
    return max(found, default=_VOLTAGE_V)


def _nominal_v(supply_v: float) -> float:
    """Return the nominal voltage of what is fed from a supply: 12 V of 12.6 V, 24 V of 25.1 V, 5 V of 5 V."""
    for nominal_v in (6.0, 12.0, 24.0, 48.0):
        if 0.75 * nominal_v < supply_v < 1.3 * nominal_v:
            return nominal_v
    return supply_v


def _number(text: str, unit: str) -> float:
    entry = read_entry(text)
    if entry.value is None:
        raise CircuitError(f"“{text}” is no number to compute with: write one with its unit.")
    return units.convert(entry.value, entry.unit, unit)
