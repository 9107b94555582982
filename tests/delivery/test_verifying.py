"""A report that came back: whatever was changed in it is found and named, each check with its own result."""

from __future__ import annotations

import io
import re
import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pikepdf
import pytest
from delivery.returned import (
    ISSUED,
    SAMPLE,
    altered,
    attached_to,
    changed,
    doubled,
    drawn,
    exchanged,
    put_in,
    taken_out,
    with_job_file,
)
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from workshop_log.book.jobs import load_job
from workshop_log.book.opening import Book, open_book
from workshop_log.delivery.findings import Findings, Result
from workshop_log.delivery.verifying import verify_file, verify_job_file, verify_report, verify_stored
from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.reading import JobFileError, read_job
from workshop_log.exchange.records import Job
from workshop_log.exchange.seal import FingerprintError, grouped, links_of, seal_job, short
from workshop_log.exchange.writing import write_job
from workshop_log.jobs.handing import issue_report
from workshop_log.jobs.intake import edit, take_in
from workshop_log.jobs.transfer import import_job
from workshop_log.paper.attached import NoJobFileError

WHOLE, DIFFERS, UNCHECKED = Result


def results(found: Findings) -> dict[str, Result]:
    return {check.what: check.result for check in found.checks}


def words(found: Findings, what: str) -> str:
    return next(check.words for check in found.checks if check.what == what)


def resealed(data: bytes) -> bytes:
    """Return a job file whose chain was made anew over whatever it says now."""
    return write_job(seal_job(replace(read_job(data, "forged"), seal=None)))


@pytest.fixture(scope="module")
def job() -> Job:
    """Return a sealed job."""
    return seal_job(read_job(SAMPLE.read_bytes(), SAMPLE.name))


@pytest.fixture(scope="module")
def pdf(job: Job) -> bytes:
    """Return its report."""
    return drawn(job)


@pytest.fixture(scope="module")
def attached(pdf: bytes) -> tuple[str, bytes]:
    """Return name and bytes of the job file in the report."""
    return attached_to(pdf)


@pytest.fixture(scope="module")
def kept(job: Job, pdf: bytes, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a book that handed the report over, once."""
    path = tmp_path_factory.mktemp("kept") / "book.db"
    made = open_book(path)
    import_job(made, job, ISSUED)
    issue_report(made, job.number, pdf, "customer", ISSUED)
    made.close()
    return path


@pytest.fixture
def book(kept: Path, tmp_path: Path) -> Iterator[Book]:
    """Open a copy of that book."""
    folder = tmp_path / "book"
    shutil.copytree(kept.parent, folder)
    opened = open_book(folder / "book.db")
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def forged(attached: tuple[str, bytes]) -> bytes:
    """Return the job file with one reading changed, its chain left as it was."""
    changed = re.sub(rb'"reading": "[^"]+ V"', b'"reading": "9.99 V"', attached[1], count=1)
    assert changed != attached[1]
    return changed


# --- nothing was changed --------------------------------------------------------------------------------------------


def test_a_report_as_it_was_handed_over_is_whole_in_every_respect(pdf, book, job):
    """With the book and the paper at hand, every check ends well."""
    found = verify_report(pdf, book, short(job.seal.entries[-1].fingerprint))
    assert set(results(found).values()) == {WHOLE}
    assert list(results(found)) == ["Evidence", "Fingerprint in the file", "Fingerprint on the pages",
                                    "Fingerprint as typed", "The book", "The file as a whole"]
    assert found.is_whole
    assert found.headline == f"The seal is intact: {short(job.seal.entries[-1].fingerprint)}"
    assert "handed over on 3\u00a0April 2031, 16:40, for the customer" in words(found, "The file as a whole")
    # The hand-over itself is evidence, and came after.
    assert words(found, "The book").endswith("Since then came 1 report.")


def test_without_the_book_what_cannot_be_checked_is_said(pdf):
    """The evidence is whole; the pages are nobody's word."""
    found = verify_report(pdf)
    assert found.is_whole
    assert {what for what, result in results(found).items() if result is UNCHECKED} == {"The book",
                                                                                        "The file as a whole"}
    assert "no book at hand" in words(found, "The book")


@pytest.mark.parametrize("reader", ["customer", "expert"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_each_kind_of_report_has_its_fingerprint_on_every_page(job, reader, paper):
    """Printed text is read back from the pages, whatever the sheet."""
    found = verify_report(drawn(job, reader=reader, paper=paper))
    assert results(found)["Fingerprint on the pages"] is WHOLE
    assert re.search(r"all \d+ pages", words(found, "Fingerprint on the pages"))


def test_a_job_file_and_a_job_of_the_book_are_checked_alike(job, book, tmp_path):
    """The same evidence in three forms."""
    path = tmp_path / "a.job.json"
    path.write_bytes(write_job(job))
    last = job.seal.entries[-1].fingerprint
    of_file, of_job = verify_file(path, book, last), verify_stored(book, job.number, last)
    assert of_file.is_whole
    assert of_job.is_whole
    assert results(of_file) == {"Evidence": WHOLE, "Fingerprint as typed": WHOLE, "The book": WHOLE}
    # The hand-over was entered since: the paper is of an earlier day, and still true.
    assert "the paper is of an earlier day. Since then came 1 report." in words(of_job, "Fingerprint as typed")


# --- the evidence was changed ---------------------------------------------------------------------------------------


def test_a_changed_reading_is_named_by_the_seal_and_with_both_texts_by_the_book(pdf, forged, book):
    """What, when, which field, here and there."""
    found = verify_report(with_job_file(pdf, forged), book)
    assert not found.is_whole
    assert found.headline == "This report is not as it was sealed."
    assert re.search(r"entry \d+ of \d+, test \d+ \(Voltage: .*, \d+\u00a0\w+ 2031, \d\d:\d\d\): it is not what was "
                     r"sealed: .* It now says “9.99 V”.", words(found, "Evidence"))
    assert re.search(r"test \d+ \(.*\): reading: “9.99 V” in this report, “[^”]+ V” in the book\.$",
                     words(found, "The book"))


def test_a_chain_made_anew_is_found_wherever_the_old_fingerprint_stands(pdf, forged, book, job):
    """Whole in itself; not in the properties, on the pages, on paper, in the book."""
    found = verify_report(with_job_file(pdf, resealed(forged)), book, grouped(job.seal.entries[-1].fingerprint))
    assert results(found)["Evidence"] is WHOLE
    assert [check.what for check in found.differing] == ["Fingerprint in the file", "Fingerprint on the pages",
                                                         "Fingerprint as typed", "The book", "The file as a whole"]
    assert "does not agree" in found.headline


def test_a_report_drawn_anew_from_forged_evidence_is_found_by_paper_and_by_book_alone(forged, book, job):
    """The best forgery: this program's own report of another job. Alone it is whole, as it must be."""
    forgery = drawn(read_job(resealed(forged), "forged"))
    assert verify_report(forgery).is_whole
    by_paper = verify_report(forgery, None, short(job.seal.entries[-1].fingerprint))
    assert [check.what for check in by_paper.differing] == ["Fingerprint as typed"]
    by_book = verify_report(forgery, book)
    assert [check.what for check in by_book.differing] == ["The book"]
    assert "“9.99 V” in this report" in words(by_book, "The book")


@settings(max_examples=80, deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(anywhere=st.integers(0, 10**6), byte=st.integers(0, 255))
def test_no_byte_of_the_attached_job_can_be_changed_unnoticed(pdf, attached, anywhere, byte):
    """Unreadable, or something differs, or it says so of the spelling; or it is no evidence: a name, a price."""
    original = attached[1]
    place = anywhere % len(original)
    assume(original[place] != byte)
    changed = original[:place] + bytes([byte]) + original[place + 1:]
    try:
        found = verify_report(with_job_file(pdf, changed))
    except WorkshopLogError as error:
        assert "\n" not in str(error)
        return
    if found.differing:
        assert not found.is_whole
        return
    same = links_of(read_job(changed, "changed")) == links_of(read_job(original, "original"))
    assert same
    assert "Spelling" in results(found) or read_job(changed, "changed") != read_job(original, "original")


@settings(max_examples=40, deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(place=st.integers(0, 100), forge=st.sampled_from([taken_out, exchanged, doubled, put_in, changed]))
def test_whatever_is_done_to_the_steps_and_sealed_anew_the_book_finds_it(pdf, job, book, place, forge):
    """Taken out, exchanged, doubled under another name, put in, changed: with a chain and properties that fit."""
    made = forge(job, place % (len(job.steps) - 1))
    assume(made.steps != job.steps)
    made = seal_job(replace(made, seal=None))
    try:
        found = verify_report(with_job_file(pdf, write_job(made), made.seal.entries[-1].fingerprint), book)
    except JobFileError as error:
        # Something still names the step that is gone.
        assert forge in (taken_out, exchanged), error
        return
    assert results(found)["Evidence"] is WHOLE
    assert results(found)["The book"] is DIFFERS
    assert re.search(r"the first entry that differs is entry \d+", words(found, "The book"))


def test_an_intake_slipped_in_behind_its_seal_is_found_by_the_book(pdf, attached, book):
    """Written on after the last entry it is not sealed yet: the report says so, and the book knows better."""
    job = read_job(attached[1], "a")
    entries = list(job.seal.entries)
    (body,) = [body for entry, body in links_of(job) if entry.kind == "intake"]
    entries[0] = replace(entries[0], intake=body)
    slipped = replace(job, vehicle=replace(job.vehicle, vin="ZZ9TRN4V7V9999999"),
                      seal=replace(job.seal, entries=tuple(entries)))
    found = verify_report(with_job_file(pdf, write_job(slipped)), book)
    assert results(found)["Vehicle and complaint"] is UNCHECKED
    assert results(found)["Vehicle and complaint in the book"] is DIFFERS
    assert "“ZZ9TRN4V7V9999999” in this report" in words(found, "Vehicle and complaint in the book")
    assert not found.is_whole


def test_an_intake_that_the_book_goes_on_with_is_no_difference(job, book):
    """A report may be drawn while the intake waits for its seal; afterwards the book has that text as well."""
    changed = edit(book, job.number, {"vehicle.odometer": "88888 km"})
    report = drawn(changed)
    found = verify_report(report, book)
    assert results(found)["Vehicle and complaint in the book"] is WHOLE
    issue_report(book, job.number, report, "customer", ISSUED)
    found = verify_report(report, book)
    assert results(found)["Vehicle and complaint in the book"] is WHOLE
    assert results(found)["The file as a whole"] is WHOLE


# --- the paper and the file -----------------------------------------------------------------------------------------


def test_a_handed_over_file_with_another_byte_is_found(pdf, book):
    """The evidence inside is whole; the file is not what was handed over."""
    found = verify_report(altered(pdf, lambda opened: opened.pages[0].Contents.write(
        opened.pages[0].Contents.read_bytes() + b" q 1 g 60 600 300 90 re f Q")), book)
    assert results(found)["Evidence"] is WHOLE
    assert results(found)["The file as a whole"] is DIFFERS
    assert "has other bytes" in words(found, "The file as a whole")
    assert not found.is_whole


def test_a_report_that_was_only_saved_is_not_called_changed(job, book):
    """Nobody handed it over, so nobody vouches for its pages; that is all."""
    found = verify_report(drawn(job, issued=ISSUED + timedelta(hours=2)), book)
    assert found.is_whole
    assert results(found)["The file as a whole"] is UNCHECKED


def test_a_file_that_was_attached_beside_the_job_is_named(pdf):
    """It may look like the job, to whoever opens it in a PDF reader."""
    found = verify_report(altered(pdf, lambda opened: opened.attachments.__setitem__(
        "job.json", pikepdf.AttachedFileSpec(opened, b"{}", filename="job.json"))))
    assert words(found, "Other attachments").startswith("job.json: no report has them")
    assert found.is_whole


def test_a_page_of_another_report_is_found(pdf, job, book):
    """A page put in from elsewhere carries another fingerprint, or none."""
    other = drawn(seal_job(replace(job, seal=None, vehicle=replace(job.vehicle, registration="ZZ99 ZZZ"))))
    with pikepdf.open(io.BytesIO(other)) as source:
        found = verify_report(altered(pdf, lambda opened: opened.pages.insert(1, source.pages[1])))
    assert results(found)["Fingerprint on the pages"] is DIFFERS
    assert words(found, "Fingerprint on the pages").startswith("page 2 says")
    blank = verify_report(altered(pdf, lambda opened: opened.add_blank_page()))
    assert "has none" in words(blank, "Fingerprint on the pages")


def test_a_note_may_name_another_reports_fingerprint(job):
    """What a person wrote is no seal."""
    said = replace(job, not_tested=("See the report with Fingerprint 0123 4567 89ab cdef.",))
    assert results(verify_report(drawn(said)))["Fingerprint on the pages"] is WHOLE


@pytest.mark.parametrize("typed", ["0000 0000 0000 0000", "0" * 64])
def test_another_fingerprint_on_paper_is_told(pdf, typed):
    """Both short forms stand side by side."""
    found = verify_report(pdf, None, typed)
    assert [check.what for check in found.differing] == ["Fingerprint as typed"]
    assert "0000 0000 0000 0000 was typed, the job has" in words(found, "Fingerprint as typed")
    assert not found.is_whole


def test_what_was_mistyped_is_said_before_anything_is_checked(pdf):
    """Fifteen digits are no answer."""
    with pytest.raises(FingerprintError, match="this has 15"):
        verify_report(pdf, None, "0123 4567 89ab cde")


def test_a_job_without_a_seal_is_not_whole(job):
    """A report of it neither; it says so and no more."""
    bare = replace(job, seal=None)
    found = verify_job_file(write_job(bare))
    assert (found.headline, found.is_whole) == ("The job has no seal.", False)
    of_report = verify_report(drawn(bare))
    assert (of_report.headline, of_report.is_whole) == ("The job has no seal.", False)


def test_a_job_in_which_nothing_was_entered_is_no_alarm(book):
    """A new job in the book has a chain without a link."""
    number = take_in(book, ISSUED).number
    found = verify_stored(book, number)
    assert (found.headline, found.is_whole) == ("Nothing is sealed yet.", True)
    with book.read() as session:
        report = drawn(load_job(session, number))
    assert verify_report(report, book).is_whole


# --- the book -------------------------------------------------------------------------------------------------------


def test_a_job_that_the_book_does_not_have_is_said(job, book):
    """Another number, or none: the book cannot speak for it."""
    for number in ("1999-0001", ""):
        found = verify_report(drawn(replace(job, number=number)), book)
        assert results(found)["The book"] is UNCHECKED
        assert found.is_whole


def test_another_workshops_job_of_the_same_number_is_explained(job, book):
    """The very first entry differs: there may be an innocent reason, which is told."""
    other = seal_job(replace(job, seal=None, vehicle=replace(job.vehicle, registration="ZZ99 ZZZ")))
    found = verify_report(drawn(other), book)
    assert "it may be another workshop's job of the same number" in words(found, "The book")


# --- what is no report ----------------------------------------------------------------------------------------------


def test_whatever_is_handed_in_ends_in_findings_or_in_one_sentence(pdf, tmp_path):
    """A missing file, a folder, a picture under a wrong name."""
    for path in (tmp_path / "none.pdf", tmp_path, tmp_path / "none.job.json"):
        with pytest.raises(WorkshopLogError) as told:
            verify_file(path)
        assert str(told.value).count("\n") == 0
    picture = tmp_path / "a.pdf"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(2000))
    with pytest.raises(NoJobFileError, match="a.pdf is no PDF"):
        verify_file(picture)
