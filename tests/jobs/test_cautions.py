"""What can hurt on a job, and steps that are refused because of it."""

from __future__ import annotations

import pytest

from workshop_log.exchange.records import (
    Bridge,
    Circuit,
    Complaint,
    Element,
    Job,
    LampStep,
    LookStep,
    MovementStep,
    ResistanceStep,
    Setup,
    ValueStep,
    Vehicle,
    VoltageStep,
    WatchLamp,
)
from workshop_log.jobs.cautions import all_cautions, cautions_for, cautions_for_step, step_refused

SQUIB = Circuit(id="restraint", elements=(
    Element(id="battery", kind="battery", between=("B+", "B-")),
    Element(id="squib", kind="load", between=("ACU.1", "ACU.2"), title="driver's igniter", protected="pyrotechnic"),
    Element(id="W9", kind="wire", between=("B+", "ACU.9"))),
    setups=(Setup(id="fed", bridges=(Bridge(between=("B+", "ACU.1"), through="fused lead", rating="5 A"),)),))
JOB = Job(circuits=(SQUIB,))


def keys(job: Job) -> list[str]:
    return [caution.key for caution in cautions_for(job)]


def test_every_caution_defers_to_local_rules_and_licensed_practice() -> None:
    """Each text names that local rules and licensed practice come first; there are the seven of the trade."""
    assert [caution.key for caution in all_cautions()] == [
        "pyrotechnic", "high voltage", "battery", "starting by themselves", "raised vehicle", "hot and turning parts",
        "fuel"]
    assert all("Local rules and licensed practice come first." in caution.words for caution in all_cautions())
    assert all("\n" not in caution.words and "  " not in caution.words for caution in all_cautions())


def test_plain_job_brings_no_caution() -> None:
    """A caution that is always there is one that nobody reads."""
    job = Job(complaints=(Complaint(id="c1", words="Interior light stays dark", conditions="at night"),))
    assert keys(job) == []


@pytest.mark.parametrize(("job", "key"), [
    (Job(vehicle=Vehicle(systems=("pyrotechnic",))), "pyrotechnic"),
    (Job(vehicle=Vehicle(systems=("high voltage",))), "high voltage"),
    (Job(complaints=(Complaint(id="c1", words="Airbag lamp stays on"),)), "pyrotechnic"),
    (Job(complaints=(Complaint(id="c1", words="Batteries flat overnight"),)), "battery"),
    (Job(complaints=(Complaint(id="c1", words="Gauge wrong", conditions="with the fuel tank full"),)), "fuel"),
    (Job(steps=(VoltageStep(id="s1", red="strap", reading="0.4 V", setup="cranking"),)), "hot and turning parts"),
    (Job(steps=(ValueStep(id="s1", what="brake disc thickness", reading="21 mm"),)), "raised vehicle"),
    (Job(complaints=(Complaint(id="c1", words="Wiper stops half way"),)), "starting by themselves"),
    (JOB, "pyrotechnic"), (JOB, "battery"),
])
def test_cautions_appear_when_their_facts_are_there(job: Job, key: str) -> None:
    """Systems ticked, words in complaint, condition and steps, elements of a circuit."""
    assert key in keys(job)


@pytest.mark.parametrize("words", [
    "The infant seat rattles", "A fantastic noise", "They shot past", "Refuelling flap squeaks"])
def test_signs_are_whole_words(words: str) -> None:
    """“fan” in “infant” is no fan."""
    assert keys(Job(complaints=(Complaint(id="c1", words=words),))) == []


@pytest.mark.parametrize("step", [
    LampStep(id="s1", clip="B-", probe="airbag connector pin 2", result="dark"),
    ResistanceStep(id="s1", red="seat belt tensioner pin 1", black="pin 2", reading="2.1 ohm"),
    ResistanceStep(id="s1", circuit="restraint", red="ACU.1", black="ACU.2", reading="2.1 ohm"),
    LampStep(id="s1", circuit="restraint", clip="B-", probe="ACU.2", result="dark"),
    LampStep(id="s1", clip="B-", probe="ACU.2", result="dark"),
    MovementStep(id="s1", elements=("column",), watching=WatchLamp(clip="B-", probe="clock spring"), trials=3),
    VoltageStep(id="s1", circuit="restraint", setup="fed", red="ACU.9", reading="12.4 V"),
])
def test_current_into_restraint_wiring_is_refused(step) -> None:
    """No lamp, no ohmmeter and no supply, whether the wiring is named in words or marked in a circuit."""
    assert "pyrotechnic restraint" in step_refused(step, JOB)


@pytest.mark.parametrize("step", [
    LampStep(id="s1", circuit="restraint", clip="B-", probe="ACU.9", result="lit"),
    LampStep(id="s1", circuit="restraint", clip="B-", probe="B+", result="lit"),
    VoltageStep(id="s1", circuit="restraint", red="ACU.1", reading="0.0 V"),
    LookStep(id="s1", elements=("airbag connector",), result="nothing"),
    ResistanceStep(id="s1", red="F7", black="C3.2", reading="0.3 ohm"),
])
def test_other_steps_are_not_refused(step) -> None:
    """A look pushes no current, and a shared supply point belongs to no restraint."""
    assert step_refused(step, JOB) is None


def test_step_brings_the_cautions_of_what_it_touches() -> None:
    """Before a step on the battery stands the battery's caution."""
    step = VoltageStep(id="s1", circuit="restraint", red="B+", reading="12.4 V")
    assert [caution.key for caution in cautions_for_step(step, Job())] == ["battery"]
