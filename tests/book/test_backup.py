"""One file with everything, and back."""

from __future__ import annotations

import sqlite3
import zipfile

import pytest
from book.samples import NOW, PICTURE, as_kept, small_job
from book.sealed import verify_job
from sqlalchemy import text

from workshop_log.book.backup import Backup, backup, restore
from workshop_log.book.errors import BackupError, DamagedBookError, StorageUnavailableError
from workshop_log.book.jobs import append_entry, insert_job, load_job, next_number
from workshop_log.book.opening import open_book
from workshop_log.book.search import search_jobs
from workshop_log.book.settings import load_settings, save_setting
from workshop_log.exchange import records as r


@pytest.fixture
def filled(book):
    with book.session() as session:
        insert_job(session, small_job(), NOW)
        insert_job(session, small_job("2031-0008", photos=()), NOW)
        save_setting(session, "persons", ("Mara",))
    return book


def check_whole(url):
    """Hold a book that came out of a backup against what went in, and go on working in it."""
    book = open_book(url, create=False)
    try:
        with book.read() as session:
            assert load_job(session, "2031-0007") == as_kept(small_job(), "2031-0007")
            assert load_job(session, "2031-0007", photo_data=True).photos[0].data == PICTURE
            assert verify_job(session, "2031-0008").intact
            assert [row.number for row in search_jobs(session, "flickers")] == ["2031-0008", "2031-0007"]
            assert load_settings(session).persons == ("Mara",)
        with book.session() as session:
            number = insert_job(session, small_job(next_number(session, NOW)), NOW)
            append_entry(session, number, "step", r.LookStep(id="s9", elements=(), result="nothing"), NOW)
            assert number == "2031-0009"
    finally:
        book.close()


def test_a_backup_holds_everything(filled, tmp_path):
    """From a file or a server, into a file in another folder: jobs, photos, settings, search, the count of numbers."""
    made = backup(filled, tmp_path / "backup.zip")
    assert made == Backup(tmp_path / "backup.zip", 2, 1)
    taken = restore(made.path, tmp_path / "elsewhere" / "book.db")
    assert (taken.jobs, taken.files, taken.moved_aside) == (2, 1, None)
    check_whole(tmp_path / "elsewhere" / "book.db")


@pytest.mark.postgres
def test_a_backup_moves_onto_a_server(filled, server, tmp_path):
    """A workshop that gets a second bay takes its book along."""
    url = server.create()
    restore(backup(filled, tmp_path / "backup.zip").path, url)
    check_whole(url)


@pytest.mark.postgres
def test_a_shared_book_with_jobs_is_not_replaced(filled, server, tmp_path):
    """It belongs to several bays."""
    url = server.create()
    made = backup(filled, tmp_path / "backup.zip")
    restore(made.path, url)
    with pytest.raises(BackupError, match="new database"):
        restore(made.path, url)


def test_the_book_that_was_there_is_moved_aside(file_book, tmp_path):
    """Taking a backup back loses nothing, not even what was written since."""
    with file_book.session() as session:
        insert_job(session, small_job(), NOW)
    made = backup(file_book, tmp_path / "backup.zip")
    with file_book.session() as session:
        insert_job(session, small_job("2031-0008"), NOW)
    file_book.close()
    aside = restore(made.path, file_book.path).moved_aside
    for path, numbers in ((file_book.path, ["2031-0007"]), (aside, ["2031-0007", "2031-0008"])):
        book = open_book(path, create=False)
        with book.read() as session:
            assert session.scalars(text("SELECT number FROM jobs ORDER BY key")).all() == numbers
        book.close()


def test_a_book_that_is_open_is_not_replaced(file_book, tmp_path):
    """Whoever has it open would write into the one moved aside."""
    with file_book.session() as session:
        insert_job(session, small_job(), NOW)
    made = backup(file_book, tmp_path / "backup.zip")
    with pytest.raises(StorageUnavailableError, match="is open"):
        restore(made.path, file_book.path)
    with file_book.read() as session:
        assert load_job(session, "2031-0007") == as_kept(small_job(), "2031-0007")


def test_a_damaged_book_is_replaced_and_kept(file_book, tmp_path):
    """That is what a backup is for."""
    with file_book.session() as session:
        insert_job(session, small_job(), NOW)
    made = backup(file_book, tmp_path / "backup.zip")
    file_book.close()
    file_book.path.write_bytes(b"SQLite format 3\x00" + b"\xa5" * 9000)
    assert restore(made.path, file_book.path).moved_aside.read_bytes().endswith(b"\xa5" * 9000)
    book = open_book(file_book.path, create=False)
    with book.read() as session:
        assert verify_job(session, "2031-0007").intact
    book.close()


def test_a_backup_is_made_while_others_write(file_book, tmp_path):
    """It is of one moment, and does not make them wait for its end."""
    with file_book.session() as session:
        insert_job(session, small_job(), NOW)
    with file_book.session() as session:
        insert_job(session, small_job("2031-0008"), NOW)
        assert backup(file_book, tmp_path / "backup.zip").jobs == 1


def test_a_photo_that_the_book_lost_is_named(filled, tmp_path):
    """The rest is saved all the same."""
    sha256 = small_job().photos[0].sha256
    if filled.is_shared:
        with filled.session() as session:
            session.execute(text("DELETE FROM files"))
    else:
        (filled.files.folder / sha256[:2] / sha256).unlink()
    made = backup(filled, tmp_path / "backup.zip")
    assert (made.jobs, made.files, made.missing) == (2, 0, (sha256,))
    assert "1 photos are missing" in str(made)


def test_a_damaged_book_makes_no_backup_and_leaves_the_old_one(file_book, tmp_path):
    """The newest sound backup must not be replaced by an unsound one."""
    with file_book.session() as session:
        insert_job(session, small_job(), NOW)
    old = backup(file_book, tmp_path / "backup.zip").path.read_bytes()
    with file_book.session() as session:
        session.execute(text("PRAGMA writable_schema = ON"))
        session.execute(text("UPDATE sqlite_master SET rootpage = 3 WHERE name = 'ix_jobs_list'"))
    with pytest.raises(DamagedBookError):
        backup(file_book, tmp_path / "backup.zip")
    assert (tmp_path / "backup.zip").read_bytes() == old
    assert [path.name for path in tmp_path.glob("*.part")] == []


def test_a_place_that_cannot_be_written_is_said(file_book, tmp_path):
    """A stick that was pulled out."""
    with pytest.raises(StorageUnavailableError, match="cannot be written"):
        backup(file_book, tmp_path / "gone" / "backup.zip")


def _zip(path, **members):
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in members.items():
            archive.writestr(name.replace("_", "."), content)


def test_what_is_no_backup_is_refused_and_nothing_changes(file_book, tmp_path):
    """Other files, other ZIPs, a newer release's backup, half a backup."""
    made = backup(file_book, tmp_path / "backup.zip").path
    (tmp_path / "half.zip").write_bytes(made.read_bytes()[:-200])
    (tmp_path / "text.zip").write_bytes(b"hello")
    _zip(tmp_path / "other.zip", a_txt="x")
    _zip(tmp_path / "strange.zip", backup_json="[1]", book_db="x")
    _zip(tmp_path / "newer.zip", backup_json='{"format": "workshop-log/backup", "version": 2}', book_db="x")
    _zip(tmp_path / "broken.zip", backup_json='{"format": "workshop-log/backup", "version": 1}', book_db="x")
    for name in ("half", "text", "other", "strange", "newer", "missing"):
        with pytest.raises(BackupError, match=name):
            restore(tmp_path / f"{name}.zip", tmp_path / "new" / "book.db")
    with pytest.raises(DamagedBookError):
        restore(tmp_path / "broken.zip", tmp_path / "new" / "book.db")
    assert not (tmp_path / "new" / "book.db").exists()


def test_a_backup_is_one_plain_file(file_book, tmp_path):
    """In ten years any ZIP program and any SQLite reads it."""
    with file_book.session() as session:
        insert_job(session, small_job(), NOW)
    made = backup(file_book, tmp_path / "backup.zip").path
    with zipfile.ZipFile(made) as archive:
        archive.extract("book.db", tmp_path / "out")
        assert archive.read(f"files/{small_job().photos[0].sha256}") == PICTURE
    connection = sqlite3.connect(tmp_path / "out" / "book.db")
    assert connection.execute("SELECT number FROM jobs").fetchall() == [("2031-0007",)]
    connection.close()


def test_full_disk_is_one_sentence_and_leaves_nothing(tmp_path, monkeypatch):
    """SQLite says it in its own way when it is its file that no longer fits."""
    def full(*_):
        raise sqlite3.OperationalError("database or disk is full")

    book = open_book(tmp_path / "book.db")
    monkeypatch.setattr("workshop_log.book.backup._copy_database", full)
    target = tmp_path / "copies" / "whole.db"
    target.parent.mkdir()
    with pytest.raises(StorageUnavailableError, match=r"cannot be written \(database or disk is full\)\. Choose"):
        backup(book, target)
    assert list(target.parent.iterdir()) == []
    book.close()
