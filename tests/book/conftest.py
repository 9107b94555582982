"""An empty book for each test, on both kinds of database where a server is given."""

from __future__ import annotations

import os
import shutil
import uuid
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import create_engine, make_url, text

from workshop_log.book.opening import Book, open_book

SERVER_VARIABLE = "WORKSHOP_LOG_TEST_POSTGRES"
KINDS = [pytest.param("sqlite"), pytest.param("postgres", marks=pytest.mark.postgres)]


@pytest.fixture(scope="session")
def _empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make one empty book; copying it is quicker than making the tables each time."""
    path = tmp_path_factory.mktemp("empty") / "book.db"
    open_book(path).close()
    return path


class Server:
    """Databases on the test server; each has a name of its own and goes with the test."""

    def __init__(self, url: str) -> None:
        self._url = make_url(url.replace("postgresql://", "postgresql+psycopg://", 1))
        self._engine = create_engine(self._url, isolation_level="AUTOCOMMIT")
        self._mark = uuid.uuid4().hex[:10]
        self._made: list[str] = []

    def create(self, template: str = "template1") -> str:
        """Return the URL of a new database."""
        name = f"workshop_log_{self._mark}_{len(self._made)}"
        with self._engine.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name} TEMPLATE {template}"))
        self._made.append(name)
        return self._url.set(database=name).render_as_string(hide_password=False)

    def close(self) -> None:
        """Drop everything that was made."""
        with self._engine.connect() as connection:
            for name in self._made:
                connection.execute(text(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)"))
        self._engine.dispose()


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """Give the PostgreSQL server of the tests; without one the test is skipped."""
    url = os.environ.get(SERVER_VARIABLE)
    if not url:
        pytest.skip(f"needs a PostgreSQL server: its URL in {SERVER_VARIABLE}")
    running = Server(url)
    yield running
    running.close()


@pytest.fixture(scope="session")
def _empty_database(server: Server) -> str:
    url = server.create()
    open_book(url).close()
    return make_url(url).database


@pytest.fixture(params=KINDS)
def book_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Give the URL of an empty book, once for each kind of database."""
    if request.param == "sqlite":
        path = tmp_path / "book.db"
        shutil.copy(request.getfixturevalue("_empty_file"), path)
        return f"sqlite:///{path}"
    template = request.getfixturevalue("_empty_database")
    return request.getfixturevalue("server").create(template)


@pytest.fixture
def book(book_url: str) -> Iterator[Book]:
    """Give an empty book."""
    opened = open_book(book_url, create=False)
    yield opened
    opened.close()


@pytest.fixture
def file_book(_empty_file: Path, tmp_path: Path) -> Iterator[Book]:
    """Give an empty book in a file."""
    path = tmp_path / "book.db"
    shutil.copy(_empty_file, path)
    opened = open_book(path, create=False)
    yield opened
    opened.close()


@pytest.fixture
def now() -> datetime:
    """Give the moment at which everything in a test happens."""
    return datetime(2031, 4, 2, 8, 35, tzinfo=UTC)
