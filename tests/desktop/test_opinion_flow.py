"""Files taken in through the window: a job of its own, or laid beside the job that it answers, or one sentence."""

from __future__ import annotations

from pathlib import Path

import pytest
from desktop.looking import work_done
from desktop.opinions import LATER, NUMBER, answer_to, put_in
from PySide6.QtWidgets import QFileDialog, QInputDialog

from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.opinion_ask_dialog import OpinionAskDialog
from workshop_log.desktop.opinion_dialog import OpinionDialog
from workshop_log.exchange.reading import read_job
from workshop_log.jobs import opinions
from workshop_log.jobs.asking import Choice


@pytest.fixture
def answer(book_path: Path, books: dict[str, Path], tmp_path: Path) -> Path:
    put_in(book_path)
    return answer_to(book_path, books["empty"], tmp_path)


@pytest.fixture
def named(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Let the window be told from whom an answer is; return what it suggested."""
    suggested: list[str] = []

    def give(_parent: object, _title: str, _words: str, *, text: str) -> tuple[str, bool]:
        suggested.append(text)
        return "Venn of Harrow Works", True

    monkeypatch.setattr(QInputDialog, "getText", give)
    return suggested


def choose(monkeypatch: pytest.MonkeyPatch, *paths: Path) -> None:
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_: ([str(path) for path in paths], ""))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(paths[0]) if paths else "", ""))
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(paths[0]) if paths else "", ""))


def said(window: MainWindow) -> str:
    return window.bar.text() if not window.bar_row.isHidden() else ""


def test_importing_an_answer_lays_it_beside_its_job(answer, window: MainWindow, monkeypatch, named):
    """The job is opened, and the line says that a colleague answered; no job is added."""
    choose(monkeypatch, answer)
    window.import_files()
    work_done()
    assert named == ["Ostrel Venn"]
    assert window.desk.job.number == NUMBER
    assert window.books.model.rowCount() == 1
    assert window.opinion_line.words.text().startswith("1 answer from a colleague: Venn of Harrow Works")
    assert window.statusBar().currentMessage() == f"An answer was laid beside {NUMBER}."


def test_nothing_is_laid_beside_where_the_name_is_not_given(answer, window: MainWindow, monkeypatch):
    """The person thought better of it."""
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: ("", False))
    choose(monkeypatch, answer)
    window.import_files()
    work_done()
    assert opinions.opinions_on(window.desk.book, NUMBER) == ()
    assert said(window) == ""


def test_the_action_shows_the_answer_at_once(answer, window: MainWindow, monkeypatch, named):
    """Beside the open job."""
    shown: list[str] = []
    monkeypatch.setattr(OpinionDialog, "exec", lambda dialog: (shown.append(dialog.heading.text()), dialog.reject()))
    window.open_job(NUMBER)
    choose(monkeypatch, answer)
    window.lay_beside()
    work_done()
    assert shown == ["The answer of Venn of Harrow Works"]


@pytest.mark.parametrize(("which", "words"), [
    ("question.job.json", "is the question as it was sent"), ("plain", "no answer to a question"),
    ("broken", "broken.job.json: "), ("gone", "cannot be read"), ("other job", f"is about job {NUMBER}")])
def test_what_cannot_be_laid_beside_is_said_in_one_sentence(answer, window: MainWindow, monkeypatch, named, tmp_path,
                                                            which, words):
    """Above the page; nothing is added anywhere."""
    window.open_job(NUMBER)
    path = tmp_path / which
    if which == "plain":
        from workshop_log.jobs.transfer import export_job

        path.write_bytes(export_job(window.desk.book, NUMBER))
    elif which == "broken":
        path = tmp_path / "broken.job.json"
        path.write_text("{")
    elif which == "other job":
        window.take_in()
        path = answer
    choose(monkeypatch, path)
    jobs = window.books.model.rowCount()
    window.lay_beside()
    work_done()
    assert words in said(window)
    assert window.books.model.rowCount() == jobs
    assert opinions.opinions_on(window.desk.book, NUMBER) == ()


def test_an_answer_that_lies_there_is_not_laid_twice(answer, window: MainWindow, monkeypatch, named):
    """It is said, and there is one."""
    window.open_job(NUMBER)
    opinions.lay_beside(window.desk.book, opinions.receive(answer), LATER)
    choose(monkeypatch, answer)
    window.lay_beside()
    work_done()
    assert "already: nothing was added" in said(window)


def test_an_answer_that_another_bay_laid_beside_is_told(answer, window: MainWindow):
    """As soon as this one hears of a change."""
    window.open_job(NUMBER)
    assert window.opinion_line.isHidden()
    opinions.lay_beside(window.desk.book, opinions.receive(answer), LATER)
    window.desk.list_changed.emit()
    assert not window.opinion_line.isHidden()
    window.take_in()
    assert window.opinion_line.isHidden()


def test_the_question_is_written_where_it_was_said_and_the_place_is_told(answer, window: MainWindow, monkeypatch,
                                                                         tmp_path):
    """A place that cannot be written to is said; nothing is written where nothing was chosen."""
    window.open_job(NUMBER)
    monkeypatch.setattr(OpinionAskDialog, "ask", lambda *_: Choice("Why?"))
    target = tmp_path / "given.job.json"
    choose(monkeypatch, target)
    window.actions_by_id["job.ask"].trigger()
    work_done()
    assert window.statusBar().currentMessage() == f"The question is written to {target}: give that file away."
    assert read_job(target.read_bytes(), "given").notes[0].words == "Why?"
    choose(monkeypatch, tmp_path / "no folder" / "given.job.json")
    window.actions_by_id["job.ask"].trigger()
    work_done()
    assert "cannot be written" in said(window)
    for nowhere in (lambda: choose(monkeypatch), lambda: monkeypatch.setattr(OpinionAskDialog, "ask", lambda *_: None)):
        nowhere()
        window.tell("")
        window.actions_by_id["job.ask"].trigger()
        work_done()
        assert window.statusBar().currentMessage() == ""


def test_the_one_action_answers_where_the_job_is_a_question(window: MainWindow, monkeypatch, answer, tmp_path):
    """The menu says so."""
    window.open_job(NUMBER)
    assert window.actions_by_id["job.ask"].text() == "&Ask a colleague…"
    assert window.opinion_line.isHidden()
    told = (tmp_path / "question.job.json").read_bytes()
    # As from another book.
    path = tmp_path / "theirs.job.json"
    path.write_bytes(told.replace(read_job(told, "q").opinion_on.encode(), b"ab" * 32))
    choose(monkeypatch, path)
    window.import_files()
    work_done()
    assert window.desk.job.number != NUMBER
    assert window.actions_by_id["job.ask"].text() == "Send the &answer back…"
    assert window.opinion_line.words.text().startswith("A colleague asks: “Is it the pump?”")
    target = tmp_path / "back.job.json"
    choose(monkeypatch, target)
    window.opinion_line.act.click()
    work_done()
    assert read_job(target.read_bytes(), "back").opinion_on == "ab" * 32
    assert window.statusBar().currentMessage() == f"The answer is written to {target}: send that file back."
