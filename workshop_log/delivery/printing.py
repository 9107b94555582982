"""A paper on its way to a printer through CUPS, the printing system of Linux and macOS.

The PDF itself is handed over, by `lp`: it is printed as it is, with its own fonts and lines, where drawing it anew
through a print driver would make pictures of its pages. Windows has no `lp`: there the window draws the pages.
"""

from __future__ import annotations

import enum
import re
import time
from collections.abc import Callable
from dataclasses import dataclass

from workshop_log.delivery.cups import PrintingError, ask, complaint_of, is_queued, state_of, was_taken_out
from workshop_log.delivery.page_choice import PageRange, written
from workshop_log.progress import Cancelled, Left, Progress, outliving, untold

# For so long a job is followed; a big one in a slow printer goes on without being watched. [s]
FOLLOWED_S = 60
# Trouble that lasts so long is told; a printer that wakes up has some for a moment. [s]
TROUBLED_S = 5
# Between two looks at the job: soon at first, because most are gone at once. [s]
SOONEST_LOOK_S, LATEST_LOOK_S = 0.1, 1.0


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
    answer = ask("cancel", name)
    if answer.returncode and is_queued(name):
        raise PrintingError(f"The job {name} could not be taken out of the printer's queue: {complaint_of(answer)}. "
                            "Stop it at the printer.")


def _check_printer(printer: str) -> None:
    state = state_of(printer)
    if state is None:
        if "not running" in ask("lpstat", "-r").stdout:
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
    answer = ask(*command, given=job.pdf)
    found = re.search(r"(\S+-\d+) \(", answer.stdout)
    if answer.returncode or found is None:
        raise PrintingError(f"The printer {job.printer} did not take the paper: {complaint_of(answer)}. Choose "
                            "another one, or save the PDF and print it elsewhere.")
    return found[1]


def _follow(name: str, printer: str, tell: Callable[[], None]) -> Handed:
    began, pause = time.monotonic(), SOONEST_LOOK_S
    while True:
        tell()
        state = state_of(printer)
        trouble = state.trouble if state is not None else ""
        if not is_queued(name):
            return Handed(name, printer, Standing.TAKEN_OUT if was_taken_out(name) else Standing.PRINTED, trouble)
        if state is not None and state.is_stopped:
            return Handed(name, printer, Standing.HELD, trouble)
        if time.monotonic() - began > (TROUBLED_S if trouble else FOLLOWED_S):
            return Handed(name, printer, Standing.WAITING, trouble)
        time.sleep(pause)
        pause = min(LATEST_LOOK_S, pause * 1.5)
