"""What the tests of the window share: the sample jobs, waiting without sleeping, and walking through widgets."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QWidget

from workshop_log.desktop.workers import wait_for_work, work_begun
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.records import Job

SAMPLES = Path(__file__).resolve().parents[2] / "sample_jobs"
SAMPLE_NAMES = sorted(path.name.removesuffix(".job.json") for path in SAMPLES.glob("*.job.json"))
# The jobs with the fewest and the most entries.
SHORT, LONG = "2031-0009", "2031-0003"
PAGES = ("Intake", "Testing", "Case", "Time and money", "Report")
LONGEST_WORK_MS = 20_000


def sample(name: str) -> Job:
    """Return a sample job."""
    return read_job((SAMPLES / f"{name}.job.json").read_bytes(), name)


def settle() -> None:
    """Let Qt do all that is due now, and free what was to be freed."""
    for _ in range(3):
        QCoreApplication.processEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def work_done() -> None:
    """Wait until the work off the window's thread is done and shown, and the work that follows from it."""
    begun = -1
    while begun != work_begun():
        begun = work_begun()
        assert wait_for_work(LONGEST_WORK_MS / 1000), "work is left behind"
        settle()


def seen(root: QWidget) -> Iterator[QWidget]:
    """Yield every widget below `root` that can be seen."""
    for widget in root.findChildren(QWidget):
        if widget.isVisibleTo(root) and widget.window() is root.window():
            yield widget


def named(widget: QWidget) -> str:
    """Return which widget this is, for a message."""
    text = getattr(widget, "text", lambda: "")
    said = text() if callable(text) else ""
    places = []
    above = widget.parentWidget()
    while above is not None:
        places.append(type(above).__name__)
        above = above.parentWidget()
    return f"{type(widget).__name__} “{said or widget.accessibleName()}” in {' < '.join(places)}"
