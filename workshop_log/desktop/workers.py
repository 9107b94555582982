"""Work off the window's thread: a function that knows no Qt gets a snapshot and reports back."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, QRunnable, QThread, QThreadPool, Signal, Slot

from workshop_log.errors import WorkshopLogError

log = logging.getLogger("workshop_log.workers")

# Imported behind the first paint so that the first click need not wait for them.
HEAVY = ("sqlalchemy.orm", "workshop_log.book.opening", "workshop_log.book.jobs", "workshop_log.book.search",
         "workshop_log.jobs.intake", "workshop_log.jobs.evaluation", "workshop_log.jobs.clock",
         "workshop_log.measuring.entry", "reportlab.platypus", "workshop_log.paper.report")


class WarmUp(QThread):
    """Imports the heavy libraries once the window stands."""

    @Slot()
    def begin(self) -> None:
        """Start, behind everything that a person waits for."""
        self.start(WarmUp.Priority.LowPriority)

    def run(self) -> None:
        """Import one library after the other."""
        import importlib

        for name in HEAVY:
            if self.isInterruptionRequested():
                return
            importlib.import_module(name)


class Answer(QObject):
    """Carries the outcome of a piece of work back to the window's thread.

    Signals
    -------
    finished : object
        What the function returned.
    failed : str
        A sentence for the person.
    """

    finished = Signal(object)
    failed = Signal(str)


class _Work(QRunnable):
    def __init__(self, function: Callable[..., Any], args: tuple[Any, ...], answer: Answer) -> None:
        super().__init__()
        self._function, self._args, self._answer = function, args, answer

    @Slot()
    def run(self) -> None:
        try:
            result = self._function(*self._args)
        except WorkshopLogError as error:
            self._answer.failed.emit(str(error))
        except Exception as error:
            log.exception("work failed")
            self._answer.failed.emit(f"This could not be done because of a fault in the program: {error!r}. "
                                     "The job itself is safe; the details are in the program's log.")
        else:
            self._answer.finished.emit(result)


def run_in_background(function: Callable[..., Any], *args: Any, parent: QObject) -> Answer:
    """Run `function(*args)` on another thread; `args` are immutable values, never a widget or a session."""
    answer = Answer(parent)
    answer.finished.connect(answer.deleteLater)
    answer.failed.connect(answer.deleteLater)
    QThreadPool.globalInstance().start(_Work(function, args, answer))
    return answer
