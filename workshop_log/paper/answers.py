"""The first page's answers: what was wrong, how we know, what was done, what it cost, what to watch.

Each question stands in the margin, its answer beside it, in this order and in plain words; everything else in the
report is there to be looked up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.jobs.case import case_of
from workshop_log.jobs.money import show_money
from workshop_log.paper import sentences
from workshop_log.paper.case_section import sure_sentences
from workshop_log.paper.reasons import key_figures, telling_parts
from workshop_log.paper.sections import CAUTIONS, MONEY, UNTESTED, margin_heading
from workshop_log.paper.tables import CellTexts, height_of, shortened
from workshop_log.paper.text import Ref, Strong, para
from workshop_log.paper.wording import bare, list_words, say, sentence

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportlab.platypus import Flowable

    from workshop_log.paper.report_input import ReportInput
    from workshop_log.paper.text import Part


@dataclass(frozen=True, slots=True)
class _Brevity:
    """How much the first page says, so that all five answers stand on it.

    Attributes
    ----------
    lead, longest : int
        What was found, and any other text, is cut here and stands whole on the next page. [characters]
    has_parts : bool
        Whether the fitted parts are named; they stand on the bill.
    cases : int
        As many condemned parts are argued for.
    untested, longest_untested : int
        As many untested things are named, each cut at so many characters.
    has_figures : bool
        Whether the reading that tells most is drawn.
    parts : int
        Of as many condemned parts it is said what was wrong, what was done and what is unproved; of further ones
        on the next page.
    """

    lead: int
    longest: int
    has_parts: bool
    cases: int
    untested: int
    longest_untested: int
    has_figures: bool
    parts: int = 12

# About as many go into a line beside the questions.
_CHARACTERS_OF_A_LINE = 70
# From the fullest to the shortest.
_BREVITIES = (
    _Brevity(620, 620, True, 2, 3, 240, True), _Brevity(620, 620, False, 2, 2, 120, True),
    _Brevity(420, 420, False, 1, 2, 120, True, 6), _Brevity(420, 280, False, 1, 1, 100, True, 4),
    _Brevity(280, 200, False, 1, 1, 80, True, 3), _Brevity(200, 160, False, 1, 1, 80, False, 2),
    _Brevity(160, 100, False, 1, 1, 80, False, 1))


def answers(content: ReportInput, width: float, room: float) -> tuple[list[Flowable], list[Flowable]]:
    """Return the five answers, and in full for the next page what was too long for the first.

    They are told as fully as goes into `room`, a height in points; where the shortest do not, they go on overleaf.
    """
    for brevity in _BREVITIES:
        made, in_full = _told(content, width, brevity)
        if height_of(made, width) <= room:
            break
    return made, in_full


def _told(content: ReportInput, width: float, brevity: _Brevity) -> tuple[list[Flowable], list[Flowable]]:
    leads, texts = _cut_at(brevity.lead), _cut_at(brevity.longest)
    made = [*_wrong(content, width, leads, texts, brevity), *_known(content, width, brevity),
            *_done(content, width, texts, brevity), *_cost(content, width), *_watch(content, width, texts, brevity)]
    return made, leads.flowables() + texts.flowables()


def _cut_at(longest: int) -> CellTexts:
    """Return what cuts texts of more characters, or of more lines than so many characters take."""
    return CellTexts(longest, max(2, longest // _CHARACTERS_OF_A_LINE))


def _answer(said: Iterable[str], texts: CellTexts, key: str, style: str = "answer", most: int = 12) -> list[Flowable]:
    """Return the first `most` of what is said, and that there is more, which goes to `texts`."""
    said = [words for words in said if words.strip()]
    made = [para(texts.fit(words, say(key)), style=style) for words in said[:most]]
    more = said[most:]
    if more:
        texts.kept += [(say(key), words.strip()) for words in more]
        count = say("answers.more_one") if len(more) == 1 else say("answers.more_many", count=len(more))
        made.append(para(count, style="answer"))
    return made


def _wrong(content: ReportInput, width: float, leads: CellTexts, texts: CellTexts,
           brevity: _Brevity) -> list[Flowable]:
    """Return what was found, the condemned parts first and larger than what was let off."""
    said = sentences.finding_sentences(content.job)
    first = max(1, len(sentences.decided(content.job)))
    return [*margin_heading("answers.wrong", width),
            *_answer(said[:first], leads, "answers.wrong", "answer lead", brevity.parts),
            *_answer([" ".join(said[first:])], texts, "answers.wrong")]


def _known(content: ReportInput, width: float, brevity: _Brevity) -> list[Flowable]:
    """Return the tests that tell most, how sure they make it, and what those after the repair say."""
    job, evaluation = content.job, content.evaluation
    made = margin_heading("answers.known", width)
    parts: list[Part] = []
    for entry in sentences.decided(job)[:brevity.cases]:
        case = case_of(job, evaluation, entry, suspicion=content.suspicion_of(entry.circuit or ""),
                       decision=content.decisions.get(entry.id))
        parts += [*telling_parts(content, entry), " ".join(sure_sentences(case, content)), " "]
    parts.append(sentences.proof_sentence(job, evaluation))
    if not any(isinstance(part, Ref) or part.strip() for part in parts):
        parts = [sentences.tally(job, evaluation)]
    figures = key_figures(content, width) if brevity.has_figures else []
    return [*made, para(*parts, style="answer"), *figures]


def _done(content: ReportInput, width: float, texts: CellTexts, brevity: _Brevity) -> list[Flowable]:
    job = content.job
    fitted = job.parts if brevity.has_parts else ()
    told = (" ".join(sentences.done_sentences(entry, fitted)) for entry in sentences.decided(job))
    said = [words for words in told if words] or [say("answers.nothing_done")]
    return [*margin_heading("answers.done", width), *_answer(said, texts, "answers.done", most=brevity.parts)]


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


def _watch(content: ReportInput, width: float, texts: CellTexts, brevity: _Brevity) -> list[Flowable]:
    """Return what the customer should know from here on: what is unproved or untested, and which cautions applied."""
    job = content.job
    # The expert reads it, with everything else that is unproved, below the part.
    said = [say("why.unproved", words=sentence(entry.unproved)) for entry in sentences.decided(job)
            if entry.unproved.strip() and content.reader == "customer"]
    made = [*margin_heading("answers.watch", width), *_answer(said, texts, "answers.watch", most=brevity.parts),
            *_untested(content, brevity)]
    if content.cautions:
        titles = list_words([bare(caution.title) for caution in content.cautions])
        made.append(para(say("answers.cautions", titles=titles), " (",
                         Ref(say("answers.what_to_mind"), f"#{CAUTIONS}"), ").", style="answer"))
    if not said and not job.not_tested and not content.cautions:
        made.append(para(say("answers.nothing_to_watch"), style="answer"))
    return made


def _untested(content: ReportInput, brevity: _Brevity) -> list[Flowable]:
    """Return what was not tested; cut where it is long, because it stands whole in a section of its own."""
    untested = [sentence(words) for words in content.job.not_tested if words.strip()]
    named = [shortened(words, brevity.longest_untested) for words in untested[:brevity.untested]]
    parts: list[Part] = [" ".join(named)]
    if named != untested:
        parts += [" ", say("answers.more_untested"), " ", Ref(say("not_tested.heading"), f"#{UNTESTED}"), "."]
    return [para(*parts, style="answer")] if untested else []
