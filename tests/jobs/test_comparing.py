"""What an answer says against the job: found piece for piece, in words, and nothing where nothing differs."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from exchange.strategies import jobs
from hypothesis import given, settings
from jobs.feed_job import DOES_NOT_RUN, FEED, FOUND, job, volts
from msgspec.structs import replace

from workshop_log.exchange import records as r
from workshop_log.exchange.opinion import answer_copy, opinion_copy
from workshop_log.jobs.comparing import NOT_MADE, compare
from workshop_log.jobs.comparison import NOTHING_HERE, Comparison, Difference

NOW = datetime(2031, 4, 3, 9, 0, tzinfo=UTC)
MARK = "0123456789abcdef" * 4
OURS = job(*FOUND[:3], notes=(
    r.Note(id="n1", at=NOW, who="R. Bolt", words="For ourselves."),
    r.Note(id="n2", at=NOW, who="R. Bolt", words="It rained, 120 GBP.", internal=False)))


def answered(ours=OURS, **more):
    """Return the answer of a colleague who changed these fields."""
    theirs = replace(opinion_copy(ours, MARK, question="Which one?", asked=NOW), number="2031-0301")
    return answer_copy(replace(theirs, **{name: change(getattr(theirs, name)) for name, change in more.items()}))


def plus(*items):
    return lambda there: (*there, *items)


def test_a_question_sent_back_as_it_was_says_nothing():
    """Whatever was masked or left out on the way is no difference."""
    found = compare(OURS, answered(), with_figures=False)
    assert found == Comparison(agreed=("3 steps were left as they stand.",))
    assert not found.says_something


@settings(max_examples=60)
@given(ours=jobs())
def test_no_job_differs_from_its_own_question(ours):
    """Whatever is in it: masking and leaving out is no opinion."""
    found = compare(ours, answered(ours), with_figures=False)
    assert not found.says_something
    assert found.unknown_to_them == ()


@settings(max_examples=60)
@given(ours=jobs(), theirs=jobs())
def test_any_two_jobs_can_be_compared(ours, theirs):
    """What comes back may be anything that is a job file; each step of theirs that is not ours is told once."""
    found = compare(ours, theirs, with_figures=False)
    there = {(type(step), step.id, step.at) for step in ours.steps}
    new = [step for step in theirs.steps if (type(step), step.id, step.at) not in there]
    assert len(found.tests) + len(found.readings) >= len(new)
    assert len(found.notes) == len(theirs.notes)


def test_the_colleagues_notes_are_told_from_those_that_came_with_the_question():
    """By their numbers: a note of theirs may have that of an internal one here."""
    note = r.Note(id="n1", at=NOW, who="Ostrel Venn", words="Look at the plug.")
    assert compare(OURS, answered(notes=plus(note)), with_figures=False).notes == (note,)


def test_a_step_of_theirs_is_told_with_its_result_and_remark():
    """Under what condition, what it showed, and what they said of it."""
    step = volts("s4", "C3.b", "0.00 V", at=NOW, note="green inside")
    found = compare(OURS, answered(steps=plus(step)), with_figures=False)
    assert found.tests == (Difference("Voltage: C3.b to B−, Pump switched on", NOT_MADE, "0.00 V (green inside)"),)
    assert found.says_something


def test_a_step_of_the_same_number_made_here_meanwhile_is_another_one():
    """Both made a fourth step: theirs is added, ours is unknown to them."""
    ours = replace(OURS, steps=(*OURS.steps, volts("s4", "M1.1", "0.01 V", at=NOW)))
    found = compare(ours, answered(steps=plus(volts("s4", "C3.b", "0.00 V", at=NOW))), with_figures=False)
    assert [difference.theirs for difference in found.tests] == ["0.00 V"]
    assert found.unknown_to_them == ("s4",)
    assert found.agreed == ("3 steps were left as they stand.",)


def test_a_reading_that_they_corrected_stands_beside_ours_with_the_reason():
    """The one here stays what it was."""
    step = volts("s4", "C3.a", "0.00 V", at=NOW, replaces="s3", because="read on the wrong side")
    found = compare(OURS, answered(steps=plus(step)), with_figures=False)
    assert found.readings == (Difference("Step s3, Voltage: C3.a to B−, Pump switched on", "12.58 V",
                                         "0.00 V (read on the wrong side)"),)
    assert found.tests == ()
    assert found.agreed == ("2 steps were left as they stand.",)


def test_a_part_condemned_by_both_is_agreed_and_one_by_them_alone_is_not():
    """By its element where it has one, else by its name."""
    ours = replace(OURS, condemned=(r.Condemned(id="k1", at=NOW, part="plug", circuit="feed", element="C3",
                                                decision="repair"),))
    later = datetime(2031, 4, 4, 9, 0, tzinfo=UTC)
    theirs = answered(ours, condemned=plus(
        r.Condemned(id="k2", at=later, part="the plug", circuit="feed", element="C3", decision="repair"),
        r.Condemned(id="k3", at=later, part="pump", circuit="feed", element="M1", decision="let off", finding="Runs.")))
    found = compare(ours, theirs, with_figures=False)
    assert "Both: the plug to be repaired." in found.agreed
    assert found.parts[1] == Difference("pump", "not considered", "let off: Runs.")


def test_what_they_described_otherwise_is_told():
    """Elements, suspects, access, the complaint, fault codes, photos."""
    changed = replace(FEED, elements=(
        *(replace(element, price=None, rating="10 A") if element.id == "F7" else replace(element, price=None)
          for element in FEED.elements if element.id != "G2"),
        r.Element(id="W9", kind="wire", between=("M1.2", "B-"))))
    theirs = answered(
        circuits=lambda _: (changed,), suspects=plus(r.HandSuspect(id="h1", name="water in the plug")),
        access=plus(r.Access(id="a1", circuit="feed", point="C3.a", state="cannot be reached")),
        complaints=lambda there: (replace(there[0], appears="comes and goes"),),
        fault_codes=plus(r.FaultCode(code="B1000-16", state="stored")))
    found = compare(OURS, theirs, with_figures=False)
    assert found.described == (
        Difference("Circuit Feed of the pump", "without W9", "with W9, a wire"),
        Difference("Circuit Feed of the pump", "with G2", "without G2"),
        Difference("Circuit Feed of the pump, F7, rating", "15 A", "10 A"),
        Difference("A suspect written by hand", NOTHING_HERE, "water in the plug"),
        Difference("Access", NOTHING_HERE, "C3.a: cannot be reached"),
        Difference("Complaint c1", "always there", "comes and goes"),
        Difference("A fault code", NOTHING_HERE, "B1000-16 stored"))


def test_the_same_evidence_gives_the_same_figures_and_the_same_next_test():
    """Although the answer was never told our rates and prices: it is worked out with them."""
    told = []
    found = compare(OURS, answered(), lambda done, total: told.append((done, total)))
    assert (found.causes, found.readings, found.tests) == ((), (), ())
    assert any(words.startswith("Both hold it likeliest in Feed of the pump: ") for words in found.agreed)
    assert any(words.startswith("Both would go on in Feed of the pump with: ") for words in found.agreed)
    assert told == [(1, 2), (2, 2)]


def test_their_step_moves_their_figures():
    """Nothing behind the plug: theirs is the plug with near certainty, ours is still spread."""
    theirs = answered(steps=plus(volts("s4", "C3.b", "0.00 V", at=NOW)))
    cause, = compare(OURS, theirs).causes
    assert cause.about == "Feed of the pump"
    assert cause.theirs.startswith("C3 (plug at the pump) ")
    assert cause.theirs != cause.ours


def test_readings_that_their_file_calls_in_doubt_are_named():
    """Their reading before the plug contradicts ours behind it."""
    ours = job(DOES_NOT_RUN, volts("s2", "C3.b", "12.55 V"))
    theirs = answered(ours, steps=plus(*(volts(f"s{number}", "C3.a", "0.00 V", at=NOW) for number in (3, 4))))
    found = compare(ours, theirs)
    assert any("repeat step" in difference.theirs for difference in found.readings)


def test_money_of_ours_is_in_no_word_of_the_comparison():
    """Prices differ because they were taken out: that is no difference."""
    ours = replace(OURS, parts=(r.Part(id="p1", name="plug", price=Decimal("6.00")),))
    assert not compare(ours, answered(ours), with_figures=False).says_something


@pytest.mark.parametrize("is_ours", [True, False])
def test_suspects_on_one_side_only_are_compared_by_words_alone(is_ours):
    """There is nothing to hold their figures against."""
    hand = (r.HandSuspect(id="h1", name="plug"),)
    bare = replace(OURS, circuits=(), steps=())
    ours = replace(bare, suspects=hand) if is_ours else bare
    theirs = answered(ours, suspects=(lambda _: ()) if is_ours else plus(*hand))
    assert compare(ours, theirs).causes == ()
