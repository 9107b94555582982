"""The server of the tests can be used, and leaves nothing behind."""

from __future__ import annotations

import tempfile
from pathlib import Path

import postgresql
import psycopg
import pytest
from system import find_program

pytestmark = pytest.mark.skipif(find_program("initdb") is None, reason="PostgreSQL's server is not installed")


def connect(url):
    return psycopg.connect(url.replace("+psycopg", ""), connect_timeout=5)


def test_server_is_there_and_goes_also_after_a_failure(tmp_path, monkeypatch):
    """A test run that breaks off stops its server and removes its files."""
    # The server's own person must be able to enter the folder.
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        monkeypatch.setattr(tempfile, "tempdir", folder)
        with pytest.raises(ZeroDivisionError), postgresql.temporary_server() as url:
            with connect(url) as connection:
                assert connection.execute("select 6 * 7").fetchone() == (42,)
            with pytest.raises(psycopg.OperationalError):
                connect(url.replace("workshop:", "workshop:wrong"))
            raise ZeroDivisionError
        with pytest.raises(psycopg.OperationalError):
            connect(url)
        assert list(Path(folder).iterdir()) == []
