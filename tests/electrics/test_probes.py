"""What an instrument must show, how sure that is, and why."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from electrics.samples import SERIES_OHM, horn, lamp, series

from workshop_log.electrics.circuit import Circuit, Element, Setup, UnknownNameError
from workshop_log.electrics.faults import Fault
from workshop_log.electrics.probes import (
    INSULATION_OHM,
    Current,
    Lamp,
    Resistance,
    Voltage,
    expected_range,
    predict,
)


def test_uncertainty_of_a_divider_by_hand():
    """12.6 ± 0.2 V over 4 Ω ± 10 % beside little else: u² of current from both, by the rules of products."""
    prediction = predict(series(), "on", Current("M"))
    total = math.fsum(SERIES_OHM.values())
    from_voltage = 0.2 / math.sqrt(3) / total
    from_load = 12.6 / total**2 * 0.4 / math.sqrt(3)
    assert prediction.standard == pytest.approx(math.hypot(from_voltage, from_load, 0.1e-3), rel=1e-6)
    assert [(part.element, part.what) for part in prediction.contributions] == [("M", "resistance"),
                                                                                ("battery", "voltage")]


def test_battery_voltage_with_its_reason():
    """The words name the supply, where most is lost, and at what current."""
    prediction = predict(series(), "on", Voltage("a"))
    assert prediction.words.replace("\u00a0", " ") == (
        "battery 12.6 V less 256 mV in battery, W, S and 2 more at 3.1 A")
    expected = expected_range(series(), "on", Voltage("a"))
    assert expected.source == f"computed: {prediction.words}"
    assert expected.words().replace("\u00a0", " ") == "12.12 to 12.57 V"
    # The words round, to the second digit of what is known of the limits; what is judged against does not.
    assert expected.low == pytest.approx(prediction.value - 2 * prediction.standard)
    assert 0.1 < 2 * prediction.standard < 1


@pytest.mark.parametrize(("probe", "setup", "words"), [
    (Voltage("b"), "on", "45 mV lost in W31 and G at 3.1 A"),
    (Voltage("bat", "a"), "on", "226 mV lost in F, W and S at 3.1 A"),
    (Voltage("a"), "", "nothing flows: a lies at B- through M"),
    (Voltage("f"), "", "battery 12.6 V, nothing lost on the way"),
    (Current("F"), "on", "what is taken by M at 12.3 V"),
    (Current("F"), "", "no way for a current through F"),
    (Resistance("a", "b"), "battery off", "through M, with what lies beside it"),
    (Resistance("a", "b"), "on", "a is live (12.3 V): disconnect the supply before measuring resistance"),
])
def test_reasons(probe, setup, words):
    """Each kind of reading says what it is made of."""
    assert predict(series(), setup, probe).words.replace("\u00a0", " ") == words


def test_floating_point_reads_floating():
    """A meter there shows about nothing, and it proves little; a supply that gets there still shows."""
    circuit = replace(series(), setups=(Setup("cut", on=("S",), pulled=("F",), unplugged=("C",)),))
    prediction = predict(circuit, "cut", Voltage("w"))
    assert prediction.floating
    assert prediction.value == pytest.approx(0.0, abs=1e-3)
    assert prediction.words.startswith("floating: nothing connects w")
    expected = expected_range(circuit, "cut", Voltage("w"))
    assert (expected.low, expected.high) == pytest.approx((-0.5, 0.5), abs=0.01)
    assert predict(circuit, "cut", Voltage("w"), fault=Fault("W", "short to supply", 1.0)).value > 12


def test_ohmmeter_on_a_live_circuit_is_no_reading():
    """It says that the point is live instead of a figure."""
    prediction = predict(series(), "on", Resistance("a", "b"))
    assert prediction.live
    assert prediction.value is None
    assert expected_range(series(), "on", Resistance("a", "b")) is None


def test_ohmmeter_shows_what_lies_beside_each_other():
    """Two 120 Ω resistors side by side are 60 Ω; nothing connected is over range."""
    bus = Circuit("bus", "", (
        Element("R1", "load", ("H", "L"), resistance_ohm=120.0, tolerance=0.01),
        Element("R2", "load", ("H", "L"), resistance_ohm=120.0, tolerance=0.01),
        Element("RX", "load", ("H", "B-"), resistance_ohm=38e3),
        Element("W", "wire", ("X", "Y"), resistance_ohm=0.1),
        Element("battery", "battery", ("B+", "B-"), resistance_ohm=0.01, voltage_v=12.6)))
    prediction = predict(bus, "", Resistance("H", "L"))
    assert prediction.value == pytest.approx(60.0, rel=1e-6)
    each = 1.2 / math.sqrt(3) / 4
    assert prediction.standard == pytest.approx(math.hypot(each, each, 0.03), rel=1e-6)
    over = predict(bus, "", Resistance("H", "X"))
    assert math.isinf(over.value)
    assert expected_range(bus, "", Resistance("H", "X")).low == INSULATION_OHM
    assert expected_range(bus, "", Resistance("H", "X")).high is None


def test_cold_filament_and_standing_motor():
    """An ohmmeter sees a filament at a tenth, and of a motor anything from its winding up."""
    dead = replace(lamp(), elements=lamp().elements[1:])
    hot_ohm = 12**2 / 55
    assert predict(dead, "", Resistance("l", "B-")).value == pytest.approx(hot_ohm / 10, rel=1e-6)
    motor = Circuit("motor", "", (Element("M", "motor", ("1", "B-"), resistance_ohm=2.0, standing_ohm=0.33,
                                          tolerance=0.2),))
    expected = expected_range(motor, "", Resistance("1", "B-"))
    assert expected.low < 0.33
    assert expected.high > 2.0


def test_low_resistance_meter_takes_the_voltage_away():
    """Behind 10 kΩ a 10 MΩ meter shows the supply, one of 10 kΩ half of it."""
    circuit = replace(series(W=10e3, M=1e9), setups=(Setup("on", on=("S",)),))
    assert predict(circuit, "on", Voltage("a")).value == pytest.approx(12.6, rel=2e-3)
    assert predict(circuit, "on", Voltage("a"), 10e3).value == pytest.approx(6.3, rel=1e-3)


def test_test_lamp_has_a_look_and_no_range():
    """Lit on a good supply, dark on ground; the range of a look is no number."""
    assert predict(series(), "on", Lamp("B-", "a")).look == "lit"
    assert predict(series(), "on", Lamp("B-", "b")).look == "dark"
    assert predict(series(W=40.0), "on", Lamp("B-", "a")).look == "dark"
    assert predict(series(W=40.0, M=1e6), "on", Lamp("B-", "a")).look == "dim"
    assert expected_range(series(), "on", Lamp("B-", "a")) is None


def test_relay_current_is_its_contacts_and_coil_by_name():
    """The clamp around a relay's wire to the load shows the load's current."""
    assert predict(horn(), "pressed", Current("K1")).value == pytest.approx(
        predict(horn(), "pressed", Current("H1")).value, rel=1e-6)


def test_assumptions_that_matter_are_named():
    """Where the spread rests on a default, the source says so."""
    battery = replace(series().elements[0], defaults=("voltage known to ± 200 mV",))
    circuit = replace(series(), elements=(battery, *series().elements[1:]))
    assert expected_range(circuit, "on", Voltage("a")).source.endswith(
        "; assumed battery: voltage known to ± 200 mV")
    assert "assumed" not in expected_range(circuit, "on", Voltage("b")).source


@pytest.mark.parametrize("probe", [Voltage("zz"), Voltage("a", "zz"), Current("zz"), Resistance("zz", "a"),
                                   Lamp("zz", "a")])
def test_unknown_point_is_refused(probe):
    """The name that is not there is named."""
    with pytest.raises(UnknownNameError, match="zz"):
        predict(series(), "on", probe)
