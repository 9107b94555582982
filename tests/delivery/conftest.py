"""Certificates of an authority of the tests' own, and mail servers that show them."""

from __future__ import annotations

import shutil
import ssl
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import trustme
from book.samples import small_job
from delivery.mail_server import PASSWORD, USER, MailServer, running

from workshop_log.book.jobs import insert_job
from workshop_log.book.opening import Book, open_book
from workshop_log.delivery.outbox import Sending
from workshop_log.delivery.smtp import Call, Patience
from workshop_log.exchange.stationery import MailAccount

SHORT = Patience(connect=5, reply=5, body=20, last_reply=5)


@dataclass(frozen=True)
class Authority:
    """Vouches for servers; its own certificate lies in a file."""

    file: Path
    contexts: dict[str, ssl.SSLContext]


@pytest.fixture(scope="session")
def authority(tmp_path_factory: pytest.TempPathFactory) -> Authority:
    """Make an authority, and certificates that are right, expired, for another name, and of somebody unknown."""
    own, stranger = trustme.CA(), trustme.CA()
    file = tmp_path_factory.mktemp("authority") / "authority.pem"
    own.cert_pem.write_to_path(file)
    yesterday = datetime.now(UTC) - timedelta(days=1)
    contexts = {}
    for name, cert in {"right": own.issue_cert("localhost"), "unknown": stranger.issue_cert("localhost"),
                       "expired": own.issue_cert("localhost", not_before=yesterday - timedelta(days=9),
                                                 not_after=yesterday),
                       "other name": own.issue_cert("elsewhere.example.org")}.items():
        contexts[name] = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        cert.configure_cert(contexts[name])
    return Authority(file, contexts)


@pytest.fixture
def start(authority: Authority) -> Iterator[Callable[..., tuple[MailServer, MailAccount]]]:
    """Return a function that starts a server and gives it with the account that reaches it."""
    with ExitStack() as stack:

        def begin(security: str = "STARTTLS", certificate: str = "right",
                  **options: Any) -> tuple[MailServer, MailAccount]:
            server = stack.enter_context(running(authority.contexts[certificate], is_tls=security == "TLS", **options))
            return server, MailAccount(server="localhost", port=server.port, security=security, user=USER,
                                       sender="desk@example.org", authority=str(authority.file))

        yield begin


# --- a book to send from --------------------------------------------------------------------------------------------

NOW = datetime(2031, 4, 2, 8, 35, tzinfo=UTC)


@pytest.fixture(scope="session")
def _book_with_job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("with job") / "book.db"
    made = open_book(path)
    with made.session() as session:
        insert_job(session, small_job(), NOW)
    made.close()
    return path


@pytest.fixture
def book(_book_with_job: Path, tmp_path: Path) -> Iterator[Book]:
    """Give a book with one job, 2031-0007."""
    path = tmp_path / "book.db"
    shutil.copy(_book_with_job, path)
    opened = open_book(path, create=False)
    yield opened
    opened.close()


class Clock:
    """A clock that a test moves."""

    def __init__(self) -> None:
        self.time = NOW

    def __call__(self) -> datetime:
        """Return what it shows."""
        return self.time

    def go(self, **how_long: float) -> None:
        """Move it on."""
        self.time += timedelta(**how_long)


@pytest.fixture
def clock() -> Clock:
    """Give a clock that stands until it is moved."""
    return Clock()


@pytest.fixture
def sending(book: Book, clock: Clock) -> Callable[..., Sending]:
    """Return a function that makes what sends from the book through an account."""
    def make(account: MailAccount, password: str = PASSWORD, **options: Any) -> Sending:
        return Sending(book, lambda: Call(account, password, SHORT), clock, **options)

    return make
