"""What is kept beside the jobs: settings, drafts, files, and places for what later work fills."""

from __future__ import annotations

import hashlib
import re
from decimal import Decimal

import msgspec
import pytest
from book.samples import NOW, small_job
from sqlalchemy import select, text

from workshop_log.book import entities
from workshop_log.book.drafts import clear_draft, drafts, load_draft, save_draft
from workshop_log.book.errors import MissingFileError
from workshop_log.book.jobs import insert_job
from workshop_log.book.settings import Settings, load_settings, save_setting
from workshop_log.exchange import records as r
from workshop_log.measuring.rules import Rule, rules
from workshop_log.measuring.verdict import VerdictLimits

SET = {
    "workshop": r.Workshop(name="Invented Electrics", labour_rate=Decimal("64.00"), tax_rule="line half up"),
    "limits": VerdictLimits(0.9, 0.1),
    "instruments": (r.Instrument(id="meter", last_proved=NOW),),
    "rules": (Rule("drop", "voltage drop", None, 0.2, "V"),),
    "persons": ("Mara", "Ned"),
    "come_back": Decimal("85.50"),
}


def test_a_new_book_has_the_usual_settings(book):
    """The rules of thumb are those of the table, the limits those of the standard."""
    with book.read() as session:
        assert load_settings(session) == Settings()
        assert load_settings(session).rules == rules()


@pytest.mark.parametrize("name", SET)
def test_a_setting_comes_back_as_it_was_saved(book, name):
    """Each is kept by itself, and can be changed again."""
    for value in (SET[name], getattr(Settings(), name), SET[name]):
        with book.session() as session:
            save_setting(session, name, value)
        with book.read() as session:
            assert load_settings(session) == Settings(**{name: value})


def test_a_setting_that_does_not_fit_is_refused(book):
    """A wrong value would stop the next start."""
    with book.session() as session:
        with pytest.raises(ValueError, match="no setting"):
            save_setting(session, "colour", "red")
        with pytest.raises(msgspec.ValidationError):
            save_setting(session, "persons", 7)


def test_drafts_stay_until_they_are_cleared(book):
    """What was typed before a crash is there again, each at its place."""
    with book.session() as session:
        save_draft(session, "2031-0007/case k1/finding", "worn")
        save_draft(session, "2031-0007/case k1/finding", "worn through")
        save_draft(session, "2031-0007/case k1/price", "18.50")
        save_draft(session, "2031-0007/Case k1/other", "x")
        save_draft(session, "2031-0007/case_k1/other", "x")
    with book.read() as session:
        assert drafts(session, "2031-0007/case k1/") == {
            "2031-0007/case k1/finding": "worn through", "2031-0007/case k1/price": "18.50"}
        assert len(drafts(session)) == 4
        assert load_draft(session, "2031-0007/case k1/price") == "18.50"
        assert load_draft(session, "elsewhere") is None
    with book.session() as session:
        clear_draft(session, "2031-0007/case k1/price")
        save_draft(session, "2031-0007/case k1/finding", "")
        clear_draft(session, "elsewhere")
    with book.read() as session:
        assert drafts(session, "2031-0007/case k1/") == {}


def test_files_are_kept_once_under_their_fingerprint(book):
    """The same picture twice is one file."""
    data = b"\x00picture\xff"
    assert book.files.put(data) == book.files.put(data) == hashlib.sha256(data).hexdigest()
    sha256 = book.files.put(b"another")
    assert book.files.get(sha256) == b"another"
    assert book.files.has(sha256)
    assert not book.files.has("0" * 64)
    assert sorted(book.files.names()) == sorted([sha256, hashlib.sha256(data).hexdigest()])


def test_a_file_that_is_gone_or_damaged_is_said(book):
    """The sentence points to the backup."""
    sha256 = book.files.put(b"picture")
    with pytest.raises(MissingFileError, match="look for it in a backup"):
        book.files.get("0" * 64)
    if book.is_shared:
        with book.session() as session:
            session.execute(text("UPDATE files SET data = decode('00', 'hex')"))
    else:
        (book.files.folder / sha256[:2] / sha256).write_bytes(b"other")
    with pytest.raises(MissingFileError, match="damaged"):
        book.files.get(sha256)


def test_readings_can_be_asked_for_as_numbers(book):
    """The history of a value does not need each body to be read."""
    with book.session() as session:
        insert_job(session, small_job(steps=(
            r.VoltageStep(id="s1", red="B+", reading="440 mV"),
            r.ValueStep(id="s2", what="brake disc thickness", reading="21.3 mm"),
            r.ResistanceStep(id="s3", red="a", black="b", reading="OL"),
            r.LampStep(id="s4", clip="a", probe="b", result="lit")), condemned=(), photos=()), NOW)
    entry = entities.Entry
    with book.read() as session:
        assert session.execute(
            select(entry.what, entry.value, entry.unit).where(entry.kind == "step").order_by(entry.position)).all() == [
            ("voltage", 0.44, "V"), ("brake disc thickness", 21.3, "mm"), ("resistance", None, None),
            (None, None, None)]


def test_everything_that_is_to_be_kept_has_its_table():
    """Later work fills some of them; the tables are there from the first version on."""
    kept = """customers vehicles jobs complaints fault_codes entries photos files standings time_lines parts charges
        estimate_options notes reports access_notes access_fasteners outbox settings drafts"""
    assert set(re.split(r"\s+", kept)) <= set(entities.Base.metadata.tables)
