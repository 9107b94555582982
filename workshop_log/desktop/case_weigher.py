"""The figures of all cases of a job, worked out beside the window, and dropped when they are outdated."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from workshop_log.desktop.workers import run_in_background

if TYPE_CHECKING:
    from decimal import Decimal

    from workshop_log.exchange.records import Condemned, Job
    from workshop_log.jobs.weighing import Offer, Weighed


class _Errand:
    """The cases of one moment, on a snapshot that nothing changes any more.

    Attributes
    ----------
    is_outdated : bool
        Set by the window's thread; the work looks at it often and stops.
    """

    __slots__ = ("cases", "come_back", "is_outdated", "job")

    def __init__(self, job: Job, cases: tuple[Condemned, ...], come_back: Decimal | None) -> None:
        self.job, self.cases, self.come_back = job, cases, come_back
        self.is_outdated = False


class CaseWeigher(QObject):
    """Works out what the figures say about each case, and which suspects may be worth one.

    Signals
    -------
    weighed : object
        A `Weighed` for each case, by the id of its entry.
    offered : object
        A tuple of `Offer`.
    failed : str
        Why nothing could be worked out.
    """

    weighed = Signal(object)
    offered = Signal(object)
    failed = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._running: _Errand | None = None
        self._key: tuple[object, ...] = ()

    @property
    def is_busy(self) -> bool:
        """Whether the figures of this moment are being worked out."""
        return self._running is not None

    def ask(self, job: Job, cases: tuple[Condemned, ...], come_back: Decimal | None) -> None:
        """Work out the figures of `cases`, unless they were asked for as they are and nothing has changed since."""
        from workshop_log.jobs.weighing import basis_of

        key = (job.number, job.circuits, job.suspects, *((case.id, basis_of(job, case, come_back)) for case in cases),
               job.steps, job.instruments)
        if key == self._key:
            return
        self.stop()
        self._key = key
        if not job.circuits and not job.suspects:
            self.offered.emit(())
            self.weighed.emit({})
            return
        self._running = errand = _Errand(job, cases, come_back)
        run_in_background(_work_out, errand, parent=self, finished=partial(self._finished, errand),
                          failed=partial(self._failed, errand))

    def stop(self) -> None:
        """Let go of what runs; what is asked for next is worked out anew."""
        self._key = ()
        if self._running is not None:
            self._running.is_outdated = True
            self._running = None

    def _finished(self, errand: _Errand, found: tuple[dict[str, Weighed], tuple[Offer, ...]] | None) -> None:
        if errand.is_outdated or found is None:
            return
        self._running = None
        weighed, offers = found
        self.weighed.emit(weighed)
        self.offered.emit(offers)

    def _failed(self, errand: _Errand, problem: str) -> None:
        if errand.is_outdated:
            return
        self._running = None
        self.failed.emit(problem)


def _work_out(errand: _Errand) -> Any:
    """Work the figures out, on a thread that is not the window's; None where they were outdated before."""
    # Here and not above: numpy comes with it, and is loaded with the first circuit.
    from workshop_log.diagnosis.outdated import Outdated
    from workshop_log.jobs.weighing import weigh_all

    def is_outdated() -> bool:
        return errand.is_outdated

    try:
        return weigh_all(errand.job, errand.cases, errand.come_back, is_outdated)
    except Outdated:
        return None
