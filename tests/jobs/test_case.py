"""The case for condemning a part, and the same tests before and after the repair."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from msgspec.structs import replace

from workshop_log.exchange.records import (
    Complaint,
    Condemned,
    Expected,
    Instrument,
    Job,
    LampStep,
    LookStep,
    MovementStep,
    ObserveStep,
    ValueStep,
    VoltageStep,
    Workshop,
)
from workshop_log.jobs.before_after import are_clean_trials_missing, before_and_after, clean_trials
from workshop_log.jobs.case import case_of, cost_if_wrong, margin_words, reading_words
from workshop_log.jobs.evaluation import evaluate

DISC = ValueStep(id="s1", what="brake disc thickness", where="front left", reading="21.3 mm", instrument="caliper",
                 expected=Expected(low="22 mm", source="stamped on the disc"))
CALIPER = Instrument(id="caliper", kind="gauge")
WORN = Condemned(id="k1", part="brake disc", decision="replace", steps=("s1",),
                 others_cleared="Pads 8 mm, evenly worn.", price=Decimal("88.00"), returnable=True, fit_minutes=90)
RATE = Workshop(labour_rate=Decimal("64.00"))


def case(condemned=WORN, steps=(DISC,), **more):
    job = Job(**({"workshop": RATE, "steps": steps, "instruments": (CALIPER,), "condemned": (condemned,)} | more))
    return case_of(job, evaluate(job), condemned)


def ids(told) -> list[str]:
    return [one.step.id for one in told]


def strap_drop(reading: str, **more) -> VoltageStep:
    return VoltageStep(**{"id": "s1", "red": "strap", "reading": reading, "expected": Expected(high="0.2 V")} | more)


def test_mechanical_part_has_a_case_without_any_circuit() -> None:
    """A disc below its limit, measured by a named gauge against a stamped limit, leaves nothing open."""
    made = case()
    (reading,) = made.speaks_for
    assert reading_words(reading).startswith(
        "read 21.3 mm, expected at least 22\u00a0mm (stamped on the disc): 0.70\u00a0mm below the lowest")
    assert (made.too_close, made.speaks_against, made.doubts) == ((), (), ())
    assert not made.needs_a_reason
    assert made.others_cleared == "Pads 8 mm, evenly worn."


def test_margin_counts_standard_uncertainties() -> None:
    """0.30 V above at most 0.2 V, with a = 0.8 % of 0.50 V and two counts of 0.01 V: u = sqrt(a²/3 + d²/12)."""
    (reading,) = case(steps=(strap_drop("0.50 V"),)).speaks_for
    standard = ((0.004 + 0.02) ** 2 / 3 + 0.01**2 / 12) ** 0.5
    assert margin_words(reading) == (
        f"300\u00a0mV above the highest, {0.3 / standard:.3g} times its standard uncertainty")


def test_reading_too_close_to_call_does_not_speak_for_the_part() -> None:
    """It is shown, on its own, and the technician's own reason is asked for."""
    made = case(steps=(strap_drop("0.20 V"),))
    assert ids(made.too_close) == ["s1"]
    assert made.needs_a_reason
    assert "Step s1 is too close to call and proves nothing." in made.doubts


def test_good_reading_speaks_against() -> None:
    """A part whose test came out right is condemned against the evidence."""
    made = case(steps=(strap_drop("0.02 V"),))
    assert ids(made.speaks_against) == ["s1"]
    assert "Step s1 showed nothing wrong." in made.doubts


@pytest.mark.parametrize(("change", "sentence"), [
    ({"steps": (VoltageStep(id="s1", red="strap", reading="0.5 V", expected=Expected(high="0.2 V")),)},
     "The instrument was not shown to work for step s1."),
    ({"steps": (VoltageStep(id="s1", red="strap", reading="0.5 V", expected=Expected(high="0.2 V")),)},
     "No instrument was named for step s1: the usual accuracy was assumed."),
    ({"steps": (VoltageStep(id="s1", red="a", reading="0.5 V", expected=Expected(high="0.2 V")),)},
     "Nobody noted where the limit of step s1 comes from."),
    ({"steps": (VoltageStep(id="s1", red="a", reading="0.5 V", proved=True,
                            expected=Expected(high="0.2 V", source="ground path: common practice, no source")),)},
     "The limit of step s1 is common practice, with no source."),
    ({"condemned": Condemned(id="k1", part="disc", steps=("s1",))},
     "Nothing is said about what else it could be, and what cleared that."),
    ({"condemned": Condemned(id="k1", part="disc", steps=("s1",), unproved="The other side was not measured.")},
     "The other side was not measured."),
    ({"complaints": (Complaint(id="c1", words="x", appears="comes and goes"),)},
     "The fault comes and goes: one test, good or bad, does not settle it."),
])
def test_what_is_unproved_is_said_in_a_sentence(change: dict, sentence: str) -> None:
    """Each weakness of the case is named, so that the report can name it."""
    change = dict(change)
    condemned = change.pop("condemned", WORN)
    steps = change.pop("steps", (DISC,))
    assert sentence in case(condemned, steps, **change).doubts


def test_every_reading_outside_is_listed_while_a_part_is_considered() -> None:
    """The named ones come first; corrected steps and steps after the repair bear on no case; a lamp where named."""
    steps = (strap_drop("0.5 V", id="s0"), DISC, LookStep(id="s2", elements=("disc",), result="damage"),
             LampStep(id="s3", clip="B-", probe="F7", result="dark"), ObserveStep(id="s4", element="ABS", works=False),
             strap_drop("9 V", id="s5", after_repair=True), strap_drop("9 V", id="s6"),
             strap_drop("0.02 V", id="s7", replaces="s6", because="x"))
    made = case(replace(WORN, decision="considered"), steps)
    assert (ids(made.speaks_for), ids(made.remarks)) == (["s1", "s0"], ["s2", "s4"])
    assert made.rests_on == ("s1", "s0", "s2", "s4")
    assert case(WORN, steps).rests_on == ("s1",)
    assert case(replace(WORN, steps=()), steps).rests_on == ("s0", "s1", "s2", "s4")
    assert ids(case(Condemned(id="k1", part="F7", steps=("s3",)), steps).remarks) == ["s3", "s2", "s4"]


@pytest.mark.parametrize(("returnable", "total", "words"), [
    (True, "96.00", "The part can go back; fitting 1 h 30 min £96.00."),
    (False, "184.00", "Part £88.00, which cannot go back; fitting 1 h 30 min £96.00."),
    (None, "184.00", "Part £88.00, if it cannot go back; fitting 1 h 30 min £96.00."),
])
def test_cost_of_being_wrong(returnable, total: str, words: str) -> None:
    """88.00 unless it can go back, and 90 minutes at 64.00 an hour: 96.00."""
    part = Condemned(id="k1", part="disc", price=Decimal("88.00"), returnable=returnable, fit_minutes=90)
    cost = cost_if_wrong(Job(workshop=RATE), part)
    assert (cost.total, cost.words) == (Decimal(total), words)
    assert cost_if_wrong(Job(workshop=RATE), part, Decimal(50)).total == Decimal(total) + 50


def test_part_that_was_let_off_needs_no_defence() -> None:
    """What cleared it stands against it, and nothing is asked about other causes."""
    off = Condemned(id="k1", part="starter", decision="let off", steps=("s1",), unproved="Not seen warm.")
    made = case(off, (strap_drop("0.02 V"), strap_drop("0.5 V", id="s2")))
    assert (ids(made.speaks_against), made.rests_on, made.doubts) == (["s1"], (), ("Not seen warm.",))


def test_cost_is_not_known_before_anything_is() -> None:
    """Without price and time there is no sum, and not a sum of nothing."""
    assert case(Condemned(id="k1", part="disc")).cost_if_wrong is None
    assert case().cost_if_wrong == Decimal("96.00")


# --- before and after


def strap(id: str, reading: str, **more) -> VoltageStep:  # noqa: A002
    return VoltageStep(**{"id": id, "red": "strap", "setup": "cranking", "reading": reading} | more)


def pairs(*steps) -> list[tuple[str, str]]:
    job = Job(steps=steps)
    return [(pair.before.step.id, pair.after.step.id) for pair in before_and_after(job, evaluate(job))]


def test_same_place_and_setup_are_paired_with_the_last_test_before() -> None:
    """Another point, or the same one under another condition, is another test."""
    assert pairs(strap("s1", "0.5 V"), strap("s2", "0.48 V"), strap("s3", "0.1 V", setup="at rest"),
                 strap("s4", "0.2 V", red="clamp"), strap("s5", "0.04 V", after_repair=True)) == [("s2", "s5")]


def test_named_step_wins_over_the_same_place() -> None:
    """A step says itself which one it makes again, even under another name of the place."""
    assert pairs(strap("s1", "0.5 V", red="strap body end"), strap("s2", "0.48 V"),
                 strap("s3", "0.04 V", after_repair=True, repeats="s1")) == [("s1", "s3")]


def test_corrected_steps_are_paired_as_corrected() -> None:
    """The pair is the one that stands, on both sides."""
    assert pairs(strap("s1", "4.8 V"), strap("s2", "0.48 V", replaces="s1", because="slip"),
                 strap("s3", "0.4 V", after_repair=True, repeats="s1"),
                 strap("s4", "0.04 V", after_repair=True, repeats="s1", replaces="s3", because="x")) == [("s2", "s4")]


def test_pair_in_a_sentence() -> None:
    """What was measured, and both readings as they were typed."""
    job = Job(steps=(strap("s1", "0.48 V"), strap("s2", "0.04 V", after_repair=True)))
    assert before_and_after(job, evaluate(job))[0].words == (
        "Voltage: strap to B−, cranking: 0.48 V before, 0.04 V after.")


def test_test_made_only_after_the_repair_has_no_pair() -> None:
    """Nothing is compared with nothing."""
    assert pairs(strap("s1", "0.04 V", after_repair=True)) == []


# --- clean trials after the repair


GOES = (Complaint(id="c1", words="Lamps go out", appears="comes and goes"),)
T0 = datetime(2031, 4, 2, 12, tzinfo=UTC)


def moved(id: str, shown: int, of: int, **more) -> MovementStep:  # noqa: A002
    return MovementStep(**{"id": id, "elements": ("loom",), "shown": shown, "trials": of,
                           "after_repair": id > "s4"} | more)


def tried(*steps, complaints=GOES, **more):
    job = Job(steps=steps, complaints=complaints, **more)
    return clean_trials(job, evaluate(job))


@pytest.mark.parametrize(("shown", "of", "needed"), [(3, 10, 11), (4, 6, 4), (10, 10, 2)])
def test_clean_trials_that_are_enough_follow_from_how_often_it_showed(shown: int, of: int, needed: int) -> None:
    """The chance of n more clean ones, if the fault were still there and nothing known of its rate but k of 10.

    For 3 of 10: 8·9·10·11 / ((8+n)(9+n)(10+n)(11+n)), 5.5 % for n = 10 and 4.5 % for 11. For 4 of 6:
    3·4·5·6·7 / ((3+n) … (7+n)), 8.3 % for 3 and 4.5 % for 4. For 10 of 10: 1/12, then 1/12 · 2/13.
    """
    (one,) = tried(moved("s1", shown, of))
    assert (one.shown, one.trials, one.needed, one.made) == (shown, of, needed, 0)


@pytest.mark.parametrize(("after", "words"), [
    ((), "Before the repair it showed in 3 of 10 movements: 11 clean ones after it make it 95 % sure; none made so "
         "far."),
    ((moved("s5", 0, 4),), "Before the repair it showed in 3 of 10 movements: 11 clean ones after it make it 95 % "
                           "sure; 4 made so far."),
    ((moved("s5", 0, 4), moved("s6", 0, 7)), "Before the repair it showed in 3 of 10 movements, after it in none of "
                                             "11: 11 clean ones are enough to be 95 % sure."),
    ((moved("s5", 0, 20), moved("s6", 1, 5)), "Before the repair it showed in 3 of 10 movements, and once again after "
                                              "it: the repair is not proved."),
])
def test_clean_trials_in_sentences(after: tuple[MovementStep, ...], words: str) -> None:
    """How often before, how many are enough, how many there are; once again is too often."""
    (one,) = tried(moved("s1", 3, 10), *after)
    assert one.words.replace("\N{NO-BREAK SPACE}", " ") == words


def test_same_movement_is_added_up_and_another_one_stands_alone() -> None:
    """Another part moved, or under another condition, is another way to provoke; a corrected step does not count."""
    found = tried(moved("s1", 1, 4), moved("s2", 2, 6), moved("s3", 1, 5, setup="hot"),
                  moved("s4", 9, 10, elements=("x",)), moved("s5", 0, 3), moved("s6", 0, 2, setup="hot"),
                  moved("s7", 0, 8, replaces="s5", because="8"), moved("s8", 0, 5, elements=("y",), repeats="s4"))
    assert [(one.shown, one.trials, one.made) for one in found] == [(3, 10, 8), (1, 5, 2), (9, 10, 5)]


def test_trials_before_the_last_repair_do_not_count_for_it() -> None:
    """It showed again, another part was replaced, and it was moved in vain since."""
    repaired = tuple(Condemned(id=f"k{n}", part=part, decision="replace", repaired=T0 + timedelta(hours=hour))
                     for n, part, hour in ((1, "plug", 0), (2, "loom", 4)))
    (one,) = tried(moved("s1", 3, 10), moved("s5", 2, 10, at=T0 + timedelta(hours=1)),
                   moved("s6", 0, 12, at=T0 + timedelta(hours=5)), condemned=repaired)
    assert (one.made, one.shown_again, one.is_enough) == (12, 0, True)


def test_clean_trials_are_asked_for_where_a_fault_comes_and_goes_and_was_provoked() -> None:
    """Not where it is always there, and not of a movement that never showed it."""
    assert tried(moved("s1", 3, 10), complaints=(replace(GOES[0], appears="always"),)) == ()
    assert tried(moved("s1", 0, 10), moved("s5", 0, 10)) == ()


@pytest.mark.parametrize(("steps", "missing"), [
    ((), False),
    ((moved("s1", 3, 10),), True),
    ((moved("s1", 3, 10), moved("s5", 0, 1)), True),
    ((moved("s1", 3, 10), moved("s5", 0, 11)), False),
    ((moved("s1", 3, 10), moved("s2", 9, 10, elements=("x",)), moved("s5", 0, 3, elements=("x",))), False),
    ((moved("s1", 3, 10), moved("s2", 9, 10, elements=("x",)), moved("s5", 0, 3, elements=("x",)), moved("s6", 1, 9)),
     True),
])
def test_one_movement_tried_often_enough_is_enough(steps: tuple[MovementStep, ...], missing: bool) -> None:
    """Whoever found a quicker way to provoke the fault need not go on with the slow one; once again is too often."""
    job = Job(steps=steps, complaints=GOES)
    assert are_clean_trials_missing(job, evaluate(job)) is missing
