"""The ways to go on, the cheapest first, and the cheaper step before them."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from workshop_log.exchange.records import Approval, Circuit, Condemned, Element, EstimateOption, Job, TimeLine, Workshop
from workshop_log.jobs import money
from workshop_log.jobs.estimating import cheaper_steps, ways
from workshop_log.jobs.places import Place
from workshop_log.jobs.suspicion import Decision, Proposal

DAY = datetime(2031, 4, 2, 9, 0, tzinfo=UTC)
WORKSHOP = Workshop(labour_rate=Decimal(64), tax_rate=Decimal(20))
UNIT = EstimateOption(id="o1", title="New control unit", tells="Cannot go back.", labour_minutes=50, parts=Decimal(468))
LOOM = EstimateOption(id="o2", title="Open the loom and look", tells="Shows whether it rubs.", labour_minutes=25)
JOB = Job(workshop=WORKSHOP, estimate=(UNIT, LOOM),
          clock=(TimeLine(id="t", person="A", start=DAY, end=DAY.replace(hour=11), billed_minutes=120),))
AMOUNTS = st.decimals(min_value=0, max_value=99_999, places=2)


def answered(option: str, agreed: bool = True) -> Approval:
    return Approval(id="a", at=DAY, by="N. Orrin", option=option, agreed=agreed, up_to=Decimal(900))


@given(st.lists(st.tuples(AMOUNTS, AMOUNTS, st.floats(0, 999)), max_size=6), st.sampled_from(["GBP", "JPY", "KWD"]))
def test_every_amount_is_that_of_the_money_page(given_options, currency):
    """Nothing is added up a second time; the cheapest comes first."""
    options = tuple(EstimateOption(id=f"o{n}", title="x", parts=parts, other=other, labour_minutes=minutes)
                    for n, (parts, other, minutes) in enumerate(given_options))
    job = replace(JOB, estimate=options, workshop=replace(WORKSHOP, currency=currency))
    found = ways(job, DAY)
    assert sorted(way.totals.option.id for way in found) == sorted(option.id for option in options)
    for way in found:
        assert way.totals == money.option_totals(way.totals.option, job.workshop)
        agreed = replace(job, approvals=(Approval(id="a", at=DAY, by="x", up_to=way.whole),))
        # Agreed up to the whole amount, the way may be begun; a penny less, and it may not.
        assert money.would_exceed(agreed, way.totals.option, DAY) is None
        if way.whole:
            less = replace(agreed.approvals[0], up_to=way.whole - Decimal(1).scaleb(-money.minor_digits(currency)))
            assert money.would_exceed(replace(job, approvals=(less,)), way.totals.option, DAY) is not None
    assert [way.totals.gross for way in found] == sorted(way.totals.gross for way in found)
    assert [way.number for way in found] == list(range(1, len(found) + 1))


def test_the_whole_job_has_what_is_on_the_bill():
    """Two hours at 64.00 are there already: that is what an approval is of."""
    loom, unit = ways(JOB, DAY)
    assert (loom.totals.gross, loom.whole) == (Decimal("32.00"), Decimal("185.60"))
    assert (unit.totals.gross, unit.whole) == (Decimal("625.60"), Decimal("779.20"))


def test_an_answer_goes_with_its_way():
    """Agreed, refused, or open; a corrected answer is the correction."""
    refused = replace(answered("o1", agreed=False), id="b")
    found = {way.totals.option.id: way for way in ways(replace(JOB, approvals=(answered("o2"), refused)))}
    assert (found["o1"].answer, found["o2"].answer) == ("refused", "agreed")
    assert found["o2"].approval.by == "N. Orrin"
    corrected = replace(answered("o1"), id="c", replaces="b", because="slip of the finger")
    job = replace(JOB, approvals=(refused, corrected))
    assert {way.totals.option.id: way.answer for way in ways(job)} == {"o1": "agreed", "o2": "open"}


# --- the cheaper step -----------------------------------------------------------------------------------------------


def test_work_without_parts_comes_before_a_part():
    """Its amounts are those of the ways; what it tells is what the technician wrote."""
    (step,) = cheaper_steps(JOB, {}, DAY)
    assert (step.title, step.minutes, step.gross, step.whole) == (LOOM.title, 25, Decimal("32.00"), Decimal("185.60"))
    assert (step.spares, step.spares_gross, step.tells) == (UNIT.title, Decimal("625.60"), LOOM.tells)
    assert step.chance == ""


@pytest.mark.parametrize("job", [
    replace(JOB, estimate=(UNIT,)), replace(JOB, estimate=(LOOM,)), replace(JOB, estimate=()),
    # Both ways with parts: neither comes before the other.
    replace(JOB, estimate=(UNIT, replace(LOOM, parts=Decimal(1)))),
    # Work that costs more than the part spares nothing.
    replace(JOB, estimate=(UNIT, replace(LOOM, labour_minutes=900))),
    replace(JOB, estimate=(UNIT, replace(LOOM, labour_minutes=0))),
    replace(JOB, approvals=(answered("o1"),)), replace(JOB, approvals=(answered("o2", agreed=False),))])
def test_where_no_cheaper_step_is_known_there_is_none(job):
    """Nothing is made up."""
    assert cheaper_steps(job, {}, DAY) == ()


TEST = Proposal("x", "look", Place("c", "", element="W1"), "Look at W1 (hinge wire)", "Goes straight to W1.", 12.5)
DECISION = Decision("U", "U (control unit)", ("U",), 0.22, Decimal(521), Decimal("406.66"), TEST, Decimal("27.88"))
CASE = Condemned(id="k", part="tailgate control unit", circuit="c", element="U", price=Decimal(468), fit_minutes=50)
SUSPECTED = replace(JOB, estimate=(UNIT,), condemned=(CASE,), circuits=(Circuit(id="c", elements=(
    Element(id="U", kind="control unit", title="control unit", price=Decimal(450)),)),))


def test_a_test_that_costs_less_than_deciding_comes_first():
    """It is priced like any labour, the part as it would be fitted; the averages are those of the figures."""
    (step,) = cheaper_steps(SUSPECTED, {"k": DECISION}, DAY)
    assert (step.title, step.minutes) == (TEST.title, 12.5)
    assert step.gross == money.option_totals(EstimateOption(id="x", title="", labour_minutes=12.5), WORKSHOP).gross
    assert step.whole == Decimal("169.60")
    assert (step.spares, step.spares_gross) == ("tailgate control unit", Decimal("625.60"))
    assert (step.chance, step.going_on, step.at_once) == ("about 22 in 100", Decimal("27.88"), Decimal("406.66"))


def test_a_price_that_the_case_lacks_is_that_of_the_circuit():
    """As the figures themselves take it; without either, no amount is said."""
    job = replace(SUSPECTED, condemned=(replace(CASE, price=None),))
    assert cheaper_steps(job, {"k": DECISION}, DAY)[0].spares_gross == Decimal("604.00")
    bare = (Circuit(id="c", elements=(Element(id="U", kind="control unit"),)),)
    assert cheaper_steps(replace(job, circuits=bare), {"k": DECISION}, DAY)[0].spares_gross is None


@pytest.mark.parametrize(("change", "decision"), [
    ({}, DECISION.__class__("U", "U", ("U",), 0.97, Decimal(1), Decimal(1))),
    ({"repaired": DAY, "decision": "replace"}, DECISION), ({"decision": "let off"}, DECISION),
    ({"price": Decimal(1), "fit_minutes": 0}, DECISION)])
def test_no_test_is_offered_for_what_is_decided_or_costs_less_than_the_test(change, decision):
    """Neither where the figures know no better, nor after the repair, nor for a fuse."""
    job = replace(SUSPECTED, condemned=(replace(CASE, **change),))
    assert cheaper_steps(job, {"k": decision}, DAY) == ()


def test_the_same_test_for_two_parts_is_asked_for_once():
    """The customer pays for it once."""
    job = replace(SUSPECTED, condemned=(CASE, replace(CASE, id="l", part="another part")))
    assert [step.spares for step in cheaper_steps(job, {"k": DECISION, "l": DECISION}, DAY)] == [CASE.part]
