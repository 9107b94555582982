"""The window may import any module of this package at its start."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import workshop_log.jobs

HEAVY = ("sqlalchemy", "alembic", "pint", "PIL", "reportlab", "numpy", "pikepdf", "PySide6")


def test_no_module_of_the_package_loads_anything_heavy() -> None:
    """SQLAlchemy, Pillow and pint are loaded when a person does what needs them, and not before."""
    names = [path.stem for path in Path(workshop_log.jobs.__path__[0]).glob("*.py") if path.stem != "__init__"]
    assert len(names) > 15
    lines = [*(f"import workshop_log.jobs.{name}" for name in names), "import sys",
             f"print([name for name in {HEAVY!r} if name in sys.modules])"]
    done = subprocess.run([sys.executable, "-c", "\n".join(lines)], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_package_page_names_every_module() -> None:
    """The docstring of the package is the map that a newcomer reads."""
    names = {path.stem for path in Path(workshop_log.jobs.__path__[0]).glob("*.py")} - {"__init__"}
    listed = {line.split()[0] for line in workshop_log.jobs.__doc__.splitlines() if line[:1].isalpha() and "  " in line}
    assert listed == names
