"""How far a clear test could see."""

from __future__ import annotations

from dataclasses import replace

import pytest
from electrics.samples import series

from workshop_log.electrics.circuit import Setup
from workshop_log.electrics.curves import Filament
from workshop_log.electrics.faults import Fault
from workshop_log.electrics.probes import Lamp, Voltage, predict
from workshop_log.electrics.reach import Band, reach_of, reach_words

# The fuse is pulled, a lamp lies in its place, and the load is off.
DARK = replace(series(), setups=(Setup("lamp for fuse", on=("S",), pulled=("F",), unplugged=("M",)),))


def by_fault(reaches):
    return {(reach.fault.element, reach.fault.kind): reach for reach in reaches}


def test_dark_lamp_in_the_fuses_place_by_hand():
    """It would have lit at 70 % of 12 V: the rest of 12.6 V over the path at the lamp's current there."""
    lamp = Lamp("bat", "f", 12.0, 0.25)
    assert predict(DARK, "lamp for fuse", lamp).look == "dark"
    reaches = by_fault(reach_of(DARK, "lamp for fuse", lamp, Band.of_look(lamp, "dark")))
    lit_v = 0.7 * 12.0
    expected_ohm = (12.6 - lit_v) / Filament(0.25, 12.0).current(lit_v) - 0.01 - 0.0254
    assert reaches["W", "short to ground"].limit == pytest.approx(expected_ohm, rel=2e-3)
    assert not reaches["W", "open"].seen
    assert not reaches["C", "high resistance"].seen


def test_words_of_a_dark_lamp():
    """In words that a customer can hear."""
    lamp = Lamp("bat", "f")
    reaches = reach_of(DARK, "lamp for fuse", lamp, Band.of_look(lamp, "dark"))
    assert reach_words(reaches, lamp, "dark").replace("\u00a0", " ") == (
        "would have lit for any path to ground below 20 Ω at W")
    nothing = reach_of(DARK, "lamp for fuse", lamp, Band.of_look(lamp, "dark"), [Fault("W", "open")])
    assert reach_words(nothing, lamp, "dark") == "could have seen none of the faults considered"
    assert nothing[0].words() == "not an open at W, of whatever size"


def test_reach_of_a_meter_is_where_the_reading_leaves_the_band():
    """At the reach the reading lies on the limit: on one side seen, on the other not."""
    probe, band = Voltage("a"), Band(11.5, 12.6)
    reaches = by_fault(reach_of(series(), "on", probe, band))
    joint = reaches["W", "high resistance"]
    for factor, seen in ((1.02, True), (0.98, False)):
        value = predict(series(), "on", probe, fault=Fault("W", "high resistance", factor * joint.limit)).value
        assert (value < band.low) == seen
    weak = reaches["battery", "low voltage"]
    assert predict(series(), "on", probe, fault=Fault("battery", "low voltage", weak.limit)).value == pytest.approx(
        11.5, abs=2e-3)
    assert reaches["F", "open"].seen
    assert not reaches["W31", "short to ground"].seen


def test_unloaded_meter_does_not_see_one_strand():
    """Without its load a joint of 10 Ω reads healthy; with it it does not."""
    probe = Voltage("a")
    band = Band(12.3, 12.8)
    loaded = by_fault(reach_of(series(), "on", probe, Band(12.0, 12.8)))["W", "high resistance"]
    idle = replace(series(), setups=(Setup("load off", on=("S",), unplugged=("M",)),))
    unloaded = by_fault(reach_of(idle, "load off", probe, band))["W", "high resistance"]
    assert loaded.limit < 0.2
    assert not unloaded.seen or unloaded.limit > 1e4


def test_every_size_is_said():
    """Where even the smallest would have shown, the limit is the smallest considered."""
    reach = reach_of(series(), "on", Voltage("a"), Band(12.34, 12.35), [Fault("C", "high resistance")])[0]
    assert reach.every_size
    assert reach.limit == pytest.approx(0.005)
