"""A second opinion through two windows on two books: asked, answered, laid beside, read; the job stays as it was."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

from desktop.opinions import NOW, NUMBER, OURS, put_in
from journeys.driver import CTRL, PLATFORM_NOISE, SHIFT, Person
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QInputDialog
from sqlalchemy import select

from workshop_log.book import entities
from workshop_log.book.opening import open_book
from workshop_log.desktop.note_dialog import NoteDialog
from workshop_log.desktop.opinion_ask_dialog import OpinionAskDialog
from workshop_log.desktop.opinion_dialog import OpinionDialog
from workshop_log.exchange import records as r
from workshop_log.jobs.transfer import export_job, import_job

THEIR_NOTE = "It is the plug, not the pump."


def chain(path: Path) -> list[tuple[Any, ...]]:
    """Return every entry of every chain in a book, as it is kept."""
    book = open_book(str(path))
    with book.read() as session:
        rows = session.execute(select(entities.Entry.__table__).order_by(entities.Entry.key)).all()
    book.close()
    return rows


def job_file(path: Path) -> bytes:
    book = open_book(str(path))
    data = export_job(book, NUMBER)
    book.close()
    return data


@PLATFORM_NOISE
def test_a_second_opinion_is_asked_given_and_read(begin: Callable[..., Person], book_path: Path, empty_book: Path,
                                                  tmp_path: Path, answers: Callable[..., list[Any]]):
    """The colleague's book has a job of the same number; neither it nor the job at home is touched."""
    away_path = tmp_path / "away" / "book.db"
    away_path.parent.mkdir()
    shutil.copy(empty_book, away_path)
    book = open_book(str(away_path))
    import_job(book, r.Job(number=NUMBER, opened=NOW, complaints=(r.Complaint(id="c1", words="Dark"),)), NOW)
    book.close()
    put_in(book_path)
    before, theirs_before = (chain(book_path), job_file(book_path)), job_file(away_path)
    question, answer = tmp_path / "question.job.json", tmp_path / "answer.job.json"

    # At home: one action, the copy is read, a name that nobody noted is taken out, the file is saved.
    home = begin()
    home.choose_job(NUMBER)
    answers(QFileDialog, "getSaveFileName", (str(question), ""))

    def give_away(dialog: OpinionAskDialog) -> None:
        home.rest()
        home.fill(home.field("What you ask", dialog), "Is it the pump?")
        home.fill(home.field("More names to take out", dialog), "Bertil")
        home.rest()
        told = home.words(dialog)
        assert "Plate: taken out" in told
        assert "Bertil" not in told
        home.press(home.button("Photo f1 goes along", dialog))
        home.press(home.button("Save the question…", dialog))

    with home.answering(OpinionAskDialog, give_away):
        home.menu("Job", "Ask a colleague")
    home.rest()
    given = question.read_bytes().decode()
    for secret in ("Dent", "XX31", "000001", "220", "240", "Bolt", "Bertil", "ourselves", '"data"'):
        assert secret not in given, secret
    assert (chain(book_path), job_file(book_path)) == before

    # At the colleague: a job of its own, a note and a test in it, one action sends the answer back.
    away = begin(away_path)
    answers(QFileDialog, "getOpenFileNames", ([str(question)], ""))
    away.shortcut(Qt.Key.Key_I)
    away.rest()
    number = away.window.desk.job.number
    assert number != NUMBER
    assert "A colleague asks: “Is it the pump?”" in away.words(away.window.opinion_line)

    def write(dialog: NoteDialog) -> None:
        away.fill(away.field("Who said it", dialog), "Ostrel Venn")
        away.click_into(away.field("What was said", dialog))
        away.keys(THEIR_NOTE)
        away.press(away.button("Save", dialog))

    with away.answering(NoteDialog, write):
        away.shortcut(Qt.Key.Key_N, CTRL | SHIFT)
    away.take_down("0.00 V C3.b while running")
    answers(QFileDialog, "getSaveFileName", (str(answer), ""))
    away.press(away.button("Send the answer back…", away.window.opinion_line))
    away.rest()
    assert answer.exists()
    assert job_file(away_path) == theirs_before

    # Back home: laid beside and read; the record is what it was, byte for byte.
    home.look_at_the_window()
    answers(QFileDialog, "getOpenFileName", (str(answer), ""))
    asked = answers(QInputDialog, "getText", ("Ostrel Venn", True))

    def read(dialog: OpinionDialog) -> None:
        home.rest()
        told = home.words(dialog)
        for words in (THEIR_NOTE, "What is likely the cause", "Voltage: C3.b to B−, Pump switched on", "0.00 V"):
            assert words in told, words

    with home.answering(OpinionDialog, read):
        home.menu("Job", "Lay a colleague's answer beside")
        home.rest()
    assert NUMBER in asked[0][1]
    assert (chain(book_path), job_file(book_path)) == before
    assert "1 answer from a colleague: Ostrel Venn" in home.words(home.window.opinion_line)

    # Only what is copied crosses over, as an ordinary note that names its source.
    with home.answering(OpinionDialog, lambda dialog: (
            home.rest(), home.press(home.button(f"Copy into a note: {THEIR_NOTE}", dialog)))):
        home.press(home.button("Read it beside the job…", home.window.opinion_line))
    assert len(home.window.desk.job.notes) == len(OURS.notes) + 1
    assert home.window.desk.job.notes[-1].words.startswith("Ostrel Venn, asked for a second opinion, wrote on ")
    assert chain(book_path) == before[0]
    assert home.said == away.said == []
