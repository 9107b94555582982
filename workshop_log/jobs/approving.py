"""The estimate's options, and what the customer agreed to or refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.records import Approval, EstimateOption
from workshop_log.jobs.change import changing
from workshop_log.jobs.fields import FieldError, read_as
from workshop_log.jobs.ids import next_id
from workshop_log.jobs.money import MoneyError, read_money

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job


class ApprovalError(WorkshopLogError, ValueError):
    """An approval that nobody could rely on."""


def add_option(book: Book, number: str, title: str, **facts: object) -> Job:
    """Add one way to go on; its minutes, parts and what it would tell are fields of it, now or later."""
    with changing(book, number) as change:
        typed = {field: read_as(f"estimate/{field}", EstimateOption, field, value, change.job.workshop.currency)
                 for field, value in {"title": title, **facts}.items()}
        change.add("estimate", EstimateOption(id=next_id(change.job.estimate, "o"), **typed))
    return change.job


def approve(book: Book, number: str, approval: Approval, now: datetime) -> Job:
    """Record what the customer agreed to, or refused.

    It gets its number here. One that names an earlier approval as replaced corrects it, and says why.

    Raises
    ------
    ApprovalError
        If nobody gave it, it lies in the future, or a correction has no reason.
    UnknownItemError
        If its option or the approval that it replaces is not there.
    """
    if not approval.by.strip():
        raise ApprovalError("Who agreed? Write the name of the person, so that it can be shown later.")
    if approval.at > now:
        raise ApprovalError("This approval lies in the future: check its time.")
    if approval.up_to is not None and not (approval.up_to.is_finite() and approval.up_to >= 0):
        raise ApprovalError("The approved amount is below zero: check it.")
    if approval.replaces and not approval.because.strip():
        raise ApprovalError("A correction needs a reason: both entries stay in the record.")
    with changing(book, number) as change:
        if approval.option is not None:
            change.find("estimate", approval.option)
        if approval.replaces is not None:
            change.find("approvals", approval.replaces)
        typed = {field: read_as(f"approvals/{field}", Approval, field, getattr(approval, field),
                                change.job.workshop.currency) for field in ("by", "how", "words", "because")}
        change.append("approval", replace(approval, id=next_id(change.job.approvals, "a"), **typed))
    return change.job


def approve_up_to(book: Book, number: str, amount: str, by: str, now: datetime, *, how: str = "in person",
                  words: str = "", option: str | None = None) -> Job:
    """Record that the customer agreed up to an amount as typed, tax included; nothing typed is without a limit.

    Raises
    ------
    FieldError
        If the amount is none.
    ApprovalError
        If nobody gave it.
    """
    up_to = None
    if amount.strip():
        try:
            up_to = read_money(amount, _currency(book, number))
        except MoneyError as error:
            raise FieldError("approvals/up_to", str(error)) from None
    approval = Approval(id="a0", at=now, by=by.strip(), how=how, up_to=up_to, words=words, option=option)
    return approve(book, number, approval, now)


def refuse(book: Book, number: str, by: str, now: datetime, *, how: str = "in person", words: str = "",
           option: str | None = None) -> Job:
    """Record that the customer refused an option, or any further work."""
    approval = Approval(id="a0", at=now, by=by.strip(), how=how, words=words, option=option, agreed=False)
    return approve(book, number, approval, now)


def _currency(book: Book, number: str) -> str:
    from workshop_log.book import jobs as stored

    with book.read() as session:
        return stored.load_job(session, number).workshop.currency
