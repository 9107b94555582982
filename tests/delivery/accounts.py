"""Certificates of an authority of the tests' own, and mail servers that show them: fixtures for every folder."""

from __future__ import annotations

import ssl
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import trustme
from delivery.mail_server import USER, MailServer, running

from workshop_log.exchange.stationery import MailAccount


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
