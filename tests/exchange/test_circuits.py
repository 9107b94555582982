"""Circuits of a job file become numbers; what nobody said is assumed, and said to be."""

from __future__ import annotations

import pytest

from workshop_log.electrics.circuit import AS_FOUND, CircuitError
from workshop_log.electrics.faults import KINDS_OF_ELEMENT
from workshop_log.electrics.solver import solve
from workshop_log.exchange import records
from workshop_log.exchange.circuits import circuit_of, element_of, setup_of


def element(kind: str, **facts) -> records.Element:
    facts.setdefault("between", ("a", "b") if kind != "relay" else None)
    return records.Element(id="E", kind=kind, **facts)


@pytest.mark.parametrize(("record", "ohm"), [
    (element("wire", length="3.5 m", section="1.5 mm2"), 3.5 * 12.7e-3),
    (element("wire", length="4 m", section="2.5 mm2", material="aluminium"), 4 / (34.8 * 2.5)),
    (element("wire", length="6 m", section="2.5 mm2", temperature="80 °C"), 6 * 7.6e-3 * (1 + 0.00393 * 60)),
    (element("wire", length="3.5 m", section="1.5 mm2", resistance="20 mohm"), 0.020),
    (element("fuse", rating="15 A"), 4.8e-3),
    (element("motor", current="6 A", at="12 V"), 2.0),
    (element("heater", power="55 W", at="12 V"), 144 / 55),
    (element("sensor", resistance="4k7"), 4700.0),
    (element("control unit", current="12 mA", at="12.5 V"), 12.5 / 0.012),
])
def test_resistance(record, ohm):
    """By length, section and temperature; by rating; by current or power at a voltage; or as typed."""
    assert element_of(record).resistance_ohm == pytest.approx(ohm, rel=1e-9)


@pytest.mark.parametrize(("record", "assumed"), [
    (element("contact"), ["resistance 5.0 mΩ"]),
    (element("contact", resistance="3 mohm"), []),
    (element("fuse", rating="15 A"), ["cold resistance 4.8 mΩ"]),
    (element("fuse"), ["cold resistance 5.0 mΩ"]),
    (element("battery", voltage="12.6 V"), ["resistance 10 mΩ", "voltage known to ± 200 mV"]),
    (element("battery", voltage="12.6 V", voltage_tolerance="0.1 V", resistance="8 mohm"), []),
    (element("wire", length="2 m"), ["section 1.0 mm²"]),
    (element("motor", current="6 A", at="12 V"), ["resistance while it stands 333 mΩ"]),
    (element("motor", current="6 A"), ["voltage of its rating 12 V", "resistance while it stands 333 mΩ"]),
    (element("lamp", power="21 W", at="12 V"), []),
    (element("diode"), ["forward voltage 700 mV"]),
    (element("relay", coil=("85", "86"), common="30", normally_open="87"),
     ["resistance 5.0 mΩ", "coil resistance 90 Ω", "pull-in voltage 7.2 V"]),
])
def test_what_is_assumed_is_said(record, assumed):
    """Every default is named in words with its value, and nothing that was said is."""
    assert [words.replace("\u00a0", " ") for words in element_of(record).defaults] == assumed


def test_pull_in_may_be_a_current():
    """A coil of 80 Ω that pulls in at 90 mA does so at 7.2 V."""
    relay = element("relay", coil=("85", "86"), coil_resistance="80 ohm", pull_in="90 mA", common="30",
                    normally_open="87")
    assert element_of(relay).pull_in_v == pytest.approx(7.2)


@pytest.mark.parametrize(("supply_v", "pull_in_v", "lamp_v"), [(12.6, 7.2, 12.0), (25.2, 14.4, 24.0)])
def test_defaults_follow_the_supply(supply_v, pull_in_v, lamp_v):
    """A relay and a lamp laid in a 24 V circuit are for 24 V."""
    circuit = circuit_of(records.Circuit(id="c", elements=(
        records.Element(id="battery", kind="battery", between=("B+", "B-"), voltage=f"{supply_v} V"),
        records.Element(id="K", kind="relay", coil=("B+", "B-"), common="B+", normally_open="87"),
        records.Element(id="M", kind="load", between=("87", "B-"), resistance="4 ohm")),
        setups=(records.Setup(id="s", bridges=(records.Bridge(between=("B+", "87"), through="lamp"),)),)))
    assert circuit.element("K").pull_in_v == pytest.approx(pull_in_v)
    assert circuit.setup("s").bridges[0].lamp_at_v == lamp_v
    assert circuit.setup("s").bridges[0].rating_a == 0.25


def test_tolerances():
    """Percent as typed, else the kind's; a source's voltage in volts."""
    assert element_of(element("load", resistance="10 ohm", tolerance=3.0)).tolerance == pytest.approx(0.03)
    assert element_of(element("load", resistance="10 ohm")).tolerance == pytest.approx(0.1)
    assert element_of(element("source", voltage="5 V")).voltage_tolerance_v == pytest.approx(0.1)


def test_resistance_of_a_lamp_makes_it_a_resistor():
    """Who types a resistance overrides what the kind gives."""
    assert element_of(element("lamp", resistance="6 ohm", power="21 W", at="12 V")).lamp_power_w == 0.0


def test_load_without_anything_is_refused():
    """The sentence names the element and says what is missing."""
    with pytest.raises(CircuitError, match="E: a motor needs its resistance"):
        element_of(element("motor"))


def test_setups_and_marks_come_over():
    """What is on, pulled and laid in; connector, protection and own list of faults."""
    setup = setup_of(records.Setup(id="s", title="t", on=("S",), pulled=("F",), unplugged=("X",), disconnected=("B",),
                                   bridges=(records.Bridge(between=("a", "b"), through="fused lead", rating="5 A"),)))
    assert (setup.on, setup.pulled, setup.unplugged, setup.disconnected) == (("S",), ("F",), ("X",), ("B",))
    assert (setup.bridges[0].through, setup.bridges[0].rating_a) == ("fused lead", 5.0)
    contact = element_of(element("contact", connector="C3", protected="pyrotechnic", faults=("open",)))
    assert (contact.connector, contact.protected, contact.faults) == ("C3", "pyrotechnic", ("open",))


def test_as_found_always_exists():
    """The setup with nothing on comes first, whether it was written or not."""
    circuit = circuit_of(records.Circuit(id="c", elements=(
        records.Element(id="R", kind="load", between=("a", "B-"), resistance="1 ohm"),)))
    assert [setup.id for setup in circuit.setups] == [AS_FOUND]
    assert solve(circuit).voltage_v("a") == 0.0


def test_every_kind_of_element_can_be_read():
    """No kind of the job file is unknown to the electrics."""
    kinds = set(records.ElementKind.__args__)
    assert kinds == set(KINDS_OF_ELEMENT)
