"""The Qt binding holds: a window open all day, and a fault in the program, do not end Python."""

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


# A fault in a method that Qt calls while Python calls Qt; it must come back as an ordinary error.
FAULT = """
import workshop_log.desktop
from PySide6.QtWidgets import QApplication, QWidget
app = QApplication([])
class Widget(QWidget):
    def showEvent(self, event):
        raise LookupError("on purpose")
try:
    Widget().show()
except LookupError:
    print("told")
"""


def test_a_fault_in_a_method_that_qt_calls_is_an_ordinary_error():
    """It can be logged and told; with a binding that does not fit this Python it would be a segmentation fault."""
    done = subprocess.run([sys.executable, "-c", FAULT], capture_output=True, text=True, timeout=60, check=False)
    assert (done.returncode, done.stdout) == (0, "told\n"), done.stderr
