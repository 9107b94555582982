"""A paper on its way to a printer through CUPS, the printing system of Linux and macOS.

The PDF itself is handed over, by `lp`: it is printed as it is, with its own fonts and lines, where drawing it anew
through a print driver would make pictures of its pages. What the job is doing is asked with `lpstat`, how the printer
stands with `lpoptions`; both answer in keywords. Tried on Debian 12 with CUPS 2.4; not tried on macOS. Windows has no
`lp`: there the window draws the pages.
"""

from __future__ import annotations

import enum
import os
import re
import shutil
import subprocess
import time
from collections.abc import Callable
from dataclasses import dataclass

from workshop_log.delivery.page_choice import PageRange, written
from workshop_log.errors import WorkshopLogError
from workshop_log.progress import Cancelled, Left, Progress, outliving, untold

# A printing system that says nothing for so long does not answer. [s]
PATIENCE_S = 20
# For so long a job is followed; a big one in a slow printer goes on without being watched. [s]
FOLLOWED_S = 90
# Trouble that lasts so long is told; a printer that wakes up has some for a moment. [s]
TROUBLED_S = 5
# Between two looks at the job: soon at first, because most are gone at once. [s]
SOONEST_LOOK_S, LATEST_LOOK_S = 0.1, 1.0

# What a printer says of itself, in CUPS's keywords, and what a person would say.
_REASONS = {
    "paused": "it was paused",
    "media-empty": "it has no paper",
    "media-needed": "it asks for paper",
    "media-jam": "paper is jammed in it",
    "cover-open": "a cover is open",
    "door-open": "a door is open",
    "toner-empty": "its toner is used up",
    "marker-supply-empty": "its ink is used up",
    "output-area-full": "its tray is full",
    "offline": "it is switched off or not connected",
    "connecting-to-device": "it does not answer yet",
    "timed-out": "it does not answer",
    "shutdown": "it is switched off",
}
# How bad it is, at the end of such a keyword; a report is no trouble.
_GRADES = ("-error", "-warning", "-report")


class PrintingError(WorkshopLogError):
    """A paper that did not reach a printer."""


class Sides(enum.Enum):
    """Which sides of a sheet are printed, by CUPS's names."""

    # As the printer is set.
    AS_SET = ""
    ONE = "one-sided"
    # Turned like a book.
    LONG_EDGE = "two-sided-long-edge"
    # Turned like a calendar.
    SHORT_EDGE = "two-sided-short-edge"


@dataclass(frozen=True, slots=True)
class PrintJob:
    """What is printed, where and how.

    Attributes
    ----------
    pdf : bytes
        The paper.
    title : str
        As it stands in the printer's queue.
    printer : str
        Its name in the printing system.
    copies : int
        At least 1.
    pages : tuple of PageRange
        None of them means every page. A queue without any driver, which passes on what it gets, prints every page.
    sides : Sides
        One side, or both and how the sheet is turned.
    collate : bool
        Whether one copy comes after the other, instead of each page as often as there are copies.
    reverse : bool
        Whether the last page comes first.
    paper : str
        Size of the sheets by its common name, "A4" or "Letter"; empty as the printer is set.
    options : tuple of (str, str)
        More of what the printing system's own dialog offers, by its names.
    """

    pdf: bytes
    title: str
    printer: str
    copies: int = 1
    pages: tuple[PageRange, ...] = ()
    sides: Sides = Sides.AS_SET
    collate: bool = True
    reverse: bool = False
    paper: str = ""
    options: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        if self.copies < 1:
            raise ValueError(f"{self.copies} copies")


class Standing(enum.Enum):
    """How far a job had come when it was looked at last."""

    # It is through the queue: the printer has all of it.
    PRINTED = "printed"
    # It stands in the queue, or is being printed.
    WAITING = "waiting"
    # It stands in the queue of a printer that has stopped.
    HELD = "held"
    # Somebody took it out of the queue.
    TAKEN_OUT = "taken out"


@dataclass(frozen=True, slots=True)
class Handed:
    """A job that was handed over.

    Attributes
    ----------
    name : str
        As the printing system calls it: `office-12`.
    printer : str
        Where it went.
    standing : Standing
        How far it had come.
    trouble : str
        What the printer says is wrong with it, in words; empty where nothing is.
    """

    name: str
    printer: str
    standing: Standing
    trouble: str = ""

    @property
    def is_well(self) -> bool:
        """Whether nobody has to do anything."""
        return self.standing in (Standing.PRINTED, Standing.WAITING) and not self.trouble


def has_lp() -> bool:
    """Return whether this machine can hand a PDF to a printer as it is."""
    return shutil.which("lp") is not None


def printers() -> tuple[str, ...]:
    """Return the names of all printers that the printing system knows; none where it does not run."""
    return tuple(_ask("lpstat", "-e").stdout.split())


def print_paper(job: PrintJob, progress: Progress = untold) -> Handed:
    """Hand `job` to its printer and follow it until the printer has all of it, or for a while.

    Ended before, the job is taken out of the queue; where only the window closes, it is printed all the same.

    Raises
    ------
    PrintingError
        If there is no `lp`, no printing system, no such printer, or the printer takes nothing now. Nothing is left in
        any queue then.
    Cancelled
        If the person who waited for it ended it.
    """
    outliving(progress)(0, 3)
    _check_printer(job.printer)
    outliving(progress)(1, 3)
    name = _hand_over(job)
    try:
        return _follow(name, job.printer, lambda: progress(2, 3))
    except Left:
        # The printing system goes on without the window.
        raise
    except Cancelled:
        cancel(name)
        raise


def cancel(name: str) -> None:
    """Take a job out of its queue; one that is not in it any more is left as it is.

    Raises
    ------
    PrintingError
        If the job still stands in the queue.
    """
    answer = _ask("cancel", name)
    if answer.returncode and _is_queued(name):
        raise PrintingError(f"The job {name} could not be taken out of the printer's queue: {_said(answer)}. "
                            "Stop it at the printer.")


def _check_printer(printer: str) -> None:
    state = _state(printer)
    if state is None:
        if "not running" in _ask("lpstat", "-r").stdout:
            raise PrintingError("The printing system of this machine (CUPS) does not run, so nothing was printed. "
                                "Start it, or save the PDF and print it elsewhere.")
        raise PrintingError(f"There is no printer “{printer}” on this machine. Choose another one.")
    if state.is_stopped:
        why = f": {state.trouble}" if state.trouble else ""
        raise PrintingError(f"The printer {printer} has stopped{why}. Start it again and print once more, or choose "
                            "another one.")
    if not state.accepts:
        raise PrintingError(f"The printer {printer} takes no jobs at present. Choose another one, or have it accept "
                            "jobs again in the system's settings.")


def _hand_over(job: PrintJob) -> str:
    command = ["lp", "-d", job.printer, "-n", str(job.copies), "-t", job.title]
    if job.pages:
        command += ["-P", written(job.pages)]
    chosen = [f"sides={job.sides.value}" if job.sides.value else "", f"media={job.paper}" if job.paper else "",
              f"collate={'true' if job.collate else 'false'}" if job.copies > 1 else "",
              "outputorder=reverse" if job.reverse else "", *(f"{key}={value}" for key, value in job.options)]
    for option in filter(None, chosen):
        command += ["-o", option]
    # By its standard input: no copy of a customer's report is left in a temporary folder.
    answer = _ask(*command, given=job.pdf)
    found = re.search(r"(\S+-\d+) \(", answer.stdout)
    if answer.returncode or found is None:
        raise PrintingError(f"The printer {job.printer} did not take the paper: {_said(answer)}. Choose another one, "
                            "or save the PDF and print it elsewhere.")
    return found[1]


def _follow(name: str, printer: str, tell: Callable[[], None]) -> Handed:
    began, pause = time.monotonic(), SOONEST_LOOK_S
    while True:
        tell()
        state = _state(printer)
        trouble = state.trouble if state is not None else ""
        if not _is_queued(name):
            return Handed(name, printer, Standing.TAKEN_OUT if _was_taken_out(name) else Standing.PRINTED, trouble)
        if state is not None and state.is_stopped:
            return Handed(name, printer, Standing.HELD, trouble)
        if time.monotonic() - began > (TROUBLED_S if trouble else FOLLOWED_S):
            return Handed(name, printer, Standing.WAITING, trouble)
        time.sleep(pause)
        pause = min(LATEST_LOOK_S, pause * 1.5)


@dataclass(frozen=True, slots=True)
class _State:
    is_stopped: bool
    accepts: bool
    trouble: str


def _state(printer: str) -> _State | None:
    """Return how a printer stands, or None where there is none of this name."""
    answer = _ask("lpoptions", "-p", printer).stdout
    state = re.search(r"(?:^|\s)printer-state=(\d)", answer)
    if state is None:
        return None
    reasons = re.search(r"(?:^|\s)printer-state-reasons=(\S+)", answer)
    return _State(state[1] == "5", "printer-is-accepting-jobs=false" not in answer,
                  trouble_words(reasons[1]) if reasons else "")


def trouble_words(reasons: str) -> str:
    """Return what a printer's reasons mean for a person: `media-empty-error,paused`, both in words."""
    words = []
    for reason in reasons.split(","):
        grade = next((grade for grade in _GRADES if reason.endswith(grade)), "")
        bare = reason.removesuffix(grade)
        is_trouble = grade != "-report" and bare not in ("", "none") and not bare.endswith("-low")
        # What begins with its own name, CUPS says to itself.
        if is_trouble and not bare.startswith("cups-"):
            # What a maker calls by a name of its own is passed on as it is.
            words.append(_REASONS.get(bare, bare.replace("-", " ")))
    return ", ".join(words)


def _is_queued(name: str) -> bool:
    return any(line.split()[:1] == [name] for line in _ask("lpstat", "-W", "not-completed", "-o").stdout.splitlines())


def _was_taken_out(name: str) -> bool:
    """Return whether somebody ended the job, as far as the printing system remembers."""
    of_this_job = False
    for line in _ask("lpstat", "-l", "-W", "completed", "-o").stdout.splitlines():
        if line[:1].strip():
            of_this_job = line.split()[0] == name
        elif of_this_job and "job-canceled" in line:
            return True
    return False


def _ask(*command: str, given: bytes = b"") -> subprocess.CompletedProcess[str]:
    """Run one of the printing system's programs, in English, and return what it said."""
    program = shutil.which(command[0])
    if program is None:
        raise PrintingError(f"The program {command[0]}, which hands papers to printers, is not installed (Debian: "
                            "cups-client). Install it, or save the PDF and print it elsewhere.")
    try:
        done = subprocess.run([program, *command[1:]], input=given, capture_output=True, check=False,
                              timeout=PATIENCE_S, env={**os.environ, "LC_ALL": "C"})
    except subprocess.TimeoutExpired as error:
        raise PrintingError(f"The printing system did not answer for {PATIENCE_S} seconds. Look whether the printer "
                            "and its server are switched on, or save the PDF and print it elsewhere.") from error
    except OSError as error:
        raise PrintingError(f"The program {program} cannot be started: {error.strerror}. Save the PDF and print it "
                            "elsewhere.") from error
    return subprocess.CompletedProcess(done.args, done.returncode, done.stdout.decode(errors="replace"),
                                       done.stderr.decode(errors="replace"))


def _said(answer: subprocess.CompletedProcess[str]) -> str:
    """Return what the program complained of, without its own name in front."""
    lines = [line.strip() for line in answer.stderr.splitlines() if line.strip()]
    return re.sub(r"^\w+: (Error - )?", "", lines[0]).rstrip(".") if lines else "it gave no reason"
