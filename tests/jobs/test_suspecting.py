"""What is still possible in a job's circuit, in the words that windows and reports show."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from jobs.feed_job import DOES_NOT_RUN, FEED, FOUND, job, volts
from msgspec.structs import replace

from workshop_log.diagnosis.outdated import Outdated
from workshop_log.exchange.records import (
    Circuit,
    Complaint,
    CurrentStep,
    Element,
    LampStep,
    LookStep,
    MovementStep,
    ResistanceStep,
    Setup,
)
from workshop_log.jobs.evidence_of import evidence_of, weights_of
from workshop_log.jobs.suspecting import element_name, history_of, suspicion_of, what_if
from workshop_log.jobs.suspicion import HEALTHY
from workshop_log.jobs.suspicion_json import circuits_json


def test_the_cause_is_named_in_words_that_could_be_read_aloud():
    """The summary says which part it is and how many are cleared, with whole percents."""
    told = suspicion_of(job(*FOUND), "feed")
    assert told.shares[0].key == "C3"
    assert told.shares[0].standing == "proved"
    assert told.summary.startswith("It is C3 (plug at the pump) (over 99\N{NO-BREAK SPACE}%).")
    assert "cleared" in told.summary


def test_shares_and_lines_each_add_up_to_one():
    """The bar is whole, before any test and after each."""
    for count in range(len(FOUND) + 1):
        told = suspicion_of(job(*FOUND[:count]), "feed", complete=False)
        assert math.isclose(sum(share.probability for share in told.shares), 1.0, rel_tol=1e-9)
        assert math.isclose(told.healthy + sum(line.probability for line in told.suspects), 1.0, rel_tol=1e-9)


def test_a_cleared_part_names_its_steps_and_what_they_could_have_seen():
    """The wire in front of the plug is cleared by the voltage behind it, which would have shown any resistance."""
    told = suspicion_of(job(*FOUND), "feed")
    wire = told.share_of("W1")
    assert wire.standing == "cleared"
    assert "s3" in wire.cleared_by
    line = next(line for line in told.suspects if line.key == "W1: open, always")
    assert line.standing == "cleared"
    assert "s3" in line.reach
    assert "an open at W1" in line.reach


def test_steps_after_the_repair_and_replaced_steps_do_not_count():
    """What is measured on the mended circuit says nothing of the fault."""
    mended = volts("s5", "C3.b", "12.50 V", after_repair=True)
    wrong = volts("s4", "C3.b", "12.50 V")
    right = volts("s6", "C3.b", "0.00 V", replaces="s4", because="the probe had slipped")
    plain = suspicion_of(job(*FOUND), "feed")
    assert suspicion_of(job(*FOUND, mended), "feed").shares == plain.shares
    assert suspicion_of(job(*FOUND[:3], wrong, right), "feed").shares[0].key == "C3"


def test_a_step_that_names_no_circuit_belongs_to_the_only_one():
    """With one circuit in the job nobody has to say which; with two, a step says it."""
    nameless = tuple(replace(step, circuit=None) for step in FOUND)
    assert suspicion_of(job(*nameless), "feed").shares[0].key == "C3"
    other = Circuit(id="other", elements=(Element(id="B2", kind="battery", between=("B+", "B-")),))
    assert suspicion_of(job(*nameless, circuits=(FEED, other)), "feed").n_steps == 0


def test_a_step_on_an_unknown_point_is_no_evidence():
    """A name that the circuit does not have says nothing of it, and breaks nothing."""
    told = suspicion_of(job(*FOUND, volts("s9", "C9", "3.30 V")), "feed")
    assert told.shares == suspicion_of(job(*FOUND), "feed").shares


def test_a_circuit_that_cannot_be_computed_says_why():
    """No traceback: one sentence that names the element."""
    broken = Circuit(id="x", elements=(Element(id="L1", kind="lamp", between=("B+", "B-")),))
    told = suspicion_of(job(circuits=(broken,)), "x")
    assert "L1" in told.problem
    assert not told.suspects


@pytest.mark.parametrize(("appears", "share"), [("always", 0.08), ("comes and goes", 0.85), (None, 0.25)])
def test_what_the_customer_says_decides_how_likely_a_fault_is_that_comes_and_goes(appears, share):
    """Before any test; only a fuse that has opened cannot close again by itself."""
    before = suspicion_of(job(appears=appears), "feed", complete=False)
    coming = sum(line.probability for line in before.suspects if line.appears == "comes and goes")
    assert 0.93 * share < coming / (1 - before.healthy) < share
    assert next(line for line in before.suspects if line.key == "F7: open, always").probability > 0
    assert not [line for line in before.suspects if line.key == "F7: open, comes and goes"]


def test_a_complaint_that_was_not_confirmed_leaves_more_room_for_nothing_wrong():
    """Confirmed, not tried, tried and not seen."""
    healthy = [weights_of(job(complaints=(Complaint(id="c1", words="x", confirmed=confirmed),)), FEED).healthy
               for confirmed in (True, None, False)]
    assert healthy == sorted(healthy)
    assert healthy[0] < healthy[2]


def test_the_history_begins_before_the_first_step_and_ends_now():
    """One moment for each step that counts, all of the same parts, each of them whole."""
    moments = history_of(job(*FOUND), "feed")
    assert [moment.step for moment in moments] == ["", "s1", "s2", "s3", "s4"]
    now = suspicion_of(job(*FOUND), "feed", complete=False)
    assert [share.key for share in moments[-1].shares] == [share.key for share in now.shares]
    for moment in moments:
        assert {share.key for share in moment.shares} >= {element.id for element in FEED.elements}
        assert math.isclose(sum(share.probability for share in moment.shares), 1.0, rel_tol=1e-9)


def test_what_if_shows_a_reading_before_it_is_taken():
    """0 V behind the plug would lead to it, 12.6 V would clear it; the job stays as it was."""
    before = job(*FOUND[:3])
    nothing = what_if(before, "feed", volts("s4", "C3.b", "0.00 V"))
    all_there = what_if(before, "feed", volts("s4", "C3.b", "12.58 V"))
    assert nothing.shares[0].key == "C3"
    assert all_there.share_of("C3").probability < 0.02
    assert suspicion_of(before, "feed", complete=False).share_of("C3").probability < 0.9


def test_an_outdated_question_is_not_answered():
    """Whoever asks may change their mind."""
    with pytest.raises(Outdated):
        suspicion_of(job(*FOUND), "feed", lambda: True)


def test_contradicting_steps_are_named_with_what_to_do():
    """12.6 V and 2 V at the same point cannot both be right."""
    told = suspicion_of(job(*FOUND, volts("s5", "C3.a", "2.10 V"), volts("s6", "C3.a", "12.57 V")), "feed")
    assert told.contradicting == ("s5",)
    assert told.contradictions[0].endswith("repeat step s5.")


def test_readings_become_evidence_in_base_units():
    """Millivolts, milliamperes and kiloohms; over range; less than; the meter's own accuracy."""
    one = job()
    current = evidence_of(CurrentStep(id="a", circuit="feed", setup="running", through="M1", reading="440 mA"), one,
                          FEED)
    assert math.isclose(current.low, 0.44)
    small = evidence_of(volts("b", "C3.a", "12 mV"), one, FEED)
    assert math.isclose(small.high, 0.012)
    over = evidence_of(ResistanceStep(id="c", circuit="feed", setup="dead", red="C3.a", black="B-", reading="OL"), one,
                       FEED)
    assert over.low == 1e6
    assert over.high == math.inf
    less = evidence_of(volts("d", "C3.a", "< 0.1 V"), one, FEED)
    assert less.low == -math.inf
    assert math.isclose(less.high, 0.1)


def test_how_a_fault_was_provoked_is_read_from_setup_and_note():
    """Hot, wet and driven are trials of their own."""
    warm = replace(FEED, setups=(*FEED.setups, Setup(id="hot", title="pump on, warmed through", on=("S1",))))
    one = job(circuits=(warm,))
    assert evidence_of(replace(FOUND[1], setup="hot"), one, warm).provoked == "hot"
    assert evidence_of(replace(FOUND[1], note="after the road test in the rain"), one, warm).provoked == "wet"
    assert evidence_of(FOUND[1], one, warm).provoked == "still"


def test_every_kind_of_step_is_evidence():
    """Lamps, looks and movements count beside readings; what was watched is understood."""
    steps = (LampStep(id="a", circuit="feed", setup="running", clip="B-", probe="C3.b", result="dark"),
             LookStep(id="b", circuit="feed", elements=("C3",), result="damage", strength="strong"),
             MovementStep(id="c", circuit="feed", setup="running", elements=("C3",), trials=10, shown=4))
    told = suspicion_of(job(DOES_NOT_RUN, *steps), "feed")
    assert told.n_steps == 4
    assert told.shares[0].key == "C3"


def test_json_is_complete_sorted_and_adds_up():
    """As the job file's description has it: suspects by probability, with healthy one; tests; the decision."""
    (printed,) = circuits_json(job(*FOUND))
    probabilities = [suspect["probability"] for suspect in printed["suspects"]]
    assert probabilities == sorted(probabilities, reverse=True)
    assert math.isclose(sum(probabilities) + printed["healthy"], 1.0, rel_tol=1e-9)
    assert {"element", "fault", "appears", "probability", "standing", "resistance", "cleared_by", "same_as"} == set(
        printed["suspects"][0])
    assert printed["suspects"][0]["element"] == "C3"
    assert {"step", "bits", "minutes", "worth", "cautions", "healthy_reading", "unit"} == set(printed["next"][0])
    assert printed["condemn"]["element"] == "C3"
    assert Decimal(printed["condemn"]["expected_loss"]) <= Decimal(printed["condemn"]["cost_if_wrong"])


def test_healthy_readings_leave_nothing_wrong_likelier_than_before():
    """Everything as it should be: the part of the bar for nothing wrong grows."""
    good = tuple(volts(f"s{n}", point, reading) for n, (point, reading) in enumerate(
        [("F7.out", "12.49 V"), ("C3.a", "12.24 V"), ("M1.1", "12.10 V"), ("M1.2", "0.01 V")], 2))
    before, after = suspicion_of(job(), "feed", complete=False), suspicion_of(job(*good), "feed", complete=False)
    assert after.share_of(HEALTHY).probability > 2 * before.share_of(HEALTHY).probability


def test_title_that_is_the_id_is_not_said_twice():
    """“battery (battery)” tells nothing more than “battery”."""
    circuit = Circuit(id="c", elements=(
        Element(id="battery", kind="battery", between=("B+", "B-"), title="Battery"),
        Element(id="W1", kind="wire", between=("B+", "a"), title="feed")))
    assert [element_name(circuit, one) for one in ("battery", "W1", "W2")] == ["battery", "W1 (feed)", "W2"]
