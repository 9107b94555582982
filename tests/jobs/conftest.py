"""A fresh book for each test, and a job in it."""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from workshop_log.exchange.records import Job
from workshop_log.jobs import intake

if TYPE_CHECKING:
    from workshop_log.book.opening import Book

# Summer time one hour ahead of UTC, as the sample workshop has it.
NOW = datetime(2031, 4, 2, 8, 35, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture(scope="session")
def empty_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make one book with its tables; each test gets a copy of it, which is quicker than making the tables again."""
    from workshop_log.book.opening import open_book

    path = tmp_path_factory.mktemp("book") / "book.db"
    open_book(str(path)).close()
    return path


@pytest.fixture
def book(empty_book: Path, tmp_path: Path) -> Iterator[Book]:
    """Open a book with nothing in it."""
    from workshop_log.book.opening import open_book

    path = tmp_path / "book.db"
    shutil.copy(empty_book, path)
    opened = open_book(str(path))
    yield opened
    opened.close()


@pytest.fixture
def now() -> datetime:
    """Return the moment at which each test begins."""
    return NOW


@pytest.fixture
def picture() -> bytes:
    """Return a small JPEG with a position in it."""
    from PIL import Image

    exif = Image.Exif()
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 0.0)})
    out = io.BytesIO()
    Image.linear_gradient("L").convert("RGB").save(out, "JPEG", exif=exif)
    return out.getvalue()


@pytest.fixture
def job(book: Book, now: datetime) -> Job:
    """Take a job in, with a rate and a complaint."""
    taken = intake.take_in(book, now)
    return intake.edit(book, taken.number, {
        "workshop.labour_rate": Decimal("64.00"), "workshop.tax_rate": "20", "complaints/c1/words": "Cranks slowly",
        "complaints/c1/confirmed": True, "vehicle.registration": "QX31 ABC"})
