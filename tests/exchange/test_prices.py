"""Amounts of money in what people typed: found however they are written, and told from readings."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.exchange import records as r
from workshop_log.exchange.prices import MASK, amounts_in, price_rules

JOB = r.Job(
    workshop=r.Workshop(labour_rate=Decimal("64.00"), tax_rate=Decimal(20)),
    circuits=(r.Circuit(id="f", elements=(
        r.Element(id="F1", kind="fuse", between=("a", "b"), price=Decimal("3.20")),)),),
    parts=(r.Part(id="p1", name="starter", price=Decimal("212.40"), cost=Decimal(110)),),
    charges=(r.Charge(id="x1", what="oil", amount=Decimal("7.15")),),
    approvals=(r.Approval(id="a1", at="2031-01-01", by="A", up_to=Decimal(150)),),
    estimate=(r.EstimateOption(id="o1", title="t", parts=Decimal("18.50"), other=Decimal("1.25")),),
    condemned=(r.Condemned(id="k1", part="strap", price=Decimal("18.75")),))


def masked(text, job=JOB, more=()):
    for pattern, word in price_rules(job, more):
        text = pattern.sub(word, text)
    return text


def test_every_amount_of_a_job_is_known():
    """In each of its lists; the tax rate is a percentage and no amount."""
    assert set(amounts_in(JOB)) == {Decimal(text) for text in (
        "64.00", "3.20", "212.40", "110", "7.15", "150", "18.50", "0", "1.25", "18.75")} - {Decimal(0)}


@pytest.mark.parametrize(("text", "left"), [
    ("cost 120 GBP", "cost [price]"),
    ("it is £120 at most", "it is [price] at most"),
    ("120,50 EUR for the pair", "[price] for the pair"),
    ("paid 1.200,50 € now", "paid [price] now"),
    ("GBP 40.-", "[price]"),
    ("£120-150", "[price]"),
    ("between 120 and 150 euros", "between [price]"),
    ("quoted 450 plus tax", "quoted [price] plus tax"),
    ("costs him about 80", "costs him about [price]"),
    ("approved up to 95", "approved up to [price]"),
    ("labour at 64 an hour", "labour at [price]"),
    ("the starter is 212.40", "the starter is [price]"),
    ("the starter is 212,4", "the starter is [price]"),
    ("110 from the supplier", "[price] from the supplier"),
    ("$30 and CA$ 40", "[price] and [price]"),
    ("a hundred, 100 quid", "a hundred, [price]"),
    ("total 1 450", "total [price]"),
])
def test_money_is_masked_however_it_is_written(text, left):
    """By a currency, a word of price, a rate, or because the job has this amount."""
    assert masked(text) == left


@pytest.mark.parametrize("text", [
    "12.4 V at pin 12", "charges at 14.2", "limit 0.2", "total 3 of 10", "64 km/h", "try 5 more", "19 ohm",
    "pin 110 open", "fuse 7 pulled, 150 mA left", "18.50 V", "212.40 Hz", "cost 3 hours", "B1000-16", "part ST-0199200",
    "0.48 V<0.2", "R110 and K64", "2031-04-02 at 9:40", "64 is the second terminal", "battery, 70 Ah",
    "half of 70 Ah lasts",
])
def test_readings_and_numbers_of_things_stay(text):
    """A number with a unit is a reading, whatever it happens to be equal to."""
    assert masked(text) == text


def test_an_amount_that_is_worked_out_is_known_when_it_is_told():
    """The total of the bill stands in no field."""
    assert masked("came to 409.87") == "came to 409.87"
    assert masked("came to 409.87", more=[Decimal("409.87")]) == f"came to {MASK}"


@given(st.text(max_size=80))
def test_masking_twice_changes_no_more(text):
    """Whatever was typed."""
    once = masked(text)
    assert masked(once) == once
