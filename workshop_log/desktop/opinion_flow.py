"""What the window does for a second opinion: ask, send the answer back, lay an answer beside, read it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog, QInputDialog

from workshop_log.desktop.desk import now

if TYPE_CHECKING:
    from workshop_log.desktop.main_window import MainWindow
    from workshop_log.exchange.records import Job
    from workshop_log.jobs.asking import Choice
    from workshop_log.jobs.opinions import Taken
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
    from workshop_log.jobs.transfer import write_file

    data = ask(book, number, now(), choice).data()
    progress(1, 2)
    write_file(path, data)


def _answer(window: MainWindow) -> None:
    desk = window.desk
    name = window.ask_where("Save the answer", "answer to a colleague.job.json")
    if name:
        desk.work.begin("Writing the answer", _write_answer, desk.book, desk.job.number, Path(name),
                        finished=lambda _: window.tell(f"The answer is written to {name}: send that file back."))


def _write_answer(book: object, number: str, path: Path, progress: Progress) -> None:
    from workshop_log.jobs.asking import answer_bytes
    from workshop_log.jobs.transfer import write_file

    data = answer_bytes(book, number)
    progress(1, 2)
    write_file(path, data)


def lay_beside(window: MainWindow) -> None:
    """Ask for the file of an answer to the open job, lay it beside, and show it."""
    window.hand_over()
    number = window.desk.job.number
    with window.desk.resting():
        name, _ = QFileDialog.getOpenFileName(window, "Lay a colleague's answer beside this job", "",
                                              "Job files (*.job.json *.json)")
    if name and take_in(window, Path(name), only_beside=number) is not None:
        read(window)


def take_in(window: MainWindow, path: Path, *, only_beside: str | None = None) -> Taken | None:
    """Take a file into the book: as a job of its own, or beside the job that it answers; None where it was not done.

    Parameters
    ----------
    window, path
        The window, and the file.
    only_beside : str, optional
        The job beside which it shall lie; the file then becomes no job of its own.
    """
    from workshop_log.jobs import opinions
    from workshop_log.jobs.transfer import import_job

    desk = window.desk
    done, file = desk.attempt(opinions.receive, path)
    if not done:
        return None
    done, about = desk.attempt(opinions.job_answered, desk.book, file.job)
    if not done:
        return None
    if about is None and only_beside is None:
        done, job = desk.attempt(import_job, desk.book, file.job)
        return opinions.Taken(job.number, is_beside=False) if done else None
    by = ""
    if about is not None and about == (only_beside or about):
        by, is_wanted = QInputDialog.getText(
            window, "A colleague's answer", f"{path.name} is laid beside job {about}; the job stays as it is.\n\n"
                                            "From whom is it?", text=opinions.written_by(file.job))
        if not is_wanted:
            return None
    done, taken = desk.attempt(opinions.lay_beside, desk.book, file, now(), number=only_beside, by=by)
    window.show_opinions()
    return taken if done else None


def read(window: MainWindow) -> None:
    """Show the answers beside the open job."""
    from workshop_log.desktop.opinion_dialog import OpinionDialog

    OpinionDialog.read(window, window.desk)
