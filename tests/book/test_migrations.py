"""The tables and their history."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from book.sealed import verify_job
from sqlalchemy import inspect, text

from workshop_log.book import schema
from workshop_log.book.entities import Base
from workshop_log.book.errors import NewerBookError, NotABookError, StorageUnavailableError
from workshop_log.book.jobs import load_job
from workshop_log.book.opening import open_book
from workshop_log.exchange.reading import read_job

DATA = Path(__file__).parent / "data"


def test_models_and_migrations_say_the_same(book):
    """A book made by the migrations has exactly the tables that the models describe."""
    with book.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={
            "include_object": schema.include_object, "target_metadata": Base.metadata})
        assert compare_metadata(context, Base.metadata) == []


def test_both_databases_have_the_same_tables(book):
    """One model for both: only full-text search has names of its own."""
    names = set(inspect(book.engine).get_table_names())
    assert {name for name in names if not schema.is_the_databases(name)} == {*Base.metadata.tables, "alembic_version"}


def test_the_version_read_without_alembic_is_the_newest_migration():
    """A start compares with this constant, and must not miss a migration."""
    script = ScriptDirectory(str(Path(schema.__file__).parent / "migrations"))
    assert script.get_current_head() == schema.CURRENT


def test_a_book_up_to_date_is_opened_without_alembic(file_book):
    """Loading Alembic would cost every start more than the window does."""
    import subprocess
    import sys

    done = subprocess.run(
        [sys.executable, "-c", "import sys; from workshop_log.book.opening import open_book; "
         f"open_book({str(file_book.path)!r}).close(); sys.exit('alembic' in sys.modules)"],
        check=False, cwd=Path(__file__).parents[2])
    assert done.returncode == 0


@pytest.mark.parametrize("file", sorted(DATA.glob("schema-*.db")), ids=lambda file: file.stem)
def test_the_book_of_every_release_can_still_be_read(file, tmp_path):
    """Each released schema has a small book here, with the job file that was put into it."""
    path = tmp_path / "book.db"
    shutil.copy(file, path)
    book = open_book(path, create=False)
    try:
        expected = read_job(file.with_suffix(".job.json").read_bytes(), file.name)
        with book.read() as session:
            assert session.execute(text("SELECT version_num FROM alembic_version")).scalar_one() == schema.CURRENT
            assert load_job(session, expected.number) == expected
            assert verify_job(session, expected.number).intact
    finally:
        book.close()


def test_there_is_a_book_of_each_schema():
    """A migration without the book of its schema is not finished."""
    script = ScriptDirectory(str(Path(schema.__file__).parent / "migrations"))
    versions = {revision.revision for revision in script.walk_revisions()}
    assert {file.stem.removeprefix("schema-") for file in DATA.glob("schema-*.db")} == versions


def _upgraded_in_between(book_url, version):
    """Give the book another version, as another release would leave it."""
    book = open_book(book_url)
    with book.session() as session:
        session.execute(text("UPDATE alembic_version SET version_num = :version"), {"version": version})
    book.close()


def test_a_book_of_a_newer_release_is_refused_in_one_sentence(book_url):
    """An old program must not write into tables that it does not know."""
    _upgraded_in_between(book_url, "9999")
    with pytest.raises(NewerBookError, match="newer release"):
        open_book(book_url)


def test_a_database_of_somebody_else_is_refused_untouched(book_url):
    """Tables that are no book are neither used nor added to."""
    book = open_book(book_url)
    with book.session() as session:
        session.execute(text("DROP TABLE alembic_version"))
    book.close()
    with pytest.raises(NotABookError, match="something else"):
        open_book(book_url)


def test_a_file_without_tables_is_begun_only_where_that_is_wanted(tmp_path):
    """`create=False` finds out whether there is a book."""
    path = tmp_path / "book.db"
    path.touch()
    with pytest.raises(StorageUnavailableError, match="empty"):
        open_book(path, create=False)
    open_book(path).close()
    open_book(path, create=False).close()


def test_a_start_that_was_cut_off_while_making_the_tables_is_made_good(tmp_path):
    """The tables come in one transaction: after a power cut the file is an empty book."""
    path = tmp_path / "book.db"
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
    connection.close()
    book = open_book(path)
    with book.read() as session:
        assert session.scalar(text("SELECT count(*) FROM jobs")) == 0
    book.close()


def test_a_migration_that_fails_leaves_no_half_book(tmp_path, monkeypatch):
    """Either all tables are there or none."""
    from alembic.operations import Operations

    path = tmp_path / "book.db"
    monkeypatch.setattr(Operations, "create_index", None)
    with pytest.raises(TypeError):
        open_book(path)
    monkeypatch.undo()
    with sqlite3.connect(path) as connection:
        assert connection.execute("SELECT count(*) FROM sqlite_master").fetchone() == (0,)
    connection.close()
    open_book(path).close()
