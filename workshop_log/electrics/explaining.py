"""Why a point shows what it shows, in words: the way that the voltage comes, what is lost on it and at what current."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from workshop_log.electrics import connections
from workshop_log.electrics.circuit import LOAD_KINDS, SOURCE_KINDS, WIRING_KINDS, Circuit
from workshop_log.electrics.network import COIL, FAULT_PARTS
from workshop_log.measuring.showing import show

if TYPE_CHECKING:
    from workshop_log.electrics.network import Branch
    from workshop_log.electrics.solver import State

# A way through wiring is taken rather than one through a source, and that rather than one through a load.
_COST_WIRING, _COST_SOURCE, _COST_OTHER = 1.0, 20.0, 400.0
# What an element loses is named from this part of all that is lost. Up to this many are named.
_NAMED_FROM, _MOST_NAMED = 0.1, 3
# Less than this is nothing. [V], [A]
_NOTHING_V, _NOTHING_A = 0.5e-3, 1e-6
# So little loses nothing worth naming in sound wiring. [A]
_LITTLE_A = 1e-3
# An assumption matters from this part of the standard uncertainty.
_MATTERS_FROM = 0.4


def voltage_words(state: State, red: str, black: str) -> str:
    """Return what a voltage is made of: "battery 12.4 V less 50 mV in F7 and W1 at 6.0 A"."""
    network = state.network
    for point in (red, black):
        if state.is_floating(point):
            return f"floating: nothing connects {point}, so that a meter there proves little"
    way = _way(state, network.node[red], network.node[black])
    if way is None:
        return f"nothing connects {red} with {black}"
    heads, lost = [], []
    for index, forward in way:
        branch, sign = network.branches[index], 1 if forward else -1
        drop = sign * state.across_v(branch)
        if branch.voltage_v:
            heads.append((branch.element, sign * branch.voltage_v))
            drop -= sign * branch.voltage_v
        if drop:
            lost.append((branch.element, drop, abs(state.branch_a(index))))
    if heads:
        return _from_sources(state, heads, lost)
    total = sum(drop for _, drop, _ in lost)
    if abs(total) < _NOTHING_V and all(current < _LITTLE_A for _, _, current in lost):
        through = [e for e in dict.fromkeys(network.branches[index].element for index, _ in way)
                   if _is_load(state, e)]
        return f"nothing flows: {red} lies at {black}" + (f" through {_listed(through)}" if through else "")
    return f"{show(abs(total), 'V', digits=2)} lost in {_names(state, lost)}"


def _from_sources(state: State, heads: list[tuple[str, float]], lost: list[tuple[str, float, float]]) -> str:
    start = " and ".join(f"{element} {show(abs(voltage_v), 'V')}" for element, voltage_v in heads)
    given, less = sum(voltage_v for _, voltage_v in heads), -sum(drop for _, drop, _ in lost)
    if given < 0:
        less = -less
    if abs(less) < _NOTHING_V:
        return f"{start}, nothing lost on the way"
    return f"{start} {'less' if less > 0 else 'plus'} {show(abs(less), 'V', digits=2)} in {_names(state, lost)}"


def current_words(state: State, through: str) -> str:
    """Return what makes a current: "12.4 V over M1 and 4 others, 2.1 Ω in all"."""
    current_a = abs(state.current_a(through))
    if current_a < _NOTHING_A:
        return f"no way for a current through {through}"
    loads = [branch for index, branch in enumerate(state.network.branches)
             if _is_load(state, branch.element) and state.closed[index]
             and abs(state.branch_a(index)) > _NAMED_FROM * current_a]
    loads.sort(key=lambda branch: -abs(state.branch_a(state.network.branches.index(branch))))
    named = list(dict.fromkeys(branch.element for branch in loads))[:_MOST_NAMED]
    if not named:
        return f"{show(current_a, 'A')} through {through}"
    parts = [f"{name} at {show(abs(_across(state, name)), 'V')}" for name in named]
    return f"what is taken by {_listed(parts)}"


def resistance_words(state: State, red: str, black: str) -> str:
    """Return what lies between two points of a dead circuit."""
    way = _way(state, state.network.node[red], state.network.node[black])
    names = list(dict.fromkeys(state.network.branches[index].element for index, _ in way or ()))
    loads = [name for name in names if _is_load(state, name)] or names
    if len(loads) > _MOST_NAMED:
        loads = [*loads[:_MOST_NAMED], f"{len(loads) - _MOST_NAMED} more"]
    cold = any(branch.curve is not None and branch.element in names for branch in state.network.branches)
    return f"through {_listed(loads)}{', cold' if cold else ''}, with what lies beside it"


def live_words(state: State, red: str, black: str) -> str:
    """Return why an ohmmeter must not be laid here."""
    volts = {point: state.voltage_v(point) for point in (red, black)}
    live = max(volts, key=lambda point: abs(volts[point] or 0.0))
    return (f"{live} is live ({show(volts[live] or 0.0, 'V')}): disconnect the supply before measuring "
            "resistance")


def assumed_words(circuit: Circuit, parts: list[tuple[str, float]], standard: float) -> tuple[str, ...]:
    """Return the defaults of those elements that make up much of the uncertainty."""
    words = []
    for element, part in parts:
        if element in circuit.by_id and standard and part >= _MATTERS_FROM * standard:
            words += [f"{element}: {default}" for default in circuit.element(element).defaults]
    return tuple(dict.fromkeys(words))


def _way(state: State, start: int, end: int) -> list[tuple[int, bool]] | None:
    """Return the branches from one node to another, each with whether it is passed from its start to its end."""
    usable = [index for index in range(len(state.network.branches)) if state.connects(index)]
    branches = state.network.branches
    edges = [(branches[index].start, branches[index].end, _cost(state, branches[index])) for index in usable]
    path = connections.cheapest_path(start, end, edges)
    if path is None:
        return None
    here, way = start, []
    for edge in path:
        branch = branches[usable[edge]]
        forward = branch.start == here
        way.append((usable[edge], forward))
        here = branch.end if forward else branch.start
    return way


def _cost(state: State, branch: Branch) -> float:
    element = state.network.circuit.by_id.get(branch.element)
    if element is None or branch.part in FAULT_PARTS or branch.part == COIL:
        return _COST_OTHER
    if element.kind in SOURCE_KINDS:
        return _COST_SOURCE
    return _COST_WIRING if element.kind in WIRING_KINDS else _COST_OTHER


def _is_load(state: State, name: str) -> bool:
    element = state.network.circuit.by_id.get(name)
    return element is None or element.kind in LOAD_KINDS or element.kind == "diode"


def _across(state: State, name: str) -> float:
    index = next(index for index, branch in enumerate(state.network.branches) if branch.element == name)
    return state.across_v(state.network.branches[index])


def _names(state: State, lost: list[tuple[str, float, float]]) -> str:
    """Return "F7 and W1 at 6.0 A": where most is lost, the supply side first, and the current there."""
    by_element: dict[str, float] = {}
    for element, drop, _ in lost:
        by_element[element] = by_element.get(element, 0.0) + abs(drop)
    whole = math.fsum(by_element.values())
    ranked = sorted(by_element, key=lambda element: -by_element[element])
    named = [element for element in ranked if by_element[element] >= _NAMED_FROM * whole][:_MOST_NAMED]
    current_a = max((current for element, _, current in lost if element == named[0]), default=0.0)
    order = [branch.element for branch in state.network.branches]
    words = sorted(named, key=order.index)
    others = len(ranked) - len(named)
    if others and sum(by_element[e] for e in ranked if e not in named) > _NAMED_FROM * whole:
        words.append(f"{others} more")
    return f"{_listed(words)} at {show(current_a, 'A', digits=2)}"


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
