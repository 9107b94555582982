"""Suspects of a job from its circuits and steps: how likely each is, by what it was cleared, what to test next.

Every function is pure and needs no window; the window calls them in a thread of its own and may ask them to stop.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job, Step
    from workshop_log.jobs.suspicion import CircuitSuspicion, Decision, Moment, Proposal


def suspicion_of(job: Job, circuit: str, is_outdated: Callable[[], bool] | None = None) -> CircuitSuspicion:
    """Return what is still possible in one circuit of a job; an empty id for the suspects written by hand."""
    raise NotImplementedError


def proposals_of(job: Job, circuit: str, count: int = 3,
                 is_outdated: Callable[[], bool] | None = None) -> tuple[Proposal, ...]:
    """Return the tests that are worth making next, the best first."""
    raise NotImplementedError


def history_of(job: Job, circuit: str, is_outdated: Callable[[], bool] | None = None) -> tuple[Moment, ...]:
    """Return how the bar moved: before the first step, and after each one that counts."""
    raise NotImplementedError


def what_if(job: Job, circuit: str, step: Step, is_outdated: Callable[[], bool] | None = None) -> CircuitSuspicion:
    """Return what would be possible if this step were taken down, without taking it down."""
    raise NotImplementedError


def decision_of(job: Job, circuit: str, element: str,
                is_outdated: Callable[[], bool] | None = None) -> Decision | None:
    """Return what condemning an element now would cost on average, against the best test first."""
    raise NotImplementedError
