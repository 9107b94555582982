"""An email with papers attached: proposed in plain words, sent from the outbox or handed to the own mail program."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QStandardPaths, Qt, QTimer, Slot
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop import email_draft, email_own, email_work, theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.email_fields import LetterFields
from workshop_log.desktop.email_work import AttachmentOffer
from workshop_log.desktop.fields import label, set_part
from workshop_log.desktop.long_work import WorkStrip
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from workshop_log.desktop.desk import Desk
    from workshop_log.desktop.long_work import Piece
    from workshop_log.exchange.letter import Letter

__all__ = ["AttachmentOffer", "EmailDialog"]

# So long after the last key what is written is kept.
DRAFT_PAUSE_MS = 1000
NO_ACCOUNT = ("Email is not set up here yet. Set it up once with the name of your mail server, or use your own mail "
              "program below.")


class EmailDialog(QDialog):
    """Asks to whom, what and with which files."""

    def __init__(self, parent: QWidget | None, desk: Desk, offers: tuple[AttachmentOffer, ...], what: str) -> None:
        super().__init__(parent)
        self.desk = desk
        self.setWindowTitle(f"Email the {what}")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(760, 640)
        self._number, self._what = desk.job.number, what
        self._offers = offers
        # What was drawn once is not drawn again.
        self._made: dict[int, bytes] = {}
        self._piece: Piece | None = None
        self._is_leaving = False
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(DRAFT_PAUSE_MS)
        self._pause.timeout.connect(self.save_draft)
        self._lay_out()
        self._propose()
        self._show_account()

    @classmethod
    def ask(cls, parent: QWidget, desk: Desk, offers: tuple[AttachmentOffer, ...], what: str) -> EmailDialog:
        """Show the dialog over the open job and return at once.

        Parameters
        ----------
        parent : QWidget
            Whose window it stands over.
        desk : Desk
            With a job open.
        offers : tuple[AttachmentOffer, ...]
            What can be attached.
        what : str
            What is sent, as it stands in a sentence: "report", "estimate".
        """
        dialog = cls(parent, desk, offers, what)
        dialog.open()
        return dialog

    # --- building ----------------------------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        self.fields = LetterFields()
        self.to, self.copy = self.fields.to, self.fields.copy
        self.subject, self.text = self.fields.subject, self.fields.text
        self.ticks = [_tick(offer) for offer in self._offers]
        self.problem = label("", "problem")
        self.problem.hide()
        self.account_words = label(NO_ACCOUNT, "caution")
        self.account = QPushButton("Set &email up…")
        self.account.setMinimumHeight(theme.TARGET_PX)
        self.account.setAutoDefault(False)
        account = QHBoxLayout()
        account.addWidget(self.account_words, 1)
        account.addWidget(self.account)
        self.anew = QPushButton("You began this before: &propose it anew")
        self.anew.setProperty("part", "quiet")
        self.anew.setMinimumHeight(theme.TARGET_PX)
        self.anew.setAutoDefault(False)
        self.anew.clicked.connect(self.on_anew)
        self.strip = WorkStrip(self.desk.work)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        column.addLayout(account)
        column.addWidget(self.anew, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(self.fields, 1)
        if self.ticks:
            column.addWidget(label("Attached", "faint"))
        # Two beside each other: the text needs the room.
        files = QGridLayout()
        for number, tick in enumerate(self.ticks):
            files.addWidget(tick, *divmod(number, 2))
        column.addLayout(files)
        column.addWidget(self.problem)
        column.addWidget(self.strip)
        column.addLayout(self._buttons())
        self.account.clicked.connect(self.on_account)

    def _buttons(self) -> QHBoxLayout:
        self.save, self.own = QPushButton("Save as .em&l…"), QPushButton("Open in my &mail program")
        self.cancel, self.send = QPushButton("Cancel"), QPushButton("&Send")
        self.send.setProperty("part", "main")
        row = QHBoxLayout()
        for button, act in ((self.save, self.on_save), (self.own, self.on_own), (self.cancel, self.reject),
                            (self.send, self.on_send)):
            button.setMinimumHeight(theme.TARGET_PX)
            # Enter in a line would send it.
            button.setAutoDefault(False)
            button.clicked.connect(act)
            row.addWidget(button)
            if button is self.own:
                row.addStretch(1)
        return row

    def _propose(self) -> None:
        """Show what was written before and not sent, or else the letter that is proposed."""
        from workshop_log.delivery.covering import proposed_letter

        letter = proposed_letter(self.desk.job, self.desk.settings.mail, self._what, now())
        self._proposed = email_draft.Written(", ".join(letter.recipients), "", letter.subject, letter.body)
        done, before = self.desk.attempt(email_draft.load, self.desk, self._number, self._what)
        self.fields.show_written(before if done and before else self._proposed)
        self.anew.setVisible(self.fields.written() != self._proposed)
        (self.text if self.to.text() else self.to).setFocus()
        self.fields.changed.connect(self._pause.start)

    @Slot()
    def save_draft(self) -> None:
        """Keep what is being written; a letter that stands as it was proposed need not be kept."""
        self._pause.stop()
        if self.desk.is_resting:
            self._pause.start()
            return
        written = self.fields.written()
        self.desk.attempt(email_draft.save, self.desk, self._number, self._what,
                          written if written != self._proposed else None)

    @Slot()
    def on_anew(self) -> None:
        """Propose the letter anew from the job as it is now."""
        self.fields.show_written(self._proposed)
        self.anew.hide()

    def _show_account(self) -> None:
        is_set_up = bool(self.desk.settings.mail.server)
        self.account_words.setVisible(not is_set_up)
        self.account.setVisible(not is_set_up)
        self._enable()

    def _enable(self) -> None:
        is_free = self._piece is None
        self.send.setEnabled(is_free and bool(self.desk.settings.mail.server))
        for button in (self.save, self.own, self.account):
            button.setEnabled(is_free)

    def say(self, words: str, *, problem: bool = True) -> None:
        """Say what is wrong, or what was done, above the buttons."""
        self.problem.setText(words)
        set_part(self.problem, "part", "problem" if problem else "strong")
        self.problem.setVisible(bool(words))

    # --- what is written ---------------------------------------------------------------------------------------------

    def letter(self) -> Letter:
        """Return the letter as it stands.

        Raises
        ------
        AddressError, MessageError
            If it cannot be sent so.
        """
        from workshop_log.delivery.addresses import read_addresses
        from workshop_log.delivery.covering import sender_of
        from workshop_log.delivery.messages import check_letter
        from workshop_log.exchange.letter import Letter

        settings = self.desk.settings
        workshop = self.desk.job.workshop if self.desk.job.workshop.email else settings.workshop
        written = Letter(sender=sender_of(workshop, settings.mail), recipients=read_addresses(self.to.text()),
                         copies=read_addresses(self.copy.text()), subject=self.subject.text().strip(),
                         body=self.text.toPlainText())
        check_letter(written)
        return written

    def _begin(self, words: str, act: Callable[..., Any], *args: Any, finished: Callable[[Any], None]) -> None:
        """Check the letter, draw what is chosen, and call `act(letter, enclosures, *args, progress)`."""
        self.say("")
        try:
            letter = self.letter()
        except WorkshopLogError as error:
            self.say(str(error))
            return
        chosen = tuple((number, offer) for number, offer in enumerate(self._offers) if self.ticks[number].isChecked())

        def done(result: Any) -> None:
            is_left = self._is_leaving
            self._over()
            self._show_sizes()
            # What is in the outbox leaves, and that is told, even where the dialog was cancelled too late for it.
            if not is_left or finished == self.on_put:
                finished(result)

        def failed(sentence: str) -> None:
            self._over()
            self._show_sizes()
            self.say(sentence)

        self._piece = self.desk.work.begin(words, email_work.with_files, act, letter, chosen, self._made, args,
                                           finished=done, failed=failed, cancelled=self._over, whose=self)
        self._enable()

    def _over(self) -> None:
        self._piece = None
        self._enable()
        if self._is_leaving:
            self.reject()

    def _show_sizes(self) -> None:
        from workshop_log.delivery.outbox_words import attached_words

        for number, data in self._made.items():
            self.ticks[number].setText(attached_words(self._offers[number].name, len(data)).replace("&", "&&"))

    # --- what the person does ----------------------------------------------------------------------------------------

    @Slot()
    def on_send(self) -> None:
        """Put the message into the outbox, from where it leaves at once."""
        self._begin("Making the message ready", email_work.put, self.desk.book, self._number, now(),
                    finished=self.on_put)

    def on_put(self, _message: Any) -> None:
        self._pause.stop()
        self.desk.attempt(email_draft.save, self.desk, self._number, self._what, None)
        self.desk.told.emit("The message is in the outbox and leaves now.")
        self.desk.post.changed.emit()
        self.desk.post.wake()
        self.accept()

    @Slot()
    def on_save(self) -> None:
        """Save the message as a file that every mail program opens."""
        self._begin("Making the message ready", email_work.draft, now(), finished=self.on_draft)

    def on_draft(self, data: bytes) -> None:
        suggested = str(Path.home() / f"{email_own.file_name(self.subject.text())}.eml")
        with self.desk.resting():
            name, _ = QFileDialog.getSaveFileName(self, "Save the message", suggested, "Email (*.eml)")
        if not name:
            return
        self._tell(*email_own.save_message(name, data))

    @Slot()
    def on_own(self) -> None:
        """Save the files and hand the letter to the person's own mail program."""
        places = QStandardPaths.StandardLocation
        folder = QStandardPaths.writableLocation(places.DownloadLocation) or QStandardPaths.writableLocation(
            places.HomeLocation)
        self._begin("Saving what is attached", email_work.to_own_program, Path(folder), finished=self.on_handed_over)

    def on_handed_over(self, result: tuple[Letter, tuple[Path, ...], bool]) -> None:
        self._tell(*email_own.hand_over(*result))

    def _tell(self, is_done: bool, words: str) -> None:
        self.say(words, problem=not is_done)

    @Slot()
    def on_account(self) -> None:
        """Open the settings where email is set up."""
        from workshop_log.desktop.settings_dialog import SettingsDialog

        SettingsDialog.ask(self, self.desk, "Email")
        self._show_account()

    @Slot()
    def reject(self) -> None:
        """Close, once what is being drawn has ended."""
        if self._piece is not None:
            self._is_leaving = True
            self._piece.cancel()
            return
        self.save_draft()
        super().reject()


def _tick(offer: AttachmentOffer) -> QCheckBox:
    tick = QCheckBox(offer.name.replace("&", "&&"))
    tick.setAccessibleName(f"Attach {offer.name}")
    tick.setMinimumHeight(theme.TARGET_PX - 8)
    tick.setChecked(offer.is_chosen)
    return tick
