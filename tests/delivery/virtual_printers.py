"""A CUPS of the tests' own, with printers that keep what they get: in a temporary folder, gone when the tests end."""

from __future__ import annotations

import contextlib
import ctypes
import ctypes.util
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

LONGEST_START_S = 20
# Debian keeps the server out of an ordinary person's path.
WHERE = os.pathsep.join([os.environ.get("PATH", ""), "/usr/sbin", "/usr/local/sbin"])
CUPSD = shutil.which("cupsd", path=WHERE)
needs_cups = pytest.mark.skipif(CUPSD is None or shutil.which("lpadmin", path=WHERE) is None,
                                reason="CUPS (cupsd, lpadmin) is not installed")

# The printers: one that prints at once, one that never comes to its end, one without paper.
OFFICE, SLOW, EMPTY = "office", "slow", "empty"

SERVER = """
Listen {folder}/socket
LogLevel info
Browsing Off
WebInterface No
DefaultAuthType None
<Location />
  Order allow,deny
  Allow all
</Location>
<Policy default>
  <Limit All>
    Order allow,deny
    Allow all
  </Limit>
</Policy>
"""
FILES = """
ServerRoot {folder}/root
ServerBin {folder}/programs
StateDir {folder}/state
CacheDir {folder}/cache
RequestRoot {folder}/spool
TempDir {folder}/spool/tmp
AccessLog {folder}/access.log
ErrorLog {folder}/error.log
PageLog {folder}/page.log
"""
# What the server starts for each job: it keeps the paper as `<job>.pdf` and what was asked for beside it.
BACKEND = """#!/bin/sh
[ $# -eq 0 ] && {{ echo 'direct virtual:/ "Virtual" "Virtual printer"'; exit 0; }}
[ -n "$6" ] && exec < "$6"
case "$DEVICE_URI" in
  *slow) exec sleep 60 ;;
  *empty) echo "STATE: +media-empty-error" >&2; echo "ERROR: no paper" >&2; exit 4 ;;
esac
cat > {folder}/kept/$1.part
printf '%s\\n' "$3" "$4" "$5" > {folder}/kept/$1.asked
# The tests may be another person than the server's programs.
chmod 644 {folder}/kept/$1.*
mv {folder}/kept/$1.part {folder}/kept/$1.pdf
"""
# A printer of PDF with duplex and two papers: the system's own filters choose the pages for it.
DESCRIPTION = """*PPD-Adobe: "4.3"
*FormatVersion: "4.3"
*FileVersion: "1.0"
*LanguageVersion: English
*LanguageEncoding: ISOLatin1
*PCFileName: "VIRTUAL.PPD"
*Manufacturer: "Virtual"
*Product: "(Virtual printer)"
*PSVersion: "(3010) 0"
*ModelName: "Virtual printer"
*ShortNickName: "Virtual printer"
*NickName: "Virtual printer"
*LanguageLevel: "3"
*ColorDevice: True
*DefaultColorSpace: RGB
*cupsFilter2: "application/vnd.cups-pdf application/pdf 0 -"
*OpenUI *PageSize/Paper: PickOne
*DefaultPageSize: A4
*PageSize A4/A4: ""
*PageSize Letter/Letter: ""
*CloseUI: *PageSize
*OpenUI *PageRegion/Paper: PickOne
*DefaultPageRegion: A4
*PageRegion A4/A4: ""
*PageRegion Letter/Letter: ""
*CloseUI: *PageRegion
*DefaultImageableArea: A4
*ImageableArea A4/A4: "12 12 583 830"
*ImageableArea Letter/Letter: "12 12 600 780"
*DefaultPaperDimension: A4
*PaperDimension A4/A4: "595 842"
*PaperDimension Letter/Letter: "612 792"
*OpenUI *Duplex/Both sides: PickOne
*DefaultDuplex: None
*Duplex None/Off: ""
*Duplex DuplexNoTumble/Long edge: ""
*Duplex DuplexTumble/Short edge: ""
*CloseUI: *Duplex
*DefaultFont: Courier
"""


@dataclass(frozen=True)
class Kept:
    """What a virtual printer got."""

    pdf: bytes
    title: str
    copies: int
    options: dict[str, str]


class VirtualPrinters:
    """The running server and its printers."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    @property
    def server(self) -> str:
        """Where it listens, as `CUPS_SERVER` wants it."""
        return str(self.folder / "socket")

    def run(self, *command: str) -> str:
        """Run one of the system's programs against this server and return what it said."""
        done = subprocess.run([shutil.which(command[0], path=WHERE), *command[1:]], capture_output=True, text=True,
                              check=False, env={**os.environ, "CUPS_SERVER": self.server, "LC_ALL": "C"})
        assert done.returncode == 0, f"{command}: {done.stderr}\n{self.log()}"
        return done.stdout

    def log(self) -> str:
        """Return the last the server said, for a message."""
        path = self.folder / "error.log"
        return "\n".join(path.read_text(errors="replace").splitlines()[-30:]) if path.exists() else "no log"

    def kept(self, name: str) -> Kept:
        """Return what the job `name` brought."""
        number = name.rpartition("-")[2]
        title, copies, options = (self.folder / "kept" / f"{number}.asked").read_text("utf-8").splitlines()
        pairs = (option.partition("=") for option in options.split())
        return Kept((self.folder / "kept" / f"{number}.pdf").read_bytes(), title, int(copies),
                    {key: value for key, _, value in pairs})

    def queued(self) -> list[str]:
        """Return the names of the jobs that are not through."""
        return [line.split()[0] for line in self.run("lpstat", "-W", "not-completed", "-o").splitlines()]

    def came(self) -> list[str]:
        """Return the numbers of the jobs that were printed so far."""
        return sorted((path.stem for path in (self.folder / "kept").glob("*.pdf")), key=int)

    def tidy(self) -> None:
        """Forget all jobs, and have every printer ready again."""
        self.run("cancel", "-a", "-x")
        for name in (OFFICE, SLOW, EMPTY):
            self.run("cupsenable", name)
            self.run("cupsaccept", name)
        for path in (self.folder / "kept").iterdir():
            path.unlink()


@contextlib.contextmanager
def running() -> Iterator[VirtualPrinters]:
    """Run a server with its printers; it needs no rights, and may be started by root."""
    # In the system's own folder for such: the path of a socket has to be short.
    folder = Path(tempfile.mkdtemp(prefix="workshop-log-cups-"))
    printers = VirtualPrinters(folder)
    _lay_out(folder)
    command = [folder / "cupsd", "-f", "-c", folder / "cupsd.conf", "-s", folder / "files.conf"]
    with (folder / "output.log").open("wb") as output:
        server = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=output, stderr=output)
    try:
        _wait(server, printers)
        for name in (OFFICE, SLOW, EMPTY):
            printers.run("lpadmin", "-p", name, "-E", "-v", f"virtual:/{name}", "-P", str(folder / "virtual.ppd"))
        printers.run("lpadmin", "-d", OFFICE)
        yield printers
    finally:
        server.terminate()
        try:
            server.wait(10)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()
        shutil.rmtree(folder, ignore_errors=True)


def _lay_out(folder: Path) -> None:
    # Started by root, the server lets its filters and backends run as another person.
    folder.chmod(0o755)
    for name in ("root", "state", "cache", "spool", "spool/tmp", "programs", "programs/backend", "kept"):
        (folder / name).mkdir()
    (folder / "kept").chmod(0o777)
    # Everything of the system's but its backends: no real printer is looked for.
    for path in _system_programs().iterdir():
        if path.name != "backend":
            (folder / "programs" / path.name).symlink_to(path)
    # A copy: where the system guards its printing server by its path, that one may read no other folders.
    shutil.copy(CUPSD, folder / "cupsd")
    backend = folder / "programs" / "backend" / "virtual"
    backend.write_text(BACKEND.format(folder=folder), "ascii")
    backend.chmod(0o755)
    (folder / "cupsd.conf").write_text(SERVER.format(folder=folder), "ascii")
    (folder / "files.conf").write_text(FILES.format(folder=folder), "ascii")
    (folder / "virtual.ppd").write_text(DESCRIPTION, "ascii")


def _system_programs() -> Path:
    return next(path for path in map(Path, ("/usr/lib/cups", "/usr/libexec/cups")) if path.is_dir())


def _wait(server: subprocess.Popen[bytes], printers: VirtualPrinters) -> None:
    until = time.monotonic() + LONGEST_START_S
    while not (printers.folder / "socket").exists() or "is running" not in printers.run("lpstat", "-r"):
        said = (printers.folder / "output.log").read_text(errors="replace")
        assert server.poll() is None, f"cupsd does not start: {said}{printers.log()}"
        assert time.monotonic() < until, f"cupsd does not answer: {said}{printers.log()}"
        time.sleep(0.02)


@contextlib.contextmanager
def asked_by_qt(server: str) -> Iterator[None]:
    """Have the window's own thread ask this server: the library keeps the first that it was told, for each thread."""
    name = ctypes.util.find_library("cups")
    if name is None:
        yield
        return
    library = ctypes.CDLL(name)
    library.cupsSetServer.argtypes = [ctypes.c_char_p]
    library.cupsSetServer(os.fsencode(server))
    try:
        yield
    finally:
        library.cupsSetServer(None)
