"""What an instrument must show: a meter's voltage, a clamp's current, an ohmmeter's resistance, a test lamp's light.

The instrument loads the circuit as it does at the vehicle. How sure the figure is follows from what is not known of
the elements, in first order [1]_; how sure the instrument is comes on top of it, in the verdict (`measuring`).

References
----------
.. [1] JCGM 100:2008 (GUM), 5.1.2: u² = Σ (∂y/∂p · u(p))². The sensitivities come from the adjoint of the solved
       circuit; a parameter that surely lies within ± a has u = a/√3 (4.3.7).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from workshop_log.electrics import explaining
from workshop_log.electrics.circuit import SOURCE_KINDS, Circuit, Setup, UnknownNameError
from workshop_log.electrics.curves import Filament, Junction
from workshop_log.electrics.network import COIL, FAULT_PARTS, METER, OWN_PARTS, TEST_LAMP, Branch, Network
from workshop_log.electrics.solver import State, solve
from workshop_log.measuring.instruments import (
    DEFAULT_INPUT_RESISTANCE_OHM,
    DEFAULT_LAMP_CURRENT_A,
    DEFAULT_LAMP_VOLTAGE_V,
)
from workshop_log.measuring.ranges import ExpectedRange
from workshop_log.measuring.uncertainty import combine, rectangular

if TYPE_CHECKING:
    from workshop_log.electrics.faults import Fault

COVERAGE_FACTOR = 2
# own estimates: what stray fields, contact of the leads and warm joints bring to any reading, as standard
# uncertainties. Zero is never exactly zero at a vehicle. [V], [A], [Ω]
LEADS_STANDARD = {"V": 0.2e-3, "A": 0.1e-3, "ohm": 0.03}
# own estimate: what a meter catches on a point that nothing connects. [V]
FLOATING_V = 0.25
# What an ohmmeter must show at least where nothing connects its leads: common practice, no source. [Ω]
INSULATION_OHM = 1e6
# Above this between the leads an ohmmeter shows nonsense. own estimate. [V]
DEAD_BELOW_V = 5e-3
# own estimate: how little of a diode's forward voltage is known.
FORWARD_TOLERANCE = 0.1
# Parameters that contribute less than this part of the standard uncertainty are left out of the list.
_LEAST_CONTRIBUTION = 0.01


@dataclass(frozen=True, slots=True)
class Voltage:
    """A voltmeter between two points."""

    red: str
    black: str = "B-"
    meter_ohm: float = DEFAULT_INPUT_RESISTANCE_OHM

    unit = "V"

    def lay(self, network: Network) -> None:
        """Lay the meter's own resistance between its points."""
        network.add(Branch(METER, "", _node(network, self.red), _node(network, self.black), self.meter_ohm))


@dataclass(frozen=True, slots=True)
class Current:
    """A clamp around an element, or a meter that loses nothing in series with it; of a relay its contacts."""

    through: str

    unit = "A"

    def lay(self, network: Network) -> None:
        """Find the element; a clamp loads nothing."""
        network.circuit.element(self.through)


@dataclass(frozen=True, slots=True)
class Resistance:
    """An ohmmeter between two points of a dead circuit."""

    red: str
    black: str

    unit = "ohm"

    def lay(self, network: Network) -> None:
        """Find the points; the little current of an ohmmeter changes nothing."""
        _node(network, self.red), _node(network, self.black)


@dataclass(frozen=True, slots=True)
class Lamp:
    """A filament test lamp between a clip and a probe; its reading is the voltage across it."""

    clip: str
    probe: str
    rated_v: float = DEFAULT_LAMP_VOLTAGE_V
    rated_a: float = DEFAULT_LAMP_CURRENT_A

    unit = "V"

    @property
    def filament(self) -> Filament:
        """The lamp's current by its voltage."""
        return Filament(self.rated_a, self.rated_v)

    def lay(self, network: Network) -> None:
        """Lay the lamp between its points."""
        network.add(Branch(TEST_LAMP, "", _node(network, self.probe), _node(network, self.clip), curve=self.filament))


Probe = Voltage | Current | Resistance | Lamp


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one thing that is not known brings to a prediction.

    Attributes
    ----------
    element : str
        The element, or nothing for what the leads catch.
    what : str
        "resistance", "voltage", ...
    standard : float
        Its part of the standard uncertainty, in the prediction's unit.
    """

    element: str
    what: str
    standard: float


@dataclass(frozen=True, slots=True)
class Prediction:
    """What an instrument must show.

    Attributes
    ----------
    value : float | None
        In `unit`; infinite for an ohmmeter over range; None where an ohmmeter must not be laid, on a live circuit.
    unit : str
        "V", "A" or "ohm"; of a test lamp "V", the voltage across it.
    standard : float
        Standard uncertainty of the value, without the instrument's. [unit]
    contributions : tuple[Contribution, ...]
        Where it comes from, the largest first.
    floating : bool
        Whether a lead hangs on a point that nothing connects: what a meter shows there proves little.
    words : str
        What the value is made of: "battery 12.4 V less 50 mV in F7 and W1 at 6.0 A".
    look : str
        Of a test lamp: "lit", "dim" or "dark".
    live : bool
        Whether an ohmmeter would lie on a live circuit.
    assumed : tuple[str, ...]
        The assumptions that matter here, in words.
    state : State
        The solved circuit.
    """

    value: float | None
    unit: str
    standard: float
    contributions: tuple[Contribution, ...]
    floating: bool
    words: str
    look: str
    live: bool
    assumed: tuple[str, ...]
    state: State


def predict(circuit: Circuit, setup: Setup | str, probe: Probe, instrument_resistance: float | None = None,
            fault: Fault | tuple[Fault, ...] | None = None) -> Prediction:
    """Return what an instrument must show, how sure that is, and why.

    Parameters
    ----------
    circuit, setup, fault
        As `solver.solve`; healthy unless a fault is given.
    probe : Probe
        The instrument with its points.
    instrument_resistance : float, optional
        What a voltmeter puts between its leads, instead of the probe's own 10 MΩ. [Ω]

    Raises
    ------
    CircuitError, UnknownNameError, FaultError
        As `solver.solve`.
    """
    if instrument_resistance is not None and isinstance(probe, Voltage):
        probe = replace(probe, meter_ohm=instrument_resistance)
    state = solve(circuit, setup, fault, probe)
    if isinstance(probe, Resistance):
        return _predict_resistance(state, probe)
    if isinstance(probe, Current):
        value, selector = state.current_a(probe.through), _current_selector(state, probe.through)
        floating, words = False, explaining.current_words(state, probe.through)
    else:
        red, black = (probe.red, probe.black) if isinstance(probe, Voltage) else (probe.probe, probe.clip)
        first, second = _node(state.network, red), _node(state.network, black)
        value, selector = state.node_v(first) - state.node_v(second), state.selector(first, second)
        floating = isinstance(probe, Voltage) and (state.is_floating(red) or state.is_floating(black))
        words = explaining.voltage_words(state, red, black)
    contributions = _contributions(state, selector, probe.unit)
    if floating:
        contributions = (Contribution("", "what a meter catches on a floating point", FLOATING_V), *contributions)
    look = probe.filament.look(value) if isinstance(probe, Lamp) else ""
    return _prediction(state, probe, value, contributions, words, floating=floating, look=look)


def expected_range(circuit: Circuit, setup: Setup | str, probe: Probe,
                   instrument_resistance: float | None = None) -> ExpectedRange | None:
    """Return what a healthy circuit shows as an expected range, y ± 2u without the instrument's part.

    None for a test lamp, whose look is no number, and for an ohmmeter on a live circuit.

    Raises
    ------
    CircuitError, UnknownNameError
        As `solver.solve`.
    """
    return range_of(predict(circuit, setup, probe, instrument_resistance), probe)


def range_of(prediction: Prediction, probe: Probe) -> ExpectedRange | None:
    """Return a prediction as an expected range with its reason in words."""
    if prediction.value is None or prediction.look:
        return None
    source = f"computed: {prediction.words}"
    if prediction.assumed:
        source += f"; assumed {', '.join(prediction.assumed)}"
    if math.isinf(prediction.value):
        return ExpectedRange(INSULATION_OHM, None, prediction.unit, source)
    spread = COVERAGE_FACTOR * prediction.standard
    low, high = prediction.value - spread, prediction.value + spread
    if isinstance(probe, Resistance):
        standing = _standing_ohm(prediction.state, probe)
        low = max(min(low, standing - spread), 0.0)
    return ExpectedRange(low, high, prediction.unit, source, shown_as_near_as=spread)


def _prediction(state: State, probe: Probe, value: float | None, contributions: tuple[Contribution, ...], words: str, *,
                floating: bool = False, look: str = "", live: bool = False) -> Prediction:
    standard = combine(*(contribution.standard for contribution in contributions))
    listed = tuple(sorted((c for c in contributions if c.standard > _LEAST_CONTRIBUTION * standard),
                          key=lambda c: -c.standard))
    assumed = explaining.assumed_words(state.network.circuit, [(c.element, c.standard) for c in listed], standard)
    return Prediction(value, probe.unit, standard, listed, floating, words, look, live, assumed, state)


def _predict_resistance(state: State, probe: Resistance) -> Prediction:
    """Return the Thévenin resistance between the leads, unless something else drives them."""
    red, black = _node(state.network, probe.red), _node(state.network, probe.black)
    between_v = state.node_v(red) - state.node_v(black)
    if state.is_live(probe.red) or state.is_live(probe.black) or abs(between_v) > DEAD_BELOW_V:
        return _prediction(state, probe, None, (), explaining.live_words(state, probe.red, probe.black), live=True)
    if state.groups[red] != state.groups[black]:
        return _prediction(state, probe, math.inf, (), f"nothing connects {probe.red} with {probe.black}")
    selector = state.selector(red, black)
    answer = state.adjoint(selector)
    value = float(selector @ answer)
    contributions = [Contribution("", "contact of the leads", LEADS_STANDARD["ohm"])]
    for index, branch in enumerate(state.network.branches):
        element = state.network.circuit.by_id.get(branch.element)
        if element is None or not state.closed[index] or branch.part in FAULT_PARTS:
            continue
        # ∂R/∂r = λ², and a curve answers with its resistance where it stands.
        share = float(answer[state.network.n_nodes - 1 + index]) ** 2
        own_ohm = -float(state.matrix[state.network.n_nodes - 1 + index, state.network.n_nodes - 1 + index])
        contributions.append(Contribution(element.id, "resistance", rectangular(element.tolerance * own_ohm * share)))
    return _prediction(state, probe, value, tuple(contributions), explaining.resistance_words(state, probe.red,
                                                                                            probe.black))


def _standing_ohm(state: State, probe: Resistance) -> float:
    """Return the resistance between the leads with every motor standing, as it does in a dead circuit."""
    matrix = state.matrix.copy()
    first_row = state.network.n_nodes - 1
    for index, branch in enumerate(state.network.branches):
        element = state.network.circuit.by_id.get(branch.element)
        if element is not None and element.standing_ohm and state.closed[index] and branch.part not in FAULT_PARTS:
            matrix[first_row + index, first_row + index] += branch.resistance_ohm - element.standing_ohm
    selector = state.selector(_node(state.network, probe.red), _node(state.network, probe.black))
    return float(selector @ replace(state, matrix=matrix).adjoint(selector))


def _contributions(state: State, selector, unit: str) -> tuple[Contribution, ...]:
    """Return what each parameter that is not known brings to c·x, by the adjoint."""
    answer = state.adjoint(selector)
    first_row = state.network.n_nodes - 1
    moved: dict[tuple[str, str], float] = {}
    for index, branch in enumerate(state.network.branches):
        element = state.network.circuit.by_id.get(branch.element)
        if element is None or not state.closed[index] or branch.part in FAULT_PARTS:
            continue
        response = float(answer[first_row + index])
        if element.voltage_tolerance_v:
            moved[element.id, "voltage"] = element.voltage_tolerance_v * response
        if isinstance(branch.curve, Junction):
            drop, tolerance, what = state.across_v(branch), FORWARD_TOLERANCE, "forward voltage"
        elif branch.curve is not None:
            # A filament that takes more current: as if its voltage were less by I/g.
            drop = state.branch_a(index) * float(state.matrix[first_row + index, first_row + index])
            tolerance, what = element.tolerance, "current"
        else:
            drop, tolerance = state.branch_a(index) * branch.resistance_ohm, element.tolerance
            what = "coil resistance" if branch.part == COIL else "resistance"
        # Both halves of a wire that a short cuts in two are one resistance.
        moved[element.id, what] = moved.get((element.id, what), 0.0) + tolerance * drop * response
    return (Contribution("", "contact of the leads", LEADS_STANDARD[unit]),
            *(Contribution(element, what, rectangular(abs(value))) for (element, what), value in moved.items()))


def _current_selector(state: State, through: str):
    """Return the vector that picks an element's current out of the unknowns."""
    selector = state.selector(0, 0)
    known = state.network.circuit.element(through)
    for index, branch in enumerate(state.network.branches):
        if branch.element == through and branch.part in OWN_PARTS:
            selector[state.network.n_nodes - 1 + index] = -1.0 if known.kind in SOURCE_KINDS else 1.0
    return selector


def _node(network: Network, point: str) -> int:
    if point not in network.node:
        raise UnknownNameError("point", point, network.circuit.id)
    return network.node[point]
