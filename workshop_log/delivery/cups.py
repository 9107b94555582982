"""CUPS, asked through its own programs, whose answers are names and keywords whatever language it speaks.

Tried on Debian 12 with CUPS 2.4; not tried on macOS.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from dataclasses import dataclass

from workshop_log.errors import WorkshopLogError

# A printing system that says nothing for so long does not answer. [s]
PATIENCE_S = 20

# What a printer says of itself, in CUPS's keywords, and what a person would say.
_PAUSED = "it was paused"
_REASONS = {
    "paused": _PAUSED,
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


def has_lp() -> bool:
    """Return whether this machine can hand a PDF to a printer as it is."""
    return shutil.which("lp") is not None


def printers() -> tuple[str, ...]:
    """Return the names of all printers that the printing system knows; none where it does not run."""
    return tuple(ask("lpstat", "-e").stdout.split())


@dataclass(frozen=True, slots=True)
class PrinterState:
    """How a printer stands.

    Attributes
    ----------
    is_stopped : bool
        Whether it prints nothing until somebody starts it again.
    accepts : bool
        Whether it takes jobs at all.
    trouble : str
        What it says is wrong with it, in words; empty where nothing is.
    """

    is_stopped: bool
    accepts: bool
    trouble: str


def state_of(printer: str) -> PrinterState | None:
    """Return how a printer stands, or None where there is none of this name."""
    answer = ask("lpoptions", "-p", printer).stdout
    state = re.search(r"(?:^|\s)printer-state=(\d)", answer)
    if state is None:
        return None
    reasons = re.search(r"(?:^|\s)printer-state-reasons=(\S+)", answer)
    return PrinterState(state[1] == "5", "printer-is-accepting-jobs=false" not in answer,
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
    if len(words) > 1 and _PAUSED in words:
        # It stopped for the other reason.
        words.remove(_PAUSED)
    return ", ".join(words)


def is_queued(name: str) -> bool:
    """Return whether the job stands in a queue, or is being printed."""
    return any(line.split()[:1] == [name] for line in ask("lpstat", "-W", "not-completed", "-o").stdout.splitlines())


def was_taken_out(name: str) -> bool:
    """Return whether somebody ended the job, as far as the printing system remembers."""
    of_this_job = False
    for line in ask("lpstat", "-l", "-W", "completed", "-o").stdout.splitlines():
        if line[:1].strip():
            of_this_job = line.split()[0] == name
        elif of_this_job and "job-canceled" in line:
            return True
    return False


def ask(*command: str, given: bytes = b"") -> subprocess.CompletedProcess[str]:
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


def complaint_of(answer: subprocess.CompletedProcess[str]) -> str:
    """Return what the program complained of, without its own name in front."""
    lines = [line.strip() for line in answer.stderr.splitlines() if line.strip()]
    return re.sub(r"^\w+: (Error - )?", "", lines[0]).rstrip(".") if lines else "it gave no reason"
