"""A point or an element that was pressed, and what is typed for it."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from workshop_log.exchange import records
from workshop_log.exchange.records import Circuit, Element, Job, Setup
from workshop_log.jobs.places import Place, healthy_words, place_words, read_at

CIRCUIT = Circuit(
    id="feed", title="Feed",
    elements=(
        Element(id="battery", kind="battery", between=("B+", "B-"), voltage="12 V", resistance="0.1 ohm"),
        Element(id="F1", kind="fuse", between=("B+", "F1 out"), rating="10 A"),
        Element(id="S1", kind="switch", between=("F1 out", "S1 out")),
        Element(id="R1", kind="load", between=("S1 out", "B-"), resistance="6 ohm")),
    setups=(Setup(id="on", title="switched on", on=("S1",)), Setup(id="off", disconnected=("battery",))))
JOB = Job(number="2031-0901", circuits=(CIRCUIT,))
POINT = Place("feed", "on", point="S1 out")
LOAD = Place("feed", "on", element="R1")


@pytest.mark.parametrize(("place", "typed", "kind", "reading"), [
    (POINT, "11.7", records.VoltageStep, "11.7 V"),
    (POINT, "11.7 V", records.VoltageStep, "11.7 V"),
    (POINT, "120 mV", records.VoltageStep, "120 mV"),
    (LOAD, "1.95", records.CurrentStep, "1.95 A"),
    (LOAD, "1950 mA", records.CurrentStep, "1950 mA"),
    (LOAD, "11.7 V", records.VoltageStep, "11.7 V"),
    (replace_ := Place("feed", "off", point="S1 out"), "6.0 ohm", records.ResistanceStep, "6.0 ohm"),
    (replace_, "OL", records.ResistanceStep, "OL")])
def test_a_reading_gets_its_place_and_the_usual_unit(place, typed, kind, reading):
    """Volt at a point and ampere at an element, unless another unit is typed."""
    line = read_at(typed, place, JOB)
    assert isinstance(line.step, kind), line.problem
    assert line.step.reading == reading
    assert (line.step.circuit, line.step.setup) == ("feed", place.setup)


@pytest.mark.parametrize(("place", "typed", "kind"), [
    (POINT, "lit", records.LampStep), (POINT, "Dark", records.LampStep), (LOAD, "damage", records.LookStep),
    (LOAD, "works not", records.ObserveStep), (LOAD, "3/10", records.MovementStep)])
def test_a_word_is_a_step_without_a_number(place, typed, kind):
    """A lamp at a point; a look, an observation or movements at an element."""
    assert isinstance(read_at(typed, place, JOB).step, kind)


@pytest.mark.parametrize(("typed", "result", "strength"), [
    ("damage", "damage", "fair"), ("Damage strong", "damage", "strong"), ("slight damage", "damage", "slight"),
    ("nothing fair", "nothing", "fair"), ("nothing  STRONG", "nothing", "strong"), ("good", "nothing", "fair")])
def test_a_look_at_an_element_says_how_much_it_saw(typed, result, strength):
    """The strength is typed behind the result or before it; without, a look is fair. What was understood says it."""
    line = read_at(typed, LOAD, JOB)
    assert (line.step.elements, line.step.result, line.step.strength) == (("R1",), result, strength)
    assert (strength in line.words) == (result == "damage" or strength != "fair")


@pytest.mark.parametrize(("typed", "cured"), [
    ("cured", True), ("Not  cured", False), ("same", False), ("gone", True), ("no change", False)])
def test_a_known_good_one_in_an_elements_place_cures_it_or_not(typed, cured):
    """A substitution in the setup that is set."""
    step = read_at(typed, LOAD, JOB).step
    assert step == records.SwapStep(id="s1", circuit="feed", setup="on", element="R1", cured=cured)


@pytest.mark.parametrize("typed", ["damage nothing", "strong", "slight strong damage", "damage damage", "cured not",
                                   "not cured strong"])
def test_words_that_contradict_each_other_are_no_step(typed):
    """One result and at most one strength."""
    line = read_at(typed, LOAD, JOB)
    assert line.step is None
    assert line.problem


@pytest.mark.parametrize("typed", ["cured", "damage slight", "works"])
def test_a_point_is_neither_looked_at_nor_swapped(typed):
    """These are things of an element."""
    assert read_at(typed, POINT, JOB).step is None


@pytest.mark.parametrize("typed", ["", "   ", "much", "3 bar", "8 1/2 V", "12.4.5"])
def test_what_does_not_fit_gives_no_step(typed):
    """A reason in a sentence, or nothing where nothing was typed."""
    line = read_at(typed, POINT, JOB)
    assert line.step is None
    assert bool(line.problem) == bool(typed.strip())


def test_an_ohmmeter_on_a_live_point_is_refused_before_it_is_taken_down():
    """The reason is said; no step comes of it."""
    line = read_at("6 ohm", POINT, JOB)
    assert line.step is None
    assert "must not" in line.problem


def test_a_lamp_on_a_protected_element_is_refused():
    """No lamp on restraint wiring, whatever the circuit."""
    squib = Element(id="SQ", kind="load", between=("S1 out", "B-"), resistance="2 ohm", protected="pyrotechnic")
    guarded = replace(JOB, circuits=(replace(CIRCUIT, elements=(*CIRCUIT.elements[:3], squib)),))
    line = read_at("lit", POINT, guarded)
    assert line.step is None
    assert line.problem


def test_the_verdict_is_said_while_it_is_typed():
    """12 V · 6 Ω / 6.13 Ω = 11.75 V by hand is inside; 6 V is outside."""
    assert "inside" in read_at("11.75", POINT, JOB).words
    assert "outside" in read_at("6.00", POINT, JOB).words


def test_place_and_what_is_expected_there_are_said_in_words():
    """Both leads, the setup's title, and what the healthy circuit shows with its reason."""
    assert place_words(POINT, JOB) == "red at S1 out, black at B−, switched on"
    assert "V" in healthy_words(POINT, JOB)
    assert "battery" in healthy_words(POINT, JOB)


def test_a_typed_line_on_the_circuit_is_warned_of_like_a_pressed_point():
    """The line that names its points itself is held against the same dangers."""
    from workshop_log.jobs.testing import read_again

    step = records.ResistanceStep(id="s1", circuit="feed", setup="on", red="S1 out", black="B-", reading="6 ohm")
    line = read_again("5 ohm", step, replace(JOB, steps=(step,)), after_repair=False)
    assert line.step is None
    assert "must not" in line.problem


def test_an_instrument_that_the_job_does_not_have_yet_counts_at_a_pressed_point():
    """The verdict said while typing is that of the meter in the hand, and its largest range is known."""
    meter = records.Instrument(id="fine", ranges=(
        records.InstrumentRange(quantity="voltage", up_to="20 V", percent=0.1, counts=1, resolution="0.001 V"),))
    line = read_at("11.750", POINT, JOB, instrument=meter)
    assert line.step.instrument == "fine"
    assert "largest range" in read_at("24.0", POINT, JOB, instrument=meter).words
