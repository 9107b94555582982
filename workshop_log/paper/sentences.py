"""Facts of a job as sentences: nothing is said that no fact stands behind."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from workshop_log.exchange import records
from workshop_log.jobs import labels
from workshop_log.jobs.before_after import before_and_after, not_made_again
from workshop_log.jobs.case import current_cases
from workshop_log.jobs.money import approved, show_money
from workshop_log.measuring.entry import MINUS, show_entry
from workshop_log.measuring.verdict import Verdict
from workshop_log.paper.wording import bare, date_words, list_words, lower_first, say, sentence

if TYPE_CHECKING:
    from decimal import Decimal

    from workshop_log.exchange.records import Approval, Complaint, Condemned, FaultCode, Job, Part, Step
    from workshop_log.jobs.evaluation import Evaluation, JudgedReading
    from workshop_log.jobs.money import Totals

_DECIDED = ("replace", "repair")


def number_of(id_: str) -> str:
    """Return how a test step is called on paper: "s3" is test 3; any other id stays as it is."""
    return id_[1:] if re.fullmatch(r"s\d+", id_) else id_


def with_test_numbers(words: str) -> str:
    """Return a sentence that names steps by their ids with the numbers of the report's tests.

    "Steps s8 and s12" are tests 8 and 12; what was "cleared by s3, s4" was cleared by tests 3 and 4.
    """
    words = re.sub(r"\b(?<=cleared by )s\d+(?:, s\d+)*\b", _tests_named, words)
    if not re.search(r"\b[Ss]teps? s\d", words):
        return words
    words = re.sub(r"\bstep(s?)\b", r"test\1", re.sub(r"\bStep(s?)\b", r"Test\1", words))
    return re.sub(r"\bs(\d+)\b", r"\1", words)


def _tests_named(found: re.Match[str]) -> str:
    numbers = [number_of(step) for step in found[0].split(", ")]
    return say("trials.test" if len(numbers) == 1 else "trials.tests", tests=list_words(numbers))


def decided(job: Job) -> tuple[Condemned, ...]:
    """Return the parts that are condemned: to be replaced or repaired."""
    return tuple(entry for entry in current_cases(job) if entry.decision in _DECIDED)


def standing_steps(job: Job) -> tuple[Step, ...]:
    """Return the steps that no later step corrects."""
    replaced = {step.replaces for step in job.steps if step.replaces}
    return tuple(step for step in job.steps if step.id not in replaced)


# --- the complaint --------------------------------------------------------------------------------------------------


def complaint_words(complaint: Complaint) -> str:
    """Return when a complaint shows and whether it was confirmed."""
    words = []
    if complaint.appears:
        words.append(say("complaint.always" if complaint.appears == "always" else "complaint.comes_and_goes"))
    if complaint.conditions.strip():
        words.append(say("complaint.conditions", conditions=bare(lower_first(complaint.conditions))))
    if complaint.confirmed is not None:
        words.append(say("complaint.confirmed" if complaint.confirmed else "complaint.not_confirmed"))
    return " ".join(words)


def codes_words(codes: tuple[FaultCode, ...]) -> str:
    """Return the fault codes that were read out, in one sentence; blank without any."""
    if not codes:
        return ""
    each = []
    for code in codes:
        details = ", ".join(word for word in (code.state, code.unit, bare(code.note)) if word)
        each.append(f"{code.code} ({details})" if details else code.code)
    return say("complaint.codes", codes="; ".join(each))


# --- readings -------------------------------------------------------------------------------------------------------


def shown_reading(reading: JudgedReading) -> str:
    """Return a reading as a meter shows it; what is no reading stays as it was typed."""
    return show_entry(reading.entry) if reading.entry else reading.step.reading


def spoken_reading(reading: JudgedReading) -> str:
    """Return a reading to stand inside a sentence: what a meter shows beyond its range is told in words, too."""
    shown = shown_reading(reading)
    is_over = reading.entry is not None and reading.entry.is_over_range
    return say("spoken.over_range", reading=shown) if is_over else shown


def result_words(step: Step, evaluation: Evaluation) -> str:
    """Return what a step showed: its reading as a meter shows it, or its result in words."""
    reading = evaluation.reading_of(step.id)
    return shown_reading(reading) if reading else labels.step_result(step)


def verdict_words(step: Step, evaluation: Evaluation) -> str:
    """Return the verdict on a step's reading; blank where there is none."""
    reading = evaluation.reading_of(step.id)
    return reading.verdict.value if reading and reading.verdict else ""


def tally(job: Job, evaluation: Evaluation) -> str:
    """Return how many tests were made and what their readings were against their ranges."""
    steps = standing_steps(job)
    if not steps:
        return say("tally.no_tests")
    text = say("tally.one_test") if len(steps) == 1 else say("tally.tests", count=len(steps))
    verdicts = [r.verdict for r in evaluation.readings if not r.replaced and r.verdict]
    if not verdicts:
        return f"{text}."
    counted = [(key, verdicts.count(verdict)) for key, verdict in
               (("inside", Verdict.INSIDE), ("outside", Verdict.OUTSIDE), ("too_close", Verdict.TOO_CLOSE))]
    if len(verdicts) == 1:
        return f"{text}; {say('tally.readings_one', verdict=verdicts[0].value)}."
    held = say("tally.readings", count=len(verdicts))
    parts = ", ".join(say(f"tally.{key}", count=count) for key, count in counted if count)
    return f"{text}; {held}: {parts}."


def reason_sentence(step: Step, job: Job, evaluation: Evaluation) -> str:
    """Return what one test says, as a sentence that could be read aloud."""
    setup = labels.setup_words(step, job)
    number = say("why.test", number=number_of(step.id))
    start = number if setup == labels.AS_FOUND else say("why.test_while", test=number, setup=lower_first(bare(setup)))
    what = f"{start}: {spoken_title(step, job)}"
    reading = evaluation.reading_of(step.id)
    if reading is None:
        return say("why.result", what=what, result=bare(labels.step_result(step)))
    if reading.judgement is None:
        return say("why.reading_plain", what=what, reading=spoken_reading(reading))
    return say("why.reading", what=what, reading=spoken_reading(reading), expected=reading.judgement.expected.words(),
               verdict=reading.judgement.verdict.value)


def spoken_title(step: Step, job: Job) -> str:
    """Return what was tested, to stand inside a sentence: "the voltage from starter housing to B−"."""
    circuit = next((c for c in job.circuits if c.id == step.circuit), None)

    def name(element: str) -> str:
        return labels.element_words(element, circuit)

    match step:
        case records.VoltageStep() | records.ResistanceStep():
            return say(f"spoken.{labels.step_kind(step).lower()}", red=labels.point_words(step.red),
                       black=labels.point_words(step.black))
        case records.CurrentStep():
            return say("spoken.current", through=name(step.through))
        case records.ValueStep():
            return say("spoken.value_at" if step.where else "spoken.value", what=lower_first(step.what),
                       where=step.where)
        case records.LampStep():
            return say("spoken.lamp", clip=labels.point_words(step.clip), probe=labels.point_words(step.probe))
        case records.LookStep():
            return say("spoken.look", elements=list_words([name(one) for one in step.elements]))
        case records.MovementStep():
            return say("spoken.movement", elements=list_words([name(one) for one in step.elements]))
        case records.ObserveStep():
            return name(step.element)
        case _:
            return say("spoken.swap", element=name(step.element))


# --- what was found and done ----------------------------------------------------------------------------------------


def finding_sentences(job: Job) -> tuple[str, ...]:
    """Return what was found, condemned parts first."""
    entries = current_cases(job)
    sentences = [sentence(entry.finding) or say(f"found.{entry.decision}", part=bare(entry.part))
                 for entry in decided(job)]
    if not sentences:
        sentences.append(say("found.no_part"))
    for entry in entries:
        key = {"let off": "let_off", "considered": "considered"}.get(entry.decision)
        if key:
            bare_key = f"found.{key}" if entry.finding.strip() else f"found.{key}_bare"
            sentences.append(say(bare_key, part=bare(entry.part), finding=sentence(entry.finding)))
    return tuple(sentences)


def done_sentences(entry: Condemned, parts: tuple[Part, ...]) -> tuple[str, ...]:
    """Return what was done about a condemned part; nothing while nothing was."""
    sentences = []
    if entry.what_was_done.strip():
        sentences.append(sentence(entry.what_was_done))
    if entry.repaired:
        sentences.append(say("done.on", date=date_words(entry.repaired)))
    for part in parts:
        if part.condemned == entry.id and part.fitted and not part.returned:
            key = "done.fitted_number" if part.number else "done.fitted"
            sentences.append(say(key, part=part.name, number=part.number))
    if entry.was_the_cause is not None:
        sentences.append(say("done.was_the_cause" if entry.was_the_cause else "done.was_not_the_cause",
                             part=bare(entry.part)))
    return tuple(sentences)


def proof_sentence(job: Job, evaluation: Evaluation) -> str:
    """Return what the tests after the repair say; blank before any repair."""
    again = before_and_after(job, evaluation)
    if not again:
        return say("proof.missing") if any(entry.repaired for entry in decided(job)) else ""
    verdicts = [verdict_words(pair.after.step, evaluation) for pair in again]
    held = [verdict for verdict in verdicts if verdict]
    if not held:
        return say("proof.no_verdict")
    left = [number_of(reading.step.id) for reading in not_made_again(job, evaluation)]
    if left:
        return say("proof.some" if len(left) == 1 else "proof.some_many", tests=list_words(left))
    clear = held.count(Verdict.INSIDE.value)
    if clear == len(held):
        return say("proof.all_inside" if len(held) == len(verdicts) else "proof.all_readings_inside")
    return say("proof.not_all", count=len(held) - clear, total=len(held))


# --- money ----------------------------------------------------------------------------------------------------------


def rate_words(rate: Decimal) -> str:
    """Return a percentage without needless zeros: "20", "17.5"."""
    text = f"{rate:f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text).replace("-", MINUS)


def how_words(approval: Approval) -> str:
    """Return how the customer said it: "in person", "by telephone"."""
    return say(f"approvals.by.{approval.how.replace(' ', '_')}")


def cost_sentences(job: Job, totals: Totals) -> tuple[str, ...]:
    """Return what it costs, and what the customer agreed to."""
    sentences = []
    if not totals.lines:
        sentences.append(say("cost.none"))
    elif totals.tax or totals.tax_rate:
        sentences.append(say("cost.gross_tax", gross=show_money(totals.gross, totals.currency),
                             tax=show_money(totals.tax, totals.currency), rate=rate_words(totals.tax_rate)))
    else:
        sentences.append(say("cost.gross", gross=show_money(totals.gross, totals.currency)))
    last = approved(job)
    if last:
        facts = {"by": last.by, "how": how_words(last), "date": date_words(last.at)}
        sentences.append(say("cost.approved_open", **facts) if last.up_to is None else
                         say("cost.approved", up_to=show_money(last.up_to, totals.currency), **facts))
    sentences += [say("cost.open", question=lower_first(question)) for question in totals.open_questions]
    return tuple(sentences)
