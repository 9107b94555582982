"""Net, tax and gross of a job, what the customer approved, and what would go beyond it.

Decimal throughout. Each line's net amount is rounded half up to the currency's minor unit, because it is printed;
tax is then rounded once more, by the rule that the workshop chose, and nothing is rounded after that.
"""

from __future__ import annotations

import enum
import re
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal, InvalidOperation
from typing import TYPE_CHECKING, Literal

from msgspec.structs import replace

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.records import EstimateOption, Part

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from workshop_log.exchange.records import Approval, Job, TimeLine, Workshop

_HUNDRED = Decimal(100)
_MINUTES_PER_HOUR = Decimal(60)
_LARGEST = Decimal("1e12")

# Digits after the decimal point where they are not two. ISO 4217:2015 list one, from memory, held against CLDR
# (which gives 0 for the Iraqi dinar, as it is used; the standard's 3 stands here).
_MINOR_DIGITS = {
    "CLP": 0, "ISK": 0, "JPY": 0, "KRW": 0, "VND": 0,
    "BHD": 3, "IQD": 3, "JOD": 3, "KWD": 3, "LYD": 3, "OMR": 3, "TND": 3,
    "CLF": 4, "UYW": 4,
}
_USUAL_MINOR_DIGITS = 2
_SYMBOLS = {"GBP": "£", "EUR": "€", "USD": "$", "JPY": "¥"}


class MoneyError(WorkshopLogError, ValueError):
    """What was typed is no amount of money; `text` is what was typed."""

    def __init__(self, text: str, reason: str) -> None:
        self.text = text
        super().__init__(reason)


class TaxRule(enum.Enum):
    """How tax is rounded to the currency's minor unit."""

    # Tax on the net total, half up. Usual; common practice, no source.
    TOTAL_HALF_UP = "total half up"
    # Tax on the net total, rounded down: HMRC Notice 700, 17.5.1, for those who invoice.
    TOTAL_DOWN = "total down"
    # Tax on each line, half up, then added.
    LINE_HALF_UP = "line half up"
    # Tax on each line rounded down to a tenth of the minor unit, the sum then rounded down: HMRC Notice 700, 17.5.2.
    LINE_TENTH_DOWN = "line tenth down"


@dataclass(frozen=True, slots=True)
class BillLine:
    """One line of the bill.

    Attributes
    ----------
    kind : str
        "labour", "part" or "other".
    what : str
        What is charged, as printed.
    quantity : Decimal
        Minutes for labour, else how many.
    price : Decimal | None
        For one hour of labour, or one part; None where nobody said.
    net : Decimal
        Without tax, rounded to the minor unit.
    """

    kind: Literal["labour", "part", "other"]
    what: str
    quantity: Decimal
    price: Decimal | None
    net: Decimal


@dataclass(frozen=True, slots=True)
class Totals:
    """The bill of a job as it stands.

    Attributes
    ----------
    lines : tuple[BillLine, ...]
        In the order of the job: labour, parts, other charges.
    labour_net, parts_net, other_net, net, tax, gross : Decimal
        In `currency`; the gross is what the customer pays.
    tax_rate : Decimal
        Percent of the net amount.
    worked_minutes, billed_minutes : Decimal
        As worked, and as charged; time not decided yet is charged as worked.
    open_questions : tuple[str, ...]
        What is not decided yet, in words; empty when the bill is final.
    """

    lines: tuple[BillLine, ...]
    labour_net: Decimal
    parts_net: Decimal
    other_net: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal
    currency: str
    tax_rate: Decimal
    worked_minutes: Decimal
    billed_minutes: Decimal
    open_questions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OptionTotals:
    """What one option of the estimate comes to."""

    option: EstimateOption
    labour_net: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal


@dataclass(frozen=True, slots=True)
class Approved:
    """What the customer agreed to last; `up_to` is tax included, None is without a limit."""

    up_to: Decimal | None
    by: str
    at: datetime
    how: str
    option: str | None = None


@dataclass(frozen=True, slots=True)
class Beyond:
    """Work that goes beyond what the customer approved.

    Attributes
    ----------
    approved : Decimal | None
        Up to how much was approved, tax included; None when nothing was.
    gross : Decimal
        What the work comes to, tax included.
    words : str
        One sentence for the person at the desk.
    """

    approved: Decimal | None
    gross: Decimal
    words: str


# --- amounts --------------------------------------------------------------------------------------------------------


def minor_digits(currency: str) -> int:
    """Return how many digits a currency has after the decimal point (ISO 4217)."""
    return _MINOR_DIGITS.get(currency, _USUAL_MINOR_DIGITS)


def _minor_unit(currency: str) -> Decimal:
    return Decimal(1).scaleb(-minor_digits(currency))


def round_money(amount: Decimal, currency: str) -> Decimal:
    """Return the amount rounded half up, away from zero, to the currency's minor unit."""
    return amount.quantize(_minor_unit(currency), ROUND_HALF_UP) + Decimal(0)


def round_tax(nets: Iterable[Decimal], rate: Decimal, rule: TaxRule, currency: str = "GBP") -> Decimal:
    """Return the tax on the net amounts of a bill's lines.

    A discount is a line below zero; rounding is symmetrical about zero, so that a line and its refund cancel.

    Parameters
    ----------
    nets : Iterable[Decimal]
        Net amount of each line.
    rate : Decimal
        Percent.
    rule : TaxRule
        How to round.
    currency : str
        Decides the minor unit.

    References
    ----------
    .. [1] HMRC, Notice 700 The VAT guide, 17.5.1 and 17.5.2 (VATREC12010).
    """
    minor = _minor_unit(currency)
    taxes = [net * rate / _HUNDRED for net in nets]
    match rule:
        case TaxRule.TOTAL_HALF_UP:
            tax = sum(taxes, Decimal(0)).quantize(minor, ROUND_HALF_UP)
        case TaxRule.TOTAL_DOWN:
            tax = sum(taxes, Decimal(0)).quantize(minor, ROUND_DOWN)
        case TaxRule.LINE_HALF_UP:
            tax = sum((part.quantize(minor, ROUND_HALF_UP) for part in taxes), Decimal(0)).quantize(minor)
        case TaxRule.LINE_TENTH_DOWN:
            tenths = (part.quantize(minor / 10, ROUND_DOWN) for part in taxes)
            tax = sum(tenths, Decimal(0)).quantize(minor, ROUND_DOWN)
    return tax + Decimal(0)


def contained_tax(gross: Decimal, rate: Decimal, currency: str = "GBP") -> Decimal:
    """Return the tax contained in a gross amount: gross · rate / (100 + rate), half up."""
    return round_money(gross * rate / (_HUNDRED + rate), currency)


def show_money(amount: Decimal | str | int, currency: str) -> str:
    """Return an amount as it is printed: "£1,234.50"; a currency without a sign of its own: "1,234.50 CHF"."""
    value = round_money(Decimal(amount), currency)
    sign = "−" if value < 0 else ""
    number = f"{abs(value):,.{minor_digits(currency)}f}"
    symbol = _SYMBOLS.get(currency)
    return f"{sign}{symbol}{number}" if symbol else f"{sign}{number}\u00a0{currency}"


def read_money(text: str, currency: str = "GBP") -> Decimal:
    """Read an amount that a person typed: `18.40`, `£18.40`, `18,40`, `1,234.50`.

    Raises
    ------
    MoneyError
        If it is no amount, or could mean two, or has more digits than the currency.
    """
    plain = text.strip()
    for sign in (currency, _SYMBOLS.get(currency, currency)):
        plain = plain.removeprefix(sign).removesuffix(sign).strip()
    plain = plain.replace("−", "-")
    if re.fullmatch(r"-?\d{1,3}(,\d{3})+(\.\d+)?", plain, re.ASCII):
        if "." not in plain and plain.count(",") == 1:
            raise MoneyError(text, f"“{plain}” could mean thousands or a decimal comma: write {plain.replace(',', '')} "
                                   f"or {plain.replace(',', '.')}.")
        plain = plain.replace(",", "")
    elif re.fullmatch(r"-?\d+,\d+", plain, re.ASCII):
        plain = plain.replace(",", ".")
    if not re.fullmatch(r"-?(\d+(\.\d*)?|\.\d+)", plain, re.ASCII):
        raise MoneyError(text, f"“{text.strip()}” is not an amount of money: write for example 18.40.")
    try:
        amount = Decimal(plain)
    except InvalidOperation:
        raise MoneyError(text, f"“{text.strip()}” is not an amount of money: write for example 18.40.") from None
    if abs(amount) >= _LARGEST:
        raise MoneyError(text, f"“{text.strip()}” is more than any bill: check the digits.")
    digits = minor_digits(currency)
    if amount != amount.quantize(_minor_unit(currency), ROUND_DOWN):
        raise MoneyError(text, f"“{text.strip()}” has more than {digits} digits after the decimal point: "
                               f"{currency} has no smaller amount.")
    return amount


# --- the bill -------------------------------------------------------------------------------------------------------


def worked_minutes(line: TimeLine, now: datetime | None = None) -> Decimal:
    """Return the minutes worked in a time line; a running one counts until `now`, or not at all."""
    end = line.end or now
    if end is None or end <= line.start:
        return Decimal(0)
    worked = end - line.start
    return (Decimal(worked.days * 86400 + worked.seconds) / _MINUTES_PER_HOUR).quantize(Decimal("0.01"))


def billed_minutes(line: TimeLine, now: datetime | None = None) -> Decimal:
    """Return the minutes charged for a time line: as decided, or the whole minutes worked where nobody decided yet."""
    if line.billed_minutes is not None:
        return Decimal(str(line.billed_minutes))
    return worked_minutes(line, now).quantize(Decimal(1), ROUND_HALF_UP)


def _labour_net(minutes: Decimal, workshop: Workshop) -> Decimal:
    rate = workshop.labour_rate or Decimal(0)
    return round_money(minutes * rate / _MINUTES_PER_HOUR, workshop.currency)


def _labour_lines(job: Job, now: datetime | None) -> list[BillLine]:
    """Add up the time lines by what was done, in the order in which it was begun."""
    minutes: dict[str, Decimal] = {}
    for line in job.clock:
        what = line.what.strip() or "Labour"
        minutes[what] = minutes.get(what, Decimal(0)) + billed_minutes(line, now)
    return [BillLine("labour", what, total, job.workshop.labour_rate, _labour_net(total, job.workshop))
            for what, total in minutes.items()]


def _part_lines(job: Job) -> list[BillLine]:
    """Return the parts that are charged: all that were not returned."""
    return [
        BillLine("part", part.name, part.quantity, part.price,
                 round_money(part.quantity * (part.price or Decimal(0)), job.workshop.currency))
        for part in job.parts if part.returned is None
    ]


def totals(job: Job, now: datetime | None = None) -> Totals:
    """Return the bill of a job as it stands.

    Parameters
    ----------
    job : Job
        With the workshop's rates that apply to it.
    now : datetime, optional
        Until when a running time line counts; without it such a line counts nothing.
    """
    currency = job.workshop.currency
    lines = [*_labour_lines(job, now), *_part_lines(job)]
    lines += [BillLine("other", charge.what, Decimal(1), charge.amount, round_money(charge.amount, currency))
              for charge in job.charges]
    net, tax, gross = _net_tax_gross([line.net for line in lines], job.workshop)

    def of(kind: str) -> Decimal:
        return round_money(sum((line.net for line in lines if line.kind == kind), Decimal(0)), currency)

    return Totals(
        lines=tuple(lines), labour_net=of("labour"), parts_net=of("part"), other_net=of("other"),
        net=net, tax=tax, gross=gross, currency=currency, tax_rate=job.workshop.tax_rate,
        worked_minutes=sum((worked_minutes(line, now) for line in job.clock), Decimal(0)),
        billed_minutes=sum((billed_minutes(line, now) for line in job.clock), Decimal(0)),
        open_questions=_open_questions(job),
    )


def _net_tax_gross(nets: list[Decimal], workshop: Workshop) -> tuple[Decimal, Decimal, Decimal]:
    net = round_money(sum(nets, Decimal(0)), workshop.currency)
    tax = round_tax(nets, workshop.tax_rate, TaxRule(workshop.tax_rule), workshop.currency)
    return net, tax, net + tax


def _open_questions(job: Job) -> tuple[str, ...]:
    questions = []
    running = [line.person for line in job.clock if line.end is None]
    if running:
        questions.append(f"The clock is still running for {', '.join(running)}.")
    undecided = sum(line.billed_minutes is None and line.end is not None for line in job.clock)
    if undecided:
        lines = "1 time line is" if undecided == 1 else f"{undecided} time lines are"
        questions.append(f"{lines} not decided: charged as worked until then.")
    if job.clock and job.workshop.labour_rate is None:
        questions.append("There is no labour rate: type one, or labour is charged nothing.")
    questions += [f"{part.name} has no price yet."
                  for part in job.parts if part.price is None and part.returned is None]
    return tuple(questions)


def option_totals(option: EstimateOption, workshop: Workshop) -> OptionTotals:
    """Return what an option of the estimate comes to, tax included."""
    labour = _labour_net(Decimal(str(option.labour_minutes)), workshop)
    nets = _option_nets(option, workshop)
    net, tax, gross = _net_tax_gross(nets, workshop)
    return OptionTotals(option, labour, net, tax, gross)


def _option_nets(option: EstimateOption, workshop: Workshop) -> list[Decimal]:
    labour = _labour_net(Decimal(str(option.labour_minutes)), workshop)
    return [labour, round_money(option.parts, workshop.currency), round_money(option.other, workshop.currency)]


def gross_with(job: Job, option: EstimateOption, now: datetime | None = None) -> Decimal:
    """Return what the whole job comes to, tax included, with an option on top of the bill so far."""
    nets = [line.net for line in totals(job, now).lines] + _option_nets(option, job.workshop)
    return _net_tax_gross(nets, job.workshop)[2]


# --- approvals ------------------------------------------------------------------------------------------------------


def standing_approvals(job: Job) -> tuple[Approval, ...]:
    """Return the approvals and refusals that no later entry corrects, oldest first."""
    replaced = {approval.replaces for approval in job.approvals if approval.replaces}
    return tuple(sorted((a for a in job.approvals if a.id not in replaced), key=lambda a: a.at))


def approved(job: Job) -> Approved | None:
    """Return what the customer agreed to last, or None.

    Each approval says up to how much the whole job may cost, so the last one counts and they are not added.
    """
    agreed = [approval for approval in standing_approvals(job) if approval.agreed]
    if not agreed:
        return None
    last = agreed[-1]
    return Approved(last.up_to, last.by, last.at, last.how, last.option)


def has_refusal_only(job: Job) -> bool:
    """Return whether the customer refused and agreed to nothing."""
    standing = standing_approvals(job)
    return bool(standing) and not any(approval.agreed for approval in standing)


def needs_approval(job: Job) -> bool:
    """Return whether an estimate was made and nobody has agreed to any of it, nor refused it.

    An approval given at the desk before there was an estimate is enough if it covers the cheapest option.
    """
    if not job.estimate or has_refusal_only(job):
        return False
    options = {option.id for option in job.estimate}
    cheapest = min(option_totals(option, job.workshop).gross for option in job.estimate)
    decided_options = {a.option for a in standing_approvals(job) if not a.agreed and a.option}
    if decided_options >= options:
        return False
    return not any(
        a.agreed and (a.option in options or a.up_to is None or a.up_to >= cheapest) for a in standing_approvals(job))


def beyond_approval(job: Job, now: datetime | None = None) -> Beyond | None:
    """Return how the bill as it stands goes beyond the approval, or None.

    Testing without any approval is not flagged; a part ordered or fitted without one is.
    """
    gross = totals(job, now).gross
    if approved(job) is None:
        begun = [part.name for part in job.parts if part.returned is None and (part.ordered or part.fitted)]
        if not begun:
            return None
    return _beyond(job, gross, "The work so far comes to")


def would_exceed(job: Job, planned: EstimateOption | Part, now: datetime | None = None) -> Beyond | None:
    """Return how starting an option, or ordering a part, would go beyond the approval, or None.

    An option comes on top of the bill so far; a part that already stands in the job is on the bill already.
    """
    if isinstance(planned, EstimateOption):
        refused = [a for a in standing_approvals(job) if a.option == planned.id]
        if refused and not refused[-1].agreed:
            gross = option_totals(planned, job.workshop).gross
            last = approved(job)
            return Beyond(last.up_to if last else None, gross, f"{refused[-1].by} refused “{planned.title}”.")
        gross = gross_with(job, planned, now)
        return _beyond(job, gross, f"With “{planned.title}” the job comes to")
    others = tuple(part for part in job.parts if part.id != planned.id)
    gross = totals(replace(job, parts=(*others, replace(planned, returned=None))), now).gross
    return _beyond(job, gross, f"With {planned.name} the job comes to")


def _beyond(job: Job, gross: Decimal, start: str) -> Beyond | None:
    currency, last = job.workshop.currency, approved(job)
    if last is None:
        return Beyond(None, gross, f"{start} {show_money(gross, currency)}, and nothing is approved yet: ask first.")
    if last.up_to is None or gross <= last.up_to:
        return None
    over = show_money(gross - last.up_to, currency)
    return Beyond(last.up_to, gross, f"{start} {show_money(gross, currency)}, {over} more than the "
                                     f"{show_money(last.up_to, currency)} that {last.by} approved: ask first.")
