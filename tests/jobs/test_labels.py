"""The trade's words for steps and times."""

from __future__ import annotations

import pytest

from workshop_log.exchange.records import (
    Circuit,
    CurrentStep,
    Element,
    Job,
    LampStep,
    LookStep,
    MovementStep,
    ObserveStep,
    ResistanceStep,
    Setup,
    SwapStep,
    ValueStep,
    Vehicle,
    VoltageStep,
    WatchCurrent,
    WatchVoltage,
)
from workshop_log.jobs.labels import minutes_words, setup_words, step_result, step_title, vehicle_words

FEED = Circuit(id="feed", elements=(Element(id="M1", kind="motor", between=("M1.1", "B-"), title="wiper motor"),),
               setups=(Setup(id="run", title="wiper on"),))
JOB = Job(circuits=(FEED,))


@pytest.mark.parametrize(("step", "title", "result"), [
    (VoltageStep(id="s1", red="ground strap", reading="0.48 V"), "Voltage: ground strap to B−", "0.48 V"),
    (CurrentStep(id="s1", circuit="feed", through="M1", reading="6 A"), "Current through wiper motor", "6 A"),
    (ResistanceStep(id="s1", red="F7", black="C3", reading="OL"), "Resistance: F7 to C3", "OL"),
    (LampStep(id="s1", clip="B-", probe="F7", result="dark"), "Test lamp: clip on B−, probe on F7", "dark"),
    (LookStep(id="s1", elements=("loom", "C3", "boot"), result="damage", strength="strong"), "Look: loom, C3 and boot",
     "damage found (strong)"),
    (LookStep(id="s1", elements=(), result="nothing"), "Look: nothing named", "no damage found"),
    (LookStep(id="s1", elements=("boot",), result="nothing", strength="slight"), "Look: boot",
     "no damage found (slight)"),
    (MovementStep(id="s1", elements=("loom",), watching=WatchVoltage(red="C3"), trials=1),
     "Movement test: loom, watching the voltage, C3 to B−", "fault shown in 0 of 1 movement"),
    (MovementStep(id="s1", elements=("loom",), watching=WatchCurrent(through="F7"), trials=10, shown=3),
     "Movement test: loom, watching the current through F7", "fault shown in 3 of 10 movements"),
    (ObserveStep(id="s1", element="wiper", works=False), "Observation: wiper", "does not work"),
    (SwapStep(id="s1", element="R2", cured=True), "Substitution: a known good part for R2",
     "fault gone with the known good part"),
    (ValueStep(id="s1", what="brake disc thickness", where="front left", reading="21.3 mm"),
     "Brake disc thickness: front left", "21.3 mm"),
])
def test_title_and_result_of_each_kind_of_step(step, title: str, result: str) -> None:
    """What was done, and what it showed, each on its own."""
    assert (step_title(step, JOB), step_result(step)) == (title, result)


def test_setup_by_title_by_words_or_as_found() -> None:
    """A circuit's setup has a title; without a circuit the words typed; nothing said is as found."""
    assert setup_words(VoltageStep(id="s1", circuit="feed", setup="run", red="M1.1", reading="1 V"), JOB) == "wiper on"
    assert setup_words(VoltageStep(id="s1", setup="cranking", red="M1.1", reading="1 V")) == "cranking"
    assert setup_words(VoltageStep(id="s1", red="M1.1", reading="1 V")) == "as found"


@pytest.mark.parametrize(("minutes", "words"), [
    (0, "0 min"), (59.4, "59 min"), (59.5, "1 h 00 min"), (125, "2 h 05 min")])
def test_minutes_in_hours_and_minutes(minutes: float, words: str) -> None:
    """Rounded to the minute before they are split, so that 60 minutes never stand beside an hour."""
    assert minutes_words(minutes) == words


def test_vehicle_is_called_by_what_is_known_of_it() -> None:
    """No gaps where the year or the make is missing."""
    assert vehicle_words(Vehicle(make="Aldermoor", year=2027)) == "Aldermoor 2027"
    assert vehicle_words(Vehicle()) == ""
