"""The letter that is proposed: plain words, and nothing that the job does not say."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from workshop_log.delivery.addresses import has_controls, parts_of, read_addresses
from workshop_log.delivery.covering import proposed_letter, sender_of
from workshop_log.exchange import records as r
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.records import Job
from workshop_log.exchange.stationery import MailAccount

SAMPLES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.job.json"))
NOW = datetime(2031, 4, 2, 8, 35, tzinfo=UTC)


def letter(job, what="report", account=None):
    return proposed_letter(job, account or MailAccount(), what, NOW)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name.removesuffix(".job.json"))
def test_every_sample_job_gets_a_letter_that_can_be_sent(path):
    """To its customer, about its vehicle, with no reading's jargon of the program."""
    job = read_job(path.read_bytes(), path.name)
    made = letter(job)
    assert read_addresses(", ".join(made.recipients)) == made.recipients
    assert job.vehicle.registration in made.subject
    assert f"Dear {job.customer.name}," in made.body
    assert not any(word in made.body for word in ("None", "{", "}", "  "))


def test_a_job_that_says_nothing_gets_a_letter_that_says_nothing():
    """No greeting by name, nothing found, no sum."""
    made = letter(Job(number="2031-0007"))
    assert made.recipients == ()
    assert made.subject == "Report 2031-0007"
    assert made.body == ("Good day,\n\nattached is the report on your vehicle.\n\nIf you have a question, answer this "
                         "message.\n")


def test_a_total_that_is_not_final_is_not_named():
    """A clock still runs, or a part has no price; an estimate says what is to come itself."""
    workshop = r.Workshop(labour_rate=Decimal(64), tax_rate=Decimal(20))
    job = Job(workshop=workshop, charges=(r.Charge(id="x1", what="Disposal", amount=Decimal(2)),))
    assert "In total: £2.40, tax of £0.40 included." in letter(job).body
    assert "In total" not in letter(job, "estimate").body
    running = replace(job, clock=(r.TimeLine(id="t1", person="Mara", start=NOW),))
    assert "In total" not in letter(running).body


def test_what_was_only_considered_is_not_what_was_found():
    """A part that may yet be let off is nobody's to read."""
    job = Job(condemned=(r.Condemned(id="k1", part="strap", decision="considered", finding="It looks old."),))
    assert "What we found" not in letter(job).body
    assert "strap" not in letter(job).body


@pytest.mark.parametrize(("name", "account", "sender"), [
    ("Venn Electrics", MailAccount(), "Venn Electrics <desk@example.org>"),
    ("Venn, Electrics", MailAccount(sender="post@example.org"), '"Venn, Electrics" <post@example.org>'),
    ("Venn", MailAccount(sender="Post <post@example.org>"), "Post <post@example.org>"),
    ("", MailAccount(), "desk@example.org"), ('"Venn"', MailAccount(), "Venn <desk@example.org>")])
def test_mail_comes_from_the_workshop(name, account, sender):
    """Its own address where the account names none."""
    assert sender_of(r.Workshop(name=name, email="desk@example.org"), account) == sender
    parts_of(sender)


@given(st.text(max_size=300), st.text(max_size=300), st.text(max_size=100))
def test_whatever_a_job_says_the_letter_has_one_head(name, words, plate):
    """Names and complaints may hold anything."""
    job = Job(number="1", customer=r.Customer(name=name, email="o@example.org"), vehicle=r.Vehicle(registration=plate),
              complaints=(r.Complaint(id="c1", words=words),))
    made = letter(job)
    (recipient,) = made.recipients
    assert parts_of(recipient)[1] == "o@example.org"
    assert read_addresses(recipient) == made.recipients
    assert not has_controls(made.subject)
