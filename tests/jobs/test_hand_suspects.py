"""Suspects written by hand: what steps say of them, and what is still possible."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from workshop_log.book.errors import UnknownItemError
from workshop_log.exchange.records import Bearing, HandSuspect, Job, LookStep
from workshop_log.jobs import hand_suspects, intake, testing
from workshop_log.jobs.fields import FieldError
from workshop_log.jobs.hand_suspects import (
    FACTORS,
    NOT_LISTED,
    NOT_LISTED_SHARE,
    add_suspect,
    bear,
    edit_suspect,
    hand_history,
    hand_suspicion,
    remove_suspect,
)

STEPS = tuple(LookStep(id=f"s{number}", elements=("hub",), result="nothing") for number in range(1, 7))
NAMES = ("wheel bearing", "hub", "disc", "tyre")


def suspects(**bearings: tuple[tuple[str, str, str], ...]) -> tuple[HandSuspect, ...]:
    """Return four suspects; `hub=(("s1", "clears", "strong"),)` is what steps say of the hub."""
    return tuple(HandSuspect(id=f"h{number}", name=name, bearings=tuple(
        Bearing(step=step, says=says, strength=strength)
        for step, says, strength in bearings.get(name.replace(" ", "_"), ())))
        for number, name in enumerate(NAMES, start=1))


def job(steps=STEPS, **bearings) -> Job:
    return Job(steps=steps, suspects=suspects(**bearings))


def standings(told) -> dict[str, str]:
    return {line.name: line.standing for line in told.suspects}


def probabilities(told) -> dict[str, float]:
    return {line.key: line.probability for line in told.suspects}


@st.composite
def any_jobs(draw):
    """Give a job with up to five suspects of any weight and any bearings."""
    bearing = st.builds(Bearing, step=st.sampled_from([*(step.id for step in STEPS), "gone"]),
                        says=st.sampled_from(["clears", "supports"]),
                        strength=st.sampled_from(["slight", "fair", "strong"]))
    made = draw(st.lists(st.tuples(st.floats(0.001, 1000), st.lists(bearing, unique_by=lambda one: one.step)),
                         min_size=1, max_size=5))
    steps = [replace(step, after_repair=draw(st.booleans())) for step in STEPS]
    for number in range(1, len(steps)):
        if draw(st.booleans()):
            steps[number] = replace(steps[number], replaces=steps[draw(st.integers(0, number - 1))].id)
    return Job(steps=tuple(steps), suspects=tuple(
        HandSuspect(id=f"h{number}", name=f"suspect {number}", weight=weight, bearings=tuple(bearings))
        for number, (weight, bearings) in enumerate(made)))


# --- what is possible -----------------------------------------------------------------------------------------------


@given(any_jobs(), st.randoms(use_true_random=False))
def test_nothing_depends_on_the_order_in_which_it_was_said(any_job, dice: random.Random):
    """Shuffled bearings and suspects give the same shares to the last digit, and they add up to one."""
    told = hand_suspicion(any_job)
    shuffled = []
    for suspect in dice.sample(any_job.suspects, len(any_job.suspects)):
        shuffled.append(replace(suspect, bearings=tuple(dice.sample(suspect.bearings, len(suspect.bearings)))))
    assert probabilities(hand_suspicion(replace(any_job, suspects=tuple(shuffled)))) == probabilities(told)
    assert math.isclose(sum(probabilities(told).values()), 1, rel_tol=1e-12)
    assert math.isclose(sum(share.probability for share in told.shares), 1, rel_tol=1e-12)
    assert [line.probability for line in told.suspects] == sorted(probabilities(told).values(), reverse=True)


@given(any_jobs())
def test_the_history_ends_where_the_bar_stands(any_job):
    """The last moment is the bar of the job, in its order; the first is the weights alone."""
    told, moments = hand_suspicion(any_job), hand_history(any_job)
    assert moments[-1].shares == told.shares
    assert len(moments) == told.n_steps + 1
    total = sum(suspect.weight for suspect in any_job.suspects)
    for suspect in any_job.suspects:
        share = next(share for share in moments[0].shares if share.key == suspect.id)
        assert share.probability == pytest.approx((1 - NOT_LISTED_SHARE) * suspect.weight / total)
        assert share.standing != "cleared"


@given(any_jobs(), st.sampled_from(["slight", "fair", "strong"]))
def test_one_more_step_moves_a_suspect_the_way_it_says(any_job, strength):
    """Clearing never makes it likelier, supporting never less likely."""
    more = LookStep(id="more", elements=(), result="nothing")
    for says, moves in (("clears", -1), ("supports", 1)):
        first = any_job.suspects[0]
        said = replace(first, bearings=(*first.bearings, Bearing(step="more", says=says, strength=strength)))
        after = hand_suspicion(replace(any_job, steps=(*any_job.steps, more), suspects=(said, *any_job.suspects[1:])))
        change = probabilities(after)[first.id] - probabilities(hand_suspicion(any_job))[first.id]
        assert change * moves >= -1e-12


def test_shares_by_hand():
    """Two suspects, weights 1 and 3, one fairly cleared: 0.2125 and 0.6375/7 and 0.15, over their sum 0.453571."""
    told = hand_suspicion(Job(steps=STEPS, suspects=(
        HandSuspect(id="h1", name="hub"),
        HandSuspect(id="h2", name="disc", weight=3.0, bearings=(Bearing(step="s1", says="clears"),)))))
    assert probabilities(told) == pytest.approx({"h1": 0.2125 / 0.453571, "h2": 0.091071 / 0.453571,
                                                 NOT_LISTED: 0.15 / 0.453571}, abs=1e-5)


def test_one_strong_step_clears_a_suspect_whatever_else_is_cleared():
    """It stays cleared when all others are cleared as well: what is left is what nobody wrote down."""
    clears = {name.replace(" ", "_"): ((f"s{number}", "clears", "strong"),)
              for number, name in enumerate(NAMES, start=1)}
    for cleared in range(1, len(NAMES) + 1):
        told = hand_suspicion(job(**dict(list(clears.items())[:cleared])))
        assert [standings(told)[name] for name in NAMES] == ["cleared"] * cleared + ["standing"] * (4 - cleared)
    assert told.suspects[0].key == NOT_LISTED
    assert told.suspects[0].standing == "standing"
    line = next(line for line in told.suspects if line.name == "disc")
    assert line.cleared_by == ("s3",)
    assert hand_suspicion(Job(steps=STEPS, suspects=job(hub=clears["hub"]).suspects[1:2])).suspects[1].standing == (
        "cleared")


def test_slight_and_fair_steps_clear_only_together():
    """One fair look leaves a suspect standing, a second clears it; slight ones take more."""
    fair = [(step.id, "clears", "fair") for step in STEPS]
    slight = [(step.id, "clears", "slight") for step in STEPS]
    assert standings(hand_suspicion(job(hub=tuple(fair[:1]))))["hub"] == "standing"
    assert standings(hand_suspicion(job(hub=tuple(fair[:2]))))["hub"] == "cleared"
    assert standings(hand_suspicion(job(hub=tuple(slight[:3]))))["hub"] == "standing"


def test_a_suspect_that_no_step_clears_is_never_cleared():
    """However unlikely the others make it: strong support of the hub leaves the tyre under 2 % and standing."""
    told = hand_suspicion(job(hub=(("s1", "supports", "strong"), ("s2", "supports", "strong"))))
    assert probabilities(told)["h4"] < 0.02
    assert standings(told) == {"hub": "proved", "wheel bearing": "standing", "disc": "standing", "tyre": "standing",
                               hand_suspects.NOT_LISTED_WORDS: "standing"}


def test_one_support_alone_proves_nothing_unless_the_others_are_cleared():
    """Strong support among four: 93 % by hand (10.625 of 11.4125); proved when two of the others are cleared."""
    alone = (("s1", "supports", "strong"),)
    told = hand_suspicion(job(hub=alone))
    assert (told.suspects[0].probability, told.suspects[0].standing) == (pytest.approx(10.625 / 11.4125), "standing")
    told = hand_suspicion(job(hub=alone, disc=(("s2", "clears", "strong"),), tyre=(("s3", "clears", "strong"),)))
    assert told.suspects[0].standing == "proved"
    sole = Job(steps=STEPS, suspects=(HandSuspect(id="h1", name="hub", bearings=(
        Bearing(step="s1", says="supports", strength="fair"),)),))
    assert hand_suspicion(sole).suspects[0].standing == "standing"


def test_what_was_said_of_a_corrected_step_goes_over_to_the_correction():
    """Once: what was said of the correction itself wins over what was said before."""
    corrected = (*STEPS, replace(STEPS[0], id="s7", replaces="s1"), replace(STEPS[0], id="s8", replaces="s7"))
    strong = (("s1", "clears", "strong"),)
    told = hand_suspicion(job(corrected, hub=strong))
    assert probabilities(told) == probabilities(hand_suspicion(job(hub=strong)))
    assert next(line for line in told.suspects if line.name == "hub").cleared_by == ("s8",)
    told = hand_suspicion(job(corrected, hub=(("s8", "clears", "slight"), ("s7", "supports", "fair"), *strong)))
    assert probabilities(told) == probabilities(hand_suspicion(job(hub=(("s1", "clears", "slight"),))))


def test_steps_after_the_repair_do_not_count():
    """They say how the vehicle is now."""
    repaired = (*STEPS, replace(STEPS[0], id="s7", after_repair=True))
    told = hand_suspicion(job(repaired, hub=(("s7", "clears", "strong"),)))
    assert probabilities(told) == probabilities(hand_suspicion(job()))
    assert (told.n_steps, len(hand_history(job(repaired, hub=(("s7", "clears", "strong"),))))) == (0, 1)


def test_the_words_say_what_the_figures_rest_on():
    """Every weight and every strength is told, and which of them are own estimates; nothing is said in jargon."""
    told = hand_suspicion(replace(job(hub=(("s1", "clears", "fair"),)), suspects=(
        HandSuspect(id="h1", name="disc", weight=2.5), *job(hub=(("s1", "clears", "fair"),)).suspects[1:])))
    words = " ".join(told.assumptions)
    assert "disc 2.5" in words
    assert "15\N{NO-BREAK SPACE}%" in words
    for factor in FACTORS.values():
        assert (f"1/{1 / factor:.0f}" if factor < 1 else f"{factor:g}") in words
    assert words.count("own estimate") == 2
    assert told.summary.startswith("Most likely it is disc (")
    assert hand_suspicion(job()).summary == "4 suspects are written down; no test says anything of them yet."


@pytest.mark.parametrize(("given_bearings", "summary"), [
    ({"hub": (("s1", "supports", "strong"), ("s2", "supports", "strong"))},
     "It is hub (over 99 %)."),
    ({"hub": (("s1", "clears", "strong"),)},
     "Most likely it is wheel bearing (27 %); also possible: disc (27 %), tyre (27 %), and 1 more. "
     "1 of 4 suspects is cleared."),
    ({name.replace(" ", "_"): (("s1", "clears", "strong"),) for name in NAMES},
     "Most likely it is something that nobody has written down (98 %). 4 of 4 suspects are cleared."),
])
def test_the_summary_could_be_read_aloud(given_bearings, summary):
    """How much is possible, what is the likeliest, how many are cleared."""
    assert hand_suspicion(job(**given_bearings)).summary.replace("\N{NO-BREAK SPACE}", " ") == summary


def test_without_suspects_there_is_a_reason_and_no_bar():
    """An empty list is no mistake."""
    told = hand_suspicion(Job(steps=STEPS))
    assert (told.suspects, told.shares, told.circuit) == ((), (), "")
    assert told.problem
    assert hand_history(Job(steps=STEPS)) == ()


def test_a_hundred_strong_steps_still_leave_numbers():
    """Neither side leaves the range of a float."""
    steps = tuple(LookStep(id=f"s{number}", elements=(), result="nothing") for number in range(400))
    for says, standing in (("clears", "cleared"), ("supports", "proved")):
        told = hand_suspicion(job(steps, hub=tuple((step.id, says, "strong") for step in steps)))
        assert standings(told)["hub"] == standing
        assert math.isclose(sum(probabilities(told).values()), 1)


# --- in the book ----------------------------------------------------------------------------------------------------


@pytest.fixture
def job_number(book, job, now):
    """Give the number of a job with two looks; `job` is the fixture of this folder."""
    for _ in range(2):
        testing.record_step(book, job.number, STEPS[0], now)
    return job.number


def test_suspects_are_written_down_changed_and_taken_off(book, job_number):
    """Each gets an id of its own; what was taken off can be put back."""
    add_suspect(book, job_number, "  worn hub ")
    kept = add_suspect(book, job_number, "loose strut", "2,5")
    assert [(one.id, one.name, one.weight) for one in kept.suspects] == [
        ("h1", "worn hub", 1.0), ("h2", "loose strut", 2.5)]
    kept = edit_suspect(book, job_number, "h1", name="worn front hub", weight="0.5")
    assert (kept.suspects[0].name, kept.suspects[0].weight) == ("worn front hub", 0.5)
    taken = remove_suspect(book, job_number, "h1")
    assert [one.id for one in taken.suspects] == ["h2"]
    back = intake.put_item(book, job_number, "suspects", kept.suspects[0])
    assert set(back.suspects) == set(kept.suspects)
    with pytest.raises(UnknownItemError):
        remove_suspect(book, job_number, "h9")


@pytest.mark.parametrize(("name", "weight", "path"), [
    ("  ", "", "name"), ("Worn HUB", "", "name"), ("x" * 401, "", "name"), ("strut", "often", "weight"),
    ("strut", "0", "weight"), ("strut", "1001", "weight"), ("strut", "-1", "weight"), ("strut", "nan", "weight"),
    ("strut", "1e3", "weight"), ("strut", float("nan"), "weight"), ("strut", "1:30", "weight")])
def test_a_suspect_that_cannot_be_weighed_is_refused(book, job_number, name, weight, path):
    """No name, one that is there already, a weight that is none: one sentence, and nothing is kept."""
    add_suspect(book, job_number, "worn hub")
    with pytest.raises(FieldError) as caught:
        add_suspect(book, job_number, name, weight)
    assert caught.value.path == f"suspects/{path}"
    with pytest.raises(FieldError):
        edit_suspect(book, job_number, add_suspect(book, job_number, "disc").suspects[-1].id, name=name, weight=weight)


def test_a_suspect_keeps_its_name_in_other_capitals(book, job_number):
    """It is not its own double."""
    add_suspect(book, job_number, "worn hub")
    assert edit_suspect(book, job_number, "h1", name="Worn hub").suspects[0].name == "Worn hub"


def test_what_a_step_says_is_noted_changed_and_taken_away(book, job_number):
    """One word of each step; the others stay."""
    add_suspect(book, job_number, "worn hub")
    bear(book, job_number, "h1", "s1", "clears", "strong")
    kept = bear(book, job_number, "h1", "s2", "supports", "slight")
    assert kept.suspects[0].bearings == (Bearing(step="s1", says="clears", strength="strong"),
                                         Bearing(step="s2", says="supports", strength="slight"))
    kept = bear(book, job_number, "h1", "s1", "supports")
    assert kept.suspects[0].bearings[-1] == Bearing(step="s1", says="supports", strength="fair")
    kept = bear(book, job_number, "h1", "s1", "")
    assert [one.step for one in kept.suspects[0].bearings] == ["s2"]
    from book.sealed import verify_job

    with book.read() as session:
        assert verify_job(session, job_number).intact


def test_a_word_on_a_corrected_step_is_one_on_the_correction(book, job_number, now):
    """It is noted there, in place of what was noted of either."""
    add_suspect(book, job_number, "worn hub")
    bear(book, job_number, "h1", "s1", "clears", "strong")
    testing.correct_step(book, job_number, "s1", replace(STEPS[0], result="damage"), "looked again", now)
    kept = bear(book, job_number, "h1", "s1", "supports", "strong")
    assert kept.suspects[0].bearings == (Bearing(step="s3", says="supports", strength="strong"),)
    assert bear(book, job_number, "h1", "s1", "").suspects[0].bearings == ()


def test_a_step_after_the_repair_or_none_at_all_says_nothing(book, job_number, now):
    """One sentence; nothing is noted."""
    add_suspect(book, job_number, "worn hub")
    testing.record_step(book, job_number, replace(STEPS[0], after_repair=True), now)
    with pytest.raises(FieldError, match="after the repair"):
        bear(book, job_number, "h1", "s3", "clears")
    for suspect, step in (("h1", "s9"), ("h9", "s1")):
        with pytest.raises(UnknownItemError):
            bear(book, job_number, suspect, step, "clears")
    with pytest.raises(FieldError):
        bear(book, job_number, "h1", "s1", "clears", "certainly")
