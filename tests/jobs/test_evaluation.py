"""The verdict on each reading of a job, and words for the other steps."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest

from workshop_log.exchange.records import (
    Complaint,
    Expected,
    Instrument,
    InstrumentRange,
    Job,
    LampStep,
    MovementStep,
    ResistanceStep,
    ValueStep,
    VoltageStep,
)
from workshop_log.jobs.evaluation import as_json, clean_trials_words, evaluate, is_proved
from workshop_log.measuring.verdict import Verdict, VerdictLimits

NOW = datetime(2031, 4, 2, 9, 0, tzinfo=UTC)
METER = Instrument(id="meter", ranges=(
    InstrumentRange(quantity="voltage", up_to="60 V", percent=0.5, counts=2, resolution="0.01 V"),))
DROP = Expected(high="0.2 V", source="common practice, no source")


def strap(reading: str = "0.48 V", **more) -> VoltageStep:
    return VoltageStep(**{"id": "s1", "red": "strap", "reading": reading, "expected": DROP} | more)


def only(step, **job):
    evaluation = evaluate(Job(steps=(step,), **job))
    return evaluation.readings[0], evaluation


def test_reading_above_its_limit_is_outside_with_a_named_instrument() -> None:
    """0.48 V ± (0.5 % + 2 counts of 0.01 V) is far above 0.2 V; a = 0.0224 V, u = sqrt(a²/3 + 0.01²/12) = 0.0132 V."""
    reading, _ = only(strap(instrument="meter"), instruments=(METER,))
    assert reading.verdict is Verdict.OUTSIDE
    assert not reading.default_instrument
    assert reading.uncertainty.standard == pytest.approx(math.sqrt(0.0224**2 / 3 + 0.01**2 / 12))
    assert reading.instrument_words.startswith("meter: ±(0.5 % + 2 counts)")


def test_step_without_instrument_uses_the_default_one_and_says_so() -> None:
    """The assumption is in words, for the report."""
    reading, _ = only(strap())
    assert reading.default_instrument
    assert reading.instrument_words == "default instrument: ±(0.8 % + 2 counts of the last digit)"


def test_reading_at_the_limit_is_too_close_to_call() -> None:
    """0.20 V against at most 0.2 V: half of what is possible lies above."""
    reading, _ = only(strap("0.20 V"))
    assert reading.verdict is Verdict.TOO_CLOSE
    assert reading.judgement.probability_inside == pytest.approx(0.5)


def test_reading_without_expected_range_has_no_verdict_and_says_what_to_do() -> None:
    """Until circuits are computed nothing is held against an electrical reading unless it is typed."""
    reading, _ = only(strap(expected=None, circuit="feed"))
    assert reading.verdict is None
    assert "no expected range: type one, or describe the circuit" in reading.words


def test_expected_range_without_source_counts_as_typed() -> None:
    """A source is never blank in the report."""
    reading, _ = only(strap(expected=Expected(high="200 mV")))
    assert "typed by the technician" in reading.words


def test_limits_of_the_workshop_decide_what_is_outside() -> None:
    """The same reading is outside at 0.4 and too close to call at 0.05."""
    step = strap("0.21 V")
    usual = evaluate(Job(steps=(step,))).readings[0]
    bold = evaluate(Job(steps=(step,)), SimpleNamespace(limits=VerdictLimits(inside=0.6, outside=0.4))).readings[0]
    assert (usual.verdict, bold.verdict) == (Verdict.TOO_CLOSE, Verdict.OUTSIDE)


def test_corrected_step_is_judged_too_and_marked() -> None:
    """Both stay on record: the slip and its correction."""
    job = Job(steps=(strap("4.8 V"), strap(id="s2", replaces="s1", because="point slipped")))
    assert [(r.step.id, r.replaced) for r in evaluate(job).readings] == [("s1", True), ("s2", False)]


@pytest.mark.parametrize(("step", "key"), [
    (strap("twelve"), "not-a-reading"),
    (strap(expected=Expected(high="3 mm")), "unit-mismatch"),
    (strap(expected=Expected(low="1 V", high="0.5 V")), "bad-expected-range"),
    (strap(instrument="lost"), "unknown-instrument"),
    (strap("75 V", instrument="meter"), "above-largest-range"),
])
def test_what_is_wrong_with_a_step_is_a_finding_not_an_exception(step: VoltageStep, key: str) -> None:
    """One bad step neither stops the others nor goes unsaid."""
    evaluation = evaluate(Job(steps=(step, strap(id="s2")), instruments=(METER,)))
    assert key in [finding.key for finding in evaluation.findings_of("s1")]
    assert evaluation.reading_of("s2").verdict is Verdict.OUTSIDE


def test_mechanical_value_is_judged_like_any_other() -> None:
    """A brake disc of 21.3 mm against at least 22 mm is outside, whatever circuit there is."""
    step = ValueStep(id="s1", what="brake disc thickness", reading="21.3 mm", expected=Expected(low="22 mm"))
    reading, evaluation = only(step)
    assert reading.verdict is Verdict.OUTSIDE
    assert not evaluation.findings


def test_instrument_proved_the_same_morning_counts_and_one_from_last_week_does_not() -> None:
    """What the step says comes first; else the time at which the instrument was last shown to work."""
    step = strap(at=NOW, instrument="meter")

    def meter(before: timedelta) -> Job:
        return Job(instruments=(Instrument(id="meter", last_proved=NOW - before),))

    assert is_proved(step, meter(timedelta(minutes=10))) is True
    assert is_proved(step, meter(timedelta(days=7))) is None
    assert is_proved(strap(at=NOW, instrument="meter", proved=False), meter(timedelta(minutes=10))) is False


def test_unproved_instrument_is_noted() -> None:
    """A clear result from a tester that nobody proved weighs less, and says so."""
    evaluation = evaluate(Job(steps=(LampStep(id="s1", clip="B+", probe="F7", result="dark"),)))
    assert [finding.key for finding in evaluation.findings] == ["instrument-not-proved"]


@pytest.mark.parametrize(("trials", "words"), [
    (1, "too few"), (3, "too few"), (10, "30 %"), (60, "5 %"), (600, "0.5 %")])
def test_clean_trials_leave_three_in_n(trials: int, words: str) -> None:
    """The rule of three: 3/n, never less than the exact bound 1 - 0.05^(1/n)."""
    assert words in clean_trials_words(trials)
    assert 3 / trials >= 1 - 0.05 ** (1 / trials)


@pytest.mark.parametrize(("appears", "shown", "has_caveat"), [
    ("comes and goes", 0, True), ("comes and goes", 3, False), ("always", 0, False)])
def test_only_clean_trials_of_a_fault_that_comes_and_goes_carry_the_bound(appears, shown, has_caveat) -> None:
    """A fault that showed needs no bound, and one that is always there would have shown."""
    job = Job(complaints=(Complaint(id="c1", words="Cuts out", appears=appears),),
              steps=(MovementStep(id="s1", elements=("loom",), trials=10, shown=shown),))
    remark = evaluate(job).remark_of("s1")
    assert remark.words == f"fault shown in {shown} of 10 movements"
    assert bool(remark.caveat) is has_caveat


def test_json_of_a_reading_has_exactly_the_published_keys_and_base_units() -> None:
    """480 mV is 0.48 V; nothing is rounded; a lamp test is no reading."""
    job = Job(number="2031-0007", steps=(strap("480 mV"), LampStep(id="s2", clip="B+", probe="F7", result="lit")))
    shown = as_json(evaluate(job))
    assert set(shown) == {"job", "readings", "circuits"}
    (reading,) = shown["readings"]
    standard = reading.pop("standard_uncertainty")
    assert 0 <= reading.pop("probability_inside") < 1e-9
    assert reading == {"step": "s1", "value": 0.48, "unit": "V", "verdict": "outside",
                       "expected": {"low": None, "high": 0.2, "unit": "V", "source": "common practice, no source"}}
    assert standard == pytest.approx(math.sqrt((0.48 * 0.008 + 0.002) ** 2 / 3 + 0.001**2 / 12))


def test_json_of_an_over_range_reading_has_no_value_and_the_unit_of_its_kind() -> None:
    """OL on the ohm range is null ohm, and outside a range that ends."""
    step = ResistanceStep(id="s1", red="1", black="2", reading="OL", expected=Expected(low="60 ohm", high="120 ohm"))
    (reading,) = as_json(evaluate(Job(steps=(step,))))["readings"]
    assert (reading["value"], reading["unit"], reading["verdict"]) == (None, "ohm", "outside")
