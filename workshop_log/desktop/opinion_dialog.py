"""A colleague's answer beside the job: how it stands here, how it stands there, and what they wrote."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import QuietBox, empty, label

if TYPE_CHECKING:
    from workshop_log.book.opening import Book
    from workshop_log.book.opinions import LaidBeside
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.records import Job, Note
    from workshop_log.jobs.comparison import Comparison, Difference
    from workshop_log.progress import Progress

BESIDE_WORDS = "The answer lies beside the job. Nothing of it enters the job unless you copy a note."
# Attribute of the comparison and its heading, in the order of reading.
SECTIONS = (("causes", "What is likely the cause"), ("parts", "Parts"), ("readings", "Readings"), ("tests", "Tests"),
            ("described", "What is described differently"))


class OpinionDialog(QDialog):
    """Shows the answers that lie beside the open job, one at a time."""

    def __init__(self, parent: QWidget | None, desk: Desk, laid: tuple[LaidBeside, ...]) -> None:
        super().__init__(parent)
        self.setWindowTitle(f"What colleagues think of job {desk.job.number}")
        self.resize(1080, 660)
        self._desk, self._laid = desk, laid
        self.which = QuietBox()
        self.which.setAccessibleName("Which answer")
        for opinion in laid:
            self.which.addItem(f"{opinion.by}, {opinion.received_at.astimezone():%d %b %Y %H:%M}")
        self.which.setCurrentIndex(len(laid) - 1)
        self.which.setMinimumHeight(theme.TARGET_PX)
        self.which.setVisible(len(laid) > 1)
        self.heading = label("", "heading")
        self.state = label("", "faint")
        inside = QWidget()
        self.body = QVBoxLayout(inside)
        self.body.setContentsMargins(0, 0, 10, 0)
        self.body.setSpacing(8)
        self.scroll = QScrollArea()
        self.scroll.setWidgetResizable(True)
        self.scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroll.setAccessibleName("The answer")
        self.scroll.setWidget(inside)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.button(QDialogButtonBox.StandardButton.Close).setMinimumHeight(theme.TARGET_PX)
        buttons.rejected.connect(self.reject)
        head = QHBoxLayout()
        head.addWidget(self.heading, 1)
        head.addWidget(self.which)
        foot = QHBoxLayout()
        foot.addWidget(label(BESIDE_WORDS, "faint"), 1)
        foot.addWidget(buttons)
        column = QVBoxLayout(self)
        column.setContentsMargins(18, 14, 18, 14)
        column.addLayout(head)
        column.addWidget(self.state)
        column.addWidget(self.scroll, 1)
        column.addLayout(foot)
        self.which.currentIndexChanged.connect(self.refresh)
        self.refresh()

    @classmethod
    def read(cls, parent: QWidget, desk: Desk) -> None:
        """Show the answers until the dialog is closed; none shows nothing."""
        from workshop_log.jobs.opinions import opinions_on

        done, laid = desk.attempt(opinions_on, desk.book, desk.job.number)
        if not done or not laid:
            return
        dialog = cls(parent, desk, laid)
        dialog.exec()
        dialog.deleteLater()

    # --- one answer --------------------------------------------------------------------------------------------------

    @Slot()
    def refresh(self) -> None:
        """Compare the chosen answer with the job, beside the window."""
        opinion = self._laid[self.which.currentIndex()]
        self.heading.setText(f"The answer of {opinion.by}")
        self.state.setText("Comparing…")
        empty(self.body)
        settings = self._desk.settings
        self._piece = self._desk.work.begin(
            "Comparing", _compared, self._desk.book, self._desk.job, opinion, settings.come_back,
            finished=lambda found: self._show(opinion, found), failed=self._could_not, cancelled=lambda: None,
            whose=self)

    def done(self, result: int) -> None:
        """Close; a comparison that is still being made is not waited for."""
        self._piece.cancel()
        super().done(result)

    def _could_not(self, words: str) -> None:
        if not self._piece.is_cancelled:
            self.state.setText(words)

    def _show(self, opinion: LaidBeside, found: Comparison) -> None:
        # Another answer was chosen meanwhile, or nobody waits any more.
        if self._piece.is_cancelled or opinion != self._laid[self.which.currentIndex()]:
            return
        unknown = found.unknown_to_them
        self.state.setText(f"Received {opinion.received_at.astimezone():%d %b %Y %H:%M}." + (
            f" They did not know {'step' if len(unknown) == 1 else 'steps'} {', '.join(unknown)}." if unknown else ""))
        empty(self.body)
        if found.notes:
            self._add_notes(opinion, found.notes)
        for name, title in SECTIONS:
            differences = getattr(found, name)
            if differences:
                self.body.addWidget(_Section(title, opinion.by, differences))
        if found.agreed:
            self.body.addWidget(label("Alike on both sides", "section"))
            for words in found.agreed:
                self.body.addWidget(label(words))
        self.body.addWidget(QWidget(), 1)

    def _add_notes(self, opinion: LaidBeside, notes: tuple[Note, ...]) -> None:
        self.body.addWidget(label("What they wrote", "section"))
        for note in notes:
            self.body.addWidget(_NoteRow(self._desk, opinion, note))


class _NoteRow(QFrame):
    """A colleague's note, and the way to copy it into one's own."""

    def __init__(self, desk: Desk, opinion: LaidBeside, note: Note) -> None:
        super().__init__()
        self.setProperty("part", "card")
        self._desk, self._opinion, self._note = desk, opinion, note
        self.copy = QPushButton("Copy into a note")
        self.copy.setMinimumHeight(theme.TARGET_PX)
        self.copy.setAccessibleName(f"Copy into a note: {note.words}")
        column = QVBoxLayout()
        column.setSpacing(2)
        column.addWidget(label(f"{note.who or opinion.by}, {note.at.astimezone():%d %b %Y %H:%M}", "faint"))
        column.addWidget(label(note.words))
        row = QHBoxLayout(self)
        row.setContentsMargins(14, 8, 10, 8)
        row.addLayout(column, 1)
        row.addWidget(self.copy, 0, Qt.AlignmentFlag.AlignTop)
        self.copy.clicked.connect(self.on_copy)

    @Slot()
    def on_copy(self) -> None:
        """Write the note into the job, with its source; it can be undone like any other."""
        from workshop_log.jobs.opinions import copy_into_note

        if self._desk.add("notes", copy_into_note, self._note, self._opinion, now(), who=self._desk.person):
            self.copy.setText("Copied")
            self.copy.setEnabled(False)


class _Section(QWidget):
    """Differences of one kind: about what, how it stands here, how it stands there."""

    def __init__(self, title: str, by: str, differences: tuple[Difference, ...]) -> None:
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 4, 0, 4)
        grid.setHorizontalSpacing(18)
        grid.setVerticalSpacing(6)
        for column, (words, part) in enumerate(((title, "section"), ("Here", "faint"), (by, "faint"))):
            grid.addWidget(label(words, part), 0, column, Qt.AlignmentFlag.AlignBottom)
            grid.setColumnStretch(column, 4 if column else 3)
        for row, difference in enumerate(differences):
            rule = QFrame()
            rule.setFixedHeight(1)
            rule.setStyleSheet(f"background: {theme.current().rule};")
            grid.addWidget(rule, 2 * row + 1, 0, 1, 3)
            for column, words in enumerate((difference.about, difference.ours, difference.theirs)):
                grid.addWidget(label(words, "strong" if column == 0 else ""), 2 * row + 2, column,
                               Qt.AlignmentFlag.AlignTop)


def _compared(book: Book, job: Job, opinion: LaidBeside, come_back: object, progress: Progress) -> Comparison:
    from workshop_log.jobs.comparing import compare
    from workshop_log.jobs.learning import learnt_minutes
    from workshop_log.jobs.opinions import opinion_job

    theirs = opinion_job(book, opinion)
    with book.read() as session:
        usual = learnt_minutes(session)
    return compare(job, theirs, progress, usual_minutes=usual, come_back=come_back)
