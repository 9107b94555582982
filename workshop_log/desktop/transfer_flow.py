"""What the window does with files: job files in and out, a colleague's answer, the seal, the backup; each beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtWidgets import QFileDialog, QInputDialog

from workshop_log.desktop.desk import now
from workshop_log.errors import WorkshopLogError
from workshop_log.whole_file import write_whole

if TYPE_CHECKING:
    from workshop_log.book.opening import Book
    from workshop_log.desktop.main_window import MainWindow
    from workshop_log.jobs.opinions import Received, Taken
    from workshop_log.progress import Progress

JOB_FILES = "Job files (*.job.json *.json)"


class _Answer(NamedTuple):
    """A file that answers a question, and the job in this book about which it was asked; None for no job here."""

    file: Received
    about: str | None


class _Came(NamedTuple):
    """What came of reading some job files."""

    imported: tuple[str, ...]
    answers: tuple[_Answer, ...]
    problems: tuple[str, ...]


# --- in -------------------------------------------------------------------------------------------------------------


def import_files(window: MainWindow) -> None:
    """Ask for job files and take them into the book; a colleague's answer is laid beside its job."""
    with window.desk.resting():
        names, _ = QFileDialog.getOpenFileNames(window, "Import job files", "", JOB_FILES)
    if names:
        _read_in(window, tuple(map(Path, names)), only_beside=None)


def lay_beside(window: MainWindow) -> None:
    """Ask for the file of an answer to the open job, lay it beside, and show it."""
    window.hand_over()
    number = window.desk.job.number
    with window.desk.resting():
        name, _ = QFileDialog.getOpenFileName(window, "Lay a colleague's answer beside this job", "", JOB_FILES)
    if name:
        _read_in(window, (Path(name),), only_beside=number)


def _read_in(window: MainWindow, paths: tuple[Path, ...], only_beside: str | None) -> None:
    def came(outcome: _Came) -> None:
        if outcome.imported:
            window.refresh_list()
            window.open_job(outcome.imported[-1])
            window.tell(f"Imported {', '.join(outcome.imported)}.")
        # After a job was opened, which takes away what was said before.
        if outcome.problems:
            window.show_problem("\n".join(outcome.problems))
        _lay_next(window, outcome.answers, only_beside)

    def ended() -> None:
        window.refresh_list()
        window.tell("Importing: ended; what was imported until then stays.")

    window.desk.work.begin("Importing", _taken_in, window.desk.book, paths, only_beside, finished=came,
                           cancelled=ended)


def _taken_in(book: Book, paths: tuple[Path, ...], only_beside: str | None, progress: Progress) -> _Came:
    """Read job files and import those that become jobs of their own."""
    from workshop_log.jobs import opinions
    from workshop_log.jobs.transfer import import_job

    imported, answers, problems = [], [], []
    for done, path in enumerate(paths):
        progress(done, len(paths))
        try:
            file = opinions.receive(path)
            about = opinions.job_answered(book, file.job)
            if about is None and only_beside is None:
                imported.append(import_job(book, file.job).number)
            else:
                answers.append(_Answer(file, about))
        except WorkshopLogError as error:
            problems.append(str(error))
    return _Came(tuple(imported), tuple(answers), tuple(problems))


def _lay_next(window: MainWindow, answers: tuple[_Answer, ...], only_beside: str | None) -> None:
    """Lay the first of these answers beside its job, then the others."""
    from workshop_log.jobs import opinions

    if not answers:
        return
    (file, about), others = answers[0], answers[1:]
    by = ""
    # Anything else is refused, and then nobody need be named.
    if about is not None and about == (only_beside or about):
        by, is_wanted = QInputDialog.getText(
            window, "A colleague's answer", f"{file.name} is laid beside job {about}; the job stays as it is.\n\n"
                                            "From whom is it?", text=opinions.written_by(file.job))
        if not is_wanted:
            _lay_next(window, others, only_beside)
            return

    def laid(taken: Taken) -> None:
        window.open_job(taken.number)
        window.show_opinions()
        window.tell(f"An answer was laid beside {taken.number}.")
        if only_beside is not None:
            window.read_opinions()
        _lay_next(window, others, only_beside)

    def refused(words: str) -> None:
        window.show_problem(words)
        _lay_next(window, others, only_beside)

    window.desk.work.begin("Laying the answer beside", _laid_beside, window.desk.book, file, only_beside, by,
                           finished=laid, failed=refused)


def _laid_beside(book: Book, file: Received, number: str | None, by: str, _progress: Progress) -> Taken:
    from workshop_log.jobs import opinions

    return opinions.lay_beside(book, file, now(), number=number, by=by)


# --- out ------------------------------------------------------------------------------------------------------------


def export_job(window: MainWindow, *, anonymous: bool) -> None:
    """Write the open job as a job file."""
    window.hand_over()
    number = window.desk.job.number
    name = window.ask_where("Export this job", f"{'without people and plate' if anonymous else number}.job.json")
    if name:
        window.desk.work.begin("Writing the job file", _written, window.desk.book, number, anonymous, Path(name),
                               finished=lambda _: window.tell(f"Written to {name}."))


def _written(book: Book, number: str, anonymous: bool, path: Path, progress: Progress) -> None:
    from workshop_log.jobs.transfer import export_job as exported

    write_whole(path, exported(book, number, anonymous, progress))


def back_up(window: MainWindow) -> None:
    """Write a copy of the whole book."""
    window.hand_over()
    suggested = str(Path.home() / f"workshop-log {now():%Y-%m-%d}.backup.db")
    with window.desk.resting():
        name, _ = QFileDialog.getSaveFileName(window, "Back the book up", suggested)
    if name:
        window.desk.work.begin("Copying the book", _backed_up, window.desk.book, Path(name),
                               finished=lambda _: window.tell(f"The book is copied to {name}."))


def _backed_up(book: Book, path: Path, progress: Progress) -> None:
    from workshop_log.book.backup import backup

    backup(book, path, progress)


# --- the seal -------------------------------------------------------------------------------------------------------


def verify(window: MainWindow) -> None:
    """Check the open job's chain of fingerprints."""
    window.hand_over()

    def found(findings: object) -> None:
        if findings.is_whole:
            window.tell(f"{findings.headline.rstrip('.')}: {findings.checks[0].words}")
        else:
            differing = " ".join(check.sentence for check in findings.differing)
            window.show_problem(f"{findings.headline} {differing}".strip())

    window.desk.work.begin("Checking the seal", _verified, window.desk.book, window.desk.job.number, finished=found)


def _verified(book: Book, number: str, _progress: Progress) -> object:
    from workshop_log.delivery.verifying import verify_stored

    return verify_stored(book, number)
