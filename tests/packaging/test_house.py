"""The house is in order: its arrows go down, and its style is kept."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]


def test_arrows_go_down():
    """No package imports from one above it, and the core imports no window, database or paper."""
    lint_imports = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([str(lint_imports), "--no-cache"], cwd=PROJECT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_style_is_kept():
    """Ruff has nothing to say."""
    done = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--no-cache", "."],
        cwd=PROJECT, capture_output=True, text=True, check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
