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
    from decimal import Decimal

    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Job
    from workshop_log.jobs.estimating import CheaperStep, Way
    from workshop_log.paper.paper_input import PaperInput
    from workshop_log.progress import Progress

# A longer finding is cut here and stands whole at the end.
_LONGEST, _MOST_LINES = 620, 9
# As many places to sign stay on one page with what is asked.
_SIGNED_TOGETHER = 6


def story(content: PaperInput, width: float, _progress: Progress) -> list[Flowable]:
    """Return the estimate from top to bottom."""
    job = content.job
    found, texts = ways(job, content.issued), CellTexts(_LONGEST, _MOST_LINES)
    is_open = _is_open(job, found)
    steps = cheaper_steps(job, content.decisions, content.issued) if is_open else ()
    state = say("estimate.for_approval" if is_open else "estimate.answered")
    return [
        *signing.head(content, "estimate", f"{date_words(content.issued)}\n{state}", width),
        *first_page.complaint(content, width, texts), *_known(content, width, texts), *_cheaper(steps, content, width),
        *ways_tables(found, job, width, texts, with_whole=is_open), *_so_far(content, width),
        *(_choose(found, steps, content, width) if is_open else _confirm(found, content, width)),
        *signing.terms(content, width), *texts.flowables()]


def _is_open(job: Job, found: tuple[Way, ...]) -> bool:
    """Return whether the customer still has to choose: nothing was agreed of it, and nothing was done."""
    is_done = job.handed_back is not None or any(entry.repaired for entry in sentences.decided(job))
    return not is_done and any(way.answer == "open" for way in found) and not any(
        way.answer == "agreed" for way in found)


def _known(content: PaperInput, width: float, texts: CellTexts) -> list[Flowable]:
    """Return what was found so far; nothing where no part was considered yet."""
    said = [words for words in sentences.finding_sentences(content.job) if words != say("found.no_part")]
    if not said:
        return []
    return [*margin_heading("estimate.known", width),
            *(para(texts.fit(words, say("estimate.known")), style="answer") for words in said)]


# --- the cheaper step first -----------------------------------------------------------------------------------------


def _cheaper(steps: tuple[CheaperStep, ...], content: PaperInput, width: float) -> list[Flowable]:
    """Return the cheaper steps that are known, and what each would tell; nothing where none is."""
    if not steps:
        return []
    made = margin_heading("estimate.step", width)
    for step in steps:
        first, after = _step_words(step, content.job.workshop.currency)
        before, gross, end = first.rpartition(show_money(step.gross, content.job.workshop.currency))
        made += [para(before, Strong(gross), end, style="answer lead"), para(after, style="answer")]
    return made


def _step_words(step: CheaperStep, currency: str) -> tuple[str, str]:
    """Return a cheaper step in words: what, how long, for how much; and what it would tell, what it may spare."""
    spared = "" if step.spares_gross is None else show_money(step.spares_gross, currency)
    facts = {"minutes": labels.minutes_words(step.minutes), "gross": show_money(step.gross, currency)}
    if not step.chance:
        after = [sentence(step.tells), say("estimate.work_spares", title=bare(step.spares), gross=spared)]
        return say("estimate.work", title=bare(step.title), **facts), " ".join(words for words in after if words)
    after = [say("estimate.test_tells", part=bare(step.spares), chance=step.chance),
             say("estimate.test_spares", gross=spared) if spared else say("estimate.test_spares_unpriced"),
             say("estimate.on_average", going_on=show_money(step.going_on, currency),
                 at_once=show_money(step.at_once, currency))]
    return say("estimate.test", title=lower_first(bare(step.title)), **facts), " ".join(after)


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


def _choose(found: tuple[Way, ...], steps: tuple[CheaperStep, ...], content: PaperInput,
            width: float) -> list[Flowable]:
    """Return what is asked of the customer, with the place for name, date and signature for each way."""
    # A step that is a way of the estimate has its number there.
    rows = [(say("estimate.first", title=step.title), step.whole) for step in steps if step.chance]
    rows += [(f"{way.number}  {way.totals.option.title}", way.whole) for way in found if way.answer == "open"]
    is_one = len(rows) == 1
    return _ask(say("estimate.choose_one" if is_one else "estimate.choose"), rows,
                say("estimate.not_this" if is_one else "estimate.none_of_these"), content, width)


def _confirm(found: tuple[Way, ...], content: PaperInput, width: float) -> list[Flowable]:
    """Return the place to sign for what was agreed, where it was not signed yet; nothing once the vehicle is back."""
    agreed = [way for way in found if way.answer == "agreed" and way.approval.how != "signed"]
    if content.job.handed_back is not None or not agreed:
        return []
    rows = [(f"{way.number}  {way.totals.option.title}", way.approval.up_to) for way in agreed]
    return _ask(say("estimate.confirm"), rows, "", content, width)


def _ask(words: str, rows: list[tuple[str, Decimal | None]], none: str, content: PaperInput,
         width: float) -> list[Flowable]:
    from reportlab.platypus import KeepTogether, Spacer

    asked = [*margin_heading("estimate.ask", width), para(f"{words} {say('estimate.deviations')}", style="answer"),
             sign_table(rows, content.job.workshop.currency, none, width)]
    return [*([KeepTogether(asked)] if len(rows) <= _SIGNED_TOGETHER else asked), Spacer(0, 8)]
