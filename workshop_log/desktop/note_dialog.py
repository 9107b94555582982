"""A remark for the workshop, or what was said on the telephone."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtWidgets import QCheckBox, QDialog, QDialogButtonBox, QLineEdit, QPlainTextEdit, QVBoxLayout, QWidget

from workshop_log.desktop.fields import label


@dataclass(frozen=True, slots=True)
class NoteAnswer:
    """What was written."""

    words: str
    who: str
    internal: bool


class NoteDialog(QDialog):
    """Asks for a note."""

    def __init__(self, parent: QWidget, person: str) -> None:
        super().__init__(parent)
        self.setWindowTitle("Note or call")
        self.setMinimumWidth(560)
        self.who = QLineEdit(person)
        self.who.setAccessibleName("Who said it")
        self.words = QPlainTextEdit()
        self.words.setAccessibleName("What was said")
        self.words.setTabChangesFocus(True)
        self.printed = QCheckBox("Print it in the report")
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Save | QDialogButtonBox.StandardButton.Cancel)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        for widget in (label("Who said or noticed it", "faint"), self.who, label("What", "faint"), self.words,
                       self.printed, buttons):
            column.addWidget(widget)
        self.words.setFocus()

    @classmethod
    def ask(cls, parent: QWidget, person: str) -> NoteAnswer | None:
        """Return the note, or None when nothing was written."""
        dialog = cls(parent, person)
        accepted = dialog.exec() == QDialog.DialogCode.Accepted
        words = dialog.words.toPlainText().strip()
        answer = NoteAnswer(words, dialog.who.text().strip(), not dialog.printed.isChecked())
        dialog.deleteLater()
        return answer if accepted and words else None
