"""The report's sentences: each stands on a fact, and none is there without it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from msgspec.structs import replace

from workshop_log.exchange import records
from workshop_log.exchange.records import Condemned, Expected, Job, Part, VoltageStep
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.money import totals
from workshop_log.paper import sentences
from workshop_log.paper.tests_section import probability_words

AT_MOST = Expected(high="0.2 V", source="common practice")


def step(id_: str, reading: str, **facts: object) -> VoltageStep:
    return VoltageStep(id=id_, red="strap", reading=reading, setup="cranking", expected=AT_MOST, **facts)


def test_tally_counts_what_stands():
    """A corrected reading is not counted twice, and only verdicts that occur are named."""
    job = Job(steps=(step("s1", "14.2 V"), step("s2", "1.42 V", replaces="s1"), step("s3", "0.050 V")))
    assert sentences.tally(job, evaluate(job)) == (
        "We made 2 tests; 2 readings were held against an expected range: 1 inside the expected range, 1 outside it.")


def test_reading_beyond_the_meter_is_told_in_words():
    """Nobody has to know what OL is."""
    over = step("s1", "OL")
    said = sentences.reason_sentence(over, Job(steps=(over,)), evaluate(Job(steps=(over,))))
    assert "read OL, more than the meter can show; at most 0.2\u00a0V is expected" in said


def test_tally_of_one_reading_is_a_sentence():
    """Nothing is counted where there is nothing to count."""
    job = Job(steps=(step("s1", "1.42 V"),))
    assert sentences.tally(job, evaluate(job)) == (
        "We made one test; one reading was held against an expected range and is outside.")


def test_repair_without_the_same_tests_again_is_said_to_be_unproved():
    """A repaired part whose tests were not made again is no proof."""
    from datetime import UTC, datetime

    done = Condemned(id="k", part="strap", decision="replace", repaired=datetime(2031, 4, 3, tzinfo=UTC))
    job = Job(steps=(step("s1", "1.42 V"),), condemned=(done,))
    assert sentences.proof_sentence(job, evaluate(job)).startswith("The repair is not proved yet")
    waiting = replace(job, condemned=(replace(done, repaired=None),))
    assert sentences.proof_sentence(waiting, evaluate(waiting)) == ""


@pytest.mark.parametrize(("after", "said"), [
    ("0.050 V", "every reading is inside its expected range"),
    ("0.9 V", "still not inside their expected range: 1 of 1")])
def test_proof_says_what_the_tests_after_the_repair_say(after, said):
    """Success is claimed only where the readings after the repair are inside."""
    job = Job(steps=(step("s1", "1.42 V"), step("s2", after, after_repair=True, repeats="s1")))
    assert said in sentences.proof_sentence(job, evaluate(job))


def test_nothing_condemned_is_said_plainly():
    """Without a decision no part is named as the cause."""
    job = Job(condemned=(Condemned(id="k", part="starter", decision="let off", finding="It draws what it should"),))
    assert sentences.finding_sentences(job) == (
        "No part is condemned.", "Considered and let off: starter. It draws what it should.")


def test_only_fitted_parts_are_said_to_be_fitted():
    """A part that was ordered or returned was not fitted."""
    from datetime import UTC, datetime

    at = datetime(2031, 4, 3, tzinfo=UTC)
    parts = (Part(id="p1", name="strap", condemned="k", fitted=at), Part(id="p2", name="bolt", condemned="k"),
             Part(id="p3", name="washer", condemned="k", fitted=at, returned=at))
    assert sentences.done_sentences(Condemned(id="k", part="strap"), parts) == ("Fitted: strap.",)


def test_cost_names_tax_and_what_was_agreed():
    """The sum is the bill's, to the penny."""
    job = Job(workshop=records.Workshop(tax_rate=Decimal("17.5")),
              charges=(records.Charge(id="c", what="Disposal", amount=Decimal("10.00")),))
    assert sentences.cost_sentences(job, totals(job)) == ("£11.75 altogether, including £1.75 tax at 17.5 %.",)


@pytest.mark.parametrize(("probability", "words"), [
    (0.0, "< 0.1 %"), (0.0123, "= 1.2 %"), (0.5, "= 50 %"), (0.9887, "= 98.9 %"), (1.0, "> 99.9 %")])
def test_probability_is_never_rounded_to_certainty(probability, words):
    """No reading is inside with 100 % or 0 %."""
    assert probability_words(probability) == words


@pytest.mark.parametrize(("id_", "number"), [("s12", "12"), ("s", "s"), ("after-3", "after-3")])
def test_steps_are_numbered_as_people_say_them(id_, number):
    """Test 12 is the step s12; other ids stay."""
    assert sentences.number_of(id_) == number


@pytest.mark.parametrize(("written", "printed"), [
    ("The limit of steps s8 and s12 is common practice.", "The limit of tests 8 and 12 is common practice."),
    ("No instrument was named for step s13.", "No instrument was named for test 13."),
    ("F7 (pump fuse): cleared by s3, s4", "F7 (pump fuse): cleared by tests 3 and 4"),
    ("F7 (pump fuse), open: cleared by s12.", "F7 (pump fuse), open: cleared by test 12."),
    ("W1: cleared by s3, s4, s9; step s4 is doubtful.", "W1: cleared by tests 3, 4 and 9; test 4 is doubtful."),
    ("What it was cleared by is said above; the switch s3 is off.",
     "What it was cleared by is said above; the switch s3 is off."),
    ("The starter s4 was not tested.", "The starter s4 was not tested.")])
def test_a_doubt_names_the_tests_as_the_report_does(written: str, printed: str) -> None:
    """What the program calls step s8 is test 8 on paper; other words that look like it stay."""
    assert sentences.with_test_numbers(written) == printed
