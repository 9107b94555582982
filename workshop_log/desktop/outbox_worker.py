"""The post: what is due in the outbox is sent beside the window, and what became of it is said.

The thread is one that the program's end does not wait for. A message whose end has not been handed over by then waits
in the book; one whose answer has not come is in doubt at the next start.
"""

from __future__ import annotations

import logging
import threading
from collections import deque
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Qt, QTimer, Signal, Slot

from workshop_log.desktop.desk import now
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from workshop_log.book.opening import Book
    from workshop_log.book.outbox import Message
    from workshop_log.delivery.outbox import Sending, Tried
    from workshop_log.delivery.passwords import Passwords
    from workshop_log.delivery.smtp import Call
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.stationery import MailAccount
    from workshop_log.progress import Progress

log = logging.getLogger("workshop_log.post")
LOOK_EVERY_MS = 20_000
# While a file dialog is open nothing is read.
LATER_MS = 300
# For so long the closing window waits for an answer that is on its way. [s]
CLOSING_S = 2


class Post(QObject):
    """Sends what is due, one round after the other.

    Signals
    -------
    changed
        A message of the outbox stands otherwise than before.
    password_wanted : object
        Somebody has to type the password of this `MailAccount`.
    """

    changed = Signal()
    password_wanted = Signal(object)
    # Crosses the threads without anything: what there is to tell lies in `_news`.
    _told = Signal()

    def __init__(self, desk: Desk) -> None:
        from workshop_log.delivery.passwords import Passwords

        super().__init__(desk)
        self._desk = desk
        self.passwords = Passwords()
        self._news: deque[tuple[str, Any]] = deque()
        self._thread: threading.Thread | None = None
        self._lock = threading.Lock()
        self._call: Call | None = None
        self._sending: Sending | None = None
        self._account: MailAccount | None = None
        self._is_closed = self._is_wanted = self._is_swept = False
        # Name or password were wrong, or nobody gave one: only a person goes on from there.
        self._is_held = False
        self._timer = QTimer(self)
        self._timer.setInterval(LOOK_EVERY_MS)
        self._timer.timeout.connect(self.on_timer)
        self._told.connect(self.on_told, Qt.ConnectionType.QueuedConnection)

    @property
    def is_at_work(self) -> bool:
        """Whether a round is under way."""
        return self._thread is not None

    def begin(self) -> None:
        """Look into the outbox from now on."""
        self._timer.start()
        self.on_timer()

    @Slot()
    def wake(self) -> None:
        """Send at once what is due: a person wants it."""
        self._is_held = False
        self._begin_round()

    @Slot()
    def on_timer(self) -> None:
        if not self._is_held:
            self._begin_round()

    @Slot(object, str)
    def on_password(self, account: MailAccount, password: str) -> None:
        """Keep a password that somebody typed, and go on; the keyring may ask to be unlocked, beside the window."""
        self._desk.work.begin("Keeping the password", _keep, self.passwords, account, password, finished=self.on_kept)

    def on_kept(self, is_in_keyring: bool) -> None:
        """Go on with the password."""
        if not is_in_keyring:
            self._desk.told.emit("There is no keyring here that takes the password: it is kept until the program ends.")
        self.wake()

    def close(self) -> None:
        """End what can be ended, and wait a moment for an answer that is on its way."""
        self._timer.stop()
        with self._lock:
            self._is_closed = True
            if self._call is not None:
                self._call.hang_up()
        if self._thread is not None:
            self._thread.join(CLOSING_S)

    # --- on the window's thread --------------------------------------------------------------------------------------

    def _begin_round(self) -> None:
        if self._is_closed or self._desk.is_resting:
            return
        if self._thread is not None:
            self._is_wanted = True
            return
        done, facts = self._desk.attempt(lambda: (self._desk.book, self._desk.settings.mail))
        if not done:
            return
        self._is_wanted = False
        self._thread = threading.Thread(target=self._round, args=facts, name="post", daemon=True)
        self._thread.start()

    @Slot()
    def on_told(self) -> None:
        """Say what became of messages."""
        if self._desk.is_resting:
            QTimer.singleShot(LATER_MS, self.on_told)
            return
        while self._news:
            what, value = self._news.popleft()
            if what == "end":
                self._thread = None
            elif not self._is_closed:
                self._tell(what, value)
        if self._thread is None and self._is_wanted:
            self._begin_round()

    def _tell(self, what: str, value: Any) -> None:
        match what:
            case "tried":
                self._tell_tried(value)
            case "left behind":
                self._tell_left_behind(value)
            case "password":
                self._is_held = True
                self.password_wanted.emit(value)
            case "problem":
                self._desk.problem.emit(value)
        self.changed.emit()

    def _tell_tried(self, tried: Tried) -> None:
        message = tried.message
        name = f"“{message.letter.subject}” to {', '.join(message.letter.recipients)}"
        match message.state:
            case "sent":
                self._desk.told.emit(f"Sent: {name}.")
                self.show_record(message)
            case "refused":
                self._desk.problem.emit(f"The message {name} was refused. {message.answer}")
            case "in doubt":
                self._desk.problem.emit(f"The message {name} is in doubt. {message.answer} Look into Job, Outbox.")
            case _ if getattr(tried.outcome, "is_login", False):
                self._is_held = True
                self._desk.problem.emit(message.answer)
                self.password_wanted.emit(self._account)
            case _:
                self._desk.told.emit(f"Not sent yet: {name}. {message.answer}")

    def _tell_left_behind(self, messages: tuple[Message, ...]) -> None:
        doubted = [message for message in messages if message.state == "in doubt"]
        if doubted:
            names = ", ".join(f"“{message.letter.subject}”" for message in doubted)
            self._desk.problem.emit(f"The program ended while it sent {names}: look into Job, Outbox, and say whether "
                                    "it arrived.")

    def show_record(self, message: Message) -> None:
        """Show the open job as it is now that a report has entered its record."""
        self._desk.look_again(message.number)

    # --- on the thread -----------------------------------------------------------------------------------------------

    def _round(self, book: Book, account: MailAccount) -> None:
        try:
            self._send_all(book, account)
        except WorkshopLogError as error:
            self._say("problem", str(error))
        except Exception as error:
            log.exception("the post failed")
            self._say("problem", f"The outbox could not be worked through because of a fault in the program: "
                                 f"{error!r}. Its messages are safe; the details are in the program's log.")
        finally:
            self._say("end", None)

    def _send_all(self, book: Book, account: MailAccount) -> None:
        from workshop_log.delivery.outbox import Sending, send_next
        from workshop_log.delivery.smtp import Call
        from workshop_log.jobs import outgoing

        if self._sending is None:
            self._sending = Sending(book, lambda: Call(account, ""), now)
        sending = self._sending
        # Nobody else has a book open that is a file of this machine: see `app.run`.
        is_alone = not book.is_shared and not self._is_swept
        left = outgoing.free_left_behind(book, sending.me, now(), is_alone=is_alone)
        self._is_swept = True
        is_due = sending.unnoted is not None or outgoing.is_any_due(book, now())
        if left:
            self._say("left behind", left)
        if not account.server or not is_due:
            return
        password = self.passwords.get(account) if account.user else ""
        if password is None:
            self._say("password", account)
            return
        self._account = account
        sending.call = lambda: self._called(Call(account, password))
        while not self._is_closed and (tried := send_next(sending)) is not None:
            self._say("tried", tried)
            if getattr(tried.outcome, "is_login", False):
                return

    def _called(self, call: Call) -> Call:
        with self._lock:
            self._call = call
            if self._is_closed:
                call.hang_up()
        return call

    def _say(self, what: str, value: Any) -> None:
        self._news.append((what, value))
        # Once it is closed this object may go at any moment: not even a signal may reach for it then.
        with self._lock:
            if not self._is_closed:
                self._told.emit()


def _keep(passwords: Passwords, account: MailAccount, password: str, _progress: Progress) -> bool:
    return passwords.keep(account, password)

