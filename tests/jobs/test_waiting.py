"""What a job waits for, at each turn of its life."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from msgspec.structs import replace

from workshop_log.exchange.records import (
    Approval,
    Complaint,
    Condemned,
    EstimateOption,
    Expected,
    IssuedReport,
    Job,
    LampStep,
    MovementStep,
    ObserveStep,
    Part,
    VoltageStep,
)
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.waiting import WORDS, is_repair_proved, waits_for

T0 = datetime(2031, 4, 2, 8, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
HEARD = Complaint(id="c1", words="Cranks slowly", confirmed=True)
PROOF = VoltageStep(id="s2", at=T0 + 7 * HOUR, red="strap", reading="0.04 V", expected=Expected(high="0.2 V"),
                    after_repair=True)

# One fact more in each row: what the job waited for before it, and since when.
LIFE = [
    ({}, "complaint to describe", T0),
    ({"complaints": (replace(HEARD, confirmed=None),)}, "complaint to confirm", T0),
    ({"complaints": (HEARD,)}, "finding the cause", T0),
    ({"condemned": (Condemned(id="k1", part="strap", decision="replace", at=T0 + HOUR),)}, "repair", T0 + HOUR),
    ({"estimate": (EstimateOption(id="o1", title="New strap", parts=Decimal(20)),)}, "approval", T0 + HOUR),
    ({"approvals": (Approval(id="a1", at=T0 + 2 * HOUR, by="M. Quill", option="o1"),)}, "repair", T0 + 2 * HOUR),
    ({"parts": (Part(id="p1", name="strap", ordered=T0 + 3 * HOUR),)}, "part", T0 + 3 * HOUR),
    ({"parts": (Part(id="p1", name="strap", ordered=T0 + 3 * HOUR, arrived=T0 + 5 * HOUR),)}, "repair", T0 + 5 * HOUR),
    ({"condemned": (Condemned(id="k1", part="strap", decision="replace", at=T0 + HOUR, repaired=T0 + 6 * HOUR),)},
     "proving the repair", T0 + 6 * HOUR),
    ({"steps": (PROOF,)}, "report", T0 + 7 * HOUR),
    ({"reports": (IssuedReport(id="r1", at=T0 + 8 * HOUR, sha256="0" * 64),)}, "hand-back", T0 + 8 * HOUR),
    ({"handed_back": T0 + 9 * HOUR}, "bill", T0 + 9 * HOUR),
    ({"settled": T0 + 10 * HOUR}, "nothing", T0 + 10 * HOUR),
]


def job_after(facts: int) -> Job:
    job = Job(opened=T0)
    for more, _, _ in LIFE[:facts]:
        job = replace(job, **more)
    return job


@pytest.mark.parametrize("facts", range(1, len(LIFE) + 1))
def test_each_fact_moves_the_job_on(facts: int) -> None:
    """A job waits for the first thing missing, since the last thing that led there."""
    waiting = waits_for(job_after(facts))
    assert (waiting.key, waiting.since) == LIFE[facts - 1][1:]


def test_every_answer_has_words() -> None:
    """The life above meets every key."""
    assert {key for _, key, _ in LIFE} == set(WORDS)
    assert all(words.startswith("Waits for ") or words == "Finished" for words in WORDS.values())


def test_report_before_the_last_evidence_is_out_of_date() -> None:
    """A test made after the report was issued asks for a new one."""
    late = replace(PROOF, id="s3", at=T0 + 9 * HOUR)
    job = replace(job_after(11), steps=(PROOF, late))
    assert (waits_for(job).key, waits_for(job).since) == ("report", T0 + 9 * HOUR)


def test_customer_who_refused_is_owed_a_report_and_not_a_repair() -> None:
    """No part is ordered and nothing repaired for somebody who said no."""
    no = Approval(id="a1", at=T0 + 2 * HOUR, by="M. Quill", agreed=False)
    assert waits_for(replace(job_after(5), approvals=(no,))).key == "report"


def test_part_let_off_later_waits_for_the_cause_again() -> None:
    """A corrected decision no longer counts."""
    off = Condemned(id="k2", part="strap", decision="let off", replaces="k1", because="measured the wrong bolt")
    assert waits_for(replace(job_after(4), condemned=(*job_after(4).condemned, off))).key == "finding the cause"


def test_returned_part_is_not_waited_for() -> None:
    """A wrong part that went back unfitted holds nothing up."""
    part = Part(id="p1", name="strap", ordered=T0, returned=T0 + HOUR)
    assert waits_for(replace(job_after(6), parts=(part,))).key == "repair"


@pytest.mark.parametrize(("steps", "proved"), [
    ((), False),
    ((PROOF,), True),
    ((replace(PROOF, after_repair=False),), False),
    ((replace(PROOF, reading="0.20 V"),), False),
    ((PROOF, replace(PROOF, id="s3", reading="0.48 V")), False),
    ((replace(PROOF, reading="0.48 V"), replace(PROOF, id="s3")), True),
    ((PROOF, replace(PROOF, id="s3", red="clamp", reading="0.48 V")), False),
    ((ObserveStep(id="s1", element="starter", works=True, after_repair=True),), True),
    ((PROOF, ObserveStep(id="s1", element="starter", works=False, after_repair=True)), False),
    ((LampStep(id="s1", clip="B-", probe="F7", result="lit", after_repair=True),), False),
])
def test_repair_is_proved_by_tests_that_came_out_right_and_none_that_did_not(steps, proved: bool) -> None:
    """The last of the same test counts; a lamp and a reading too close to call prove nothing."""
    assert is_repair_proved(evaluate(Job(steps=steps))) is proved


@pytest.mark.parametrize(("clean", "key"), [(1, "proving the repair"), (10, "proving the repair"), (11, "report")])
def test_fault_that_comes_and_goes_is_not_proved_by_one_clean_trial(clean: int, key: str) -> None:
    """It showed in 3 of 10 movements before: 11 clean ones since are enough, whatever else was measured."""
    goes = replace(HEARD, appears="comes and goes")
    moved = MovementStep(id="s1", elements=("loom",), trials=10, shown=3, at=T0)
    again = MovementStep(id="s3", elements=("loom",), trials=clean, after_repair=True, at=T0 + 7 * HOUR)
    job = replace(job_after(10), complaints=(goes,), steps=(moved, PROOF, again))
    assert waits_for(job).key == key
    assert waits_for(replace(job, complaints=(HEARD,))).key == "report"
