"""The project's own Python environment: a folder `.venv` with what the lock files name, and nothing else.

Runs with the machine's Python before anything is installed: the standard library only, and the grammar of old
Pythons too, so that these can be refused in a sentence. A note in the folder, the stamp, says what was installed
whole; while it fits, a start trusts it and asks nobody.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import importlib
import importlib.util
import json
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
PROGRAM_LOCK = PROJECT / "packaging" / "requirements.txt"
TEST_LOCK = PROJECT / "packaging" / "requirements-test.txt"
VENV = PROJECT / ".venv"
STAMP = VENV / "installed.json"
PIP_LOG = VENV / "pip.log"

OLDEST_PYTHON = (3, 11)

# What pip prints, and what is the matter then; the first that is found counts.
PIP_TROUBLES = (
    (r"No space left on device|Errno 28\b|disk quota exceeded",
     "The disk is full: free about 1 GB where {venv} lies, then start again."),
    (r"DO NOT MATCH THE HASHES",
     "A downloaded package is not the one that was locked, so nothing was installed. Start again; if it happens twice, "
     "do not trust this network."),
    (r"NewConnectionError|Retrying \(|ConnectTimeout|ReadTimeout|ProxyError|Connection broken|SSLError",
     "The package index cannot be reached: check the network (a proxy is set in HTTPS_PROXY), then start again."),
    (r"No matching distribution found for (?P<package>[\w.-]+)",
     "There is no ready-made package of {package} for Python {python} on this machine. Start again with Python 3.11, "
     "3.12 or 3.13; on Linux, Debian 12, Ubuntu 22.04 or newer is needed."),
)


class SetupError(Exception):
    """The set-up cannot go on; the message is one sentence that says what to do."""


def say(sentence: str) -> None:
    """Print one line at once, also into a pipe."""
    print(sentence, flush=True)


def check_python(version: tuple = sys.version_info[:3]) -> None:
    """Refuse a Python that is too old.

    Raises
    ------
    SetupError
        If the version is below 3.11.
    """
    if tuple(version[:2]) >= OLDEST_PYTHON:
        return
    found = ".".join(str(part) for part in version)
    raise SetupError(
        f"Workshop Log needs Python 3.11 or newer, and this is Python {found}: "
        f"install a newer one and start again with it, for example python3.11 {' '.join(sys.argv)}"
    )


# ---- The stamp -------------------------------------------------------------------------------------------------------


def _fingerprint(lock: Path) -> str:
    return hashlib.sha256(lock.read_bytes()).hexdigest()


def expected_stamp(*locks: Path) -> dict:
    """Return what the stamp says when these locks are installed, here and with this Python."""
    return {
        # An environment does not survive a move, nor another Python.
        "project": str(PROJECT),
        "python": "{}.{}".format(*sys.version_info[:2]),
        # Written by this file, so made again when it changes.
        "set-up": _fingerprint(Path(__file__)),
        "locks": {lock.name: _fingerprint(lock) for lock in locks},
    }


def read_stamp() -> dict:
    """Return what was installed whole; empty when that is nothing, or not known."""
    try:
        stamp = json.loads(STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) and isinstance(stamp.get("locks"), dict) else {}


def _write_stamp(stamp: dict) -> None:
    # Renamed into place, so that it is there whole or not at all.
    unfinished = STAMP.with_suffix(".new")
    unfinished.write_text(json.dumps(stamp, indent=2), encoding="utf-8")
    os.replace(str(unfinished), str(STAMP))


def is_same_environment(stamp: dict) -> bool:
    """Tell whether the environment was made here and with this Python, and only the locks may differ."""
    expected = expected_stamp()
    return all(stamp.get(key) == expected[key] for key in ("project", "python", "set-up"))


def is_installed(lock: Path) -> bool:
    """Tell whether this lock, as it is now, was installed whole."""
    stamp = read_stamp()
    return (
        is_same_environment(stamp)
        and stamp["locks"].get(lock.name) == _fingerprint(lock)
        and venv_python().exists()
    )


# ---- The environment -------------------------------------------------------------------------------------------------


def scripts_folder() -> Path:
    """Return the folder of the environment's programs."""
    return VENV / ("Scripts" if os.name == "nt" else "bin")


def venv_python() -> Path:
    """Return the environment's Python."""
    return scripts_folder() / ("python.exe" if os.name == "nt" else "python")


def launcher() -> Path:
    """Return the Python file that starts the command line; `workshop-log` itself except on Windows."""
    return scripts_folder() / ("workshop-log-script.py" if os.name == "nt" else "workshop-log")


def has_venv_module() -> bool:
    """Tell whether this Python can make an environment; Debian splits that part off."""
    importlib.invalidate_caches()
    return all(importlib.util.find_spec(name) is not None for name in ("venv", "ensurepip"))


def install(lock: Path, *also_covers: Path) -> None:
    """Bring the environment to what the lock names; make it anew where it is unfinished, moved or another Python's.

    Parameters
    ----------
    lock : Path
        The lock file to install.
    also_covers : Path
        Locks that are wholly contained in this one, in the same versions.

    Raises
    ------
    SetupError
        If the folder cannot be written, the disk is full, the network is not there, or a package is not the locked one.
    """
    if is_installed(lock):
        return
    with _told_in_a_sentence(), _only_one_at_a_time():
        # Another start may have done it meanwhile.
        if is_installed(lock):
            return
        # Without the stamp an earlier installation was interrupted: packages may lie there by half.
        if not is_same_environment(read_stamp()) or not venv_python().exists():
            _make_venv()
        with contextlib.suppress(FileNotFoundError):
            STAMP.unlink()
        _install_packages(lock)
        _link_project()
        _write_stamp(expected_stamp(lock, *also_covers))


@contextlib.contextmanager
def _told_in_a_sentence():
    """Turn the refusals of the file system into one sentence."""
    try:
        yield
    except OSError as error:
        where = error.filename or PROJECT
        if error.errno in (errno.ENOSPC, getattr(errno, "EDQUOT", None)):
            raise SetupError(f"The disk is full: free about 1 GB where {PROJECT} lies, then start again.") from error
        if error.errno in (errno.EROFS, errno.EACCES, errno.EPERM):
            raise SetupError(
                f"{where} cannot be written: copy the project into a folder of your own and start it there."
            ) from error
        reason = error.strerror or error
        raise SetupError(f"{where} cannot be used ({reason}): put that right, then start again.") from error


@contextlib.contextmanager
def _only_one_at_a_time():
    """Wait while another start installs into the same folder."""
    try:
        tempfile.TemporaryFile(dir=str(PROJECT)).close()
    except OSError as error:
        # The name of the trial file would tell nobody anything.
        raise OSError(error.errno, error.strerror, str(PROJECT)) from error
    if os.name == "nt":
        # There the other start holds its files open, and making the folder anew says so.
        yield
        return
    import fcntl

    folder = os.open(str(PROJECT), os.O_RDONLY)
    try:
        try:
            fcntl.flock(folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("Another start is installing; waiting for it to finish.")
            fcntl.flock(folder, fcntl.LOCK_EX)
        yield
    finally:
        os.close(folder)


def _make_venv() -> None:
    if not has_venv_module():
        raise SetupError(
            "This Python cannot make a virtual environment: install its venv module "
            f"(Debian and Ubuntu: apt-get install python3.{sys.version_info[1]}-venv), then start again."
        )
    import venv

    say(f"Making a Python environment in {VENV}.")
    try:
        venv.EnvBuilder(clear=True, with_pip=True, symlinks=os.name != "nt").create(str(VENV))
    except ValueError as error:
        # A colon in the path, for one.
        reason = str(error).rstrip(".: ")
        raise SetupError(f"Move the project to a plainer path, then start again ({reason}).") from error
    except subprocess.CalledProcessError as error:
        said = (error.output or b"").decode(errors="replace")
        raise SetupError(pip_trouble(said, "The Python environment could not be made")) from error


def _install_packages(lock: Path) -> None:
    """Install what the lock names, each file checked against its hash; nothing is compiled on this machine."""
    names = re.findall(r"^[\w.-]+(?===)", lock.read_text(encoding="utf-8"), re.MULTILINE)
    say(f"Installing about {len(names)} packages from {lock.name} (the first time takes a minute or two).")
    command = [
        str(venv_python()), "-m", "pip", "install", "--disable-pip-version-check", "--no-input", "--retries", "2",
        "--require-hashes", "--only-binary", ":all:", "--requirement", str(lock),
    ]
    # A habit in someone's settings of installing for the user does not work inside an environment.
    settings = dict(os.environ, PIP_USER="0", PYTHONUTF8="1")
    with PIP_LOG.open("w+", encoding="utf-8", errors="replace") as log:
        with subprocess.Popen(
            command, env=settings, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
            encoding="utf-8", errors="replace",
        ) as pip:
            _follow(pip.stdout, log, len(names))
        if pip.returncode != 0:
            log.seek(0)
            raise SetupError(pip_trouble(log.read(), "The packages could not be installed"))


def _follow(lines, log, count: int) -> None:
    """Keep what pip prints, and on a terminal show how far it has come."""
    on_terminal = sys.stdout.isatty()
    collected = 0
    for line in lines:
        log.write(line)
        collecting = re.match(r"\s*Collecting ([\w.-]+)", line)
        if on_terminal and (collecting or line.startswith("Installing collected")):
            collected += bool(collecting)
            step = f"fetching {collected} of {count}: {collecting.group(1)}" if collecting else "unpacking"
            print(f"\r  {step:<60}", end="" if collecting else "\n", flush=True)
    log.flush()


def pip_trouble(said: str, otherwise: str) -> str:
    """Return in one sentence what went wrong, from what pip printed."""
    for pattern, sentence in PIP_TROUBLES:
        found = re.search(pattern, said, re.IGNORECASE)
        if found:
            return sentence.format(venv=VENV, python="{}.{}".format(*sys.version_info[:2]), **found.groupdict())
    errors = [line for line in said.splitlines() if line.startswith("ERROR:")]
    reason = errors[-1][len("ERROR:"):].strip() if errors else "it gave no reason"
    return f"{otherwise}: {reason}. All that was said is in {PIP_LOG}."


def _link_project() -> None:
    """Let the environment use the project where it lies, and give it the program `workshop-log`."""
    start = "import sys\nfrom workshop_log.commands import main\n\nsys.exit(main())\n"
    if os.name == "nt":
        site_packages = VENV / "Lib" / "site-packages"
        (scripts_folder() / "workshop-log.cmd").write_text(
            f'@"%~dp0python.exe" "%~dp0{launcher().name}" %*\n', encoding="ascii"
        )
        launcher().write_text(start, encoding="ascii")
    else:
        site_packages = VENV / "lib" / "python{}.{}".format(*sys.version_info[:2]) / "site-packages"
        # A "#!" line ends at the first space, so the shell starts Python; to Python its line is a text without use.
        quoted = str(venv_python()).replace("'", "'\\''")
        launcher().write_text(f"#!/bin/sh\n'''exec' '{quoted}' \"$0\" \"$@\"\n' '''\n{start}", encoding="utf-8")
        launcher().chmod(0o755)
    # Written as code: a plain path is read in the machine's encoding, which differs between Pythons.
    (site_packages / "workshop_log.pth").write_text(f"import sys; sys.path.append({ascii(str(PROJECT))})\n", "ascii")
