"""Elements whose current is not proportional to their voltage: filament lamps and diodes.

References
----------
.. [1] D. G. Fink, H. W. Beaty, Standard Handbook for Electrical Engineers, 11th ed. 1978, p. 22-8: the current of a
       filament lamp goes with its voltage to the power of 0.55.
.. [2] W. Shockley (1949): the current of a p-n junction.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Values = float | NDArray[np.float64]

FILAMENT_EXPONENT = 0.55  # [1]_
# Hot to cold resistance of a filament: common practice, no source (10 to 15).
FILAMENT_COLD_RATIO = 10.0
# Below this part of the rated voltage the filament is cold: there the power law reaches the cold resistance.
_KNEE = FILAMENT_COLD_RATIO ** (-1 / (1 - FILAMENT_EXPONENT))

# own estimate: a diode shows its forward voltage at this current, and leaks a hundred-thousand-millionth of it.
DIODE_RATED_A = 0.1
_DIODE_LEAK = 1e-11
_DIODE_FOLDS = 25.328436022944504  # ln(1e11 + 1)
# Beyond this many thermal voltages the exponential goes on as its tangent; no healthy current comes near. exp(40)
# times the leak is a quarter of a million amperes.
_LARGEST_EXPONENT = 40.0
# Far below the leak of any node: a blocked diode stays blocked, and no equation is divided by nothing. [S]
_LEAST_SLOPE_S = 1e-12

# A filament's look by its voltage over the rated one. own estimate: light goes with the 3.4th power of the voltage,
# so that at 70 % a third of it is left and at 15 % the filament no longer glows.
LIT_FROM = 0.7
DARK_BELOW = 0.15


@dataclass(frozen=True, slots=True)
class Filament:
    """A filament lamp: I = I₀ (V/V₀)^0.55, smoothed near zero to the cold filament's resistance.

    Attributes
    ----------
    rated_a, rated_v : float
        Current at the rated voltage, and that voltage. [A], [V]
    """

    rated_a: float
    rated_v: float

    def current(self, voltage_v: Values) -> Values:
        """Return the current [A] at a voltage [V]."""
        share = voltage_v / self.rated_v
        return self.rated_a * share * (share * share + _KNEE * _KNEE) ** ((FILAMENT_EXPONENT - 1) / 2)

    def slope(self, voltage_v: Values) -> Values:
        """Return dI/dV [S] at a voltage [V]."""
        share = voltage_v / self.rated_v
        square = share * share + _KNEE * _KNEE
        bend = 1 + (FILAMENT_EXPONENT - 1) * share * share / square
        return self.rated_a / self.rated_v * square ** ((FILAMENT_EXPONENT - 1) / 2) * bend

    def limited(self, old_v: Values, new_v: Values) -> Values:
        """Return a Newton step that goes no further than the rated voltage at once."""
        return old_v + np.clip(new_v - old_v, -self.rated_v, self.rated_v)

    def look(self, voltage_v: float) -> str:
        """Return what the eye sees: "lit", "dim" or "dark"."""
        share = abs(voltage_v) / self.rated_v
        return "lit" if share >= LIT_FROM else "dark" if share < DARK_BELOW else "dim"


@dataclass(frozen=True, slots=True)
class Junction:
    """A diode: I = I_s (exp(V/V_t) − 1) [2]_.

    Attributes
    ----------
    forward_v : float
        Its voltage at `DIODE_RATED_A`. [V]
    """

    forward_v: float

    @property
    def leak_a(self) -> float:
        """The saturation current I_s [A]."""
        return DIODE_RATED_A * _DIODE_LEAK

    @property
    def thermal_v(self) -> float:
        """The voltage V_t that lets the current grow e-fold [V]."""
        return self.forward_v / _DIODE_FOLDS

    def current(self, voltage_v: Values) -> Values:
        """Return the current [A] at a voltage [V]."""
        exponent = voltage_v / self.thermal_v
        held = np.minimum(exponent, _LARGEST_EXPONENT)
        return self.leak_a * (np.exp(held) * (1 + exponent - held) - 1)

    def slope(self, voltage_v: Values) -> Values:
        """Return dI/dV [S] at a voltage [V]; where it blocks, the least that Newton's method can work with."""
        slope = self.leak_a / self.thermal_v * np.exp(np.minimum(voltage_v / self.thermal_v, _LARGEST_EXPONENT))
        return np.maximum(slope, _LEAST_SLOPE_S)

    def limited(self, old_v: Values, new_v: Values) -> Values:
        """Return a Newton step that climbs the exponential by logarithms, as circuit simulators do."""
        step = (new_v - old_v) / self.thermal_v
        climbing = (new_v > self.forward_v * 0.5) & (step > 2)
        slow = np.where(old_v > 0, old_v + self.thermal_v * np.log1p(np.maximum(step, 0)),
                        self.thermal_v * np.log(np.maximum(new_v / self.thermal_v, 1)))
        return np.where(climbing, slow, new_v)


Curve = Filament | Junction
