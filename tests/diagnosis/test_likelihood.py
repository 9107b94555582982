"""Readings weighed together against the textbook."""

from __future__ import annotations

import math

import numpy as np
import pytest
from diagnosis.circuits import POINTS, Voltage, feed, read
from scipy.stats import multivariate_normal

from workshop_log.diagnosis import likelihood
from workshop_log.diagnosis.cells import Cells
from workshop_log.diagnosis.likelihood import Whitened
from workshop_log.diagnosis.telling import normal_below


@pytest.fixture
def told(monkeypatch):
    """Return what five readings make of the healthy cell alone, with no slip and no wide tail."""
    monkeypatch.setattr(likelihood, "_WIDE_PART", 0.0)
    circuit = feed()
    cells = Cells(circuit, ((),))
    readings = [read(circuit, f"s{n}", Voltage(point), None, off_v=0.03) for n, point in enumerate(POINTS)]
    cells.prepare(tuple(readings))
    made = [cells.told(reading) for reading in readings]
    return [type(one)(one.residual, one.moved, one.columns, one.spread, one.noise, one.slip * 0, one.believed * 0 + 1,
                      one.binds, one.is_number) for one in made]


def test_whitened_readings_have_the_density_of_the_multivariate_normal(told):
    """Without slips the product of the factors is scipy's multivariate normal density with the shared covariance."""
    whitened = Whitened([(str(n), one) for n, one in enumerate(told)])
    total = sum(float(row.log_factor[0]) for row in whitened.rows)
    width = 1 + max(int(one.columns.max()) for one in told)
    moved = np.zeros((len(told), width))
    for row, one in zip(moved, told, strict=True):
        row[one.columns] = one.moved[0]
    # Columns too small to matter are left out of what is shared, not out of each reading's own spread.
    covariance = moved @ moved.T
    np.fill_diagonal(covariance, [one.spread[0] + one.noise[0] for one in told])
    exact = multivariate_normal(cov=covariance).logpdf([one.residual[0] for one in told])
    assert math.isclose(total, exact, rel_tol=1e-9)


def test_the_order_of_whitening_does_not_matter_without_slips(told):
    """A density of all together is the same whichever reading comes first."""
    forward = Whitened([(str(n), one) for n, one in enumerate(told)])
    backward = Whitened([(str(n), one) for n, one in reversed(list(enumerate(told)))])
    sums = [sum(float(row.log_factor[0]) for row in whitened.rows) for whitened in (forward, backward)]
    assert math.isclose(*sums, rel_tol=1e-9)


def test_what_was_whitened_before_is_used_again(told):
    """A longer list keeps the rows of its beginning, and computes the rest as from nothing."""
    pairs = [(str(n), one) for n, one in enumerate(told)]
    shorter = Whitened(pairs[:3])
    longer = Whitened(pairs, shorter)
    assert longer.rows[:3] == shorter.rows
    anew = Whitened(pairs)
    assert [row.log_factor[0] for row in longer.rows] == [row.log_factor[0] for row in anew.rows]


@pytest.mark.parametrize("z", [-6.0, -2.0, -0.5, 0.0, 0.3, 1.96, 5.0])
def test_normal_below_is_the_error_function(z):
    """Φ(z) = (1 + erf(z/√2)) / 2, by Python's own erf."""
    assert math.isclose(float(normal_below(np.array(z))), (1 + math.erf(z / math.sqrt(2))) / 2, abs_tol=1e-7)
