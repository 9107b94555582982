"""What a test can do to a circuit is said before it is made."""

from __future__ import annotations

from dataclasses import replace

import pytest
from electrics.samples import series

from workshop_log.electrics.circuit import Bridge, Circuit, Element, Setup
from workshop_log.electrics.faults import Fault
from workshop_log.electrics.probes import Current, Lamp, Resistance, Voltage
from workshop_log.electrics.pushed_current import cautions_for, protected_points, pushes
from workshop_log.electrics.wires import current_limit_a

UNIT = Circuit("unit", "", (
    Element("battery", "battery", ("B+", "B-"), resistance_ohm=0.01, voltage_v=12.6),
    Element("ECU", "control unit", ("sig", "B-"), resistance_ohm=100.0),
    Element("R", "load", ("5V", "sig"), resistance_ohm=4700.0),
    Element("5V", "source", ("5V", "B-"), resistance_ohm=1.0, voltage_v=5.0),
))


def test_meter_pushes_nothing():
    """A voltmeter and a clamp add no current worth the name."""
    assert pushes(series(), "on", Voltage("a")) == ()
    assert cautions_for(series(), "on", Current("M")) == ()


def test_lamp_on_the_supply_into_a_control_unit():
    """A lamp to the supply on an input of 100 Ω: up to a quarter of an ampere, where 20 mA are the limit."""
    cautions = cautions_for(UNIT, "", Lamp("B+", "sig"))
    assert [(caution.element, caution.key) for caution in cautions] == [("ECU", "control pin")]
    assert cautions[0].severity == "caution"
    assert "use a meter" in cautions[0].words


def test_lamp_where_nothing_gets_hurt():
    """A lamp from ground to the feed of a load adds its own current and no caution."""
    found = {push.element: push for push in pushes(series(), "on", Lamp("B-", "a"))}
    assert found["F"].added_a == pytest.approx(0.25, abs=0.02)
    assert cautions_for(series(), "on", Lamp("B-", "a")) == ()


def test_fused_lead_over_a_thin_wire():
    """A lead with a 30 A fuse past the switch can send more through 0.35 mm² than it is asked to carry."""
    elements = tuple(replace(e, section_mm2=0.35) if e.id == "W31" else e for e in series().elements)
    circuit = replace(series(), elements=elements, setups=(
        Setup("lead", bridges=(Bridge(("f", "a"), "fused lead", 30.0),)),))
    cautions = cautions_for(circuit, "lead", Voltage("a"))
    assert [(caution.element, caution.key) for caution in cautions] == [("W31", "wire")]
    assert "0.35 mm²" in cautions[0].words
    assert "shorted" in cautions[0].words
    standing = cautions_for(circuit, "lead", Voltage("a"), faults=[Fault("W", "open")])
    assert standing == ()


def test_ohmmeter_on_a_live_point_is_refused():
    """It says which point is live."""
    refused, = cautions_for(series(), "on", Resistance("a", "b"))
    assert (refused.severity, refused.key) == ("refused", "live")
    assert cautions_for(series(), "battery off", Resistance("a", "b")) == ()


@pytest.mark.parametrize("probe", [
    Lamp("B-", "ig1"), Voltage("plug", "B-"), Resistance("ig1", "ig2"), Current("squib")])
def test_nothing_is_tested_on_a_protected_element_or_its_wiring(probe):
    """Neither lamp nor ohmmeter nor meter, also two pins further along the loom."""
    circuit = Circuit("restraint", "", (
        Element("battery", "battery", ("B+", "B-"), resistance_ohm=0.01, voltage_v=12.6),
        Element("unit", "control unit", ("B+", "B-"), resistance_ohm=100.0),
        Element("driver", "load", ("B+", "out"), resistance_ohm=1e6),
        Element("X1", "contact", ("out", "plug"), resistance_ohm=0.01),
        Element("W1", "wire", ("plug", "ig1"), resistance_ohm=0.1),
        Element("squib", "load", ("ig1", "ig2"), resistance_ohm=2.0, protected="pyrotechnic"),
        Element("W2", "wire", ("ig2", "B-"), resistance_ohm=0.1),
    ))
    refused, = cautions_for(circuit, "", probe)
    assert (refused.severity, refused.element, refused.key) == ("refused", "squib", "protected")
    assert "pyrotechnic" in refused.words
    assert cautions_for(circuit, "", Voltage("B+")) == ()
    assert set(protected_points(circuit)) == {"out", "plug", "ig1", "ig2"}


def test_usual_limits_rise_with_the_section():
    """Common practice, no source; a section between two has the smaller one's limit."""
    assert current_limit_a(0.1) is None
    assert current_limit_a(1.5) < current_limit_a(2.5)
    assert current_limit_a(2.0) == current_limit_a(1.5)
