"""Evidence entered one after the other: the chain, and that nobody changes it."""

from __future__ import annotations

import hashlib

import pytest
from book.samples import NOW, PICTURE, small_job, without_bytes
from book.sealed import verify_job
from msgspec.structs import replace
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from workshop_log.book.errors import DuplicateItemError
from workshop_log.book.jobs import add_item, append_entry, insert_job, load_job, set_fields
from workshop_log.exchange import records as r
from workshop_log.exchange.records import Job, Seal, SealEntry
from workshop_log.exchange.seal import fingerprint, intake_of, seal_job, verify_seal

NUMBER = "2031-0007"
VEHICLE = r.Vehicle(registration="ZZ00 KLD")
STEP = r.VoltageStep(id="s1", at=NOW, red="B+", reading="12.60 V")


@pytest.fixture
def taken_in(book):
    """Give a book with a job in which nothing was measured yet."""
    with book.session() as session:
        insert_job(session, Job(number=NUMBER, opened=NOW, vehicle=VEHICLE, complaints=(r.Complaint(id="c1"),)), NOW)
    return book


def enter(book, kind, record):
    with book.session() as session:
        return append_entry(session, NUMBER, kind, record, NOW)


def get(book):
    with book.read() as session:
        return load_job(session, NUMBER)


def check(book):
    with book.read() as session:
        return verify_job(session, NUMBER)


def links(job):
    return [f"{entry.kind} {entry.id}" for entry in job.seal.entries]


def test_before_the_first_evidence_there_is_no_chain(taken_in):
    """An intake may be written on; it is sealed when something rests on it."""
    assert get(taken_in).seal == Seal()
    assert check(taken_in).intact


def test_the_first_evidence_seals_the_intake_before_itself(taken_in):
    """The fingerprints are those of the definition, computed here by hand from the records."""
    last = enter(taken_in, "step", STEP)
    job = get(taken_in)
    first = fingerprint("", "intake", intake_of(job))
    assert job.seal == Seal(entries=(
        SealEntry(kind="intake", id="intake", fingerprint=first),
        SealEntry(kind="step", id="s1", fingerprint=fingerprint(first, "step", STEP))))
    assert job.seal.entries[-1].fingerprint == last
    assert job.steps == (STEP,)


def test_a_changed_intake_is_sealed_again_before_the_next_evidence(taken_in):
    """What a test rested on when it was made can be read from the chain later."""
    enter(taken_in, "step", STEP)
    with taken_in.session() as session:
        set_fields(session, NUMBER, {"complaints/c1/words": "The horn is weak.", "customer.name": "Hettie Lorn"})
        add_item(session, NUMBER, "fault_codes", r.FaultCode(code="B1234-11"))
    assert (check(taken_in).intact, check(taken_in).unsealed) == (True, ("intake",))
    enter(taken_in, "step", replace(STEP, id="s2"))
    enter(taken_in, "step", replace(STEP, id="s3"))
    job = get(taken_in)
    assert links(job) == ["intake intake", "step s1", "intake intake", "step s2", "step s3"]
    # The earlier intake stands in its link, the present one in the job.
    assert job.seal.entries[0].intake.complaints == (r.Complaint(id="c1"),)
    assert job.seal.entries[2].intake is None
    assert (check(taken_in).intact, check(taken_in).unsealed) == (True, ())


def test_a_changed_customer_is_no_new_intake(taken_in):
    """A corrected telephone number is no evidence."""
    enter(taken_in, "step", STEP)
    with taken_in.session() as session:
        set_fields(session, NUMBER, {"customer.phone": "07700 900123"})
    enter(taken_in, "step", replace(STEP, id="s2"))
    assert links(get(taken_in)) == ["intake intake", "step s1", "step s2"]


def test_a_circuit_is_kept_with_every_change_and_stands_once(taken_in):
    """The latest stands in the job, the earlier one in its link of the chain."""
    first = r.Circuit(id="feed", title="Feed", elements=(r.Element(id="F7", kind="fuse", rating="15 A"),))
    second = replace(first, title="Feed of the rear lamp")
    enter(taken_in, "circuit", first)
    enter(taken_in, "circuit", r.Circuit(id="other"))
    enter(taken_in, "circuit", second)
    job = get(taken_in)
    assert job.circuits == (second, r.Circuit(id="other"))
    assert [entry.circuit for entry in job.seal.entries] == [None, first, None, None]
    assert check(taken_in).intact


def test_a_correction_is_a_further_entry_and_both_stay(taken_in):
    """What was read first can be seen for good."""
    enter(taken_in, "step", STEP)
    enter(taken_in, "step", replace(STEP, id="s2", reading="12.16 V", replaces="s1", because="misread"))
    assert [step.reading for step in get(taken_in).steps] == ["12.60 V", "12.16 V"]


@pytest.mark.parametrize(("kind", "record"), [
    ("step", STEP), ("condemned", r.Condemned(id="k1", part="strap")),
    ("approval", r.Approval(id="a1", at=NOW, by="H. Lorn")),
    ("photo", r.Photo(id="f1", sha256="0" * 64)), ("report", r.IssuedReport(id="r1", at=NOW, sha256="0" * 64)),
])
def test_evidence_is_entered_once(taken_in, kind, record):
    """The same id again is refused, and the chain is as before."""
    enter(taken_in, kind, record)
    before = get(taken_in)
    with pytest.raises(DuplicateItemError, match=record.id):
        enter(taken_in, kind, record)
    assert get(taken_in) == before


def test_all_kinds_together_make_an_intact_chain(taken_in):
    """The job that grew entry by entry verifies like one that came whole."""
    photo = r.Photo(id="f1", sha256=hashlib.sha256(PICTURE).hexdigest(), data=PICTURE)
    for kind, record in (
            ("instrument", r.Instrument(id="meter")), ("circuit", r.Circuit(id="feed")), ("photo", photo),
            ("step", replace(STEP, minutes=3)), ("condemned", r.Condemned(id="k1", part="strap", steps=("s1",))),
            ("approval", r.Approval(id="a1", at=NOW, by="H. Lorn")),
            ("instrument", r.Instrument(id="meter", last_proved=NOW)),
            ("report", r.IssuedReport(id="r1", at=NOW, sha256="0" * 64))):
        enter(taken_in, kind, record)
    job = get(taken_in)
    assert check(taken_in).intact
    assert verify_seal(job).last == job.seal.entries[-1].fingerprint
    assert len(job.seal.entries) == 9
    assert job.photos == without_bytes(Job(photos=(photo,))).photos
    assert taken_in.files.get(photo.sha256) == PICTURE


def test_a_chain_that_came_from_elsewhere_goes_on(book):
    """New evidence is linked to the last link of the file's seal."""
    sealed = seal_job(small_job())
    with book.session() as session:
        insert_job(session, sealed, NOW)
    enter(book, "step", replace(STEP, id="s9"))
    job = get(book)
    assert job.seal.entries[:-1] == sealed.seal.entries
    assert check(book).intact


def _without_link(job, index):
    entries = job.seal.entries
    return replace(job, seal=Seal(entries=entries[:index] + entries[index + 1:]))


def _with_other_reading(job):
    return replace(job, steps=(replace(job.steps[0], reading="11.60 V"), *job.steps[1:]))


def _without_step(job):
    return replace(job, steps=job.steps[:1])


def _with_step_put_in(job):
    return replace(job, steps=(*job.steps, replace(STEP, id="s9")))


def _with_circuit_changed(job):
    return replace(job, circuits=(replace(job.circuits[0], title="Other"),))


def _with_link_twice(job):
    entries = job.seal.entries
    return replace(job, seal=Seal(entries=(*entries[:3], entries[0], entries[0], *entries[3:])))


@pytest.mark.parametrize("spoil", [lambda job: _without_link(job, 0), lambda job: _without_link(job, 4),
                                   _with_other_reading, _without_step, _with_step_put_in, _with_circuit_changed,
                                   _with_link_twice])
def test_a_broken_seal_is_kept_broken(book, spoil):
    """Taking a job in neither mends its seal nor loses anything: `verify` says of the book what it says of the file."""
    spoilt = without_bytes(spoil(seal_job(replace(small_job(), condemned=()))))
    with book.session() as session:
        insert_job(session, spoilt, NOW)
    assert get(book) == spoilt
    assert check(book) == verify_seal(spoilt)
    assert not check(book).intact


@pytest.mark.parametrize("statement", [
    "UPDATE entries SET body = replace(body, '12.60', '11.60')", "DELETE FROM entries",
    "UPDATE entries SET position = position + 100",
])
def test_the_database_itself_refuses_to_change_evidence(taken_in, statement):
    """Not even another program at the same database rewrites what was entered."""
    enter(taken_in, "step", STEP)
    before = get(taken_in)
    with pytest.raises(DBAPIError, match="never changed or deleted"), taken_in.session() as session:
        session.execute(text(statement))
    assert get(taken_in) == before


def test_evidence_changed_behind_the_databases_back_is_found(taken_in):
    """Whoever takes the lock off and edits a reading breaks the chain at that link."""
    enter(taken_in, "step", STEP)
    enter(taken_in, "step", replace(STEP, id="s2"))
    off = ("DROP TRIGGER entries_refuse ON entries" if taken_in.is_shared else "DROP TRIGGER entries_refuse_update")
    with taken_in.session() as session:
        session.execute(text(off))
        session.execute(text("UPDATE entries SET body = replace(body, '12.60', '11.60') WHERE item_id = 's1'"))
    found = check(taken_in)
    assert (found.intact, found.first_broken.id, found.index) == (False, "s1", 1)


def test_a_photo_changed_in_its_table_is_found(taken_in):
    """Photos are read from their own table; it is held against the chain all the same."""
    enter(taken_in, "photo", r.Photo(id="f1", sha256="0" * 64, caption="the strap"))
    with taken_in.session() as session:
        session.execute(text("UPDATE photos SET caption = 'another strap'"))
    assert check(taken_in).first_broken.id == "f1"
