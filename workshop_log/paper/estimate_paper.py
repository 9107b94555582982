"""The estimate for approval: the cheaper step first, the ways to go on beside each other, and where to sign."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs import labels
from workshop_log.jobs.estimating import cheaper_steps, ways
from workshop_log.jobs.money import approved, show_money
from workshop_log.paper import first_page, sentences, signing
from workshop_log.paper.sections import margin_heading
from workshop_log.paper.tables import CellTexts
from workshop_log.paper.text import Strong, para
from workshop_log.paper.ways_table import sign_table, ways_tables
from workshop_log.paper.wording import bare, date_words, lower_first, say, sentence

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Job
    from workshop_log.jobs.estimating import CheaperStep, Way
    from workshop_log.paper.paper_input import PaperInput
    from workshop_log.paper.text import Part
    from workshop_log.progress import Progress

# A longer finding is cut here and stands whole at the end.
_LONGEST, _MOST_LINES = 620, 9


def story(content: PaperInput, width: float, _progress: Progress) -> list[Flowable]:
    """Return the estimate from top to bottom."""
    job = content.job
    found, texts = ways(job, content.issued), CellTexts(_LONGEST, _MOST_LINES)
    to_sign = _to_sign(job, found)
    state = say("estimate.for_approval" if _is_open(job, found) else "estimate.answered")
    return [
        *signing.head(content, "estimate", f"{date_words(content.issued)}\n{state}", width),
        *first_page.complaint(content, width), *_known(content, width, texts), *_cheaper(content, width),
        *ways_tables(found, job, width, texts, with_whole=_is_open(job, found)), *_so_far(content, width),
        *(_ask(content, to_sign, found, width) if to_sign else []), *signing.terms(content, width), *texts.flowables()]


def _is_open(job: Job, found: tuple[Way, ...]) -> bool:
    """Return whether the customer still has to choose: nothing was agreed of it, and nothing was done."""
    is_done = job.handed_back is not None or any(entry.repaired for entry in sentences.decided(job))
    return not is_done and any(way.answer == "open" for way in found) and not any(
        way.answer == "agreed" for way in found)


def _to_sign(job: Job, found: tuple[Way, ...]) -> tuple[Way, ...]:
    """Return the ways that the customer may sign for: all that are open, or what was agreed and is not signed yet."""
    if _is_open(job, found):
        return tuple(way for way in found if way.answer == "open")
    if job.handed_back is not None:
        return ()
    return tuple(way for way in found if way.answer == "agreed" and way.approval.how != "signed")


def _known(content: PaperInput, width: float, texts: CellTexts) -> list[Flowable]:
    """Return what was found so far; nothing where no part was considered yet."""
    said = [words for words in sentences.finding_sentences(content.job) if words != say("found.no_part")]
    if not said:
        return []
    return [*margin_heading("estimate.known", width),
            *(para(texts.fit(words, say("estimate.known")), style="answer") for words in said)]


# --- the cheaper step first -----------------------------------------------------------------------------------------


def _cheaper(content: PaperInput, width: float) -> list[Flowable]:
    """Return the cheaper steps that are known, and what each would tell; nothing where none is."""
    steps = cheaper_steps(content.job, content.decisions)
    if not steps:
        return []
    currency = content.job.workshop.currency
    return [*margin_heading("estimate.step", width),
            *(para(*_step_parts(step, currency), style="answer lead" if not number else "answer")
              for number, step in enumerate(steps))]


def _step_parts(step: CheaperStep, currency: str) -> list[Part]:
    """Return a cheaper step as a paragraph: what, how long, for how much, what it would tell, what it may spare."""
    gross = show_money(step.gross, currency)
    spared = "" if step.spares_gross is None else show_money(step.spares_gross, currency)
    facts = {"minutes": labels.minutes_words(step.minutes), "gross": gross}
    if step.cause:
        spares = say("estimate.test_spares" if spared else "estimate.test_spares_unpriced", gross=spared,
                     part=bare(step.spares))
        words = [say("estimate.test", title=lower_first(bare(step.title)), **facts),
                 say("estimate.test_tells", cause=step.cause, chance=step.chance), spares]
    else:
        words = [say("estimate.work", title=bare(step.title), **facts), sentence(step.tells),
                 say("estimate.work_spares", title=bare(step.spares), gross=spared)]
    before, found, after = " ".join(word for word in words if word).partition(gross)
    return [before, Strong(found), after]


# --- so far, and what is asked --------------------------------------------------------------------------------------


def _so_far(content: PaperInput, width: float) -> list[Flowable]:
    """Return what is on the bill, what was agreed, and what is still open."""
    job, totals = content.job, content.totals
    currency = totals.currency
    if not totals.lines:
        said = [say("estimate.nothing_spent")]
    elif totals.tax or totals.tax_rate:
        said = [say("estimate.spent", gross=show_money(totals.gross, currency), tax=show_money(totals.tax, currency),
                    rate=sentences.rate_words(totals.tax_rate))]
    else:
        said = [say("estimate.spent_no_tax", gross=show_money(totals.gross, currency))]
    if approved(job) is None:
        said.append(say("estimate.none_agreed"))
    # The first of them is the bill, which was said in other words.
    said += sentences.cost_sentences(job, totals)[1:]
    return [*margin_heading("estimate.so_far", width), para(" ".join(said), style="answer")]


def _ask(content: PaperInput, to_sign: tuple[Way, ...], found: tuple[Way, ...], width: float) -> list[Flowable]:
    """Return what is asked of the customer, with the place for name, date and signature for each way."""
    is_open = _is_open(content.job, found)
    key = "estimate.confirm" if not is_open else "estimate.choose" if len(to_sign) > 1 else "estimate.choose_one"
    return [*margin_heading("estimate.ask", width),
            para(f"{say(key)} {say('estimate.deviations')}", style="answer"),
            sign_table(to_sign, content.job.workshop.currency, width, is_open)]
