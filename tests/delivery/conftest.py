"""A report of a small sample job, a book that handed it over, and the tools of whoever changes a report afterwards."""

from __future__ import annotations

import io
import shutil
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pikepdf
import pytest

from workshop_log.book.opening import Book, open_book
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.records import Job
from workshop_log.exchange.seal import seal_job
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.handing import issue_report
from workshop_log.jobs.transfer import import_job
from workshop_log.paper.report import make_report
from workshop_log.paper.report_input import report_input

SAMPLE = Path(__file__).resolve().parents[2] / "sample_jobs" / "temperature-sensor.job.json"
ISSUED = datetime(2031, 4, 3, 16, 40, tzinfo=timezone(timedelta(hours=1)))


def drawn(job: Job, **facts: object) -> bytes:
    """Return the report of a job."""
    return make_report(report_input(job, evaluate(job), {}, **({"reader": "customer", "issued": ISSUED} | facts)))


@pytest.fixture(scope="session")
def job() -> Job:
    """Return a sealed job."""
    return seal_job(read_job(SAMPLE.read_bytes(), SAMPLE.name))


@pytest.fixture(scope="session")
def pdf(job: Job) -> bytes:
    """Return its report."""
    return drawn(job)


@pytest.fixture(scope="session")
def kept(job: Job, pdf: bytes, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a book that handed the report over, once."""
    path = tmp_path_factory.mktemp("kept") / "book.db"
    book = open_book(path)
    import_job(book, job, ISSUED)
    issue_report(book, job.number, pdf, "customer", ISSUED)
    book.close()
    return path


@pytest.fixture
def book(kept: Path, tmp_path: Path) -> Iterator[Book]:
    """Open a copy of that book."""
    folder = tmp_path / "book"
    shutil.copytree(kept.parent, folder)
    opened = open_book(folder / "book.db")
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def attached(pdf: bytes) -> tuple[str, bytes]:
    """Return name and bytes of the job file in the report."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        ((name, specification),) = opened.attachments.items()
        return name, specification.get_file().read_bytes()


@pytest.fixture(scope="session")
def altered(pdf: bytes) -> Callable[..., bytes]:
    """Return a function that gives the report after `change(opened pdf)`, saved with the given options."""
    def alter(change: Callable[[pikepdf.Pdf], None] = lambda _: None, **options: object) -> bytes:
        with pikepdf.open(io.BytesIO(pdf)) as opened:
            change(opened)
            file = io.BytesIO()
            opened.save(file, **options)
        return file.getvalue()

    return alter


@pytest.fixture(scope="session")
def with_job_file(altered: Callable[..., bytes], attached: tuple[str, bytes]) -> Callable[..., bytes]:
    """Return a function that gives the report with other bytes for a job file, and another fingerprint if given."""
    def exchange(data: bytes, fingerprint: str = "") -> bytes:
        def change(opened: pikepdf.Pdf) -> None:
            opened.attachments[attached[0]] = pikepdf.AttachedFileSpec(opened, data, filename=attached[0])
            if fingerprint:
                opened.docinfo["/Fingerprint"] = fingerprint

        return altered(change)

    return exchange
