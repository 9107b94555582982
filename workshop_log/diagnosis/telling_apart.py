"""Which suspects no allowed measurement can tell from one another."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.diagnosis.candidates import candidates
from workshop_log.diagnosis.outcomes import hypotheses_of, outcomes
from workshop_log.electrics.numeric import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from workshop_log.diagnosis.candidates import Access
    from workshop_log.diagnosis.inference import Inference

# Two suspects are told apart by a test whose outcome tells more than this of which of the two it is. [bit]
APART_FROM_BITS = 0.02


def told_apart(found: Inference, suspects: tuple[int, ...], access: Access) -> NDArray[np.bool_]:
    """Return whether some allowed measurement tells two suspects apart; shape (n, n).

    Looks and swaps do not count: they go to a part directly, and measure nothing.
    """
    n = len(suspects)
    apart = np.zeros((n, n), dtype=bool)
    if n < 2:
        return apart
    tests = tuple(one for one in candidates(found.circuit, access)
                  if one.kind in ("voltage", "current", "resistance", "lamp"))
    of = hypotheses_of(found, suspects)
    table = outcomes(found, of, tests).table
    # What each suspect shows, over its sizes; the first hypothesis is the healthy circuit.
    weight = np.zeros((n, len(of)))
    for row, number in enumerate(suspects):
        mine = of.suspect == number
        weight[row, mine] = of.probability[mine] / of.probability[mine].sum()
    shown = np.einsum("sh,thb->tsb", weight, table)
    own = _entropy(shown)
    for row in range(n):
        mixture = _entropy((shown + shown[:, row:row + 1]) / 2)
        bits = mixture - (own + own[:, row:row + 1]) / 2
        apart[row] = (bits > APART_FROM_BITS).any(axis=0)
    return apart


def _entropy(table):
    return -(table * np.log2(np.maximum(table, 1e-300))).sum(axis=-1)
