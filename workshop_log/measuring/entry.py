"""What a person types as a reading, read once and kept as typed.

Only plain floats here: a reading is taken in and judged without loading pint.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from workshop_log.errors import WorkshopLogError
from workshop_log.measuring import units
from workshop_log.measuring.showing import MINUS, NO_BREAK_SPACE, plain_text, show, show_entry
from workshop_log.measuring.units import PREFIXES, UNIT, Unit

if TYPE_CHECKING:
    from pint import Quantity

# Reading and showing are used together nearly everywhere, so both can be had from here.
__all__ = ["MINUS", "NO_BREAK_SPACE", "Entry", "EntryError", "Relation", "plain_text", "read_entry", "show",
           "show_entry"]

Relation = Literal["=", "<", ">", "over range"]

MAX_TEXT_LENGTH = 60
# A float keeps 15 decimal digits exactly; no instrument at a vehicle shows more than seven.
MAX_DIGITS = 15
MAX_EXPONENT = 30
# Far above any reading (gigaohms) and any odometer, in the unit itself.
MAX_VALUE = 1e15

# Different characters that people and keyboards use for the same thing, before reading.
_SAME = str.maketrans({
    MINUS: "-", "\u2010": "-", "\u2011": "-", "\u2013": "-",
    "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\t": " ",
    "\u03bc": "µ", "\u2126": "Ω", "\u2264": "<", "\u2265": ">",
})
_OVER_RANGE = re.compile(r"(?:O\.?L\.?|\.OL)(?![A-Za-z])\s*(?P<unit>.*)", re.IGNORECASE | re.ASCII)
_NUMBER = re.compile(r"(?P<sign>[+-]?)\s*(?P<body>[\d.,]+)(?:[eE](?P<exponent>[+-]?\d+))?\s*(?P<unit>.*)", re.ASCII)
# 4k7, 4R7, 1M2, R47: the letter stands where the decimal point would.
_LETTER_AS_POINT = re.compile(r"(?P<sign>[+-]?)(?P<whole>\d*)(?P<letter>[RrkKM])(?P<part>\d+)\s*(?P<unit>.*)", re.ASCII)
_LETTER_PREFIX = {"R": "", "r": "", "k": "k", "K": "k", "M": "M"}
_FRACTION = re.compile(r"(\d+) +(\d+)/(\d+) *(.*)|(\d+)/(\d+) *(.*)", re.ASCII)


class EntryError(WorkshopLogError, ValueError):
    """What was typed is not a reading.

    Attributes
    ----------
    text : str
        What was typed.
    reason : str
        One sentence: what is wrong and how to write it.
    """

    def __init__(self, text: str, reason: str) -> None:
        self.text = text
        self.reason = reason
        super().__init__(reason)


@dataclass(frozen=True, slots=True)
class Entry:
    """A reading as typed and what it means.

    Attributes
    ----------
    text : str
        As typed.
    value : float | None
        In `unit`; None when the instrument was over range.
    unit : str
        Canonical; electrical units and hertz without prefix. Empty only for an over-range reading typed
        where no unit was known.
    resolution : float
        One count of the last digit typed, in `unit`; 0 when over range.
    relation : Relation
        Whether the value is the reading, or the reading lies below or above it, or beyond the instrument's range.
    prefix : str
        The SI prefix typed ("m" in 440 mA).
    decimals : int
        Digits after the decimal point were the value written without prefix; negative where the last digit
        typed stands for tens or more (4k7: -2).
    """

    text: str
    value: float | None
    unit: str
    resolution: float
    relation: Relation = "="
    prefix: str = ""
    decimals: int = 0

    def __post_init__(self) -> None:
        if (self.value is None) != (self.relation == "over range"):
            raise ValueError("An entry has a value unless it is over range.")
        if self.value is not None and not (math.isfinite(self.value) and self.resolution > 0):
            raise ValueError("An entry's value is finite and its resolution positive.")

    @property
    def is_over_range(self) -> bool:
        """Whether the instrument showed OL."""
        return self.relation == "over range"

    @property
    def dimension(self) -> str:
        """What was measured: "voltage", "resistance", "length", ..."""
        return units.dimension_of(self.unit)

    @property
    def quantity(self) -> Quantity:
        """The value as a pint quantity.

        Raises
        ------
        ValueError
            If the reading is over range and so has no value.
        """
        if self.value is None:
            raise ValueError("An over-range reading has no value.")
        return units.quantity(self.value, self.unit)


# A job's readings, limits and ranges are read anew whenever one of them changes.
@lru_cache(maxsize=4096)
def read_entry(text: str, *, usual_unit: str | None = None) -> Entry:
    """Read what a person typed.

    Parameters
    ----------
    text : str
        For example `12.4 V`, `440mA`, `4k7`, `< 0.1 V`, `OL`.
    usual_unit : str, optional
        The unit meant where none is typed. A different unit that is typed wins; compare `Entry.dimension`.

    Raises
    ------
    EntryError
        If the text is no reading or could mean two things; its `reason` says how to write it.
    UnknownUnitError
        If the caller's `usual_unit` is unknown.
    """
    usual = units.find_unit(usual_unit) if usual_unit else None
    if len(text) > MAX_TEXT_LENGTH:
        raise EntryError(text, f"A reading has at most {MAX_TEXT_LENGTH} characters: put remarks into the note.")
    line = text.translate(_SAME).strip()
    if not line:
        raise EntryError(text, "Type a reading, for example 12.4 V or OL.")

    over = _OVER_RANGE.fullmatch(line)
    if over:
        unit, prefix = _unit_typed(text, over["unit"], usual) if over["unit"] or usual else (None, "")
        return Entry(text, None, unit.name if unit else "", 0.0, "over range", prefix)

    relation: Relation = "="
    if line[0] in "<>":
        relation = "<" if line[0] == "<" else ">"
        line = line[1:].removeprefix("=").lstrip()

    letter = _LETTER_AS_POINT.fullmatch(line)
    if letter:
        return _entry_with_letter(text, letter, relation)
    number = _NUMBER.fullmatch(line)
    if not number:
        raise EntryError(text, _why_no_number(line))
    return _entry_with_point(text, number, relation, usual)


def _entry_with_point(text: str, number: re.Match[str], relation: Relation, usual: tuple[Unit, str] | None) -> Entry:
    whole, part = _whole_and_part(text, number["body"])
    unit, prefix = _unit_typed(text, number["unit"], usual, after=number["body"])
    return _entry(text, number["sign"], (whole, part), number["exponent"] or "0", (unit, prefix), relation)


def _entry_with_letter(text: str, letter: re.Match[str], relation: Relation) -> Entry:
    """Read the resistor notation; a unit after it may only be the ohm."""
    ohm = UNIT["ohm"]
    if letter["unit"] and units.SPELLED.get(letter["unit"]) != (ohm, ""):
        raise EntryError(text, f"{letter[0].removesuffix(letter['unit']).strip()} means ohms: write the number with a "
                               f"decimal point before another unit.")
    whole = letter["whole"] or "0"
    return _entry(text, letter["sign"], (whole, letter["part"]), "0", (ohm, _LETTER_PREFIX[letter["letter"]]), relation)


def _entry(text: str, sign: str, digits: tuple[str, str], exponent: str, unit: tuple[Unit, str],
           relation: Relation) -> Entry:
    whole, part = digits
    if len((whole + part).lstrip("0")) > MAX_DIGITS:
        raise EntryError(text, f"A reading has at most {MAX_DIGITS} digits: type those that the instrument shows.")
    # Long before int() refuses an exponent of thousands of digits.
    if len(exponent) > len("-") + len(str(MAX_EXPONENT)) or abs(int(exponent)) > MAX_EXPONENT:
        raise EntryError(text, f"The power of ten in “{text.strip()}” is beyond any instrument: check the exponent.")
    power = int(exponent) + PREFIXES[unit[1]]
    # One conversion of decimal text, so that 440 mA is exactly the float 0.44.
    value = float(f"{sign}{whole}.{part}e{power}")
    if abs(value) > MAX_VALUE:
        raise EntryError(text, f"“{text.strip()}” is larger than any reading: check the digits.")
    decimals = len(part) - power
    # Minus zero is what some meters show; it is zero.
    return Entry(text, value + 0.0, unit[0].name, float(f"1e{-decimals}"), relation, unit[1], decimals)


def _whole_and_part(text: str, body: str) -> tuple[str, str]:
    """Split the digits at the decimal point or comma and refuse what could mean two numbers."""
    if body.isdigit():
        return body, ""
    points, commas = body.count("."), body.count(",")
    if points and commas:
        plain = body.replace(",", "") if body.rfind(".") > body.rfind(",") else body.replace(".", "").replace(",", ".")
        raise EntryError(text, f"“{body}” mixes point and comma: write {plain}, without a separator for thousands."
                         if plain.count(".") == 1 else f"“{body}” is not one number: write one decimal point at most.")
    if points + commas > 1:
        raise EntryError(text, f"“{body}” has more than one decimal point: write one at most.")
    whole, part = body.replace(",", ".").split(".")
    if not whole and not part:
        raise EntryError(text, "There are no digits in it: write for example 12.4 V.")
    if commas and len(part) == 3 and whole.strip("0"):
        raise EntryError(text, f"“{body}” could mean {whole}{part} or {whole}.{part}: write one of these.")
    return whole or "0", part


def _unit_typed(text: str, typed: str, usual: tuple[Unit, str] | None, after: str = "") -> tuple[Unit, str]:
    """Return the unit and prefix typed after a number, or the usual one where nothing is typed."""
    found = units.SPELLED.get(typed)
    if found:
        return found
    if not typed:
        if usual is None:
            raise EntryError(text, f"“{text.strip()}” has no unit: write it behind the number, as in {after} V.")
        return usual
    if typed in ("k", "K", "M"):
        unit = usual[0] if usual and _LETTER_PREFIX[typed] in usual[0].prefix_list else UNIT["ohm"]
        return unit, _LETTER_PREFIX[typed]
    raise EntryError(text, _why_no_unit(typed, after))


def _why_no_unit(typed: str, after: str) -> str:
    fraction = _FRACTION.fullmatch(f"{after} {typed}") or _FRACTION.fullmatch(after + typed)
    if fraction:
        return _fraction_reason(fraction)
    if typed[0].isdigit() or typed[0] in "+-.,":
        return f"“{after} {typed}” is more than one number: write one number without spaces in it, then the unit."
    return f"“{typed}” is not a unit known here: write one such as V, mA, ohm, °C, bar or mm."


def _why_no_number(line: str) -> str:
    fraction = _FRACTION.fullmatch(line)
    if fraction:
        return _fraction_reason(fraction)
    if line.lower() in ("nan", "inf", "infinity", "-inf", "-infinity", "∞"):
        return f"“{line}” is not a reading: write OL when the instrument was over range."
    return f"“{line}” does not begin with a number: write for example 12.4 V or OL."


def _fraction_reason(fraction: re.Match[str]) -> str:
    whole, upper, lower, unit = fraction.group(1, 2, 3, 4) if fraction[1] else ("0", *fraction.group(5, 6, 7))
    if not int(lower):
        return "A fraction with nothing below the line is no number: write the reading as a decimal number."
    decimal = f"{Decimal(int(whole)) + Decimal(int(upper)) / Decimal(int(lower)):.6g}"
    unit = f" {unit}" if unit in units.SPELLED else ""
    return f"Fractions are not read, because their last digit is not known: write {decimal}{unit}."
