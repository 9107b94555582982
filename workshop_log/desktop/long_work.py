"""Work that may take longer than half a second: done beside the window, with its progress shown and a way to end it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QWidget
from shiboken6 import isValid

from workshop_log.desktop import theme
from workshop_log.desktop.fields import label
from workshop_log.desktop.workers import run_in_background
from workshop_log.progress import Cancelled, Left

if TYPE_CHECKING:
    from workshop_log.desktop.desk import Desk

# Work that is done sooner shows nothing: a strip that only flashes disturbs.
SHOWN_AFTER_MS = 400
LOOK_EVERY_MS = 100
# Steps of the bar.
_WHOLE = 1000


class Piece:
    """One piece of work: how far it is, and whether anybody still waits for it."""

    def __init__(self, words: str) -> None:
        self.words = words
        # Of a thousand; nothing while it has not said. Written by the work's thread, read by the window's.
        self.done: int | None = None
        self._ended = threading.Event()
        self._is_left = False

    def cancel(self) -> None:
        """End the work at its next word."""
        self._ended.set()

    def leave(self) -> None:
        """End the work because the window closes."""
        self._is_left = True
        self._ended.set()

    @property
    def is_cancelled(self) -> bool:
        """Whether nobody waits for it any more."""
        return self._ended.is_set()

    def tell(self, done: int, total: int) -> None:
        """Be the work's `Progress`."""
        if self._ended.is_set():
            raise Left if self._is_left else Cancelled
        self.done = _WHOLE * done // max(total, 1)


class LongWork(QObject):
    """The long work of one window.

    Signals
    -------
    changed
        A piece of work began or ended.
    """

    changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._desk = desk
        self.pieces: list[Piece] = []

    def begin(self, words: str, function: Callable[..., Any], *args: Any, finished: Callable[[Any], None],
              failed: Callable[[str], None] | None = None, cancelled: Callable[[], None] | None = None,
              whose: QObject | None = None) -> Piece:
        """Run `function(*args, progress)` on another thread and call one of the last three on this one.

        Parameters
        ----------
        words : str
            What is being done, as the strip shows it: "Copying the book".
        function : callable
            Knows no Qt and no widget; opens its own sessions of the book. Its last argument is a `Progress`.
        *args
            Immutable values, and perhaps the book.
        finished : callable
            Gets what the function returned.
        failed : callable, optional
            Gets a sentence for the person; without it the sentence is shown above the page.
        cancelled : callable, optional
            Called where the person ended it; without it this is said in passing.
        whose : QObject, optional
            Whose callables these are, as a dialog's: once it is gone, none of them is called.
        """
        piece = Piece(words)
        self.pieces.append(piece)

        def is_heard() -> bool:
            return whose is None or isValid(whose)

        def ended(outcome: tuple[bool, Any]) -> None:
            self._drop(piece)
            is_whole, result = outcome
            if not is_heard():
                return
            if is_whole:
                finished(result)
            elif cancelled is not None:
                cancelled()
            else:
                self._desk.told.emit(f"{words}: ended, nothing was changed.")

        def could_not(sentence: str) -> None:
            self._drop(piece)
            if failed is None:
                self._desk.problem.emit(sentence)
            elif is_heard():
                failed(sentence)

        run_in_background(_watched, function, args, piece, parent=self, finished=ended, failed=could_not)
        self.changed.emit()
        return piece

    def cancel_all(self) -> None:
        """End everything that still runs: the window closes."""
        for piece in self.pieces:
            piece.leave()

    def _drop(self, piece: Piece) -> None:
        self.pieces.remove(piece)
        self.changed.emit()


def _watched(function: Callable[..., Any], args: tuple[Any, ...], piece: Piece) -> tuple[bool, Any]:
    """Return whether the work came to its end, and what it returned."""
    try:
        return True, function(*args, piece.tell)
    except Cancelled:
        return False, None


class WorkStrip(QWidget):
    """The strip at the foot of the window: what is being done, how far it is, and the button that ends it."""

    def __init__(self, work: LongWork, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.work = work
        self.words = label("")
        self.bar = QProgressBar()
        self.bar.setTextVisible(False)
        self.bar.setFixedHeight(8)
        self.bar.setAccessibleName("How far it is")
        self.end = QPushButton("Cancel")
        self.end.setMinimumHeight(theme.TARGET_PX - 10)
        row = QHBoxLayout(self)
        row.setContentsMargins(14, 4, 12, 4)
        row.setSpacing(12)
        row.addWidget(self.words)
        row.addWidget(self.bar, 1)
        row.addWidget(self.end)
        self.end.clicked.connect(self.on_end)
        self.setProperty("part", "band")
        self.hide()
        self._patience = QTimer(self)
        self._patience.setSingleShot(True)
        self._patience.setInterval(SHOWN_AFTER_MS)
        self._patience.timeout.connect(self.on_patience)
        self._look = QTimer(self)
        self._look.setInterval(LOOK_EVERY_MS)
        self._look.timeout.connect(self.on_look)
        work.changed.connect(self.on_changed)

    @Slot()
    def on_changed(self) -> None:
        """Begin to watch, or leave, when work began or ended."""
        if not self.work.pieces:
            self._patience.stop()
            self._look.stop()
            self.hide()
        elif self.isHidden() and not self._patience.isActive():
            self._patience.start()
        elif not self.isHidden():
            self.on_look()

    @Slot()
    def on_patience(self) -> None:
        if self.work.pieces:
            self.on_look()
            self.show()
            self._look.start()

    @Slot()
    def on_look(self) -> None:
        """Show the oldest piece of work as far as it is."""
        if not self.work.pieces:
            return
        piece = self.work.pieces[0]
        others = len(self.work.pieces) - 1
        self.words.setText(f"{piece.words} …" + (f" and {others} more" if others else ""))
        # A bar from nothing to nothing moves to and fro: how far it is, is not known.
        self.bar.setRange(0, 0 if piece.done is None else _WHOLE)
        self.bar.setValue(piece.done or 0)
        self.end.setEnabled(not piece.is_cancelled)

    @Slot()
    def on_end(self) -> None:
        """End the work that is shown."""
        if self.work.pieces:
            self.work.pieces[0].cancel()
            self.on_look()
