"""The estimate: ways beside each other, the cheaper step where one is known, and what is asked."""

from __future__ import annotations

import dataclasses
import io
from decimal import Decimal

import pikepdf
import pytest
from msgspec.structs import replace
from paper.made_papers import ISSUED, made, made_of_sample, plain, sample, text_of
from paper.test_papers import elements

from workshop_log.exchange.records import Approval, EstimateOption
from workshop_log.exchange.stationery import Stationery
from workshop_log.jobs.estimating import ways
from workshop_log.jobs.money import approved, show_money, totals
from workshop_log.jobs.places import Place
from workshop_log.jobs.suspicion import Decision, Proposal
from workshop_log.paper.papers import make_paper, paper_input

WINDOW = sample("door-window")
ASKED = "Please choose one way and sign for it."


@pytest.mark.parametrize("name", ["door-window", "ground-strap", "drained-battery", "brake-disc", "fuel-sender"])
def test_every_amount_is_that_of_the_money_page(name):
    """To the penny: each way, its tax, what is on the bill so far, what was agreed."""
    job, text = sample(name), text_of(made_of_sample(name, "estimate", "A4"))
    bill = totals(job, ISSUED)
    for way in ways(job, ISSUED):
        for amount in (way.totals.labour_net, way.totals.net, way.totals.tax, way.totals.gross):
            assert show_money(amount, "GBP") in text
        assert plain(way.totals.option.title) in text
        assert plain(way.totals.option.tells) in text
    assert f"{show_money(bill.gross, 'GBP')} is on the bill so far, including {show_money(bill.tax, 'GBP')} tax" in text
    assert f"agreed to up to {show_money(approved(job).up_to, 'GBP')}" in text


def test_the_cheapest_way_stands_first():
    """Whatever the order in which the ways were written down."""
    job = sample("tailgate-unit")
    turned = replace(job, estimate=job.estimate[::-1], seal=None)
    text = text_of(made("estimate", turned))
    assert text.index("New terminal in the plug") < text.index("New tailgate control unit")


def test_what_is_asked_is_the_whole_job():
    """An approval is of the whole job, so the amount beside the signature has the bill so far in it."""
    text = text_of(made_of_sample("door-window", "estimate", "A4"))
    assert "For approval" in text
    assert text.index("The whole job then £298.00 £408.40") < text.index(ASKED)
    asked = text[text.index(ASKED):]
    assert "If more turns out to be needed than you agreed to, we ask you first." in asked
    assert "Way Up to Name Date Signature 1 New window lift, your motor stays £298.00" in asked
    assert "2 New window lift with motor £408.40 None of these: nothing more is done" in asked


def test_one_way_is_asked_for_as_one():
    """There is nothing to choose."""
    text = text_of(made("estimate", replace(WINDOW, estimate=WINDOW.estimate[:1], seal=None)))
    assert ASKED not in text
    assert "Please sign for it if we shall go on this way." in text
    assert "Not this: nothing more is done" in text
    assert "The way to go on" in text


def test_after_the_work_it_tells_what_was_answered():
    """The bill has the work in it by then: nothing is added to it again, and nothing is asked."""
    text = text_of(made_of_sample("ground-strap", "estimate", "A4"))
    assert "As it was answered" in text
    assert "Agreed: Prue Tansley, by telephone, 12 March 2031, up to £240.00" in text
    assert text.count("not chosen") == 2
    assert "The whole job then" not in text
    assert ASKED not in text


def test_what_was_agreed_by_telephone_can_be_signed():
    """As long as the vehicle is there; once it was signed, no more."""
    text = text_of(made_of_sample("wiper", "estimate", "A4"))
    assert "Please sign for what you agreed to." in text
    assert "1 New gearbox cover with park contact £175.00" in text
    job = sample("wiper")
    signed = replace(job, seal=None, approvals=tuple(replace(a, how="signed") for a in job.approvals))
    assert "Please sign" not in text_of(made("estimate", signed))


def test_a_refused_way_is_not_asked_for_again():
    """The others are."""
    refused = Approval(id="r", at=WINDOW.opened, by="Jonty Harrable", option="o2", agreed=False, how="telephone")
    text = text_of(made("estimate", replace(WINDOW, approvals=(*WINDOW.approvals, refused), seal=None)))
    assert "Refused: Jonty Harrable, by telephone, 28 April 2031" in text
    assert "2 New window lift with motor" not in text
    assert "1 New window lift, your motor stays £298.00" in text


# --- the cheaper step -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["door-window", "ground-strap", "wiper", "brake-disc", "tailgate-unit"])
def test_where_no_cheaper_step_is_known_nothing_is_said_of_one(name):
    """No heading without a paragraph, and no figure that nobody worked out."""
    assert "cheaper step" not in text_of(made_of_sample(name, "estimate", "A4")).lower()


def test_work_without_parts_is_offered_first():
    """With what it would tell in the technician's words, and what may not be needed then."""
    look = EstimateOption(id="o9", title="Open the loom in the hinge", tells="Shows whether it rubs there.",
                          labour_minutes=25)
    text = text_of(made("estimate", replace(WINDOW, estimate=(*WINDOW.estimate, look), seal=None)))
    assert ("We could first do this: “Open the loom in the hinge”. It takes 25 min and costs £32.00. Shows whether it "
            "rubs there. Depending on what comes of it, “New window lift with motor” at £331.60 may not be needed."
            ) in text


def test_a_test_worth_making_first_is_offered_and_can_be_signed():
    """Its price is that of its minutes; the chance and the averages are those of the figures."""
    case = WINDOW.condemned[0]
    test = Proposal("x", "look", Place("window", "", element="W1"), "Look at W1 (feed)", "Goes to W1.", 12.5)
    decision = Decision(case.element, "LIFT", (case.element,), 0.22, Decimal(521), Decimal("406.66"), test,
                        Decimal("27.88"))
    content = dataclasses.replace(paper_input("estimate", WINDOW, {}, ISSUED), decisions={case.id: decision})
    text = text_of(make_paper("estimate", content))
    assert ("We could first make one more test: look at W1 (feed). It takes 13 min and costs £16.00. It helps to tell "
            "whether this is the cause: window lift, passenger's door. So far the chance of that is about 22 in 100. "
            "If it is not, the £217.60 for it are not needed. By these chances, going on with the test costs £27.88 on "
            "average and replacing it at once £406.66, both without tax.") in text
    assert "First: Look at W1 (feed) £92.80" in text


def test_figures_of_a_real_circuit_reach_the_paper():
    """A control unit under suspicion with few tests made: the circuit itself knows the cheaper test."""
    job = sample("tailgate-unit")
    unit = replace(job.condemned[1], decision="considered", finding="")
    early = replace(job, steps=job.steps[:6], condemned=(unit,), approvals=job.approvals[:1], parts=(), photos=(),
                    clock=job.clock[:1], handed_back=None, settled=None, seal=None, estimate=job.estimate[1:])
    text = text_of(made("estimate", early))
    assert "We could first make one more test: " in text
    assert "If it is not, the £625.60 for it are not needed." in text


# --- how it looks ---------------------------------------------------------------------------------------------------


def test_ways_are_heard_with_their_names():
    """Row and column headers, so that an amount is never heard alone."""
    with pikepdf.open(io.BytesIO(made_of_sample("door-window", "estimate", "A4"))) as pdf:
        table = next(element for element in elements(pdf) if element.S == "/Table")
        rows = [[(str(cell.S), str(cell.A.Scope) if "/A" in cell else "") for cell in row.K] for row in table.K]
    assert rows[0] == [("/TH", "/Column")] * 3
    assert all(row == [("/TH", "/Row"), ("/TD", ""), ("/TD", "")] for row in rows[1:])


def test_terms_stand_below():
    """How long it holds is the workshop's to say."""
    text = text_of(made("estimate", WINDOW, stationery=Stationery(terms="This estimate holds for 30 days.")))
    assert "Terms This estimate holds for 30 days." in text
    assert "Terms" not in text_of(made_of_sample("door-window", "estimate", "A4"))


@pytest.mark.parametrize("count", [1, 2, 3, 4, 7, 40])
@pytest.mark.parametrize("currency", ["JPY", "KWD", "CHF"])
def test_any_number_of_ways_in_any_currency(count, currency):
    """Each has its amount and its place to sign."""
    options = tuple(EstimateOption(id=f"o{n}", title=f"Way no. {n} of many", tells="Tells. " * 30,
                                   parts=Decimal(n * 791_900), labour_minutes=n + 1) for n in range(count))
    job = replace(WINDOW, estimate=options, seal=None, workshop=replace(WINDOW.workshop, currency=currency))
    text = text_of(made("estimate", job))
    for way in ways(job, ISSUED):
        assert plain(show_money(way.totals.gross, currency)) in text
        assert text.count(plain(show_money(way.whole, currency))) >= 2
        assert f"Way {way.number}" in text
