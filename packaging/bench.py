#!/usr/bin/env python3
"""Measure the program against what it is built on: `bench.py [names…] [options]`; `--help` tells all options.

Names: start, opening, search, report, memory, reading, circuits, diagnosis; all without. Every baseline is measured in
the same run, in turn with the program, so that a slow machine slows both. Exit status 0 whether or not the goals are
met, 2 for wrong input.
"""

from __future__ import annotations

import argparse
import importlib.util
import itertools
import json
import os
import platform
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import environment
import system

JOBS, READINGS, FAULTS = 100_000, 1_000_000, 2_000
NAMES = ("start", "opening", "search", "report", "memory", "reading", "circuits", "diagnosis")
OF_A_BOOK = ("start", "opening", "search", "memory")
NEEDED = ("PySide6", "sqlalchemy", "alembic", "msgspec", "reportlab", "pikepdf", "platformdirs", "numpy")
HEAD = ("what", "program", "baseline", "ratio", "goal", "")
VERSIONS = ("PySide6-Essentials", "SQLAlchemy", "reportlab")


def read_arguments(arguments: list) -> argparse.Namespace:
    """Return what is to be measured."""
    parser = argparse.ArgumentParser(description="Measure the program against what it is built on.",
                                     allow_abbrev=False)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"what to measure: {', '.join(NAMES)}")
    parser.add_argument("--jobs", type=_count, default=JOBS, help="jobs in the big book")
    parser.add_argument("--readings", type=_count, default=READINGS, help="readings in the big book")
    parser.add_argument("--faults", type=_count, default=FAULTS, help="simulated faults that are looked for")
    parser.add_argument("--json", type=Path, metavar="FILE", help="where to write the figures, too")
    given = parser.parse_args(arguments)
    unknown = [name for name in given.names if name not in NAMES]
    if unknown:
        parser.error(f"nothing is called {', '.join(unknown)}: choose from {', '.join(NAMES)}")
    given.names = [name for name in NAMES if not given.names or name in given.names]
    return given


def _count(text: str) -> int:
    try:
        number = int(text)
    except ValueError:
        number = 0
    if number < 1:
        raise argparse.ArgumentTypeError(f"“{text}” is no number of at least 1")
    return number


def is_ready() -> bool:
    """Tell whether this Python has what the program needs."""
    return all(importlib.util.find_spec(name) is not None for name in NEEDED)


def run_in_environment(arguments: list) -> int:
    """Set the project's own environment up and run there."""
    environment.check_python()
    needed = system.missing_qt_packages()
    if not environment.is_installed(environment.PROGRAM_LOCK):
        needed = system.missing_venv_package() + needed
    system.add_packages(needed, "the benchmarks", system.is_root())
    environment.install(environment.PROGRAM_LOCK)
    command = [str(environment.venv_python()), str(Path(__file__).resolve()), *arguments]
    return subprocess.run(command, check=False).returncode


def measured(given: argparse.Namespace) -> Iterator:
    """Yield each line of the table as soon as it is known, with the name that it belongs to."""
    from benches import circuits, opening, paper, proof, proof_speed, reading, searching, window
    from benches.big import big_book

    book = big_book(given.jobs, given.readings) if set(given.names) & set(OF_A_BOOK) else None
    subjects = {
        "start": lambda: window.start(book), "opening": lambda: opening.opening(book),
        "search": lambda: searching.searching(book), "report": paper.paper,
        "memory": lambda: window.memory(book), "reading": reading.reading,
        "circuits": circuits.circuits,
        "diagnosis": lambda: itertools.chain(proof_speed.speed(), proof.proof(given.faults))}
    for name in given.names:
        for line in subjects[name]():
            yield name, line


def machine() -> dict:
    """Return what the figures were measured on."""
    from importlib.metadata import version

    return {"system": platform.platform(), "processors": os.cpu_count(), "python": platform.python_version(),
            **{name: version(name) for name in VERSIONS}}


def row(line) -> tuple:
    """Return a line of the table as texts."""
    verdict = {True: "met", False: "MISSED", None: ""}[line.is_met]
    return (line.what, _shown(line.program, line.unit), _shown(line.baseline, line.unit) if line.baseline else "–",
            f"{line.ratio:.2f}" if line.ratio else "–", f"{line.goal}: {verdict}" if line.goal else "–", line.note)


def _shown(value: float, unit: str) -> str:
    digits = 0 if value >= 100 else 1 if value >= 10 else 2
    return f"{value:.{digits}f} {unit}"


def print_row(cells: tuple) -> None:
    what, program, baseline, ratio, goal, note = cells
    print(f"{what:<48} {program:>10} {baseline:>10} {ratio:>6}  {goal:<26} {note}".rstrip(), flush=True)


def main(arguments: list) -> int:
    given = read_arguments(arguments)
    if not is_ready():
        try:
            return run_in_environment(arguments)
        except environment.SetupError as error:
            print(error, file=sys.stderr)
            return 1
    # Not before: the environment's Python finds the program by itself, any other one here.
    sys.path.append(str(environment.PROJECT))
    facts = machine()
    print(", ".join(f"{name} {value}" for name, value in facts.items()))
    print(f"Book of {given.jobs:,} jobs and {given.readings:,} readings.")
    print_row(HEAD)
    lines = []
    for name, line in measured(given):
        print_row(row(line))
        lines.append({"name": name, "what": line.what, "program": line.program, "baseline": line.baseline,
                      "unit": line.unit, "ratio": line.ratio, "goal": line.goal, "met": line.is_met,
                      "note": line.note})
    if given.json:
        told = {"machine": facts, "jobs": given.jobs, "readings": given.readings, "faults": given.faults,
                "lines": lines}
        given.json.write_text(json.dumps(told, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
