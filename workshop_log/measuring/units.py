"""The units that a reading can have: one small table for plain floats, one pint registry for quantities.

Reading and judging what a person typed needs neither pint nor its second of loading: the table here knows
each unit's dimension, its factor and how it is written. A test holds every factor equal to pint's.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pint import Quantity, UnitRegistry

# Powers of ten of the SI prefixes that instruments show.
PREFIXES = {"p": -12, "n": -9, "µ": -6, "m": -3, "": 0, "k": 3, "M": 6, "G": 9}


class UnknownUnitError(WorkshopLogError, ValueError):
    """A unit that is not in the table; `unit` is what was asked for."""

    def __init__(self, unit: str) -> None:
        self.unit = unit
        super().__init__(f"“{unit}” is not a unit known here: write one such as V, mA, ohm, °C or mm.")


class UnitMismatchError(WorkshopLogError, ValueError):
    """Two units of different dimensions met; `expected` and `got` are their canonical spellings."""

    def __init__(self, expected: str, got: str) -> None:
        self.expected = expected
        self.got = got
        super().__init__(
            f"A reading in {unit_words(got)} cannot be compared with {unit_words(expected)}: "
            "change the unit or the step."
        )


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit in its canonical spelling.

    Attributes
    ----------
    name : str
        Canonical spelling, as it stands in the job file after the prefix.
    dimension : str
        What it measures: "voltage", "length", ...
    pint_name : str
        The same unit in pint's words.
    factor, offset : float
        Value in the base unit of the dimension = value * factor + offset.
    prefixes : str
        SI prefixes that are folded into the number, blank for none ("_" stands for no prefix). A unit with
        prefixes is kept without one: 440 mA is 0.44 A.
    symbol : str
        How it is shown after the prefix.
    spellings : tuple[str, ...]
        Other ways in which people write it.
    """

    name: str
    dimension: str
    pint_name: str
    factor: float = 1.0
    offset: float = 0.0
    prefixes: str = "_"
    symbol: str = ""
    spellings: tuple[str, ...] = ()

    @property
    def shown(self) -> str:
        """The symbol on screen and paper."""
        return self.symbol or self.name

    @property
    def prefix_list(self) -> tuple[str, ...]:
        """The allowed prefixes from small to large."""
        return tuple("" if letter == "_" else letter for letter in self.prefixes)


_INCH_M = 0.0254
_FOOT_M = 0.3048
_MILE_M = 1609.344
_POUND_FORCE_N = 4.4482216152605
_PSI_PA = _POUND_FORCE_N / _INCH_M**2
_INCH_OF_MERCURY_PA = 3386.38864034114  # mercury at 0 °C: 13595.1 kg/m³ times standard gravity times one inch
_FAHRENHEIT_ZERO_C = -32 / 1.8
_MINUTE_S, _HOUR_S, _DAY_S = 60.0, 3600.0, 86400.0

# The first unit of a dimension is its base unit. Mega stops at ohm and hertz: "440 MA" at a vehicle is a slip of the
# shift key, and an unknown unit says so where four hundred million amperes would not.
UNITS = (
    Unit("V", "voltage", "volt", prefixes="µm_k", spellings=("v", "volt", "volts", "Volt", "Volts")),
    Unit("A", "current", "ampere", prefixes="nµm_k",
         spellings=("a", "amp", "amps", "Amp", "Amps", "ampere", "amperes")),
    Unit("ohm", "resistance", "ohm", prefixes="µm_kMG", symbol="Ω",
         spellings=("Ω", "ohms", "Ohm", "Ohms", "OHM", "OHMS", "R")),
    Unit("Hz", "frequency", "hertz", prefixes="_kMG", spellings=("hz", "HZ", "hertz", "Hertz")),
    Unit("W", "power", "watt", prefixes="µm_k", spellings=("w", "watt", "watts", "Watt", "Watts")),
    Unit("F", "capacitance", "farad", prefixes="pnµm_", spellings=("farad",)),
    Unit("H", "inductance", "henry", prefixes="nµm_", spellings=("henry",)),
    Unit("Ah", "charge", "ampere_hour", prefixes="m_", spellings=("ah", "AH", "A h", "amp hours", "amp-hours")),
    Unit("Wh", "energy", "watt_hour", prefixes="_k", spellings=("wh", "WH", "W h")),
    Unit("m", "length", "metre", spellings=("metre", "metres", "meter", "meters")),
    Unit("mm", "length", "millimetre", 1e-3, spellings=("millimetre", "millimetres")),
    Unit("cm", "length", "centimetre", 1e-2),
    Unit("µm", "length", "micrometre", 1e-6, spellings=("um", "micron", "microns")),
    Unit("km", "length", "kilometre", 1e3, spellings=("kms", "KM")),
    Unit("in", "length", "inch", _INCH_M, spellings=("inch", "inches", '"', "″")),
    Unit("ft", "length", "foot", _FOOT_M, spellings=("foot", "feet")),
    Unit("mi", "length", "mile", _MILE_M, spellings=("mile", "miles")),
    Unit("m2", "area", "metre**2", symbol="m²", spellings=("m²",)),
    Unit("mm2", "area", "millimetre**2", 1e-6, symbol="mm²", spellings=("mm²", "mm^2", "sq mm", "sqmm")),
    Unit("cm2", "area", "centimetre**2", 1e-4, symbol="cm²", spellings=("cm²", "cm^2")),
    Unit("L", "volume", "litre", spellings=("l", "litre", "litres", "liter", "liters")),
    Unit("mL", "volume", "millilitre", 1e-3, spellings=("ml",)),
    Unit("Pa", "pressure", "pascal", spellings=("pa",)),
    Unit("hPa", "pressure", "hectopascal", 1e2),
    Unit("kPa", "pressure", "kilopascal", 1e3, spellings=("kpa", "KPA", "KPa")),
    Unit("MPa", "pressure", "megapascal", 1e6),
    Unit("bar", "pressure", "bar", 1e5, spellings=("Bar", "BAR", "bars")),
    Unit("mbar", "pressure", "millibar", 1e2),
    Unit("psi", "pressure", "psi", _PSI_PA, spellings=("PSI", "Psi", "lbf/in2")),
    Unit("inHg", "pressure", "inch_Hg", _INCH_OF_MERCURY_PA, spellings=("in Hg", "inhg")),
    Unit("°C", "temperature", "degC", spellings=("C", "degC", "deg C", "° C", "℃", "ºC", "c", "°c", "celsius")),
    Unit("°F", "temperature", "degF", 1 / 1.8, _FAHRENHEIT_ZERO_C, spellings=("degF", "deg F", "° F", "℉", "ºF", "°f")),
    Unit("%", "ratio", "percent", spellings=("percent", "per cent", "pct")),
    Unit("s", "time", "second", spellings=("sec", "secs", "second", "seconds")),
    Unit("ms", "time", "millisecond", 1e-3),
    Unit("µs", "time", "microsecond", 1e-6, spellings=("us",)),
    Unit("min", "time", "minute", _MINUTE_S, spellings=("mins", "minute", "minutes")),
    Unit("h", "time", "hour", _HOUR_S, spellings=("hr", "hrs", "hour", "hours")),
    Unit("d", "time", "day", _DAY_S, spellings=("day", "days")),
    Unit("rpm", "rotational speed", "rpm", spellings=("RPM", "Rpm", "1/min", "r/min", "rev/min")),
    Unit("N m", "torque", "newton*metre", spellings=("Nm", "N·m", "N.m", "nm", "NM")),
    Unit("lbf ft", "torque", "force_pound*foot", _POUND_FORCE_N * _FOOT_M,
         spellings=("lb ft", "lb-ft", "lbft", "ft lb", "ft-lb", "ftlb", "ft lbf", "lbf-ft")),
    Unit("N", "force", "newton"),
    Unit("kg", "mass", "kilogram", spellings=("Kg", "KG", "kilo", "kilos")),
    Unit("g", "mass", "gram", 1e-3, spellings=("gram", "grams")),
    Unit("km/h", "speed", "kilometre/hour", spellings=("kph", "kmh", "KPH")),
    Unit("mph", "speed", "mile/hour", _MILE_M / 1e3, spellings=("MPH", "mi/h")),
    Unit("°", "angle", "degree", spellings=("deg", "degree", "degrees", "º")),
    Unit("g/cm3", "density", "gram/centimetre**3", symbol="g/cm³", spellings=("g/cm³", "kg/L", "kg/l", "g/ml")),
)

UNIT = {unit.name: unit for unit in UNITS}
_PREFIX_SPELLINGS = {"µ": ("µ", "u"), "k": ("k", "K"), "M": ("M", "meg", "Meg", "mega")}


def _spellings() -> Iterator[tuple[str, tuple[Unit, str]]]:
    """Yield every accepted spelling with its unit and prefix; a later one never replaces an earlier one."""
    for unit in UNITS:
        for prefix in unit.prefix_list:
            for written_prefix in _PREFIX_SPELLINGS.get(prefix, (prefix,)):
                for name in (unit.name, *unit.spellings):
                    yield written_prefix + name, (unit, prefix)
                    if written_prefix:
                        yield f"{written_prefix} {name}", (unit, prefix)


def _spelling_table() -> dict[str, tuple[Unit, str]]:
    # Canonical names go first, so that "m" is the metre and "F" the farad whatever else could be written so.
    spelled = {unit.name: (unit, "") for unit in UNITS}
    for text, meaning in _spellings():
        spelled.setdefault(text, meaning)
    return spelled


SPELLED = _spelling_table()


def find_unit(text: str) -> tuple[Unit, str]:
    """Return the unit that `text` spells and the prefix to be folded into the number.

    Raises
    ------
    UnknownUnitError
        If nothing in the table is spelled so.
    """
    try:
        return SPELLED[text]
    except KeyError:
        raise UnknownUnitError(text) from None


def dimension_of(unit: str) -> str:
    """Return what the unit measures; an empty unit measures nothing known."""
    return find_unit(unit)[0].dimension if unit else ""


def base_unit(dimension: str) -> str:
    """Return the unit in which bare floats of this dimension are given between the packages."""
    for unit in UNITS:
        if unit.dimension == dimension:
            return unit.name
    raise UnknownUnitError(dimension)


def unit_words(unit: str) -> str:
    """Return the unit's symbol with its dimension, for a sentence: "Ω (resistance)"."""
    if unit not in UNIT:
        return f"“{unit}”"
    return f"{UNIT[unit].shown} ({UNIT[unit].dimension})"


def scale(from_unit: str, to_unit: str) -> float:
    """Return the factor for differences and uncertainties between two units of one dimension."""
    (start, start_prefix), (end, end_prefix) = find_unit(from_unit), find_unit(to_unit)
    if start.dimension != end.dimension:
        raise UnitMismatchError(end.name, start.name)
    return start.factor / end.factor * 10.0 ** (PREFIXES[start_prefix] - PREFIXES[end_prefix])


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Return the value in another unit of the same dimension.

    Raises
    ------
    UnitMismatchError
        If the two units measure different things.
    """
    if from_unit == to_unit:
        return value
    start, end = find_unit(from_unit)[0], find_unit(to_unit)[0]
    return value * scale(from_unit, to_unit) + (start.offset - end.offset) / end.factor


_registry_lock = threading.Lock()
_registry: UnitRegistry | None = None


def registry() -> UnitRegistry:
    """Return the program's one pint registry, made on first use.

    Quantities of two registries refuse to combine, hence the lock. Text that a person typed never reaches the
    registry's expression parser: only the unit names of the table here do.
    """
    global _registry
    with _registry_lock:
        if _registry is None:
            _registry = _make_registry()
        return _registry


def _make_registry() -> UnitRegistry:
    import pint

    folder = _cache_folder()
    if folder is not None:
        try:
            return pint.UnitRegistry(cache_folder=folder)
        except OSError:
            pass  # A cache that cannot be used costs a fifth of a second, nothing else.
    return pint.UnitRegistry()


def _cache_folder() -> Path | None:
    """Return the folder for pint's parsed definitions, or None where none can be written."""
    import os

    import platformdirs

    folder = platformdirs.user_cache_path("workshop-log", appauthor=False) / "units"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return folder if os.access(folder, os.W_OK) else None


def quantity(value: float, unit: str) -> Quantity:
    """Return the pint quantity of a value in one of the table's units."""
    found, prefix = find_unit(unit)
    return registry().Quantity(value * 10.0 ** PREFIXES[prefix], found.pint_name)


def value_in(amount: Quantity, unit: str) -> float:
    """Return a pint quantity as a float in one of the table's units."""
    found, prefix = find_unit(unit)
    return float(amount.to(found.pint_name).magnitude) / 10.0 ** PREFIXES[prefix]
