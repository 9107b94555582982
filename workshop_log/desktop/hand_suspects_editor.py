"""Suspects written by hand, where no circuit is described: added, weighed, cleared and supported by steps."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Slot
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QComboBox, QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import PlainLine, QuietBox, TakeBackRow, empty, label

if TYPE_CHECKING:
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.records import Bearing, HandSuspect, Job

SAYS = (("clears", "clears it"), ("supports", "supports it"))
STRENGTHS = (("slight", "slightly"), ("fair", "fairly"), ("strong", "strongly"))
_BEARS = {"slight": "slightly", "fair": "", "strong": "strongly"}
_STEP_WORDS_PX = 240


def bearing_words(bearing: Bearing) -> str:
    """Return what a step says of a suspect: "s4 clears it strongly"."""
    return " ".join(filter(None, (bearing.step, bearing.says, "it", _BEARS[bearing.strength])))


class HandSuspectsEditor(QWidget):
    """A line to write a suspect down; for the chosen one its weight and what the steps say of it."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self._job: Job | None = None
        self._chosen = self._step = ""
        self.name, self.weight = PlainLine(), PlainLine()
        self.name.setPlaceholderText("what could it be?")
        self.name.setAccessibleName("A suspect to write down")
        self.add = QPushButton("Add")
        self.about = QFrame()
        self.about.setProperty("part", "card")
        self.title = label("", "strong")
        self.weight.setAccessibleName("How often it is the cause, compared with the others")
        self.weight.setToolTip("How often it is the cause, compared with the others: 2 for twice as often")
        self.take_off = QPushButton("Take off the list")
        self.steps, self.says, self.strength = QuietBox(), QuietBox(), QuietBox()
        for box, name, choices in ((self.steps, "Step that says something of it", ()),
                                   (self.says, "What the step says", SAYS),
                                   (self.strength, "How strongly", STRENGTHS)):
            box.setAccessibleName(name)
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            box.setMinimumContentsLength(8)
            for value, words in choices:
                box.addItem(words, value)
        self.strength.setCurrentIndex(1)
        self.note = QPushButton("Note it")
        for widget in (self.name, self.add, self.weight, self.take_off, self.steps, self.says, self.strength,
                       self.note):
            widget.setMinimumHeight(theme.TARGET_PX)
        self._bearings = QVBoxLayout()
        self._bearings.setSpacing(2)
        self._lay_out()
        self.name.returnPressed.connect(self.on_add)
        self.add.clicked.connect(self.on_add)
        self.weight.editingFinished.connect(self.on_weight)
        self.take_off.clicked.connect(self.on_take_off)
        self.note.clicked.connect(self.on_note)
        self.about.hide()

    def _lay_out(self) -> None:
        written = QHBoxLayout()
        written.addWidget(self.name, 1)
        written.addWidget(self.add)
        weighed = QHBoxLayout()
        weighed.addWidget(label("Weight", "faint"))
        weighed.addWidget(self.weight, 1)
        weighed.addWidget(self.take_off)
        said = QHBoxLayout()
        said.addWidget(self.says, 1)
        said.addWidget(self.strength, 1)
        self.step_row = QWidget()
        step = QVBoxLayout(self.step_row)
        step.setContentsMargins(0, 0, 0, 0)
        step.addWidget(self.steps)
        step.addLayout(said)
        step.addWidget(self.note)
        inside = QVBoxLayout(self.about)
        inside.setContentsMargins(10, 8, 10, 10)
        inside.addWidget(self.title)
        inside.addLayout(weighed)
        inside.addLayout(self._bearings)
        inside.addWidget(self.step_row)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 4, 0, 6)
        column.addLayout(written)
        column.addWidget(self.about)

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_job(self, job: Job) -> None:
        """Show the suspects and steps of a job; the chosen suspect stays."""
        if self._job is None or job.number != self._job.number:
            self._chosen = ""
            self.name.clear()
        self._job = job
        self._list_steps()
        self._show_chosen()

    def choose(self, suspect: str) -> None:
        """Show what can be said of a suspect; of what nobody has written down nothing can."""
        self._chosen = suspect
        self._show_chosen()

    def set_step(self, step: str) -> None:
        """Offer the step that is chosen in the table."""
        self._step = step
        row = self.steps.findData(step)
        if row >= 0:
            self.steps.setCurrentIndex(row)

    def suspect(self) -> HandSuspect | None:
        """Return the chosen suspect."""
        if self._job is None:
            return None
        return next((one for one in self._job.suspects if one.id == self._chosen), None)

    def _list_steps(self) -> None:
        from workshop_log.jobs.labels import step_title

        replaced = {step.replaces for step in self._job.steps if step.replaces}
        offered = [step for step in self._job.steps if step.id not in replaced and not step.after_repair]
        wanted = self.steps.currentData() or self._step
        self.steps.clear()
        metrics = QFontMetrics(self.steps.font())
        for step in reversed(offered):
            words = f"{step.id}  {step_title(step, self._job)}"
            self.steps.addItem(metrics.elidedText(words, Qt.TextElideMode.ElideRight, _STEP_WORDS_PX), step.id)
            self.steps.setItemData(self.steps.count() - 1, words, Qt.ItemDataRole.ToolTipRole)
        self.steps.setCurrentIndex(max(0, self.steps.findData(wanted)))
        self.step_row.setVisible(bool(offered))

    def _show_chosen(self) -> None:
        suspect = self.suspect()
        self.about.setVisible(suspect is not None)
        if suspect is None:
            return
        self.title.setText(suspect.name or suspect.id)
        if not (self.weight.hasFocus() and self.weight.isModified()):
            self.weight.setText(f"{suspect.weight:g}")
        empty(self._bearings)
        for bearing in suspect.bearings:
            row = TakeBackRow(bearing_words(bearing), bearing.step)
            row.taken_back.connect(self.take_back)
            self._bearings.addWidget(row)

    # --- what the person does ----------------------------------------------------------------------------------------

    @Slot()
    def on_add(self) -> None:
        """Write a suspect down."""
        from workshop_log.jobs.hand_suspects import add_suspect

        name = self.name.text().strip()
        if name and self.desk.add("suspects", add_suspect, name):
            self.name.clear()

    @Slot()
    def on_weight(self) -> None:
        """Weigh the chosen suspect against the others."""
        from workshop_log.jobs.hand_suspects import edit_suspect

        suspect = self.suspect()
        if suspect is None or not self.weight.isModified():
            return
        self.weight.setModified(False)
        if not self.desk.do(edit_suspect, suspect.id, weight=self.weight.text()):
            self.weight.setText(f"{suspect.weight:g}")

    @Slot()
    def on_take_off(self) -> None:
        """Take the chosen suspect off the list; can be undone."""
        suspect = self.suspect()
        if suspect is not None:
            self.desk.remove("suspects", suspect.id)

    @Slot()
    def on_note(self) -> None:
        """Note what the chosen step says of the chosen suspect."""
        self._bear(self.steps.currentData(), self.says.currentData(), self.strength.currentData())

    @Slot(str)
    def take_back(self, step: str) -> None:
        """Take back what a step says of the chosen suspect."""
        self._bear(step, "", "fair")

    def _bear(self, step: str | None, says: str, strength: str) -> None:
        from workshop_log.jobs.hand_suspects import bear

        suspect = self.suspect()
        if suspect is not None and step:
            self.desk.do(bear, suspect.id, step, says, strength)
