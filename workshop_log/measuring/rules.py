"""The rules of thumb: limits that the trade uses without a source.

They are plain data. The table here is what a new book starts with; the book then holds the workshop's own copies,
which it may change, and makes `Rule` records of them again.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from workshop_log import resources
from workshop_log.measuring.ranges import ExpectedRange

COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Rule:
    """One limit on a reading.

    Attributes
    ----------
    id : str
        Stable short name.
    what : str
        What is measured, in the trade's words.
    low, high : float | None
        Limits in `unit`; None where that side has none.
    unit : str
        A unit of the table, with prefix where the trade says it so ("mA").
    condition : str
        Under which conditions it holds.
    source : str
        Where it comes from.
    """

    id: str
    what: str
    low: float | None
    high: float | None
    unit: str
    condition: str = ""
    source: str = COMMON_PRACTICE

    def __post_init__(self) -> None:
        self.expected_range()

    def expected_range(self) -> ExpectedRange:
        """Return the limits as an expected range that says it is a rule of thumb.

        Raises
        ------
        RangeError
            If the rule has no limit, or its limits are in the wrong order.
        UnknownUnitError
            If its unit is unknown.
        """
        condition = f" ({self.condition})" if self.condition else ""
        return ExpectedRange.typed(self.low, self.high, self.unit, f"{self.what}{condition}: {self.source}")


def rule_from_row(row: dict[str, str]) -> Rule:
    """Return the rule that a row of the table, all text, describes."""
    low, high = (float(row[side]) if row[side] else None for side in ("low", "high"))
    return Rule(row["id"], row["what"], low, high, row["unit"], row["condition"], row["source"])


@cache
def rules() -> tuple[Rule, ...]:
    """Return the rules of thumb that a new book starts with."""
    return tuple(rule_from_row(row) for row in resources.table("rules_of_thumb"))


def rule(id: str) -> Rule:  # noqa: A002
    """Return the rule with this id.

    Raises
    ------
    KeyError
        If there is none.
    """
    for found in rules():
        if found.id == id:
            return found
    raise KeyError(id)
