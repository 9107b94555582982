"""Which two faults together may explain what no single one does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from workshop_log.diagnosis.inference import Fit
    from workshop_log.electrics.faults import Fault


def likely_pairs(fit: Fit, weight: dict[Fault, float], count: int) -> list[tuple[Fault, Fault]]:
    """Return the pairs of faults of different elements that promise most, the best first.

    A pair promises what the better of its two faults makes of each reading, at the size that suits the reading best:
    that is too hopeful, and only a choice of what is computed in full.

    Parameters
    ----------
    fit : Fit
        The grid of single faults.
    weight : dict
        How likely each fault is.
    count : int
        How many pairs at most.
    """
    faults = [each[0] for each in fit.cells.faults[1:]]
    if not len(fit.keys):
        return []
    starts = fit.cells.starts[1:-1]
    best = np.maximum.reduceat(fit.log_each[:, :], starts, axis=1)
    best = np.maximum(best, fit.log_each[:, :1])
    log_weight = np.log(np.maximum([weight[fault] for fault in faults], 1e-300))
    promise = np.maximum(best[:, :, None], best[:, None, :]).sum(axis=0) + log_weight[:, None] + log_weight[None, :]
    element = np.array([list(fit.cells.circuit.by_id).index(fault.element) for fault in faults])
    promise[element[:, None] >= element[None, :]] = -np.inf
    order = np.argsort(-promise, axis=None, kind="stable")[:count]
    rows, columns = np.unravel_index(order, promise.shape)
    return [(faults[row], faults[column]) for row, column in zip(rows.tolist(), columns.tolist(), strict=True)
            if np.isfinite(promise[row, column])]
