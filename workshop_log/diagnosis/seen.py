"""What a step could have seen of a suspect, from the grid: the sizes of its fault that the step's result rules out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.electrics import faults as kinds
from workshop_log.electrics.faults import limits
from workshop_log.electrics.numeric import np
from workshop_log.electrics.reach import Band, Reach

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.diagnosis.cells import Cells
    from workshop_log.diagnosis.inference import Inference

# A size is ruled out by a reading that it makes so many times less probable than the best size of all does.
_RULED_OUT = 50.0


def seen_by(found: Inference, number: int, step: str) -> Reach | None:
    """Return what a step could have seen of a suspect; None where it was no reading, or the suspect is no single fault.

    Parameters
    ----------
    found : Inference
        With the step's evidence in it.
    number : int
        Of the suspect.
    step : str
        The step's id.
    """
    suspect = found.suspects[number]
    grid = found.singles
    rows = [row for row, each in enumerate(grid.steps) if each == step]
    if len(suspect.faults) != 1 or not rows:
        return None
    fault = grid.cells.faults.index(suspect.faults)
    cells = grid.cells.cells_of(fault)
    logs = grid.log_each[rows]
    ruled_out = (logs[:, cells] < logs.max(axis=1, keepdims=True) - np.log(_RULED_OUT)).any(axis=0)
    return reach_of_cells(grid.cells, fault, ruled_out)


def reach_of_clear(cells: Cells, setup: str, probe, band: Band) -> tuple[Reach, ...]:
    """Return for every single fault how much of it a test with a healthy result would rule out."""
    value = cells.read(setup, [probe]).value[:, 0]
    seen = np.isnan(value)
    if band.low is not None:
        seen |= value < band.low
    if band.high is not None:
        seen |= value > band.high
    return tuple(reach_of_cells(cells, fault, seen[cells.cells_of(fault)]) for fault in range(1, len(cells.faults)))


def reach_of_cells(cells: Cells, fault: int, seen: NDArray[np.bool_]) -> Reach:
    """Return the sizes of a fault that are seen, as one limit: from the worst size on, as far as it goes."""
    one = cells.faults[fault][0]
    if not one.has_amount:
        return Reach(one, bool(seen[0]), every_size=bool(seen[0]))
    amounts = cells.amount[cells.cells_of(fault), 0]
    if one.kind == kinds.HIGH_RESISTANCE:
        amounts, seen = amounts[::-1], seen[::-1]
    if not seen[0]:
        return Reach(one, seen=False)
    if seen.all():
        low, high = limits(cells.circuit.element(one.element), one.kind)
        return Reach(one, seen=True, limit=low if one.kind == kinds.HIGH_RESISTANCE else high, every_size=True)
    last = int(np.argmin(seen))
    middle = (amounts[last - 1] + amounts[last]) / 2 if one.unit == "V" else (amounts[last - 1] * amounts[last]) ** 0.5
    return Reach(one, seen=True, limit=float(middle))
