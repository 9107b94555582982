"""Where the files that the program needs at run time lie: tables, fonts, icons, wording."""

from __future__ import annotations

from functools import cache
from pathlib import Path

# Beside the package in a checkout, inside it when installed from a wheel.
_BESIDE = Path(__file__).resolve().parent.parent / "resources"
_INSIDE = Path(__file__).resolve().parent / "_resources"
FOLDER = _BESIDE if _BESIDE.is_dir() else _INSIDE


def path(name: str) -> Path:
    """Return the path of the resource `name`, given relative to the resources folder."""
    return FOLDER / name


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of the CSV table `tables/<name>.csv`; lines that begin with # are its header of sources."""
    import csv

    lines = path(f"tables/{name}.csv").read_text(encoding="utf-8").splitlines()
    return tuple(csv.DictReader(line for line in lines if not line.startswith("#")))
