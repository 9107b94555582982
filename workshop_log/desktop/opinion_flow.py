"""What the window does for a second opinion: ask, send the answer back, read an answer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from workshop_log.desktop.desk import now
from workshop_log.whole_file import write_whole

if TYPE_CHECKING:
    from workshop_log.desktop.main_window import MainWindow
    from workshop_log.exchange.records import Job
    from workshop_log.jobs.asking import Choice
    from workshop_log.progress import Progress


def show_line(window: MainWindow, job: Job) -> None:
    """Show in the line under the tabs what there is to say of second opinions."""
    from workshop_log.exchange.opinion import is_question, question_of
    from workshop_log.jobs.opinions import opinions_on

    if is_question(job):
        window.opinion_line.show_question(question_of(job))
        return
    done, laid = window.desk.attempt(opinions_on, window.desk.book, job.number)
    window.opinion_line.show_answers(laid if done else ())


def ask_or_answer(window: MainWindow) -> None:
    """Ask a colleague about the open job, or answer where it is a colleague's question."""
    from workshop_log.exchange.opinion import is_question

    window.hand_over()
    (_answer if is_question(window.desk.job) else _ask)(window)


def _ask(window: MainWindow) -> None:
    from workshop_log.desktop.opinion_ask_dialog import OpinionAskDialog

    desk = window.desk
    choice = OpinionAskDialog.ask(window, desk)
    if choice is None:
        return
    name = window.ask_where("Save the question", "question for a colleague.job.json")
    if name:
        desk.work.begin("Writing the question", _write_question, desk.book, desk.job.number, choice, Path(name),
                        finished=lambda _: window.tell(f"The question is written to {name}: give that file away."))


def _write_question(book: object, number: str, choice: Choice, path: Path, progress: Progress) -> None:
    from workshop_log.jobs.asking import ask

    write_whole(path, ask(book, number, now(), choice, progress).data())


def _answer(window: MainWindow) -> None:
    desk = window.desk
    name = window.ask_where("Save the answer", "answer to a colleague.job.json")
    if name:
        desk.work.begin("Writing the answer", _write_answer, desk.book, desk.job.number, Path(name),
                        finished=lambda _: window.tell(f"The answer is written to {name}: send that file back."))


def _write_answer(book: object, number: str, path: Path, progress: Progress) -> None:
    from workshop_log.jobs.asking import answer_bytes

    data = answer_bytes(book, number)
    progress(1, 2)
    write_whole(path, data)


def read(window: MainWindow) -> None:
    """Show the answers beside the open job."""
    from workshop_log.desktop.opinion_dialog import OpinionDialog

    OpinionDialog.read(window, window.desk)
