"""Work off the window's thread: a function that knows no Qt gets a snapshot and reports back."""

from __future__ import annotations

import logging
import os
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from functools import cache
from typing import Any

from PySide6.QtCore import QObject, Qt, QThread, Signal, Slot
from shiboken6 import isValid

from workshop_log.errors import WorkshopLogError

log = logging.getLogger("workshop_log.workers")
# Of 19: a thread of this niceness gets a tenth of what an ordinary one gets, and all that nobody wants.
_NICENESS = 10

# Imported behind the first paint so that the first click need not wait for them.
HEAVY = ("sqlalchemy.orm", "workshop_log.book.opening", "workshop_log.book.jobs", "workshop_log.book.search",
         "workshop_log.jobs.intake", "workshop_log.jobs.evaluation", "workshop_log.jobs.clock",
         "workshop_log.measuring.entry", "workshop_log.electrics.solver", "workshop_log.desktop.pages.testing",
         "workshop_log.desktop.pages.intake", "workshop_log.desktop.pages.case", "workshop_log.desktop.pages.money",
         "workshop_log.desktop.pages.report", "reportlab.platypus", "workshop_log.paper.report")


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

    What the function returned stays in Python: only the news that it is there crosses the threads as a signal.

    Signals
    -------
    done
        The work is done, one way or the other.
    """

    done = Signal()

    def __init__(self, whose: QObject, finished: Callable[[Any], None], failed: Callable[[str], None]) -> None:
        # No child of whoever wants it: with a closed dialog it would be gone while the other thread still speaks to it.
        super().__init__()
        self._whose, self._finished, self._failed = whose, finished, failed
        self._result: Any = None
        self._problem: str | None = None
        # A slot of an object of the window's thread: it runs there, whoever sends.
        self.done.connect(self.on_done, Qt.ConnectionType.QueuedConnection)

    def work(self, function: Callable[..., Any], args: tuple[Any, ...]) -> None:
        """Do the work, on a thread that is not the window's, and say when it is done."""
        try:
            self._result = function(*args)
        except WorkshopLogError as error:
            self._problem = str(error)
        except Exception as error:
            log.exception("work failed")
            self._problem = (f"This could not be done because of a fault in the program: {error!r}. "
                             "The job itself is safe; the details are in the program's log.")
        self.done.emit()

    @Slot()
    def on_done(self) -> None:
        """Hand the outcome over, on the window's thread; nobody is left to hear it where the window was closed."""
        _answers.discard(self)
        if not isValid(self._whose):
            return
        if self._problem is None:
            self._finished(self._result)
        else:
            self._failed(self._problem)


# Answers that are still to come: whoever wants one need not keep it.
_answers: set[Answer] = set()
# Work that is not done yet, and how much was begun at all.
_under_way: set[Future[None]] = set()
_begun = [0]


@cache
def _workers() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(max_workers=2, thread_name_prefix="work", initializer=stand_back)


def stand_back() -> None:
    """Let the window have the processor before this thread, where the system knows that of single threads."""
    if sys.platform == "linux":
        os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), _NICENESS)


def wait_for_work(seconds: float) -> bool:
    """Wait until all work is done; return whether it was done in time."""
    return not wait(tuple(_under_way), timeout=seconds).not_done


def work_begun() -> int:
    """Return how much work was begun so far: whoever waits for all of it sees by this whether more followed."""
    return _begun[0]


def run_in_background(function: Callable[..., Any], *args: Any, parent: QObject,
                      finished: Callable[[Any], None], failed: Callable[[str], None]) -> None:
    """Run `function(*args)` on another thread and call `finished` or `failed` on this one.

    Both are given before the work begins: it may be done before this thread comes to its next line.

    Parameters
    ----------
    function : Callable
        Knows no Qt.
    *args : Any
        Immutable values, never a widget or a session.
    parent : QObject
        Whose work this is: once it is gone, nobody is told.
    finished, failed : Callable
        Get what the function returned, or a sentence for the person.
    """
    answer = Answer(parent, finished, failed)
    _answers.add(answer)
    work = _workers().submit(answer.work, function, args)
    _begun[0] += 1
    _under_way.add(work)
    work.add_done_callback(_under_way.discard)
