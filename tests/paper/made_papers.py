"""Papers made for the tests, and what outside readers say of them."""

from __future__ import annotations

import io
import subprocess
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import pypdf

from workshop_log.exchange.reading import read_job
from workshop_log.exchange.records import Job
from workshop_log.paper.papers import KINDS, make_paper, paper_input, why_not

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_jobs").glob("*.job.json"))
SHEETS = ("A4", "Letter")
ISSUED = datetime(2031, 5, 2, 10, 0, tzinfo=UTC)


@cache
def sample(name: str) -> Job:
    """Return a sample job by the name of its file."""
    path = next(path for path in SAMPLES if path.name.startswith(f"{name}."))
    return read_job(path.read_bytes(), path.name)


NAMES = [path.name.removesuffix(".job.json") for path in SAMPLES]
# Every paper that a sample job has.
PAPERS = [(name, kind, paper) for name in NAMES for kind in KINDS if not why_not(kind, sample(name))
          for paper in (*SHEETS, *(["label"] if kind == "label" else []))]


def made(kind: str, job: Job, **facts: object) -> bytes:
    """Return a paper of a job, issued at the tests' own time."""
    photos = {photo.sha256: photo.data for photo in job.photos if photo.data}
    return make_paper(kind, paper_input(kind, job, **{"photos": photos, "issued": ISSUED, **facts}))


@cache
def made_of_sample(name: str, kind: str, paper: str) -> bytes:
    """Return a paper of a sample job, drawn once for all tests."""
    return made(kind, sample(name), paper=paper)


def plain(text: str) -> str:
    """Return the text with every kind of space and line end as one space."""
    return " ".join(text.replace("\u00a0", " ").split())


def text_of(pdf: bytes) -> str:
    """Return what pypdf reads."""
    return plain(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages))


def tool(pdf: bytes, folder: Path, *command: str) -> str:
    """Return what an outside tool says of a paper; `FILE` in the command stands for its path."""
    path = folder / "paper.pdf"
    path.write_bytes(pdf)
    arguments = [str(path) if word == "FILE" else word for word in command]
    # Poppler writes a character beyond the basic plane as two halves where it tells a document's properties.
    return subprocess.run(arguments, check=True, capture_output=True, text=True, encoding="utf-8", errors="replace",
                          timeout=60).stdout
