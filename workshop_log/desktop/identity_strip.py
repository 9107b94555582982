"""What is always visible of a job: plate, vehicle, complaint in one line, the clock, cautions."""

from __future__ import annotations

from datetime import datetime

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import set_part, tip


class ElidedLabel(QLabel):
    """A label of one line that ends in … where the room ends, with the whole text as tool tip."""

    def __init__(self, part: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", part)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._whole = ""

    def set_whole(self, text: str) -> None:
        """Show `text`, shortened where needed."""
        self._whole = " ".join(text.split())
        self.setToolTip(tip(self._whole))
        self.setAccessibleName(self._whole)
        self._fit()

    def resizeEvent(self, event: object) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        self.setText(self.fontMetrics().elidedText(self._whole, Qt.TextElideMode.ElideRight, max(40, self.width())))


class IdentityStrip(QWidget):
    """The strip on top of a job.

    Signals
    -------
    clock_pressed
        The clock shall be started on this job, or stopped.
    caution_pressed
        The cautions shall be shown in full.
    """

    clock_pressed = Signal()
    caution_pressed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "band")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.plate = QLabel("")
        self.plate.setTextFormat(Qt.TextFormat.PlainText)
        self.plate.setProperty("part", "plate")
        self.vehicle = ElidedLabel("")
        self.complaint = ElidedLabel("faint")
        self.waits = ElidedLabel("")
        self.caution = QPushButton("")
        self.caution.setProperty("part", "quiet")
        self.caution.setAccessibleName("Cautions for this job")
        self.clock = QPushButton("Start the clock")
        self.clock.setMinimumHeight(theme.TARGET_PX)
        self.clock.setMinimumWidth(170)
        self.clock.setCheckable(True)

        text = QGridLayout()
        text.setHorizontalSpacing(14)
        text.setVerticalSpacing(1)
        text.addWidget(self.vehicle, 0, 0)
        text.addWidget(self.complaint, 1, 0)
        text.setColumnStretch(0, 1)
        row = QHBoxLayout(self)
        row.setContentsMargins(16, 8, 16, 8)
        row.setSpacing(14)
        row.addWidget(self.plate)
        row.addLayout(text, 1)
        row.addWidget(self.caution)
        row.addWidget(self.clock)

        self._started: datetime | None = None
        self._tick = QTimer(self)
        self._tick.setInterval(1000)
        self._tick.timeout.connect(self.on_tick)
        self.clock.clicked.connect(self.on_clock)
        self.caution.clicked.connect(self.caution_pressed)

    def show_job(self, plate: str, vehicle: str, complaint: str, cautions: tuple[str, ...]) -> None:
        """Show who this job is about, and how many cautions it has."""
        self.plate.setText(plate or "no plate yet")
        self.vehicle.set_whole(vehicle)
        self.complaint.set_whole(complaint)
        self.caution.setVisible(bool(cautions))
        self.caution.setText(f"⚠ {cautions[0]}" if len(cautions) == 1 else f"⚠ {len(cautions)} cautions")
        self.caution.setToolTip(tip("\n".join(cautions)))

    def show_clock(self, started: datetime | None, *, here: bool, where: str = "", forgotten: bool = False) -> None:
        """Show the running line: here, on another job, or none."""
        self._started = started if here else None
        self.clock.setChecked(here)
        self.clock.setToolTip("")
        if started is None:
            self.clock.setText("Start the clock")
        elif here:
            self.on_tick()
        else:
            self.clock.setText("Switch the clock here")
            self.clock.setToolTip(f"The clock runs on job {where}; it ends there and starts here in one press.")
        if here:
            self._tick.start()
        else:
            self._tick.stop()
        set_part(self.clock, "problem", forgotten)

    @Slot()
    def on_clock(self) -> None:
        # What the button shows follows the book, not the press.
        self.clock.setChecked(self._started is not None)
        self.clock_pressed.emit()

    @Slot()
    def on_tick(self) -> None:
        """Count on."""
        if self._started is None:
            return
        seconds = int((datetime.now().astimezone() - self._started).total_seconds())
        hours, rest = divmod(max(0, seconds), 3600)
        self.clock.setText(f"■  {hours}:{rest // 60:02}:{rest % 60:02}   Stop")
        self.clock.setAccessibleName(f"Stop the clock, {hours} hours {rest // 60} minutes")


def facts_line(*facts: str) -> str:
    """Return the facts that are there, with a dot between them."""
    return "  ·  ".join(fact for fact in facts if fact)


