"""The outbox: what waits, what was sent to whom and when, what was refused and why, and what a person decides."""

from __future__ import annotations

from pathlib import Path, PureWindowsPath
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QItemSelectionModel, QSignalBlocker, Qt, QTemporaryDir, QTimer, QUrl, Slot
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QHBoxLayout,
    QHeaderView,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import empty, label, tip
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from collections.abc import Callable

    from workshop_log.book.outbox import Message
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.attached import Attached

HEADINGS = ("How it stands", "To", "What", "When")
# Older ones stay in the book.
MOST_SHOWN = 500
# "Next: at once" does not stay true for long.
LOOK_EVERY_MS = 10_000
# What was sent takes the rest.
WIDTHS_PX, WHAT = (130, 240, 0, 210), 2


class OutboxDialog(QDialog):
    """A list of messages, the newest first, and below it the chosen one."""

    def __init__(self, parent: QWidget | None, desk: Desk) -> None:
        super().__init__(parent)
        self.desk = desk
        self.setWindowTitle("Outbox")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(1000, 620)
        self.messages: tuple[Message, ...] = ()
        self._folder: QTemporaryDir | None = None
        self._lay_out()
        desk.post.changed.connect(self.refresh)
        self._look = QTimer(self)
        self._look.setInterval(LOOK_EVERY_MS)
        self._look.timeout.connect(self.refresh)
        self._look.start()
        self.refresh()

    @classmethod
    def ask(cls, parent: QWidget, desk: Desk) -> OutboxDialog:
        """Show the outbox and return at once."""
        dialog = cls(parent, desk)
        dialog.open()
        return dialog

    # --- building ----------------------------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        self.table = QTableWidget(0, len(HEADINGS))
        self.table.setHorizontalHeaderLabels(HEADINGS)
        self.table.setAccessibleName("Messages")
        self.table.verticalHeader().hide()
        self.table.setTabKeyNavigation(False)
        self.table.setShowGrid(False)
        self.table.setWordWrap(False)
        # Below their headings.
        self.table.setStyleSheet("QTableView::item { padding-left: 6px; }")
        self.table.verticalHeader().setDefaultSectionSize(theme.TARGET_PX - 4)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        header = self.table.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        # To fit columns to their contents takes seconds where there are hundreds of rows.
        for column, width in enumerate(WIDTHS_PX):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Interactive)
            header.resizeSection(column, width)
        header.setSectionResizeMode(WHAT, QHeaderView.ResizeMode.Stretch)
        self.nothing = label("Nothing was written here yet. Messages come here from the report page, and leave from "
                             "here.", "faint")
        self.words = label("")
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.files = QVBoxLayout()
        self.problem = label("", "problem")
        self.problem.hide()
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addWidget(self.nothing)
        column.addWidget(self.table, 1)
        column.addWidget(self.words)
        column.addLayout(self.files)
        column.addWidget(self._correction())
        column.addWidget(self.problem)
        column.addLayout(self._buttons())
        self.table.currentCellChanged.connect(self.on_chosen)

    def _correction(self) -> QWidget:
        """Return the row in which a refused message gets other addresses."""
        self.to, self.copy = QLineEdit(), QLineEdit()
        self.correct = QPushButton("Send to &these instead")
        self.correct.setMinimumHeight(theme.TARGET_PX)
        self.correction = QWidget()
        row = QHBoxLayout(self.correction)
        row.setContentsMargins(0, 0, 0, 0)
        for title, field in (("To", self.to), ("Copy to", self.copy)):
            field.setAccessibleName(title)
            caption = label(title, "faint")
            caption.setWordWrap(False)
            row.addWidget(caption)
            row.addWidget(field, 1)
        row.addWidget(self.correct)
        self.correct.clicked.connect(self.on_correct)
        return self.correction

    def _buttons(self) -> QHBoxLayout:
        self.now, self.arrived = QPushButton("&Send now"), QPushButton("It &arrived")
        self.withdraw, self.shut = QPushButton("&Withdraw"), QPushButton("Close")
        row = QHBoxLayout()
        for button, act in ((self.now, self.on_now), (self.arrived, self.on_arrived), (self.withdraw, self.on_withdraw),
                            (self.shut, self.reject)):
            button.setMinimumHeight(theme.TARGET_PX)
            button.setAutoDefault(False)
            button.clicked.connect(act)
            if button is self.shut:
                row.addStretch(1)
            row.addWidget(button)
        return row

    # --- showing -----------------------------------------------------------------------------------------------------

    @Slot()
    def refresh(self) -> None:
        """Show the messages as they are now; the chosen one stays chosen."""
        from workshop_log.jobs import outgoing

        if self.desk.is_resting:
            return
        done, messages = self.desk.attempt(outgoing.messages, self.desk.book, MOST_SHOWN)
        if not done:
            return
        chosen = self.chosen
        before = messages == self.messages
        self.messages = messages
        self._fill()
        keys = [message.key for message in messages]
        row = keys.index(chosen.key) if chosen is not None and chosen.key in keys else 0
        if messages:
            with QSignalBlocker(self.table):
                self.table.setCurrentCell(row, 0, QItemSelectionModel.SelectionFlag.ClearAndSelect
                                          | QItemSelectionModel.SelectionFlag.Rows)
        # What is being typed for a message that stands as it stood is left alone.
        if not before or chosen is None:
            self._show_chosen()

    def _fill(self) -> None:
        from workshop_log.delivery import outbox_words as words

        at = now()
        with QSignalBlocker(self.table):
            self.table.setRowCount(len(self.messages))
            for row, message in enumerate(self.messages):
                texts = (words.STATES[message.state], words.to_words(message), message.letter.subject,
                         words.when_words(message, at))
                for column, text in enumerate(texts):
                    item = QTableWidgetItem(text)
                    item.setToolTip(tip(text))
                    item.setData(Qt.ItemDataRole.AccessibleTextRole, ", ".join(texts) if column == 0 else text)
                    self.table.setItem(row, column, item)
        self.nothing.setVisible(not self.messages)
        self.table.setVisible(bool(self.messages))

    @property
    def chosen(self) -> Message | None:
        """The chosen message."""
        row = self.table.currentRow()
        return self.messages[row] if 0 <= row < len(self.messages) else None

    @Slot(int, int, int, int)
    def on_chosen(self, row: int, _column: int, before: int, _from: int) -> None:
        if row != before:
            self.say("")
            self._show_chosen()

    def _show_chosen(self) -> None:
        from workshop_log.delivery.outbox_words import told_words

        message = self.chosen
        state = message.state if message else ""
        self.words.setText(told_words(message, now()) if message else "")
        self.now.setVisible(state in ("waiting", "refused", "in doubt"))
        self.now.setText("&Send now" if state == "waiting" else "&Send again")
        self.arrived.setVisible(state == "in doubt")
        self.withdraw.setVisible(state in ("waiting", "refused", "in doubt"))
        self.correction.setVisible(state in ("refused", "withdrawn"))
        if message is not None:
            self.to.setText(", ".join(message.letter.recipients))
            self.copy.setText(", ".join(message.letter.copies))
        self._show_files(message.attached if message else ())

    def _show_files(self, attached: tuple[Attached, ...]) -> None:
        from workshop_log.delivery.outbox_words import attached_words

        empty(self.files)
        for one in attached:
            button = QPushButton(f"Open {attached_words(one.name, one.size)}".replace("&", "&&"))
            button.setProperty("part", "quiet")
            button.setMinimumHeight(theme.TARGET_PX)
            button.setAutoDefault(False)
            button.clicked.connect(lambda _=False, one=one: self.open_file(one))
            self.files.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)

    def say(self, words: str) -> None:
        """Say what could not be done."""
        self.problem.setText(words)
        self.problem.setVisible(bool(words))

    # --- what the person does ----------------------------------------------------------------------------------------

    def _do(self, act: Callable[..., Any], *args: Any) -> bool:
        """Call `act(book, key, ...)` for the chosen message and show what became of it."""
        message = self.chosen
        if message is None:
            return False
        self.say("")
        try:
            act(self.desk.book, message.key, *args)
        except WorkshopLogError as error:
            self.say(str(error))
            return False
        finally:
            self.refresh()
        return True

    @Slot()
    def on_now(self) -> None:
        """Try the chosen message at once."""
        from workshop_log.jobs import outgoing

        if not self.desk.settings.mail.server:
            self.say("Email is not set up: name the mail server in Edit, Workshop and instruments, Email.")
        elif self._do(outgoing.send_now, now()):
            self.desk.post.wake()

    @Slot()
    def on_arrived(self) -> None:
        """Note that a message in doubt has arrived."""
        from workshop_log.jobs import outgoing

        message = self.chosen
        if self._do(outgoing.note_arrived, now()):
            self.desk.post.show_record(message)

    @Slot()
    def on_withdraw(self) -> None:
        """Keep the chosen message from being sent."""
        from workshop_log.jobs import outgoing

        self._do(outgoing.withdraw)

    @Slot()
    def on_correct(self) -> None:
        """Send the chosen message to other addresses, as a new one."""
        from msgspec.structs import replace

        from workshop_log.delivery import outbox
        from workshop_log.delivery.addresses import read_addresses
        from workshop_log.delivery.covering import sender_of

        message = self.chosen
        if message is None:
            return
        settings = self.desk.settings
        try:
            # It may have been the sender that was refused: the one that is set up now counts.
            letter = replace(message.letter, recipients=read_addresses(self.to.text()),
                             copies=read_addresses(self.copy.text()),
                             sender=sender_of(settings.workshop, settings.mail) or message.letter.sender)
        except WorkshopLogError as error:
            self.say(str(error))
            return
        if self._do(outbox.write_again, letter, now()):
            self.table.setCurrentCell(0, 0)
            self.desk.post.wake()

    def open_file(self, one: Attached) -> None:
        """Open the very file that was sent, or is to be sent, with the program that the system has for it."""
        done, data = self.desk.attempt(self.desk.book.files.get, one.sha256)
        if not done:
            self.say("The file is no longer where it was put: look for it in a backup.")
            return
        # Kept for as long as the outbox is open: whoever shows the file reads it later.
        self._folder = self._folder or QTemporaryDir()
        # Whatever the book says it is called, it is put nowhere else.
        path = Path(self._folder.path()) / f"{one.sha256[:8]} {PureWindowsPath(one.name).name}"
        try:
            path.write_bytes(data)
        except OSError as error:
            self.say(f"{path} could not be written ({error.strerror}): free some space.")
            return
        if not QDesktopServices.openUrl(QUrl.fromLocalFile(str(path))):
            self.say(f"No program on this machine opens {one.name}.")
