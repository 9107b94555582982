"""The entry line: one line typed at the vehicle, understood while it is typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import label, set_part

if TYPE_CHECKING:
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.records import Expected, Instrument, Job, Step
    from workshop_log.jobs.places import Place
    from workshop_log.jobs.suspicion import Proposal

# A pause this long keeps what has been typed as a draft.
DRAFT_PAUSE_MS = 400
HINT = "12.4 V at battery +    ·    0.48 V strap body to engine while cranking <0.2 V    ·    look strap damage"


class EntryBar(QWidget):
    """The entry line with what it means under it.

    Signals
    -------
    recorded : str
        The id of the step that was just recorded.
    place_left
        The place of the circuit is let go of.
    range_wanted
        The expected range of the next reading shall be chosen from a source.
    supposed : object
        The `Step` that is being typed, or None where none is: what would it mean?
    """

    recorded = Signal(str)
    place_left = Signal()
    range_wanted = Signal()
    supposed = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        # The step that is corrected or made again, and how.
        self._template: Step | None = None
        self._mode = ""
        # A point or an element of the circuit that was pressed.
        self._place: Place | None = None
        # The proposed test that is being made there.
        self._taken: Proposal | None = None
        # An expected range chosen from a source, for the next reading.
        self._expected: Expected | None = None
        # The instrument in the hand, or None for the default one.
        self.instrument: Instrument | None = None
        self._number = ""

        self.line = QLineEdit()
        self.line.setProperty("part", "entry")
        self.line.setPlaceholderText(HINT)
        self.line.setAccessibleName("Entry line: one test step")
        self.line.setMinimumHeight(theme.TARGET_PX + 4)
        self.range = QPushButton("Range…")
        self.range.setToolTip(
            "Choose the expected range: the workshop's list, common practice, a sensor, a conductor, a battery"
        )
        self.take = QPushButton("Take down")
        self.take.setProperty("part", "main")
        for button in (self.range, self.take):
            button.setMinimumHeight(theme.TARGET_PX + 4)
        self.because = QLineEdit()
        self.because.setPlaceholderText("why the earlier entry is corrected")
        self.because.setAccessibleName("Reason for the correction")
        self.because.setMinimumHeight(theme.TARGET_PX)
        self.because.hide()
        self.understood = label("", "hint")
        # Two lines always: what is below stays where it is while somebody types.
        self.understood.setMinimumHeight(2 * self.understood.fontMetrics().lineSpacing())
        self.understood.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.chip = QPushButton("")
        self.chip.setProperty("part", "quiet")
        self.chip.hide()

        row = QHBoxLayout()
        row.addWidget(self.line, 1)
        row.addWidget(self.range)
        row.addWidget(self.take)
        below = QHBoxLayout()
        below.addWidget(self.understood, 1)
        below.addWidget(self.chip)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(5)
        column.addLayout(row)
        column.addWidget(self.because)
        column.addLayout(below)

        self._draft = QTimer(self)
        self._draft.setSingleShot(True)
        self._draft.setInterval(DRAFT_PAUSE_MS)
        self._draft.timeout.connect(self.save_draft)
        self.line.textChanged.connect(self.on_typed)
        self.line.returnPressed.connect(self.on_take)
        self.because.returnPressed.connect(self.on_take)
        self.take.clicked.connect(self.on_take)
        self.range.clicked.connect(self.range_wanted)
        self.chip.clicked.connect(self.on_chip)

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_job(self, job: Job) -> None:
        """Begin with what was being typed when this job was last left."""
        if job.number == self._number:
            self._explain()
            return
        self._number = job.number
        self._leave_template()
        self._place = self._taken = None
        self._expected = None
        from workshop_log.book.drafts import load_draft

        with self.desk.book.read() as session:
            text = load_draft(session, self._draft_key)
        self.line.setText(text or "")
        self._draft.stop()
        self._explain()

    @property
    def _draft_key(self) -> str:
        return f"{self._number}/entry line"

    @Slot()
    def save_draft(self) -> None:
        """Keep what is being typed."""
        self._draft.stop()
        if not self._number:
            return
        from workshop_log.book.drafts import save_draft

        def keep() -> None:
            with self.desk.book.session() as session:
                save_draft(session, self._draft_key, self.line.text())

        self.desk.attempt(keep)

    @Slot(str)
    def on_typed(self, _text: str) -> None:
        self._draft.start()
        self._explain()

    def _explain(self) -> None:
        """Say how the line is understood, or where it is not."""
        if self.desk.job is None:
            return
        self.supposed.emit(self._explained())

    def _explained(self) -> Step | None:
        """Say how the line is understood, or where it is not; return the step that is being typed, if it is a new one.

        A correction takes the place of another step, and what is made after the repair says nothing of the fault.
        """
        text = self.line.text()
        if self._template is not None:
            what = "Corrects" if self._mode == "correct" else "Again after the repair:"
            from workshop_log.jobs.labels import step_title

            lead = f"{what} step {self._template.id}, {step_title(self._template, self.desk.job)}. "
            self._say(lead + ("" if text.strip() else "Type the new reading."), problem=False)
            if not text.strip():
                return None
            _, words, problem = self._proposal()
            self._say(problem or lead + words, problem=bool(problem))
            return None
        if self._taken is not None and not text.strip():
            from workshop_log.jobs.supposing import hint_for

            healthy = f" Healthy: {self._taken.healthy}." if self._taken.healthy else ""
            self._say(f"{self._taken.title}. {hint_for(self._taken)}{healthy}", problem=False)
            return None
        if self._place is not None and not text.strip():
            from workshop_log.jobs.places import healthy_words, place_words

            healthy = healthy_words(self._place, self.desk.job)
            self._say(f"{place_words(self._place, self.desk.job)}. {healthy}", problem=False)
            return None
        if not text.strip():
            self._say(
                "One line for one test: what it showed, where, “while” under what condition, and what it should be.",
                problem=False,
            )
            return None
        step, words, problem = self._proposal()
        self._say(problem or words, problem=bool(problem))
        return step

    def _say(self, words: str, *, problem: bool) -> None:
        self.understood.setText(words)
        set_part(self.understood, "part", "problem" if problem else "hint")

    def _proposal(self) -> tuple[Step | None, str, str]:
        """Return the step that the line stands for, how it was understood, and what is wrong with it."""
        from workshop_log.jobs import testing

        if self._template is not None:
            read = testing.read_again(self.line.text(), self._template, self.desk.job,
                                      after_repair=self._mode == "again", expected=self._expected,
                                      instrument=self.instrument)
        elif self._taken is not None:
            from workshop_log.jobs.supposing import read_result

            read = read_result(self.line.text(), self._taken, self.desk.job, expected=self._expected,
                               instrument=self.instrument)
        elif self._place is not None:
            from workshop_log.jobs.places import read_at

            read = read_at(self.line.text(), self._place, self.desk.job, expected=self._expected,
                           instrument=self.instrument)
        else:
            read = testing.read_entry_line(self.line.text(), self.desk.job, expected=self._expected,
                                           instrument=self.instrument)
        return read.step, read.words, read.problem

    # --- what the person does ----------------------------------------------------------------------------------------

    def set_expected(self, expected: Expected | None, words: str = "") -> None:
        """Hold the next reading against `expected`."""
        self._expected = expected
        self.chip.setVisible(expected is not None)
        self.chip.setText(f"{words}  ✕")
        self.chip.setAccessibleName(f"Expected range {words}; press to leave it out")
        self._explain()
        self.line.setFocus()

    def set_place(self, place: Place | None) -> None:
        """Take the next reading at a place of the circuit; None lets go of it."""
        self._leave_template()
        self._place, self._taken = place, None
        self.line.setPlaceholderText("reading, lit, dim, dark…" if place is not None and place.point else
                                     "current, damage, nothing, works, 3/10…" if place is not None else HINT)
        self._explain()
        if place is not None:
            self.line.setFocus()

    def make_next(self, proposal: Proposal) -> None:
        """Make a proposed test next, at its place."""
        self.set_place(proposal.place)
        self._taken = proposal
        self._explain()

    def correct(self, step: Step) -> None:
        """Make the line correct `step`."""
        self._begin(step, "correct")

    def again(self, step: Step) -> None:
        """Make the line repeat `step` after the repair."""
        self._begin(step, "again")

    def _begin(self, step: Step, mode: str) -> None:
        from workshop_log.jobs.testing import words_to_retype

        self._template, self._mode = step, mode
        self.because.setVisible(mode == "correct")
        self.because.clear()
        self.take.setText("Correct" if mode == "correct" else "Take down")
        self.line.setText(words_to_retype(step) if mode == "correct" else "")
        self.line.setFocus()
        self.line.selectAll()
        self._explain()

    def _leave_template(self) -> None:
        self._template, self._mode = None, ""
        self.because.hide()
        self.take.setText("Take down")

    @Slot()
    def on_chip(self) -> None:
        self.set_expected(None)

    @Slot()
    def on_take(self) -> None:
        """Record the step; what is wrong stays in the line with the reason under it."""
        from workshop_log.jobs import testing

        if self.desk.job is None or not self.line.text().strip():
            return
        step, _, problem = self._proposal()
        if step is None:
            self._say(problem, problem=True)
            return
        if self._mode == "correct":
            if not self.because.text().strip():
                self._say("A correction needs a reason: both entries stay in the record.", problem=True)
                self.because.setFocus()
                return
            done = self.desk.do(testing.correct_step, self._template.id, step, self.because.text().strip(), now(),
                                instrument=self.instrument)
        else:
            refused = self._refusal(step)
            if refused:
                self._say(refused, problem=True)
                return
            done = self.desk.do(testing.record_step, step, now(), instrument=self.instrument)
        if done:
            self._leave_template()
            # The place stays for the next reading; the proposed test is made.
            self._taken = None
            self.set_expected(None)
            self.line.clear()
            self.save_draft()
            self._explain()
            self.recorded.emit(self.desk.job.steps[-1].id)

    def _refusal(self, step: Step) -> str:
        """Return why this step is refused because it could hurt, or nothing."""
        from workshop_log.jobs.cautions import step_refused

        return step_refused(step, self.desk.job) or ""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave a correction, or empty the line, with Escape."""
        if event.key() == Qt.Key.Key_Escape:
            if self._template is not None:
                self._leave_template()
            elif self._place is not None and not self.line.text():
                self.place_left.emit()
            self.line.clear()
            self._explain()
            return
        super().keyPressEvent(event)
