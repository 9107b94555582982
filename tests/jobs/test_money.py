"""Bills, estimates and approvals."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.exchange.records import Approval, Charge, EstimateOption, Job, Part, TimeLine, Workshop
from workshop_log.jobs import money
from workshop_log.jobs.money import TaxRule

NOW = datetime(2031, 4, 2, 8, 35, tzinfo=UTC)
WORKSHOP = Workshop(labour_rate=Decimal("64.00"), tax_rate=Decimal(20))
STRAP = EstimateOption(id="o1", title="New ground strap", labour_minutes=45, parts=Decimal("18.40"))


def worked(minutes: float, *, id: str = "t1", what: str = "", billed: float | None = None) -> TimeLine:  # noqa: A002
    return TimeLine(id=id, person="Ida", start=NOW, end=NOW + timedelta(minutes=minutes), what=what,
                    billed_minutes=billed)


def agreed(up_to: str | None, *, id: str = "a1", at: datetime = NOW, **more) -> Approval:  # noqa: A002
    return Approval(id=id, at=at, by="M. Quill", how="telephone", up_to=up_to and Decimal(up_to), **more)


def test_bill_by_hand() -> None:
    """1 h 30 min at 64.00 is 96.00; two parts at 18.40 are 36.80; a charge of 5.00; 20 % of 137.80 is 27.56."""
    job = Job(workshop=WORKSHOP, clock=(worked(90),), charges=(Charge(id="x1", what="Disposal", amount=Decimal(5)),),
              parts=(Part(id="p1", name="Strap", quantity=Decimal(2), price=Decimal("18.40")),))
    bill = money.totals(job)
    assert (bill.labour_net, bill.parts_net, bill.other_net) == (Decimal(96), Decimal("36.80"), Decimal(5))
    assert (bill.net, bill.tax, bill.gross) == (Decimal("137.80"), Decimal("27.56"), Decimal("165.36"))


def test_time_not_decided_is_charged_as_worked_and_said_so() -> None:
    """Billed minutes are decided apart; until then the worked time counts, and the bill says that it is open."""
    bill = money.totals(Job(workshop=WORKSHOP, clock=(worked(50), worked(70, id="t2", billed=30))))
    assert (bill.worked_minutes, bill.billed_minutes) == (120, 80)
    assert "1 time line is not decided" in bill.open_questions[0]
    assert not money.totals(Job(workshop=WORKSHOP, clock=(worked(70, billed=0),))).open_questions


def test_running_clock_counts_until_now_only_where_now_is_known() -> None:
    """A time line without an end is no time yet unless somebody says what the time is."""
    job = Job(workshop=WORKSHOP, clock=(TimeLine(id="t1", person="Ida", start=NOW),))
    assert money.totals(job).worked_minutes == 0
    assert money.totals(job, NOW + timedelta(minutes=15)).labour_net == Decimal("16.00")


def test_returned_part_is_not_charged() -> None:
    """A part that went back to the supplier is off the bill."""
    job = Job(workshop=WORKSHOP, parts=(Part(id="p1", name="Relay", price=Decimal(9), returned=NOW),))
    assert money.totals(job).gross == 0


def test_missing_price_and_rate_are_open_questions() -> None:
    """A bill that lacks a price says which, rather than look final."""
    job = Job(workshop=Workshop(), clock=(worked(10, billed=10),), parts=(Part(id="p1", name="Relay"),))
    assert money.totals(job).open_questions == (
        "There is no labour rate: type one, or labour is charged nothing.", "Relay has no price yet.")


@given(st.lists(st.decimals(-9999, 9999, places=2), max_size=30), st.decimals(0, 50, places=2),
       st.sampled_from(TaxRule), st.sampled_from(["GBP", "JPY", "KWD", "CLF"]))
def test_rounded_tax_is_less_than_one_unit_per_line_from_the_exact_one(nets, rate, rule, currency) -> None:
    """No rule is off by a minor unit per line or more, and a bill and its refund cancel."""
    exact = sum((net * rate / 100 for net in nets), Decimal(0))
    tax = money.round_tax(nets, rate, rule, currency)
    unit = Decimal(1).scaleb(-money.minor_digits(currency))
    assert tax == tax.quantize(unit)
    assert abs(tax - exact) < unit * max(len(nets), 1)
    assert money.round_tax([-net for net in nets], rate, rule, currency) == -tax


@given(st.lists(st.tuples(st.decimals(0, 500, places=3), st.decimals(0, 99, places=2)), max_size=8))
def test_printed_lines_add_up_to_the_net_total(parts) -> None:
    """What is printed line by line gives the printed sum, to the penny."""
    job = Job(workshop=WORKSHOP, parts=tuple(
        Part(id=f"p{n}", name="x", quantity=quantity, price=price) for n, (quantity, price) in enumerate(parts)))
    bill = money.totals(job)
    assert sum((line.net for line in bill.lines), Decimal(0)) == bill.net == bill.gross - bill.tax


def test_option_totals_include_tax() -> None:
    """45 min at 64.00 is 48.00, with 18.40 of parts 66.40 net, with 20 % 79.68."""
    option = money.option_totals(STRAP, WORKSHOP)
    assert (option.net, option.tax, option.gross) == (Decimal("66.40"), Decimal("13.28"), Decimal("79.68"))


# --- approvals


def test_the_last_approval_counts_and_they_are_not_added() -> None:
    """Each approval says what the whole job may cost."""
    job = Job(approvals=(agreed("150", at=NOW), agreed("90", id="a2", at=NOW + timedelta(hours=1))))
    assert money.approved(job).up_to == Decimal(90)


def test_corrected_approval_does_not_count() -> None:
    """An approval that a later entry corrects stays on record and no longer counts."""
    job = Job(approvals=(agreed("900", at=NOW + timedelta(hours=1)),
                         agreed("90", id="a2", replaces="a1", because="misheard")))
    assert money.approved(job).up_to == Decimal(90)


def test_refusal_of_more_leaves_what_was_agreed() -> None:
    """Refusing a dearer option takes nothing away from the approval before it."""
    job = Job(approvals=(agreed("150"), agreed(None, id="a2", at=NOW + timedelta(hours=1), agreed=False)))
    assert money.approved(job).up_to == Decimal(150)


def test_bill_up_to_the_approved_amount_is_not_beyond() -> None:
    """Exactly the approved amount is approved; a penny more is not."""
    job = Job(workshop=WORKSHOP, clock=(worked(90),), approvals=(agreed("115.20"),))
    assert money.beyond_approval(job) is None
    less = Job(workshop=WORKSHOP, clock=(worked(90),), approvals=(agreed("115.19"),))
    beyond = money.beyond_approval(less)
    assert beyond.gross == Decimal("115.20")
    assert "£0.01 more than the £115.19 that M. Quill approved" in beyond.words


def test_option_beyond_the_approval_is_flagged_before_it_is_started() -> None:
    """The bill so far and the option together are held against the approval: 76.80 + 79.68 = 156.48."""
    job = Job(workshop=WORKSHOP, clock=(worked(60),), estimate=(STRAP,), approvals=(agreed("156.48"),))
    assert money.would_exceed(job, STRAP) is None
    tight = Job(workshop=WORKSHOP, clock=(worked(60),), estimate=(STRAP,), approvals=(agreed("156.47"),))
    assert money.beyond_approval(tight) is None
    assert money.would_exceed(tight, STRAP).gross == Decimal("156.48")


def test_part_already_on_the_list_is_not_counted_twice() -> None:
    """Ordering a part that stands on the list adds nothing to the bill; a new one does."""
    part = Part(id="p1", name="Strap", price=Decimal(100))
    job = Job(workshop=WORKSHOP, parts=(part,), approvals=(agreed("120"),))
    assert money.would_exceed(job, part) is None
    assert money.would_exceed(job, Part(id="p2", name="Clamp", price=Decimal(1))).gross == Decimal("121.20")


def test_ordering_without_any_approval_is_flagged() -> None:
    """Testing may begin without an approval; spending the customer's money on parts may not."""
    part = Part(id="p1", name="Strap", price=Decimal(10))
    assert money.beyond_approval(Job(workshop=WORKSHOP, clock=(worked(60),))) is None
    assert "nothing is approved yet" in money.would_exceed(Job(workshop=WORKSHOP), part).words


def test_refused_option_is_flagged_whatever_it_costs() -> None:
    """What the customer refused is not started, even under an approval without limit."""
    no = agreed(None, id="a2", at=NOW + timedelta(hours=1), option="o1", agreed=False)
    job = Job(workshop=WORKSHOP, estimate=(STRAP,), approvals=(agreed(None), no))
    assert money.would_exceed(job, STRAP).words == "M. Quill refused “New ground strap”."


@pytest.mark.parametrize(("approvals", "needed"), [
    ((), True), ((agreed("79.67"),), True), ((agreed("79.68"),), False), ((agreed(None),), False),
    ((agreed("10", option="o1"),), False), ((agreed(None, agreed=False),), False)])
def test_estimate_needs_an_approval_that_covers_it_or_names_an_option(approvals, needed: bool) -> None:
    """An approval from the desk is enough if it covers the cheapest option (79.68)."""
    job = Job(workshop=WORKSHOP, estimate=(STRAP,), approvals=approvals)
    assert money.needs_approval(job) is needed


# --- amounts as text


@pytest.mark.parametrize(("amount", "currency", "text"), [
    ("1234.5", "GBP", "£1,234.50"), ("-5", "EUR", "−€5.00"), ("1234.5", "CHF", "1,234.50\u00a0CHF"),
    ("1234.5", "JPY", "¥1,235"), ("0.0005", "KWD", "0.001\u00a0KWD"), ("-0.001", "GBP", "£0.00")])
def test_money_is_shown_with_its_currency_and_minor_digits(amount: str, currency: str, text: str) -> None:
    """A sign where the currency has one that everybody knows, else its letters; no minus before nothing."""
    assert money.show_money(amount, currency) == text


@pytest.mark.parametrize(("text", "amount"), [
    ("18.40", "18.40"), (" £18.4 ", "18.40"), ("18,40", "18.40"), ("1,234.50", "1234.50"), ("GBP 7", "7"),
    ("-3", "-3")])
def test_money_as_people_type_it(text: str, amount: str) -> None:
    """Sign, letters, comma and separators of thousands are understood where they mean one thing."""
    assert money.read_money(text) == Decimal(amount)


@pytest.mark.parametrize(("text", "reason"), [
    ("1,234", "could mean thousands"), ("abc", "not an amount"), ("", "not an amount"), ("1.234", "more than 2 digits"),
    ("1e5", "not an amount"), ("NaN", "not an amount"), ("9" * 20, "check the digits"), ("1.2.3", "not an amount")])
def test_what_is_no_amount_is_refused_with_a_reason(text: str, reason: str) -> None:
    """Nothing that could mean two amounts becomes one of them."""
    with pytest.raises(money.MoneyError, match=reason):
        money.read_money(text)


@given(st.text(max_size=30))
def test_any_text_is_an_amount_or_refused(text: str) -> None:
    """Whatever is typed, the answer is a finite amount or one sentence."""
    try:
        amount = money.read_money(text)
    except money.MoneyError:
        return
    assert amount.is_finite()
