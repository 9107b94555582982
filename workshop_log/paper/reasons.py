"""Why a part was condemned, short enough for the first page: the few tests that tell most, and their marks."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from workshop_log.jobs import labels
from workshop_log.jobs.before_after import before_and_after
from workshop_log.jobs.evaluation import JudgedReading
from workshop_log.measuring.verdict import Verdict
from workshop_log.paper import sentences
from workshop_log.paper.drawings import reading_glyph
from workshop_log.paper.narrowing import narrowing_of
from workshop_log.paper.narrowing_bars import bar_figure
from workshop_log.paper.narrowing_section import is_worth_telling, state_of
from workshop_log.paper.styles import ANSWER_INDENT
from workshop_log.paper.tables import shortened, side_by_side
from workshop_log.paper.text import Ref, para
from workshop_log.paper.wording import bare, lower_first, say, upper_first

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Condemned, Step
    from workshop_log.paper.report_input import ReportInput
    from workshop_log.paper.text import Part

# Readings outside their range that are named, and what else was seen.
_MOST_READINGS, _MOST_SEEN = 2, 1
# Marks before and after on the left, what was possible on the right, of the room beside the questions.
_MARKS_SHARE, _BETWEEN = 0.42, 16.0
_MARK_WIDTH, _MARK_HEIGHT = 84.0, 12.0


def anchor_of_test(content: ReportInput, step_id: str) -> str:
    """Return the name of the place where a test stands in the table of tests; blank where it does not stand there."""
    shown = content.job.steps if content.reader == "expert" else sentences.standing_steps(content.job)
    if all(step.id != step_id for step in shown):
        return ""
    # Numbered: an id may hold characters that no name of a place has.
    return f"test-{[step.id for step in content.job.steps].index(step_id)}"


def ref_to_test(content: ReportInput, step_id: str, *, begins: bool = False) -> Part:
    """Return "test 12" as a part of a sentence that leads to the test; with a capital where it `begins` one."""
    words = say("trials.test", tests=sentences.number_of(step_id))
    words = upper_first(words) if begins else words
    anchor = anchor_of_test(content, step_id)
    return Ref(words, f"#{anchor}") if anchor else words


def telling_parts(content: ReportInput, entry: Condemned) -> list[Part]:
    """Return the tests that speak most for a condemned part, each as a sentence that leads to it."""
    steps = {step.id: step for step in sentences.standing_steps(content.job)}
    named = [steps[id_] for id_ in entry.steps if id_ in steps]
    readings = {step.id: reading for step in named if (reading := content.evaluation.reading_of(step.id))}
    outside = sorted((reading for reading in readings.values() if reading.verdict is Verdict.OUTSIDE), key=_nearness)
    chosen = {reading.step.id for reading in outside[:_MOST_READINGS]}
    seen = [step for step in named if step.id not in readings]
    chosen |= {step.id for step in seen[:_MOST_SEEN if chosen else _MOST_READINGS]}
    parts: list[Part] = []
    setup = ""
    for step in named:
        if step.id not in chosen:
            continue
        # The condition is said once, before what was tested under it.
        now = "" if labels.setup_words(step, content.job) == labels.AS_FOUND else labels.setup_words(step, content.job)
        words = _told(step, content)
        if now and now != setup:
            words = f"{upper_first(shortened(lower_first(bare(now)), 120))}: {words}"
        elif parts and now == setup and now:
            words = say("answers.also", told=words)
        parts += [upper_first(words), " (", ref_to_test(content, step.id), "). "]
        setup = now
    return parts


def _nearness(reading: JudgedReading) -> float:
    """Return how near a reading is to its range, the furthest away first."""
    return -distance(reading)


def distance(reading: JudgedReading) -> float:
    """Return how far a reading lies beyond its limit, in sizes of that limit; endless where it is over range."""
    judgement, entry = reading.judgement, reading.entry
    if judgement is None or entry is None or entry.value is None:
        return math.inf
    expected = judgement.expected.in_unit(entry.unit or judgement.expected.unit)
    beyond = max(expected.low - entry.value if expected.low is not None else -math.inf,
                 entry.value - expected.high if expected.high is not None else -math.inf)
    size = max(abs(limit) for limit in (expected.low, expected.high) if limit is not None)
    return beyond / size if size else math.inf


def _told(step: Step, content: ReportInput) -> str:
    """Return what a test says: "the voltage from strap to body read 2.38 V, where at most 0.1 V is right"."""
    job, evaluation = content.job, content.evaluation
    what = shortened(sentences.spoken_title(step, job), 200)
    reading = evaluation.reading_of(step.id)
    if reading is None:
        return say("answers.seen", what=what, result=bare(labels.step_result(step)))
    shown = sentences.spoken_reading(reading)
    if reading.judgement is None:
        return say("answers.read_plain", what=what, reading=shown)
    return say("answers.read", what=what, reading=shown, expected=reading.judgement.expected.words())


# --- in marks -------------------------------------------------------------------------------------------------------


def key_figures(content: ReportInput, width: float) -> list[Flowable]:
    """Return the reading that tells most, before and after the repair, beside what was possible first and last."""
    from reportlab.platypus import Spacer

    room = width - ANSWER_INDENT
    marks_width = room * _MARKS_SHARE
    marks, bars = _marks(content, marks_width), _bars(content, room - marks_width - _BETWEEN)
    if marks and bars:
        row, widths = [["", marks, "", bars]], [ANSWER_INDENT, marks_width, _BETWEEN, room - marks_width - _BETWEEN]
    elif marks or bars:
        row, widths = [["", marks or _bars(content, room)]], [ANSWER_INDENT, room]
    else:
        return []
    return [Spacer(0, 3), side_by_side(row, widths), Spacer(0, 6)]


def _marks(content: ReportInput, width: float) -> list[Flowable]:
    """Return the key reading with its mark, and the same test after the repair below it."""
    pair = _key_pair(content)
    if pair is None:
        return []
    before, after = pair
    title = shortened(labels.step_title(before.step, content.job), 90)
    made: list[Flowable] = [para(title, style="cell faint")]
    for reading, key in ((before, "answers.before"), (after, "answers.after")):
        if reading is None:
            continue
        shown = sentences.shown_reading(reading)
        words = [para(say(key) if after else say("answers.found"), style="cell faint"),
                 para(shown, style="cell bold")]
        row = [words[0], words[1], reading_glyph(reading, shown, _MARK_WIDTH, _MARK_HEIGHT)]
        side = (width - _MARK_WIDTH) / 2
        made.append(side_by_side([row], [side, side, _MARK_WIDTH],
                                 [("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("TOPPADDING", (0, 0), (-1, -1), 2.5)]))
    return made


def _key_pair(content: ReportInput) -> tuple[JudgedReading, JudgedReading | None] | None:
    """Return the reading furthest outside its range that a condemned part rests on, and the same after the repair."""
    job, evaluation = content.job, content.evaluation
    named = {step for entry in sentences.decided(job) for step in entry.steps}
    again = {pair.before.step.id: pair.after for pair in before_and_after(job, evaluation)
             if isinstance(pair.after, JudgedReading) and pair.after.judgement}
    outside = [reading for reading in evaluation.readings
               if reading.step.id in named and reading.verdict is Verdict.OUTSIDE and not reading.replaced
               and not reading.step.after_repair]
    if not outside:
        return None
    made_again = [reading for reading in outside if reading.step.id in again]
    key = min(made_again or outside, key=_nearness)
    return key, again.get(key.step.id)


def _bars(content: ReportInput, width: float) -> list[Flowable]:
    """Return what was possible before the first test and what is left, in the first circuit that is worth telling."""
    from reportlab.platypus import Spacer

    for suspicion in content.suspicions:
        if not is_worth_telling(suspicion):
            continue
        narrowing = narrowing_of(suspicion, content.histories.get(suspicion.circuit, ()))
        if not narrowing.earlier:
            continue
        last = say(f"narrowing.bar.{state_of(content, suspicion)}")
        return [para(say("narrowing.before"), style="cell faint"), bar_figure(narrowing.earlier[0], width),
                Spacer(0, 2), para(last, style="cell faint"), bar_figure(narrowing.last, width)]
    return []
