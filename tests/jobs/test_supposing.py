"""A proposed test made or supposed: what it may show, as it would be typed, and the step that this is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from workshop_log.exchange import records
from workshop_log.exchange.records import Circuit, Element, Job, Setup, Step
from workshop_log.jobs.places import Place
from workshop_log.jobs.supposing import hint_for, outcomes_of, read_result, supposed_words, template_of
from workshop_log.jobs.suspicion import Proposal

JOB = Job(number="2031-0042", steps=(records.VoltageStep(id="s1", circuit="pump", red="B+", reading="12.4 V"),),
          circuits=(Circuit(id="pump", elements=(
              Element(id="BAT", kind="battery", between=("B+", "B-"), voltage="12.6 V"),
              Element(id="F7", kind="fuse", between=("B+", "a"), rating="15 A"),
              Element(id="S1", kind="switch", between=("a", "b")),
              Element(id="PUMP", kind="motor", between=("b", "B-"), current="6 A", at="12.6 V")),
              setups=(Setup(id="running", title="pump running", on=("S1",)),)),))


def proposal(kind: str, healthy: str = "", faulty: str = "", place: Place | None = None, **step: object) -> Proposal:
    """Return a proposed test as `jobs.proposing` makes it."""
    return Proposal(kind, kind, place or Place("pump", "running", point="b"), "A test", "Why.", 3.0, healthy, faulty,
                    step={"kind": kind, **step})


VOLTAGE = proposal("voltage", "12.4\N{NO-BREAK SPACE}V", "0 V if it is F7; 3.1\N{NO-BREAK SPACE}V to "
                   "11.0\N{NO-BREAK SPACE}V if it is S1", setup="running", red="b", black="B-")
CURRENT = proposal("current", "6.00 A", "0 A if it is F7", Place("pump", "running", element="PUMP"), setup="running",
                   through="PUMP")
RESISTANCE = proposal("resistance", "2.10 Ω", "OL if it is PUMP", Place("pump", point="b"), setup="as found",
                      red="b", black="B-")
LAMP = proposal("lamp", "lit", "dim or dark if it is F7", setup="running", clip="B-", probe="b")
LOOK = proposal("look", "no damage", "damage if it is F7", Place("pump", element="F7"), elements=["F7"])
MOVEMENT = proposal("movement", "nothing happens", "the fault shows if it is F7",
                    Place("pump", "running", element="F7"), setup="running", elements=["F7"], trials=10,
                    watching={"kind": "voltage", "red": "b", "black": "B-"})
SWAP = proposal("swap", "no change", "cured if it is F7", Place("pump", element="F7"), element="F7")
ALL = (VOLTAGE, CURRENT, RESISTANCE, LAMP, LOOK, MOVEMENT, SWAP)

by_kind = pytest.mark.parametrize("made", ALL, ids=lambda made: made.kind)


def typed(made: Proposal, text: str) -> Step:
    read = read_result(text, made, JOB)
    assert read.step is not None, read.problem
    return read.step


@by_kind
def test_a_proposed_test_is_a_step_of_its_kind_at_its_place(made: Proposal):
    """Numbered like the next step of the job, in its circuit; as found is what no setup means."""
    step = template_of(made, JOB)
    assert type(step).__struct_config__.tag == made.kind
    assert (step.id, step.circuit) == ("s2", "pump")
    assert step.setup == ("" if made.step.get("setup", "as found") == "as found" else "running")


@by_kind
def test_what_it_may_show_can_be_typed(made: Proposal):
    """Healthy and faulty each become a step of that kind, and they are not the same."""
    outcomes = outcomes_of(made)
    steps = [typed(made, outcome.text) for outcome in outcomes]
    assert len(outcomes) >= 2
    assert {type(step) for step in steps} == {type(template_of(made, JOB))}
    assert len({supposed_words(step) for step in steps}) == len(steps)


@by_kind
def test_every_kind_says_what_is_to_be_typed(made: Proposal):
    """In a short sentence."""
    assert hint_for(made).startswith("Type ")
    assert hint_for(made).endswith(".")


def test_of_two_ends_the_one_farther_from_healthy_is_supposed():
    """What says most; the words keep both ends."""
    outcomes = [(outcome.text, outcome.words.replace("\N{NO-BREAK SPACE}", " ")) for outcome in outcomes_of(VOLTAGE)]
    assert [(text.replace("\N{NO-BREAK SPACE}", " "), words) for text, words in outcomes] == [
        ("12.4 V", "12.4 V, as healthy"), ("0 V", "0 V if it is F7"),
        ("3.1 V", "3.1 V (3.1 V to 11.0 V if it is S1)")]
    assert outcomes_of(replace(LAMP, healthy="dim"))[1].text == "dark"
    assert outcomes_of(replace(RESISTANCE, healthy="1.0 Ω", faulty="2.0 Ω to OL if it is F7"))[1].text == "OL"


def test_a_value_that_nobody_can_type_is_not_offered():
    """A point that hangs in the air shows anything."""
    assert [outcome.text for outcome in outcomes_of(replace(VOLTAGE, faulty="anything if it is F7"))] == [
        "12.4\N{NO-BREAK SPACE}V"]


@pytest.mark.parametrize(("made", "text", "wanted"), [
    (VOLTAGE, "3.1", {"reading": "3.1 V", "red": "b", "black": "B-", "setup": "running"}),
    (VOLTAGE, "440 mV", {"reading": "440 mV"}),
    (CURRENT, "5.8", {"reading": "5.8 A", "through": "PUMP"}),
    (RESISTANCE, "OL", {"reading": "OL", "red": "b", "black": "B-", "setup": ""}),
    (LAMP, "Dim", {"result": "dim", "clip": "B-", "probe": "b"}),
    (LOOK, "damage", {"result": "damage", "elements": ("F7",)}),
    (MOVEMENT, "3/20", {"shown": 3, "trials": 20, "watching": records.WatchVoltage(red="b", black="B-")}),
    (SWAP, "cured", {"cured": True, "element": "F7"}),
    (SWAP, "same", {"cured": False})])
def test_a_result_alone_completes_the_proposed_step(made: Proposal, text: str, wanted: dict[str, object]):
    """Place, setup, and what is watched are those of the proposal."""
    step = typed(made, text)
    assert {name: getattr(step, name) for name in wanted} == wanted


def test_another_kind_of_result_is_read_for_the_place():
    """A lamp instead of the meter, a resistance instead of the voltage: what was done counts."""
    assert isinstance(typed(VOLTAGE, "lit"), records.LampStep)
    assert isinstance(typed(LOOK, "3/10"), records.MovementStep)
    assert read_result("nonsense", VOLTAGE, JOB).problem


@pytest.mark.parametrize(("step", "words"), [
    (records.VoltageStep(id="s", red="b", reading="0 V"), "if it showed 0 V"),
    (records.LampStep(id="s", clip="B-", probe="b", result="dark"), "if the lamp was dark"),
    (records.LookStep(id="s", elements=("F7",), result="damage"), "if damage was found"),
    (records.LookStep(id="s", elements=("F7",), result="nothing"), "if no damage was found"),
    (records.MovementStep(id="s", elements=("F7",), shown=3, trials=10), "if the fault showed in 3 of 10 movements"),
    (records.ObserveStep(id="s", element="PUMP", works=False), "if it did not work"),
    (records.SwapStep(id="s", element="F7", cured=True), "if the fault was gone with the known good part")])
def test_a_supposition_names_itself(step: Step, words: str):
    """To stand above the bar that there would be."""
    assert supposed_words(step) == words
