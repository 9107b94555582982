"""A job with people, plate, prices and a photo, its question, and a colleague's answer to it."""

from __future__ import annotations

import io
import shutil
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from jobs.feed_job import FOUND, job, volts
from PIL import Image

from workshop_log.book.opening import open_book
from workshop_log.exchange import records as r
from workshop_log.jobs import asking, intake, opinions, testing, transfer
from workshop_log.jobs.photos import add_photo

NOW = datetime(2031, 4, 3, 9, 0, tzinfo=UTC)
LATER = NOW + timedelta(days=1)
NUMBER = "2031-0042"
OURS = job(
    *FOUND[:3], customer=r.Customer(name="Joan Dent", phone="07700 900456"),
    vehicle=r.Vehicle(registration="XX31 ABC", vin="XXXZZZ99ZTS000001", make="Invented", model="Merle"),
    complaints=(r.Complaint(id="c1", words="XX31ABC: the pump is dead, <b>£220</b> paid.", confirmed=True),),
    notes=(r.Note(id="n1", at=NOW, who="R. Bolt", words="For ourselves."),
           r.Note(id="n2", at=NOW, who="R. Bolt", words="Uncle Bertil listened.", internal=False)),
    parts=(r.Part(id="p1", name="pump", price=Decimal("240.00")),))


def picture() -> bytes:
    out = io.BytesIO()
    Image.linear_gradient("L").convert("RGB").save(out, "JPEG")
    return out.getvalue()


def put_in(path: Path) -> None:
    """Put the job, with a photo, into the book in this file."""
    book = open_book(str(path))
    transfer.import_job(book, OURS, NOW)
    add_photo(book, NUMBER, picture(), "plug.jpg", NOW)
    book.close()


def answer_to(path: Path, empty: Path, folder: Path, words: str = "It is the <plug>.") -> Path:
    """Return the file of an answer, made in a copy of the empty book, with a note and a step of the colleague's."""
    question, answer, away = (folder / name for name in ("question.job.json", "answer.job.json", "away.db"))
    shutil.copy(empty, away)
    home, theirs = open_book(str(path)), open_book(str(away))
    question.write_bytes(asking.ask(home, NUMBER, NOW, asking.Choice("Is it the pump?")).data())
    number = opinions.take_in_file(theirs, question, NOW).number
    intake.add_note(theirs, number, words, LATER, who="Ostrel Venn")
    testing.record_step(theirs, number, volts("s4", "C3.b", "0.00 V"), LATER)
    answer.write_bytes(asking.answer_bytes(theirs, number))
    home.close()
    theirs.close()
    return answer
