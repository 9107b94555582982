"""The next test and the figures of a decision, in words and in money."""

from __future__ import annotations

from dataclasses import replace as changed
from decimal import Decimal

import pytest
from jobs.feed_job import DOES_NOT_RUN, FEED, FOUND, job, volts
from msgspec.structs import replace

from workshop_log.diagnosis.outdated import Outdated
from workshop_log.exchange.records import (
    Access,
    Bearing,
    Circuit,
    Condemned,
    HandSuspect,
    ResistanceStep,
    Workshop,
)
from workshop_log.jobs.places import read_at
from workshop_log.jobs.proposing import decision_of, proposals_of

UNCERTAIN = (DOES_NOT_RUN, volts("s2", "F7.out", "12.58 V"))


def test_a_proposal_says_why_and_what_it_takes():
    """One sentence with the parts that it tells apart, the minutes and what has to come off."""
    first, *others = proposals_of(job(*UNCERTAIN), "feed")
    assert len(others) == 2
    assert first.why.endswith("nothing to take off.")
    assert " min, " in first.why
    assert first.healthy
    assert "if it is" in first.faulty
    assert first.reach
    assert first.minutes > 0


def test_no_word_of_probability_theory_reaches_a_person():
    """Plain words only."""
    told = proposals_of(job(*UNCERTAIN), "feed", 8)
    words = " ".join(" ".join((one.title, one.why, one.healthy, one.faulty, one.reach, one.takes_off)) for one in told)
    decision = decision_of(job(*UNCERTAIN), "feed", "C3")
    for word in ("bit", "posterior", "entropy", "prior", "likelihood", "hypothes", "Bayes"):
        assert word not in f"{words} {decision.words}".split()


@pytest.mark.parametrize("steps", [(DOES_NOT_RUN,), UNCERTAIN, FOUND], ids=["complaint", "one reading", "found"])
def test_every_proposal_can_be_typed_where_it_says(steps):
    """The place of a proposal takes the reading that it expects, and the step is the one proposed."""
    one = job(*steps)
    for proposal in proposals_of(one, "feed", 6):
        typed = {"voltage": "12.3", "current": "4.2 A", "resistance": "0.4 ohm", "lamp": "dark", "look": "nothing",
                 "movement": "0/10", "swap": "cured"}[proposal.kind]
        line = read_at(typed, proposal.place, one)
        assert line.step is not None, (proposal.title, line.problem)
        for key, value in proposal.step.items():
            if key in ("red", "black", "through", "clip", "probe", "element"):
                assert getattr(line.step, key) == value
        assert (line.step.setup or "as found") == proposal.step.get("setup", "as found")


def test_what_cannot_be_reached_is_not_proposed_any_more():
    """A point out of reach, a clamp that is not at hand: the proposals change."""
    before = proposals_of(job(*UNCERTAIN), "feed")
    point = before[0].place.point
    said = (Access(id="a1", circuit="feed", point=point, state="cannot be reached"),
            Access(id="a2", circuit="feed", test="current", state="not available"))
    after = proposals_of(job(*UNCERTAIN, access=said), "feed", 8)
    assert after
    assert not [one for one in after if point in (one.place.point, one.place.black)]
    assert not [one for one in after if one.kind == "current"]


def test_strip_down_is_told_and_counted_until_it_is_off():
    """Looking at the wire along the sill takes its trim off first, once."""
    between = (*UNCERTAIN, volts("s3", "C3.b", "0.00 V"))
    closed = next(one for one in proposals_of(job(*between), "feed", 400) if one.key.startswith("look W1"))
    off = (Access(id="a1", circuit="feed", element="W1", state="already off"),)
    opened = next(one for one in proposals_of(job(*between, access=off), "feed", 400) if one.key.startswith("look W1"))
    assert "W1 (wire along the sill)" in closed.takes_off
    assert closed.minutes - opened.minutes == 25
    assert opened.takes_off == ""


def test_a_contradiction_is_repeated_first():
    """Before anything else the doubted step is made again, and the sentence says why."""
    wrong = (*FOUND, volts("s5", "C3.a", "2.10 V"), volts("s6", "C3.a", "12.57 V"))
    first = proposals_of(job(*wrong), "feed")[0]
    assert first.title.startswith("Again: Voltage, C3.a to B−")
    assert "Step s5" in first.why


def test_condemning_an_expensive_part_too_early_costs_more_than_testing():
    """The pump has the complaint and nothing else against it: a test first is cheaper, and the words say so."""
    decision = decision_of(job(*UNCERTAIN), "feed", "M1")
    # The price, because it cannot go back, and 50 minutes at 60 an hour.
    assert decision.cost_if_wrong == Decimal("290.00")
    assert decision.expected_loss == pytest.approx(Decimal("290") * Decimal(1 - decision.probability_right),
                                                   abs=Decimal("0.01"))
    assert decision.going_on < decision.expected_loss
    assert decision.better_first is not None
    assert "less." in decision.words


def test_a_proved_part_is_condemned_at_no_loss():
    """With everything on the pin of the plug no test pays any more."""
    decision = decision_of(job(*FOUND, volts("s5", "C3.a", "12.58 V", black="C3.b")), "feed", "C3")
    assert decision.probability_right > 0.97
    assert decision.expected_loss < Decimal("1.00")
    assert decision.better_first is None
    assert "not dearer" in decision.words


def test_a_come_back_costs_too():
    """What the workshop sets for a vehicle that comes back is part of being wrong."""
    without = decision_of(job(*UNCERTAIN), "feed", "M1")
    with_it = decision_of(job(*UNCERTAIN), "feed", "M1", come_back=Decimal("80.00"))
    assert with_it.cost_if_wrong - without.cost_if_wrong == Decimal("80.00")


def test_without_any_price_or_rate_no_figure_is_made_up():
    """Nobody knows the rate, and no part has a price: the words say that."""
    bare = replace(FEED, elements=tuple(replace(element, price=None) for element in FEED.elements))
    decision = decision_of(job(*UNCERTAIN, circuits=(bare,), workshop=Workshop()), "feed", "M1")
    assert not decision.is_cost_known
    assert decision.better_first is None
    assert "Without a labour rate" in decision.words


def test_a_wire_and_its_pin_are_replaced_together_where_nothing_tells_them_apart():
    """The point between them cannot be reached; a circuit of which nothing was measured is not replaced as a whole."""
    said = (Access(id="a1", circuit="feed", point="C3.a", state="cannot be reached"),)
    known = job(DOES_NOT_RUN, volts("s2", "F7.out", "12.58 V"), volts("s3", "C3.b", "0.00 V"), access=said)
    assert set(decision_of(known, "feed", "W1").together) == {"W1", "C3"}
    assert "replaced together" in decision_of(known, "feed", "W1").words
    out_of_reach = tuple(Access(id=f"a{n}", circuit="feed", point=point, state="cannot be reached")
                         for n, point in enumerate(("F7.out", "C3.a", "C3.b", "M1.1", "M1.2")))
    assert decision_of(job(DOES_NOT_RUN, access=out_of_reach), "feed", "W1").together == ("W1",)


def test_no_circuit_no_proposal_and_no_decision():
    """A broken circuit, suspects by hand, an element that is not there."""
    broken = Circuit(id="feed", elements=(replace(FEED.elements[5], between=None),))
    assert proposals_of(job(circuits=(broken,)), "feed") == ()
    assert proposals_of(job(), "") == ()
    assert decision_of(job(circuits=(broken,)), "feed", "M1") is None
    assert decision_of(job(), "feed", "nowhere") is None


def test_a_suspect_by_hand_has_its_figures_too():
    """Without a circuit: how sure it is, what being wrong costs, and no test to propose."""
    by_hand = (HandSuspect(id="h1", name="worn hub", bearings=(Bearing(step="s1", says="supports"),)),
               HandSuspect(id="h2", name="bent disc"))
    considered = Condemned(id="k1", part="worn hub", price=Decimal("100.00"), fit_minutes=60)
    decision = decision_of(job(DOES_NOT_RUN, suspects=by_hand, condemned=(considered,)), "", "h1")
    assert decision.cost_if_wrong == Decimal("160.00")
    assert 0.4 < decision.probability_right < 0.9
    assert decision.better_first is None
    assert decision.words.startswith("That it is worn hub is ")
    assert decision_of(job(suspects=by_hand), "", "h9") is None


def test_outdated_questions_are_given_up():
    """Whoever asks may change their mind."""
    with pytest.raises(Outdated):
        proposals_of(job(*UNCERTAIN), "feed", is_outdated=lambda: True)


def test_times_of_this_workshop_count():
    """Where voltages take eight minutes here, a proposal says so."""
    usual = {"voltage": 8.0}
    told = [one for one in proposals_of(job(*UNCERTAIN), "feed", 12, usual_minutes=usual) if one.kind == "voltage"]
    assert all(one.minutes >= 8.0 for one in told)
    plain = [one for one in proposals_of(job(*UNCERTAIN), "feed", 12) if one.kind == "voltage"]
    assert min(one.minutes for one in plain) == 2.0
    assert changed(plain[0]).key == plain[0].key


def test_a_dead_resistance_asks_for_the_battery_off():
    """An ohmmeter is proposed in the setup that makes the circuit dead, never beside a connected battery."""
    dead = ResistanceStep(id="s9", circuit="feed", setup="dead", red="C3.a", black="C3.b", reading="0.1 ohm")
    told = proposals_of(job(*UNCERTAIN, dead), "feed", 20)
    assert {one.place.setup for one in told if one.kind == "resistance"} <= {"dead"}
