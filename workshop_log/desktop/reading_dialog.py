"""A text to read, in a window that scrolls."""

from __future__ import annotations

from PySide6.QtWidgets import QDialog, QDialogButtonBox, QPlainTextEdit, QVBoxLayout, QWidget


class ReadingDialog(QDialog):
    """Shows a text; Escape closes it."""

    def __init__(self, parent: QWidget, title: str, text: str) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.resize(640, 520)
        self.text = QPlainTextEdit(text)
        self.text.setReadOnly(True)
        self.text.setAccessibleName(title)
        font = self.text.font()
        if title == "Keys":
            font.setFamilies(["DejaVu Sans Mono", "Consolas", "monospace"])
            self.text.setFont(font)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(self.text)
        column.addWidget(buttons)

    @classmethod
    def show_text(cls, parent: QWidget, title: str, text: str) -> None:
        """Show the text and wait until it is closed."""
        dialog = cls(parent, title, text)
        dialog.exec()
        dialog.deleteLater()
