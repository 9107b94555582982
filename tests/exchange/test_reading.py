"""Bad files are refused in one sentence with the place; what is odd but true is read."""

from __future__ import annotations

import hashlib
import json
import time
import tracemalloc

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop_log.exchange.reading import MAX_BYTES, JobFileError, check_job, read_job
from workshop_log.exchange.records import Job, Photo, VoltageStep
from workshop_log.exchange.writing import write_job

NAME = "a.job.json"
FEED = {"id": "feed", "elements": [
    {"id": "battery", "kind": "battery", "between": ["B+", "B-"], "voltage": "12.6 V"},
    {"id": "F7", "kind": "fuse", "between": ["B+", "F7.out"], "rating": "15 A"},
    {"id": "W1", "kind": "wire", "between": ["F7.out", "M1.1"], "length": "3.5 m", "section": "1.5 mm2"},
    {"id": "C3.2", "kind": "contact", "between": ["M1.1", "M1.1b"], "connector": "C3"},
    {"id": "M1", "kind": "motor", "between": ["M1.1b", "B-"], "current": "6 A", "at": "12 V"}],
    "setups": [{"id": "running", "on": [], "pulled": ["F7"], "unplugged": ["C3"], "disconnected": ["battery"]}]}
VOLTAGE = {"kind": "voltage", "id": "s1", "red": "F7.out", "black": "B-", "reading": "12.4 V"}


def as_bytes(document):
    return document if isinstance(document, bytes) else json.dumps(document).encode()


def refused(document):
    with pytest.raises(JobFileError) as caught:
        read_job(as_bytes(document), NAME)
    error = caught.value
    assert str(error).startswith(f"{NAME}: ")
    assert "\n" not in str(error)
    assert not str(error).endswith(" ")
    return error


def step(**changes):
    return {"circuits": [FEED], "steps": [VOLTAGE | {"circuit": "feed"} | changes]}


def element(**keys):
    return {"circuits": [FEED | {"elements": [*FEED["elements"], {"id": "X", "between": ["B+", "B-"]} | keys]}]}


def access(**keys):
    return {"circuits": [FEED], "access": [{"id": "a1", "circuit": "feed"} | keys]}


# --- the file as a whole --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("data", "words"), [
    (b"", "is empty"),
    (b" \n", "is empty"),
    (b"\xef\xbb\xbf", "is empty"),
    (b"\0" * 4096, "nothing but zero bytes"),
    ('{"number": "1"}'.encode("utf-16"), "UTF-16"),
    ('{"number": "1"}'.encode("utf-16-le"), "UTF-16"),
    ('{"number": "1"}'.encode("utf-16-be"), "UTF-16"),
    ('{"number": "1"}'.encode("utf-32"), "UTF-16 or UTF-32"),
    ('{"number":\n "Jürgen"}'.encode("latin-1"), "not UTF-8 (line 2, column 4)"),
    (b"{", "ends in the middle"),
    (b'{"number": "1', "ends in the middle"),
    (b'{"number": 1,}', "trailing comma in object, line 1, column 14"),
    (b'{\n"number" "1"}', "expected ':', line 2, column 10"),
    ('{"number": "ÖÄÜ" x}'.encode(), "line 1, column 18"),
    (b"{} {}", "trailing characters"),
    (b"[]", "one JSON object"),
    (b'"job"', "one JSON object"),
    (b'{"number": "a\x01"}', "a control character, line 1, column 14"),
    (b'{"number": "\\ud83d"}', "half of a character in line 1, column 13"),
    (b'{"number": "\\ude00"}', "half of a character"),
    (b'{"circuits": [{"id": "f", "elements": [{"weight": NaN}]}]}', "no number, line 1, column 51"),
    (b'{"circuits": [{"id": "f", "elements": [{"weight": Infinity}]}]}', "no number"),
    (b"[" * 200_000, "one JSON object"),
    (b'{"steps": ' + b"[" * 200_000, "nested too deep"),
    (b'{"a":' * 200_000, "nested too deep"),
    (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3", "not UTF-8"),
])
def test_what_is_no_job_file_is_refused_with_the_reason(data, words):
    """The message says what is wrong and where in the text, and has no path, for there are no keys to name yet."""
    error = refused(data)
    assert words in error.reason
    assert error.path == ""


def test_utf8_with_byte_order_mark_is_read():
    """Some editors put the mark there; it means nothing."""
    assert read_job(b'\xef\xbb\xbf{"number": "7"}', NAME).number == "7"


def test_a_file_over_the_limit_is_refused_before_it_is_parsed():
    """The size alone decides: the content here is not even JSON."""
    error = refused(b"x" * (MAX_BYTES + 1))
    assert "at most 200 MB" in error.reason


def test_an_invalid_character_beyond_the_first_megabyte_is_found_in_its_line():
    """Decoding in pieces does not lose the place, also where a character lies across two pieces."""
    filler = b"{\n" + "µ".encode() * 524_288 + b"\n"
    with pytest.raises(JobFileError, match=r"line 3, column 2"):
        read_job(filler + b"x\xff", NAME)


def test_a_surrogate_pair_written_as_escapes_is_one_character():
    """Only halves are refused, also where an escaped backslash stands before what looks like one."""
    assert read_job(rb'{"number": "\ud83d\ude00 \\ud83d"}', NAME).number == "😀 \\ud83d"


# --- keys and values ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("document", "path", "words"), [
    ({"stepz": []}, "", "unknown key “stepz”; did you mean “steps”?"),
    ({"format": "other/job"}, "format", "not a job file"),
    ({"version": 2}, "version", "version 2; this program reads version 1"),
    ({"version": True}, "version", "version True"),
    ({"steps": [VOLTAGE, VOLTAGE | {"id": "s2", "readng": "1 V"}]}, "steps[1]",
     "unknown key “readng”; did you mean “reading”?"),
    ({"steps": [{"kind": "lamp", "id": "s1", "reading": "1 V"}]}, "steps[0]", "a lamp step has no “reading”"),
    ({"steps": [{"kind": "voltage", "id": "s1", "red": "a"}]}, "steps[0]", "“reading” is missing"),
    ({"steps": [{"id": "s1"}]}, "steps[0]", "“kind” is missing"),
    ({"steps": [{"kind": "volts"}]}, "steps[0].kind", "did you mean “voltage”?"),
    ({"steps": [VOLTAGE | {"reading": 12.4}]}, "steps[0].reading", "text in quotation marks, not a number"),
    ({"steps": {}}, "steps", "a list in [ ], not an object"),
    ({"number": None}, "number", "leave the key out"),
    ({"opened": "2031-04-02T08:35:00"}, "opened", "the offset is missing"),
    ({"opened": "2031-02-30T08:35:00Z"}, "opened", "no time that exists"),
    ({"opened": "0001-01-01T00:00:00+14:00"}, "opened", "the year 1 is outside"),
    ({"opened": 5}, "opened", "a time, not a whole number"),
    ({"complaints": [{"id": "c1", "appears": "sometimes"}]}, "complaints[0].appears", "“always”, “comes and goes”"),
    ({"complaints": [{"id": ""}]}, "complaints[0].id", "may not be empty"),
    ({"number": "1" * 33}, "number", "at most 32"),
    ({"vehicle": {"year": 1492}}, "vehicle.year", "at least 1885"),
    ({"workshop": {"currency": "pounds"}}, "workshop.currency", "three capital letters"),
    ({"workshop": {"labour_rate": "NaN"}}, "workshop.labour_rate", "no amount"),
    ({"workshop": {"labour_rate": "Infinity"}}, "workshop.labour_rate", "no amount"),
    ({"workshop": {"labour_rate": "sixty"}}, "workshop.labour_rate", "decimal number in quotation marks"),
    ({"workshop": {"labour_rate": "1e999999"}}, "workshop.labour_rate", "more digits than an amount has"),
    ({"workshop": {"labour_rate": "-1.00"}}, "workshop.labour_rate", "is negative"),
    ({"parts": [{"id": "p1", "name": "strap", "price": "sNaN"}]}, "parts[0].price", "no amount"),
    ({"charges": [{"id": "x1", "what": "oil", "amount": "0.1234567"}]}, "charges[0].amount", "more digits"),
    ({"photos": [{"id": "f1", "sha256": "abc"}]}, "photos[0].sha256", "64 of the characters"),
    ({"photos": [{"id": "f1", "sha256": "0" * 64, "data": "#"}]}, "photos[0].data", "not base64"),
    ({"notes": [{"id": "n1", "at": "2031-04-02T08:35:00Z", "words": "a\0b"}]}, "notes[0].words", "U+0000"),
    ({"number": "a\x7fb"}, "number", "U+007F"),
    ({"number": "a\x1bb"}, "number", "U+001B"),
    ({"customer": {"name": "a\bb"}}, "customer.name", "U+0008"),
    ({"customer": {"name": "a\uffffb"}}, "customer.name", "U+FFFF"),
])
def test_a_wrong_key_or_value_is_refused_with_its_path(document, path, words):
    """The path is that of the file, so that a person finds the line; the sentence says what to do."""
    error = refused(document)
    assert error.path == path
    assert words in error.reason


def test_line_ends_and_tabs_are_text():
    """They are control characters by number only."""
    address = "1 Mill Lane\r\n\tTown"
    assert read_job(as_bytes({"customer": {"address": address}}), NAME).customer.address == address


@pytest.mark.parametrize(("data", "path", "key"), [
    (b'{"number": "1", "number": "2"}', "", "number"),
    (b'{"customer": {"name": "A", "name": "B"}}', "customer", "name"),
    (b'{"steps": [{"kind": "voltage", "kind": "current"}]}', "steps[0]", "kind"),
    (b'{"notes": [], "circuits": [{"id": "a"}, {"id": "b", "elements": [{"id": "x", "kind": "diode", "between": '
     b'["a", "b"], "title": "1", "title": "2"}]}]}', "circuits[1].elements[0]", "title"),
    (b'{"number": "1", "n\\u0075mber": "2"}', "", "number"),
])
def test_a_key_that_stands_twice_is_refused(data, path, key):
    """Which of the two counts would depend on the reader, so neither does."""
    error = refused(data)
    assert (error.path, error.reason) == (path, f"the key “{key}” stands twice: keep one of them.")


# --- records that would be false ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("document", "path", "words"), [
    (step(reading="4.7 ohm"), "steps[0].reading", "a resistance, but the step measures a voltage"),
    (step(reading="12.4"), "steps[0].reading", "no unit"),
    (step(reading="about twelve"), "steps[0].reading", "does not begin with a number"),
    (step(expected={}), "steps[0].expected", "a low or a high value"),
    (step(expected={"low": "1 ohm"}), "steps[0].expected.low", "here belongs a voltage"),
    (step(expected={"high": "OL"}), "steps[0].expected.high", "a reading, not a value"),
    (step(expected={"low": "12.7 V", "high": "11900 mV"}), "steps[0].expected",
     "low (12.7 V) is above high (11900 mV)"),
    (step(circuit="fed"), "steps[0].circuit", "no circuit “fed”; did you mean “feed”?"),
    (step(setup="runing"), "steps[0].setup", "did you mean “running”?"),
    (step(red="F7.ou"), "steps[0].red", "no point “F7.ou” in this circuit; did you mean “F7.out”?"),
    (step(black="nowhere"), "steps[0].black", "no point “nowhere”"),
    (step(instrument="meter"), "steps[0].instrument", "no instrument “meter”"),
    (step(replaces="s0"), "steps[0].replaces", "no entry “s0” before this one"),
    (step(replaces="s1"), "steps[0].replaces", "no entry “s1” before this one"),
    (step(repeats="s9"), "steps[0].repeats", "no other step “s9”"),
    (step(repeats="s1"), "steps[0].repeats", "no other step “s1”"),
    ({"steps": [VOLTAGE, VOLTAGE]}, "steps[1].id", "“s1” stands twice"),
    ({"circuits": [FEED], "steps": [{"kind": "lamp", "id": "s1", "circuit": "feed", "clip": "B-", "probe": "W1",
                                     "result": "lit"}]}, "steps[0].probe", "no point “W1”"),
    ({"circuits": [FEED], "steps": [{"kind": "current", "id": "s1", "circuit": "feed", "through": "F8",
                                     "reading": "1 A"}]}, "steps[0].through",
     "no element “F8” in this circuit: add it, or write one of C3.2, F7, M1, W1, battery."),
    ({"circuits": [FEED], "steps": [{"kind": "swap", "id": "s1", "circuit": "feed", "element": "M2",
                                     "cured": True}]}, "steps[0].element", "no element “M2”"),
    ({"circuits": [FEED], "steps": [{"kind": "look", "id": "s1", "circuit": "feed", "elements": ["W1", "W9"],
                                     "result": "nothing"}]}, "steps[0].elements[1]", "no element “W9”"),
    ({"circuits": [FEED], "steps": [{"kind": "movement", "id": "s1", "circuit": "feed", "elements": ["W1"],
                                     "watching": {"kind": "voltage", "red": "Z"}}]}, "steps[0].watching.red",
     "no point"),
    ({"steps": [{"kind": "movement", "id": "s1", "elements": ["loom"], "trials": 3, "shown": 4}]}, "steps[0].shown",
     "4 times in 3 trials"),
    ({"steps": [{"kind": "lamp", "id": "s1", "clip": "a", "probe": "b", "result": "lit",
                 "expected": {"low": "1 V"}}]}, "steps[0].expected", "only a step with a reading"),
    ({"steps": [{"kind": "value", "id": "s1", "what": "disc", "reading": "21.3 mm", "expected": {"low": "22 V"}}]},
     "steps[0].expected.low", "here belongs a length"),
    ({"vehicle": {"odometer": "61250"}}, "vehicle.odometer", "no unit"),
    ({"vehicle": {"nominal_supply": "12 A"}}, "vehicle.nominal_supply", "here belongs a voltage"),
    ({"instruments": [{"id": "m", "ranges": [{"quantity": "voltage", "up_to": "60 A", "resolution": "0.01 V"}]}]},
     "instruments[0].ranges[0].up_to", "here belongs a voltage"),
    ({"instruments": [{"id": "m", "ranges": [{"quantity": "voltage", "up_to": "0 V", "resolution": "0.01 V"}]}]},
     "instruments[0].ranges[0].up_to", "not above zero"),
    ({"instruments": [{"id": "m", "ranges": [{"quantity": "temperature", "up_to": "10 °F", "resolution": "1 °F"}]}]},
     "instruments[0]", "ends above zero"),
    ({"clock": [{"id": "t1", "person": "A", "start": "2031-04-02T10:00:00+01:00", "end": "2031-04-02T08:59:00Z"}]},
     "clock[0].end", "the end is before the start"),
    ({"opened": "2031-04-02T10:00:00Z", "handed_back": "2031-04-01T10:00:00Z"}, "handed_back", "before the job"),
    ({"approvals": [{"id": "a1", "at": "2031-04-02T10:00:00Z", "by": "A", "option": "o1"}]}, "approvals[0].option",
     "no option “o1” in the estimate"),
    ({"condemned": [{"id": "k1", "part": "strap", "steps": ["s1"]}]}, "condemned[0].steps[0]", "no step “s1”"),
    ({"condemned": [{"id": "k1", "part": "strap", "circuit": "x"}]}, "condemned[0].circuit", "no circuit “x”"),
    ({"condemned": [{"id": "k1", "part": "strap", "element": "x"}]}, "condemned[0].element", "belongs to a circuit"),
    ({"circuits": [FEED], "condemned": [{"id": "k1", "part": "motor", "circuit": "feed", "element": "M2"}]},
     "condemned[0].element", "no element “M2”"),
    ({"circuits": [FEED], "condemned": [{"id": "k1", "part": "motor", "circuit": "feed", "together": ["M1", "W2"]}]},
     "condemned[0].together[1]", "no element “W2”"),
    ({"condemned": [{"id": "k1", "part": "motor", "together": ["M1"]}]}, "condemned[0].together",
     "belong to a circuit"),
    ({"suspects": [{"id": "h1", "name": "hub", "bearings": [{"step": "s4", "says": "clears"}]}]},
     "suspects[0].bearings[0].step", "no step “s4”"),
    ({"steps": [VOLTAGE], "suspects": [{"id": "h1", "name": "hub", "bearings": [
        {"step": "s1", "says": "clears"}, {"step": "s1", "says": "supports"}]}]},
     "suspects[0].bearings[1].step", "step s1 says something of this suspect twice"),
    ({"suspects": [{"id": "h1", "name": "hub"}, {"id": "h1", "name": "disc"}]}, "suspects[1].id", "stands twice"),
    (access(circuit="fed", point="M1.1", state="cannot be reached"), "access[0].circuit",
     "no circuit “fed”; did you mean “feed”?"),
    (access(state="cannot be reached"), "access[0]", "one point or one element: name either"),
    (access(state="already off", point="M1.1", element="W1"), "access[0]", "one point or one element"),
    (access(state="already off", element="W1", test="look"), "access[0].test", "remove “test”"),
    ({"circuits": [FEED], "access": [
        {"id": "a1", "circuit": "feed", "point": "M1.1", "state": "cannot be reached"},
        {"id": "a2", "circuit": "feed", "element": "M1", "state": "cannot be reached"},
        {"id": "a3", "circuit": "feed", "point": "M1.1", "state": "already off"}]}, "access[2]",
     "“a1” says something of the same thing already"),
    (access(state="not available", element="W1"), "access[0].test", "name it in “test”"),
    (access(state="not available", test="swap", point="M1.1"), "access[0].point", "remove “point”"),
    ({"parts": [{"id": "p1", "name": "strap", "condemned": "k1"}]}, "parts[0].condemned", "no condemned part “k1”"),
    ({"photos": [{"id": "f1", "sha256": "0" * 64, "step": "s1"}]}, "photos[0].step", "no step “s1”"),
    ({"photos": [{"id": "f1", "sha256": "0" * 64, "data": "AAAA"}]}, "photos[0].data", "not those of this photo"),
    (element(kind="wire", length="1 m"), "circuits[0].elements[5]", "needs “resistance”, or “length” and “section”"),
    (element(kind="lamp", power="21 W"), "circuits[0].elements[5]", "a lamp needs"),
    (element(kind="relay"), "circuits[0].elements[5]", "a relay needs “coil” and “common”"),
    (element(kind="fuse", length="1 m"), "circuits[0].elements[5].length", "a fuse has no “length”"),
    (element(kind="switch", forward_voltage="0.7 V"), "circuits[0].elements[5].forward_voltage", "a switch has no"),
    (element(kind="fuse", rating="15 V"), "circuits[0].elements[5].rating", "here belongs a current"),
    (element(kind="contact", resistance="-1 ohm"), "circuits[0].elements[5].resistance", "below 0"),
    (element(kind="fuse", between=["B+", "B+"]), "circuits[0].elements[5].between", "both ends"),
    (element(kind="fuse", id="F7"), "circuits[0].elements[5].id", "stands twice in this circuit"),
    (element(kind="fuse", price="NaN"), "circuits[0].elements[5].price", "no amount"),
    ({"circuits": [{"id": "f", "elements": [{"id": "F1", "kind": "fuse"}]}]}, "circuits[0].elements[0]",
     "between two points"),
    ({"circuits": [FEED | {"setups": [{"id": "a", "on": ["S1"]}]}]}, "circuits[0].setups[0].on[0]", "no element “S1”"),
    ({"circuits": [FEED | {"setups": [{"id": "a", "unplugged": ["C4"]}]}]}, "circuits[0].setups[0].unplugged[0]",
     "write one of C3, C3.2, F7"),
    ({"circuits": [FEED | {"setups": [{"id": "as found", "pulled": ["F7"]}]}]}, "circuits[0].setups[0].id",
     "another name"),
    ({"circuits": [FEED | {"setups": [{"id": "a", "bridges": [{"between": ["B+", "Z"], "through": "lamp"}]}]}]},
     "circuits[0].setups[0].bridges[0].between[1]", "no point “Z”"),
])
def test_a_record_that_cannot_be_true_is_refused(document, path, words):
    """What contradicts itself never becomes a job."""
    error = refused(document)
    assert error.path == path
    assert words in error.reason


@pytest.mark.parametrize("document", [
    step(), step(setup="running"), step(setup="as found"), step(reading="<0.1 V"), step(black="B+"),
    step(expected={"low": "11.9 V", "high": "12.7 V", "source": "own list"}),
    {"circuits": [FEED], "steps": [{"kind": "resistance", "id": "s1", "red": "B+", "black": "B-", "reading": "OL",
                                    "circuit": "feed", "expected": {"low": "1 Mohm"}}]},
    {"steps": [VOLTAGE | {"setup": "cranking, lights on"}]},
    {"steps": [VOLTAGE, VOLTAGE | {"id": "s2", "replaces": "s1", "because": "wrong lead"}]},
    {"steps": [{"kind": "value", "id": "s1", "what": "disc", "reading": "21.3 mm", "expected": {"low": "22 mm"}}]},
    element(kind="relay", between=None, coil=["B+", "B-"], common="B+", normally_closed="q"),
    element(kind="wire", resistance="0.1 ohm"),
    element(kind="wire", length="1 m", section="1.5 mm2", temperature="-40 °C"),
    {"charges": [{"id": "x1", "what": "goodwill", "amount": "-10.00"}]},
    {"workshop": {"labour_rate": 64.5}},
    {"steps": [VOLTAGE], "suspects": [{"id": "h1", "name": "hub", "weight": 2, "bearings": [
        {"step": "s1", "says": "clears", "strength": "strong"}]}, {"id": "h2", "name": "hub"}]},
    access(state="cannot be reached", point="M1.1"),
    access(state="already off", element="W1"),
    access(state="not available", test="swap", element="M1"),
    access(state="not available", test="current"),
    {"circuits": [FEED], "condemned": [{"id": "k1", "part": "wire and pin", "circuit": "feed", "element": "W1",
                                        "together": ["W1", "C3.2"], "probability_right": 0.97}]},
    {},
])
def test_what_is_odd_but_true_is_read(document):
    """No check is stricter than the record has to be."""
    job = read_job(as_bytes(document), NAME)
    assert not [finding for finding in check_job(job) if finding.severity == "error"]


@pytest.mark.parametrize(("document", "path", "words"), [
    ({"vehicle": {"vin": "1G4AH59H55G118341"}}, "vehicle.vin", "check digit"),
    ({"vehicle": {"vin": "not known"}}, "vehicle.vin", "17 characters"),
    ({"fault_codes": [{"code": "SPN 168"}]}, "fault_codes[0].code", "no fault code"),
    ({"steps": [VOLTAGE, VOLTAGE | {"id": "s2", "replaces": "s1"}]}, "steps[1]", "“because” is missing"),
    (access(state="cannot be reached", point="M1.11"), "access[0].point", "no point “M1.11” in this circuit; did you"),
    (access(state="not available", test="swap", element="M2"), "access[0].element", "no element “M2”"),
])
def test_a_doubt_is_a_warning_and_refuses_nothing(document, path, words):
    """A vehicle is recognised by a mistyped VIN as well, and a lorry's codes are built otherwise."""
    findings = check_job(read_job(as_bytes(document), NAME))
    assert [(finding.severity, finding.path) for finding in findings if words in finding.message] == [("warning", path)]


def test_all_that_is_wrong_is_in_the_findings():
    """A file with three slips shows three, and the message says how many more there are."""
    error = refused({"steps": [VOLTAGE | {"reading": "1 ohm", "instrument": "x"}], "vehicle": {"odometer": "12 V"}})
    assert [finding.path for finding in error.findings] == ["vehicle.odometer", "steps[0].instrument",
                                                            "steps[0].reading"]
    assert str(error).endswith("(and 2 more)")


# --- size -----------------------------------------------------------------------------------------------------------


def test_a_file_in_which_everything_is_wrong_says_so_quickly():
    """Suggestions for a hundred thousand wrong names would take minutes; a hundred of them are enough."""
    steps = [VOLTAGE | {"id": f"s{number}", "circuit": f"circuit {number}"} for number in range(20_000)]
    before = time.perf_counter()
    error = refused({"steps": steps, "circuits": [{"id": f"circuit-{number}"} for number in range(2_000)]})
    assert len(error.findings) == 100
    assert time.perf_counter() - before < 20


def test_fifty_megabytes_of_photos_are_read(capsys):
    """The largest part of a large file is pictures; they are not copied over and over."""
    picture = b"\xff\xd8\xff" + bytes(range(256)) * 24_000
    photo = Photo(id="f", sha256=hashlib.sha256(picture).hexdigest(), data=picture)
    data = write_job(Job(photos=tuple(Photo(id=f"f{number}", sha256=photo.sha256, data=picture)
                                      for number in range(6))))
    _read_and_measure(data, capsys)


def test_fifty_megabytes_of_steps_are_read(capsys):
    """Nobody makes so many tests, but nobody may stop the program with them either."""
    note = "Ω " + "clear " * 25
    steps = (VoltageStep(id=f"s{number}", red="battery +", reading=f"{number % 2000 / 100:.2f} V", note=note)
             for number in range(180_000))
    _read_and_measure(write_job(Job(steps=tuple(steps))), capsys)


def _read_and_measure(data, capsys):
    before = time.perf_counter()
    job = read_job(data, NAME)
    took = time.perf_counter() - before
    assert job.photos or job.steps
    del job
    tracemalloc.start()
    read_job(data, NAME)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    with capsys.disabled():
        print(f"\n{len(data) / 1e6:.0f} MB read in {took:.2f} s, at most {peak / 1e6:.0f} MB beside the file")
    assert peak < 12 * len(data)


# --- anything at all ------------------------------------------------------------------------------------------------

SAMPLE = write_job(read_job(as_bytes(step(expected={"low": "11.9 V"}) | {"number": "2031-0007", "charges": [
    {"id": "x1", "what": "µ", "amount": "1.00"}]}), NAME))


@settings(max_examples=300, deadline=None)
@given(begin=st.integers(0, len(SAMPLE)), length=st.integers(0, 60),
       put_in=st.one_of(st.binary(max_size=6), st.sampled_from([b'"', b"{", b"[" * 2000, b"\\ud800", b"NaN", b"1e999",
                                                               b"\\u0000", b'"id": "s1",'])))
def test_a_damaged_file_is_read_or_refused_and_nothing_else_happens(begin, length, put_in):
    """Whatever stands in the file, a person sees one sentence and never a traceback."""
    data = SAMPLE[:begin] + put_in + SAMPLE[begin + length:]
    try:
        read_job(data, NAME)
    except JobFileError as error:
        assert str(error).startswith(NAME)
        assert len(str(error)) < 700
