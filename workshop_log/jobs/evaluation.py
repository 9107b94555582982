"""The verdict on each reading of a job, and words for every other test step.

Pure: a job in, values out; the same job always gives the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Protocol

from msgspec.structs import replace

from workshop_log.exchange import records, values
from workshop_log.exchange.records import LookStep, MovementStep
from workshop_log.jobs import labels
from workshop_log.jobs.cautions import HIGH_VOLTAGE_V
from workshop_log.jobs.circuit_ranges import CircuitRangeError, expected_on_circuit, healthy_look
from workshop_log.measuring.entry import Entry, EntryError
from workshop_log.measuring.findings import Finding
from workshop_log.measuring.instruments import (
    DEFAULT_COUNTS,
    DEFAULT_PERCENT,
    Instrument,
    InstrumentError,
    default_instrument,
)
from workshop_log.measuring.ranges import ExpectedRange, RangeError
from workshop_log.measuring.uncertainty import Uncertainty, standard_uncertainty
from workshop_log.measuring.units import UnitMismatchError, UnknownUnitError
from workshop_log.measuring.verdict import DEFAULT_LIMITS, Judgement, Verdict, VerdictLimits, judge

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from workshop_log.exchange.records import Job, ReadingStep, Step

NO_EXPECTED_RANGE = "no expected range: type one, or describe the circuit"
# The source of an expected range for which nobody named one.
TYPED = "typed by the technician"
DEFAULT_INSTRUMENT_WORDS = (
    f"default instrument: ±({DEFAULT_PERCENT:g} % + {DEFAULT_COUNTS} counts of the last digit)")
READING_STEPS = (records.VoltageStep, records.CurrentStep, records.ResistanceStep, records.ValueStep)

# An instrument shown to work this long before a step counts as proved for it: one working day.
# Own estimate: the trade says "before and after", without a time.
PROVED_FOR = timedelta(hours=12)

_STEP_UNITS = {records.VoltageStep: "V", records.CurrentStep: "A", records.ResistanceStep: "ohm"}

# What usually measures a quantity, where nobody named the instrument.
_USUAL_INSTRUMENT = {"temperature": "thermometer", "length": "gauge", "pressure": "gauge"}


class HasLimits(Protocol):
    """Settings that say from which probability a reading is inside or outside."""

    @property
    def limits(self) -> VerdictLimits:
        """The limits of the verdict."""
        ...


@dataclass(frozen=True, slots=True)
class JudgedReading:
    """One reading with its verdict.

    Attributes
    ----------
    step : ReadingStep
        The test step it was taken in.
    entry : Entry | None
        The reading; None when what stands there is no reading (the findings say why).
    expected : ExpectedRange | None
        What it is held against; None when nobody said.
    uncertainty : Uncertainty | None
        In the entry's unit; None without an entry.
    judgement : Judgement | None
        None when there is nothing to judge by.
    words : str
        What it says, in sentences that could be read aloud.
    instrument_words : str
        What accuracy was used.
    default_instrument : bool
        Whether that accuracy is an assumption, because no instrument was named.
    replaced : bool
        Whether a later step corrects this one.
    """

    step: ReadingStep
    entry: Entry | None
    expected: ExpectedRange | None
    uncertainty: Uncertainty | None
    judgement: Judgement | None
    words: str
    instrument_words: str
    default_instrument: bool
    replaced: bool = False

    @property
    def verdict(self) -> Verdict | None:
        """The verdict, or None when there is none yet."""
        return self.judgement.verdict if self.judgement else None


@dataclass(frozen=True, slots=True)
class Remark:
    """What a step without a number showed, in words.

    Attributes
    ----------
    step : Step
        A lamp test, a look, an observation, a substitution or a movement test.
    words : str
        Its result.
    caveat : str
        What that result does not say; blank if nothing is to be added.
    replaced : bool
        Whether a later step corrects this one.
    """

    step: Step
    words: str
    caveat: str = ""
    replaced: bool = False

    @property
    def judgement(self) -> None:
        """None: a step without a number is held against no range. So a reading and a remark can stand side by side."""
        return None

    @property
    def verdict(self) -> None:
        """None, for the same reason."""
        return None


@dataclass(frozen=True, slots=True)
class Evaluation:
    """Everything that a job's steps say on their own, in the order of the steps."""

    number: str
    readings: tuple[JudgedReading, ...]
    remarks: tuple[Remark, ...]
    findings: tuple[Finding, ...]

    def reading_of(self, step_id: str) -> JudgedReading | None:
        """Return the judged reading of a step, or None where the step has no reading."""
        return next((reading for reading in self.readings if reading.step.id == step_id), None)

    def remark_of(self, step_id: str) -> Remark | None:
        """Return the remark on a step without a number, or None."""
        return next((remark for remark in self.remarks if remark.step.id == step_id), None)

    def findings_of(self, step_id: str) -> tuple[Finding, ...]:
        """Return what is odd about a step."""
        return tuple(finding for finding in self.findings if finding.where == step_id)


def evaluate(job: Job, settings: HasLimits | None = None) -> Evaluation:
    """Return the verdict on each reading of a job, and words for its other steps.

    Parameters
    ----------
    job : Job
        With the instruments that its steps name.
    settings : HasLimits, optional
        The workshop's: from which probability it calls a reading inside or outside; the usual ones unless given.
    """
    return _evaluated(job, settings.limits if settings else DEFAULT_LIMITS)


# A change works it out for what the job waits for, and then whoever shows the job asks again.
@lru_cache(maxsize=2)
def _evaluated(job: Job, limits: VerdictLimits) -> Evaluation:
    replaced = {step.replaces for step in job.steps if step.replaces}
    readings: list[JudgedReading] = []
    remarks: list[Remark] = []
    findings: list[Finding] = []
    for step in job.steps:
        if isinstance(step, READING_STEPS):
            reading, found = _judge_step(step, job, limits, step.id in replaced)
            readings.append(reading)
            findings += found
        else:
            remarks.append(Remark(step, labels.step_result(step), _caveat(step, job), step.id in replaced))
        findings += _proof_findings(step, job)
    return Evaluation(job.number, tuple(readings), tuple(remarks), tuple(findings))


def judge_step(step: ReadingStep, job: Job, settings: HasLimits | None = None) -> JudgedReading:
    """Return the verdict on one reading, whether or not it already stands in the job."""
    return _judge_step(step, job, settings.limits if settings else DEFAULT_LIMITS, replaced=False)[0]


def _judge_step(step: ReadingStep, job: Job, limits: VerdictLimits, replaced: bool,
                ) -> tuple[JudgedReading, list[Finding]]:
    findings: list[Finding] = []
    try:
        entry = values.entry_of(step)
    except EntryError as error:
        findings.append(Finding("error", step.id, "not-a-reading", f"Step {step.id}: {error.reason}"))
        return JudgedReading(step, None, None, None, None, error.reason, "", default_instrument=False,
                             replaced=replaced), findings

    findings += _high_voltage(step, entry, job)
    instrument, default = _instrument_for(step, entry, job, findings)
    findings += [Finding(f.severity, step.id, f.key, f.words) for f in instrument.check(entry)]
    expected = _expected_for(step, job, instrument, findings)
    uncertainty = standard_uncertainty(entry, instrument)
    judgement = None
    if expected is not None:
        try:
            judgement = judge(entry, expected, uncertainty, limits)
        except UnitMismatchError as error:
            findings.append(Finding("error", step.id, "unit-mismatch", f"Step {step.id}: {error}"))
    instrument_words = DEFAULT_INSTRUMENT_WORDS if default else uncertainty.words
    words = " ".join(judgement.reason) if judgement else _words_without_verdict(step, expected, findings)
    return JudgedReading(step, entry, expected, uncertainty, judgement, words, instrument_words, default,
                         replaced), findings


def findings_on(step: Step, job: Job, settings: HasLimits | None = None) -> tuple[Finding, ...]:
    """Return what is odd about a reading that is about to be taken down: beyond the instrument, or dangerous."""
    if not isinstance(step, READING_STEPS):
        return ()
    return tuple(_judge_step(step, job, settings.limits if settings else DEFAULT_LIMITS, replaced=False)[1])


def _high_voltage(step: ReadingStep, entry: Entry, job: Job) -> list[Finding]:
    """Return that a voltage was read which can kill, on a vehicle of which nobody said so."""
    is_high = entry.unit == "V" and entry.value is not None and abs(entry.value) > HIGH_VOLTAGE_V
    if not is_high or "high voltage" in job.vehicle.systems:
        return []
    return [Finding("warning", step.id, "high-voltage",
                    f"Step {step.id}: more than {HIGH_VOLTAGE_V:g} V is high voltage, which is for licensed persons "
                    f"only. Check the reading; if it is right, stop, and note the system at intake.")]


def _instrument_for(step: ReadingStep, entry: Entry, job: Job, findings: list[Finding]) -> tuple[Instrument, bool]:
    """Return the instrument that the step names, or the default one of the kind that usually measures this."""
    usual = default_instrument(_USUAL_INSTRUMENT.get(entry.dimension, "multimeter"))
    if step.instrument is None:
        return usual, True
    record = next((instrument for instrument in job.instruments if instrument.id == step.instrument), None)
    if record is None:
        findings.append(Finding("warning", step.id, "unknown-instrument",
                                f"Step {step.id} names the instrument {step.instrument}, which is not in this job: the "
                                f"default one is used."))
        return usual, True
    try:
        return values.instrument_of(record), False
    except (InstrumentError, EntryError, UnknownUnitError, UnitMismatchError) as error:
        findings.append(Finding("warning", step.id, "bad-instrument",
                                f"Instrument {record.id}: {error} The default one is used."))
        return usual, True


def _expected_for(step: ReadingStep, job: Job, instrument: Instrument, findings: list[Finding]) -> ExpectedRange | None:
    """Return the range that was typed, else what the circuit would show when healthy."""
    if step.expected is None or (step.expected.low is None and step.expected.high is None):
        try:
            return expected_on_circuit(step, job, instrument)
        except CircuitRangeError as error:
            findings.append(Finding("warning", step.id, "no-range-from-circuit", f"Step {step.id}: {error}"))
            return None
    try:
        return values.expected_of(replace(step.expected, source=step.expected.source or TYPED))
    except (RangeError, EntryError, UnknownUnitError, UnitMismatchError) as error:
        findings.append(Finding("error", step.id, "bad-expected-range", f"Step {step.id}, expected range: {error}"))
        return None


def _words_without_verdict(step: ReadingStep, expected: ExpectedRange | None, findings: list[Finding]) -> str:
    """Return why there is no verdict."""
    for finding in findings:
        if finding.severity == "error" or finding.key == "no-range-from-circuit":
            return finding.words
    if expected is None and isinstance(step, records.ValueStep):
        return "No verdict: no expected range: type one."
    return f"No verdict: {NO_EXPECTED_RANGE}."


# --- what a step without a number says ------------------------------------------------------------------------------


def _caveat(step: Step, job: Job) -> str:
    """Return what the result of a step without a number does not say."""
    comes_and_goes = any(complaint.appears == "comes and goes" for complaint in job.complaints)
    if isinstance(step, MovementStep) and not step.shown and comes_and_goes:
        return clean_trials_words(step.trials)
    if isinstance(step, records.LampStep) and (look := healthy_look(step, job)) and not step.after_repair:
        same = "as it would" if look == step.result else f"where it would be {look}"
        return f"The lamp was {step.result}, {same} in the healthy circuit."
    if isinstance(step, LookStep) and step.result == "nothing":
        return "A look sees only what lies open."
    return ""


def clean_trials_words(trials: int) -> str:
    """Return what a number of movements without the fault leaves possible, by the rule of three.

    After n clean trials the chance that the fault shows in one trial lies below 3/n with 95 % confidence. The exact
    bound, 1 − 0.05^(1/n), is a little lower; the rule errs on the careful side.

    References
    ----------
    .. [1] Hanley and Lippman-Hand, If nothing goes wrong, is everything all right?, JAMA 249 (1983) 1743 (from memory).
    """
    if trials <= 3:
        return (f"A fault that comes and goes is not cleared by {trials} clean "
                f"{'movement' if trials == 1 else 'movements'}: too few to say how often it could show.")
    percent = 300 / trials
    shown = f"{percent:.0f}" if percent >= 1 else f"{percent:.2g}"
    return (f"The fault could still show in up to about {shown} % of such movements; of other ways to "
            f"provoke it they say nothing (rule of three, 95 % confidence).")


def is_proved(step: Step, job: Job) -> bool | None:
    """Return whether the instrument was shown to work for a step; None if nobody said.

    What the step itself says counts; else an instrument that was proved earlier on the same working day.
    """
    if step.proved is not None:
        return step.proved
    for instrument in job.instruments:
        if instrument.id == step.instrument and instrument.last_proved and step.at:
            since = step.at - instrument.last_proved
            return True if timedelta(0) <= since <= PROVED_FOR else None
    return None


def needs_proof(step: Step) -> bool:
    """Return whether a step's instrument has to be shown to work: the trade's rule is about electrical testers."""
    return isinstance(step, records.VoltageStep | records.CurrentStep | records.ResistanceStep | records.LampStep)


def _proof_findings(step: Step, job: Job) -> Iterator[Finding]:
    """Yield that a result came from an instrument which was not shown to work."""
    if needs_proof(step) and not is_proved(step, job):
        yield Finding("note", step.id, "instrument-not-proved",
                      f"Step {step.id}: the instrument was not shown to work for this step, so a clear result weighs "
                      f"less.")


# --- for the terminal -----------------------------------------------------------------------------------------------


def as_json(evaluation: Evaluation, circuits: Sequence[dict[str, Any]] = ()) -> dict[str, Any]:
    """Return the evaluation as `evaluate --json` prints it; electrical values in V, A and ohm, nothing rounded.

    A reading over range has no value, one without an expected range no verdict: null in both cases.

    Parameters
    ----------
    evaluation : Evaluation
        The verdicts.
    circuits : sequence of dict
        What is still possible in each circuit (`suspicion_json.circuits_json`).
    """
    return {
        "job": evaluation.number,
        "readings": [_reading_json(reading) for reading in evaluation.readings],
        "circuits": list(circuits),
    }


def _reading_json(reading: JudgedReading) -> dict[str, Any]:
    entry, expected, judgement = reading.entry, reading.expected, reading.judgement
    unit = (entry.unit if entry else "") or (expected.unit if expected else _STEP_UNITS.get(type(reading.step), ""))
    shown = expected.in_unit(unit) if expected and judgement else expected
    return {
        "step": reading.step.id,
        "value": entry.value if entry else None,
        "unit": unit or None,
        "standard_uncertainty": reading.uncertainty.standard if reading.uncertainty else None,
        "expected": shown and {"low": shown.low, "high": shown.high, "unit": shown.unit, "source": shown.source},
        "probability_inside": judgement.probability_inside if judgement else None,
        "verdict": judgement.verdict.value if judgement else None,
    }
