"""The window may import any module of this package at its start."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import workshop_log.electrics

HEAVY = ("numpy", "pint", "sqlalchemy", "reportlab", "PySide6")


def names():
    return {path.stem for path in Path(workshop_log.electrics.__path__[0]).glob("*.py")} - {"__init__"}


def test_no_module_loads_numpy():
    """Numpy is loaded when the first circuit is solved, and not before."""
    lines = [*(f"import workshop_log.electrics.{name}" for name in sorted(names())),
             "import workshop_log.exchange.circuits", "import sys",
             f"print([name for name in {HEAVY!r} if name in sys.modules])"]
    done = subprocess.run([sys.executable, "-c", "\n".join(lines)], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_package_page_names_every_module():
    """The docstring of the package is the map that a newcomer reads."""
    page = workshop_log.electrics.__doc__.splitlines()
    listed = {line.split()[0] for line in page if line[:1].isalpha() and "  " in line}
    assert listed == names()
