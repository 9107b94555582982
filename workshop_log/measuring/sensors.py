"""What temperature sensors should show at a temperature: Pt100, NTC, type K thermocouple.

Temperatures in °C (ITS-90), resistances in ohm, thermovoltages in volt. Every expected range covers the sensor's
own tolerance and how well its temperature is known.

References
----------
.. [1] IEC 60751:2022, Industrial platinum resistance thermometers: coefficients found in text, the tolerance classes
       from memory.
.. [2] J. S. Steinhart, S. R. Hart, Calibration curves for thermistors, Deep-Sea Research 15 (1968) 497.
.. [3] NIST Monograph 175 (1993), reference function of type K; IEC 60584-1:2013 for the tolerance class 2.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from workshop_log import resources
from workshop_log.errors import WorkshopLogError
from workshop_log.measuring.ranges import ExpectedRange
from workshop_log.measuring.showing import NO_BREAK_SPACE, show

ZERO_CELSIUS_K = 273.15
_PERCENT = 100.0

# IEC 60751 [1]_: R = R0 (1 + A t + B t² + C (t − 100) t³), the last term only below 0 °C.
PT100_R0_OHM = 100.0
PT100_A = 3.9083e-3  # [1/°C]
PT100_B = -5.775e-7  # [1/°C²]
PT100_C = -4.183e-12  # [1/°C⁴]
PT100_RANGE_C = (-200.0, 850.0)
# Tolerance classes [1]_, from memory: fixed part [°C] and part per degree.
PT100_CLASSES = {"AA": (0.10, 0.0017), "A": (0.15, 0.002), "B": (0.30, 0.005)}

# Class 2 of type K [3]_: the larger of 2.5 °C and 0.75 % of the temperature.
TYPE_K_CLASS_2 = (2.5, 0.0075)
TYPE_K_CLASS_2_RANGE_C = (-40.0, 1200.0)
TYPE_K_RANGE_C = (-270.0, 1372.0)
_VOLT_PER_MILLIVOLT = 1e-3
_ROUNDING_V = 1e-12

# Solving a curve for the temperature stops when it is known this well. [°C]
_SOLVED_C = 1e-9


class SensorRangeError(WorkshopLogError, ValueError):
    """A temperature or value for which a sensor's curve is not defined."""


def pt100_resistance(temperature_c: float) -> float:
    """Return the nominal resistance of a Pt100 [Ω] from −200 to 850 °C, IEC 60751 [1]_."""
    _require("A Pt100's curve", temperature_c, PT100_RANGE_C)
    return _pt100_curve(temperature_c)


def pt100_temperature(resistance_ohm: float) -> float:
    """Return the temperature [°C] at which a Pt100 nominally has this resistance [Ω], IEC 60751 [1]_."""
    lowest, highest = map(_pt100_curve, PT100_RANGE_C)
    if not lowest <= resistance_ohm <= highest:
        raise SensorRangeError(f"A Pt100 has {lowest:.1f} to {highest:.1f} Ω from −200 to 850 °C, and never "
                               f"{resistance_ohm:g} Ω: check the wiring.")
    if resistance_ohm >= PT100_R0_OHM:
        ratio = resistance_ohm / PT100_R0_OHM
        return (-PT100_A + math.sqrt(PT100_A**2 - 4 * PT100_B * (1 - ratio))) / (2 * PT100_B)
    return _solve(_pt100_curve, resistance_ohm, (PT100_RANGE_C[0], 0.0))


def pt100_tolerance(temperature_c: float, tolerance_class: str = "B") -> float:
    """Return the tolerance ± [°C] of class AA, A or B at a temperature; from memory."""
    try:
        fixed, per_degree = PT100_CLASSES[tolerance_class]
    except KeyError:
        raise SensorRangeError(f"A Pt100 has class AA, A or B, not {tolerance_class}.") from None
    return fixed + per_degree * abs(temperature_c)


def pt100_expected_range(temperature_c: float, temperature_tolerance_c: float = 0.0,
                         tolerance_class: str = "B") -> ExpectedRange:
    """Return the resistance that a Pt100 should have at a temperature known to ± its tolerance [°C]."""
    _require("A Pt100's curve", temperature_c, PT100_RANGE_C)
    spread = _not_negative(temperature_tolerance_c) + pt100_tolerance(temperature_c, tolerance_class)
    # The curve itself goes on a little beyond the ends of its range, which the tolerance may reach.
    low, high = _pt100_curve(temperature_c - spread), _pt100_curve(temperature_c + spread)
    source = f"Pt100 class {tolerance_class} at {_at(temperature_c, temperature_tolerance_c)}, IEC 60751"
    return ExpectedRange(low, high, "ohm", f"{source}, class from memory")


def _pt100_curve(temperature_c: float) -> float:
    t = temperature_c
    below_zero = PT100_C * (t - 100) * t**3 if t < 0 else 0.0
    return PT100_R0_OHM * (1 + PT100_A * t + PT100_B * t * t + below_zero)


@dataclass(frozen=True, slots=True)
class NtcBeta:
    """An NTC thermistor described by its resistance at 25 °C and B: R = R25 exp(B (1/T − 1/T25)).

    Attributes
    ----------
    r25_ohm : float
        Resistance at the reference temperature. [Ω]
    beta_k : float
        B value. [K]
    r25_percent, beta_percent : float
        Tolerances of both. [%]
    reference_c : float
        Reference temperature. [°C]
    """

    r25_ohm: float
    beta_k: float
    r25_percent: float = 0.0
    beta_percent: float = 0.0
    reference_c: float = 25.0

    def __post_init__(self) -> None:
        if not (0 < self.r25_ohm < math.inf and 0 < self.beta_k < math.inf):
            raise SensorRangeError("An NTC has a positive resistance and a positive B value.")
        if not (0 <= self.r25_percent < _PERCENT and 0 <= self.beta_percent < _PERCENT):
            raise SensorRangeError("The tolerances of an NTC lie between 0 and 100 %.")

    @classmethod
    def from_two_points(cls, r1_ohm: float, t1_c: float, r2_ohm: float, t2_c: float) -> NtcBeta:
        """Return the NTC that has two resistances [Ω] at two temperatures [°C]; the first is its reference."""
        inverse_difference = 1 / _kelvin(t1_c) - 1 / _kelvin(t2_c)
        if not (r1_ohm > 0 and r2_ohm > 0 and inverse_difference):
            raise SensorRangeError("Two different temperatures and two positive resistances make an NTC's B value.")
        return cls(r1_ohm, math.log(r1_ohm / r2_ohm) / inverse_difference, reference_c=t1_c)

    def resistance(self, temperature_c: float) -> float:
        """Return the nominal resistance [Ω]."""
        return self.r25_ohm * math.exp(self.beta_k * self._inverse_difference(temperature_c))

    def temperature(self, resistance_ohm: float) -> float:
        """Return the temperature [°C] at which it nominally has this resistance [Ω]."""
        if not 0 < resistance_ohm < math.inf:
            raise SensorRangeError("An NTC's resistance is above zero: check the wiring.")
        inverse = 1 / _kelvin(self.reference_c) + math.log(resistance_ohm / self.r25_ohm) / self.beta_k
        if inverse <= 0:
            raise SensorRangeError("No temperature gives this NTC so small a resistance: check the wiring.")
        return 1 / inverse - ZERO_CELSIUS_K

    def expected_range(self, temperature_c: float, temperature_tolerance_c: float = 0.0) -> ExpectedRange:
        """Return the resistance that it should have at a temperature known to ± its tolerance [°C]."""
        spread = _not_negative(temperature_tolerance_c)
        r25, beta = self.r25_percent / _PERCENT, self.beta_percent / _PERCENT

        def limit(edge_c: float, sign: int) -> float:
            # Both tolerances together at their worst; a B off its value turns the curve about the reference.
            exponent = self.beta_k * self._inverse_difference(edge_c)
            return self.r25_ohm * (1 + sign * r25) * math.exp(exponent + sign * beta * abs(exponent))

        source = f"NTC {show(self.r25_ohm, 'ohm')}, B {self.beta_k:g} K at {_at(temperature_c, spread)}"
        return ExpectedRange(limit(temperature_c + spread, -1), limit(temperature_c - spread, 1), "ohm", source)

    def _inverse_difference(self, temperature_c: float) -> float:
        return 1 / _kelvin(temperature_c) - 1 / _kelvin(self.reference_c)


@dataclass(frozen=True, slots=True)
class SteinhartHart:
    """An NTC thermistor described by 1/T = a + b ln R + c (ln R)³ [2]_, R in ohm and T in kelvin.

    Attributes
    ----------
    a, b, c : float
        Coefficients; b and c are positive, so that the resistance falls as it gets warmer. [1/K]
    percent : float
        Tolerance of the resistance. [%]
    """

    a: float
    b: float
    c: float
    percent: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.a) and 0 < self.b < math.inf and 0 <= self.c < math.inf):
            raise SensorRangeError("The coefficients b and c of an NTC's curve are positive: check their order.")
        if not 0 <= self.percent < _PERCENT:
            raise SensorRangeError("The tolerance of an NTC lies between 0 and 100 %.")

    def temperature(self, resistance_ohm: float) -> float:
        """Return the temperature [°C] at which it nominally has this resistance [Ω]."""
        if not 0 < resistance_ohm < math.inf:
            raise SensorRangeError("An NTC's resistance is above zero: check the wiring.")
        log = math.log(resistance_ohm)
        inverse = self.a + self.b * log + self.c * log**3
        if inverse <= 0:
            raise SensorRangeError("No temperature gives this NTC so small a resistance: check the wiring.")
        return 1 / inverse - ZERO_CELSIUS_K

    def resistance(self, temperature_c: float) -> float:
        """Return the nominal resistance [Ω]: the one real root of the curve, a cubic in ln R."""
        difference = self.a - 1 / _kelvin(temperature_c)
        if not self.c:
            return math.exp(-difference / self.b)
        half, third = difference / self.c / 2, self.b / self.c / 3
        # sinh form of the root of x³ + 3·third·x + 2·half = 0: no difference of nearly equal numbers.
        return math.exp(-2 * math.sqrt(third) * math.sinh(math.asinh(half / third**1.5) / 3))

    def expected_range(self, temperature_c: float, temperature_tolerance_c: float = 0.0) -> ExpectedRange:
        """Return the resistance that it should have at a temperature known to ± its tolerance [°C]."""
        spread = _not_negative(temperature_tolerance_c)
        low = self.resistance(temperature_c + spread) * (1 - self.percent / _PERCENT)
        high = self.resistance(temperature_c - spread) * (1 + self.percent / _PERCENT)
        return ExpectedRange(low, high, "ohm", f"NTC, Steinhart–Hart curve, at {_at(temperature_c, spread)}")


@cache
def _type_k_coefficients() -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, float, float]]:
    """Return the polynomials below and above 0 °C [mV/°Cⁿ] and the three numbers of the exponential term."""
    rows = resources.table("thermocouple_k")
    below = tuple(float(row["value"]) for row in rows if row["range"] == "below")
    above = tuple(float(row["value"]) for row in rows if row["range"] == "above" and row["order"].isdigit())
    term = {row["order"]: float(row["value"]) for row in rows if row["order"].startswith("a")}
    return below, above, (term["a0"], term["a1"], term["a2"])


def type_k_voltage(temperature_c: float, cold_junction_c: float = 0.0) -> float:
    """Return the nominal thermovoltage [V] of type K between a hot and a cold junction [°C] [3]_."""
    for junction in (temperature_c, cold_junction_c):
        _require("Type K's curve", junction, TYPE_K_RANGE_C)
    return _type_k_curve(temperature_c) - _type_k_curve(cold_junction_c)


def type_k_temperature(voltage_v: float, cold_junction_c: float = 0.0) -> float:
    """Return the temperature [°C] of the hot junction for a thermovoltage [V] and a cold junction [°C]."""
    _require("Type K's curve", cold_junction_c, TYPE_K_RANGE_C)
    total = voltage_v + _type_k_curve(cold_junction_c)
    lowest, highest = map(_type_k_curve, TYPE_K_RANGE_C)
    # The ends themselves belong to it, whatever the last bit of adding the cold junction's part.
    if not lowest - _ROUNDING_V <= total <= highest + _ROUNDING_V:
        raise SensorRangeError(f"Type K never shows {show(voltage_v, 'V')} against {cold_junction_c:g} °C: "
                               "check the wiring and the polarity.")
    return _solve(_type_k_curve, total, TYPE_K_RANGE_C)


def type_k_expected_range(temperature_c: float, temperature_tolerance_c: float = 0.0, cold_junction_c: float = 0.0,
                          cold_junction_tolerance_c: float = 0.0) -> ExpectedRange:
    """Return the thermovoltage that a type K thermocouple of class 2 should show.

    Parameters
    ----------
    temperature_c, temperature_tolerance_c : float
        Temperature of the hot junction, −40 to 1200 °C, and how well it is known (±). [°C]
    cold_junction_c, cold_junction_tolerance_c : float
        The same of the cold junction, where the meter's leads begin. [°C]
    """
    _require("Class 2 of type K", temperature_c, TYPE_K_CLASS_2_RANGE_C)
    _require("Type K's curve", cold_junction_c, TYPE_K_RANGE_C)
    fixed, per_degree = TYPE_K_CLASS_2
    hot = _not_negative(temperature_tolerance_c) + max(fixed, per_degree * abs(temperature_c))
    cold = _not_negative(cold_junction_tolerance_c)
    low = _type_k_curve(temperature_c - hot) - _type_k_curve(cold_junction_c + cold)
    high = _type_k_curve(temperature_c + hot) - _type_k_curve(cold_junction_c - cold)
    source = (f"type K class 2 at {_at(temperature_c, temperature_tolerance_c)}, "
              f"cold junction {_at(cold_junction_c, cold)}, ITS-90 and IEC 60584-1")
    return ExpectedRange(low, high, "V", source)


def _type_k_curve(temperature_c: float) -> float:
    """Return the thermovoltage against 0 °C [V]."""
    below, above, (a0, a1, a2) = _type_k_coefficients()
    if temperature_c < 0:
        return _polynomial(below, temperature_c) * _VOLT_PER_MILLIVOLT
    term = a0 * math.exp(a1 * (temperature_c - a2) ** 2)
    return (_polynomial(above, temperature_c) + term) * _VOLT_PER_MILLIVOLT


def _polynomial(coefficients: tuple[float, ...], x: float) -> float:
    """Return Σ cₙ xⁿ by Horner's rule."""
    total = 0.0
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total


def _solve(curve: Callable[[float], float], value: float, between: tuple[float, float]) -> float:
    """Return the temperature at which a rising curve has the value, by halving the interval."""
    low, high = between
    while high - low > _SOLVED_C:
        middle = (low + high) / 2
        if curve(middle) < value:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _kelvin(temperature_c: float) -> float:
    kelvin = temperature_c + ZERO_CELSIUS_K
    if not 0 < kelvin < math.inf:
        raise SensorRangeError(f"{temperature_c:g} °C is no temperature: nothing is colder than −273.15 °C.")
    return kelvin


def _require(what: str, temperature_c: float, between: tuple[float, float]) -> None:
    low, high = between
    if not low <= temperature_c <= high:
        raise SensorRangeError(f"{what} is defined from {show(low, '°C', 1)} to {show(high, '°C', 1)}, "
                               f"not at {temperature_c:g} °C.")


def _not_negative(tolerance_c: float) -> float:
    if not 0 <= tolerance_c < math.inf:
        raise SensorRangeError("The tolerance of a temperature is zero or a positive number of degrees.")
    return tolerance_c


def _at(temperature_c: float, tolerance_c: float) -> str:
    degrees = f"{temperature_c:g}".replace("-", "\u2212")
    tolerance = f" ± {tolerance_c:g}" if tolerance_c else ""
    return f"{degrees}{tolerance}{NO_BREAK_SPACE}°C"
