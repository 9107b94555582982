"""What a circuit shows, against hand calculation and by its own laws."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from electrics.samples import SERIES_OHM, horn, lamp, series

from workshop_log.electrics.circuit import Bridge, Circuit, CircuitError, Element, Setup, UnknownNameError
from workshop_log.electrics.faults import Fault
from workshop_log.electrics.probes import Current, Lamp, Voltage
from workshop_log.electrics.solver import solve


def test_series_circuit_by_ohms_law():
    """One current through all resistances; each point shows what is left after those before it."""
    state = solve(series(), "on")
    current = 12.6 / math.fsum(SERIES_OHM.values())
    assert state.current_a("M") == pytest.approx(current, rel=1e-7)
    assert state.current_a("battery") == pytest.approx(current, rel=1e-7)
    assert state.voltage_v("b") == pytest.approx(current * (SERIES_OHM["W31"] + SERIES_OHM["G"]), rel=1e-7)
    assert state.voltage_v("a", "b") == pytest.approx(current * SERIES_OHM["M"], rel=1e-7)


def test_switched_off_leaves_supply_live_and_load_dead():
    """As found the switch is open: before it everything is live, behind it everything lies at ground."""
    state = solve(series())
    assert [point for point in state.network.circuit.points if state.is_live(point)] == ["bat", "f", "w"]
    assert not any(state.is_floating(point) for point in state.network.circuit.points)
    assert state.current_a("M") == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(("setup", "floating"), [
    ("F out", ()), ("X1 off", ()), ("battery off", ())])
def test_what_hangs_on_a_load_does_not_float(setup, floating):
    """A point with a way to ground through a load is dead and not floating, wherever the supply is opened."""
    state = solve(series(), setup)
    assert tuple(point for point in state.network.circuit.points if state.is_floating(point)) == floating
    assert state.current_a("M") == pytest.approx(0.0, abs=1e-6)


def test_point_cut_off_on_both_sides_floats():
    """With the fuse pulled and the contact unplugged nothing connects the wire between them."""
    circuit = replace(series(), setups=(Setup("cut", on=("S",), pulled=("F",), unplugged=("C",)),))
    state = solve(circuit, "cut")
    assert [point for point in circuit.points if state.is_floating(point)] == ["f", "w", "s"]
    assert state.voltage_v("w") is None


def test_meter_loads_what_it_measures():
    """Behind 10 MΩ in series a 10 MΩ meter shows half, by the voltage divider."""
    circuit = series(W=10e6, M=1e12)
    assert solve(circuit, "on", probe=Voltage("a")).voltage_v("a") == pytest.approx(12.6 / 2, rel=0.02)


def test_relay_pulls_in_and_feeds_its_load():
    """Coil current flows through the switch, load current through the contact."""
    state = solve(horn(), "pressed")
    assert state.pulled_in == {"K1"}
    total = 12.6 / (0.015 + 1 / (1 / 90.02 + 1 / 2.405))
    assert state.current_a("F1") == pytest.approx(total, rel=1e-6)
    assert state.current_a("K1", "coil") == pytest.approx(state.current_a("S1"), rel=1e-6)
    assert state.current_a("K1") == pytest.approx(state.current_a("H1"), rel=1e-6)


def test_relay_that_needs_more_voltage_stays_out():
    """Without its contact the load lies at ground."""
    state = solve(horn(pull_in_v=12.7), "pressed")
    assert state.pulled_in == frozenset()
    assert state.voltage_v("87") == 0.0


def test_relay_fed_through_its_own_resting_contact_chatters():
    """A buzzer: the contact that feeds the coil opens as soon as it pulls in."""
    buzzer = Circuit("buzzer", "", (
        Element("battery", "battery", ("B+", "B-"), resistance_ohm=0.01, voltage_v=12.6),
        Element("K1", "relay", coil=("87a", "B-"), coil_ohm=90.0, pull_in_v=7.0, common="B+", normally_closed="87a",
                resistance_ohm=0.005),
    ))
    state = solve(buzzer)
    assert state.chatters
    assert state.chattering == ("K1",)


def test_relay_that_holds_itself_stays_out_from_rest():
    """A contact beside its own switch closes nothing until somebody presses."""
    holding = Circuit("holding", "", (
        Element("battery", "battery", ("B+", "B-"), resistance_ohm=0.01, voltage_v=12.6),
        Element("S1", "switch", ("B+", "86"), resistance_ohm=0.02),
        Element("K1", "relay", coil=("86", "B-"), coil_ohm=90.0, pull_in_v=7.0, common="B+", normally_open="86",
                resistance_ohm=0.005),
    ), (Setup("pressed", on=("S1",)),))
    assert solve(holding).pulled_in == frozenset()
    assert solve(holding, "pressed").pulled_in == {"K1"}
    assert not solve(holding, "pressed").chatters


def test_the_most_overloaded_fuse_opens_and_saves_the_others():
    """A short behind a 5 A fuse behind an 80 A fuse: only the small one goes."""
    circuit = Circuit("fuses", "", (
        Element("battery", "battery", ("B+", "B-"), resistance_ohm=0.01, voltage_v=12.6),
        Element("MF", "fuse", ("B+", "box"), resistance_ohm=0.001, rating_a=80.0),
        Element("F1", "fuse", ("box", "out"), resistance_ohm=0.018, rating_a=5.0),
        Element("M", "load", ("out", "B-"), resistance_ohm=12.0),
    ))
    state = solve(circuit, fault=Fault("F1", "short to ground", 0.02))
    assert state.blown == {"F1"}
    assert state.is_live("box")
    assert state.current_a("M") == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("kind", "point", "expected"), [
    ("open", "a", 0.0), ("high resistance", "a", 12.6 * 4.0147 / 4.5931)])
def test_faults_change_what_they_should(kind, point, expected):
    """An open and a joint of 0.5 Ω at the contact, by the voltage divider."""
    amount = None if kind == "open" else 0.5
    value = solve(series(battery=0.005), "on", Fault("C", kind, amount)).voltage_v(point)
    assert value == pytest.approx(expected, rel=1e-4)


def test_test_lamp_is_a_load_and_bridge_feeds():
    """A fused lead past the switch feeds the load; a lamp in its place takes most of the voltage."""
    circuit = replace(series(), setups=(
        Setup("lead", bridges=(Bridge(("w", "s"), "fused lead", 10.0),)),
        Setup("lamp", bridges=(Bridge(("w", "s"), "lamp", 0.4),))))
    assert solve(circuit, "lead").current_a("M") == pytest.approx(12.6 / 4.1181, rel=1e-3)
    lit = solve(circuit, "lamp")
    assert lit.lamps == {"bridge 1": "lit"}
    assert lit.current_a("M") == pytest.approx(0.4 * (lit.voltage_v("w", "s") / 12) ** 0.55, rel=1e-4)


def test_test_lamp_shows_a_supply_that_only_holds_up_without_load():
    """Behind 200 Ω a meter still shows the supply; a lamp takes it away and stays dark."""
    circuit = replace(series(W=200.0, M=1e9), setups=(Setup("on", on=("S",)),))
    assert solve(circuit, "on", probe=Voltage("a")).voltage_v("a") == pytest.approx(12.6, rel=1e-4)
    assert solve(circuit, "on", probe=Lamp("B-", "a")).lamps == {"test lamp": "dark"}


def test_hot_and_cold_filament():
    """At its rating a filament takes its rated current; between the leads of an ohmmeter it has a tenth of that."""
    state = solve(lamp(), probe=Current("L"))
    assert state.lamp("L") == "lit"
    assert state.current_a("L") == pytest.approx(55 / 12 * (state.voltage_v("l") / 12) ** 0.55, rel=1e-4)


@pytest.mark.parametrize(("circuit", "words"), [
    (Circuit("c"), "no elements"),
    (Circuit("c", "", (Element("W", "wire", ("x", "x")),)), "W has the point x on both sides"),
    (Circuit("c", "", (Element("W", "wire"),)), "W is connected to nothing"),
    (Circuit("c", "", (Element("W", "wire", ("x", "y")),)), "No element lies at B-"),
    (Circuit("c", "", (Element("A", "battery", ("+", "B-"), voltage_v=12.0),
                       Element("B", "battery", ("+", "B-"), voltage_v=12.6))), "B is joined end to end"),
    (Circuit("c", "", (Element("A", "battery", ("+", "B-"), voltage_v=12.0), Element("W", "wire", ("+", "B-")))),
     "A is joined end to end"),
    (Circuit("c", "", (Element("A", "battery", ("+", "B-"), resistance_ohm=-1.0),)), "A has a resistance"),
    (Circuit("c", "", (Element("A", "battery", ("+", "B-"), resistance_ohm=1.0),), (Setup("s", on=("Q",)),)),
     "names Q"),
])
def test_badly_described_circuit_is_refused_in_one_sentence(circuit, words):
    """The sentence names the element and says what to do."""
    with pytest.raises(CircuitError) as refused:
        solve(circuit)
    message = str(refused.value)
    assert words in message
    assert message.count(". ") == 0


def test_unknown_names_are_refused():
    """A setup, point or element that is not there is named."""
    with pytest.raises(UnknownNameError, match="“off”"):
        solve(series(), "off")
    with pytest.raises(UnknownNameError, match="“z”"):
        solve(series()).voltage_v("z")
    with pytest.raises(UnknownNameError, match="“Q”"):
        solve(series(), fault=Fault("Q", "open"))


def test_two_elements_without_resistance_side_by_side():
    """Ideal conductors in a ring share the current instead of making the equations singular."""
    circuit = Circuit("ring", "", (
        Element("battery", "battery", ("B+", "B-"), resistance_ohm=0.01, voltage_v=12.6),
        Element("W1", "wire", ("B+", "x")), Element("W2", "wire", ("B+", "x")),
        Element("M", "load", ("x", "B-"), resistance_ohm=4.0),
    ))
    state = solve(circuit)
    assert state.current_a("W1") + state.current_a("W2") == pytest.approx(12.6 / 4.01, rel=1e-6)
