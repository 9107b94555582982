"""Whatever is changed in sealed evidence is found, and the first link that differs is named."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from exchange.strategies import jobs
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from workshop_log.exchange import records as r
from workshop_log.exchange.reading import JobFileError, read_job
from workshop_log.exchange.seal import (
    FingerprintError,
    fingerprint,
    grouped,
    read_fingerprint,
    seal_job,
    short,
    verify_seal,
)
from workshop_log.exchange.writing import write_job

TIMES = [datetime(2031, 4, 2, 8, minute, tzinfo=UTC) for minute in range(60)]
EVIDENCE = r.Job(
    vehicle=r.Vehicle(registration="XX31 ABC"),
    complaints=(r.Complaint(id="c1", words="Cranks slowly, worse when hot"),),
    fault_codes=(r.FaultCode(code="B1000-16"),),
    instruments=(r.Instrument(id="meter", input_resistance="10 Mohm"),),
    circuits=(r.Circuit(id="start", elements=(
        r.Element(id="battery", kind="battery", between=("B+", "B-"), voltage="12.6 V"),)),),
    steps=(r.VoltageStep(id="s1", at=TIMES[1], red="engine block", reading="0.84 V", setup="cranking"),
           r.VoltageStep(id="s2", at=TIMES[2], red="engine block", reading="0.48 V", setup="cranking",
                         replaces="s1", because="read upside down")),
    condemned=(r.Condemned(id="k1", at=TIMES[3], part="ground strap", steps=("s2",), price=Decimal("18.50")),),
    approvals=(r.Approval(id="a1", at=TIMES[4], by="A. Sample", up_to=Decimal("120.00")),),
    photos=(r.Photo(id="f1", taken=TIMES[5], sha256=hashlib.sha256(b"\xff\xd8\xff").hexdigest(),
                    data=b"\xff\xd8\xff"),),
    reports=(r.IssuedReport(id="r1", at=TIMES[6], sha256="0" * 64),))
SEALED = seal_job(EVIDENCE)
WRITTEN = write_job(SEALED)


def names(job):
    return [(entry.kind, entry.id) for entry in job.seal.entries]


def test_a_chain_made_afterwards_follows_time():
    """The intake first, then instruments and circuits, then what was done in the order in which it was done."""
    assert names(SEALED) == [("intake", "intake"), ("instrument", "meter"), ("circuit", "start"), ("step", "s1"),
                             ("step", "s2"), ("condemned", "k1"), ("approval", "a1"), ("photo", "f1"),
                             ("report", "r1")]


def test_the_chain_can_be_computed_with_the_standard_library_alone():
    """From the text of the file, without this program: sorted JSON without space, SHA-256, previous link."""
    document = json.loads(WRITTEN)
    bodies = {"intake": [{key: document[key] for key in ("vehicle", "complaints", "fault_codes")}]}
    for kind in ("instrument", "circuit", "step", "approval", "photo", "report"):
        bodies[kind] = document[kind + "s"]
    bodies["condemned"] = document["condemned"]
    for photo in bodies["photo"]:
        del photo["data"]
    previous = ""
    for entry in document["seal"]["entries"]:
        body = next(body for body in bodies[entry["kind"]] if body.get("id", "intake") == entry["id"])
        text = json.dumps({"body": body, "kind": entry["kind"], "previous": previous}, sort_keys=True,
                          separators=(",", ":"), ensure_ascii=False)
        previous = hashlib.sha256(text.encode()).hexdigest()
        assert entry["fingerprint"] == previous
    assert verify_seal(SEALED).last == previous


@settings(max_examples=60, deadline=None)
@given(job=jobs())
def test_a_sealed_job_is_intact_also_after_the_file(job):
    """Sealing, writing, reading and verifying belong together."""
    sealed = seal_job(job)
    assert verify_seal(sealed).intact
    assert verify_seal(read_job(write_job(sealed), "a.job.json")).intact
    assert verify_seal(sealed).unsealed == ()


@settings(max_examples=300, deadline=None)
@given(place=st.integers(0, len(WRITTEN) - 1), byte=st.integers(0x20, 0x7E))
def test_no_byte_of_the_file_can_be_changed_unnoticed(place, byte):
    """Each file with one other byte is refused, or broken, or says exactly the same as before (white space)."""
    assume(WRITTEN[place] != byte)
    changed = WRITTEN[:place] + bytes([byte]) + WRITTEN[place + 1:]
    try:
        job = read_job(changed, "a.job.json")
    except JobFileError:
        return
    assert job == SEALED or not verify_seal(job).intact


def _with(collection, index, **changes):
    items = list(getattr(SEALED, collection))
    items[index] = replace(items[index], **changes)
    return replace(SEALED, **{collection: tuple(items)})


@pytest.mark.parametrize(("job", "index", "named"), [
    (replace(SEALED, vehicle=r.Vehicle(registration="XX31 ABD")), 0, "the intake"),
    (_with("complaints", 0, words="Cranks slowly"), 0, "the intake"),
    (_with("instruments", 0, input_resistance="1 Mohm"), 1, "instrument meter"),
    (_with("circuits", 0, title="other"), 2, "circuit start"),
    (_with("steps", 0, reading="0.48 V"), 3, "step s1"),
    (_with("steps", 1, because="misread"), 4, "step s2"),
    (_with("steps", 1, at=TIMES[30]), 4, "step s2"),
    (_with("condemned", 0, price=Decimal("18.5")), 5, "condemned k1"),
    (_with("approvals", 0, agreed=False), 6, "approval a1"),
    (_with("photos", 0, sha256="1" * 64), 7, "photo f1"),
    (_with("reports", 0, reader="expert"), 8, "report r1"),
])
def test_the_first_link_that_differs_is_named(job, index, named):
    """Whoever asks what was changed gets the place, not only a no."""
    check = verify_seal(job)
    assert not check.intact
    assert check.index == index
    assert check.first_broken == SEALED.seal.entries[index]
    assert check.reason.startswith(f"Link {index + 1} of the seal, {named}, is not what was sealed")


def test_a_step_that_was_taken_out_is_missed():
    """Steps never disappear: a corrected one stays beside its correction."""
    check = verify_seal(replace(SEALED, steps=SEALED.steps[1:]))
    assert (check.intact, check.index) == (False, 3)
    assert "step s1, is not in the file: it was taken out" in check.reason


def test_links_cannot_be_taken_out_exchanged_or_doubled():
    """A chain without one of its links is another chain."""
    entries = SEALED.seal.entries
    for changed in (entries[:3] + entries[4:], entries[1:], (entries[0], entries[2], entries[1], *entries[3:]),
                    (*entries, entries[3])):
        assert not verify_seal(replace(SEALED, seal=r.Seal(entries=changed))).intact


def test_a_chain_that_was_cut_short_leaves_evidence_outside():
    """The last links taken off fit among themselves; what they sealed is then not in the seal."""
    check = verify_seal(replace(SEALED, seal=r.Seal(entries=SEALED.seal.entries[:-1])))
    assert not check.intact
    assert check.reason == "Report r1 is not in the seal: it was put in without being entered."


def test_evidence_put_in_beside_the_chain_is_reported():
    """Also where it takes the name of a link."""
    new = r.VoltageStep(id="s9", red="B+", reading="12.6 V")
    check = verify_seal(replace(SEALED, steps=(*SEALED.steps, new)))
    assert (check.intact, check.first_broken) == (False, None)
    assert "Step s9 is not in the seal" in check.reason
    double = verify_seal(replace(SEALED, steps=(replace(new, id="s1"), *SEALED.steps)))
    assert not double.intact
    assert "Step s1 is in the job twice" in double.reason


def extended(job, kind, id_, body, **inside):
    previous = job.seal.entries[-1].fingerprint
    entry = r.SealEntry(kind=kind, id=id_, fingerprint=fingerprint(previous, kind, body), **inside)
    return replace(job, seal=r.Seal(entries=(*job.seal.entries, entry)))


def test_an_earlier_circuit_stands_inside_its_link_and_the_current_one_in_the_job():
    """A circuit that was changed is a further link; both are verified, and neither can be exchanged."""
    old = SEALED.circuits[0]
    new = replace(old, title="with the strap")
    entries = tuple(replace(entry, circuit=old) if entry.kind == "circuit" else entry for entry in SEALED.seal.entries)
    job = extended(replace(SEALED, circuits=(new,), seal=r.Seal(entries=entries)), "circuit", "start", new)
    assert verify_seal(job).intact
    assert verify_seal(read_job(write_job(job), "a.job.json")).intact
    assert verify_seal(replace(job, circuits=(old,))).index == len(job.seal.entries) - 1
    forged = tuple(replace(entry, circuit=new) if entry.circuit else entry for entry in job.seal.entries)
    assert verify_seal(replace(job, seal=r.Seal(entries=forged))).index == 2


def test_a_circuit_that_was_changed_without_a_link_is_reported():
    """Its last link carries another text."""
    entries = tuple(replace(entry, circuit=SEALED.circuits[0]) if entry.kind == "circuit" else entry
                    for entry in SEALED.seal.entries)
    check = verify_seal(replace(SEALED, circuits=(r.Circuit(id="start"),), seal=r.Seal(entries=entries)))
    assert not check.intact
    assert check.reason == "Circuit start differs from what was sealed last: it was changed without being entered."


def test_an_intake_that_was_written_on_is_intact_but_not_sealed():
    """It is sealed before the next evidence; until then the seal says what it does not hold."""
    intake = r.Intake(vehicle=SEALED.vehicle, complaints=SEALED.complaints, fault_codes=SEALED.fault_codes)
    entries = (replace(SEALED.seal.entries[0], intake=intake), *SEALED.seal.entries[1:])
    job = replace(SEALED, vehicle=r.Vehicle(registration="XX31 ABC", model="Merle"), seal=r.Seal(entries=entries))
    assert verify_seal(job).intact
    assert verify_seal(job).unsealed == ("intake",)
    assert verify_seal(SEALED).unsealed == ()


def test_a_link_that_carries_the_text_of_something_else_is_broken():
    """A circuit inside a step's link would hide the step."""
    entries = tuple(replace(entry, circuit=SEALED.circuits[0]) if entry.id == "s1" else entry
                    for entry in SEALED.seal.entries)
    check = verify_seal(replace(SEALED, seal=r.Seal(entries=entries)))
    assert (check.intact, check.index) == (False, 3)
    assert "carries the text of something else" in check.reason


def test_what_is_weighed_beside_the_evidence_may_be_changed_under_the_seal():
    """Suspects written by hand and what was said about access are opinions that move: neither is a link."""
    suspect = r.HandSuspect(id="h1", name="worn hub", bearings=(r.Bearing(step="s1", says="clears"),))
    said = r.Access(id="a1", circuit="start", test="current", state="not available")
    job = replace(SEALED, suspects=(suspect,), access=(said,))
    assert verify_seal(job).intact
    assert seal_job(replace(job, seal=None)).seal == seal_job(replace(SEALED, seal=None)).seal


def test_a_job_without_seal_is_not_intact_and_says_why():
    """No seal is no proof."""
    check = verify_seal(EVIDENCE)
    assert (check.intact, check.reason, check.last) == (False, "The job has no seal.", "")
    empty = verify_seal(replace(EVIDENCE, seal=r.Seal()))
    assert not empty.intact


def test_a_seal_is_never_made_anew():
    """Else whoever changed something could seal it again by asking."""
    tampered = _with("steps", 0, reading="0.48 V")
    assert seal_job(tampered) is tampered


def test_a_photo_is_sealed_by_its_fingerprint_so_its_bytes_may_lie_elsewhere():
    """The book keeps them beside the database, the report on its pages."""
    assert verify_seal(_with("photos", 0, data=None)).intact


def test_the_printed_form():
    """Sixteen digits in fours can be read out on the telephone."""
    assert short("0123456789abcdef" * 4) == "0123 4567 89ab cdef"
    assert short("") == ""


FULL = "0123456789abcdef" * 4


@pytest.mark.parametrize(("typed", "digits"), [
    (FULL, FULL), (grouped(FULL), FULL), (FULL.upper(), FULL), ("0123 4567 89ab cdef", FULL[:16]),
    ("0123-4567-89AB-CDEF", FULL[:16]), ("Fingerprint 0123 4567 89ab cdef", FULL[:16]),
    (" 0123456789abcdef\n", FULL[:16]), ("o123 4567 89ab cdef", FULL[:16]), ("0l23 4567 89ab cdef", FULL[:16]),
    (f"Workshop Log report\nJob 2031-0007\nIssued 3 April 2031, 16:40\nFingerprint {grouped(FULL)}", FULL),
    (f"In full: {grouped(FULL)[:40]}\n{grouped(FULL)[40:]}", FULL)])
def test_a_fingerprint_is_read_as_people_copy_it(typed, digits):
    """With or without spaces, in capitals, over two lines, with the words around it; letters for digits."""
    assert read_fingerprint(typed) == digits


@pytest.mark.parametrize(("typed", "said"), [
    ("", "this has 0"), ("0123 4567 89ab cde", "this has 15"), (FULL[:-1], "this has 63"), (FULL + "0", "this has 65"),
    ("0123 4567 89ab cdeg", "“g” does not occur"), ("2031/0007", "“/” does not occur")])
def test_what_is_no_fingerprint_is_said(typed, said):
    """One sentence with what to do."""
    with pytest.raises(FingerprintError, match=said) as told:
        read_fingerprint(typed)
    assert str(told.value).endswith("Compare it with the paper again.")


@given(full=st.text("0123456789abcdef", min_size=64, max_size=64), spaces=st.booleans(), is_short=st.booleans())
def test_what_is_printed_can_be_typed(full, spaces, is_short):
    """Both printed forms read back, whatever their digits are."""
    printed = short(full) if is_short else grouped(full)
    assert read_fingerprint(printed if spaces else printed.replace(" ", "")) == full[:16 if is_short else 64]
