"""What each possible test would show with each suspect, as tables of probabilities.

Every suspect that still counts is represented by a few sizes of its fault. What a measurement shows is cut into
intervals whose edges lie in the gaps of the mixture of all predictions and at its quantiles, not on an even grid.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from workshop_log.diagnosis import telling
from workshop_log.diagnosis.candidates import TRIALS, Candidate
from workshop_log.diagnosis.evidence import Looked, Moved, Swapped
from workshop_log.diagnosis.inference import blown
from workshop_log.electrics.fault_arrays import SettledCells
from workshop_log.electrics.numeric import np
from workshop_log.electrics.probes import FLOATING_V, LEADS_STANDARD, Lamp, Resistance, Voltage
from workshop_log.measuring.instruments import DEFAULT_PERCENT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.diagnosis.inference import Inference
    from workshop_log.diagnosis.suspects import Suspect
    from workshop_log.electrics.probes import Probe

    Array = NDArray[np.float64]

# Suspects below this are left out of the tables; and at most so many are kept.
_LEAST_PROBABILITY, _MOST_SUSPECTS = 5e-4, 70
_SIZES, _SIZES_NOW_AND_THEN = 6, 3
# Intervals of a measurement; the last one is that of a reading over range.
_EDGES_IN_GAPS, _EDGES_AT_QUANTILES = 10, 8
INTERVALS = _EDGES_IN_GAPS + _EDGES_AT_QUANTILES + 2
# Any reading may be a slip.
_SLIP = 0.015
# Two counts of a meter's last digit, by quantity: what the usual meter adds to its percentage. [V], [A], [Ω]
_COUNTS = {"V": 0.02, "A": 0.02, "ohm": 0.2}
_ROOT_THREE = 3**0.5
_IDEAL_OHM = 1e14
# Φ(z) by the logistic function: within 0.01, and enough to choose a test by.
_LOGISTIC = 1.702
_LAMP_ROUNDS = 40


@dataclass(frozen=True)
class Hypotheses:
    """Suspects at a few sizes each.

    Attributes
    ----------
    suspect : NDArray of int
        Which suspect of the inference each is; the healthy circuit is the first. Shape (n,).
    cell : NDArray of int
        Its cell in the grid of single faults; −1 for a pair. Shape (n,).
    amount : NDArray
        Amounts of its faults; shape (n, 2).
    probability : NDArray
        They add up to one; shape (n,).
    there : NDArray
        With which probability its fault is there when a test is made; shape (n,).
    """

    suspects: tuple[Suspect, ...]
    suspect: NDArray[np.int64]
    cell: NDArray[np.int64]
    amount: Array
    probability: Array
    there: Array

    def __len__(self) -> int:
        return len(self.suspect)


def hypotheses(found: Inference) -> Hypotheses:
    """Return the suspects that still count, each at a few sizes."""
    order = np.argsort(-found.probability, kind="stable")
    return hypotheses_of(found, tuple(n for n in order[:_MOST_SUSPECTS].tolist()
                                      if found.probability[n] > _LEAST_PROBABILITY))


def hypotheses_of(found: Inference, suspects: tuple[int, ...]) -> Hypotheses:
    """Return these suspects, each at a few sizes, after the healthy circuit."""
    kept = [number for number in suspects if number]
    suspect, place, amount = [0], [0], [(np.nan, np.nan)]
    weight, there = [max(float(found.probability[0]), 1e-12)], [1.0]
    for number in sorted(kept):
        grid, cells, shares = found.cells_of(number)
        is_now_and_then = found.suspects[number].comes_and_goes
        chance = _chance_to_be_there(found, number) if is_now_and_then else 1.0
        for cell, share in _representatives(cells, shares, _SIZES_NOW_AND_THEN if is_now_and_then else _SIZES):
            suspect.append(number)
            place.append(cell if grid is found.singles else -1)
            amount.append(tuple(grid.cells.amount[cell]))
            weight.append(share * float(found.probability[number]))
            there.append(chance)
    probability = np.array(weight)
    return Hypotheses(found.suspects, np.array(suspect), np.array(place), np.array(amount),
                      probability / probability.sum(), np.array(there))


def _representatives(cells: NDArray[np.int64], weight: Array, count: int) -> list[tuple[int, float]]:
    """Return the middle cell of each of several parts of equal weight, and the weight of the part."""
    if len(cells) == 1:
        return [(int(cells[0]), 1.0)]
    below = np.cumsum(weight)
    part = np.minimum((below - weight / 2) * count, count - 1e-9).astype(int)
    chosen = []
    for each in np.unique(part).tolist():
        here = np.flatnonzero(part == each)
        inside = np.cumsum(weight[here])
        middle = here[int(np.searchsorted(inside, inside[-1] / 2))]
        chosen.append((int(cells[middle]), float(inside[-1])))
    return chosen


def _chance_to_be_there(found: Inference, number: int) -> float:
    """Return how probable it is that a fault that comes and goes is there at the next test."""
    grid, cells, weight = found.cells_of(number)
    if not len(grid.keys):
        return 0.5
    best = int(cells[int(weight.argmax())])
    apart = grid.log_each[:, best] - grid.log_each[:, 0]
    telling_apart = np.abs(apart) > 1.0
    seen = 1 / (1 + np.exp(-np.clip(apart[telling_apart], -50, 50)))
    return float((seen.sum() + 1) / (len(seen) + 2))


@dataclass(frozen=True)
class Outcomes:
    """Tables of what tests would show.

    Attributes
    ----------
    candidates : tuple[Candidate, ...]
        Those that can be made: no ohmmeter on a live circuit.
    table : NDArray
        Probability of each outcome with each hypothesis; shape (n_candidates, n_hypotheses, INTERVALS).
    value : NDArray
        What a measurement would show with the fault there, in the probe's unit, of a lamp its share of the rated
        voltage; not a number for other tests. Shape (n_candidates, n_hypotheses).
    """

    candidates: tuple[Candidate, ...]
    table: Array = field(repr=False)
    value: Array = field(repr=False)


def outcomes(found: Inference, of: Hypotheses, candidates: tuple[Candidate, ...]) -> Outcomes:
    """Return what tests would show with each hypothesis; those that must not be made are left out."""
    kept: list[Candidate] = []
    tables: list[Array] = []
    values: list[Array] = []
    by_setup: dict[tuple[str, bool], list[Candidate]] = {}
    for candidate in candidates:
        if candidate.kind in ("voltage", "current", "resistance", "lamp"):
            by_setup.setdefault((candidate.setup, candidate.kind == "resistance"), []).append(candidate)
    for (setup, dead), members in by_setup.items():
        found.options.check()
        allowed, table, value = _measured(found, of, setup, members, dead=dead)
        kept += allowed
        tables.append(table)
        values.append(value)
    for candidate in candidates:
        if candidate.kind in ("look", "movement", "swap"):
            kept.append(candidate)
            tables.append(_two_outcomes(found, of, candidate)[None])
            values.append(np.full((1, len(of)), np.nan))
    shape = (0, len(of), INTERVALS)
    return Outcomes(tuple(kept), np.concatenate(tables) if tables else np.zeros(shape),
                    np.concatenate(values) if values else np.zeros(shape[:2]))


def _two_outcomes(found: Inference, of: Hypotheses, candidate: Candidate) -> Array:
    """Return the table of a test that shows something or nothing."""
    numbers, which = np.unique(of.suspect, return_inverse=True)
    suspects = tuple(found.suspects[number] for number in numbers.tolist())
    if candidate.kind == "look":
        open_fuse = blown(found, candidate.elements)[numbers]
        seen = telling.look_says(Looked(elements=candidate.elements, damage=True), suspects, found.circuit, open_fuse)
    elif candidate.kind == "swap":
        seen = telling.swap_says(Swapped(element=candidate.elements[0], cured=True), suspects)
    else:
        nothing = Moved(elements=candidate.elements, probe=None, trials=TRIALS, shown=0)
        seen = 1 - telling.movement_says(nothing, suspects, np.ones(len(suspects)))
    table = np.zeros((len(of), INTERVALS))
    table[:, 0] = seen[which.reshape(-1)]
    table[:, 1] = 1 - table[:, 0]
    return table


def _measured(found: Inference, of: Hypotheses, setup: str, members: list[Candidate], *,
              dead: bool) -> tuple[list[Candidate], Array, Array]:
    settled = _settled(found, of, setup, dead=dead)
    probes = [_without_load(one.probe) for one in members]
    different = list(dict.fromkeys(probes))
    shown = settled.read(different, with_sensitivity=True)
    column = [different.index(probe) for probe in probes]
    spread = np.sqrt(np.nan_to_num(np.einsum("hpq,hpq->hp", shown.sensitivity, shown.sensitivity)))
    lamps = [n for n, one in enumerate(members) if one.kind == "lamp"]
    meters = [n for n, one in enumerate(members) if one.kind != "lamp"]
    table = np.zeros((len(members), len(of), INTERVALS))
    value = np.empty((len(members), len(of)))
    if meters:
        number = [column[n] for n in meters]
        value[meters] = shown.value[:, number].T
        table[meters] = _intervals(value[meters], _deviation(members, meters, value[meters], spread[:, number].T,
                                                             shown.floating[:, number].T), of.probability)
    if lamps:
        number = [column[n] for n in lamps]
        value[lamps] = _lamp_share(shown.value[:, number].T, shown.source_ohm[:, number].T, members[lamps[0]].probe)
        for look, probability in enumerate(telling.lamp_looks(value[lamps]).values()):
            table[lamps, :, look] = probability
    # Where the fault is away, the circuit is a healthy one.
    away = (1 - of.there)[None, :, None]
    if away.any():
        table = (1 - away) * table + away * table[:, :1]
    # An ohmmeter has nothing to do where something drives its leads: in the healthy circuit, or as likely as not.
    live = np.isnan(value[:, 0]) | ((np.isnan(value) * of.probability).sum(axis=1) > 0.3)
    allowed = [n for n in range(len(members)) if members[n].kind != "resistance" or not live[n]]
    return [members[n] for n in allowed], table[allowed], value[allowed]


def _settled(found: Inference, of: Hypotheses, setup: str, *, dead: bool) -> SettledCells:
    """Return the hypotheses settled in a setup: cells of the grid of single faults, unless there are pairs as well."""
    cells = found.singles.cells
    if of.cell.min() >= 0:
        return cells.settled(setup, dead=dead).only(of.cell)
    return SettledCells(cells.at_rest() if dead else found.circuit, setup,
                        tuple(of.suspects[number].faults for number in of.suspect.tolist()), np.arange(len(of)),
                        of.amount)


def _without_load(probe: Probe) -> Probe:
    """Return a probe that takes no current: to choose a test by, a meter's own is nothing.

    A lamp's light follows from what such a meter shows and the resistance that it looks into.
    """
    if isinstance(probe, Lamp):
        return Voltage(probe.probe, probe.clip, _IDEAL_OHM)
    return replace(probe, meter_ohm=_IDEAL_OHM) if isinstance(probe, Voltage) else probe


def _deviation(members: list[Candidate], meters: list[int], value: Array, spread: Array, floating: Array) -> Array:
    """Return the standard uncertainty of each reading, with that of the usual meter."""
    finite = np.where(np.isfinite(value), value, 0.0)
    units = [members[n].probe.unit for n in meters]
    counts = np.array([_COUNTS[unit] for unit in units])[:, None]
    leads = np.array([LEADS_STANDARD[unit] for unit in units])[:, None]
    meter = (DEFAULT_PERCENT / 100 * np.abs(finite) + counts) / _ROOT_THREE
    if any(isinstance(members[n].probe, Resistance) for n in meters):
        # Ohmmeters choose their own range.
        ohm = np.array([isinstance(members[n].probe, Resistance) for n in meters])[:, None]
        meter = np.where(ohm, np.maximum(meter, 0.01 * np.abs(finite)), meter)
    return np.sqrt(spread**2 + meter**2 + leads**2 + np.where(floating, FLOATING_V, 0.0) ** 2)


def _intervals(value: Array, deviation: Array, probability: Array) -> Array:
    """Return the probability of each interval with each hypothesis; shape (n_candidates, n, INTERVALS)."""
    finite = np.isfinite(value)
    shown = np.where(finite, value, -1e12)
    order = np.argsort(shown, axis=1, kind="stable")
    rows = np.arange(len(value))[:, None]
    ranked, spread = shown[rows, order], deviation[rows, order]
    weight = np.where(finite, probability[None, :], 0.0)[rows, order]
    # Edges in the widest gaps, counted in standard uncertainties.
    gap = np.diff(ranked, axis=1) / np.maximum(spread[:, 1:] + spread[:, :-1], 1e-12)
    gap[(weight[:, 1:] == 0) | (weight[:, :-1] == 0)] = 0.0
    n_gaps = min(_EDGES_IN_GAPS, gap.shape[1])
    widest = np.argpartition(-gap, n_gaps - 1, axis=1)[:, :n_gaps] if n_gaps else np.zeros((len(value), 0), int)
    total = np.maximum(spread[rows, widest] + spread[rows, widest + 1], 1e-12)
    share = spread[rows, widest] / total
    edges = [ranked[rows, widest] + share * (ranked[rows, widest + 1] - ranked[rows, widest])]
    edges.append(np.repeat(ranked[:, -1:], _EDGES_IN_GAPS - n_gaps, axis=1))
    below = np.cumsum(weight, axis=1)
    below = below / np.maximum(below[:, -1:], 1e-300)
    for part in range(1, _EDGES_AT_QUANTILES + 1):
        at = (below < part / (_EDGES_AT_QUANTILES + 1)).sum(axis=1)
        edges.append(ranked[rows, np.minimum(at, value.shape[1] - 1)[:, None]])
    edge = np.sort(np.concatenate(edges, axis=1), axis=1)
    z = (edge[:, None, :] - shown[:, :, None]) / np.maximum(deviation, 1e-12)[:, :, None]
    under = 1 / (1 + np.exp(-np.clip(_LOGISTIC * z, -60, 60)))
    table = np.empty((*value.shape, INTERVALS))
    table[:, :, 0] = under[:, :, 0]
    table[:, :, 1:-2] = np.diff(under, axis=2)
    table[:, :, -2] = 1 - under[:, :, -1]
    table[:, :, -1] = 0.0
    over = np.isinf(value)
    table[over] = 0.0
    table[over, -1] = 1.0
    table[np.isnan(value)] = 1 / INTERVALS
    return (1 - _SLIP) * np.maximum(table, 0.0) + _SLIP / INTERVALS


def _lamp_share(open_v: Array, source_ohm: Array, lamp: Lamp) -> Array:
    """Return the voltage across a test lamp as a share of its rated one: where its current meets the source's line."""
    low, high = np.zeros_like(open_v), np.abs(open_v)
    for _ in range(_LAMP_ROUNDS):
        middle = (low + high) / 2
        too_much = lamp.filament.current(middle) * np.maximum(source_ohm, 0.0) > np.abs(open_v) - middle
        high, low = np.where(too_much, middle, high), np.where(too_much, low, middle)
    return (low + high) / 2 / lamp.rated_v
