"""A report goes out, comes back with one digit changed, and the window says which."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from delivery.returned import attached_to, with_job_file
from desktop.looking import SAMPLES
from journeys.driver import PLATFORM_NOISE, Person
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog

from workshop_log.desktop.verify_dialog import VerifyDialog
from workshop_log.exchange.seal import short

pytestmark = PLATFORM_NOISE
JOB = SAMPLES / "fuel-sender.job.json"


def test_a_report_that_came_back_is_checked(person: Person, answers: Callable[..., list[Any]], tmp_path: Path) -> None:
    """Handed over and checked: whole. With another reading inside: the test is named, with both readings."""
    window = person.window
    answers(QFileDialog, "getOpenFileNames", ([str(JOB)], ""))
    person.menu("Job", "Import job files")
    person.rest()
    person.turn_to(4)
    person.wait_for_the_report()
    printed = short(window.desk.job.seal.entries[-1].fingerprint)
    saved, back = tmp_path / "report.pdf", tmp_path / "came back.pdf"
    answers(QFileDialog, "getSaveFileName", (str(saved), ""))
    person.press("Hand over")
    person.wait(lambda: bool(window.desk.job.reports))

    pdf = saved.read_bytes()
    _, job_file = attached_to(pdf)
    forged = re.sub(rb'"reading": "(\S+) ohm"', rb'"reading": "7\1 ohm"', job_file, count=1)
    back.write_bytes(with_job_file(pdf, forged))

    person.menu("Job", "Check a report's seal")
    (dialog,) = window.findChildren(VerifyDialog)
    dialog.activateWindow()
    person.wait(dialog.isActiveWindow)
    person.fill(person.field("Fingerprint on the paper", dialog), printed)

    def check(path: Path) -> str:
        answers(QFileDialog, "getOpenFileName", (str(path), ""))
        person.press(person.button("Choose a report…", dialog))
        person.rest()
        return person.words(dialog)

    told = check(saved)
    assert f"The seal is intact: {printed}" in told
    assert "could not be checked" not in told
    assert "Byte for byte what was handed over" in told
    told = check(back)
    assert "came back.pdf is not as it was sealed." in told
    assert re.search(r"test \d+ \(Resistance: .*\): reading: “7\S+ ohm” in this report, “\S+ ohm” in the book", told)
    person.key(Qt.Key.Key_Escape)
    assert not window.findChildren(VerifyDialog)
    assert not person.said
