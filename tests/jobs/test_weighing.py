"""When the figures of a case are worked out anew, and which suspects are offered for one."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from jobs.pump import JOB, PUMP, STEPS
from msgspec.structs import replace

from workshop_log.diagnosis.outdated import Outdated
from workshop_log.exchange.records import Bearing, Charge, Condemned, HandSuspect, Job
from workshop_log.jobs.weighing import Weighed, basis_of, is_about_a_suspect, offers, weigh, weigh_all

THEN = datetime(2031, 4, 2, 12, tzinfo=UTC)
WIRE = Condemned(id="k1", part="feed wire", circuit="pump", element="W1")


def is_of(job: Job = JOB, condemned: Condemned = WIRE, come_back: str | None = None) -> bool:
    """Return whether figures of the pump's wire still hold for another job or entry."""
    return Weighed(basis_of(JOB, WIRE)).is_of(job, condemned, Decimal(come_back) if come_back else None)


@pytest.mark.parametrize("still", [
    is_of(), is_of(condemned=replace(WIRE, id="k2", finding="Green.", decision="replace")),
    is_of(replace(JOB, charges=(Charge(id="c1", what="Cleaner", amount=Decimal(2)),)))])
def test_figures_hold_while_nothing_changes_that_they_rest_on(still: bool) -> None:
    """Words about the part, and the bill, are no evidence."""
    assert still


@pytest.mark.parametrize("still", [
    is_of(replace(JOB, steps=STEPS[:2])), is_of(condemned=replace(WIRE, price=Decimal(9))), is_of(come_back="80"),
    is_of(condemned=replace(WIRE, element="F7")),
    is_of(replace(JOB, circuits=(replace(PUMP, elements=PUMP.elements[:4]),)))])
def test_figures_do_not_outlive_a_step_a_price_or_a_change_of_the_circuit(still: bool) -> None:
    """A part must not be condemned on what stood before the last reading."""
    assert not still


def test_part_of_the_circuit_is_weighed_with_its_own_price() -> None:
    """The wire's 9 and half an hour at 64 are lost if it is wrong; what it says on the card counts, 20 instead of 9."""
    cheap, dear = (weigh(JOB, replace(WIRE, price=Decimal(price), fit_minutes=30)) for price in (9, 20))
    assert cheap.suspicion.share_of("W1").probability > 0.7
    assert (cheap.decision.cost_if_wrong, dear.decision.cost_if_wrong) == (Decimal("41.00"), Decimal("52.00"))
    assert cheap.decision.probability_right == dear.decision.probability_right
    assert cheap.is_of(JOB, replace(WIRE, price=Decimal(9), fit_minutes=30))


def test_come_back_is_part_of_what_being_wrong_costs() -> None:
    """What the workshop sets for a vehicle that comes back is added to 9 and half an hour at 64."""
    priced = replace(WIRE, price=Decimal(9), fit_minutes=30)
    assert weigh(JOB, priced, Decimal(80)).decision.cost_if_wrong == Decimal("121.00")


@pytest.mark.parametrize("condemned", [replace(WIRE, circuit=None, element=None), replace(WIRE, element="X9")])
def test_part_that_is_no_suspect_is_not_weighed(condemned: Condemned) -> None:
    """A part by its name alone, and an element that is not there."""
    assert not is_about_a_suspect(JOB, condemned)
    weighed = weigh(JOB, condemned)
    assert (weighed.suspicion, weighed.decision) == (None, None)


@pytest.mark.parametrize("settled", [{"decision": "let off"}, {"decision": "replace", "repaired": THEN}])
def test_part_that_is_settled_has_no_decision_left(settled: dict) -> None:
    """What cleared it is still told; what condemning it now would cost is not worked out."""
    weighed = weigh(JOB, replace(WIRE, **settled))
    assert weighed.suspicion is not None
    assert weighed.decision is None


def test_outdated_work_stops() -> None:
    """Nobody waits for figures of before the last reading."""
    with pytest.raises(Outdated):
        weigh(replace(JOB, circuits=(replace(PUMP, title="not computed before"),)), WIRE, None, lambda: True)


def test_likeliest_suspects_are_offered_for_a_case() -> None:
    """Parts alone, the likeliest first, each with its circuit, and none before the first test."""
    offered = offers(JOB)
    assert (offered[0].circuit, offered[0].element) == ("pump", "W1")
    assert offered[0].words.startswith("W1 (feed to the pump), ")
    assert sorted(offered, key=lambda offer: -offer.probability) == list(offered)
    assert {offer.element for offer in offered} <= {element.id for element in PUMP.elements}
    assert offers(replace(JOB, steps=())) == ()


def test_suspect_with_a_case_of_its_own_is_not_offered_again() -> None:
    """Whether it is considered or let off; written by hand it is known by its name."""
    for decision in ("considered", "let off"):
        begun = replace(JOB, condemned=(replace(WIRE, decision=decision),))
        assert "W1" not in {offer.element for offer in offers(begun)}
    hub, tyre = (HandSuspect(id=f"h{n}", name=name, bearings=(Bearing(step="s1", says="supports"),))
                 for n, name in ((1, "worn hub"), (2, "tyre")))
    by_hand = Job(steps=STEPS[:1], suspects=(hub, tyre), condemned=(Condemned(id="k1", part="Worn hub"),))
    assert [(offer.circuit, offer.element, offer.name) for offer in offers(by_hand)] == [(None, None, "tyre")]


def test_all_cases_of_a_job_are_weighed_as_each_alone() -> None:
    """What is possible is worked out once for all of them; each gets its own decision."""
    fuse = replace(WIRE, id="k2", element="F7")
    job = replace(JOB, condemned=(WIRE, fuse))
    weighed, offered = weigh_all(job, job.condemned)
    assert weighed == {"k1": weigh(job, WIRE), "k2": weigh(job, fuse)}
    assert offered == offers(job)
