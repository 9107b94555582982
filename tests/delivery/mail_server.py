"""A real mail server on loopback, with TLS and a login, that fails where a test wants it to."""

from __future__ import annotations

import asyncio
import contextlib
import ssl
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from aiosmtpd.smtp import SMTP, AuthResult, Envelope, LoginPassword, Session

USER, PASSWORD = "desk", "quite ünguessable"
DROP, SILENT = "drop", "silent"
# Where a server can fail: its greeting, each command, and the dot that ends a message.
STAGES = ("GREETING", "EHLO", "STARTTLS", "EHLO inside TLS", "AUTH", "MAIL", "RCPT", "DATA", "END")


@dataclass
class Mail:
    """A message as the server got it."""

    sender: str
    recipients: list[str]
    data: bytes


@dataclass
class MailServer:
    """A running server.

    Attributes
    ----------
    fails : dict[str, str]
        By stage what is answered instead of what is right: a line, `DROP` or `SILENT`.
    refuses : dict[str, str]
        By recipient the line that refuses it.
    hides : set[str]
        What it does not offer: STARTTLS, AUTH.
    offers_login_only : bool
        Whether the one login it knows is that by two questions.
    received : list[Mail]
        What it took.
    heard : list[str]
        The stages that it came through, in their order.
    is_holding : threading.Event
        Set once it has been silent.
    transports : list[asyncio.BaseTransport]
        Every connection it had, to be closed at its end.
    loop : asyncio.AbstractEventLoop
        That of its thread.
    """

    port: int = 0
    fails: dict[str, str] = field(default_factory=dict)
    refuses: dict[str, str] = field(default_factory=dict)
    hides: set[str] = field(default_factory=set)
    offers_login_only: bool = False
    received: list[Mail] = field(default_factory=list)
    heard: list[str] = field(default_factory=list)
    is_holding: threading.Event = field(default_factory=threading.Event)
    transports: list[asyncio.BaseTransport] = field(default_factory=list)
    loop: asyncio.AbstractEventLoop | None = None

    def hang_up_on_all(self) -> None:
        """Break every connection, as a server does that has waited too long."""
        for transport in tuple(self.transports):
            self.loop.call_soon_threadsafe(transport.abort)

    async def handle_RCPT(self, server: SMTP, _session: Session, envelope: Envelope, address: str,
                          _options: list[str]) -> str:
        if address in self.refuses:
            return self.refuses[address]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, _server: SMTP, _session: Session, envelope: Envelope) -> str:
        told = self.fails.get("END", "")
        if told[:1].isdigit():
            return told
        self.received.append(Mail(envelope.mail_from, list(envelope.rcpt_tos), envelope.original_content))
        return "250 taken as 4711"


class _Failing(SMTP):
    """Says at one stage what the test wants."""

    def __init__(self, plan: MailServer, **kwargs: Any) -> None:
        self._plan, self._stage, self._is_safe = plan, "GREETING", kwargs.pop("is_safe")
        super().__init__(plan, enable_SMTPUTF8=False, hostname="test", ident="test", authenticator=_authenticated,
                         auth_exclude_mechanism=("CRAM-MD5",), loop=asyncio.get_running_loop(), **kwargs)

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self._plan.transports.append(transport)
        super().connection_made(transport)

    async def push(self, status: str | bytes) -> None:
        told = self._plan.fails.get(self._stage)
        text = status if isinstance(status, str) else status.decode()
        if told == DROP:
            self.transport.abort()
            return
        if told == SILENT:
            self._plan.is_holding.set()
            return
        hidden = [f"250{sign}{what}" for what in self._plan.hides for sign in "- "]
        if self._plan.offers_login_only and text[4:].startswith("AUTH "):
            text = f"{text[:4]}AUTH LOGIN"
        if any(text.startswith(one) for one in hidden):
            text = "250-HIDDEN" if text.startswith("250-") else "250 HIDDEN"
        await super().push(text if told is None else told)
        if self._stage == "DATA":
            self._stage = "END"

    def _at(self, stage: str) -> None:
        self._stage = stage
        self._plan.heard.append(stage)

    async def smtp_EHLO(self, hostname: str) -> None:
        self._at("EHLO inside TLS" if self._is_safe or self._tls_protocol else "EHLO")
        await super().smtp_EHLO(hostname)

    async def smtp_STARTTLS(self, arg: str) -> None:
        self._at("STARTTLS")
        await super().smtp_STARTTLS(arg)

    async def smtp_AUTH(self, arg: str) -> None:
        self._at("AUTH")
        await super().smtp_AUTH(arg)

    async def smtp_MAIL(self, arg: str) -> None:
        self._at("MAIL")
        await super().smtp_MAIL(arg)

    async def smtp_RCPT(self, arg: str) -> None:
        self._at("RCPT")
        await super().smtp_RCPT(arg)

    async def smtp_DATA(self, arg: str) -> None:
        self._at("DATA")
        await super().smtp_DATA(arg)


def _authenticated(_server: SMTP, _session: Session, _envelope: Envelope, _mechanism: str,
                   told: LoginPassword) -> AuthResult:
    return AuthResult(success=(told.login, told.password) == (USER.encode(), PASSWORD.encode()), handled=False)


@contextlib.contextmanager
def running(context: ssl.SSLContext, *, is_tls: bool = False, size_limit: int = 40_000_000,
            port: int = 0) -> Iterator[MailServer]:
    """Run a server on a thread of its own until the block ends."""
    loop = asyncio.new_event_loop()
    plan = MailServer(loop=loop)
    made: dict[str, Any] = {}
    is_up = threading.Event()

    def protocol() -> _Failing:
        return _Failing(plan, is_safe=is_tls, tls_context=None if is_tls else context, data_size_limit=size_limit,
                        require_starttls=not is_tls, auth_require_tls=not is_tls)

    async def begin() -> None:
        made["server"] = await loop.create_server(protocol, "127.0.0.1", port, ssl=context if is_tls else None)
        plan.port = made["server"].sockets[0].getsockname()[1]
        made["end"] = asyncio.Event()
        is_up.set()
        await made["end"].wait()
        await end()

    async def end() -> None:
        made["server"].close()
        # Whoever was just let in comes in first: a socket is left open otherwise.
        await asyncio.sleep(0.02)
        others = [task for task in asyncio.all_tasks() if task is not asyncio.current_task()]
        for task in others:
            task.cancel()
        for transport in plan.transports:
            transport.abort()
        await asyncio.gather(*others, return_exceptions=True)

    def run() -> None:
        asyncio.set_event_loop(loop)
        loop.run_until_complete(begin())
        # Once more, so that what was closed is told so.
        loop.run_until_complete(asyncio.sleep(0.01))
        loop.close()

    thread = threading.Thread(target=run, name="mail server")
    thread.start()
    assert is_up.wait(10)
    try:
        yield plan
    finally:
        loop.call_soon_threadsafe(made["end"].set)
        thread.join(10)
        assert not thread.is_alive()
