"""Parts considered, condemned, let off and repaired; parts ordered; approvals; the report and job files."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from decimal import Decimal

import pytest
from jobs.pump import PUMP, STEPS
from msgspec.structs import replace

from workshop_log.book.errors import DuplicateJobError, UnknownItemError
from workshop_log.exchange.reading import JobFileError, read_job
from workshop_log.exchange.records import Approval, Expected, VoltageStep
from workshop_log.jobs import approving, deciding, handing, parts, photos, testing, transfer
from workshop_log.jobs.approving import ApprovalError
from workshop_log.jobs.deciding import DecisionError, FactError
from workshop_log.jobs.fields import FieldError
from workshop_log.jobs.handing import HandingError
from workshop_log.jobs.parts import PartError
from workshop_log.jobs.suspicion import CircuitSuspicion, Share
from workshop_log.jobs.suspicion import Decision as Figured
from workshop_log.jobs.weighing import Weighed, basis_of

HOUR = timedelta(hours=1)
STRAP = VoltageStep(id="x", red="strap", reading="0.48 V", expected=Expected(high="0.2 V"))


@pytest.fixture
def tested(book, job, now):
    return testing.record_step(book, job.number, STRAP, now)


def standing(job):
    return [(entry.id, entry.decision) for entry in deciding.current_cases(job)]


def intact(book, number) -> bool:
    from book.sealed import verify_job

    with book.read() as session:
        return verify_job(session, number).intact


def test_each_decision_is_a_new_entry_and_the_last_one_stands(book, tested, now) -> None:
    """Considered, condemned, repaired, found to be the cause: four entries, one that stands."""
    number = tested.number
    assert standing(deciding.consider(book, number, "ground strap", ("s1",), now)) == [("k1", "considered")]
    deciding.decide(book, number, "k1", "replace", {"finding": "Corroded.", "price": "18.40", "returnable": "no",
                                                    "fit_minutes": "45"}, now + HOUR)
    deciding.record_repair(book, number, "k2", "New strap fitted.", now + 2 * HOUR)
    job = deciding.judge_repair(book, number, "k3", True, now + 3 * HOUR)
    (entry,) = deciding.current_cases(job)
    assert (entry.id, entry.decision, entry.price, entry.returnable, entry.fit_minutes) == (
        "k4", "replace", Decimal("18.40"), False, 45)
    assert (entry.at, entry.repaired, entry.was_the_cause) == (now + HOUR, now + 2 * HOUR, True)
    assert len(job.condemned) == 4
    assert intact(book, number)


def test_decision_keeps_the_steps_that_spoke_for_the_part(book, tested, now) -> None:
    """A test made after the part was first considered is part of what the decision rests on."""
    deciding.consider(book, tested.number, "ground strap", (), now)
    testing.record_step(book, tested.number, replace(STRAP, red="strap, body end"), now)
    job = deciding.condemn(book, tested.number, "k1", now)
    assert deciding.current_cases(job)[0].steps == ("s1", "s2")


def test_part_that_nothing_speaks_for_needs_the_technicians_own_reason(book, job, now) -> None:
    """It may always be condemned; the reason is asked for and kept."""
    deciding.consider(book, job.number, "control unit", (), now)
    with pytest.raises(DecisionError, match="all the same"):
        deciding.decide(book, job.number, "k1", "replace", {}, now)
    job = deciding.decide(book, job.number, "k1", "replace", {"all_the_same": "Known weakness, seen twice."}, now)
    assert deciding.current_cases(job)[0].all_the_same == "Known weakness, seen twice."


def test_letting_off_needs_a_reason_and_stays_on_record(book, tested, now) -> None:
    """A part that was let off can be considered again; why is in the record."""
    deciding.consider(book, tested.number, "starter", ("s1",), now)
    with pytest.raises(DecisionError, match="Why is it let off"):
        deciding.let_off(book, tested.number, "k1", " ", now)
    job = deciding.let_off(book, tested.number, "k1", "Draws 160 A, as it should.", now)
    assert standing(job) == [("k2", "let off")]
    assert job.condemned[1].because == "Draws 160 A, as it should."


def test_decisions_out_of_turn_are_refused(book, tested, now) -> None:
    """No repair before a decision, no cause before a repair, no second repair, no entry that is replaced."""
    number = tested.number
    with pytest.raises(DecisionError, match="Which part"):
        deciding.consider(book, number, " ", (), now)
    with pytest.raises(UnknownItemError):
        deciding.consider(book, number, "strap", ("s9",), now)
    deciding.consider(book, number, "strap", ("s1",), now)
    with pytest.raises(DecisionError, match="was not condemned"):
        deciding.record_repair(book, number, "k1", "x", now)
    with pytest.raises(FactError, match="not an amount"):
        deciding.condemn(book, number, "k1", now, price="dear")
    deciding.condemn(book, number, "k1", now)
    with pytest.raises(UnknownItemError):
        deciding.condemn(book, number, "k1", now)
    with pytest.raises(DecisionError, match="not repaired yet"):
        deciding.judge_repair(book, number, "k2", True, now)
    deciding.record_repair(book, number, "k2", "Done.", now)
    with pytest.raises(DecisionError, match="repaired already"):
        deciding.record_repair(book, number, "k3", "Done.", now)


# --- with a circuit


@pytest.fixture
def on_circuit(book, job, now):
    """Take down two readings that leave much possible in a circuit."""
    from workshop_log.jobs.testing import save_circuit

    save_circuit(book, job.number, PUMP)
    for step in STEPS[:2]:
        job = testing.record_step(book, job.number, step, now)
    return job


def wire_considered(book, job, now, **facts):
    return deciding.consider(book, job.number, "", (), now, circuit="pump", element="W1", **facts)


def test_element_brings_its_name_and_its_price_from_the_circuit(book, on_circuit, now) -> None:
    """What is typed with it wins; what the circuit does not say stays open."""
    job = deciding.consider(book, on_circuit.number, "", (), now, circuit="pump", element="PUMP")
    (pump,) = job.condemned
    assert (pump.part, pump.circuit, pump.element) == ("PUMP", "pump", "PUMP")
    assert (pump.price, pump.fit_minutes, pump.returnable) == (Decimal("184.00"), 45, False)
    wire = wire_considered(book, job, now, price="4.20").condemned[1]
    assert (wire.part, wire.price, wire.fit_minutes, wire.returnable) == (
        "feed to the pump", Decimal("4.20"), None, None)


@pytest.mark.parametrize("names", [{"circuit": "pump", "element": "X9"}, {"circuit": "lamps", "element": "W1"},
                                   {"element": "W1"}])
def test_element_that_is_not_in_the_job_is_refused(book, on_circuit, now, names: dict) -> None:
    """Nothing is begun about a part that nobody could find."""
    with pytest.raises(UnknownItemError):
        deciding.consider(book, on_circuit.number, "wire", (), now, **names)


def test_part_that_the_figures_are_against_needs_the_technicians_own_reason(book, on_circuit, now) -> None:
    """Two good readings leave every part of the circuit possible; how likely it was is kept with the reason."""
    wire_considered(book, on_circuit, now)
    with pytest.raises(DecisionError, match=r"By the circuit it is about \d\d in 100 that it is the wire W1 .* all the "
                                            r"same"):
        deciding.condemn(book, on_circuit.number, "k1", now)
    job = deciding.condemn(book, on_circuit.number, "k1", now, all_the_same="Seen melted on three of these.")
    (entry,) = deciding.current_cases(job)
    assert 0.1 < entry.probability_right < 0.4
    assert entry.all_the_same == "Seen melted on three of these."
    assert intact(book, job.number)


def test_later_decision_forgets_how_likely_the_one_before_was(book, on_circuit, now) -> None:
    """A part let off was not condemned with any probability."""
    wire_considered(book, on_circuit, now)
    deciding.condemn(book, on_circuit.number, "k1", now, all_the_same="x")
    job = deciding.let_off(book, on_circuit.number, "k2", "Measured good at the workbench.", now)
    assert [entry.probability_right is None for entry in job.condemned] == [True, False, True]


def handed(job, right: float, together=("W1",)) -> Weighed:
    """Return figures for the wire that nobody would work out."""
    shares = (Share("W1", "W1", right), Share("C3.2", "C3.2", 1 - right))
    possible = CircuitSuspicion("pump", "Fuel pump", shares=shares, n_steps=2)
    decision = Figured("W1", "W1", together, right, Decimal(1), Decimal(0))
    return Weighed(basis_of(job, job.condemned[0]), possible, decision)


def test_figures_of_this_moment_are_not_worked_out_again(book, on_circuit, now) -> None:
    """The window has them already: what it hands over counts, and what goes together is kept."""
    job = wire_considered(book, on_circuit, now)
    weighed = handed(job, 0.97, ("W1", "C3.2"))
    job = deciding.decide(book, job.number, "k1", "replace", {}, now, weighed=weighed)
    (entry,) = deciding.current_cases(job)
    assert (entry.probability_right, entry.together) == (0.97, ("W1", "C3.2"))


def test_figures_of_before_the_last_step_are_worked_out_again(book, on_circuit, now) -> None:
    """Nobody condemns on what stood before the last reading, or before the price was changed."""
    job = wire_considered(book, on_circuit, now)
    weighed = handed(job, 0.97)
    with pytest.raises(DecisionError, match="By the circuit"):
        deciding.decide(book, job.number, "k1", "replace", {"price": "90"}, now, weighed=weighed)
    testing.record_step(book, job.number, replace(STEPS[2], reading="12.2 V"), now)
    with pytest.raises(DecisionError, match="By the circuit"):
        deciding.decide(book, job.number, "k1", "replace", {}, now, weighed=weighed)


def test_part_by_its_name_is_decided_without_figures_beside_a_circuit(book, on_circuit, now) -> None:
    """A worn hub in a job with a circuit rests on what was measured of it, as before."""
    testing.record_step(book, on_circuit.number, replace(STRAP, red="hub"), now)
    deciding.consider(book, on_circuit.number, "hub", (), now)
    job = deciding.condemn(book, on_circuit.number, "k1", now)
    (entry,) = deciding.current_cases(job)
    assert (entry.decision, entry.probability_right, entry.together) == ("replace", None, ())


# --- parts and approvals


def test_part_goes_from_ordered_to_fitted_and_not_twice(book, job, now) -> None:
    """Each state is noted once with its time; what cannot be returned is not."""
    parts.add_part(book, job.number, "ground strap", price=Decimal("18.40"), returnable=False)
    parts.order_part(book, job.number, "p1", now)
    with pytest.raises(PartError, match="ordered already"):
        parts.order_part(book, job.number, "p1", now)
    with pytest.raises(PartError, match="cannot be returned"):
        parts.return_part(book, job.number, "p1", now)
    parts.part_arrived(book, job.number, "p1", now + HOUR)
    job = parts.fit_part(book, job.number, "p1", now + 2 * HOUR)
    part = job.parts[0]
    assert (part.ordered, part.arrived, part.fitted) == (now, now + HOUR, now + 2 * HOUR)


def test_charge_is_added(book, job) -> None:
    """An amount without tax, to be filled in."""
    assert parts.add_charge(book, job.number, "Disposal", Decimal(4)).charges[0].amount == Decimal(4)


def test_approval_is_evidence_with_who_how_when_and_up_to_how_much(book, job, now) -> None:
    """A typed amount is read in the job's currency; a correction stays beside what it corrects."""
    job = approving.approve_up_to(book, job.number, "£150", "M. Quill", now, how="telephone", words="Go ahead.")
    assert (job.approvals[0].up_to, job.approvals[0].how, job.approvals[0].at) == (Decimal(150), "telephone", now)
    job = approving.approve(book, job.number, Approval(id="x", at=now, by="M. Quill", up_to=Decimal(115), replaces="a1",
                                                       because="misheard"), now)
    assert [approval.id for approval in job.approvals] == ["a1", "a2"]
    assert intact(book, job.number)


@pytest.mark.parametrize(("change", "reason"), [
    ({"by": " "}, "Who agreed"), ({"up_to": Decimal(-1)}, "below zero"), ({"replaces": "a1"}, "needs a reason"),
    ({"up_to": Decimal("NaN")}, "below zero")])
def test_approval_that_nobody_could_rely_on_is_refused(book, job, now, change, reason) -> None:
    """Nobody, less than nothing, or a correction without a reason."""
    with pytest.raises(ApprovalError, match=reason):
        approving.approve(book, job.number, replace(Approval(id="x", at=now, by="M. Quill"), **change), now)


def test_approval_in_the_future_and_amounts_that_are_none_are_refused(book, job, now) -> None:
    """A slip of the date would make a later refusal look older."""
    with pytest.raises(ApprovalError, match="future"):
        approving.approve(book, job.number, Approval(id="x", at=now + HOUR, by="M. Quill"), now)
    with pytest.raises(FieldError, match="not an amount"):
        approving.approve_up_to(book, job.number, "plenty", "M. Quill", now)
    with pytest.raises(UnknownItemError):
        approving.approve_up_to(book, job.number, "", "M. Quill", now, option="o9")
    assert not approving.refuse(book, job.number, "M. Quill", now).approvals[0].agreed


# --- handing over, and files


def test_report_is_kept_with_its_fingerprint(book, job, now) -> None:
    """The file as it was handed over can be found again by what the record says."""
    pdf = b"%PDF-1.7 whole report"
    job = handing.issue_report(book, job.number, pdf, "expert", now)
    report = job.reports[0]
    assert (report.sha256, report.reader) == (hashlib.sha256(pdf).hexdigest(), "expert")
    assert book.files.get(report.sha256) == pdf
    assert intact(book, job.number)
    with pytest.raises(HandingError):
        handing.issue_report(book, job.number, b"hello", "customer", now)


def test_hand_back_and_settling_happen_once_and_can_be_taken_back(book, job, now) -> None:
    """A mistake at the desk is undone, a second time is refused."""
    handing.hand_back(book, job.number, now)
    handing.settle(book, job.number, now)
    for again in (handing.hand_back, handing.settle):
        with pytest.raises(HandingError, match="already"):
            again(book, job.number, now)
    assert handing.take_back(book, job.number, "handed_back").handed_back is None


def test_job_goes_out_and_into_another_book_without_loss(book, tested, now, picture, tmp_path, empty_book) -> None:
    """What comes in again is the same job with the same photos and an intact seal."""
    import shutil

    from workshop_log.book.opening import open_book

    job = testing.add_photo(book, tested.number, picture, "strap.jpg", now, step="s1")
    path = tmp_path / "strap.job.json"
    path.write_bytes(transfer.export_job(book, job.number))
    shutil.copy(empty_book, tmp_path / "other.db")
    other = open_book(str(tmp_path / "other.db"))
    try:
        taken = transfer.import_file(other, path)
        assert taken == job
        assert handing.photo_bytes(other, taken) == handing.photo_bytes(book, job) != {}
        assert intact(other, taken.number)
        assert photos.standing_photos(taken)[0].step == "s1"
    finally:
        other.close()
    with pytest.raises(DuplicateJobError):
        transfer.import_file(book, path)


def test_anonymous_file_has_no_plate(book, tested) -> None:
    """The plate of the vehicle is not in the bytes."""
    assert b"QX31 ABC" in transfer.export_job(book, tested.number)
    data = transfer.export_job(book, tested.number, anonymous=True)
    assert b"QX31 ABC" not in data
    assert read_job(data, "x").anonymous


def test_bad_files_take_nothing_in(book, tmp_path, now) -> None:
    """Missing, no JSON: one sentence each, and the book stays empty; a file without a number gets one."""
    from workshop_log.book.listing import list_jobs

    bad = tmp_path / "bad.job.json"
    bad.write_text("{", encoding="utf-8")
    with pytest.raises(JobFileError):
        transfer.import_file(book, bad)
    with pytest.raises(transfer.TransferError, match="cannot be read"):
        transfer.import_file(book, tmp_path / "missing.job.json")
    bare = tmp_path / "bare.job.json"
    bare.write_text('{"format": "workshop-log/job", "version": 1}', encoding="utf-8")
    with book.read() as session:
        assert list(list_jobs(session)) == []
    assert transfer.import_file(book, bare, now).number == "2031-0001"
