"""Taking a job in, and its fields."""

from __future__ import annotations

from datetime import timedelta

import pytest

from workshop_log.book.errors import UnknownItemError
from workshop_log.exchange.records import Expected, ValueStep, VoltageStep
from workshop_log.jobs import approving, handing, intake, testing
from workshop_log.jobs.fields import FieldError
from workshop_log.jobs.waiting import waits_for


def stored(book, number):
    from workshop_log.book.jobs import load_job

    with book.read() as session:
        return load_job(session, number)


def listed(book, number):
    from workshop_log.book.listing import list_jobs

    with book.read() as session:
        return next(row for row in list_jobs(session) if row.number == number)


def test_new_job_has_a_number_of_the_year_and_one_empty_complaint(book, now) -> None:
    """Two jobs of one year have following numbers; nothing but a complaint is waiting to be filled in."""
    first, second = intake.take_in(book, now), intake.take_in(book, now, person="Ida")
    assert (first.number, second.number) == ("2031-0001", "2031-0002")
    assert [complaint.words for complaint in first.complaints] == [""]
    assert first.opened == now
    assert second.notes[0].who == "Ida"
    assert stored(book, "2031-0001") == first


def test_every_change_sets_what_the_list_shows_the_job_to_wait_for(book, now) -> None:
    """The list of jobs says the same as the job itself, after each change."""
    number = intake.take_in(book, now).number
    assert listed(book, number).waits_for == "Waits for the complaint to be described"
    intake.edit(book, number, {"complaints/c1/words": "Cranks slowly"})
    assert listed(book, number).waits_for == "Waits for the complaint to be confirmed"
    job = intake.edit(book, number, {"complaints/c1/confirmed": "yes"})
    assert listed(book, number).waits_for == "Waits for the cause to be found" == waits_for(job).words
    assert listed(book, number).waits_since == now


def test_edit_sets_all_fields_or_none(book, job) -> None:
    """One text that does not fit keeps the others out as well."""
    with pytest.raises(FieldError) as refused:
        intake.edit(book, job.number, {"customer.name": "Mara Quill", "vehicle.odometer": "61250"})
    assert refused.value.path == "vehicle.odometer"
    assert stored(book, job.number).customer.name == ""
    changed = intake.edit(book, job.number, {"customer.name": "Mara Quill", "vehicle.odometer": "61250 mi"})
    assert stored(book, job.number) == changed
    assert changed.vehicle.odometer == "61250 mi"


def test_complaints_are_added_and_removed(book, job) -> None:
    """A new complaint has the next number, also after one was removed before it."""
    job = intake.add_complaint(book, job.number)
    job = intake.add_complaint(book, job.number, "Radio resets")
    assert [complaint.id for complaint in job.complaints] == ["c1", "c2", "c3"]
    job = intake.remove_item(book, job.number, "complaints", "c2")
    assert [complaint.id for complaint in intake.add_complaint(book, job.number).complaints] == ["c1", "c3", "c4"]


def test_fault_codes_are_read_by_their_structure(book, job) -> None:
    """Two spellings of one code are one code; what is none is refused."""
    job = intake.add_fault_code(book, job.number, "b1000-16", state="stored")
    assert [(code.code, code.state) for code in job.fault_codes] == [("B1000-16", "stored")]
    with pytest.raises(FieldError, match="noted already"):
        intake.add_fault_code(book, job.number, "B100016")
    with pytest.raises(FieldError):
        intake.add_fault_code(book, job.number, "nonsense")
    assert intake.remove_item(book, job.number, "fault_codes", "B1000-16").fault_codes == ()


def test_evidence_is_not_removed(book, job, now) -> None:
    """Steps are corrected, never taken off."""
    testing.record_step(book, job.number, VoltageStep(id="x", red="strap", reading="0.5 V"), now)
    with pytest.raises(FieldError, match="Evidence is never taken off"):
        intake.remove_item(book, job.number, "steps", "s1")


def test_option_that_the_customer_was_asked_about_stays(book, job, now) -> None:
    """An approval must not lose what it approved."""
    approving.add_option(book, job.number, "New strap")
    approving.approve_up_to(book, job.number, "80", "M. Quill", now, option="o1")
    with pytest.raises(FieldError, match="stays on record"):
        intake.remove_item(book, job.number, "estimate", "o1")


def test_removing_what_is_gone_says_so(book, job) -> None:
    """Another bay may have been quicker."""
    with pytest.raises(UnknownItemError):
        intake.remove_item(book, job.number, "parts", "p1")


def test_known_vehicle_fills_what_is_empty_and_keeps_what_is_written(book, job, now) -> None:
    """The next visit takes the facts over; the odometer is read anew, and a telephone number written now stays."""
    from workshop_log.book.known import known_vehicles

    intake.edit(book, job.number, {"customer.name": "Mara Quill", "customer.phone": "01632 960123",
                                   "vehicle.make": "Aldermoor", "vehicle.odometer": "61250 mi", "vehicle.year": "2027"})
    number = intake.take_in(book, now + timedelta(days=90)).number
    intake.edit(book, number, {"vehicle.registration": "qx31abc", "customer.phone": "07700 900123"})
    with book.read() as session:
        known = next(known for known in known_vehicles(session, "qx31abc") if known.number == job.number)
    again = intake.recognise(book, number, known)
    assert (again.vehicle.make, again.vehicle.year, again.vehicle.odometer) == ("Aldermoor", 2027, "")
    assert (again.customer.name, again.customer.phone) == ("Mara Quill", "07700 900123")


def test_another_vehicle_of_a_known_customer_stays_another_vehicle(book, job, now) -> None:
    """Their plate is written differently, so nothing of the first vehicle is copied."""
    from workshop_log.book.known import known_customers

    intake.edit(book, job.number, {"customer.name": "Mara Quill", "customer.email": "mara@example.org",
                                   "vehicle.vin": "WX0ZZZ1234"})
    number = intake.take_in(book, now).number
    intake.edit(book, number, {"vehicle.registration": "QX33 ZZZ", "customer.name": "mara quill"})
    with book.read() as session:
        known = next(known for known in known_customers(session, "mara") if known.number == job.number)
    again = intake.recognise(book, number, known)
    assert (again.vehicle.vin, again.customer.email) == ("", "mara@example.org")


def test_note_needs_words(book, job, now) -> None:
    """A call from the customer is noted with who and when."""
    job = intake.add_note(book, job.number, "Asked when it is ready.", now, who="M. Quill")
    assert (job.notes[-1].who, job.notes[-1].at, job.notes[-1].internal) == ("M. Quill", now, True)
    with pytest.raises(FieldError):
        intake.add_note(book, job.number, "  ", now)


def test_mechanical_job_lives_from_intake_to_the_settled_bill_without_a_circuit(book, now) -> None:
    """A worn brake disc: taken in, measured, condemned, approved, fitted, proved, reported, handed back, settled."""
    from workshop_log.jobs import deciding, parts

    def later(hours: float):
        return now + timedelta(hours=hours)

    number = intake.take_in(book, now).number
    intake.edit(book, number, {"complaints/c1/words": "Grinds when braking", "complaints/c1/confirmed": "yes",
                               "workshop.labour_rate": "64"})
    disc = ValueStep(id="x", what="brake disc thickness", where="front left", reading="21.3 mm",
                     expected=Expected(low="22 mm", source="stamped on the disc"))
    testing.record_step(book, number, disc, later(1))
    deciding.consider(book, number, "brake discs", ("s1",), later(1.1))
    seen = []

    def waits(job) -> None:
        seen.append(waits_for(job).key)
        assert listed(book, number).waits_for == waits_for(job).words

    waits(deciding.decide(book, number, "k1", "replace", {"finding": "Worn below.", "price": "88"}, later(1.2)))
    waits(approving.add_option(book, number, "New discs"))
    waits(approving.approve_up_to(book, number, "300", "M. Quill", later(2), how="telephone", option="o1"))
    parts.add_part(book, number, "brake discs", condemned="k1")
    waits(parts.order_part(book, number, "p1", later(2.1)))
    waits(parts.part_arrived(book, number, "p1", later(4)))
    parts.fit_part(book, number, "p1", later(5))
    waits(deciding.record_repair(book, number, "k2", "Discs and pads replaced.", later(5)))
    new = ValueStep(id="x", what="brake disc thickness", where="front left", reading="24.0 mm", after_repair=True,
                    expected=disc.expected, repeats="s1")
    waits(testing.record_step(book, number, new, later(5.2)))
    waits(handing.issue_report(book, number, b"%PDF-1.7 ...", "customer", later(6)))
    waits(handing.hand_back(book, number, later(7)))
    waits(handing.settle(book, number, later(8)))
    assert seen == ["repair", "approval", "repair", "part", "repair", "proving the repair", "report", "hand-back",
                    "bill", "nothing"]
