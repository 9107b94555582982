"""A copy of many photos tells how far it is, and can be ended before its end."""

from __future__ import annotations

import hashlib
import io
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PIL import Image

from workshop_log.book.opening import open_book
from workshop_log.exchange import records
from workshop_log.jobs import asking, transfer
from workshop_log.progress import Cancelled

NOW = datetime(2031, 5, 1, 8, 0, tzinfo=UTC)
COUNT = 5


@pytest.fixture
def book(tmp_path: Path):  # noqa: ANN201 - a generator of the open book
    """Return a book with a job of several photos."""
    photos = []
    for number in range(COUNT):
        out = io.BytesIO()
        Image.new("RGB", (40, 30), (number * 40, 0, 0)).save(out, "JPEG")
        photos.append(records.Photo(id=f"f{number}", data=out.getvalue(),
                                    sha256=hashlib.sha256(out.getvalue()).hexdigest()))
    book = open_book(tmp_path / "book.db")
    transfer.import_job(book, records.Job(number="2031-0001", photos=tuple(photos)), NOW)
    yield book
    book.close()


@pytest.mark.parametrize("copy", [
    lambda book, progress: transfer.export_job(book, "2031-0001", True, progress),
    lambda book, progress: asking.ask(book, "2031-0001", NOW, asking.Choice(), progress)], ids=["without people",
                                                                                            "for a colleague"])
def test_copy_is_told_photo_by_photo_and_can_be_ended(book, copy) -> None:
    """Before each photo, in order; ended there, nothing comes of it."""
    told = []
    copy(book, lambda done, total: told.append((done, total)))
    assert told == [(number, COUNT) for number in range(COUNT)]

    def end(done: int, _total: int) -> None:
        if done == 2:
            raise Cancelled

    with pytest.raises(Cancelled):
        copy(book, end)
