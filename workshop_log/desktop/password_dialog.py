"""The password of the mail account, asked for once where no keyring has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLineEdit, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import label

if TYPE_CHECKING:
    from workshop_log.exchange.stationery import MailAccount


class PasswordDialog(QDialog):
    """Asks for a password.

    Signals
    -------
    given : object, str
        The `MailAccount` and its password.
    """

    given = Signal(object, str)

    def __init__(self, parent: QWidget | None, account: MailAccount) -> None:
        super().__init__(parent)
        self._account = account
        self.setWindowTitle("Password for email")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setMinimumWidth(520)
        self.password = QLineEdit()
        self.password.setEchoMode(QLineEdit.EchoMode.Password)
        self.password.setAccessibleName("Password")
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
        buttons.button(QDialogButtonBox.StandardButton.Ok).setText("Send")
        for button in buttons.buttons():
            button.setMinimumHeight(theme.TARGET_PX)
        buttons.accepted.connect(self.on_given)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addWidget(label(f"Messages wait in the outbox. The password of {account.user} at {account.server} is "
                               "needed to send them.", ""))
        column.addWidget(self.password)
        column.addWidget(label("It goes into the keyring of this machine. Where there is none, it is forgotten when "
                               "the program ends.", "faint"))
        column.addWidget(buttons)
        self.password.setFocus()

    @Slot()
    def on_given(self) -> None:
        """Hand over what was typed."""
        if self.password.text():
            self.given.emit(self._account, self.password.text())
            self.accept()
