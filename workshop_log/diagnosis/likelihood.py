"""How well all readings together fit each cell of the grid.

Tolerances are shared between readings (the same battery, the same wire), so that readings are not independent: they
are whitened one after the other by a running Cholesky factorisation of their covariance. A reading that a cell can
explain only as a slip of eye or hand must not pull the shared parameters with it: each takes part in what follows only
with the probability that it is no slip there (`weight`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.diagnosis.cells import Told

    Array = NDArray[np.float64]

_ROOT_TWO_PI = 2.5066282746310002
# Tolerances are guesses: now and then an element lies so many times as far from its value.
_WIDE, _WIDE_PART = 2.5, 0.1
_LEAST = 1e-300


@dataclass(frozen=True)
class _Row:
    """One reading after those before it.

    Attributes
    ----------
    before : NDArray
        Its share of each earlier reading, times that reading's weight; shape (n_before, n_cells).
    plain : NDArray
        The same without the weights.
    z : NDArray
        Whitened residual; shape (n_cells,).
    deviation : NDArray
        Standard deviation of the reading given those before; shape (n_cells,).
    weight : NDArray
        How far it takes part in what follows; shape (n_cells,).
    log_factor : NDArray
        Log of the reading's density given those before; shape (n_cells,).
    fits : NDArray
        Probability that it is no slip; shape (n_cells,).
    """

    before: Array = field(repr=False)
    plain: Array = field(repr=False)
    z: Array
    deviation: Array
    weight: Array
    log_factor: Array
    fits: Array


class Whitened:
    """Readings whitened in the order given.

    Parameters
    ----------
    told : sequence of (key, Told)
        In order; the key tells one reading from another.
    known : Whitened | None
        One that may share a beginning and the products of readings with this one.
    cells : slice | NDArray
        Which cells; all unless said. `known` must be of the same.
    """

    def __init__(self, told: list[tuple[str, Told]], known: Whitened | None = None,
                 cells: slice | NDArray[np.int64] = slice(None)) -> None:
        self.keys = [key for key, _ in told]
        self._told = [one for _, one in told]
        self._cells = cells
        self._products: dict[tuple[str, str], Array] = known._products if known is not None else {}
        self.rows: list[_Row] = []
        if known is not None:
            for mine, theirs, row in zip(self.keys, known.keys, known.rows, strict=False):
                if mine != theirs:
                    break
                self.rows.append(row)
        while len(self.rows) < len(told):
            self.rows.append(self._next())

    def _product(self, one: int, other: int) -> Array:
        """Return the covariance of two predictions by what they share; shape (n_cells,)."""
        key = self.keys[one], self.keys[other]
        if key not in self._products:
            first, second = self._told[one], self._told[other]
            common, mine, theirs = np.intersect1d(first.columns, second.columns, return_indices=True)
            if len(common):
                product = np.einsum("np,np->n", first.moved[self._cells][:, mine], second.moved[self._cells][:, theirs])
            else:
                product = np.zeros(len(first.residual[self._cells]))
            self._products[key] = self._products[key[::-1]] = product
        return self._products[key]

    def _next(self) -> _Row:
        number = len(self.rows)
        told = self._told[number]
        residual, noise = told.residual[self._cells], told.noise[self._cells]
        variance = told.spread[self._cells] + noise
        n_cells = len(residual)
        plain, before = np.zeros((number, n_cells)), np.zeros((number, n_cells))
        mean = np.zeros(n_cells)
        for earlier, row in enumerate(self.rows):
            if not row.weight.any():
                continue
            share = self._product(number, earlier)
            if earlier:
                share = share - np.einsum("mn,mn->n", before[:earlier], row.plain)
            plain[earlier] = share / row.deviation
            before[earlier] = row.weight * plain[earlier]
            mean += before[earlier] * row.z
            variance = variance - before[earlier] * plain[earlier]
        deviation = np.sqrt(np.maximum(variance, noise))
        believed, slip = told.believed[self._cells], told.slip[self._cells]
        if not told.is_number:
            chance = believed + slip
            nothing = np.zeros(n_cells)
            return _Row(before, plain, nothing, deviation, nothing, np.log(np.maximum(chance, _LEAST)),
                        believed / np.maximum(chance, _LEAST))
        z = np.where(np.isfinite(residual), (np.where(np.isfinite(residual), residual, 0.0) - mean) / deviation, 1e9)
        narrow = np.exp(-0.5 * np.minimum(z * z, 1400.0))
        wide = np.exp(-0.5 * np.minimum((z / _WIDE) ** 2, 1400.0)) / _WIDE
        density = believed * ((1 - _WIDE_PART) * narrow + _WIDE_PART * wide) / (_ROOT_TWO_PI * deviation)
        chance = np.maximum(density + slip, _LEAST)
        fits = density / chance
        weight = np.where(told.binds[self._cells], fits, 0.0)
        return _Row(before, plain, np.where(np.abs(z) < 1e8, z, 0.0), deviation, weight, np.log(chance), fits)
