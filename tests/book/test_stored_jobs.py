"""Jobs whole, field by field and item by item."""

from __future__ import annotations

import contextlib
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from book.samples import NOW, PICTURE, as_kept, small_job
from exchange.strategies import jobs
from hypothesis import HealthCheck, given, settings
from msgspec.structs import replace
from sqlalchemy import func, select

from workshop_log.book import entities
from workshop_log.book.errors import (
    DuplicateItemError,
    DuplicateJobError,
    EditConflictError,
    MissingFileError,
    UnknownItemError,
    UnknownJobError,
)
from workshop_log.book.jobs import (
    add_item,
    insert_job,
    load_job,
    next_number,
    remove_item,
    running_lines,
    set_fields,
    set_waiting,
)
from workshop_log.exchange import records as r
from workshop_log.exchange.seal import seal_job
from workshop_log.exchange.writing import write_job


def put(book, job, number=None):
    with book.session() as session:
        return insert_job(session, job if number is None else replace(job, number=number), NOW)


def get(book, number, **how):
    with book.read() as session:
        return load_job(session, number, **how)


class _GivenUpError(Exception):
    """Ends a transaction without keeping it."""


@given(job=jobs())
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_job_comes_back_as_it_was_put_in(book, job):
    """Nothing of a job is lost or changed on the way through the tables, down to the bytes of its file."""
    with contextlib.suppress(_GivenUpError), book.session() as session:
        number = insert_job(session, job, NOW)
        back = load_job(session, number)
        assert back == as_kept(job, number)
        # Equal times may differ in their offset, equal amounts in their digits: the file shows both.
        assert write_job(back) == write_job(as_kept(job, number))
        raise _GivenUpError


@given(job=jobs())
@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_job_with_a_seal_keeps_every_link(book, job):
    """The chain of another workshop is neither made anew nor put into another order."""
    sealed = seal_job(job)
    with contextlib.suppress(_GivenUpError), book.session() as session:
        assert load_job(session, insert_job(session, sealed, NOW)).seal == sealed.seal
        raise _GivenUpError


def test_photos_come_without_their_bytes_until_they_are_asked_for(book):
    """Opening a job does not read megabytes; a file made from it has everything."""
    job = small_job()
    put(book, job)
    assert get(book, job.number).photos[0].data is None
    assert get(book, job.number, photo_data=True).photos == job.photos
    assert book.files.get(job.photos[0].sha256) == PICTURE


def test_a_photo_whose_bytes_are_others_is_refused_and_nothing_is_kept(book):
    """A picture damaged on the way must not stand for the one that was sealed."""
    job = small_job()
    with pytest.raises(MissingFileError, match="photo f1"):
        put(book, replace(job, photos=(replace(job.photos[0], data=b"\xff\xd8\xff other"),)))
    with pytest.raises(UnknownJobError):
        get(book, job.number)


def test_a_number_that_is_taken_is_refused_and_nothing_changes(book):
    """Taking in the same file twice leaves the first job alone."""
    job = small_job()
    put(book, job)
    with pytest.raises(DuplicateJobError, match="2031-0007"):
        put(book, replace(job, customer=r.Customer(name="Somebody Else")))
    assert get(book, job.number) == as_kept(job, job.number)


def test_an_unknown_number_is_said(book):
    """The sentence names the number."""
    with pytest.raises(UnknownJobError, match="no job 2031-9999"):
        get(book, "2031-9999")


def test_whole_numbers_in_fields_of_minutes_do_not_break_the_seal(book):
    """45 and 45.0 minutes are one value; what is sealed is what will be read back."""
    put(book, small_job())
    from book.sealed import verify_job

    with book.read() as session:
        assert verify_job(session, "2031-0007").intact


# --- numbers --------------------------------------------------------------------------------------------------------


def test_numbers_count_on_in_each_year(book, now):
    """The year is that of the clock at the desk."""
    with book.session() as session:
        assert [next_number(session, now) for _ in range(2)] == ["2031-0001", "2031-0002"]
        assert next_number(session, now + timedelta(days=365)) == "2032-0001"


def test_a_number_that_came_with_a_job_is_not_given_again(book, now):
    """Jobs from elsewhere push the count, never back."""
    put(book, small_job("2031-0112"))
    put(book, small_job("2031-0007"))
    put(book, small_job("own-17"))
    with book.session() as session:
        assert next_number(session, now) == "2031-0113"


def test_a_job_without_number_gets_one_of_the_year_it_was_opened(book):
    """The file of a practice job may leave its number out."""
    assert put(book, small_job("", opened=datetime(2029, 5, 1, tzinfo=UTC))) == "2029-0001"


def test_a_number_of_a_transaction_that_failed_is_given_again(book, now):
    """Numbers leave no gaps."""
    with contextlib.suppress(_GivenUpError), book.session() as session:
        next_number(session, now)
        raise _GivenUpError
    with book.session() as session:
        assert next_number(session, now) == "2031-0001"


# --- fields ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("path", "value", "read"), [
    ("customer.name", "Hettie Lorn", lambda job: job.customer.name),
    ("vehicle.vin", "ZZZ00000000000513", lambda job: job.vehicle.vin),
    ("vehicle.year", None, lambda job: job.vehicle.year),
    ("vehicle.systems", ("pyrotechnic",), lambda job: job.vehicle.systems),
    ("workshop.labour_rate", Decimal("70.50"), lambda job: job.workshop.labour_rate),
    ("opened", NOW, lambda job: job.opened),
    ("handed_back", NOW, lambda job: job.handed_back),
    ("settled", NOW, lambda job: job.settled),
    ("not_tested", ("The horn.", "The aerial."), lambda job: job.not_tested),
    ("complaints/c2/confirmed", True, lambda job: job.complaints[1].confirmed),
    ("parts/p1/price", Decimal("19.00"), lambda job: job.parts[0].price),
    ("clock/t1/billed_minutes", 30.0, lambda job: job.clock[0].billed_minutes),
    ("estimate/o1/tells", "whether it holds", lambda job: job.estimate[0].tells),
    ("charges/x1/amount", Decimal("3.10"), lambda job: job.charges[0].amount),
    ("notes/n1/internal", False, lambda job: job.notes[0].internal),
    ("suspects/h1/name", "worn bearing", lambda job: job.suspects[0].name),
    ("suspects/h2/bearings", (r.Bearing(step="s1", says="supports"),), lambda job: job.suspects[1].bearings),
    ("access/a1/state", "already off", lambda job: job.access[0].state),
    ("fault_codes/B1234-11/state", "pending", lambda job: job.fault_codes[0].state),
    ("fault_codes/0/note", "after the cold start", lambda job: job.fault_codes[0].note),
])
def test_a_field_is_set_by_its_path_and_nothing_else_changes(book, path, value, read):
    """Each path of the contract reaches its field, and only that."""
    job = small_job()
    put(book, job)
    before = get(book, job.number)
    with book.session() as session:
        set_fields(session, job.number, {path: value})
    after = get(book, job.number)
    assert read(after) == value
    with book.session() as session:
        set_fields(session, job.number, {path: read(before)})
    assert get(book, job.number) == before


@pytest.mark.parametrize("path", ["steps/s1/note", "photos/f1/caption", "complaints/c1/id", "customer.age", "number",
                                  "seal", "customer", "complaints/c1", "complaints/c1/words/x"])
def test_what_is_no_field_to_edit_is_refused(book, path):
    """Evidence is corrected by a new entry, and ids stay."""
    put(book, small_job())
    with pytest.raises(ValueError, match="no field"), book.session() as session:
        set_fields(session, "2031-0007", {path: "x"})


def test_several_fields_are_set_whole_or_not_at_all(book):
    """A path that leads nowhere leaves the fields before it as they were."""
    put(book, small_job())
    with pytest.raises(UnknownItemError, match="complaints"), book.session() as session:
        set_fields(session, "2031-0007", {"customer.name": "X", "complaints/c9/words": "Y"})
    assert get(book, "2031-0007").customer.name == "Ottoline Brásk"


def test_a_field_that_another_bay_changed_is_not_overwritten_unseen(book):
    """Who saw the old value is told; who saw the new one, or sets the same, may go on."""
    put(book, small_job())
    with book.session() as session:
        set_fields(session, "2031-0007", {"customer.phone": "07700 900456"}, {"customer.phone": "07700 900123"})
    with pytest.raises(EditConflictError, match="another bay") as caught, book.session() as session:
        set_fields(session, "2031-0007", {"customer.phone": "07700 900789"}, {"customer.phone": "07700 900123"})
    assert (caught.value.path, caught.value.theirs) == ("customer.phone", "07700 900456")
    with book.session() as session:
        set_fields(session, "2031-0007", {"customer.phone": "07700 900456"}, {"customer.phone": "07700 900123"})


# --- items ----------------------------------------------------------------------------------------------------------


def test_items_are_added_at_the_end_and_removed_by_id(book):
    """The order of the others stays."""
    put(book, small_job())
    with book.session() as session:
        add_item(session, "2031-0007", "complaints", r.Complaint(id="c3", words="The clock is slow."))
        remove_item(session, "2031-0007", "complaints", "c1")
        add_item(session, "2031-0007", "fault_codes", r.FaultCode(code="B1234-11", unit="rear module"))
        remove_item(session, "2031-0007", "fault_codes", "0")
    job = get(book, "2031-0007")
    assert [complaint.id for complaint in job.complaints] == ["c2", "c3"]
    assert job.fault_codes == (r.FaultCode(code="B1234-11", unit="rear module"),)


def test_an_id_is_given_once(book):
    """A second c1 would make it unsayable which of the two is meant."""
    put(book, small_job())
    with pytest.raises(DuplicateItemError, match="c1"), book.session() as session:
        add_item(session, "2031-0007", "complaints", r.Complaint(id="c1"))


def test_an_item_that_is_gone_is_said(book):
    """Another bay may have removed it; the sentence says so."""
    put(book, small_job())
    with pytest.raises(UnknownItemError, match="removed in another bay"), book.session() as session:
        remove_item(session, "2031-0007", "parts", "p9")


def test_evidence_cannot_be_removed_as_an_item(book):
    """There is no way to take a photo or a step out."""
    put(book, small_job())
    for collection in ("photos", "reports", "steps", "approvals"):
        with pytest.raises(ValueError, match="no list"), book.session() as session:
            remove_item(session, "2031-0007", collection, "f1")


# --- the clock, what is waited for, masters -------------------------------------------------------------------------


def test_running_lines_are_those_without_end_of_one_person(book):
    """Whoever starts a clock elsewhere must find the line that still runs."""
    put(book, small_job(clock=(r.TimeLine(id="t1", person="Mara", start=NOW),
                               r.TimeLine(id="t2", person="Mara", start=NOW, end=NOW))))
    put(book, small_job("2031-0008", clock=(r.TimeLine(id="t1", person="Ned", start=NOW - timedelta(hours=1)),)))
    with book.read() as session:
        assert [(line.number, line.registration, line.line.id) for line in running_lines(session, "Mara")] == [
            ("2031-0007", "ZZ00 KLD", "t1")]
        assert [line.number for line in running_lines(session)] == ["2031-0008", "2031-0007"]
        assert running_lines(session, "Nobody") == ()


def test_what_a_job_waits_for_is_kept_beside_it(book):
    """It is no field of the job: setting it leaves the job as it is."""
    put(book, small_job())
    before = get(book, "2031-0007")
    with book.session() as session:
        set_waiting(session, "2031-0007", "part", "Waits for a part", NOW)
    assert get(book, "2031-0007") == before


def test_half_a_name_leaves_no_customer_behind(book):
    """A master that was made while typing goes when the name is complete."""
    put(book, small_job(customer=r.Customer()))
    for name in ("Het", "Hettie", "Hettie Lorn"):
        with book.session() as session:
            set_fields(session, "2031-0007", {"customer.name": name})
    with book.read() as session:
        assert session.scalars(select(entities.Customer.name)).all() == ["Hettie Lorn"]


def test_a_customer_of_two_jobs_stays_known_by_the_other(book):
    """Correcting one job's customer leaves the other's master with the other's facts."""
    put(book, small_job())
    put(book, small_job("2031-0008"))
    with book.session() as session:
        set_fields(session, "2031-0008", {"customer.name": "Somebody Else", "customer.email": ""})
    with book.read() as session:
        assert sorted(session.scalars(select(entities.Customer.name))) == ["Ottoline Brásk", "Somebody Else"]
        assert session.scalar(select(func.count(entities.Vehicle.key))) == 1


def test_an_anonymous_copy_makes_nobody_known(book):
    """It has no people; its empty plate must not become a vehicle."""
    put(book, small_job(anonymous=True))
    with book.read() as session:
        assert session.scalars(select(entities.Customer.key)).all() == []
        assert session.scalars(select(entities.Vehicle.key)).all() == []
