"""Two accounts of one job: whatever was done to one of them, the first entry that differs is named."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from exchange.strategies import jobs
from exchange.test_seal import EVIDENCE, SEALED, TIMES
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from workshop_log.exchange import records as r
from workshop_log.exchange.comparing import FieldDifference, field_differences, first_difference
from workshop_log.exchange.reading import JobFileError, read_job
from workshop_log.exchange.records import FORMAT, VERSION
from workshop_log.exchange.seal import fingerprint, links_of, seal_job, verify_seal
from workshop_log.exchange.writing import canonical_json, plain, write_job

LINKS = links_of(SEALED)
CANONICAL = canonical_json({"format": FORMAT, "version": VERSION} | plain(replace(SEALED, photos=tuple(
    replace(photo, data=None) for photo in SEALED.photos))))


def evidence_places() -> list[int]:
    """Return every place in the canonical file where a byte of evidence or of the seal stands."""
    texts = [canonical_json(replace(body, data=None) if isinstance(body, r.Photo) else body) for _, body in LINKS[1:]]
    # The intake has no text of its own: its three parts stand apart.
    texts += [canonical_json(SEALED.vehicle), canonical_json(SEALED.complaints), canonical_json(SEALED.fault_codes),
              canonical_json(SEALED.seal)]
    places = []
    for text in texts:
        begin = CANONICAL.index(text)
        places += range(begin, begin + len(text))
    return places


PLACES = evidence_places()


def texts_of(job: r.Job) -> list[bytes]:
    return [canonical_json({"entry": entry, "body": body}) for entry, body in links_of(job)]


def is_found(changed: bytes) -> bool:
    """Return whether a changed file is refused, or its seal names an entry or a piece of evidence."""
    try:
        job = read_job(changed, "a.job.json")
    except JobFileError:
        return True
    check = verify_seal(job)
    if not check.intact:
        assert check.first_broken is not None or check.reason.split()[0] in (
            "Instrument", "Circuit", "Step", "Condemned", "Approval", "Photo", "Report", "The")
        return True
    # A small letter in a time, say: what was read is to the last byte what was sealed.
    assert texts_of(job) == texts_of(read_job(CANONICAL, "a.job.json"))
    return False


def test_every_byte_of_the_evidence_counts():
    """Each byte with its lowest bit turned: nothing of it reads as intact evidence with another meaning."""
    assert len(PLACES) > 1500
    unnoticed = [place for place in PLACES
                 if not is_found(CANONICAL[:place] + bytes([CANONICAL[place] ^ 1]) + CANONICAL[place + 1:])]
    assert unnoticed == []


@settings(max_examples=400, deadline=None)
@given(place=st.sampled_from(PLACES), byte=st.integers(0, 255))
def test_no_byte_of_the_evidence_can_be_changed_unnoticed(place, byte):
    """Any byte in place of any other: refused, or the seal says where, or not one letter of the evidence differs."""
    assume(CANONICAL[place] != byte)
    is_found(CANONICAL[:place] + bytes([byte]) + CANONICAL[place + 1:])


# --- a forger who makes the chain anew ------------------------------------------------------------------------------


def chained(links: list[tuple[r.SealEntry, r.Record]]) -> r.Seal:
    """Make a chain over these entries that fits, as somebody does who knows how it is made."""
    previous, entries = "", []
    for entry, body in links:
        previous = fingerprint(previous, entry.kind, body)
        entries.append(replace(entry, fingerprint=previous))
    return r.Seal(entries=tuple(entries))


def forged(links: list[tuple[r.SealEntry, r.Record]]) -> r.Job:
    """Return the job with only these entries, sealed anew."""
    lists = {"instrument": "instruments", "circuit": "circuits", "step": "steps", "condemned": "condemned",
             "approval": "approvals", "photo": "photos", "report": "reports"}
    kept = {name: tuple(body for entry, body in links if entry.kind == kind) for kind, name in lists.items()}
    return replace(SEALED, **kept, seal=chained(links))


def test_a_forgery_that_changes_nothing_is_the_same():
    """The forger's tools are sound: without a change they give the job itself, byte for byte."""
    assert write_job(forged(LINKS)) == write_job(SEALED)
    assert first_difference(SEALED, SEALED) is None


@pytest.mark.parametrize("place", range(1, len(LINKS)))
def test_an_entry_that_was_taken_out_is_named(place):
    """The chain fits again, but not the book: the entry that is missing is the first that differs."""
    job = forged(LINKS[:place] + LINKS[place + 1:])
    assert verify_seal(job).intact
    found = first_difference(job, SEALED)
    if place == len(LINKS) - 1:
        # Cut off at the end it is an earlier state of the job: the fingerprint differs, nothing before it.
        assert found is None
        assert job.seal.entries[-1].fingerprint != SEALED.seal.entries[-1].fingerprint
    else:
        assert (found.index, found.there) == (place, LINKS[place])
        assert not found.is_known_here
        assert found.is_known_there


@settings(max_examples=60, deadline=None)
@given(places=st.lists(st.integers(1, len(LINKS) - 1), min_size=2, max_size=2, unique=True))
def test_entries_that_changed_places_are_named(places):
    """Swapped and sealed anew: the first of the two places differs, and both entries are known."""
    one, other = sorted(places)
    links = list(LINKS)
    links[one], links[other] = links[other], links[one]
    found = first_difference(forged(links), SEALED)
    assert found.index == one
    assert (found.is_known_here, found.is_known_there) == (True, True)
    assert found.fields == ()


@settings(max_examples=40, deadline=None)
@given(place=st.integers(1, len(LINKS)))
def test_an_entry_that_was_put_in_is_named(place):
    """Also at the end, where the book has nothing to hold against it."""
    new = r.VoltageStep(id="s9", at=TIMES[9], red="B+", reading="12.6 V")
    link = r.SealEntry(kind="step", id="s9", fingerprint="0" * 64), new
    job = forged([*LINKS[:place], link, *LINKS[place:]])
    assert verify_seal(job).intact
    found = first_difference(job, SEALED)
    assert found.index == place
    assert found.here[1] == new
    assert not found.is_known_there
    assert (found.there is None) == (place == len(LINKS))


@pytest.mark.parametrize("place", [place for place, (entry, _) in enumerate(LINKS) if entry.kind == "step"])
def test_an_entry_that_was_doubled_is_found(place):
    """A second time in the chain it breaks the seal, and against the book it is the first that differs."""
    job = forged([*LINKS[:place + 1], LINKS[place], *LINKS[place + 1:]])
    assert not verify_seal(job).intact
    assert first_difference(job, SEALED).index == place + 1


@pytest.mark.parametrize(("changes", "fields"), [
    ({"reading": "0.48 V"}, [FieldDifference("reading", "0.48 V", "0.84 V")]),
    ({"at": TIMES[30]}, [FieldDifference("at", "2031-04-02T08:30:00Z", "2031-04-02T08:01:00Z")]),
    ({"note": "by ear"}, [FieldDifference("note", "by ear", "")]),
    ({"expected": r.Expected(high="1 V")}, [FieldDifference("expected", '{"high": "1 V"}', "")]),
    ({"setup": "", "proved": True},
     [FieldDifference("proved", "true", ""), FieldDifference("setup", "", "cranking")]),
])
def test_the_fields_that_differ_are_told_with_both_texts(changes, fields):
    """Field, what is here, what is there; a changed reading is what a person wants to see."""
    links = [(entry, replace(body, **changes) if entry.id == "s1" else body) for entry, body in LINKS]
    found = first_difference(forged(links), SEALED)
    assert found.index == 3
    assert list(found.fields) == fields


def test_a_part_of_a_circuit_is_named_by_its_id():
    """Not “elements differ” with two pages of both."""
    circuit = SEALED.circuits[0]
    battery = circuit.elements[0]
    changed = replace(circuit, elements=(replace(battery, voltage="12.9 V"), replace(battery, id="W1", kind="wire")))
    assert list(field_differences(changed, circuit)) == [
        FieldDifference("elements/battery/voltage", "12.9 V", "12.6 V"),
        FieldDifference("elements/W1", '{"id": "W1", "kind": "wire", "between": ["B+", "B-"], "voltage": "12.6 V"}',
                        "")]
    turned = replace(changed, elements=changed.elements[::-1])
    assert list(field_differences(turned, changed)) == [
        FieldDifference("elements", '["W1", "battery"]', '["battery", "W1"]')]


def test_a_photos_bytes_may_be_missing_on_one_side():
    """Its fingerprint stands for them."""
    assert first_difference(replace(SEALED, photos=(replace(SEALED.photos[0], data=None),)), SEALED) is None


@settings(max_examples=60, deadline=None)
@given(job=jobs(), day=st.integers(1, 28))
def test_any_job_is_the_beginning_of_itself_grown_on(job, day):
    """A report stays true while its job goes on; the other way round the book lacks an entry."""
    sealed = seal_job(job)
    step = r.VoltageStep(id="s99", at=datetime(2031, 5, day, tzinfo=UTC), red="B+", reading="12.6 V")
    last = sealed.seal.entries[-1].fingerprint if sealed.seal.entries else ""
    entry = r.SealEntry(kind="step", id="s99", fingerprint=fingerprint(last, "step", step))
    grown = replace(sealed, steps=(*sealed.steps, step), seal=r.Seal(entries=(*sealed.seal.entries, entry)))
    assert first_difference(sealed, grown) is None
    found = first_difference(grown, sealed)
    assert (found.index, found.there) == (len(sealed.seal.entries), None)


def test_another_job_differs_from_its_first_entry_on():
    """Two workshops may use one number."""
    other = seal_job(replace(EVIDENCE, vehicle=r.Vehicle(registration="ZZ99 ZZZ"),
                             approvals=(replace(EVIDENCE.approvals[0], up_to=Decimal(5)),)))
    found = first_difference(other, SEALED)
    assert found.index == 0
    assert found.fields == (FieldDifference("vehicle/registration", "ZZ99 ZZZ", "XX31 ABC"),)
