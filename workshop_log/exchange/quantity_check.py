"""Whether a text is the quantity that belongs in its place."""

from __future__ import annotations

from functools import lru_cache

from workshop_log.measuring import units
from workshop_log.measuring.entry import Entry, EntryError, read_entry

_A = {"voltage": "a voltage", "current": "a current", "resistance": "a resistance", "area": "a cross-section"}
_EXAMPLES = {"voltage": "12.4 V", "current": "440 mA", "resistance": "4.7 kohm", "length": "3.5 m",
             "area": "1.5 mm2", "power": "21 W", "temperature": "20 °C", "pressure": "2.3 bar", "time": "40 ms"}


@lru_cache(maxsize=4096)
def _read(text: str) -> Entry | str:
    """Return the entry, or why there is none. The same few texts come again and again in a long job."""
    try:
        return read_entry(text)
    except EntryError as error:
        return error.reason


def problem_of_reading(text: str, dimension: str) -> str:
    """Return why the text is no reading of this dimension, "" where it is; any dimension will do where none is named.

    `OL` is a reading, and so are `<0.1 V` and `>30 Mohm`.
    """
    entry = _read(text)
    if isinstance(entry, str):
        return entry
    if dimension and entry.unit and entry.dimension != dimension:
        return (f"“{text}” is {_named(entry.dimension)}, but the step measures {_named(dimension)}: change the unit "
                f"or the kind of step.")
    return ""


def problem_of_quantity(text: str, dimensions: tuple[str, ...], lowest: float | None = None, *,
                        positive: bool = False) -> str:
    """Return why the text is not one plain quantity of these dimensions, not below `lowest`; "" where it is.

    Without dimensions any will do. `lowest` is in the unit as typed, and so zero but for a temperature.
    """
    entry = _read(text)
    if isinstance(entry, str):
        return entry
    if entry.value is None or entry.relation != "=":
        return f"“{text}” is a reading, not a value: write one number with its unit{_example(*dimensions[:1])}."
    if dimensions and entry.dimension not in dimensions:
        wanted = " or ".join(_named(dimension) for dimension in dimensions)
        return f"“{text}” is {_named(entry.dimension)}; here belongs {wanted}{_example(dimensions[0])}."
    if lowest is not None and entry.value < lowest:
        return f"“{text}” is below {lowest:g}, which this cannot be: correct it."
    if positive and entry.value <= 0:
        return f"“{text}” is not above zero, as this must be: correct it."
    return ""


def problem_of_order(low: str, high: str) -> str:
    """Return why two readable quantities are not the low and the high end of one range, "" where they are."""
    lower, upper = _read(low), _read(high)
    if lower.dimension != upper.dimension:
        return f"low is {_named(lower.dimension)} and high {_named(upper.dimension)}: write both in the same unit."
    if lower.value > units.convert(upper.value, upper.unit, lower.unit):
        return f"low ({low}) is above high ({high}): exchange them."
    return ""


def dimension_of(text: str) -> str:
    """Return what a readable quantity measures, "" for an unreadable one and for an over-range reading without unit."""
    entry = _read(text)
    return "" if isinstance(entry, str) or not entry.unit else entry.dimension


def _named(dimension: str) -> str:
    return _A.get(dimension, f"a{'n' if dimension[:1] in 'aeiou' else ''} {dimension}")


def _example(dimension: str = "") -> str:
    example = _EXAMPLES.get(dimension)
    return f", such as {example}" if example else ""
