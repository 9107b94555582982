#!/usr/bin/env python3
"""Set up what is missing and open the window on a practice book: `python3 packaging/start.py`.

The first start makes an environment beside the project, installs the locked packages and takes the sample jobs into a
practice book; a later one opens the window straight away.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from pathlib import Path

import environment
import system


def read_arguments(arguments: list) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(
        description="Set up Workshop Log beside the project and open it on a practice book.", allow_abbrev=False
    )
    parser.add_argument("--yes", action="store_true", help="add missing Debian packages without asking")
    parser.add_argument(
        "--terminal", action="store_true", help="evaluate a sample job and write its report, without the window"
    )
    return parser.parse_args(arguments)


def prepare(may_install: bool, wants_window: bool) -> None:
    """Make everything ready; a second start finds it so."""
    is_first = not environment.is_installed(environment.PROGRAM_LOCK)
    if is_first or wants_window:
        packages = system.missing_qt_packages()
        if is_first:
            packages = system.missing_venv_package() + packages
        system.add_packages(packages, "Workshop Log", may_install)
    environment.install(environment.PROGRAM_LOCK)
    if wants_window:
        system.check_window(system.missing_qt_packages())


def main(arguments: list) -> int:
    options = read_arguments(arguments)
    try:
        environment.check_python()
        wants_window = not options.terminal and system.has_screen()
        if not wants_window and not options.terminal:
            environment.say("There is no screen here, so a sample job is evaluated in the terminal.")
        prepare(options.yes, wants_window)
    except environment.SetupError as error:
        print(error, file=sys.stderr)
        return 1
    practice = str(Path(__file__).resolve().with_name("practice.py"))
    command = [str(environment.venv_python()), practice, "window" if wants_window else "terminal"]
    if os.name == "nt":
        # There a replaced process returns to the prompt while the window is still open.
        return subprocess.run(command, check=False).returncode
    os.execv(command[0], command)
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit("Stopped. The next start goes on from here.")
