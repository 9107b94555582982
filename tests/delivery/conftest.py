"""A book with one job to send from, and a clock that a test moves."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from book.samples import small_job
from delivery.accounts import authority, start  # noqa: F401 - fixtures
from delivery.mail_server import PASSWORD

from workshop_log.book.jobs import insert_job
from workshop_log.book.opening import Book, open_book
from workshop_log.delivery.outbox import Sending
from workshop_log.delivery.smtp import Call, Patience
from workshop_log.exchange.stationery import MailAccount

SHORT = Patience(connect=5, reply=5, body=20, last_reply=5)
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
