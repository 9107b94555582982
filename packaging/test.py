#!/usr/bin/env python3
"""Install the test tools and run the whole suite: `python3 packaging/test.py [--yes] [pytest's arguments]`.

Without arguments everything runs, on all cores: with PostgreSQL where its server is installed, and on Qt's offscreen
screen. The last line is pytest's, and so is the exit status.
"""

from __future__ import annotations

import argparse
import os
import signal
import subprocess
import sys

import environment
import postgresql
import system

# Given by a developer who has a server already.
SERVER_VARIABLE = "WORKSHOP_LOG_TEST_POSTGRES"


def read_arguments(arguments: list) -> tuple:
    """Return the own options and what is pytest's."""
    parser = argparse.ArgumentParser(
        description="Install the test tools and run the tests.", epilog="All other arguments are pytest's.",
        allow_abbrev=False,
    )
    parser.add_argument("--yes", action="store_true", help="add missing Debian packages without asking (root need not)")
    return parser.parse_known_args(arguments)


def prepare(may_install: bool) -> None:
    """Make everything ready that the tests need."""
    needed = system.missing_qt_packages() + system.missing_test_packages()
    if not environment.is_installed(environment.TEST_LOCK):
        needed = system.missing_venv_package() + needed
    system.add_packages(needed, "the tests", may_install)
    # The program's lock is a part of the test lock, so a later start finds itself installed.
    environment.install(environment.TEST_LOCK, environment.PROGRAM_LOCK)


def run_tests(arguments: list, server_url) -> int:
    """Run pytest and return its exit status."""
    settings = dict(os.environ)
    settings.setdefault("QT_QPA_PLATFORM", "offscreen")
    if server_url:
        settings[SERVER_VARIABLE] = server_url
    else:
        environment.say("No PostgreSQL server is installed: its tests are skipped.")
    # Starting workers costs more than they win for a few tests by name.
    workers = ["-n", str(os.cpu_count() or 1)] if not arguments else []
    command = [str(environment.venv_python()), "-m", "pytest", *workers, *arguments]
    return subprocess.run(command, cwd=str(environment.PROJECT), env=settings, check=False).returncode


def main(arguments: list) -> int:
    options, for_pytest = read_arguments(arguments)
    # Ended from outside, the server must go too: an exception passes through its clean-up.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    try:
        environment.check_python()
        prepare(options.yes or system.is_root())
        given = os.environ.get(SERVER_VARIABLE)
        if given:
            return run_tests(for_pytest, given)
        with postgresql.temporary_server() as server_url:
            return run_tests(for_pytest, server_url)
    except (environment.SetupError, postgresql.ServerError) as error:
        print(error, file=sys.stderr)
        return 1


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
