#!/usr/bin/env python3
"""Write the lock files anew from pyproject.toml: `python3 packaging/lock.py [--upgrade]`.

Needs the program `uv`. Without `--upgrade` everything keeps its version unless pyproject.toml forbids it. The test
lock holds everything that the program's own lock holds, in the same versions, and the test tools besides.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

from environment import PROGRAM_LOCK, PROJECT, TEST_LOCK

HEADER = "# Written by packaging/lock.py from pyproject.toml; not to be edited by hand.\n"

# A lock says what to install, not where from: each machine's own settings say that.
COMPILE = (
    "pip", "compile", "pyproject.toml", "--quiet", "--no-config", "--universal", "--python-version", "3.11",
    "--generate-hashes", "--no-header", "--no-annotate", "--no-emit-index-url", "--no-emit-find-links",
)


def compile_lock(uv: str, lock: Path, *options: str) -> None:
    """Write one lock file, with the header on top."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("UV_")}
    command = [uv, *COMPILE, *options, "--output-file", str(lock)]
    subprocess.run(command, cwd=PROJECT, env=environment, stdout=subprocess.DEVNULL, check=True)
    lock.write_text(HEADER + lock.read_text(encoding="utf-8"), encoding="utf-8")


def main(arguments: list[str]) -> int:
    uv = shutil.which("uv")
    if uv is None:
        print("The program uv is missing. Install it (`pip install uv`) and run this again.", file=sys.stderr)
        return 2
    upgrade = ["--upgrade"] if "--upgrade" in arguments else []
    try:
        compile_lock(uv, PROGRAM_LOCK, *upgrade)
        compile_lock(uv, TEST_LOCK, "--extra", "test", "--constraints", str(PROGRAM_LOCK), *upgrade)
    except subprocess.CalledProcessError:
        print("The lock files could not be written; uv says why above.", file=sys.stderr)
        return 1
    print(f"Written: {PROGRAM_LOCK.name}, {TEST_LOCK.name}.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
