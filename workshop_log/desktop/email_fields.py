"""The fields of an email: to whom, a copy to whom, about what, and its text."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QPlainTextEdit, QWidget

from workshop_log.desktop.email_draft import Written


class LetterFields(QWidget):
    """What is written, as it is typed.

    Signals
    -------
    changed
        Something was typed.
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.to, self.copy, self.subject = QLineEdit(), QLineEdit(), QLineEdit()
        self.text = QPlainTextEdit()
        self.text.setAccessibleName("Text")
        self.text.setTabChangesFocus(True)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(14)
        grid.setVerticalSpacing(8)
        lines = (("T&o", self.to, "name@example.org; between several stands a comma"),
                 ("&Copy to", self.copy, "who else gets it"), ("S&ubject", self.subject, ""))
        for row, (title, field, hint) in enumerate(lines):
            field.setAccessibleName(title.replace("&", ""))
            field.setPlaceholderText(hint)
            caption = QLabel(title)
            caption.setBuddy(field)
            grid.addWidget(caption, row, 0)
            grid.addWidget(field, row, 1)
        grid.addWidget(self.text, len(lines), 0, 1, 2)
        for field in (self.to, self.copy, self.subject, self.text):
            field.textChanged.connect(self.changed)

    def show_written(self, written: Written) -> None:
        """Show a letter, each line from its beginning."""
        for line, words in ((self.to, written.to), (self.copy, written.copy), (self.subject, written.subject)):
            line.setText(words)
            line.setCursorPosition(0)
        self.text.setPlainText(written.text)

    def written(self) -> Written:
        """Return what stands in the fields."""
        return Written(self.to.text(), self.copy.text(), self.subject.text(), self.text.toPlainText())
