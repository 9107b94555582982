"""The line under the tabs that says that a job is a colleague's question, or that a colleague answered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import label, tip

if TYPE_CHECKING:
    from workshop_log.book.opinions import LaidBeside

ASKED = "A colleague asks for a second opinion."
GOES_BACK = "Notes and tests that you make here go back with the answer."
# As much as takes three lines at most: the page is for the work.
_LONGEST = 300


class OpinionLine(QWidget):
    """Not seen where there is nothing to say.

    Signals
    -------
    read_wanted
        The answers shall be read beside the job.
    answer_wanted
        The answer to the colleague's question shall be written.
    """

    read_wanted = Signal()
    answer_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "band")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.words = label("", "faint")
        self.act = QPushButton("")
        self.act.setProperty("part", "quiet")
        self.act.setMinimumHeight(theme.TARGET_PX - 10)
        row = QHBoxLayout(self)
        row.setContentsMargins(16, 2, 12, 2)
        row.setSpacing(12)
        row.addWidget(self.words, 1)
        row.addWidget(self.act)
        self._is_question = False
        self.act.clicked.connect(self.on_act)
        self.hide()

    def show_question(self, question: str) -> None:
        """Say that the job is a colleague's question, and what is asked."""
        self._is_question = True
        asked = f"A colleague asks: “{_short(question)}”" if question else ASKED
        self.words.setText(f"{asked} {GOES_BACK}")
        self.words.setToolTip(tip(question))
        self.act.setText("Send the answer back…")
        self.show()

    def show_answers(self, laid: tuple[LaidBeside, ...]) -> None:
        """Say how many answers lie beside the job, and the last one's writer; none hides the line."""
        self._is_question = False
        self.setVisible(bool(laid))
        if not laid:
            return
        number = "1 answer from a colleague" if len(laid) == 1 else f"{len(laid)} answers from colleagues"
        self.words.setText(f"{number}: {_short(laid[-1].by)}, {laid[-1].received_at.astimezone():%d %b %Y}")
        self.words.setToolTip("")
        self.act.setText("Read it beside the job…" if len(laid) == 1 else "Read them beside the job…")

    @Slot()
    def on_act(self) -> None:
        """Tell what is wanted."""
        (self.answer_wanted if self._is_question else self.read_wanted).emit()


def _short(words: str) -> str:
    plain = " ".join(words.split())
    return plain if len(plain) <= _LONGEST else f"{plain[:_LONGEST - 1].rstrip()}…"
