"""The invoice summary: every line, tax and total as the money page has them, what was agreed, what it is not."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from paper.made_papers import ISSUED, NAMES, made, made_of_sample, plain, sample, text_of

from workshop_log.exchange.records import Charge, Part, TimeLine
from workshop_log.jobs.money import show_money, totals

STRAP = sample("ground-strap")


@pytest.mark.parametrize("name", NAMES)
def test_every_line_and_sum_is_that_of_the_money_page(name):
    """To the penny: nothing is worked out a second time."""
    job, text = sample(name), text_of(made_of_sample(name, "invoice", "A4"))
    bill = totals(job, ISSUED)
    for line in bill.lines:
        assert plain(line.what) in text
        assert show_money(line.net, bill.currency) in text
    net, tax, gross = (show_money(amount, "GBP") for amount in (bill.net, bill.tax, bill.gross))
    assert f"Net {net} Tax 20 % on {net} {tax} Total {gross}" in text
    assert f"{gross} altogether, including {tax} tax at 20 %." in text


@settings(max_examples=15, deadline=None)
@given(prices=st.lists(st.decimals(min_value=0, max_value=99_999, places=2), min_size=1, max_size=5),
       rate=st.sampled_from(["0", "8.1", "20"]), currency=st.sampled_from(["GBP", "EUR", "JPY", "KWD", "CHF"]))
def test_sums_hold_for_any_bill(prices, rate, currency):
    """In every currency, with its own digits and sign."""
    job = replace(
        STRAP, seal=None, parts=tuple(Part(id=f"p{n}", name=f"part {n}", price=price)
                                      for n, price in enumerate(prices)),
        workshop=replace(STRAP.workshop, currency=currency, tax_rate=Decimal(rate)))
    bill, text = totals(job, ISSUED), text_of(made("invoice", job))
    assert f"Total {plain(show_money(bill.gross, currency))}" in text
    assert (f"Tax {rate} % on {plain(show_money(bill.net, currency))} {plain(show_money(bill.tax, currency))}" in text
            ) == bool(bill.tax_rate)


def test_parts_have_quantity_price_number_and_rate():
    """Labour has its time by the clock as charged."""
    text = text_of(made_of_sample("brake-disc", "invoice", "A4"))
    assert "Front brake disc Part number BT-4510-22 2 £58.40 20 % £116.80" in text
    assert "Finding the fault 1 h 00 min £64.00 an hour 20 % £64.00" in text
    assert "Brake cleaner and disposal of the old discs 20 % £4.50" in text


def test_a_number_stands_with_its_own_part():
    """Returned parts are off the bill, and their numbers with them."""
    parts = (Part(id="p1", name="Wrong relay", number="R-1", price=Decimal(9), returned=STRAP.opened),
             Part(id="p2", name="Right relay", number="R-2", price=Decimal(8)), Part(id="p3", name="Seal"))
    text = text_of(made("invoice", replace(STRAP, parts=parts, seal=None)))
    assert "Right relay Part number R-2 1 £8.00" in text
    assert "R-1" not in text
    assert "Still open: Seal has no price yet." in text


def test_what_was_agreed_stands_beside():
    """Each approval with its day, person and amount, and how the bill stands to the last."""
    text = text_of(made_of_sample("ground-strap", "invoice", "A4"))
    assert "12 March 2031, 08:30 Prue Tansley in person Find out why it cranks slowly" in text
    assert "This bill stays within the £240.00 that was agreed last." in text
    dear = replace(STRAP, seal=None, charges=(Charge(id="x", what="Towing", amount=Decimal(100)),))
    assert "more than the £240.00 that was agreed last." in text_of(made("invoice", dear))


def test_it_says_whether_it_is_settled():
    """Settled, not settled, or not even final."""
    assert "Settled on 13 March 2031" in text_of(made_of_sample("ground-strap", "invoice", "A4"))
    due = replace(STRAP, settled=None, seal=None)
    text = text_of(made("invoice", due))
    assert "Not settled yet" in text
    assert "It is not settled yet." in text
    running = replace(due, clock=(*STRAP.clock, TimeLine(id="t9", person="T. Arle", start=ISSUED)))
    text = text_of(made("invoice", running))
    assert "Not final" in text
    assert "Still open: The clock is still running for T. Arle." in text


def test_it_says_that_it_is_a_summary():
    """What serves as a tax invoice is not ours to say; the workshop's tax number is printed where it is known."""
    text = text_of(made_of_sample("ground-strap", "invoice", "A4"))
    assert "This is a summary of the job's bill. Whether it may also serve as a tax invoice depends on" in text
    assert f"Tax number {STRAP.workshop.tax_number}" in text
    bare = replace(STRAP, workshop=replace(STRAP.workshop, tax_number=""), seal=None)
    assert "Tax number" not in text_of(made("invoice", bare))


@pytest.mark.parametrize("count", [1, 20, 27, 28, 29, 80])
def test_the_total_never_stands_alone(count):
    """However many lines there are, the last page with lines has at least one of them above the total."""
    import io

    import pypdf

    parts = tuple(Part(id=f"p{n}", name=f"Terminal no. {n}", number="T-1", price=Decimal(n)) for n in range(count))
    pdf = made("invoice", replace(STRAP, parts=parts, seal=None))
    pages = [plain(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]
    assert sum(page.count("Terminal no.") for page in pages) == count
    (last,) = [page for page in pages if " Total £" in page]
    assert "Sealing wax" in last
    assert all("Quantity Price Tax Net" in page for page in pages if "Terminal no." in page)
