"""What is still possible, worked out beside the window: one thing after the other, and dropped when it is outdated."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple

from PySide6.QtCore import QObject, Signal

from workshop_log.desktop.workers import run_in_background

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal

    from workshop_log.exchange.records import Job, Step

# The most urgent first: the bar, what it would be if, what cleared what, the next test, how the bar moved. What runs
# makes way for what is more urgent, and is begun again afterwards.
SUSPICION, SUPPOSED, COMPLETE, PROPOSALS, HISTORY = "suspicion", "supposed", "complete", "proposals", "history"
_URGENCY = (SUSPICION, SUPPOSED, COMPLETE, PROPOSALS, HISTORY)


class Basis(NamedTuple):
    """What everything is worked out from.

    Attributes
    ----------
    job : Job
        As it stands.
    circuit : str
        The circuit's id; blank for the suspects written by hand.
    usual_minutes : Mapping[str, float] | None
        How long each kind of test takes in this workshop.
    come_back : Decimal | None
        What a vehicle costs the workshop that comes back.
    """

    job: Job
    circuit: str
    usual_minutes: Mapping[str, float] | None = None
    come_back: Decimal | None = None


class _Errand:
    """One thing to work out, on a snapshot that nothing changes any more.

    Attributes
    ----------
    is_outdated : bool
        Set by the window's thread; the work looks at it often and stops.
    """

    __slots__ = ("basis", "is_outdated", "is_put_off", "kind", "step")

    def __init__(self, kind: str, basis: Basis, step: Step | None) -> None:
        self.kind, self.basis, self.step = kind, basis, step
        self.is_outdated = self.is_put_off = False


class SuspicionWorker(QObject):
    """Works out what is still possible in one circuit, then what to test next; how it came and what if, when asked.

    Signals
    -------
    suspicion_found : object, bool
        The `CircuitSuspicion`, with its `problem` where nothing could be worked out. First with the shares alone, then,
        which True says, with what cleared each suspect, what no measurement tells apart and what contradicts.
    proposals_found : object, str
        A tuple of `Proposal`, and why there is none where that could not be worked out.
    history_found : object
        A tuple of `Moment`.
    supposed : object, object
        A step that was not made, and the `CircuitSuspicion` that there would be with it.
    """

    suspicion_found = Signal(object, bool)
    proposals_found = Signal(object, str)
    history_found = Signal(object)
    supposed = Signal(object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._basis: Basis | None = None
        self._key: tuple[object, ...] = ()
        # What is still to be worked out: kind, and the step of a supposition.
        self._wanted: dict[str, Step | None] = {}
        self._running: _Errand | None = None

    @property
    def is_busy(self) -> bool:
        """Whether something is being worked out, or waits for it."""
        return self._running is not None or bool(self._wanted)

    def ask(self, basis: Basis) -> bool:
        """Work out what is still possible and what to test next; return whether anything has to be.

        Nothing has to be where no fact that counts has changed since the last time.
        """
        key = _what_counts(basis)
        if key == self._key:
            return False
        self.stop()
        self._key, self._basis = key, basis
        # What is written by hand is worked out at a stroke, and nothing is proposed for it, nor for a vehicle that was
        # handed back.
        wanted = (SUSPICION, COMPLETE) if basis.circuit else (COMPLETE,)
        is_in_work = bool(basis.circuit) and basis.job.handed_back is None
        self._wanted = dict.fromkeys((*wanted, PROPOSALS) if is_in_work else wanted)
        self._go_on()
        return True

    def ask_history(self) -> None:
        """Work out how the bar moved."""
        self._want(HISTORY, None)

    def suppose(self, step: Step | None) -> None:
        """Work out what would be possible with a step that was not made; None for not any more."""
        if step is None:
            self._wanted.pop(SUPPOSED, None)
            if self._running is not None and self._running.kind == SUPPOSED:
                self._running.is_outdated = True
        else:
            self._want(SUPPOSED, step)

    def stop(self) -> None:
        """Let go of everything; what is asked for next is worked out anew."""
        self._wanted.clear()
        self._key = ()
        if self._running is not None:
            self._running.is_outdated, self._running.is_put_off = True, False

    def _want(self, kind: str, step: Step | None) -> None:
        if not self._key:
            return
        self._wanted[kind] = step
        running = self._running
        if running is not None and not running.is_outdated:
            if running.kind == kind:
                running.is_outdated = True
            elif _URGENCY.index(kind) < _URGENCY.index(running.kind):
                running.is_outdated = running.is_put_off = True
        self._go_on()

    def _go_on(self) -> None:
        if self._running is not None:
            return
        kind = next((kind for kind in _URGENCY if kind in self._wanted), None)
        if kind is None:
            return
        self._running = errand = _Errand(kind, self._basis, self._wanted.pop(kind))
        run_in_background(_work_out, errand, parent=self, finished=partial(self._finished, errand),
                          failed=partial(self._failed, errand))

    def _finished(self, errand: _Errand, found: Any) -> None:
        self._running = None
        if errand.is_put_off:
            self._wanted.setdefault(errand.kind, errand.step)
        elif not errand.is_outdated:
            self._deliver(errand, found, "")
        self._go_on()

    def _failed(self, errand: _Errand, problem: str) -> None:
        self._running = None
        if not errand.is_outdated:
            self._deliver(errand, None, problem)
        self._go_on()

    def _deliver(self, errand: _Errand, found: Any, problem: str) -> None:
        if errand.kind in (SUSPICION, SUPPOSED, COMPLETE) and problem:
            from workshop_log.jobs.suspicion import CircuitSuspicion

            found = CircuitSuspicion(errand.basis.circuit, _title(errand.basis), problem=problem)
        match errand.kind:
            case "suspicion" | "complete":
                self.suspicion_found.emit(found, errand.kind == COMPLETE)
            case "supposed":
                self.supposed.emit(errand.step, found)
            case "proposals":
                self.proposals_found.emit(found or (), problem)
            case "history":
                self.history_found.emit(found or ())


def _what_counts(basis: Basis) -> tuple[object, ...]:
    """Return the facts that what is possible, and what to test next, rest on."""
    job = basis.job
    return (*basis[1:], job.number, job.vehicle, job.workshop, job.complaints, job.instruments, job.circuits, job.steps,
            job.suspects, job.access, job.condemned, job.handed_back is None)


def _title(basis: Basis) -> str:
    return next((c.title or c.id for c in basis.job.circuits if c.id == basis.circuit), basis.circuit)


def _work_out(errand: _Errand) -> Any:
    """Work one thing out, on a thread that is not the window's; None where it was outdated before it was done."""
    # Here and not above: numpy comes with it, and is loaded with the first circuit.
    from workshop_log.diagnosis.outdated import Outdated
    from workshop_log.jobs import suspecting

    job, circuit, usual_minutes, come_back = errand.basis

    def is_outdated() -> bool:
        return errand.is_outdated

    try:
        match errand.kind:
            case "suspicion" | "complete":
                return suspecting.suspicion_of(job, circuit, is_outdated, complete=errand.kind == COMPLETE)
            case "supposed":
                return suspecting.what_if(job, circuit, errand.step, is_outdated)
            case "proposals":
                return suspecting.proposals_of(job, circuit, is_outdated=is_outdated, usual_minutes=usual_minutes,
                                               come_back=come_back)
            case _:
                return suspecting.history_of(job, circuit, is_outdated)
    except Outdated:
        return None
