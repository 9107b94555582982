"""One message to one mail server: never without TLS, the certificate always checked, and never a guess about the end.

The server has taken a message when it answers the dot that ends it. What goes wrong before that dot has sent nothing;
what goes wrong between dot and answer is in doubt, and is told as such.

Connection, TLS and login are trouble of the place and not of the message: it waits. Only where the server refuses the
message itself (sender, recipient, contents) it is refused for good.
"""

from __future__ import annotations

import base64
import contextlib
import re
import smtplib
import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.delivery.messages import megabytes
from workshop_log.delivery.outcomes import InDoubt, NotSent, Outcome, Refused, Sent
from workshop_log.delivery.smtp_words import authority_words, place_of, reply_words, trouble_words

if TYPE_CHECKING:
    from workshop_log.exchange.stationery import MailAccount

_PIECE = 64 * 1024
# Says nothing about this machine, and asks no server for its name.
_OWN_NAME = "[127.0.0.1]"
_PERMANENT = 5
_GO_ON, _DATA = 250, 354
_STOPPED = "It was stopped before its end. Nobody has got it."


@dataclass(frozen=True, slots=True)
class Patience:
    """How long each thing may take, in seconds."""

    connect: float = 20
    reply: float = 60
    # The whole message, however slow the line is.
    body: float = 900
    # RFC 5321, 4.5.3.2.6: whoever gives up on the last answer sooner makes duplicates.
    last_reply: float = 600


class _StopError(Exception):
    """The try ends here; `outcome` says how."""

    def __init__(self, outcome: Outcome) -> None:
        self.outcome = outcome


class Call:
    """One call at the server; made on a thread of its own, while another may hang up.

    Parameters
    ----------
    account : MailAccount
        Which server, and how.
    password : str
        Blank where the account has no login.
    patience : Patience
        How long to wait.
    """

    def __init__(self, account: MailAccount, password: str, patience: Patience | None = None) -> None:
        self._account, self._password = account, password
        self._patience = patience or Patience()
        self._lock = threading.Lock()
        self._socket: socket.socket | None = None
        self._is_ended = self._is_whole = False

    def hang_up(self) -> None:
        """End the call unless the message is handed over already: then only the server's answer ends it."""
        with self._lock:
            self._is_ended = True
            if self._socket is not None and not self._is_whole:
                with contextlib.suppress(OSError):
                    # The plain socket's: that of TLS would forget its state under the other thread.
                    socket.socket.shutdown(self._socket, socket.SHUT_RDWR)

    def try_login(self) -> str:
        """Connect and log in without sending anything; return what is wrong in one sentence, or nothing."""
        try:
            with self._connected() as smtp:
                self._log_in(smtp)
                return ""
        except _StopError as stop:
            return stop.outcome.answer
        except OSError as error:
            return trouble_words(error, self._account)

    def send(self, sender: str, recipients: Sequence[str], message: bytes,
             before_last: Callable[[], bool] = lambda: True) -> Outcome:
        """Hand a message over and return what became of it.

        Parameters
        ----------
        sender : str
            The bare address that answers go to.
        recipients : Sequence[str]
            Bare addresses. If the server refuses one of them, nobody gets the message.
        message : bytes
            ASCII, its lines ended by CR LF.
        before_last : callable
            Called once everything but the end is handed over; False leaves the message unsent.
        """
        try:
            with self._connected() as smtp:
                self._log_in(smtp)
                self._name_both_ends(smtp, sender, recipients, len(message))
                self._hand_over(smtp, message)
                return self._end(smtp, before_last)
        except _StopError as stop:
            return stop.outcome
        except OSError as error:
            return NotSent(_STOPPED if self._is_ended else trouble_words(error, self._account))

    # --- the connection ----------------------------------------------------------------------------------------------

    @contextlib.contextmanager
    def _connected(self) -> Iterator[smtplib.SMTP]:
        """Give a connection inside TLS, its server known by its certificate."""
        account, context = self._account, self._tls()
        smtp = smtplib.SMTP(local_hostname=_OWN_NAME)
        try:
            with contextlib.closing(self._dial()) as plain:
                is_tls = account.security == "TLS"
                self._take(smtp, plain)
                if is_tls:
                    self._make_safe(smtp, context, plain)
                self._expect(smtp.getreply(), 220, "does not take calls now")
                self._introduce(smtp)
                if not is_tls:
                    self._begin_tls(smtp, context, plain)
                yield smtp
                self._say_goodbye(smtp)
        finally:
            with self._lock:
                self._socket = None
            smtp.close()

    def _tls(self) -> ssl.SSLContext:
        authority = self._account.authority
        try:
            return ssl.create_default_context(cafile=authority or None)
        except OSError as error:
            raise _StopError(NotSent(authority_words(authority, error))) from error

    def _dial(self) -> socket.socket:
        account = self._account
        if not account.server:
            raise _StopError(NotSent("No mail server is set up: name it in the settings."))
        self._stop_if_ended()
        try:
            return socket.create_connection((account.server, account.port), self._patience.connect)
        except UnicodeError as error:
            raise _StopError(NotSent(f"“{account.server}” cannot be the name of a server: check it in the "
                                     "settings.")) from error

    def _take(self, smtp: smtplib.SMTP, connection: socket.socket) -> None:
        with self._lock:
            self._socket = smtp.sock = connection
            # What came before belongs to the connection before: it is not read on.
            smtp.file = None
            self._stop_if_ended()
        connection.settimeout(self._patience.reply)

    def _make_safe(self, smtp: smtplib.SMTP, context: ssl.SSLContext, plain: socket.socket) -> None:
        """Go on inside TLS; the server has to prove its name."""
        safe = context.wrap_socket(plain, server_hostname=self._account.server, do_handshake_on_connect=False)
        # First, so that somebody may hang up on a server that never comes to the end of it.
        self._take(smtp, safe)
        safe.settimeout(self._patience.connect)
        safe.do_handshake()
        safe.settimeout(self._patience.reply)

    def _introduce(self, smtp: smtplib.SMTP) -> None:
        self._expect(smtp.ehlo(), _GO_ON, "does not greet back")

    def _begin_tls(self, smtp: smtplib.SMTP, context: ssl.SSLContext, plain: socket.socket) -> None:
        if not smtp.has_extn("starttls"):
            raise _StopError(NotSent(f"The server {place_of(self._account)} offers no STARTTLS, or somebody on the way "
                                     "hides it. Without it nothing is sent: check the port, or choose TLS in the "
                                     "settings."))
        self._expect(smtp.docmd("STARTTLS"), 220, "does not begin TLS")
        self._make_safe(smtp, context, plain)
        # What was offered outside TLS counts for nothing.
        self._introduce(smtp)

    def _say_goodbye(self, smtp: smtplib.SMTP) -> None:
        # Gone already where the answer never came.
        if smtp.sock is None:
            return
        with contextlib.suppress(OSError):
            smtp.sock.settimeout(min(5, self._patience.reply))
            smtp.docmd("QUIT")

    # --- the login ---------------------------------------------------------------------------------------------------

    def _log_in(self, smtp: smtplib.SMTP) -> None:
        account = self._account
        if not account.user:
            return
        offered = smtp.esmtp_features.get("auth", "").upper().split()
        try:
            user, password = _letters(account.user), _letters(self._password)
            both = _letters(f"\0{account.user}\0{self._password}")
        except UnicodeEncodeError:
            # Its own words would quote the password; nor is it kept as a cause.
            raise _StopError(NotSent("User or password has half of a sign in it, as a broken copy leaves it: type both "
                                     "anew.", is_login=True)) from None
        if "PLAIN" in offered:
            reply = smtp.docmd("AUTH", f"PLAIN {both}")
        elif "LOGIN" in offered:
            reply = smtp.docmd("AUTH", f"LOGIN {user}")
            if reply[0] == 334:
                reply = smtp.docmd(password)
        else:
            words = (f"The server {place_of(account)} offers no login with name and password: check the port, or leave "
                     "the user blank in the settings if it needs none.")
            raise _StopError(NotSent(words, is_login=True))
        code, text = reply
        if code // 100 == _PERMANENT:
            raise _StopError(NotSent(f"The server {place_of(account)} does not take this user or password "
                                     f"({reply_words(code, text)}): check both in the settings.", is_login=True))
        self._expect(reply, 235, "does not let anybody log in now")

    # --- the message -------------------------------------------------------------------------------------------------

    def _name_both_ends(self, smtp: smtplib.SMTP, sender: str, recipients: Sequence[str], size: int) -> None:
        """Tell who sends to whom; a recipient that is refused stops the message for all."""
        options = ""
        if smtp.has_extn("size"):
            most = smtp.esmtp_features["size"].strip()
            if most.isdigit() and 0 < int(most) < size:
                raise _StopError(Refused(f"The message has {megabytes(size)}, and {self._account.server} takes "
                                         f"{megabytes(int(most))} at most: attach less. Nobody has got it."))
            options = f" SIZE={size}"
        reply = smtp.docmd(f"MAIL FROM:<{sender}>{options}")
        self._expect(reply, _GO_ON, f"does not take mail from {sender}", is_of_message=True)
        replies = [(one, *smtp.docmd(f"RCPT TO:<{one}>")) for one in recipients]
        refused = [(one, code, text) for one, code, text in replies if code // 100 == _PERMANENT]
        if refused:
            told = "; ".join(f"{one} ({reply_words(code, text)})" for one, code, text in refused)
            raise _StopError(Refused(f"The server takes no mail for {told}: check the address. Nobody has got the "
                                     "message.", tuple(one for one, _, _ in refused)))
        for one, code, text in replies:
            if code not in (250, 251, 252):
                raise _StopError(NotSent(f"The server does not take mail for {one} now ({reply_words(code, text)})."))

    def _hand_over(self, smtp: smtplib.SMTP, message: bytes) -> None:
        """Send the message but for the dot that ends it."""
        self._expect(smtp.docmd("DATA"), _DATA, "does not take the message", is_of_message=True)
        # RFC 5321, 4.5.2: a dot at the beginning of a line is doubled, so that none of them is the end.
        body = re.sub(rb"(?m)^\.", b"..", message if message.endswith(b"\r\n") else message + b"\r\n")
        until = time.monotonic() + self._patience.body
        for start in range(0, len(body), _PIECE):
            if time.monotonic() > until:
                raise _StopError(NotSent("The line is too slow for this message: attach less, or try on another "
                                         "network. Nobody has got it."))
            smtp.send(body[start:start + _PIECE])

    def _end(self, smtp: smtplib.SMTP, before_last: Callable[[], bool]) -> Outcome:
        """Send the dot, and return what the server says to it."""
        is_wanted = before_last()
        # Whoever was asked may have taken long, and the server may have hung up meanwhile: no doubt need come of it.
        is_there = self._is_waiting(smtp)
        with self._lock:
            self._stop_if_ended()
            if not is_wanted:
                raise _StopError(NotSent(_STOPPED))
            if not is_there:
                raise _StopError(NotSent(f"The server {place_of(self._account)} hung up before the end of the "
                                         "message. Nobody has got it."))
            self._is_whole = True
        try:
            smtp.sock.settimeout(self._patience.last_reply)
            smtp.send(b".\r\n")
            code, text = smtp.getreply()
        except OSError as error:
            return InDoubt(f"It was handed over whole, but the answer never came: "
                           f"{trouble_words(error, self._account)} It may have arrived or not.")
        said = reply_words(code, text)
        if code // 100 == 2:
            return Sent(said)
        if code // 100 == _PERMANENT:
            return Refused(f"The server refused the message after reading it ({said}). Nobody has got it.")
        return NotSent(f"The server could not take the message now ({said}). Nobody has got it.")

    def _is_waiting(self, smtp: smtplib.SMTP) -> bool:
        """Return whether the server still waits for the end, having neither said anything nor gone."""
        smtp.sock.settimeout(0)
        try:
            smtp.sock.recv(1)
        except (ssl.SSLWantReadError, BlockingIOError):
            return True
        except OSError:
            return False
        return False

    def _expect(self, reply: tuple[int, bytes], wanted: int, what: str, *, is_of_message: bool = False) -> None:
        code, text = reply
        if code == wanted:
            return
        # smtplib's word for no answer at all.
        if code == -1:
            raise smtplib.SMTPServerDisconnected("no answer")
        words = f"The server {place_of(self._account)} {what} ({reply_words(code, text)})."
        is_for_good = is_of_message and code // 100 == _PERMANENT
        raise _StopError(Refused(f"{words} Nobody has got the message.") if is_for_good else NotSent(words))

    def _stop_if_ended(self) -> None:
        if self._is_ended:
            raise _StopError(NotSent(_STOPPED))


def _letters(text: str) -> str:
    return base64.b64encode(text.encode()).decode("ascii")
