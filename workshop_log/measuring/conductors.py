"""The resistance of a conductor and the voltage drop along it.

A copper section that stands in the table of vehicle wires has the table's largest resistance, which is from memory;
any other conductor has that of its metal. Connections, crimps and corrosion come on top of both.

References
----------
.. [1] IEC 60028:1925, International standard of resistance for copper: 1/58 Ω mm²/m at 20 °C, 0.00393/K.
.. [2] Conductor table of ISO 6722-1:2011, from memory (see the header of the table).
.. [3] IEC 60889 and a handbook table: aluminium with 34.8 m/(Ω mm²) and 0.00403/K.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from workshop_log import resources
from workshop_log.errors import WorkshopLogError
from workshop_log.measuring.ranges import ExpectedRange
from workshop_log.measuring.showing import NO_BREAK_SPACE, show

REFERENCE_C = 20.0
_OHM_PER_MILLIOHM = 1e-3
# own estimate: strand make-up lets a wire lie above its metal's resistance; the sections of the table [2]_ lie
# 3 to 14 % above, on average 8 %.
STRAND_ALLOWANCE = 1.10


class ConductorError(WorkshopLogError, ValueError):
    """A conductor that cannot be as described."""


@dataclass(frozen=True, slots=True)
class Material:
    """A conductor's metal.

    Attributes
    ----------
    name : str
        "copper" or "aluminium".
    conductivity : float
        At 20 °C. [m/(Ω mm²)]
    temperature_coefficient : float
        Of the resistance, at 20 °C. [1/K]
    source : str
        Where both come from.
    """

    name: str
    conductivity: float
    temperature_coefficient: float
    source: str


MATERIALS = {
    "copper": Material("copper", 58.0, 0.00393, "IEC 60028"),
    "aluminium": Material("aluminium", 34.8, 0.00403, "handbook table"),
}


@dataclass(frozen=True, slots=True)
class ConductorResistance:
    """The resistance of a conductor.

    Attributes
    ----------
    ohm : float
        Resistance. [Ω]
    is_maximum : bool
        Whether it is the largest that a new wire of this section may have, or the one of the bare metal.
    source : str
        Where it comes from, in words.
    """

    ohm: float
    is_maximum: bool
    source: str


@cache
def table_ohm_per_m() -> dict[float, float]:
    """Return the largest resistance of copper vehicle wire at 20 °C [Ω/m] by section [mm²], from memory [2]_."""
    return {float(row["section"]): float(row["max_resistance"]) * _OHM_PER_MILLIOHM
            for row in resources.table("conductors")}


def conductor_resistance(length_m: float, section_mm2: float, material: str = "copper",
                         temperature_c: float = REFERENCE_C) -> ConductorResistance:
    """Return the resistance of a conductor.

    R = r · l · (1 + α (T − 20 °C)), r from the table of vehicle wires [2]_ for a copper section that stands in it,
    else 1 / (κ A) of the metal [1]_ [3]_.

    Parameters
    ----------
    length_m : float
        Length of one conductor, not there and back. [m]
    section_mm2 : float
        Nominal section. [mm²]
    material : str
        "copper" or "aluminium".
    temperature_c : float
        Temperature of the conductor. [°C]

    Raises
    ------
    ConductorError
        If the length is negative, the section not positive, the metal unknown or the temperature far out.
    """
    metal = _metal(material)
    if not 0 <= length_m < math.inf:
        raise ConductorError("A conductor's length is zero or a positive number of metres.")
    if not 0 < section_mm2 < math.inf:
        raise ConductorError("A conductor's section is a positive number of square millimetres.")
    warming = 1 + metal.temperature_coefficient * (temperature_c - REFERENCE_C)
    if not (0 < warming < math.inf):
        raise ConductorError(f"A conductor at {temperature_c:g} °C is outside what its resistance is known for.")
    section = f"{section_mm2:g}{NO_BREAK_SPACE}mm² {metal.name}"
    listed = table_ohm_per_m().get(section_mm2) if metal.name == "copper" else None
    if listed is not None:
        return ConductorResistance(listed * length_m * warming, True,
                                   f"{section}, table of vehicle wires after ISO 6722, from memory")
    return ConductorResistance(length_m / (metal.conductivity * section_mm2) * warming, False,
                               f"{section}, resistance of the metal, {metal.source}")


def voltage_drop(length_m: float, section_mm2: float, current_a: float, material: str = "copper",
                 temperature_c: float = REFERENCE_C) -> float:
    """Return the voltage [V] that a current [A] loses along a conductor; parameters as `conductor_resistance`."""
    return abs(current_a) * conductor_resistance(length_m, section_mm2, material, temperature_c).ohm


def expected_resistance(length_m: float, section_mm2: float, material: str = "copper",
                        temperature_c: float = REFERENCE_C) -> ExpectedRange:
    """Return the most that a sound conductor should measure from end to end, leads already taken off."""
    resistance = conductor_resistance(length_m, section_mm2, material, temperature_c)
    return ExpectedRange(None, _largest(resistance), "ohm", _source(resistance, length_m, temperature_c))


def expected_drop(length_m: float, section_mm2: float, current_a: float, material: str = "copper",
                  temperature_c: float = REFERENCE_C, current_uncertainty_a: float = 0.0) -> ExpectedRange:
    """Return the most that a sound conductor should lose at a current.

    Parameters
    ----------
    length_m, section_mm2, material, temperature_c
        As `conductor_resistance`.
    current_a, current_uncertainty_a : float
        Current through it, and its standard uncertainty, which makes the limit uncertain too. [A]
    """
    if not math.isfinite(current_a):
        raise ConductorError("The current through a conductor is a number of amperes.")
    resistance = conductor_resistance(length_m, section_mm2, material, temperature_c)
    largest = _largest(resistance)
    source = f"{_source(resistance, length_m, temperature_c)}, with {show(abs(current_a), 'A')}"
    return ExpectedRange(None, largest * abs(current_a), "V", source, uncertainty=largest * current_uncertainty_a)


def _largest(resistance: ConductorResistance) -> float:
    return resistance.ohm if resistance.is_maximum else resistance.ohm * STRAND_ALLOWANCE


def _source(resistance: ConductorResistance, length_m: float, temperature_c: float) -> str:
    allowance = "" if resistance.is_maximum else f" times {STRAND_ALLOWANCE:g} for its strands, own estimate"
    degrees = f"{temperature_c:g}".replace("-", "\u2212")
    return (f"{length_m:g}{NO_BREAK_SPACE}m of {resistance.source}{allowance}, "
            f"at {degrees}{NO_BREAK_SPACE}°C")


def _metal(material: str) -> Material:
    try:
        return MATERIALS[material]
    except KeyError:
        raise ConductorError(f"A conductor is copper or aluminium, not {material}.") from None
