"""Tests and readings: one row for each step, with its range glyph, its expected range and the verdict in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.exchange.records import LampStep
from workshop_log.jobs import labels
from workshop_log.jobs.circuit_ranges import reach_of_clear_test
from workshop_log.jobs.evaluation import is_proved
from workshop_log.measuring.entry import show
from workshop_log.paper import sentences
from workshop_log.paper.drawings import example_glyph, reading_glyph
from workshop_log.paper.glyph_geometry import COLOURS
from workshop_log.paper.reasons import anchor_of_test
from workshop_log.paper.sections import heading
from workshop_log.paper.tables import CellTexts, ruled_table, side_by_side
from workshop_log.paper.text import Anchor, Struck, para
from workshop_log.paper.wording import say, sentence, upper_first

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Step
    from workshop_log.jobs.evaluation import JudgedReading
    from workshop_log.paper.report_input import ReportInput

# Shares of the width: number, what and where, reading, mark, expected, verdict.
_SHARES = (0.06, 0.30, 0.135, 0.18, 0.205, 0.12)
_HEAD = ("tests.number", "tests.what", "tests.reading", "tests.mark", "tests.expected", "tests.verdict")
_RIGHT_COLUMN = 2
# Many clean movements need a sentence, not a number.
_SPAN_FROM, _SPAN_TO = 2, 3


def tests_and_readings(content: ReportInput, width: float) -> list[Flowable]:
    """Return the table of all test steps with its key; nothing where no test was made."""
    from reportlab.platypus import Spacer

    job = content.job
    is_expert = content.reader == "expert"
    standing = sentences.standing_steps(job)
    steps = job.steps if is_expert else standing
    if not steps:
        return []
    texts = CellTexts()
    rows = [_row(content, step, texts) for step in steps]
    # A result in words takes the room of the reading and its mark.
    spans = [("SPAN", (_SPAN_FROM, row), (_SPAN_TO, row)) for row, step in enumerate(steps, start=1)
             if content.evaluation.reading_of(step.id) is None]
    lefts = [("ALIGN", (_SPAN_FROM, row), (_SPAN_FROM, row), "LEFT") for _, (_, row), _ in spans]
    table = ruled_table([say(key) for key in _HEAD], rows, [width * share for share in _SHARES],
                        commands=[*spans, *lefts], row_headers=True)
    tally = para(sentences.tally(job, content.evaluation))
    made = [*heading("tests.heading", space=150), tally, *_key(width, is_expert), table, Spacer(0, 5)]
    corrected = len(job.steps) - len(standing)
    if corrected and not is_expert:
        made.append(para(say("tests.corrected_one") if corrected == 1 else say("tests.corrected", count=corrected),
                         style="faint"))
    defaults = sorted({r.instrument_words.rpartition(": ")[2] for r in content.evaluation.readings
                       if r.default_instrument})
    if is_expert and defaults:
        made.append(para(say("tests.default_used", words="; ".join(defaults)), style="faint"))
    return made + texts.flowables()


def _key(width: float, is_expert: bool) -> list[Flowable]:
    """Return how the marks are read: three examples with words."""
    from reportlab.platypus import Spacer

    row: list[Flowable] = []
    for value, uncertainty, verdict, words in (
            (0.5, 0.08, "inside", "tests.key_inside"), (1.45, 0.08, "outside", "tests.key_outside"),
            (0.97, 0.1, "too close to call", "tests.key_too_close")):
        row += [example_glyph(0.0, 1.0, value, uncertainty, verdict), para(say(words), style="cell faint")]
    third = width / 3
    key = side_by_side([row], [50, third - 50] * 3, [("RIGHTPADDING", (0, 0), (-1, -1), 6)])
    words = f"{say('tests.key_scale')} {say('tests.symbols')}" if is_expert else say("tests.key_scale")
    return [key, Spacer(0, 3), para(words, style="faint"), Spacer(0, 4)]


def _row(content: ReportInput, step: Step, texts: CellTexts) -> list[list[Flowable] | Flowable | str]:
    number = sentences.number_of(step.id)
    reading = content.evaluation.reading_of(step.id)
    replaced = next((later for later in content.job.steps if later.replaces == step.id), None)
    first = para(Anchor(anchor_of_test(content, step.id)), number, style="cell")
    what = _what_cell(content, step, replaced, texts)
    if reading is None:
        words = [para(upper_first(labels.step_result(step)), style="cell")]
        remark = content.evaluation.remark_of(step.id)
        if remark and remark.caveat:
            words.append(para(remark.caveat, style="cell faint"))
        return [first, what, words, "", "", ""]
    shown = sentences.shown_reading(reading)
    return [first, what, _reading_cell(content, reading, shown, replaced is not None), reading_glyph(reading, shown),
            _expected_cell(reading, texts), _verdict_cell(content, reading)]


def _what_cell(content: ReportInput, step: Step, replaced: Step | None, texts: CellTexts) -> list[Flowable]:
    """Return what was tested, under which condition, with what is to be said of it."""
    job = content.job
    number = sentences.number_of(step.id)
    further = say("tests.further", number=number)
    cell = [para(texts.fit(labels.step_title(step, job), further), style="cell")]
    setup = labels.setup_words(step, job)
    cell.append(para(texts.fit(f"{setup}, {say('tests.after_repair')}" if step.after_repair else setup, further),
                     style="cell faint"))
    if step.note.strip():
        cell.append(para(texts.fit(sentence(step.note), further), style="cell faint"))
    if step.replaces:
        cell.append(para(say("tests.replaces", number=sentences.number_of(step.replaces)), style="cell faint"))
    if replaced:
        key = "tests.replaced" if replaced.because.strip() else "tests.replaced_bare"
        words = say(key, number=sentences.number_of(replaced.id), because=sentence(replaced.because))
        cell.append(para(texts.fit(words, further), style="cell faint"))
    reading = content.evaluation.reading_of(step.id)
    told = reading or content.evaluation.remark_of(step.id)
    # What a lamp could have seen is short and plain; what a reading could have seen is for those who want to know.
    if told and (content.reader == "expert" or isinstance(step, LampStep)):
        reach = reach_of_clear_test(told, job)
        if reach:
            cell.append(para(texts.fit(say("tests.reach", reach=reach), further), style="cell faint"))
    if content.reader == "expert":
        if reading and reading.instrument_words:
            words = texts.fit(upper_first(sentence(reading.instrument_words)), further)
            cell.append(para(words, style="cell faint"))
        if step.proved is False or (step.instrument and is_proved(step, job) is None):
            cell.append(para(say("tests.not_proved"), style="cell faint"))
    return cell


def _reading_cell(content: ReportInput, reading: JudgedReading, shown: str, is_replaced: bool) -> list[Flowable]:
    cell = [para(Struck(shown) if is_replaced else shown, style="cell bold")]
    if content.reader == "expert" and reading.entry and reading.uncertainty and reading.uncertainty.standard:
        shown_u = show(reading.uncertainty.standard, reading.entry.unit, digits=2)
        cell.append(para(say("tests.uncertainty", uncertainty=shown_u), style="cell faint"))
    return cell


def _expected_cell(reading: JudgedReading, texts: CellTexts) -> list[Flowable]:
    if reading.expected is None:
        return [para(say("tests.none_held"), style="cell faint")]
    cell = [para(upper_first(reading.expected.words()), style="cell")]
    if reading.expected.source:
        further = say("tests.further", number=sentences.number_of(reading.step.id))
        cell.append(para(texts.fit(reading.expected.source, further), style="cell faint"))
    return cell


def _verdict_cell(content: ReportInput, reading: JudgedReading) -> list[Flowable]:
    if reading.judgement is None:
        return []
    verdict = reading.judgement.verdict.value
    cell = [para(upper_first(verdict), style="cell bold", colour=COLOURS["light"][verdict])]
    if content.reader == "expert":
        shown = probability_words(reading.judgement.probability_inside)
        cell.append(para(say("tests.probability", probability=shown), style="cell faint"))
    return cell


def probability_words(probability: float) -> str:
    """Return a probability in percent; the very small and very large ones as bounds, not as 0 or 100."""
    percent = probability * 100
    if percent < 0.1:
        return "< 0.1 %"
    if percent > 99.9:
        return "> 99.9 %"
    return f"= {percent:.1f} %" if percent < 10 or percent > 90 else f"= {percent:.0f} %"
