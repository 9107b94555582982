"""One line typed at the vehicle: what it is understood as, and that nothing typed is lost."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import asdict

from workshop_log.exchange import writing
from workshop_log.exchange.checking import check_job
from workshop_log.exchange.records import (
    Circuit,
    CurrentStep,
    Element,
    Instrument,
    Job,
    LampStep,
    LookStep,
    MovementStep,
    ObserveStep,
    ResistanceStep,
    Setup,
    SwapStep,
    ValueStep,
    VoltageStep,
    WatchCurrent,
    WatchLamp,
    WatchVoltage,
)
from workshop_log.jobs.entry_line import read_entry_line

JOB = Job(instruments=(Instrument(id="meter", title="Bench meter"),))
FEED = Circuit(id="feed", elements=(Element(id="W1", kind="wire", between=("F7.out", "C3.2a")),
                                    Element(id="S1", kind="switch", between=("C3.2a", "B-"))),
               setups=(Setup(id="running", title="Wiper running", on=("S1",)),))
V, A, R, X = VoltageStep, CurrentStep, ResistanceStep, ValueStep

READ = [
    # Reading and place, in any order.
    ("12.4 V battery +", V, {"reading": "12.4 V", "red": "battery +", "black": "B-"}),
    ("battery + 12.4V", V, {"reading": "12.4V", "red": "battery +"}),
    ("12,6 V at battery +", V, {"reading": "12,6 V", "red": "battery +"}),
    ("440 mA fuse F7", A, {"reading": "440 mA", "through": "fuse F7"}),
    ("0.8 A through F7", A, {"through": "F7"}),
    ("4k7 sender to C3.2", R, {"reading": "4k7", "red": "sender", "black": "C3.2"}),
    ("resistance F7 to C3.2 OL", R, {"reading": "OL", "red": "F7", "black": "C3.2"}),
    ("120 ohm bus high to bus low", R, {"red": "bus high", "black": "bus low"}),
    ("0.48 V from pin 3 to b−", V, {"red": "pin 3", "black": "B-"}),
    ("0.48 V pin 3 > pin 4", V, {"red": "pin 3", "black": "pin 4"}),
    ("0.48 V red C3.2 black B-", V, {"red": "C3.2", "black": "B-"}),
    ("drop across strap 480 mV", V, {"red": "strap, one end", "black": "strap, other end"}),
    ("< 0.1 V strap", V, {"reading": "< 0.1 V", "expected": None}),
    ("voltage battery + 12.4", V, {"reading": "12.4 V", "red": "battery +"}),
    ("0.02 V 10 A fuse", V, {"reading": "0.02 V", "red": "10 A fuse"}),
    ("3 mm pad 0.5 V", V, {"reading": "0.5 V", "red": "3 mm pad"}),
    # Values: what before, where behind.
    ("brake disc thickness 21.3 mm", X, {"what": "brake disc thickness", "where": "", "reading": "21.3 mm"}),
    ("brake disc thickness 21.3 mm front left", X, {"what": "brake disc thickness", "where": "front left"}),
    ("brake disc thickness at front left 21.3 mm", X, {"what": "brake disc thickness", "where": "front left"}),
    ("brake disc thickness, front left 21.3 mm", X, {"what": "brake disc thickness", "where": "front left"}),
    ("21.3 mm brake disc thickness", X, {"what": "brake disc thickness", "where": ""}),
    ("-3°C coolant", X, {"what": "coolant", "reading": "-3°C"}),
    ("value alternator ripple 40 mV", X, {"what": "alternator ripple", "reading": "40 mV"}),
    # Setup, instrument, after the repair, note.
    ("0.48 V strap while cranking", V, {"setup": "cranking"}),
    ("strap while cranking 0.48 V", V, {"setup": "cranking", "red": "strap", "reading": "0.48 V"}),
    ("13.1 V alternator with lights on", V, {"setup": "lights on", "red": "alternator"}),
    ("14.1 V battery + at 2000 rpm", V, {"setup": "2000 rpm", "red": "battery +", "reading": "14.1 V"}),
    ("12.1 V at battery + at idle", V, {"setup": "idle", "red": "battery +"}),
    ("12.1 V battery + @rest", V, {"setup": "rest"}),
    ("12.6 V battery + after charging", V, {"setup": "after charging", "after_repair": False}),
    ("0.02 V strap after", V, {"after_repair": True, "red": "strap", "setup": ""}),
    ("0.02 V strap after the repair while cranking", V, {"after_repair": True, "red": "strap", "setup": "cranking"}),
    ("after 0.02 V strap", V, {"after_repair": True, "red": "strap"}),
    ("0.02 V strap using meter", V, {"instrument": "meter"}),
    ("0.02 V strap using bench meter", V, {"instrument": "meter"}),
    ("0.02 V strap; bolt was loose", V, {"note": "bolt was loose", "red": "strap"}),
    # No number.
    ("lamp F7 dark", LampStep, {"clip": "B-", "probe": "F7", "result": "dark"}),
    ("test lamp B+ to S1 lit while running", LampStep, {"clip": "B+", "probe": "S1", "setup": "running"}),
    ("Lamp clip on B+, probe on S1 dim", LampStep, {"clip": "B+", "probe": "S1", "result": "dim"}),
    ("look strap damage", LookStep, {"elements": ("strap",), "result": "damage", "strength": "fair"}),
    ("look loom, C3 and boot nothing", LookStep, {"elements": ("loom", "C3", "boot"), "result": "nothing"}),
    ("look strap strong damage", LookStep, {"elements": ("strap",), "strength": "strong"}),
    ("move loom 3/10", MovementStep, {"elements": ("loom",), "shown": 3, "trials": 10, "watching": None}),
    ("move loom 0 of 20 watching C3.2", MovementStep, {"trials": 20, "watching": WatchVoltage(red="C3.2")}),
    ("move loom watching C3.2 to C3.3 0/20", MovementStep, {"watching": WatchVoltage(red="C3.2", black="C3.3")}),
    ("move loom 1/5 watching current through M1", MovementStep, {"watching": WatchCurrent(through="M1")}),
    ("move loom 1/5 watching lamp S1", MovementStep, {"watching": WatchLamp(clip="B-", probe="S1")}),
    ("works wiper", ObserveStep, {"element": "wiper", "works": True}),
    ("wiper works with key on", ObserveStep, {"element": "wiper", "works": True, "setup": "key on"}),
    ("wiper does not work", ObserveStep, {"element": "wiper", "works": False}),
    ("F7 holds", ObserveStep, {"element": "F7", "works": True}),
    ("F7 blows", ObserveStep, {"element": "F7", "works": False}),
    ("works not wiper", ObserveStep, {"element": "wiper", "works": False}),
    ("swap relay R2 cured", SwapStep, {"element": "relay R2", "cured": True}),
    ("swap R2 no change; from the horn", SwapStep, {"element": "R2", "cured": False, "note": "from the horn"}),
]


@pytest.mark.parametrize(("line", "kind", "fields"), READ)
def test_line_becomes_the_step_that_it_describes(line: str, kind: type, fields: dict) -> None:
    """Kind, reading, places, setup and the rest, as the grammar says."""
    understood = read_entry_line(line, JOB)
    assert not understood.problem
    assert type(understood.step) is kind
    assert {key: value for key, value in asdict(understood.step).items() if key in fields} == fields
    assert understood.words


@pytest.mark.parametrize(("written", "low", "high"), [
    ("<0.2 V", None, "0.2 V"), ("≤ 0.2 V", None, "0.2 V"), ("<= 200 mV", None, "200 mV"), ("max 0,2 V", None, "0,2 V"),
    ("at most 0.2 V", None, "0.2 V"), ("0.1..0.3 V", "0.1 V", "0.3 V"), ("12.4-12.8 V", "12.4 V", "12.8 V"),
    ("12.4 to 12.8 V", "12.4 V", "12.8 V"), ("12.4 V – 12.8 V", "12.4 V", "12.8 V"), (">= 0.1 V", "0.1 V", None),
    ("min 0.1", "0.1 V", None), (">0.1 <0.3 V", "0.1 V", "0.3 V"), ("expected 0.1 to 0.3 V", "0.1 V", "0.3 V"),
    ("-0.1..0.1 V", "-0.1 V", "0.1 V"),
])
@pytest.mark.parametrize("line", [
    "0.2 V strap while cranking {}", "0.2 V strap {} while cranking", "{} strap @cranking 0.2 V"])
def test_expected_range_in_its_many_spellings_anywhere_in_the_line(line, written, low, high) -> None:
    """The range is neither reading nor place nor setup."""
    understood = read_entry_line(line.format(written), JOB)
    assert not understood.problem
    step = understood.step
    assert (step.expected.low, step.expected.high) == (low, high)
    assert (step.reading, step.red, step.setup) == ("0.2 V", "strap", "cranking")


def test_limit_without_unit_has_that_of_the_reading() -> None:
    """“21.3 mm >= 22” means 22 mm."""
    assert read_entry_line("brake disc thickness 21.3 mm >= 22", JOB).step.expected.low == "22 mm"


def test_source_in_brackets_belongs_to_the_range() -> None:
    """Where a limit comes from can be typed in the same line."""
    step = read_entry_line("0.02 V strap <0.2 V (maker's data 4.3)", JOB).step
    assert (step.expected.source, step.red) == ("maker's data 4.3", "strap")


@pytest.mark.parametrize(("line", "high"), [
    ("0.09 V door ground rule ground path", "0.1 V"), ("0.2 V strap while cranking rule starter ground", "0.3 V"),
    ("0.03 A battery lead rule quiescent", "50 mA"), ("0.2 V strap rule drop-wire", "0.2 V")])
def test_rule_of_thumb_by_name_gives_the_range_and_says_it_is_common_practice(line: str, high: str) -> None:
    """A rule is named by some of its words or its id."""
    expected = read_entry_line(line, JOB).step.expected
    assert expected.high == high
    assert "common practice, no source" in expected.source


@pytest.mark.parametrize(("line", "problem"), [
    ("12.4 battery", "“12.4” has no unit"),
    ("strap", "There is no reading in “strap”"),
    ("0.48 V", "Where was it measured?"),
    ("21.3 mm", "What was measured?"),
    ("1,234 V strap", "could mean 1234 or 1.234"),
    ("0.48 V strap <0.2 mm", "measure different things"),
    ("0.48 V strap 0.3..0.1 V", "exchange them"),
    ("0.48 V strap <0.2 V <0.3 V", "a second highest value"),
    ("0.48 V strap using scope", "No instrument of this job is called “scope”: choose one of meter"),
    ("0.48 V strap rule nonsense", "No rule of thumb is called “nonsense”"),
    ("0.48 V strap rule drop", "could be several rules"),
    ("0.48 V strap rule ground path <0.2 V", "keep one"),
    ("voltage 5 mm strap", "“5 mm” is no voltage"),
    ("lamp F7", "There is no result in “F7”"),
    ("lamp dark", "Where did the lamp's probe touch?"),
    ("look damage", "What was looked at?"),
    ("move loom", "How often did the fault show"),
    ("move loom 7/3", "cannot be"),
    ("move loom 0/0", "cannot be"),
    ("swap R2", "There is no result"),
    ("works", "What works, or does not?"),
    ("0.4 V st\u0000rap", "cannot be printed (U+0000)"),
    ("x" * 401, "more than 400 characters"),
])
def test_what_is_not_understood_says_where_and_what_to_do(line: str, problem: str) -> None:
    """One sentence, no step, and the line as it was typed."""
    understood = read_entry_line(line, JOB)
    assert problem in understood.problem
    assert understood.step is None
    assert understood.text == line


def test_empty_line_is_neither_step_nor_problem() -> None:
    """Nothing typed yet is nothing wrong."""
    assert read_entry_line("  ", JOB).problem == ""


def test_words_say_how_the_line_was_understood() -> None:
    """What the person reads before pressing Enter."""
    words = read_entry_line("0.48 V strap body end while cranking <0.2 V", JOB).words
    assert words == ("Voltage 0.48 V, red at strap body end, black at B−, while cranking; "
                     "expected at most 0.2\u00a0V")


def test_points_of_a_circuit_tie_the_step_to_it_and_to_its_setup() -> None:
    """A step that names only points of one circuit is a step on that circuit; an unknown condition ties nothing."""
    job = Job(circuits=(FEED,))
    step = read_entry_line("11.9 V C3.2a while wiper running", job).step
    assert (step.circuit, step.setup) == ("feed", "running")
    assert read_entry_line("11.9 V C3.2a while raining", job).step.circuit is None
    assert read_entry_line("11.9 V elsewhere", job).step.circuit is None
    across = read_entry_line("0.1 V across W1", job).step
    assert (across.red, across.black, across.circuit) == ("F7.out", "C3.2a", "feed")


_WORDS = st.sampled_from(["0.48 V", "strap", "while", "at", "@", "after", "repair", "using", "meter", "rule",
                          "<0.2 V", "to", "lamp",
                          "look", "move", "3/10", "watching", "swap", "works", "not", ">", "..", "12.4-12.8 V",
                          "OL", "4k7", "voltage", "value", ";", ",", "B-", "across", "red", "black", "(", ")", "dark",
                          "damage", "cured", "min", "22", "mm", "with", "expected", "the", "\ue000", "²", "1/0"])


@given(st.one_of(st.text(max_size=60), st.lists(_WORDS, max_size=9).map(" ".join)))
def test_no_line_raises_or_is_lost_and_every_step_could_stand_in_a_job_file(line: str) -> None:
    """A line is a step that the job file accepts, a problem in one sentence, or empty; it comes back as typed."""
    understood = read_entry_line(line, JOB)
    assert understood.text == line
    assert (understood.step is not None) + bool(understood.problem) + (not line.strip()) == 1
    if understood.step is not None:
        job = Job(instruments=JOB.instruments, steps=(understood.step,))
        assert [finding for finding in check_job(job) if finding.severity == "error"] == []
        assert writing.write_job(job)
