"""What must come from the operating system: the libraries that Qt opens a window with, and a few programs for tests.

Missing things are found by trying them, whatever the distribution. Debian and Ubuntu can add them here, after asking;
elsewhere their names are told. The standard library only.
"""

from __future__ import annotations

import ctypes
import os
import shutil
import subprocess
import sys
from pathlib import Path

from environment import SetupError, has_venv_module, say, venv_python

# Library that Qt's Linux wheels need from the system: Debian package (found by starting Qt on a bare Debian 12).
QT_LIBRARIES = {
    "libglib-2.0.so.0": "libglib2.0-0",
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libfontconfig.so.1": "libfontconfig1",
    "libdbus-1.so.3": "libdbus-1-3",
    "libgssapi_krb5.so.2": "libgssapi-krb5-2",
    # X11
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-shape.so.0": "libxcb-shape0",
    # Wayland
    "libwayland-client.so.0": "libwayland-client0",
    "libwayland-cursor.so.0": "libwayland-cursor0",
}

# Program that some tests use: Debian package.
TEST_PROGRAMS = {
    "Xvfb": "xvfb",
    "xauth": "xauth",
    "pdfinfo": "poppler-utils",
    "qpdf": "qpdf",
    "initdb": "postgresql",
    "ngspice": "ngspice",
    "cupsd": "cups",
    "zbarimg": "zbar-tools",
}


def missing_qt_packages() -> list:
    """Return the Debian packages of the libraries that Qt would not find here; only Linux can lack any."""
    return [package for library, package in QT_LIBRARIES.items() if not _can_load(library)] if _is_linux() else []


def missing_test_packages() -> list:
    """Return the Debian packages of the programs that some tests would not find here."""
    return [package for program, package in TEST_PROGRAMS.items() if find_program(program) is None]


def missing_venv_package() -> list:
    """Return Debian's package of the module that makes environments, where this Python lacks it."""
    return [] if has_venv_module() else [f"python3.{sys.version_info[1]}-venv"]


def find_program(name: str):
    """Return the path of a program, servers included, or None."""
    # Debian keeps CUPS's server out of an ordinary person's path.
    found = shutil.which(name) or shutil.which(name, path="/usr/sbin")
    if found:
        # Debian's wrappers are links: the neighbours of the real program are wanted.
        return Path(found).resolve()
    # Debian keeps the server's programs out of the path; the newest of several.
    installed = Path("/usr/lib/postgresql").glob(f"*/bin/{name}")
    return max(installed, key=lambda path: int(path.parts[-3]) if path.parts[-3].isdigit() else 0, default=None)


def add_packages(packages: list, purpose: str, may_install: bool) -> None:
    """Add Debian packages, after asking on a terminal; without consent, or elsewhere, say what to run and go on.

    Parameters
    ----------
    packages : list of str
        What is missing; nothing happens when it is empty.
    purpose : str
        What they are for, as the end of a sentence.
    may_install : bool
        The consent is given already.
    """
    if not packages:
        return
    if not _is_debian():
        say(f"Missing for {purpose}, under Debian's names: {' '.join(packages)}. Install what your system calls them.")
        return
    command = "apt-get install --no-install-recommends " + " ".join(packages)
    as_root = _as_root()
    by_hand = f"Run this, then start again: {'' if is_root() else 'sudo '}{command}"
    say(f"Missing for {purpose}: {', '.join(packages)}.")
    if as_root is None:
        say(f"They can be added only by an administrator. {by_hand}")
    elif may_install or _consents(command):
        say(f"Adding them with {' '.join([*as_root, command])} (this can take a minute).")
        if not _apt_get(as_root, packages):
            say(f"They could not be added (the reason stands above). {by_hand}")
    else:
        say(f"They were not added. {by_hand}")


def check_window(packages: list) -> None:
    """Refuse to open a window that Qt cannot open.

    Raises
    ------
    SetupError
        If these packages are missing and Qt does not start without them either.
    """
    if not packages:
        return
    # With no screen asked for: what is tried is whether the libraries load.
    started = subprocess.run(
        [str(venv_python()), "-c", "import PySide6.QtWidgets, PySide6.QtPdf, PySide6.QtPrintSupport"],
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, encoding="utf-8", errors="replace",
    )
    if started.returncode != 0:
        reason = started.stderr.strip().splitlines()[-1:] or ["no reason given"]
        raise SetupError(
            f"The window cannot be opened ({reason[0]}): install {' '.join(packages)} as said above, then start again."
        )


def has_screen() -> bool:
    """Tell whether a window could be shown, or was asked for without a screen (QT_QPA_PLATFORM)."""
    return not _is_linux() or any(os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"))


def is_root() -> bool:
    """Tell whether packages can be added without asking for a password."""
    return hasattr(os, "geteuid") and os.geteuid() == 0


def _is_linux() -> bool:
    return sys.platform.startswith("linux")


def _is_debian() -> bool:
    return shutil.which("apt-get") is not None and shutil.which("dpkg") is not None


def _can_load(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def _has_terminal() -> bool:
    return sys.stdin is not None and sys.stdin.isatty() and sys.stdout.isatty()


def _as_root():
    """Return what to put before a command to run it as root; None where that is not possible."""
    if is_root():
        return []
    sudo = shutil.which("sudo")
    if sudo is None:
        return None
    return [sudo] if _has_terminal() else [sudo, "-n"]


def _consents(command: str) -> bool:
    if not _has_terminal():
        return False
    try:
        return input(f"Run {command} now? [y/N] ").strip().lower() in ("y", "yes")
    except EOFError:
        return False


def _apt_get(as_root: list, packages: list) -> bool:
    quiet = ["env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-qq"]
    # Page after page of unpacking helps nobody; errors still come through.
    silently = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "check": False}
    # An old list names files that are no longer there; a failed update may still leave a usable one.
    subprocess.run([*as_root, *quiet, "update"], **silently)
    install = [*as_root, *quiet, "install", "--yes", "--no-install-recommends", *packages]
    return subprocess.run(install, **silently).returncode == 0
