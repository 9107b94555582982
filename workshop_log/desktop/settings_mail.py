"""How the workshop's mail goes out: the server, the login, and a try that sends nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import msgspec
from msgspec.structs import replace
from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.fields import ChoiceField, Form, LineField, label, set_part
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from workshop_log.delivery.passwords import Passwords
    from workshop_log.desktop.settings_dialog import SettingsDialog
    from workshop_log.exchange.stationery import MailAccount
    from workshop_log.progress import Progress

SECURITIES = (("STARTTLS", "STARTTLS (mostly port 587)"), ("TLS", "TLS from the start (mostly port 465)"))
# A person waits for the try, and so would the program's end: no answer may take longer. [s]
TRY_S = 10.0
# The port changes with the kind of security where it is the usual one.
_PORTS = {"STARTTLS": "587", "TLS": "465"}


class MailPage(QWidget):
    """Saves when the cursor leaves a field; the password goes to the keyring and never into the book."""

    def __init__(self, dialog: SettingsDialog) -> None:
        super().__init__()
        self.dialog, self.desk = dialog, dialog.desk
        # How often it was tried.
        self._tries = 0
        form = self.form = Form()
        form.add_field("Mail &server", LineField("server"), "as your provider names it: mail.example.org")
        form.add_field("S&ecurity", ChoiceField("security", SECURITIES), column=1, same_row=True)
        form.add_field("&Port", LineField("port"), "587 or 465")
        form.add_field("&User", LineField("user"), "blank where the server asks for no login", column=1, same_row=True)
        form.add_field("Sent &from", LineField("sender"), "blank: the workshop's own email address")
        self.password = QLineEdit()
        self.password.setEchoMode(QLineEdit.EchoMode.Password)
        self.password.setAccessibleName("Password")
        self.password.setPlaceholderText("type it to change it; it is not shown")
        self.choose, self.attempt = QPushButton("Choose the file…"), QPushButton("&Try it")
        for button in (self.choose, self.attempt):
            button.setMinimumHeight(theme.TARGET_PX)
            button.setAutoDefault(False)
        self.words = label("", "hint")
        caption = QLabel("Pass&word")
        caption.setProperty("part", "faint")
        caption.setBuddy(self.password)
        # Beside the sender; it is no field of the form because its text is never shown and never in the book.
        below = form.grid.rowCount()
        form.grid.addWidget(caption, below - 3, 1)
        form.grid.addWidget(self.password, below - 2, 1)
        form.add_field("File of your own &authority", LineField("authority"), "only for a server of your own")
        form.grid.addWidget(self.choose, form.grid.rowCount() - 2, 1, Qt.AlignmentFlag.AlignLeft)
        row = QHBoxLayout()
        row.addWidget(self.attempt)
        row.addWidget(self.words, 1)
        column = QVBoxLayout(self)
        column.setSpacing(12)
        column.addWidget(form)
        column.addLayout(row)
        column.addWidget(label("Mail always travels inside TLS, and the server has to prove who it is. The password "
                               "is kept in the keyring of this machine; where there is none, until the program ends.",
                               "faint"))
        column.addStretch(1)
        for name, field in form.fields.items():
            field.show_value(str(getattr(self._account, name)))
        form.edited.connect(self.on_edited)
        self.password.editingFinished.connect(self.on_password)
        self.choose.clicked.connect(self.on_choose)
        self.attempt.clicked.connect(self.on_try)

    @property
    def _account(self) -> MailAccount:
        return self.desk.settings.mail

    def say(self, words: str, *, problem: bool) -> None:
        """Say in one sentence how it stands."""
        self.words.setText(words)
        set_part(self.words, "part", "problem" if problem else "hint")

    @Slot(str, str)
    def on_edited(self, name: str, text: str) -> None:
        """Save one field, or say what is wrong with it."""
        try:
            value = self._read(name, text.strip())
        except WorkshopLogError as error:
            self.form.show_note(name, str(error), problem=True)
            return
        self.form.show_note(name, "", problem=False)
        before = self._account
        changed = replace(before, **{name: value})
        if name == "security" and str(before.port) == _PORTS[before.security]:
            changed = replace(changed, port=int(_PORTS[value]))
        if self.dialog.save("mail", changed):
            self.form.fields["port"].show_value(str(changed.port))

    def _read(self, name: str, text: str) -> Any:
        if name == "port":
            if not (text.isascii() and text.isdigit() and 0 < int(text) <= 65535):
                raise WorkshopLogError(f"“{text}” is no port: type 587 or 465, or what your provider says.")
            return int(text)
        if name == "sender" and text:
            from workshop_log.delivery.addresses import parts_of

            parts_of(text)
        if len(text) > 400 or any(not c.isprintable() for c in text):
            raise WorkshopLogError("This cannot be right: type it anew, on one line.")
        if name == "server" and any(c.isspace() or c in "/@:" for c in text):
            raise WorkshopLogError(f"“{text}” is no name of a server: type it as mail.example.org, without more.")
        return msgspec.convert(text, str)

    @Slot()
    def on_choose(self) -> None:
        """Choose the file of one's own authority."""
        with self.desk.resting():
            name, _ = QFileDialog.getOpenFileName(self, "The certificate of your own authority", "",
                                                  "Certificates (*.pem *.crt *.cer);;All files (*)")
        if name:
            self.form.fields["authority"].show_value(name)
            self.on_edited("authority", name)

    # --- the password ------------------------------------------------------------------------------------------------

    @Slot()
    def on_password(self) -> None:
        """Hand the password to the keyring, beside the window: the keyring may ask to be unlocked."""
        password = self.password.text()
        if not password:
            return
        self.password.clear()
        # At once: a try may follow before the keyring has answered.
        self.desk.post.passwords.keep_for_now(self._account, password)
        tries = self._tries
        self.desk.work.begin("Keeping the password", _keep, self.desk.post.passwords, self._account, password,
                             finished=lambda is_in_keyring: self.on_kept(is_in_keyring, tries), whose=self)

    def on_kept(self, is_in_keyring: bool, tries: int) -> None:
        """Say where the password is now, unless a try that was begun since says more."""
        # Messages may have waited for it.
        self.desk.post.wake()
        if tries != self._tries:
            return
        self.say("The password is in the keyring of this machine." if is_in_keyring else
                 "There is no keyring here that takes it: the password is kept until the program ends.", problem=False)

    # --- the try -----------------------------------------------------------------------------------------------------

    @Slot()
    def on_try(self) -> None:
        """Log in without sending anything, and say what came of it."""
        self.form.hand_over()
        self._tries += 1
        account = self._account
        if not account.server:
            self.say("Type the name of the mail server first.", problem=True)
            return
        typed = self.password.text()
        self.on_password()
        self.attempt.setEnabled(False)
        self.say("Trying …", problem=False)
        self.desk.work.begin("Trying the login", _try, self.desk.post.passwords, account, typed,
                             finished=self.on_tried, failed=self.on_tried, cancelled=lambda: self.on_tried("Ended."),
                             whose=self)

    def on_tried(self, words: str) -> None:
        """Say what came of it."""
        self.attempt.setEnabled(True)
        self.say(words or "It works: the server takes mail from here.", problem=bool(words))
        if not words:
            self.desk.post.wake()


def _keep(passwords: Passwords, account: MailAccount, password: str, _progress: Progress) -> bool:
    return passwords.keep(account, password)


def _try(passwords: Passwords, account: MailAccount, typed: str, _progress: Progress) -> str:
    from workshop_log.delivery.smtp import Call, Patience

    password = typed or (passwords.get(account) if account.user else "")
    if password is None:
        return f"Type the password of {account.user} first."
    return Call(account, password, Patience(connect=TRY_S, reply=TRY_S)).try_login()
