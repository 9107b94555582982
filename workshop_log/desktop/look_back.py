"""How the bar of what is still possible moved, step by step: a slider, what was done, and the way back to now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt, Signal, Slot
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSlider, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import label

if TYPE_CHECKING:
    from workshop_log.jobs.suspicion import Moment


class _QuietSlider(QSlider):
    """A slider that the wheel does not move: somebody scrolls past it."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page."""
        event.ignore()


class LookBack(QWidget):
    """A slider over the steps that count, its right end is now; below it what is looked back at.

    Signals
    -------
    history_wanted
        The person looks back, and how the bar moved is not known yet.
    moment_chosen : object
        A `Moment` shall be shown, or None for now.
    """

    history_wanted = Signal()
    moment_chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._moments: tuple[Moment, ...] = ()
        self.slider = _QuietSlider(Qt.Orientation.Horizontal)
        self.slider.setMinimumHeight(theme.TARGET_PX)
        self.slider.setAccessibleName("Look back, step by step")
        self.slider.setPageStep(1)
        self.words = label("", "strong")
        self.now = QPushButton("Back to now")
        self.now.setMinimumHeight(theme.TARGET_PX)
        self.caption = label("Look back", "faint")
        self.caption.setWordWrap(False)
        # Stands beside a heading.
        self.handle = QWidget()
        row = QHBoxLayout(self.handle)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(10)
        row.addStretch(1)
        row.addWidget(self.caption)
        row.addWidget(self.slider, 2)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.words)
        column.addWidget(self.now)
        self.slider.valueChanged.connect(self.on_moved)
        self.now.clicked.connect(self.on_now)
        self.forget(0)

    @property
    def is_back(self) -> bool:
        """Whether something else than now is shown."""
        return self.slider.value() < self.slider.maximum()

    def forget(self, n_steps: int) -> None:
        """Begin anew at now, with so many steps to look back at; without any there is nothing to show."""
        self._moments = ()
        with QSignalBlocker(self.slider):
            self.slider.setRange(0, n_steps)
            self.slider.setValue(n_steps)
        self.handle.setVisible(n_steps > 0)
        self._tell()

    def show_moments(self, moments: tuple[Moment, ...]) -> None:
        """Take what was worked out, and show the moment at which the slider stands."""
        self._moments = moments
        from_now = self.slider.maximum() - self.slider.value()
        with QSignalBlocker(self.slider):
            self.slider.setRange(0, max(len(moments) - 1, 0))
            self.slider.setValue(self.slider.maximum() - from_now)
        self._tell()
        if self.is_back:
            self.moment_chosen.emit(moments[self.slider.value()])

    def _tell(self) -> None:
        words = ""
        if self.is_back and self._moments:
            moment = self._moments[self.slider.value()]
            words = f"after {moment.step}: {moment.title}" if moment.step else moment.title
        elif self.is_back:
            words = "Working out how it moved…"
        self.words.setText(words)
        self.setVisible(self.is_back)
        self.slider.setAccessibleDescription(words or "now")

    @Slot()
    def on_moved(self) -> None:
        """Show the moment at which the slider stands."""
        self._tell()
        if not self.is_back:
            self.moment_chosen.emit(None)
        elif self._moments:
            self.moment_chosen.emit(self._moments[self.slider.value()])
        else:
            self.history_wanted.emit()

    @Slot()
    def on_now(self) -> None:
        """Go back to now."""
        self.slider.setFocus()
        self.slider.setValue(self.slider.maximum())
