"""Amounts of money in a job, and how they are found in what people typed.

A number in free text counts as money where a currency, a word of price or a rate stands beside it, or where it is one
of the amounts that the job is known to have. A number with a unit of measurement behind it never does.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from msgspec import UNSET

from workshop_log.exchange.anonymous import Rule
from workshop_log.exchange.records import (
    Approval,
    Charge,
    Condemned,
    Element,
    EstimateOption,
    Job,
    Part,
    Record,
    Workshop,
)

MASK = "[price]"
# The fields that hold money; the tax rate is a percentage.
MONEY_FIELDS: dict[type[Record], tuple[str, ...]] = {
    Workshop: ("labour_rate",), Element: ("price",), Condemned: ("price",), EstimateOption: ("parts", "other"),
    Approval: ("up_to",), Part: ("price", "cost"), Charge: ("amount",),
}
# A whole number below this is a pin, a fuse or a count as often as a price: alone it is left.
_TELLING = 100

# 1,200.50 and 1.200,50 and 1 200; 120.50 and 120,5; 120.- is a way to write a price without pence.
_NUMBER = (r"(?:\d{1,3}(?:[ ,.’'\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}]\d{3})+(?:[.,]\d{1,2})?(?!\d)"
           r"|\d+(?:[.,]\d+)?(?!\d))(?:[.,][-–—])?k?")
_ONE_OR_TWO = rf"{_NUMBER}(?:\s*(?:-|–|—|/|to|and|or)\s*{_NUMBER})?"
_BEFORE = r"(?<![\w.,])"
# What is numbered has the number of a price by chance.
_NOT_NUMBERED = "".join(rf"(?<!{word} )" for word in ("pin", "pins", "fuse", "relay", "terminal", "cavity", "step"))
_SIGNS = r"(?:[A-Z]{0,2}\$|[£€¥₹₺₽₴₩])"
# ISO 4217 codes that a workshop may meet, and what people say for them; some codes are words in small letters.
_CODES = ("GBP|EUR|USD|CHF|PLN|CZK|SEK|NOK|DKK|HUF|BGN|UAH|AUD|NZD|JPY|CNY|INR|ZAR|BRL|MXN|(?-i:TRY|RON|CAD|ISK)|"
          "pounds?|quid|sterling|pence|euros?|dollars?|bucks|francs?|kronor|kroner|kr|zł|zloty|złoty")
_UNITS = (r"[mkµμn]?V|[mkMµμ]?A|Ah|[mkM]?Ω|[kM]?ohms?|[mk]?W|[kM]?Hz|°|C|F|[µμnp]F|%|bar|psi|[mk]?Pa|[cmkµμ]?m|mm2|mm²|"
          r"in|ft|Nm|kg|g|l|litres?|rpm|min|minutes?|h|hrs?|hours?|m?s|seconds?|days?|weeks?|months?|years?|times?|"
          r"turns?|volts?|amps?|amperes?|watts?|degrees?|mi|miles?|percent|pins?|wires?|trials?|movements?")
_NO_UNIT = rf"(?![\s\N{{NO-BREAK SPACE}}]*(?:{_UNITS})(?![^\W\d_]))"
# Not "charge", "limit" or "rated": those are said of batteries and readings as well.
_PRICE_WORDS = (r"costs?|costing|priced?|prices|paid|pays?|quoted?|estimated?|bill(?:ed)?|invoiced?|deposit|"
                r"refund(?:ed)?|discount|vat|labour|worth|budget|approved|agreed|spend|spent|owes?|owed|sold|bought|"
                r"totals?(?=[^\d\n]{0,24}(?:\d[ ,.]?\d{3}|\d{3}|\d+[.,]\d\d(?!\d)))|"
                r"charged?\s+(?:him|her|them|us|me|you|the\s+customer)")
_BETWEEN = (r"is|was|were|are|at|of|about|around|approx|roughly|to|up|us|him|her|them|me|only|just|over|under|nearly|"
            r"the|customer|a|an|now|then|with|for|on|it|be|would|will|came|comes|parts?|rate|price|cost|limit")


def amounts_in(record: Any) -> Iterator[Decimal]:
    """Yield every amount of money in a record and all that is inside it."""
    for field in MONEY_FIELDS.get(type(record), ()):
        value = getattr(record, field)
        if value is not None and value is not UNSET:
            yield value
    for name in record.__struct_fields__:
        value = getattr(record, name)
        for item in value if isinstance(value, tuple) else (value,):
            if isinstance(item, Record):
                yield from amounts_in(item)


def price_rules(job: Job, more: Iterable[Decimal] = ()) -> tuple[Rule, ...]:
    """Return what finds amounts of money in free text.

    Parameters
    ----------
    job : Job
        Whose amounts are known, and whose currency.
    more : Iterable[Decimal]
        Amounts that are worked out from the job's, such as the total of the bill.
    """
    known = frozenset(abs(amount) for amount in (*amounts_in(job), *more))
    codes = rf"(?:{_CODES}|{re.escape(job.workshop.currency)})"
    between = rf"(?:[\s:=,]+(?:{_BETWEEN}))" + r"{0,4}"

    def figure(match: re.Match[str]) -> str:
        text = match[0]
        return MASK if any(value in known and (value != value.to_integral_value() or value >= _TELLING
                                               or re.search(r"[.,]\d", text))
                           for value in _values(text)) else text

    flags = re.IGNORECASE
    return (
        (re.compile(rf"{_SIGNS}\s*-?{_ONE_OR_TWO}"), MASK),
        (re.compile(rf"{_BEFORE}-?{_ONE_OR_TWO}\s*{_SIGNS}"), MASK),
        (re.compile(rf"(?<![^\W\d_]){codes}\s*-?{_ONE_OR_TWO}{_NO_UNIT}", flags), MASK),
        (re.compile(rf"{_BEFORE}-?{_ONE_OR_TWO}\s*{codes}(?![^\W\d_])", flags), MASK),
        (re.compile(rf"{_BEFORE}{_NUMBER}\s*(?:(?:an|a|per)\s+|/\s*)(?:hour|hr|h)(?!\w)", flags), MASK),
        (re.compile(rf"(?<!\w)((?:{_PRICE_WORDS}){between}[\s:=,]+){_ONE_OR_TWO}(?!\w){_NO_UNIT}", flags),
         rf"\1{MASK}"),
        (re.compile(rf"{_BEFORE}{_NOT_NUMBERED}{_NUMBER}(?!\w){_NO_UNIT}", flags), figure),
    )


def _values(text: str) -> Iterator[Decimal]:
    """Yield what a number as typed may mean: 1.200 is twelve hundred here and one and a fifth there."""
    plain = re.sub(r"[^\d.,]", "", text).strip(".,")
    for decimal in (".", ","):
        other = "," if decimal == "." else "."
        digits = plain.replace(other, "").replace(decimal, ".")
        if digits.count(".") <= 1 and digits:
            yield Decimal(digits)
    yield Decimal(re.sub(r"\D", "", plain) or "0")
