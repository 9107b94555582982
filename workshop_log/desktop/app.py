"""Starting the window: one application, one book, one log of what went wrong."""

from __future__ import annotations

import faulthandler
import gc
import logging
import sys
import threading
import traceback
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QLockFile, QSettings, QtMsgType, Slot, qInstallMessageHandler
from PySide6.QtWidgets import QApplication

from workshop_log.book.place import default_path, sqlite_path
from workshop_log.desktop import theme
from workshop_log.desktop.desk import Desk
from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.workers import WarmUp

log = logging.getLogger("workshop_log")
LOG_BYTES = 1_000_000
# The same on every system: the theme's style sheet is made for it.
STYLE = "fusion"
# Python lets a thread compute for so long before another gets its turn. A page that is painted asks Python many times,
# and with the usual 5 ms it would wait that long each time while something is drawn beside the window. [s]
TURN_S = 0.001


def make_application(arguments: list[str]) -> QApplication:
    """Return the application with its name, font and theme."""
    sys.setswitchinterval(TURN_S)
    QApplication.setApplicationName("workshop-log")
    QApplication.setOrganizationName("workshop-log")
    QApplication.setApplicationDisplayName("Workshop Log")
    app = QApplication.instance()
    if app is None:
        # As an argument: to touch the style from here takes longer than to paint the first window.
        app = QApplication([*(arguments or ["workshop-log"]), "-style", STYLE])
    else:
        app.setStyle(STYLE)
    theme.set_fonts(app)
    wanted = {"light": theme.LIGHT, "dark": theme.DARK}.get(str(QSettings().value("theme", "")))
    theme.apply(app, wanted or theme.system_theme())
    return app


def run(book: str | None = None, arguments: list[str] | None = None) -> int:
    """Open the window on `book` and return the exit status."""
    app = make_application(arguments or sys.argv[:1])
    path = sqlite_path(book)
    lock = _lock(path)
    if path is not None and lock is None:
        from PySide6.QtWidgets import QMessageBox

        QMessageBox.information(
            None,
            "Workshop Log",
            f"The book {path} is already open in another window on this machine. Close that one first, or go on there.",
        )
        return 1
    folder = path.parent if path is not None else default_path().parent
    _log_to(folder)
    desk = Desk(book)
    window = MainWindow(desk, path)
    window.show_first_list()
    warm_up = WarmUp()
    warm_up.finished.connect(window.on_loaded)
    window.is_built.connect(collect_garbage)
    window.stands.connect(warm_up.begin)
    window.show()
    status = app.exec()
    warm_up.requestInterruption()
    warm_up.wait()
    if lock is not None:
        lock.unlock()
    return status


@Slot()
def collect_garbage() -> None:
    """Look for garbage from now on, but not among what was loaded until now, which stays for as long as the window.

    There it would be looked for a hundred thousand times in vain, and a tenth of a second each time.
    """
    gc.freeze()
    gc.enable()


def _lock(path: Path | None) -> QLockFile | None:
    """Lock a book that is one file, so that two windows do not surprise each other."""
    if path is None:
        return None
    path.parent.mkdir(parents=True, exist_ok=True)
    lock = QLockFile(f"{path}.lock")
    lock.setStaleLockTime(0)
    return lock if lock.tryLock(100) else None


def _log_to(folder: Path) -> None:
    """Write what goes wrong into a log beside the book, begun anew when it is long; nothing is sent anywhere."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "workshop-log.log"
    # Only now and never while it is open: what is written on a crash goes to the file by its number.
    if path.exists() and path.stat().st_size > LOG_BYTES:
        path.replace(path.with_name(f"{path.name}.1"))
    handler = logging.FileHandler(path, encoding="utf-8")
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    log.addHandler(handler)
    log.setLevel(logging.INFO)
    # Kept open for as long as the program runs: a crash below Python is written there, too.
    faulthandler.enable(handler.stream)
    sys.excepthook = _tell_of_fault
    threading.excepthook = lambda args: _tell_of_fault(args.exc_type, args.exc_value, args.exc_traceback)
    qInstallMessageHandler(_log_qt)


def _tell_of_fault(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
    """Log a fault of the program and tell the person that the work is safe."""
    text = "".join(traceback.format_exception(kind, error, trace))
    log.error("uncaught: %s", text)
    if threading.current_thread() is not threading.main_thread() or QApplication.instance() is None:
        return
    from PySide6.QtWidgets import QMessageBox

    box = QMessageBox(QMessageBox.Icon.Warning, "A fault in the program",
                      "Something in the program went wrong. What was taken down is safe in the book. "
                      "You can go on; if it happens again, close the window and open it anew.")
    box.setDetailedText(text)
    box.exec()


def _log_qt(kind: QtMsgType, _context: object, message: str) -> None:
    level = {QtMsgType.QtDebugMsg: logging.DEBUG, QtMsgType.QtInfoMsg: logging.INFO,
             QtMsgType.QtWarningMsg: logging.WARNING}.get(kind, logging.ERROR)
    logging.getLogger("workshop_log.qt").log(level, message)
