"""Proving the repair: the same tests before and after it, and the clean trials of a fault that comes and goes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs.before_after import (
    CERTAINTY,
    are_clean_trials_missing,
    before_and_after,
    clean_trials,
)
from workshop_log.measuring.showing import NO_BREAK_SPACE
from workshop_log.paper import sentences
from workshop_log.paper.drawings import reading_glyph
from workshop_log.paper.sections import heading, lines
from workshop_log.paper.tables import CellTexts, headed, ruled_table
from workshop_log.paper.text import para
from workshop_log.paper.wording import list_words, say, upper_first

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Job, Step
    from workshop_log.jobs.before_after import BeforeAfter, CleanTrials
    from workshop_log.jobs.evaluation import Evaluation
    from workshop_log.paper.report_input import ReportInput


def proof(content: ReportInput, width: float) -> list[Flowable]:
    """Return the same tests before and after the repair, side by side, and what the clean trials say."""
    from reportlab.platypus import Spacer

    job, evaluation = content.job, content.evaluation
    said = sentences.proof_sentence(job, evaluation)
    if not said:
        return []
    made = [*heading("proof.heading", space=175), para(said)]
    again = before_and_after(job, evaluation)
    if again:
        texts = CellTexts()
        rows = [_proof_row(content, pair, texts) for pair in again]
        side = 0.31
        table = ruled_table([say("proof.test"), say("proof.before"), say("proof.after")], rows,
                            [width * (1 - 2 * side), width * side, width * side], row_headers=True)
        made = headed(made, table, len(rows))
        made += texts.flowables()
    trials = lines(trials_sentences(job, evaluation))
    return [*made, Spacer(0, 6), *trials] if again and trials else [*made, *trials]


def _proof_row(content: ReportInput, pair: BeforeAfter, texts: CellTexts) -> list[list[Flowable]]:
    further = say("tests.further", number=_number(pair.after.step))
    setup = texts.fit(pair.setup, further)
    held = content.evaluation.reading_of(pair.after.step.id)
    if held and held.judgement:
        setup = say("proof.expected", setup=setup, expected=held.judgement.expected.words())
    cell = [para(texts.fit(pair.title, further), style="cell"), para(setup, style="cell faint")]
    return [cell, _proof_cell(content, pair.before.step), _proof_cell(content, pair.after.step)]


def _proof_cell(content: ReportInput, step: Step) -> list[Flowable]:
    """Return a result with its glyph and verdict."""
    shown = sentences.result_words(step, content.evaluation)
    reading = content.evaluation.reading_of(step.id)
    cell = [para(upper_first(shown), style="cell bold")]
    glyph = reading_glyph(reading, shown, width=112, height=13) if reading else ""
    if glyph:
        cell.append(glyph)
    verdict = sentences.verdict_words(step, content.evaluation)
    label = say("proof.test_number", number=_number(step))
    cell.append(para(f"{label}: {verdict}" if verdict else label, style="cell faint"))
    return cell


def _number(step: Step) -> str:
    return sentences.number_of(step.id)


# --- a fault that comes and goes ------------------------------------------------------------------------------------


def trials_sentences(job: Job, evaluation: Evaluation) -> tuple[str, ...]:
    """Return for each movement that had shown the fault how often it did after the repair, and whether it is enough."""
    tried = clean_trials(job, evaluation)
    pairs = before_and_after(job, evaluation)
    is_proved = any(one.is_enough for one in tried)
    said = []
    for one in tried:
        early = tuple(pair.after.step.id for pair in pairs
                      if pair.before.step.id in one.before and pair.after.step.id not in one.after)
        said.append(_trials_words(one, early, job, is_proved=is_proved))
    if are_clean_trials_missing(job, evaluation) and not any(one.shown_again for one in tried):
        said.append(say("trials.not_enough"))
    return tuple(said)


def _trials_words(tried: CleanTrials, early: tuple[str, ...], job: Job, *, is_proved: bool) -> str:
    """Return one movement in a sentence; one that was not tried again is only named where another one is enough.

    `early` are the tests that were made again before the repair was finished.
    """
    step = next(step for step in job.steps if step.id == tried.before[0])
    facts = {"moving": upper_first(sentences.spoken_title(step, job)), "shown": tried.shown,
             "trials": _counted("movements", tried.trials), "before": _tests_words(tried.before),
             "clean": _counted("clean", tried.needed), "sure": f"{CERTAINTY * 100:.0f}{NO_BREAK_SPACE}%"}
    if tried.after:
        facts |= {"made": _counted("movements", tried.made), "after": _tests_words(tried.after)}
    if tried.shown_again:
        return say("trials.again", times=_counted("times", tried.shown_again), **facts)
    if tried.is_enough:
        return say("trials.enough", **facts)
    if tried.made:
        return say("trials.few", **facts)
    if early:
        return say("trials.early", early=_tests_words(early), **facts)
    return say("trials.left_out" if is_proved else "trials.none", **facts)


def _counted(key: str, count: int) -> str:
    return say(f"trials.{key}_one" if count == 1 else f"trials.{key}_many", count=count)


def _tests_words(steps: tuple[str, ...]) -> str:
    numbers = [sentences.number_of(step) for step in steps]
    return say("trials.test" if len(numbers) == 1 else "trials.tests", tests=list_words(numbers))
