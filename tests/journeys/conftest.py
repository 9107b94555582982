"""A window on an empty book, and a person in front of it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from delivery.accounts import authority  # noqa: F401 - fixtures
from delivery.accounts import start as start_mail  # noqa: F401
from desktop.looking import settle, work_done
from journeys.driver import LONGEST_WAIT_MS, Person
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QFileDialog, QInputDialog, QMessageBox

from workshop_log.desktop import theme
from workshop_log.desktop.app import make_application
from workshop_log.desktop.desk import Desk
from workshop_log.desktop.main_window import MainWindow


@pytest.fixture(scope="session")
def qapp_args() -> list[str]:
    return ["workshop-log"]


@pytest.fixture(scope="session")
def empty_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make an empty book, once."""
    from workshop_log.book.opening import open_book

    path = tmp_path_factory.mktemp("empty") / "book.db"
    open_book(str(path)).close()
    return path


@pytest.fixture
def book_path(empty_book: Path, tmp_path: Path) -> Path:
    """Return an empty book for this test alone."""
    folder = tmp_path / "book"
    shutil.copytree(empty_book.parent, folder)
    return folder / "book.db"


@pytest.fixture(autouse=True)
def _fresh_start(qapp: QApplication, tmp_path: Path) -> Iterator[None]:
    """Begin with settings of one's own and the light theme; leave no thread, window or dialog behind."""
    QSettings.setPath(QSettings.Format.NativeFormat, QSettings.Scope.UserScope, str(tmp_path / "settings"))
    make_application([])
    theme.apply(qapp, theme.LIGHT)
    yield
    work_done()
    left = [w for w in QApplication.topLevelWidgets() if w.isVisible()]
    for widget in left:
        widget.close()
    theme.apply(qapp, theme.LIGHT)
    assert not left, f"left open: {left}"


@pytest.fixture(autouse=True)
def _no_question(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fail where the system would ask somebody who is not there."""
    for owner, names in ((QMessageBox, ("question", "information", "warning", "critical")),
                         (QFileDialog, ("getOpenFileName", "getOpenFileNames", "getSaveFileName")),
                         (QInputDialog, ("getItem", "getText"))):
        for name in names:
            monkeypatch.setattr(owner, name, lambda *args, **_: pytest.fail(f"a question came: {args[1:3]}"))


@pytest.fixture
def begin(book_path: Path, qtbot: Any) -> Iterator[Callable[[], Person]]:
    """Return a function that starts the window on the book, or on another one, with a person in front of it."""
    people: list[Person] = []

    def start(path: Path = book_path) -> Person:
        window = MainWindow(Desk(str(path)), path)
        person = Person(window, qtbot)
        people.append(person)
        window.show_first_list()
        window.resize(1366, 900)
        window.show()
        window.activateWindow()
        qtbot.waitUntil(window.isActiveWindow, timeout=LONGEST_WAIT_MS)
        settle()
        return person

    yield start
    work_done()
    for person in people:
        person.window.close()
        person.window.deleteLater()
    settle()
    for person in people:
        person.window.desk.deleteLater()
    settle()
    faults = [words for person in people for words in person.said if "fault in the program" in words]
    assert not faults, "\n".join(faults)


@pytest.fixture
def person(begin: Callable[[], Person]) -> Person:
    """Start the window."""
    return begin()


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> Callable[..., list[Any]]:
    """Return a function that lets the system's dialog `name` give `answer`; it returns what was asked, as it comes."""

    def answer(owner: type, name: str, given: Any) -> list[Any]:
        asked: list[Any] = []

        def reply(*args: Any, **_: Any) -> Any:
            asked.append(args[1:])
            return given

        monkeypatch.setattr(owner, name, reply)
        return asked

    return answer
