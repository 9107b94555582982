"""What every page has: a desk, a body that scrolls down but never sideways, and fields that save."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from workshop_log.desktop.fields import Form, LineField, TextField

if TYPE_CHECKING:
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.records import Job


class Page(QWidget):
    """One page of the job. Subclasses fill `body` and override `show_job`."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.forms: list[Form] = []
        # A page that is not seen is brought up to date when it is turned to.
        self._stale = True
        self._number = ""

    def register(self, form: Form) -> Form:
        """Save what is typed into `form`."""
        self.forms.append(form)
        form.edited.connect(self.on_edited)
        return form

    @Slot(str, str)
    def on_edited(self, path: str, text: str) -> None:
        """Save a field, and say under it what is wrong with it."""
        problem = self.desk.edit(path, text)
        for form in self.forms:
            if path in form.fields:
                form.show_note(path, problem, problem=True)
                if problem and isinstance(form.fields[path], LineField | TextField):
                    form.fields[path].refuse()

    def outdate(self) -> None:
        """Know that what the page shows no longer stands: it is shown anew when the page is seen."""
        self._stale = True

    def refresh(self, job: Job | None) -> None:
        """Show `job` now if the page is seen and has not caught up yet."""
        if self._stale and self.isVisible():
            self._show(job)

    def _show(self, job: Job | None) -> None:
        number = job.number if job is not None else ""
        if number != self._number:
            self._number = number
            # What was refused in another job must not stand in this one.
            for form in self.forms:
                form.forget_refused()
        self._stale = False
        self.show_job(job)

    def showEvent(self, event: object) -> None:
        """Catch up with what changed while another page was seen."""
        super().showEvent(event)
        if self._stale:
            self._show(self.desk.job)

    def show_job(self, job: Job | None) -> None:
        """Show `job`."""
        raise NotImplementedError

    def hand_over(self) -> None:
        """Save whatever is still being typed."""
        for form in self.forms:
            form.hand_over()

    def first_focus(self) -> QWidget | None:
        """Return the widget that gets the keyboard when the page is turned to."""
        return None


def scrolling(columns: tuple[QVBoxLayout, ...], stretches: tuple[int, ...]) -> QScrollArea:
    """Return an area that scrolls down with `columns` side by side."""
    body = QWidget()
    body.setProperty("part", "page-body")
    row = QHBoxLayout(body)
    row.setContentsMargins(16, 14, 16, 18)
    row.setSpacing(16)
    for column, stretch in zip(columns, stretches, strict=True):
        column.setSpacing(14)
        column.addStretch(1)
        row.addLayout(column, stretch)
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setWidget(body)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    return area
