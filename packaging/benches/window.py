"""Start and memory of the window against a bare Qt window, each run a process of its own."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from benches.timing import Figures, Line, held_to

HERE = Path(__file__).resolve().parent
PROJECT = HERE.parent.parent
RUNS, WARM_RUNS = 20, 5
MOST_RATIO = 1.3
# A start of the window may take this long before the measurement gives up. [s]
PATIENCE_S = 60


def start(book: Path, runs: int = RUNS, warm_runs: int = WARM_RUNS) -> Iterator[Line]:
    """Yield the lines on starting with the list of a big book."""
    with _settings() as settings:
        bare, full = [], []
        for count in range(runs + 1):
            kinds = (_bare, _full) if count % 2 else (_full, _bare)
            told = {kind: kind(settings, book) for kind in kinds}
            # The first of each fills the machine's caches.
            if count:
                bare.append(told[_bare]["start"])
                full.append(told[_full]["start"])
        bare_figures, full_figures = Figures(tuple(bare)), Figures(tuple(full))
        last = told[_full]
        heavy = ", ".join(last["heavy"]) or "nothing heavy"
        note = f"{last['rows']} jobs shown; {heavy} loaded by then; {runs} starts each, in turn"
        yield held_to("window painted, least", full_figures.least * 1e3, "ms", bare_figures.least * 1e3,
                      ratio=MOST_RATIO, note=note)
        yield held_to("window painted, median", full_figures.median * 1e3, "ms", bare_figures.median * 1e3,
                      ratio=MOST_RATIO)
        number = open_job(book)
        told_warm = [_full(settings, book, number) for _ in range(warm_runs)]
        yield Line("everything loaded behind it, median", statistics.median(t["warmed"] for t in told_warm), "ms",
                   note="since the process began")
        gaps = [told["longest_gap"] / 1e6 for told in told_warm]
        yield Line("longest gap of its event loop, median", statistics.median(gaps), "ms",
                   note=f"meanwhile; the worst of {warm_runs} starts {max(gaps):.0f} ms")
        yield Line("first job opened and painted, median",
                   statistics.median(t["job_opened"] for t in told_warm) / 1e6, "ms",
                   note="the first in this process, right after loading")


def memory(book: Path, runs: int = 3) -> Iterator[Line]:
    """Yield the lines on memory: the window with everything loaded and a job's Testing page shown, and a bare one."""
    number = open_job(book)
    with _settings() as settings:
        pairs = [(_full(settings, book, number)["memory"], _bare(settings)["memory"]) for _ in range(runs)]
    if not pairs[0][0]:
        return
    for kind, words in (("rss", "resident"), ("pss", "its share")):
        full, bare = (statistics.median(pair[side][kind] for pair in pairs) / 1024 for side in (0, 1))
        yield Line(f"memory with a job open, {words}", full, "MB", bare)


def open_job(book: Path) -> str:
    """Return the number of a job that is still worked on, so that its Testing page is shown."""
    import sqlite3
    from contextlib import closing

    with closing(sqlite3.connect(f"{book.absolute().as_uri()}?mode=ro", uri=True)) as connection:
        [number] = connection.execute(
            "SELECT number FROM jobs WHERE handed_back IS NULL ORDER BY key LIMIT 1").fetchone()
    return number


@contextmanager
def _settings() -> Iterator[dict[str, str]]:
    """Give an environment without a screen, with settings of its own, and with compiled modules from the second run on.

    A developer's environment may forbid to keep them; a program that has been started once has them.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = os.pathsep.join(filter(None, (str(PROJECT), os.environ.get("PYTHONPATH", ""))))
        kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        yield {**kept, "QT_QPA_PLATFORM": "offscreen", "PYTHONPATH": path, "PYTHONPYCACHEPREFIX": f"{folder}/compiled",
               "XDG_CONFIG_HOME": folder, "XDG_DATA_HOME": folder}


def _bare(settings: dict[str, str], _book: Path | None = None) -> dict[str, Any]:
    return _told("bare_window.py", [], settings)


def _full(settings: dict[str, str], book: Path, job: str = "") -> dict[str, Any]:
    told = _told("full_window.py", [str(book), *filter(None, [job])], settings)
    if not told["rows"] or (job and told["shown_job"] != job):
        raise RuntimeError(f"The window did not show what it was to show: {told}")
    return told


def _told(name: str, arguments: Sequence[str], settings: dict[str, str]) -> dict[str, Any]:
    """Run one of the windows and return what it says, with the times since the process was begun. [s and ms]."""
    # The same clock in every process: it runs since the machine was started.
    began = time.monotonic_ns()
    ran = subprocess.run([sys.executable, str(HERE / name), *arguments], env=settings, capture_output=True, text=True,
                         check=False, timeout=PATIENCE_S)
    if ran.returncode or not ran.stdout:
        raise RuntimeError(f"{name} failed ({ran.returncode}): {ran.stderr.strip()}")
    told = json.loads(ran.stdout.splitlines()[-1])
    told["start"] = (told["painted"] - began) / 1e9
    if "warm" in told:
        told["warmed"] = (told["warm"] - began) / 1e6
    return told
