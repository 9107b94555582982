"""A report that came back: whether it is what was sealed, and if not, which entry differs first."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Slot
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.fields import PlainLine, empty, label, set_part

if TYPE_CHECKING:
    from workshop_log.book.opening import Book
    from workshop_log.delivery.findings import Check, Findings
    from workshop_log.desktop.desk import Desk
    from workshop_log.desktop.long_work import Piece
    from workshop_log.progress import Progress

_BEFORE = ("Choose the report that came back, or drop its PDF here. It is held against its own seal, against the book, "
           "and against the fingerprint on the paper where you type it.")


class VerifyDialog(QDialog):
    """Checks one report or job file after the other; it changes nothing."""

    def __init__(self, parent: QWidget | None, desk: Desk) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.desk = desk
        self._path: Path | None = None
        self._piece: Piece | None = None
        self.setWindowTitle("Check a report's seal")
        self.resize(760, 600)
        self.setAcceptDrops(True)
        self._lay_out()
        self.choose.clicked.connect(self.on_choose)
        self.typed.returnPressed.connect(self.on_typed)
        self.again.clicked.connect(self.on_typed)
        self.copy.clicked.connect(self.on_copy)
        self.findings: Findings | None = None
        self.choose.setFocus()

    def _lay_out(self) -> None:
        self.choose = QPushButton("&Choose a report…")
        self.choose.setProperty("part", "main")
        self.file = label("No report chosen yet", "faint")
        top = QHBoxLayout()
        top.addWidget(self.choose)
        top.addSpacing(8)
        top.addWidget(self.file, 1)
        self.typed = PlainLine()
        self.typed.setPlaceholderText("16 digits, or all 64, with or without spaces")
        # Qt's own button for it is a sign without a name.
        self.typed.setAccessibleName("Fingerprint on the paper")
        name = QLabel("&Fingerprint on the paper, if at hand")
        name.setBuddy(self.typed)
        self.again = QPushButton("Check &again")
        self.again.setEnabled(False)
        second = QHBoxLayout()
        second.addWidget(name)
        second.addSpacing(8)
        second.addWidget(self.typed, 1)
        second.addWidget(self.again)
        self.headline = label(_BEFORE, "hint")
        self.rows = QVBoxLayout()
        self.rows.setSpacing(8)
        self.rows.setContentsMargins(0, 0, 6, 0)
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 0, 0)
        column.addLayout(self.rows)
        column.addStretch(1)
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setAccessibleName("What was checked")
        self.area.setWidget(body)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        self.copy = buttons.addButton("Co&py as text", QDialogButtonBox.ButtonRole.ActionRole)
        self.copy.setEnabled(False)
        buttons.rejected.connect(self.reject)
        for button in (self.choose, self.again, *buttons.buttons()):
            button.setMinimumHeight(theme.TARGET_PX)
            button.setAutoDefault(False)
        whole = QVBoxLayout(self)
        whole.setSpacing(12)
        whole.addLayout(top)
        whole.addLayout(second)
        whole.addWidget(self.headline)
        whole.addWidget(self.area, 1)
        whole.addWidget(buttons)

    # --- choosing ----------------------------------------------------------------------------------------------------

    @Slot()
    def on_choose(self) -> None:
        """Ask for the file."""
        with self.desk.resting():
            name, _ = QFileDialog.getOpenFileName(self, "Choose a report", "", "Reports and job files (*.pdf *.json)")
        if name:
            self.check(Path(name))

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        files = [url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()]
        event.acceptProposedAction()
        if len(files) == 1:
            self.check(Path(files[0]))
        else:
            self._say("Drop one file from this machine at a time." if files else
                      "That is no file of this machine: save it first, then drop it here.")

    @Slot()
    def on_typed(self) -> None:
        """Check once more, against what was typed."""
        if self._path is None:
            self.on_choose()
        else:
            self.check(self._path)

    # --- checking ----------------------------------------------------------------------------------------------------

    def check(self, path: Path) -> None:
        """Check a file, beside the window's thread."""
        self._drop_work()
        self._path = path
        self.file.setText(path.name)
        set_part(self.file, "part", "strong")
        self._say(f"Checking {path.name} …", is_problem=False)
        done, book = self.desk.attempt(lambda: self.desk.book)
        piece = self._piece = self.desk.work.begin(
            "Checking a report's seal", _verified, path, book if done else None, self.typed.text(),
            finished=lambda found: self._if_wanted(piece, lambda: self._show(found)),
            failed=lambda words: self._if_wanted(piece, lambda: self._say(words)),
            cancelled=lambda: self._if_wanted(piece, lambda: self._say("Ended before it was checked.")),
            whose=self)

    def _if_wanted(self, piece: Piece, then: Callable[[], None]) -> None:
        """Go on unless another file was chosen since, or the dialog was closed."""
        if piece is self._piece:
            self._piece = None
            self.again.setEnabled(True)
            then()

    def _drop_work(self) -> None:
        if self._piece is not None:
            piece, self._piece = self._piece, None
            piece.cancel()

    def done(self, result: int) -> None:
        """Close; nobody waits any more for what is still being checked."""
        self._drop_work()
        super().done(result)

    def _say(self, words: str, *, is_problem: bool = True) -> None:
        """Show one sentence in place of findings."""
        self.findings = None
        self.copy.setEnabled(False)
        empty(self.rows)
        self.area.setAccessibleDescription("")
        self.headline.setText(words)
        set_part(self.headline, "part", "problem" if is_problem else "hint")

    def _show(self, found: Findings) -> None:
        self.findings = found
        self.copy.setEnabled(True)
        self.headline.setText(found.headline)
        set_part(self.headline, "part", "heading")
        empty(self.rows)
        for check in found.checks:
            self.rows.addWidget(_row(check))
        self.area.verticalScrollBar().setValue(0)
        self.area.setAccessibleDescription(_as_text(found))

    @Slot()
    def on_copy(self) -> None:
        """Put the findings on the clipboard, for a letter or an email."""
        if self.findings is not None:
            QGuiApplication.clipboard().setText(_as_text(self.findings))


def _verified(path: Path, book: Book | None, typed: str, progress: Progress) -> Findings:
    from workshop_log.delivery.verifying import verify_file

    return verify_file(path, book, typed, progress)


def _row(check: Check) -> QFrame:
    """Return one check: what differs stands out by its ground and by its words."""
    from workshop_log.delivery.findings import Result

    differs = check.result is Result.DIFFERS
    row = QFrame()
    row.setProperty("part", "doubt" if differs else "card")
    column = QVBoxLayout(row)
    column.setContentsMargins(12, 8, 12, 8)
    column.setSpacing(2)
    column.addWidget(label(f"{check.what}: {check.result.value}",
                           "strong" if check.result is not Result.UNCHECKED else "faint"))
    column.addWidget(label(check.sentence, "" if check.result is not Result.UNCHECKED else "faint"))
    return row


def _as_text(found: Findings) -> str:
    lines = [f"{check.what}: {check.result.value}: {check.words}" for check in found.checks]
    return "\n".join([found.name, found.headline, *lines])
