"""Small circuits with what a technician would read in them, worked out by the solver with a fault laid in."""

from __future__ import annotations

from workshop_log.diagnosis.evidence import LampSeen, Measured, Observed
from workshop_log.electrics.circuit import Circuit, Element, Setup
from workshop_log.electrics.curves import Filament
from workshop_log.electrics.faults import Fault
from workshop_log.electrics.probes import Current, Lamp, Probe, Resistance, Voltage, predict
from workshop_log.electrics.solver import solve

RUNNING = "running"


def feed(*, motor_weight: str = "motor") -> Circuit:
    """Return a battery, a fuse, a wire, a pin, a switch, a motor and its ground point in a row."""
    return Circuit("feed", "Feed of a motor", (
        Element("battery", "battery", ("B+", "B-"), voltage_v=12.6, voltage_tolerance_v=0.2, resistance_ohm=0.012,
                tolerance=0.5),
        Element("F7", "fuse", ("B+", "F7.out"), rating_a=15.0, resistance_ohm=0.005, tolerance=0.2),
        Element("W1", "wire", ("F7.out", "C3.a"), resistance_ohm=0.04, tolerance=0.1),
        Element("C3", "contact", ("C3.a", "C3.b"), resistance_ohm=0.005, tolerance=1.0),
        Element("S1", "switch", ("C3.b", "M1.1"), resistance_ohm=0.02, tolerance=1.0),
        Element("M1", motor_weight, ("M1.1", "M1.2"), resistance_ohm=2.0, standing_ohm=0.33, tolerance=0.2),
        Element("G2", "ground point", ("M1.2", "B-"), resistance_ohm=0.002, tolerance=1.0)),
        (Setup(RUNNING, "motor on", on=("S1",)), Setup("dead", "battery off", disconnected=("battery",))))


def read(circuit: Circuit, step: str, probe: Probe, fault: Fault | tuple[Fault, ...] | None = None,
         setup: str = RUNNING, off_v: float = 0.0) -> Measured | LampSeen:
    """Return the reading that a meter of 0.8 % + 2 counts would show, moved by a slip of `off_v`."""
    if isinstance(probe, Lamp):
        state = solve(circuit, setup, fault, probe)
        volts = state.node_v(state.network.node[probe.probe]) - state.node_v(state.network.node[probe.clip])
        return LampSeen(step=step, setup=setup, probe=probe, look=Filament(probe.rated_a, probe.rated_v).look(volts))
    value = predict(circuit, setup, probe, fault=fault).value
    if value == float("inf"):
        return Measured(step=step, setup=setup, probe=probe, low=20e6, high=value, standard=2e5)
    shown = round(value + off_v, 2)
    standard = (0.008 * abs(shown) + 0.02) / 3**0.5
    return Measured(step=step, setup=setup, probe=probe, low=shown, high=shown, standard=standard)


def does_not_run(step: str = "s0") -> Observed:
    """Return the complaint, confirmed: the motor does not run."""
    return Observed(step=step, setup=RUNNING, element="M1", works=False)


POINTS = ("F7.out", "C3.a", "C3.b", "M1.1", "M1.2")


def along(circuit: Circuit, fault: Fault | tuple[Fault, ...] | None) -> tuple[Measured, ...]:
    """Return the voltages of all points against B− while the motor is switched on, from the supply down."""
    return tuple(read(circuit, f"s{number}", Voltage(point), fault) for number, point in enumerate(POINTS, 1))


__all__ = ["POINTS", "RUNNING", "Current", "Fault", "Lamp", "Resistance", "Voltage", "along", "does_not_run", "feed",
           "read"]
