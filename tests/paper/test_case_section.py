"""The case of a condemned part: how sure it was, what goes with it, what cleared the others; each said once."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import msgspec
import pytest
from paper.suspicions import suspicion_by_hand
from paper.test_narrowing import FEED, HEADING, TOLD, content_of, section_of, text_of

from workshop_log.exchange import records
from workshop_log.jobs.suspicion import Decision
from workshop_log.paper.report_input import ReportInput

REPAIRED = datetime(2031, 4, 3, tzinfo=UTC)
CHANCE = "the chance that this is the cause"
TOGETHER = ("In the contact C3.2 (pin 2 of plug C3) or in the wire W1 (feed to the pump): no test tells them apart, "
            "both are replaced together.")
IN_DOUBT = "Not all tests agree with one another; test 2 is in doubt."
CONTRADICTION = "Step s2 and step s4 cannot both be right: repeat step s2."


def content_for(told=TOLD, reader: str = "customer", decision: dict | None = None, entry: dict | None = None,
                **facts: object) -> ReportInput:
    """Return a report's content with C3.2 condemned; `decision` are the figures in money, `facts` the suspicion's."""
    case = records.Condemned(**{"id": "k1", "part": "plug C3", "circuit": "feed", "element": "C3.2",
                                "decision": "replace", **(entry or {})})
    steps = tuple(records.VoltageStep(id=step, red="B+", reading="1 V") for step, _, _ in told)
    job = records.Job(circuits=(FEED,), condemned=(case,), steps=steps)
    content = content_of(*suspicion_by_hand(FEED, told, **facts), job, reader=reader)
    if decision is None:
        return content
    figures = {"share": "C3.2", "name": "C3.2", "together": ("C3.2",), "probability_right": 0.981,
               "cost_if_wrong": Decimal(0), "expected_loss": Decimal(0), **decision}
    return replace(content, decisions={"k1": Decision(**figures)})


def case_of_report(text: str) -> str:
    """Return what stands below the heading of the case."""
    return text.split("Condemned, and why: ")[1].split("Tests and readings")[0]


def first_answer(text: str) -> str:
    """Return how we know it, in the short words of the first page."""
    return text.split("How we know")[1].split("What was done")[0]


@pytest.mark.parametrize("reader", ["customer", "expert"])
@pytest.mark.parametrize(("entry", "said"), [
    ({"probability_right": 0.9312}, f"When we decided, {CHANCE} was about 93 in 100."),
    ({"probability_right": 0.9312, "repaired": REPAIRED}, f"When we decided, {CHANCE} was about 93 in 100."),
    # By hand as in the tests of the bars: 98.1 % is left for C3.2.
    ({"repaired": REPAIRED}, f"By the tests before the repair, {CHANCE} was about 98 in 100."),
    ({}, f"By the tests so far, {CHANCE} is about 98 in 100.")])
def test_case_says_how_sure_it_was_and_when(reader: str, entry: dict, said: str) -> None:
    """What was kept at the decision counts; without it what the tests before the repair say."""
    case = case_of_report(text_of(content_for(reader=reader, entry=entry)))
    assert said in case
    assert case.count(CHANCE) == 1


@pytest.mark.parametrize("facts", [{"n_steps": 0}, {"problem": "F7 has no rating."}])
def test_case_is_silent_where_no_test_says_how_sure_it_is(facts: dict) -> None:
    """What was assumed before any test is no chance to tell a customer; neither is what could not be computed."""
    assert CHANCE not in text_of(content_for(**facts))


def test_case_without_a_circuit_says_only_what_was_kept() -> None:
    """A part that is no suspect has no figures."""
    alone = {"circuit": None, "element": None}
    assert CHANCE not in text_of(content_for(entry=alone))
    assert "was about 40 in 100." in text_of(content_for(entry={**alone, "probability_right": 0.4}))


@pytest.mark.parametrize("reader", ["customer", "expert"])
def test_what_no_test_tells_apart_stands_in_the_case_and_not_twice(reader: str) -> None:
    """The customer hears at the part why another one is replaced with it; without a case the narrowing says it."""
    content = content_for(TOLD[:4], reader, decision={"together": ("C3.2", "W1"), "probability_right": 0.96})
    suspicion = content.suspicions[0]
    first, other = suspicion.suspects[0], next(line for line in suspicion.suspects if line.share == "W1")
    content = replace(content, suspicions=(replace(
        suspicion, suspects=(replace(first, same_as=(other.key,)), *suspicion.suspects[1:])),))
    text = text_of(content)
    assert f"{CHANCE} is about 96 in 100. {TOGETHER}" in case_of_report(text)
    assert f"{CHANCE} is about 96 in 100. {TOGETHER}" in first_answer(text)
    assert text.count("tells them apart") == 2
    assert "tells these apart" not in text
    undecided = replace(content, job=msgspec.structs.replace(content.job, condemned=()), decisions={})
    assert "No test that can be made here tells these apart" in section_of(text_of(undecided))


@pytest.mark.parametrize("reader", ["customer", "expert"])
def test_tests_that_do_not_go_together_are_named_in_the_case_and_not_twice(reader: str) -> None:
    """The expert reads in the annex which ones; after the repair has shown the cause the narrowing names them."""
    doubt = {"contradictions": (CONTRADICTION,), "contradicting": ("s2",)}
    text = text_of(content_for(reader=reader, **doubt))
    assert IN_DOUBT in case_of_report(text)
    assert IN_DOUBT in first_answer(text)
    assert text.count(IN_DOUBT) == 2
    assert text.count("cannot both be right") == (1 if reader == "expert" else 0)
    known = text_of(content_for(reader=reader, entry={"repaired": REPAIRED, "was_the_cause": True}, **doubt))
    assert IN_DOUBT not in case_of_report(known)
    assert IN_DOUBT in section_of(known)
    assert known.count(IN_DOUBT) == 1


def test_expert_reads_by_which_tests_everything_else_was_cleared() -> None:
    """One sentence for each test, in their order; the customer reads what the technician wrote."""
    said = ("Cleared by test 3: G2; M1 (pump). Cleared by test 4: F7 (pump fuse). "
            "Cleared by test 5: W1 (feed to the pump).")
    assert said in case_of_report(text_of(content_for(reader="expert")))
    assert "Cleared by test" not in case_of_report(text_of(content_for()))


def test_what_several_tests_cleared_together_and_kinds_of_fault_are_named() -> None:
    """Of a part that is cleared in part the kinds of fault are named, with all the tests."""
    content = content_for(reader="expert")
    suspicion = content.suspicions[0]
    # The battery still stands; here one of its kinds of fault is cleared by two tests.
    line = next(line for line in suspicion.suspects if line.share == "battery")
    cleared = [replace(one, standing="cleared", cleared_by=("s1", "s3")) if one.fault == line.fault
               and one.share == "battery" else one for one in suspicion.suspects]
    text = text_of(replace(content, suspicions=(replace(suspicion, suspects=tuple(cleared)),)))
    assert f"Cleared by tests 1 and 3: battery, {line.fault}." in case_of_report(text)


def test_case_stands_after_the_narrowing() -> None:
    """First how it was narrowed down, then the part."""
    text = text_of(content_for())
    assert text.index(HEADING) < text.index("Condemned, and why")
