"""The scripts of packaging/ find each other by lying in one folder; so do their tests."""

from __future__ import annotations

import sys
from pathlib import Path

# At the end, because packaging/test.py has a namesake in the standard library.
sys.path.append(str(Path(__file__).resolve().parents[2] / "packaging"))
