"""A window on a book of its own, with the sample jobs in it where a test wants them."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from delivery.accounts import authority, start  # noqa: F401 - fixtures
from desktop.looking import SAMPLE_NAMES, SAMPLES, settle, work_done
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QDialog, QMessageBox

from workshop_log.desktop import theme
from workshop_log.desktop.app import make_application
from workshop_log.desktop.desk import Desk
from workshop_log.desktop.main_window import MainWindow


@pytest.fixture(scope="session")
def qapp_args() -> list[str]:
    return ["workshop-log"]


@pytest.fixture(scope="session")
def books(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Make an empty book and one with the sample jobs, once; each test gets a copy."""
    from workshop_log.book.opening import open_book
    from workshop_log.jobs.transfer import import_file

    folder = tmp_path_factory.mktemp("books")
    made = {"empty": folder / "empty" / "book.db", "samples": folder / "samples" / "book.db"}
    for name, path in made.items():
        path.parent.mkdir()
        book = open_book(str(path))
        for job in SAMPLE_NAMES if name == "samples" else ():
            import_file(book, SAMPLES / f"{job}.job.json")
        book.close()
    return made


@pytest.fixture(autouse=True)
def _fresh_start(qapp: QApplication, tmp_path: Path) -> Iterator[None]:
    """Begin with settings of one's own and the light theme; leave no thread, window or dialog behind."""
    QSettings.setPath(QSettings.Format.NativeFormat, QSettings.Scope.UserScope, str(tmp_path / "settings"))
    make_application([])
    # Whatever the machine is set to.
    theme.apply(qapp, theme.LIGHT)
    yield
    work_done()
    left = [w for w in QApplication.topLevelWidgets() if w.isVisible()]
    for widget in left:
        widget.close()
    assert not left, f"left open: {left}"


@pytest.fixture(autouse=True)
def _no_question(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fail where a dialog would wait for somebody who is not there."""
    def refuse(dialog: QDialog, *_: object) -> None:
        pytest.fail(f"the dialog “{dialog.windowTitle()}” waits for an answer")

    monkeypatch.setattr(QDialog, "exec", refuse)
    for name in ("question", "information", "warning", "critical"):
        monkeypatch.setattr(QMessageBox, name, lambda *args, **_: pytest.fail(f"a message box asks: {args[1:3]}"))


@pytest.fixture
def book_path(books: dict[str, Path], tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    """Return the file of a book for this test alone: empty, or with the sample jobs where `samples` is asked for."""
    kind = "samples" if "samples" in request.fixturenames else "empty"
    folder = tmp_path / "book"
    shutil.copytree(books[kind].parent, folder)
    return folder / "book.db"


@pytest.fixture
def samples() -> None:
    """Ask for a book with the sample jobs."""


@pytest.fixture
def desk(book_path: Path, qapp: QApplication) -> Iterator[Desk]:
    """Open a desk on the book."""
    made = Desk(str(book_path))
    yield made
    work_done()
    made.close()
    made.deleteLater()
    settle()


@pytest.fixture
def problems(desk: Desk) -> list[str]:
    """Return the sentences that the desk tells, as they come."""
    said: list[str] = []
    desk.problem.connect(said.append)
    return said


@pytest.fixture
def open_window(book_path: Path, qtbot: object) -> Iterator[Callable[[], MainWindow]]:
    """Return a function that opens a window on the book; it is closed afterwards."""
    opened: list[MainWindow] = []

    def begin() -> MainWindow:
        window = MainWindow(Desk(str(book_path)), book_path)
        opened.append(window)
        window.show_first_list()
        window.show()
        qtbot.waitUntil(window.isVisible)
        settle()
        return window

    begin.opened = opened
    yield begin
    work_done()
    for window in opened:
        window.close()
        window.deleteLater()
        settle()
        window.desk.deleteLater()
    settle()


@pytest.fixture
def window(open_window: Callable[[], MainWindow]) -> MainWindow:
    """Open a window."""
    return open_window()
