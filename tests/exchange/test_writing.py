"""The job file is written without loss, and the canonical JSON is what its docstring says."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

from exchange.strategies import jobs
from hypothesis import given, settings

from workshop_log.exchange.checking import check_job
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.records import Customer, InstrumentRange, Job, TimeLine, VoltageStep, Workshop
from workshop_log.exchange.writing import canonical_json, write_job


@settings(max_examples=80, deadline=None)
@given(job=jobs())
def test_a_job_read_back_is_the_job_that_was_written(job):
    """Nothing is lost, and writing again gives the same bytes."""
    written = write_job(job)
    assert read_job(written, "a.job.json") == job
    assert write_job(read_job(written, "a.job.json")) == written


@settings(max_examples=80, deadline=None)
@given(job=jobs())
def test_the_random_jobs_are_true_records(job):
    """The strategy that other tests rest on gives no job that a file could not hold."""
    assert not [finding for finding in check_job(job) if finding.severity == "error"]


@settings(max_examples=40, deadline=None)
@given(job=jobs())
def test_canonical_json_is_the_written_file_with_sorted_keys_and_no_space(job):
    """A second way, with the standard library only, gives the same bytes from the file's text."""
    again = json.loads(write_job(job))
    del again["format"], again["version"]
    assert canonical_json(job) == json.dumps(again, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def test_format_and_version_stand_first_and_the_file_ends_with_a_line_end():
    """Whoever opens the file sees first what it is."""
    lines = write_job(Job(number="2031-0007")).decode().splitlines(keepends=True)
    assert lines[1].strip() == '"format": "workshop-log/job",'
    assert lines[2].strip() == '"version": 1,'
    assert lines[-1] == "}\n"


def test_canonical_json_by_hand():
    """Keys sorted, defaults out, text as itself, the tag among the keys, a float with its point."""
    step = VoltageStep(id="s1", red="µ", reading="12.60 V", minutes=5.0, after_repair=False, black="B-",
                       at=datetime(2031, 4, 2, 8, 35, tzinfo=timezone(timedelta(hours=1))))
    assert canonical_json(step).decode() == (
        '{"at":"2031-04-02T08:35:00+01:00","id":"s1","kind":"voltage","minutes":5.0,"reading":"12.60 V","red":"µ"}')


def test_equal_values_give_the_same_bytes_however_they_came_about():
    """A default that was given explicitly is left out like one that was not, and money keeps its digits."""
    given_explicitly = Job(customer=Customer(name=""), workshop=Workshop(tax_rate=Decimal("0"), currency="GBP"))
    assert canonical_json(given_explicitly) == canonical_json(Job()) == b"{}"
    assert b'"labour_rate":"64.00"' in canonical_json(Workshop(labour_rate=Decimal("64.00")))


def test_times_keep_their_offset():
    """Half past eight in another zone is another thing said, though the same moment; UTC is written Z."""
    moment = datetime(2031, 4, 2, 8, 0, tzinfo=UTC)
    line = TimeLine(id="t1", person="A", start=moment, end=moment.astimezone(timezone(timedelta(hours=2))))
    document = json.loads(canonical_json(line))
    assert (document["start"], document["end"]) == ("2031-04-02T08:00:00Z", "2031-04-02T10:00:00+02:00")


def test_a_whole_number_in_a_place_for_fractions_has_the_fingerprint_of_its_float() -> None:
    """`counts=2` from code and `2.0` from a file are the same record: the seal must not tell them apart."""
    built = InstrumentRange(quantity="voltage", up_to="60 V", percent=1, counts=2, resolution="0.01 V")
    read = InstrumentRange(quantity="voltage", up_to="60 V", percent=1.0, counts=2.0, resolution="0.01 V")
    assert canonical_json(built) == canonical_json(read)
