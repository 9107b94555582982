"""What the figures say about condemning a part, with values written by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest
from jobs.pump import JOB, STEPS
from msgspec.structs import replace

from workshop_log.exchange.records import (
    Condemned,
    HandSuspect,
    Job,
    LampStep,
)
from workshop_log.jobs.case import Case, case_of
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.figures import in_a_hundred
from workshop_log.jobs.places import Place
from workshop_log.jobs.suspicion import HEALTHY, SEVERAL, CircuitSuspicion, Decision, Proposal, Share, SuspectLine

WIRE = Condemned(id="k1", part="feed wire", circuit="pump", element="W1", steps=("s3",))
NEXT = Proposal("look W1", "look", Place("pump", element="W1"), "Look at W1", "Goes straight to W1; 4 min.", 4.0)


def line(element: str, fault: str, probability: float, standing: str = "standing", by: tuple[str, ...] = (),
         appears: str = "always") -> SuspectLine:
    return SuspectLine(f"{element}: {fault}, {appears}", element, fault, appears, element, probability, standing,
                       cleared_by=by, share=element)


def suspicion(wire: float = 0.80) -> CircuitSuspicion:
    """Return the wire with `wire`, its pin with 0.12, the rest for nothing wrong and two faults; the others cleared."""
    rest = 1 - wire - 0.12
    return CircuitSuspicion(
        "pump", "Fuel pump", rest / 2, n_steps=3,
        suspects=(line("W1", "open", wire), line("W1", "short to ground", 0.0, "cleared", ("s2",)),
                  line("C3.2", "open", 0.12), line("C3.2", "high resistance", 0.0, "cleared", ("s3", "s2")),
                  line("F7", "open", 0.0, "cleared", ("s2",)), line("F7", "high resistance", 0.0, "cleared", ("s3",)),
                  line("BAT", "low voltage", 0.0, "cleared", ("s1",))),
        shares=(Share("W1", "W1 (feed to the pump)", wire), Share("C3.2", "C3.2 (pin at the pump)", 0.12),
                Share(HEALTHY, "nothing wrong in this circuit", rest / 2),
                Share(SEVERAL, "two faults at once", rest / 2),
                Share("F7", "F7 (pump fuse)", 0.0, "cleared", ("s3", "s2")),
                Share("BAT", "BAT", 0.0, "cleared", ("s1",))),
        contradictions=("Step s1 and step s3 cannot both be right: repeat step s1.",))


def decision(right: float, loss: str, going_on: str | None, together: tuple[str, ...] = ("W1",),
             known: bool = True) -> Decision:
    better = NEXT if going_on is not None and Decimal(going_on) < Decimal(loss) else None
    return Decision("W1", "W1", together, right, Decimal(40), Decimal(loss), better,
                    None if going_on is None else Decimal(going_on), words="In sentences.", is_cost_known=known)


def case(condemned: Condemned = WIRE, possible: CircuitSuspicion | None = None, decided: Decision | None = None,
         job: Job = JOB) -> Case:
    return case_of(job, evaluate(job), condemned, None, possible or suspicion(), decided)


def plain(words: tuple[str, ...]) -> list[str]:
    return [word.replace("\N{NO-BREAK SPACE}", " ") for word in words]


def test_what_cleared_the_others_is_listed_by_the_first_step_that_did() -> None:
    """A part that is cleared as a whole by its name; of one that still stands, the kinds of fault that are gone."""
    assert [cleared.words for cleared in case().figures.cleared] == [
        "BAT: cleared by s1", "F7 (pump fuse): cleared by s2, s3",
        "C3.2 (pin at the pump), high resistance: cleared by s2, s3"]


def test_kind_that_is_cleared_only_as_always_there_says_so() -> None:
    """Somebody who reads that an open is cleared must not take it for one that comes and goes."""
    possible = suspicion()
    lines = (*possible.suspects[:1], line("C3.2", "open", 0.12, appears="comes and goes"),
             line("C3.2", "open", 0.0, "cleared", ("s2",)), line("C3.2", "high resistance", 0.0, "cleared", ("s2",)))
    made = case(possible=CircuitSuspicion("pump", "", suspects=lines, shares=possible.shares[:2]))
    assert [cleared.words for cleared in made.figures.cleared] == [
        "C3.2 (pin at the pump), high resistance, open if always there: cleared by s2"]


def test_what_else_is_possible_is_unproved_in_sentences() -> None:
    """The likeliest first, with its share; nothing wrong and two faults are possibilities like any other."""
    made = case()
    assert plain(made.figures.still_possible) == [
        "The contact C3.2 (pin at the pump) is still possible (12 %).",
        "That nothing is wrong there is still possible (4 %).", "Two faults at once are still possible (4 %)."]
    assert set(made.figures.still_possible) < set(made.doubts)
    assert "Step s1 and step s3 cannot both be right: repeat step s1." in made.doubts
    assert "Nothing is said about what else it could be, and what cleared that." not in made.doubts


def test_what_is_hardly_possible_is_named_in_one_sentence() -> None:
    """Ten parts of half a percent each are five percent, and no ten lines."""
    tail = tuple(Share(f"X{n}", f"X{n}", 0.005) for n in range(10))
    possible = CircuitSuspicion("pump", "", shares=(Share("W1", "W1", 0.83), Share("F7", "F7", 0.12), *tail))
    assert plain(case(possible=possible).figures.still_possible) == [
        "The fuse F7 is still possible (12 %).", "10 others are still possible (together 5 %)."]
    alone = CircuitSuspicion("pump", "", shares=(Share("W1", "W1", 0.95), *tail))
    assert plain(case(possible=alone).figures.still_possible) == [
        "Everything else together is hardly possible any more (5 %)."]


def test_parts_that_no_test_tells_apart_are_replaced_together_and_stand_not_against_each_other() -> None:
    """The probability of being right is that of both."""
    made = case(decided=decision(0.92, "3.20", None, together=("W1", "C3.2")))
    assert made.figures.together_words == (
        "In the wire W1 (feed to the pump) or in the contact C3.2 (pin at the pump): no test tells them apart, both "
        "are replaced together.")
    assert made.figures.together == ("W1", "C3.2")
    assert made.probability_right == 0.92
    assert not any("C3.2" in words for words in (*made.figures.still_possible,
                                                 *(cleared.words for cleared in made.figures.cleared)))
    assert case().figures.together_words == ""


@pytest.mark.parametrize(("wire", "decided", "reasons"), [
    (0.80, None, 1), (0.80, decision(0.80, "8.00", "9.00"), 1), (0.80, decision(0.80, "8.00", "7.99"), 2),
    (0.87, decision(0.96, "1.60", "1.60"), 0), (0.87, decision(0.96, "1.60", "1.50"), 1),
    (0.87, decision(0.949, "1.60", None), 1), (0.87, decision(0.95, "0.00", "0.00", known=False), 0),
    (0.87, decision(0.95, "8.00", "4.00", known=False), 0),
])
def test_reason_is_asked_for_where_the_figures_are_against_it(wire: float, decided: Decision | None, reasons: int,
                                                              ) -> None:
    """Under 95 in 100, or where the best test first costs less; money that nobody knows says nothing."""
    made = case(possible=suspicion(wire), decided=decided)
    assert len(made.says_no) == reasons
    assert made.needs_a_reason is bool(reasons)


def test_reasons_can_be_read_aloud() -> None:
    """How likely it is, which test, and both sums."""
    assert case(decided=decision(0.80, "8.00", "7.50")).says_no == (
        "By the circuit it is about 80 in 100 that it is the wire W1 (feed to the pump): from 95 on it is sure enough.",
        "To make the test “Look at W1” first costs £7.50 on average, and to condemn it now £8.00.")


def test_part_for_which_no_reading_speaks_is_proved_by_what_cleared_the_others() -> None:
    """The figures speak for it; without any step, or where they are against it, nothing does."""
    sound = replace(JOB, steps=STEPS[:2])
    alone = replace(WIRE, steps=())
    sure = CircuitSuspicion("pump", "", shares=(Share("W1", "W1", 0.96),), n_steps=2)
    assert case(alone, sure, job=sound).says_no == ()
    assert len(case(alone, CircuitSuspicion("pump", "", shares=sure.shares), job=sound).says_no) == 1
    assert len(case(alone, suspicion(), job=sound).says_no) == 2


@pytest.mark.parametrize("other", [
    {"element": None, "circuit": None}, {"element": "X9"}, {"circuit": "lamps"},
])
def test_part_of_which_the_circuit_says_nothing_has_no_figures(other: dict) -> None:
    """A part by its name, an element that is not in the circuit, one of another circuit: as without a circuit."""
    made = case(replace(WIRE, **other))
    assert made.figures is None
    assert made.probability_right is None
    assert "Nothing is said about what else it could be, and what cleared that." in made.doubts


def test_suspect_written_by_hand_is_known_by_its_name() -> None:
    """Whatever the case of its letters."""
    job = Job(suspects=(HandSuspect(id="h1", name="worn hub"),))
    by_hand = CircuitSuspicion("", "", shares=(Share("h1", "worn hub", 0.7), Share("h2", "tyre", 0.3)), n_steps=1)
    made = case(Condemned(id="k1", part="Worn hub"), by_hand, job=job)
    assert (made.figures.share, made.probability_right) == ("h1", 0.7)
    assert plain(made.figures.still_possible) == ["Tyre is still possible (30 %)."]


def test_circuit_that_cannot_be_computed_says_why() -> None:
    """The sentence stands among what is unproved."""
    broken = CircuitSuspicion("pump", "", problem="Circuit pump has no way to ground.")
    made = case(possible=broken)
    assert made.figures is None
    assert "Circuit pump has no way to ground." in made.doubts


def test_decided_part_keeps_how_likely_it_was_then() -> None:
    """What is read afterwards is what stood when it was decided; a part let off has no such figure."""
    decided = replace(WIRE, decision="replace", probability_right=0.97)
    assert case(decided).probability_right == 0.97
    assert case(replace(decided, decision="considered")).probability_right == 0.80


def test_part_that_was_the_cause_needs_no_defence_against_the_others() -> None:
    """After the repair is judged, no figure knows better; a part let off needs none at all."""
    found = replace(WIRE, decision="replace", was_the_cause=True)
    assert not set(case(found).figures.still_possible) & set(case(found).doubts)
    off = case(replace(WIRE, decision="let off"))
    assert off.figures is not None
    assert not set(off.figures.still_possible) & set(off.doubts)


def test_lamp_that_came_out_otherwise_than_in_the_healthy_circuit_speaks_for_the_part() -> None:
    """Lit at the fuse as it should be, dark behind the wire: the second speaks, the first does not."""
    lamps = tuple(LampStep(id=f"s{n}", circuit="pump", clip="B-", probe=probe, result=result)
                  for n, probe, result in ((4, "a", "lit"), (5, "b", "dark")))
    job = replace(JOB, steps=lamps)
    made = case_of(job, evaluate(job), replace(WIRE, steps=()))
    assert [remark.step.id for remark in made.remarks] == ["s5"]
    assert made.speaks_against == ()


@pytest.mark.parametrize(("probability", "words"), [
    (0.93, "about 93 in 100"), (0.949, "about 94 in 100"), (0.9449, "about 94 in 100"), (0.95, "about 95 in 100"),
    (0.9999, "more than 99 in 100"), (0.004, "less than 1 in 100"), (0.014, "about 1 in 100"),
    (0.125, "about 13 in 100"),
])
def test_how_likely_is_never_rounded_up_to_sure_enough(probability: float, words: str) -> None:
    """Whoever reads 95 must not be asked for a reason because of 94.9."""
    assert in_a_hundred(probability) == words
