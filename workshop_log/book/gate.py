"""Who may be in the book's file: sessions of any thread, or nobody while a file dialog is open.

A file dialog looks into the files that it lists, and on POSIX systems a process loses its locks on a file when anything
in it opens and closes that file. What works beside the window waits at the gate meanwhile.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

# Longer than any single session lasts; work that lasts longer steps aside between its parts. [s]
_PATIENCE = 5.0


class Gate:
    """Lets sessions in, any number of them, until somebody closes it."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        # How many sessions each thread is in.
        self._inside: dict[int, int] = {}
        self._closed_by: int | None = None

    @contextmanager
    def passed(self) -> Iterator[None]:
        """Be inside; waits while somebody else has closed the gate."""
        self._enter()
        try:
            yield
        finally:
            self._leave()

    def step_aside(self) -> None:
        """Between two parts of a long piece of work inside: let whoever wants to close the gate do so."""
        self._leave()
        self._enter()

    def close(self) -> None:
        """Wait until all others are outside, and keep them there; a session that never ends is not waited for."""
        me = threading.get_ident()
        with self._changed:
            self._changed.wait_for(lambda: self._closed_by in (None, me))
            self._closed_by = me
            self._changed.wait_for(lambda: not any(thread != me for thread in self._inside), timeout=_PATIENCE)

    def open(self) -> None:
        """Let everybody in again."""
        with self._changed:
            self._closed_by = None
            self._changed.notify_all()

    def _enter(self) -> None:
        me = threading.get_ident()
        with self._changed:
            # Whoever is inside already goes on: it is waited for.
            if me not in self._inside:
                self._changed.wait_for(lambda: self._closed_by in (None, me))
            self._inside[me] = self._inside.get(me, 0) + 1

    def _leave(self) -> None:
        me = threading.get_ident()
        with self._changed:
            self._inside[me] -= 1
            if not self._inside[me]:
                del self._inside[me]
            self._changed.notify_all()
