"""How likely each suspect is after all the evidence: Bayes' rule over all faults of all sizes, always there or not.

The probability of a suspect is the sum over its grid of sizes. A fault that comes and goes is either there or not at
each test, with an unknown chance that is alike for all tests provoked the same way: its density is summed over all
ways of being there k times of n, each weighing k! (n − k)! / (n + 1)!.

Pairs of faults are considered once the single ones no longer explain the readings without a slip.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from workshop_log.diagnosis import telling
from workshop_log.diagnosis.cells import GRID_CELLS, Cells
from workshop_log.diagnosis.evidence import (
    STILL,
    Evidence,
    LampSeen,
    Looked,
    Measured,
    Moved,
    Observed,
    Swapped,
    in_order,
)
from workshop_log.diagnosis.likelihood import Whitened
from workshop_log.diagnosis.outdated import Outdated
from workshop_log.diagnosis.pairs import likely_pairs
from workshop_log.diagnosis.suspects import (
    HEALTHY,
    SEVERAL,
    TWO_FAULTS,
    Suspect,
    Weights,
    fault_weights,
    may_come_and_go,
)
from workshop_log.electrics.checking import require_sound
from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.electrics.circuit import Circuit
    from workshop_log.electrics.faults import Fault

    Array = NDArray[np.float64]

# From this many slips on that the likeliest single faults need, pairs are looked at.
_SLIPS_FOR_PAIRS = 0.5
_PAIRS_FIRST, _PAIR_CELLS_FIRST = 80, 6
_PAIRS_FINER, _PAIR_CELLS_FINER = 12, 16
# A fault that comes and goes and that a movement test could hardly have shown.
_SEEN_FROM_SIGMAS, _SEEN_SHARE = 4.0, 0.05


@dataclass(frozen=True)
class Options:
    """What an inference rests on besides the evidence.

    Attributes
    ----------
    weights : Weights
        What is thought of the suspects before any test.
    cells : int
        Sizes of each fault.
    is_outdated : callable | None
        Asked now and then; where it says yes, `planning.Outdated` is raised.
    """

    weights: Weights = field(default_factory=Weights)
    cells: int = GRID_CELLS
    is_outdated: Callable[[], bool] | None = field(default=None, compare=False)

    def check(self) -> None:
        """Stop if nobody waits for the answer any more."""
        if self.is_outdated is not None and self.is_outdated():
            raise Outdated


@dataclass(frozen=True)
class Fit:
    """How well the readings fit the cells of one grid.

    Attributes
    ----------
    cells : Cells
        The grid.
    log_always, log_now_and_then : NDArray
        Log density of all readings in each cell where its fault is always there; and where it comes and goes, for all
        cells but the healthy one.
    fits : NDArray
        For each reading, in the order of `keys`, the probability that it is no slip; shape (n_readings, n_cells).
    log_each : NDArray
        Log density of each reading given those before; same shape.
    """

    cells: Cells
    keys: tuple[str, ...]
    steps: tuple[str, ...]
    whitened: Whitened = field(repr=False)
    log_always: Array
    log_now_and_then: Array
    fits: Array
    log_each: Array


def fit(cells: Cells, evidence: tuple[Evidence, ...], known: Fit | None = None, *, with_now_and_then: bool = True,
        ) -> Fit:
    """Return how well evidence fits the cells of a grid."""
    readings = tuple(one for one in evidence if isinstance(one, Measured | LampSeen | Observed))
    cells.prepare(readings)
    measured = _middle_first([one for one in readings if isinstance(one, Measured)])
    others = [one for one in readings if not isinstance(one, Measured)]
    whitened = Whitened([(_key(measured, number), cells.told(one)) for number, one in enumerate(measured)],
                        known.whitened if known is not None and known.cells is cells else None)
    logs = [row.log_factor for row in whitened.rows] + [cells.told(one) for one in others]
    sure = [row.fits for row in whitened.rows] + [_sure(cells.told(one)) for one in others]
    log_each = np.array(logs).reshape(len(logs), len(cells))
    fits = np.array(sure).reshape(len(logs), len(cells))
    ordered = (*measured, *others)
    now_and_then = log_now_and_then(log_each[:, 1:] if with_now_and_then else log_each[:, :0], log_each[:, :1],
                                    [one.provoked for one in ordered])
    return Fit(cells, tuple(one.content for one in ordered), tuple(one.step for one in ordered), whitened,
               log_each.sum(axis=0), now_and_then, fits, log_each)


def _middle_first(measured: list[Measured]) -> list[Measured]:
    """Return readings with those of the same place together, the middle ones first.

    What comes first binds the shared tolerances: of several readings of one place that must not be the odd one.
    """
    places: dict[tuple[str, str], list[Measured]] = {}
    for one in measured:
        places.setdefault((one.setup, repr(one.probe)), []).append(one)
    ordered = []
    for same in places.values():
        numbers = sorted(one.low for one in same if one.is_number)
        middle = numbers[len(numbers) // 2] if numbers else 0.0
        ordered += sorted(same, key=lambda one: (not one.is_number, abs(one.low - middle) if one.is_number else 0.0))
    return ordered


def _key(measured: list[Measured], number: int) -> str:
    """Return what tells a reading from all others; the same reading taken twice counts twice."""
    content = measured[number].content
    return f"{content} {sum(one.content == content for one in measured[:number])}"


def _sure(log_probability: Array) -> Array:
    """Return how far a result without a number is no slip: a lamp or a load that could hardly look like that is one."""
    return np.where(log_probability > math.log(0.03), 1.0, 0.0)


def log_now_and_then(log_there: Array, log_away: Array, provoked: list[str]) -> Array:
    """Return the log density of readings under faults that come and go.

    Parameters
    ----------
    log_there, log_away : NDArray
        Log density of each reading with the fault there and away; shapes (n_readings, n_cells), (n_readings, 1).
    provoked : list of str
        How each was provoked: only tests provoked alike have the same chance to find the fault there.
    """
    total = np.zeros(log_there.shape[1])
    for way in dict.fromkeys(provoked):
        members = [number for number, one in enumerate(provoked) if one == way]
        n = len(members)
        # Row k: the sum over all ways of being there at k of the tests so far.
        ways = np.zeros((n + 1, log_there.shape[1]))
        ways[0] = 1.0
        largest = np.maximum(log_there[members], log_away[members])
        there, away = np.exp(log_there[members] - largest), np.exp(log_away[members] - largest)
        for count in range(n):
            once_more = ways[:count + 1] * there[count]
            ways[:count + 1] *= away[count]
            ways[1:count + 2] += once_more
        scale = largest.sum(axis=0)
        chance = np.array([math.exp(math.lgamma(k + 1) + math.lgamma(n - k + 1) - math.lgamma(n + 2))
                           for k in range(n + 1)])
        total += np.log(np.maximum(chance @ ways, 1e-300)) + scale
    return total


@dataclass(frozen=True)
class Inference:
    """What is still possible in a circuit, given evidence.

    Attributes
    ----------
    circuit : Circuit
        The circuit.
    evidence : tuple[Evidence, ...]
        In its own order.
    options : Options
        What it rests on.
    suspects : tuple[Suspect, ...]
        Nothing wrong; every fault always there; every fault that comes and goes; pairs, where they are considered.
    prior, probability : NDArray
        Before and after the evidence; shape (n_suspects,), each adding up to one.
    singles : Fit
        The grid of single faults.
    pairs : Fit | None
        The grid of pairs.
    """

    circuit: Circuit
    evidence: tuple[Evidence, ...]
    options: Options
    suspects: tuple[Suspect, ...]
    prior: Array
    probability: Array
    singles: Fit
    pairs: Fit | None = None

    def with_evidence(self, *more: Evidence) -> Inference:
        """Return the inference with further evidence."""
        return infer_from(self, (*self.evidence, *more))

    def shares(self) -> dict[str, float]:
        """Return the probability of each part of the bar: elements, `HEALTHY`, `SEVERAL`."""
        found: dict[str, float] = {HEALTHY: 0.0, **{element.id: 0.0 for element in self.circuit.elements}}
        for suspect, probability in zip(self.suspects, self.probability.tolist(), strict=True):
            found[suspect.share] = found.get(suspect.share, 0.0) + probability
        return found

    @cached_property
    def index_of(self) -> dict[str, int]:
        """The number of each suspect by its key."""
        return {suspect.key: number for number, suspect in enumerate(self.suspects)}

    @cached_property
    def n_faults(self) -> int:
        """How many single faults there are."""
        return len(self.singles.cells.faults) - 1

    def cells_of(self, number: int) -> tuple[Fit, NDArray[np.int64], Array]:
        """Return the grid of a suspect, its cells there, and how probable each is if it is this suspect."""
        n_faults = self.n_faults
        if number == 0:
            return self.singles, np.zeros(1, dtype=np.int64), np.ones(1)
        if number <= n_faults:
            grid, fault, logs = self.singles, number, self.singles.log_always
            cells = np.arange(grid.cells.starts[fault], grid.cells.starts[fault + 1])
            return grid, cells, _normalised(logs[cells])
        if number <= 2 * n_faults:
            grid, fault = self.singles, number - n_faults
            cells = np.arange(grid.cells.starts[fault], grid.cells.starts[fault + 1])
            return grid, cells, _normalised(grid.log_now_and_then[cells - 1])
        fault = number - 2 * n_faults
        cells = np.arange(self.pairs.cells.starts[fault], self.pairs.cells.starts[fault + 1])
        return self.pairs, cells, _normalised(self.pairs.log_always[cells])

    def size_of(self, number: int, part: float = 0.9) -> tuple[float, float, str] | None:
        """Return between which amounts a suspect's fault lies with this probability, and their unit; None without."""
        suspect = self.suspects[number]
        if len(suspect.faults) != 1 or not suspect.faults[0].has_amount:
            return None
        grid, cells, weight = self.cells_of(number)
        amounts = grid.cells.amount[cells, 0]
        below = np.cumsum(weight)
        low = int(np.searchsorted(below, (1 - part) / 2))
        high = int(min(np.searchsorted(below, (1 + part) / 2), len(cells) - 1))
        step = _half_step(amounts)
        if suspect.faults[0].unit == "V":
            return float(amounts[low] - step), float(amounts[high] + step), "V"
        return float(amounts[low] / step), float(amounts[high] * step), "ohm"


def _half_step(amounts: Array) -> float:
    """Return half the way from one amount of a grid to the next: added for voltages, a factor for resistances."""
    if len(amounts) < 2:
        return 1.0
    if abs((amounts[1] - amounts[0]) - (amounts[-1] - amounts[-2])) < 1e-9 * abs(amounts[-1]):
        return float(amounts[1] - amounts[0]) / 2
    return float((amounts[1] / amounts[0]) ** 0.5)


def _normalised(logs: Array) -> Array:
    weight = np.exp(logs - logs.max())
    return weight / weight.sum()


def infer(circuit: Circuit, evidence: tuple[Evidence, ...], options: Options | None = None) -> Inference:
    """Return what is still possible in a circuit.

    Raises
    ------
    CircuitError, UnknownNameError
        If the circuit cannot be computed, or evidence names what is not in it.
    Outdated
        If nobody waits for the answer any more.
    """
    require_sound(circuit)
    options = options or Options()
    faults, _ = fault_weights(circuit, options.weights)
    cells = Cells(circuit, ((), *((fault,) for fault in faults)), options.cells)
    return _inferred(circuit, evidence, options, None, cells)


def infer_from(found: Inference, evidence: tuple[Evidence, ...]) -> Inference:
    """Return the inference from other evidence on the same circuit; what was computed for both is kept."""
    return _inferred(found.circuit, evidence, found.options, found.singles)


def infer_less(found: Inference, evidence: tuple[Evidence, ...]) -> Inference:
    """Return the inference from a part of the evidence, with the same pairs of faults as suspects."""
    return _inferred(found.circuit, evidence, found.options, found.singles, pairs=found.pairs, may_find_pairs=False)


def infer_without(found: Inference, steps: frozenset[str] | set[str]) -> Array:
    """Return how likely each of the suspects would be without some steps; shape (n_suspects,)."""
    less = infer_less(found, tuple(one for one in found.evidence if one.step not in steps))
    by_key = less.index_of
    return np.array([less.probability[by_key[suspect.key]] if suspect.key in by_key else 0.0
                     for suspect in found.suspects])


def _inferred(circuit: Circuit, evidence: tuple[Evidence, ...], options: Options, known: Fit | None,
              cells: Cells | None = None, *, pairs: Fit | None = None, may_find_pairs: bool = True) -> Inference:
    evidence = in_order(evidence)
    options.check()
    singles = fit(cells or known.cells, evidence, known)
    options.check()
    faults, weight = fault_weights(circuit, options.weights)
    suspects = [Suspect(()), *(Suspect((fault,)) for fault in faults),
                *(Suspect((fault,), comes_and_goes=True) for fault in faults)]
    weights = options.weights
    wrong = (1 - weights.healthy) * np.array(weight)
    coming = weights.comes_and_goes * np.array([may_come_and_go(circuit, fault) for fault in faults])
    prior = np.concatenate([[weights.healthy], wrong * (1 - coming), wrong * coming])
    log_evidence = np.concatenate([_mean_logs(singles.log_always, singles.cells.index, len(faults) + 1),
                                   _mean_logs(singles.log_now_and_then, singles.cells.index[1:] - 1, len(faults))])
    found = Inference(circuit, evidence, options, tuple(suspects), prior, np.zeros(len(prior)), singles)
    log_evidence = log_evidence + _log_without_cells(found, evidence)
    found = replace(found, probability=posterior(prior, log_evidence))
    if pairs is not None:
        grid = fit(pairs.cells, evidence, with_now_and_then=False)
        return _with_pairs(found, log_evidence, grid)
    if may_find_pairs and _needs_pairs(found):
        grid = _pairs_fitted(found)
        return found if grid is None else _with_pairs(found, log_evidence, grid)
    return found


def _mean_logs(logs: Array, index: NDArray[np.int64], count: int) -> Array:
    """Return the log of the mean over each fault's cells; all sizes of a fault are alike before any reading."""
    largest = np.full(count, -np.inf)
    np.maximum.at(largest, index, logs)
    largest[~np.isfinite(largest)] = 0.0
    total = np.bincount(index, np.exp(logs - largest[index]), count)
    number = np.maximum(np.bincount(index, minlength=count), 1)
    return largest + np.log(np.maximum(total / number, 1e-300))


def posterior(prior: Array, log_evidence: Array) -> Array:
    """Return probabilities after evidence whose log density with each suspect is given, by Bayes' rule."""
    joint = np.where(prior > 0, np.log(np.maximum(prior, 1e-300)), -np.inf) + log_evidence
    return _normalised(joint)


def _log_without_cells(found: Inference, evidence: tuple[Evidence, ...]) -> Array:
    """Return the log probability, with each suspect, of what shows no number and goes by the suspect alone."""
    total = np.zeros(len(found.suspects))
    for one in evidence:
        total += log_of_suspects(found, one)
    return total


def log_of_suspects(found: Inference, one: Evidence) -> Array:
    """Return the log probability of a look, a swap or a movement test with each suspect; zero for anything else."""
    if isinstance(one, Looked):
        return np.log(telling.look_says(one, found.suspects, found.circuit, blown(found, one.elements)))
    if isinstance(one, Swapped):
        return np.log(telling.swap_says(one, found.suspects))
    if isinstance(one, Moved):
        return np.log(telling.movement_says(one, found.suspects, shows(found, one)))
    return np.zeros(len(found.suspects))


def blown(found: Inference, elements: tuple[str, ...]) -> Array:
    """Return with which probability a fuse among these has blown because of each suspect; shape (n_suspects,).

    A fuse that a short has blown is seen to be open, and is not the cause for all that.
    """
    total = np.zeros(len(found.suspects))
    fuses = [element for element in elements if found.circuit.element(element).kind == "fuse"]
    n_faults, singles = found.n_faults, found.singles
    for fuse in fuses:
        opens = singles.cells.opens(fuse)
        fault = singles.cells.index
        own = np.bincount(fault, opens * _within(singles.log_always, fault, n_faults + 1), n_faults + 1)
        coming = fault[1:] - 1
        other = np.bincount(coming, opens[1:] * _within(singles.log_now_and_then, coming, n_faults), n_faults)
        each = [own, other]
        if found.pairs is not None:
            pair = found.pairs.cells.index
            count = len(found.pairs.cells.faults)
            each.append(np.bincount(pair, found.pairs.cells.opens(fuse) * _within(found.pairs.log_always, pair, count),
                                    count)[1:])
        together = np.concatenate(each)
        total[:len(together)] = np.maximum(total[:len(together)], together)
    return total


def shows(found: Inference, moved: Moved) -> Array:
    """Return with which probability what was watched could show each suspect at all; shape (n_suspects,)."""
    if moved.probe is None:
        return np.ones(len(found.suspects))
    seen = np.zeros(len(found.suspects))
    telling_apart: dict[int, Array] = {}
    for number in range(1, len(found.suspects)):
        grid, cells, weight = found.cells_of(number)
        if id(grid) not in telling_apart:
            telling_apart[id(grid)] = _differs(grid.cells, moved)
        seen[number] = float(weight @ telling_apart[id(grid)][cells])
    return seen


def _differs(cells: Cells, moved: Moved) -> Array:
    """Return whether what is watched shows something else in each cell than in the healthy circuit."""
    if hasattr(moved.probe, "clip"):
        share, _ = cells.lamp_share(moved.setup, moved.probe)
        looks = telling.lamp_looks(share)
        return 1 - sum(look * look[0] for look in looks.values())
    value = cells.read(moved.setup, [moved.probe]).value[:, 0]
    healthy = value[0]
    if not math.isfinite(healthy):
        return np.where(np.isnan(value) == math.isnan(healthy), value != healthy, True).astype(float)
    scale = cells.supply_v if moved.probe.unit == "V" else abs(healthy)
    return (~np.isfinite(value) | (np.abs(np.nan_to_num(value) - healthy) > _SEEN_SHARE * scale)).astype(float)


# --- pairs ----------------------------------------------------------------------------------------------------------


def slips(found: Inference) -> Array:
    """Return for each reading, in the order of the grid's keys, how probable it is that it is a slip."""
    singles, n_faults = found.singles, found.n_faults
    if not len(singles.keys):
        return np.zeros(0)
    fault = singles.cells.index
    believed = found.probability[:n_faults + 1][fault] * _within(singles.log_always, fault, n_faults + 1)
    total = (1 - singles.fits) @ believed
    # Where a fault that comes and goes is away, the reading is that of a healthy circuit.
    coming, fault = found.probability[n_faults + 1:2 * n_faults + 1], fault[1:] - 1
    believed = coming[fault] * _within(singles.log_now_and_then, fault, n_faults)
    total += (1 - np.maximum(singles.fits[:, 1:], singles.fits[:, :1])) @ believed
    if found.pairs is not None:
        pair = found.pairs.cells.index
        both = np.concatenate([[0.0], found.probability[2 * n_faults + 1:]])
        total += (1 - found.pairs.fits) @ (both[pair] * _within(found.pairs.log_always, pair, len(both)))
    return total


def _within(logs: Array, index: NDArray[np.int64], count: int) -> Array:
    """Return how probable each cell is among those of its fault."""
    largest = np.full(count, -np.inf)
    np.maximum.at(largest, index, logs)
    weight = np.exp(logs - largest[index])
    return weight / np.maximum(np.bincount(index, weight, count), 1e-300)[index]


def _needs_pairs(found: Inference) -> bool:
    return bool(found.n_faults > 1 and slips(found).sum() > _SLIPS_FOR_PAIRS)


def _pairs_fitted(found: Inference) -> Fit | None:
    """Return the grid of the pairs that explain the readings best; None where there is no pair."""
    weight = _weight_of(found)
    chosen = likely_pairs(found.singles, weight, _PAIRS_FIRST)
    if not chosen:
        return None
    # First all of them roughly, then the best ones finely.
    rough = _pair_logs(_fitted(found, chosen, _PAIR_CELLS_FIRST))
    best = np.argsort(-rough, kind="stable")[:_PAIRS_FINER].tolist()
    return _fitted(found, [chosen[number] for number in best], _PAIR_CELLS_FINER)


def _fitted(found: Inference, pairs: list[tuple[Fault, Fault]], size: int) -> Fit:
    found.options.check()
    cells = Cells(found.circuit, ((), *pairs), size, found.singles.cells)
    return fit(cells, found.evidence, with_now_and_then=False)


def _pair_logs(grid: Fit) -> Array:
    """Return the log density of all readings with each pair; shape (n_pairs,)."""
    return _mean_logs(grid.log_always, grid.cells.index, len(grid.cells.faults))[1:]


def _weight_of(found: Inference) -> dict[Fault, float]:
    faults, weight = fault_weights(found.circuit, found.options.weights)
    return dict(zip(faults, weight, strict=True))


def _with_pairs(found: Inference, log_evidence: Array, grid: Fit) -> Inference:
    """Return the inference with pairs as further suspects."""
    weight = _weight_of(found)
    pairs = grid.cells.faults[1:]
    suspects = (*found.suspects, *(Suspect(pair) for pair in pairs))
    # A pair is as likely as its two faults at once; those that are not looked at hardly explain anything.
    pair_prior = np.array([2 * weight[first] * weight[second] for first, second in pairs])
    prior = np.concatenate([found.prior * (1 - TWO_FAULTS), TWO_FAULTS * pair_prior])
    more = replace(found, suspects=suspects, prior=prior / prior.sum(), probability=np.zeros(len(prior)), pairs=grid)
    logs = np.concatenate([log_evidence, _pair_logs(grid) + _log_without_cells(more, found.evidence)[-len(pairs):]])
    return replace(more, probability=posterior(prior, logs))


__all__ = ["HEALTHY", "SEVERAL", "STILL", "Inference", "Options", "infer", "log_of_suspects", "shows", "slips"]
