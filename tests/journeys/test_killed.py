"""The program is killed while somebody types: what was left is there, and so is what was half typed at the vehicle."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from book.sealed import verify_job
from desktop.looking import settle
from journeys.driver import PLATFORM_NOISE, Person
from PySide6.QtCore import Qt

from workshop_log.book.drafts import load_draft
from workshop_log.book.jobs import load_job
from workshop_log.book.opening import open_book
from workshop_log.exchange.records import Job
from workshop_log.jobs.intake import text_at

pytestmark = [PLATFORM_NOISE, pytest.mark.slow,
              pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal there")]

TESTS = Path(__file__).resolve().parents[1]
ROUNDS = 12
# How many lines the typist says before the end: while it is at the fields, and while it is at the vehicle.
AT_THE_FIELDS, AT_THE_VEHICLE = (3, 95), (95, 170)


@dataclass(slots=True)
class Said:
    """What the typist said before the end.

    Attributes
    ----------
    left : dict[str, str]
        What the fields held when the cursor left them last.
    typing : tuple[str, str]
        The field that was being typed, and what it was to become; blank where none was.
    noted : list[str]
        Lines taken down.
    noting : str
        The line that was being typed, blank where none was.
    drafted : str
        Half a line that was typed a moment ago, and not finished since.
    """

    left: dict[str, str] = field(default_factory=dict)
    typing: tuple[str, str] = ("", "")
    noted: list[str] = field(default_factory=list)
    noting: str = ""
    drafted: str = ""

    def hear(self, line: str) -> None:
        what, _, text = line.partition("\t")
        what, _, path = what.partition(" ")
        match what:
            case "typing":
                self.typing = (path, text)
            case "left":
                self.left[path], self.typing = text, ("", "")
            case "drafted":
                self.drafted = text
            case "noting":
                self.noting = text
            case "noted":
                self.noted.append(text)
                self.noting = self.drafted = ""


def type_and_kill(path: Path, turn: int, lines: int) -> Said:
    """Let the typist type until it has said `lines` lines, kill it, and return what it said."""
    said = Said()
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join((str(TESTS), str(TESTS.parent)))}
    with subprocess.Popen([sys.executable, "-m", "journeys.typist", str(path), str(turn)], stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE, text=True, cwd=TESTS.parent, env=environment) as child:
        heard = []
        for line in child.stdout:
            heard.append(line)
            if len(heard) == lines:
                child.kill()
        fault = child.stderr.read()
        assert child.wait() == -signal.SIGKILL, fault
    assert "Traceback" not in fault, fault
    for line in heard:
        # What was cut off by the end was not said.
        if line.endswith("\n"):
            said.hear(line.removesuffix("\n"))
    return said


def read_book(path: Path) -> tuple[Job | None, str]:
    """Return the one job of the book, sound and with an intact chain, and the draft of its entry line."""
    from workshop_log.book.listing import list_jobs

    book = open_book(str(path), create=False)
    try:
        with book.read() as session:
            rows = tuple(list_jobs(session, limit=5))
            if not rows:
                return None, ""
            assert len(rows) == 1
            check = verify_job(session, rows[0].number)
            # A job without any evidence has no chain yet.
            job = load_job(session, rows[0].number)
            assert check.intact or not job.steps, check.reason
            return job, load_draft(session, f"{job.number}/entry line") or ""
    finally:
        book.close()


def note_of(line: str) -> str:
    return line.partition(";")[2].strip()


def test_nothing_but_the_field_being_typed_is_lost_when_the_program_is_killed(
        book_path: Path, begin: Callable[[], Person]) -> None:
    """After each of 12 kills, in the middle of fields and lines, all that was left or taken down is in the book."""
    dice = random.Random(20310312)
    left: dict[str, str] = {}
    notes: list[str] = []
    lost = drafts_back = 0
    for turn in range(1, ROUNDS + 1):
        said = type_and_kill(book_path, turn, dice.randint(*(AT_THE_FIELDS if turn % 2 else AT_THE_VEHICLE)))
        job, draft = read_book(book_path)
        left |= said.left
        if job is None:
            assert not left
            continue
        for path, text in left.items():
            there = text_at(job, path)
            if path == said.typing[0] and there != text:
                assert there == said.typing[1], f"{path} is neither what was left nor what was being typed"
                left[path] = there
            else:
                assert there == text, f"{path} was left and is lost"
        lost += said.typing[0] != "" and text_at(job, said.typing[0]) != said.typing[1]
        left |= {path: text_at(job, path) for path in said.typing[:1] if path}

        notes += [note_of(line) for line in said.noted]
        there = [step.note for step in job.steps]
        if len(there) == len(notes) + 1 and said.noting:
            # The end came between the book and the word of it.
            notes.append(note_of(said.noting))
            said.drafted = ""
        assert there == notes
        if said.drafted:
            assert draft.startswith(said.drafted), "half a line is lost"
            drafts_back += 1
            _find_the_draft(begin(), draft)
    # Kills that never hit a field, or never came after a line, would prove nothing.
    assert lost
    assert drafts_back
    assert notes


def _find_the_draft(person: Person, draft: str) -> None:
    """Start again and find half a line where it was typed."""
    person.shortcut(Qt.Key.Key_F)
    person.key(Qt.Key.Key_Return)
    person.shortcut(Qt.Key.Key_F2, Qt.KeyboardModifier.NoModifier)
    assert person.window.testing.entry.line.text() == draft
    person.window.close()
    settle()
