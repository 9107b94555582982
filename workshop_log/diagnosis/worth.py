"""What it is worth to know more before deciding, in the unit of the losses.

A decision has a loss in each state; a test has outcomes, each with a probability in each state. Whoever decides takes
what costs least on average, before the test and after each of its outcomes.

References
----------
.. [1] Raiffa, Decision Analysis (1968): expected value of sample information and of perfect information.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


def expected_loss(loss: Array, belief: Array) -> float:
    """Return what the best decision costs on average now.

    Parameters
    ----------
    loss : NDArray
        Of each decision in each state; shape (n_decisions, n_states).
    belief : NDArray
        Probability of each state; shape (n_states,).
    """
    return float((loss @ belief).min())


def expected_losses_after(loss: Array, joint: Array) -> Array:
    """Return what the best decision costs on average after each of several tests; shape (n_tests,).

    Parameters
    ----------
    loss : NDArray
        Shape (n_decisions, n_states).
    joint : NDArray
        Probability of each state together with each outcome; shape (n_tests, n_states, n_outcomes).
    """
    return np.einsum("as,tso->toa", loss, joint).min(axis=2).sum(axis=1)


def worth_of_test(loss: Array, belief: Array, table: Array) -> float:
    """Return by how much a test lowers the expected loss, its own cost not counted; never negative.

    Parameters
    ----------
    loss, belief
        As `expected_loss`.
    table : NDArray
        Probability of each outcome in each state; shape (n_states, n_outcomes).
    """
    joint = (belief[:, None] * table)[None]
    return max(expected_loss(loss, belief) - float(expected_losses_after(loss, joint)[0]), 0.0)


def worth_of_certainty(loss: Array, belief: Array) -> float:
    """Return by how much it would lower the expected loss to know the state: no test is worth more."""
    return expected_loss(loss, belief) - float(loss.min(axis=0) @ belief)
