"""The book that start, opening and searching are measured in: made once and kept."""

from __future__ import annotations

import hashlib
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent.parent
# Beside what building leaves: may be deleted at any time.
FOLDER = PROJECT / "build" / "bench"


def big_book(jobs: int, readings: int, folder: Path = FOLDER) -> Path:
    """Return a book with so many jobs and readings, made now where there is none yet."""
    import big_book as maker

    path = folder / f"book-{jobs}-{readings}-{_version()}.db"
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True)
        # Named when it is whole: an interrupted one is begun anew.
        unfinished = path.with_name(f"{path.name}.unfinished")
        for rest in folder.glob(f"{unfinished.name}*"):
            rest.unlink()
        print(f"Making a book of {jobs:,} jobs and {readings:,} readings in {folder} …", flush=True)
        maker.make_big_book(unfinished, jobs, readings)
        unfinished.replace(path)
    return path


def _version() -> str:
    """Return what tells books of other tables or other contents apart."""
    made_by = [PROJECT / "packaging" / "big_book.py",
               *sorted((PROJECT / "workshop_log" / "book" / "migrations" / "versions").glob("*.py"))]
    return hashlib.sha256(b"".join(file.read_bytes() for file in made_by)).hexdigest()[:8]
