"""A window that is open all day does not end because the binding miscounts references."""

from __future__ import annotations

import subprocess
import sys

# Ten times as many calls as Python has references to None when the window stands.
CALLS = """
import workshop_log.desktop
from PySide6.QtWidgets import QApplication, QWidget
app = QApplication([])
widget = QWidget()
for _ in range(500_000):
    widget.parentWidget()
    widget.isVisible()
print("still there")
"""


def test_half_a_million_calls_of_qt_leave_python_standing():
    """`None`, `True` and `False` are still there after as many calls as some hours of work make, and so is Python."""
    done = subprocess.run([sys.executable, "-c", CALLS], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stdout) == (0, "still there\n"), done.stderr
