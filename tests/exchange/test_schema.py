"""The published schema is the code's, and outside validators agree with the reader on structure."""

from __future__ import annotations

import copy
import json

import jsonschema
import pytest
from exchange.strategies import jobs
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop_log import resources
from workshop_log.exchange.reading import JobFileError, read_job
from workshop_log.exchange.schema import FILE, job_schema, schema_text
from workshop_log.exchange.writing import write_job

SCHEMA = job_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
STEP = {"kind": "voltage", "id": "s1", "red": "B+", "reading": "12.4 V"}
# The example of the file's description, shortened: every kind of thing once.
SAMPLE = {
    "format": "workshop-log/job", "version": 1, "number": "2031-0007", "opened": "2031-04-02T08:35:00+01:00",
    "workshop": {"name": "Mill Lane Vehicle Electrics", "currency": "GBP", "labour_rate": "64.00"},
    "vehicle": {"registration": "XX31 ABC", "year": 2027, "odometer": "61250 mi", "systems": ["pyrotechnic"]},
    "complaints": [{"id": "c1", "words": "Cranks slowly", "appears": "always", "confirmed": True}],
    "fault_codes": [{"code": "B1234-11", "state": "stored"}],
    "instruments": [{"id": "lamp", "kind": "test lamp", "voltage": "12 V", "current": "0.4 A"},
                    {"id": "meter", "kind": "multimeter", "ranges": [
                        {"quantity": "voltage", "up_to": "60 V", "percent": 0.5, "resolution": "0.01 V"}]}],
    "circuits": [{"id": "feed", "elements": [
        {"id": "battery", "kind": "battery", "between": ["B+", "B-"], "voltage": "12.6 V", "resistance": "12 mohm"},
        {"id": "M1", "kind": "motor", "between": ["B+", "B-"], "current": "6 A", "at": "12 V"}],
        "setups": [{"id": "running", "on": ["M1"]}]}],
    "steps": [STEP | {"circuit": "feed", "setup": "running", "instrument": "meter", "minutes": 3,
                      "expected": {"low": "11.9 V", "source": "own list"}},
              {"kind": "movement", "id": "s2", "elements": ["M1"], "watching": {"kind": "current", "through": "M1"},
               "trials": 10, "shown": 3}],
    "suspects": [{"id": "h1", "name": "worn hub", "weight": 2.0,
                  "bearings": [{"step": "s2", "says": "clears", "strength": "fair"}]}],
    "access": [{"id": "a1", "circuit": "feed", "element": "M1", "state": "cannot be reached"},
               {"id": "a2", "circuit": "feed", "test": "current", "state": "not available"}],
    "condemned": [{"id": "k1", "part": "motor", "steps": ["s1"], "price": "86.00", "circuit": "feed", "element": "M1",
                   "together": ["M1"], "probability_right": 0.95}],
    "approvals": [{"id": "a1", "at": "2031-04-02T09:35:00+01:00", "by": "A. Sample", "up_to": "250.00"}],
    "clock": [{"id": "t1", "person": "R. Sample", "start": "2031-04-02T08:40:00+01:00"}],
    "parts": [{"id": "p1", "name": "motor", "quantity": "1", "price": "86.00"}],
}


def changed(path, value):
    """Return the sample with one value put at a path; `...` takes the key away."""
    document = copy.deepcopy(SAMPLE)
    place = document
    for key in path[:-1]:
        place = place[key]
    if value is ...:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return document


def test_the_published_schema_is_the_one_that_the_code_makes():
    """`python -m workshop_log.exchange.schema` was run after the last change of the records."""
    assert resources.path(FILE).read_text(encoding="utf-8") == schema_text()


def test_the_schema_is_a_schema():
    """The meta-schema of its dialect accepts it."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert VALIDATOR.is_valid(SAMPLE)
    read_job(json.dumps(SAMPLE).encode(), "sample.job.json")


@settings(max_examples=40, deadline=None)
@given(job=jobs())
def test_every_file_that_is_written_fits_the_schema(job):
    """Other programs may rest on it."""
    VALIDATOR.validate(json.loads(write_job(job)))


@pytest.mark.parametrize(("path", "value"), [
    (("stepz",), []),
    (("version",), 2),
    (("format",), "other"),
    (("number",), 7),
    (("number",), None),
    (("steps",), {}),
    (("steps", 0, "kind"), "volt"),
    (("steps", 0, "kind"), ...),
    (("steps", 0, "reading"), ...),
    (("steps", 0, "readng"), "1 V"),
    (("steps", 0, "probe"), "B+"),
    (("steps", 0, "minutes"), -1),
    (("steps", 0, "minutes"), "3"),
    (("steps", 0, "expected", "middle"), "12 V"),
    (("steps", 1, "trials"), 0),
    (("steps", 1, "watching", "kind"), "look"),
    (("steps", 1, "watching", "reading"), "1 A"),
    (("circuits", 0, "elements", 0, "kind"), "accumulator"),
    (("circuits", 0, "elements", 0, "between"), ["B+"]),
    (("circuits", 0, "elements", 0, "between"), ["B+", "B-", "C"]),
    (("circuits", 0, "elements", 0, "faults"), ["broken"]),
    (("instruments", 1, "ranges", 0, "quantity"), "weight"),
    (("instruments", 1, "ranges", 0, "percent"), 101),
    (("complaints", 0, "id"), ""),
    (("complaints", 0, "appears"), "sometimes"),
    (("complaints", 0, "confirmed"), 1),
    (("workshop", "currency"), "pounds"),
    (("workshop", "labour_rate"), "sixty"),
    (("workshop", "labour_rate"), "1E9"),
    (("workshop", "labour_rate"), "NaN"),
    (("workshop", "labour_rate"), "0.1234567"),
    (("condemned", 0, "price"), []),
    (("condemned", 0, "probability_right"), 1.01),
    (("condemned", 0, "together"), "M1"),
    (("suspects", 0, "weight"), 0),
    (("suspects", 0, "weight"), 1001),
    (("suspects", 0, "name"), ...),
    (("suspects", 0, "wieght"), 2),
    (("suspects", 0, "bearings", 0, "says"), "hints"),
    (("suspects", 0, "bearings", 0, "strength"), "certain"),
    (("suspects", 0, "bearings", 0, "steps"), ["s1"]),
    (("access", 0, "state"), "hard to reach"),
    (("access", 0, "circuit"), ...),
    (("access", 0, "why"), "seized"),
    (("access", 1, "test"), "observe"),
    (("vehicle", "year"), 1492),
    (("vehicle", "systems"), ["gas"]),
    (("photos",), [{"id": "f1", "sha256": "00"}]),
    (("clock", 0, "start"), ...),
])
def test_schema_and_reader_refuse_the_same_structure(path, value):
    """A file that a validator passes is not refused later for its structure, nor the other way round."""
    document = changed(path, value)
    assert not VALIDATOR.is_valid(document)
    with pytest.raises(JobFileError):
        read_job(json.dumps(document).encode(), "sample.job.json")


def places(node, path=()):
    if isinstance(node, dict):
        for key, value in node.items():
            yield (*path, key)
            yield from places(value, (*path, key))
    elif isinstance(node, list):
        for index, value in enumerate(node):
            yield from places(value, (*path, index))


@settings(max_examples=200, deadline=None)
@given(path=st.sampled_from(list(places(SAMPLE))),
       value=st.sampled_from([..., None, 5, 1.5, "", "x", "12 V", "5", True, [], ["B+", "B-"], {}, {"id": "x"}]))
def test_what_the_reader_takes_the_schema_takes(path, value):
    """Any one value of the sample exchanged or taken away: what is read is also valid."""
    document = changed(path, value)
    try:
        read_job(json.dumps(document).encode(), "sample.job.json")
    except JobFileError:
        return
    VALIDATOR.validate(document)
