"""A file dialog that looks into the book's folder costs no lock and no word."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from workshop_log.book.opening import open_book
from workshop_log.book.settings import load_settings, save_setting
from workshop_log.jobs.intake import edit, take_in

NOW = datetime(2031, 5, 1, 8, 0, tzinfo=UTC)
# What a command in another process does to the book.
OTHER = """
import sys
from workshop_log.book.opening import open_book
from workshop_log.book.listing import list_jobs
book = open_book(sys.argv[1])
with book.read() as session:
    list_jobs(session)
book.close()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="locks there belong to the handle")
def test_what_is_written_after_a_dialog_stays_when_another_program_had_the_book(tmp_path: Path) -> None:
    """The book rests, its files are opened and closed, another process comes and goes: nothing written is lost."""
    path = tmp_path / "book.db"
    book = open_book(path)
    number = take_in(book, NOW).number
    edit(book, number, {"vehicle.make": "Tamber"})
    book.rest()
    for file in tmp_path.glob("book.db*"):
        if file.is_file():
            with file.open("rb") as looked_into:
                looked_into.read(64)
    book.rest()
    subprocess.run([sys.executable, "-c", OTHER, str(path)], check=True, cwd=Path(__file__).parents[2])
    edit(book, number, {"vehicle.model": "Causey"})
    with book.session() as session:
        save_setting(session, "persons", ("Maud Harkerley",))
    # As a killed process leaves it: nothing is closed.
    with sqlite3.connect(path) as looking:
        assert looking.execute("SELECT vehicle_make, vehicle_model FROM jobs").fetchall() == [("Tamber", "Causey")]
        assert looking.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    with book.read() as session:
        assert load_settings(session).persons == ("Maud Harkerley",)
    book.close()
