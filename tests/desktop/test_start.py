"""Starting: light before the first paint, one window for each book, and what goes wrong is told and logged."""

from __future__ import annotations

import logging
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer, qInstallMessageHandler
from PySide6.QtWidgets import QApplication, QMessageBox

from workshop_log.desktop import app
from workshop_log.desktop.main_window import MainWindow

HEAVY = ("sqlalchemy", "pint", "reportlab", "numpy", "PIL", "alembic", "pikepdf", "scipy", "psycopg", "lxml")

FIRST_PAINT = """
import sys
from pathlib import Path
from workshop_log.desktop.app import make_application
from workshop_log.desktop.desk import Desk
from workshop_log.desktop.main_window import MainWindow
application = make_application([])
path = Path(sys.argv[1])
window = MainWindow(Desk(str(path)), path)
window.show_first_list()
window.show()
application.processEvents()
window.grab()
print(window.books.model.rowCount(), *sorted({name.partition(".")[0] for name in sys.modules} & set(sys.argv[2:])))
"""


def test_nothing_heavy_is_loaded_before_the_window_stands(samples: None, book_path: Path):
    """The list is there, with every job in it, before any of the large libraries."""
    done = subprocess.run([sys.executable, "-c", FIRST_PAINT, str(book_path), *HEAVY], capture_output=True, text=True,
                          timeout=60, check=False)
    assert (done.returncode, done.stdout.split()) == (0, ["11"]), done.stdout + done.stderr


def test_a_book_that_is_not_there_yet_has_an_empty_list(tmp_path: Path):
    """The very first start."""
    done = subprocess.run([sys.executable, "-c", FIRST_PAINT, str(tmp_path / "new" / "book.db")], capture_output=True,
                          text=True, timeout=60, check=False)
    assert (done.returncode, done.stdout.split()) == (0, ["0"]), done.stderr


@pytest.fixture
def _hooks() -> Iterator[None]:
    """Put back what a start changes in the process."""
    before = sys.excepthook, threading.excepthook, list(app.log.handlers), app.log.level
    yield
    sys.excepthook, threading.excepthook = before[:2]
    for handler in set(app.log.handlers) - set(before[2]):
        app.log.removeHandler(handler)
        handler.close()
    app.log.setLevel(before[3])
    qInstallMessageHandler(None)


def start_and_leave(book: Path, monkeypatch: pytest.MonkeyPatch, seen: list[MainWindow]) -> int:
    """Start the program and close its window once it stands."""
    def leave() -> None:
        window, = (w for w in QApplication.topLevelWidgets() if isinstance(w, MainWindow) and w.isVisible())
        seen.append(window)
        window.close()

    QTimer.singleShot(200, leave)
    return app.run(str(book), ["workshop-log"])


@pytest.mark.usefixtures("_hooks")
def test_a_locked_book_is_one_sentence(book_path: Path, monkeypatch: pytest.MonkeyPatch):
    """A second window on the same file is refused, and says which file and what to do."""
    said: list[str] = []
    monkeypatch.setattr(QMessageBox, "information", lambda *args: said.append(args[2]))
    holder = app._lock(book_path)
    assert holder is not None
    assert app.run(str(book_path), ["workshop-log"]) == 1
    assert len(said) == 1
    assert str(book_path) in said[0]
    assert "already open in another window" in said[0]
    holder.unlock()
    again = app._lock(book_path)
    assert again is not None
    again.unlock()


def test_a_lock_that_a_crash_left_behind_does_not_keep_anybody_out(book_path: Path):
    """The process that held it is gone, so the book is free."""
    code = ("import sys, os\nfrom pathlib import Path\nfrom workshop_log.desktop.app import _lock\n"
            "held = _lock(Path(sys.argv[1]))\nprint(held is not None, flush=True)\nos._exit(9)\n")
    done = subprocess.run([sys.executable, "-c", code, str(book_path)], capture_output=True, text=True, timeout=60,
                          check=False)
    assert done.stdout == "True\n", done.stderr
    lock = app._lock(book_path)
    assert lock is not None
    lock.unlock()


def test_a_shared_book_needs_no_lock():
    """Several bays are what it is for."""
    assert app._lock(None) is None


@pytest.mark.usefixtures("_hooks")
def test_a_fault_is_logged_and_told_once(book_path: Path, qapp: QApplication, monkeypatch: pytest.MonkeyPatch):
    """The person reads that the work is safe; the details stand in the log beside the book."""
    shown: list[tuple[str, str]] = []
    monkeypatch.setattr(QMessageBox, "exec", lambda box: shown.append((box.text(), box.detailedText())))
    app._log_to(book_path.parent)
    try:
        raise ZeroDivisionError("a fault made on purpose")
    except ZeroDivisionError as error:
        sys.excepthook(type(error), error, error.__traceback__)
    (text, details), = shown
    assert "safe in the book" in text
    assert "Traceback" not in text
    assert "a fault made on purpose" in details
    log = (book_path.parent / "workshop-log.log").read_text(encoding="utf-8")
    assert "ZeroDivisionError: a fault made on purpose" in log


@pytest.mark.usefixtures("_hooks")
def test_a_fault_on_another_thread_is_logged_without_a_box(book_path: Path, monkeypatch: pytest.MonkeyPatch):
    """A box may only come from the window's own thread."""
    monkeypatch.setattr(QMessageBox, "exec", lambda _box: pytest.fail("a box from another thread"))
    app._log_to(book_path.parent)

    def fail() -> None:
        raise ZeroDivisionError("on another thread")

    thread = threading.Thread(target=fail)
    thread.start()
    thread.join()
    assert "on another thread" in (book_path.parent / "workshop-log.log").read_text(encoding="utf-8")


@pytest.mark.usefixtures("_hooks")
def test_a_start_and_a_close_leave_nothing_running(samples: None, book_path: Path, monkeypatch: pytest.MonkeyPatch):
    """The lock is free again and every thread has ended; a second start in the same process works as well."""
    for _ in range(2):
        seen: list[MainWindow] = []
        assert start_and_leave(book_path, monkeypatch, seen) == 0
        assert len(seen) == 1
        seen[0].deleteLater()
        seen[0].desk.deleteLater()
        seen.clear()
        lock = app._lock(book_path)
        assert lock is not None, "the lock was not given back"
        lock.unlock()
        logging.shutdown()
    assert os.listdir(book_path.parent)
