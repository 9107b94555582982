"""The first page's answers: what was wrong, how we know, what was done, what it cost, what to watch.

Each question stands in the margin, its answer beside it, in this order and in plain words; everything else in the
report is there to be looked up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs.case import case_of
from workshop_log.jobs.money import show_money
from workshop_log.paper import sentences
from workshop_log.paper.case_section import sure_sentences
from workshop_log.paper.reasons import key_figures, telling_parts
from workshop_log.paper.sections import CAUTIONS, MONEY, UNTESTED, margin_heading
from workshop_log.paper.tables import CellTexts, shortened
from workshop_log.paper.text import Ref, Strong, para
from workshop_log.paper.wording import bare, list_words, say, sentence

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportlab.platypus import Flowable

    from workshop_log.paper.report_input import ReportInput
    from workshop_log.paper.text import Part

# A longer text is cut here and stands whole on the next page.
_LONGEST, _MOST_LINES = 620, 9
# As many parts are argued for on the first page, and as many untested things named.
_MOST_PARTS = 2
_MOST_UNTESTED, _LONGEST_UNTESTED = 3, 240


def answers(content: ReportInput, width: float) -> tuple[list[Flowable], list[Flowable]]:
    """Return the five answers, and in full for the next page what was too long for the first."""
    texts = CellTexts(_LONGEST, _MOST_LINES)
    made = [*_wrong(content, width, texts), *_known(content, width), *_done(content, width, texts),
            *_cost(content, width), *_watch(content, width, texts)]
    return made, texts.flowables()


def _answer(said: Iterable[str], texts: CellTexts, key: str, style: str = "answer") -> list[Flowable]:
    return [para(texts.fit(words, say(key)), style=style) for words in said if words.strip()]


def _wrong(content: ReportInput, width: float, texts: CellTexts) -> list[Flowable]:
    """Return what was found, the condemned parts first and larger than what was let off."""
    said = sentences.finding_sentences(content.job)
    first = max(1, len(sentences.decided(content.job)))
    return [*margin_heading("answers.wrong", width),
            *_answer(said[:first], texts, "answers.wrong", "answer lead"),
            *_answer([" ".join(said[first:])], texts, "answers.wrong")]


def _known(content: ReportInput, width: float) -> list[Flowable]:
    """Return the tests that tell most, how sure they make it, and what those after the repair say."""
    job, evaluation = content.job, content.evaluation
    made = margin_heading("answers.known", width)
    parts: list[Part] = []
    for entry in sentences.decided(job)[:_MOST_PARTS]:
        case = case_of(job, evaluation, entry, suspicion=content.suspicion_of(entry.circuit or ""),
                       decision=content.decisions.get(entry.id))
        parts += [*telling_parts(content, entry), " ".join(sure_sentences(case, content)), " "]
    parts.append(sentences.proof_sentence(job, evaluation))
    if not any(isinstance(part, Ref) or part.strip() for part in parts):
        parts = [sentences.tally(job, evaluation)]
    return [*made, para(*parts, style="answer"), *key_figures(content, width)]


def _done(content: ReportInput, width: float, texts: CellTexts) -> list[Flowable]:
    job = content.job
    told = (" ".join(sentences.done_sentences(entry, job.parts)) for entry in sentences.decided(job))
    said = [words for words in told if words] or [say("answers.nothing_done")]
    return [*margin_heading("answers.done", width), *_answer(said, texts, "answers.done")]


def _cost(content: ReportInput, width: float) -> list[Flowable]:
    """Return the total in bold, then what was agreed and what is still open."""
    totals = content.totals
    said = sentences.cost_sentences(content.job, totals)
    gross = show_money(totals.gross, totals.currency)
    parts: list[Part] = [" ".join(said)]
    if totals.lines and said[0].startswith(gross):
        parts = [Strong(gross), " ".join(said)[len(gross):]]
    if totals.lines:
        parts += [" ", Ref(say("answers.bill"), f"#{MONEY}"), "."]
    return [*margin_heading("answers.cost", width), para(*parts, style="answer")]


def _watch(content: ReportInput, width: float, texts: CellTexts) -> list[Flowable]:
    """Return what the customer should know from here on: what is unproved or untested, and which cautions applied."""
    job = content.job
    # The expert reads it, with everything else that is unproved, below the part.
    said = [say("why.unproved", words=sentence(entry.unproved)) for entry in sentences.decided(job)
            if entry.unproved.strip() and content.reader == "customer"]
    untested = [sentence(words) for words in job.not_tested if words.strip()]
    named = [shortened(words, _LONGEST_UNTESTED) for words in untested[:_MOST_UNTESTED]]
    said.append(" ".join(named))
    made = [*margin_heading("answers.watch", width), *_answer(said, texts, "answers.watch")]
    # Whole in a section of their own.
    if named != untested:
        made.append(para(say("answers.more_untested"), " ", Ref(say("not_tested.heading"), f"#{UNTESTED}"), ".",
                         style="answer"))
    if content.cautions:
        titles = list_words([bare(caution.title) for caution in content.cautions])
        made.append(para(say("answers.cautions", titles=titles), " (",
                         Ref(say("answers.what_to_mind"), f"#{CAUTIONS}"), ").", style="answer"))
    if not any(said) and not content.cautions:
        made.append(para(say("answers.nothing_to_watch"), style="answer"))
    return made
