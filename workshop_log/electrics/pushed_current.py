"""What a test can do to a circuit: the largest current it can push, over all faults that may be there.

A caution comes before the test: above a fuse's rating, above what a wire is usually asked to carry, above 20 mA into a
control unit or a sensor. On a protected element and on the wiring that leads to it no test is made at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from workshop_log.electrics import connections, wires
from workshop_log.electrics.circuit import REFERENCE, WIRING_KINDS, Bridge, Circuit, Element, Setup
from workshop_log.electrics.fault_arrays import fault_readings
from workshop_log.electrics.numeric import np
from workshop_log.electrics.probes import Current, Lamp, Probe, Resistance, predict
from workshop_log.measuring.showing import show

if TYPE_CHECKING:
    from workshop_log.electrics.faults import Fault

# Common practice, no source. [A]
CONTROL_PIN_A = 0.02
_SENSITIVE_KINDS = frozenset({"control unit", "sensor"})
# What the test adds has to be worth the name: this much, and this part of the whole, or the fault drives it alone. [A]
_LEAST_PUSH_A = 1e-3
_LEAST_PUSH_SHARE = 0.1
# Sizes of each fault that are tried: the worst is near one of the ends.
_SIZES = 8


@dataclass(frozen=True, slots=True)
class PushCaution:
    """What has to be said before a test.

    Attributes
    ----------
    severity : str
        "refused": the test must not be made; "caution": it may, with care.
    element : str
        Which element it is about.
    key : str
        Stable name: "protected", "live", "fuse", "wire", "control pin".
    words : str
        One sentence.
    """

    severity: Literal["refused", "caution"]
    element: str
    key: str
    words: str


@dataclass(frozen=True, slots=True)
class Push:
    """The largest current in one element that a test brings about.

    Attributes
    ----------
    element : str
        Where it flows.
    current_a, added_a : float
        The current then, and how much more that is than without the test. [A]
    fault : Fault | None
        With which fault; None for the healthy circuit.
    """

    element: str
    current_a: float
    added_a: float
    fault: Fault | None


def pushes(circuit: Circuit, setup: Setup | str, probe: Probe | None = None,
           faults: Sequence[Fault] | None = None) -> tuple[Push, ...]:
    """Return for every element the largest current that a test adds to, over the healthy circuit and all faults.

    Parameters
    ----------
    circuit, setup
        With the bridges that the test lays; they count as part of it.
    probe : Probe | None
        The instrument. Only a test lamp pushes more than a few milliamperes.
    faults : sequence of Fault, optional
        Those that are still standing; all of the circuit unless said.
    """
    found = circuit.setup(setup) if isinstance(setup, str) else setup
    before = replace(found, bridges=())
    after = found
    if isinstance(probe, Lamp):
        lamp = Bridge((probe.probe, probe.clip), "lamp", probe.rated_a, probe.rated_v)
        after = replace(found, bridges=(*found.bridges, lamp))
    if before == after:
        return ()
    clamps = [Current(element.id) for element in circuit.elements]
    without, with_test = (fault_readings(circuit, each, clamps, faults, _SIZES) for each in (before, after))
    current = np.abs(with_test.value)
    added = current - np.abs(without.value)
    pushed = np.where(added > np.maximum(_LEAST_PUSH_A, _LEAST_PUSH_SHARE * current), current, 0.0)
    result = []
    for number, element in enumerate(circuit.elements):
        cell = int(pushed[:, number].argmax())
        if pushed[cell, number]:
            result.append(Push(element.id, float(current[cell, number]), float(added[cell, number]),
                               _fault_of(with_test, cell)))
    return tuple(result)


def _fault_of(readings, cell: int) -> Fault | None:
    each = readings.faults[readings.fault[cell]]
    if not each:
        return None
    return each[0].of(float(readings.amount[cell, 0]) if each[0].has_amount else None)


def cautions_for(circuit: Circuit, setup: Setup | str, probe: Probe,
                 faults: Sequence[Fault] | None = None) -> tuple[PushCaution, ...]:
    """Return what has to be said before a test is made; a refusal stands alone.

    Raises
    ------
    CircuitError, UnknownNameError
        As `solver.solve`.
    """
    found = circuit.setup(setup) if isinstance(setup, str) else setup
    refused = _protected(circuit, found, probe)
    if refused is not None:
        return (refused,)
    if isinstance(probe, Resistance):
        prediction = predict(circuit, found, probe)
        if prediction.live:
            return (PushCaution("refused", "", "live", f"{prediction.words}."),)
    cautions = [_caution(circuit.element(push.element), push) for push in pushes(circuit, found, probe, faults)]
    return tuple(caution for caution in cautions if caution is not None)


def protected_points(circuit: Circuit) -> dict[str, Element]:
    """Return every point that belongs to a protected element or to the wiring that leads to it.

    The wiring ends at B−, at the supply and at every ground point, which all others share.
    """
    shared = {REFERENCE, circuit.supply_point, *(point for element in circuit.elements
                                                 if element.kind == "ground point" for point in element.points)}
    number = {point: index for index, point in enumerate(circuit.points)}
    edges = [(number[element.between[0]], number[element.between[1]]) for element in circuit.elements
             if element.kind in WIRING_KINDS and element.between and not shared & set(element.between)]
    group = connections.groups(len(number), edges)
    found: dict[str, Element] = {}
    for element in circuit.elements:
        if element.protected:
            touched = {group[number[point]] for point in element.points if point not in shared}
            for point in circuit.points:
                if point in element.points and point not in shared or group[number[point]] in touched:
                    found.setdefault(point, element)
    return found


def _protected(circuit: Circuit, setup: Setup, probe: Probe) -> PushCaution | None:
    """Return the refusal of a test that would touch a protected element or its wiring."""
    guarded = protected_points(circuit)
    touched = [point for bridge in setup.bridges for point in bridge.between]
    hit = None
    if isinstance(probe, Current):
        hit = circuit.element(probe.through) if circuit.element(probe.through).protected else None
    else:
        touched += (probe.clip, probe.probe) if isinstance(probe, Lamp) else (probe.red, probe.black)
    hit = hit or next((guarded[point] for point in touched if point in guarded), None)
    if hit is None:
        return None
    system = "a pyrotechnic restraint" if hit.protected == "pyrotechnic" else "a high-voltage system"
    return PushCaution("refused", hit.id, "protected", f"{hit.name} belongs to {system}: no test is made on it or on "
                       "its wiring; licensed practice and the maker's instructions come first.")


def _caution(element: Element, push: Push) -> PushCaution | None:
    """Return what a push calls for, if it is too much for the element."""
    fault = f" if there is {push.fault.words()}" if push.fault is not None else ""
    current = show(push.current_a, "A", digits=2)
    if element.kind in _SENSITIVE_KINDS and push.added_a > CONTROL_PIN_A:
        words = (f"This test can push {show(push.added_a, 'A', digits=2)} into {element.id}{fault}; more than "
                 f"{show(CONTROL_PIN_A, 'A', digits=2)} into an input can destroy it: use a meter.")
        return PushCaution("caution", element.id, "control pin", words)
    if element.kind == "fuse" and element.rating_a and push.current_a > element.rating_a:
        words = (f"This test can send {current} through {element.id}{fault}, which is rated "
                 f"{show(element.rating_a, 'A', digits=2)}: it may blow.")
        return PushCaution("caution", element.id, "fuse", words)
    limit_a = wires.current_limit_a(element.section_mm2) if element.kind == "wire" and element.section_mm2 else None
    if limit_a is not None and push.current_a > limit_a:
        words = (f"This test can send {current} through {element.id}{fault}; its {element.section_mm2:g} mm² are "
                 f"usually asked to carry {show(limit_a, 'A', digits=2)} at most ({wires.SOURCE}): use a test lamp or "
                 "a smaller fuse in the lead.")
        return PushCaution("caution", element.id, "wire", words)
    return None
