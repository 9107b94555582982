"""The ways to go on: beside each other with what each comes to, and below each other to be signed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs import labels
from workshop_log.jobs.money import round_money, show_money
from workshop_log.paper.sections import margin_heading
from workshop_log.paper.sentences import how_words, rate_words
from workshop_log.paper.signing import SIGNING_HEIGHT
from workshop_log.paper.styles import ANSWER_INDENT, FAINT, HAIRLINE, RULE, accent
from workshop_log.paper.tables import amount, ruled_table, shortened
from workshop_log.paper.text import para
from workshop_log.paper.wording import date_words, say

if TYPE_CHECKING:
    from decimal import Decimal

    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Job
    from workshop_log.jobs.estimating import Way
    from workshop_log.paper.tables import CellTexts

# So many ways stand beside each other; further ones in a table of their own below.
_BESIDE = 3
# No column is wider than a sentence reads well and an amount is found. [pt]
_WIDEST = 200.0
_BETWEEN = 14.0
_LONGEST_TITLE = 110


def ways_tables(found: tuple[Way, ...], job: Job, width: float, texts: CellTexts, *,
                with_whole: bool) -> list[Flowable]:
    """Return the ways beside each other, the cheapest first; with what the whole job comes to where it is asked."""
    from reportlab.platypus import KeepTogether, Spacer

    made, title = [], "estimate.ways" if len(found) > 1 else "estimate.way"
    for first in range(0, len(found), _BESIDE):
        above = [Spacer(0, 9)] if first else margin_heading(title, width)
        # An amount is not read apart from what it is for.
        made.append(KeepTogether([*above, _table(found[first:first + _BESIDE], job, width, texts, with_whole)]))
    return made


def _table(shown: tuple[Way, ...], job: Job, width: float, texts: CellTexts, with_whole: bool) -> Flowable:
    currency, rate = job.workshop.currency, job.workshop.tax_rate
    has_tax = any(way.totals.tax for way in shown) or bool(rate)

    def amounts(key: str, values: list[Decimal], style: str = "cell right", **facts: object) -> list[object]:
        return [_name(say(f"estimate.{key}", **facts)),
                *(amount(value, currency, style) for value in values)]

    rows = [
        [_name(say("estimate.what")), *(para(texts.fit(way.totals.option.title, _further(way)), style="cell bold")
                                        for way in shown)],
        [_name(say("estimate.tells")), *(para(texts.fit(way.totals.option.tells, _further(way)), style="cell")
                                         for way in shown)],
        [_name(say("estimate.time")), *(para(labels.minutes_words(float(way.totals.option.labour_minutes)),
                                             style="cell right") for way in shown)],
        amounts("labour", [way.totals.labour_net for way in shown]),
        amounts("parts", [round_money(way.totals.option.parts, currency) for way in shown])]
    if any(way.totals.option.other for way in shown):
        rows.append(amounts("other", [round_money(way.totals.option.other, currency) for way in shown]))
    last_item = len(rows)
    if has_tax:
        rows.append(amounts("net", [way.totals.net for way in shown]))
        rows.append(amounts("tax", [way.totals.tax for way in shown], rate=rate_words(rate)))
    rows.append(amounts("gross", [way.totals.gross for way in shown], "total right"))
    gross = len(rows)
    if with_whole:
        rows.append(amounts("whole", [way.whole for way in shown], "cell bold right"))
    if any(way.approval for way in shown):
        rows.append([_name(say("estimate.answer")),
                     *(para(texts.fit(_answer(way, currency, with_whole), _further(way)), style="cell")
                       for way in shown)])
    column = min((width - ANSWER_INDENT) / len(shown), _WIDEST)
    # The next section brings its own line.
    unruled = frozenset({*range(1, gross), len(rows)}) - {2, last_item}
    # What a way consists of stands closer together than what it is.
    tight = [("TOPPADDING", (0, 3), (-1, gross), 2), ("BOTTOMPADDING", (0, 3), (-1, gross), 2),
             ("TOPPADDING", (0, 3), (-1, 3), 5), ("BOTTOMPADDING", (0, last_item), (-1, last_item), 5),
             ("BOTTOMPADDING", (0, gross), (-1, gross), 5), ("VALIGN", (0, 3), (-1, gross), "BOTTOM"),
             ("BOTTOMPADDING", (0, 0), (-1, 0), 5),
             ("RIGHTPADDING", (0, 0), (-2, -1), _BETWEEN), ("NOSPLIT", (0, 3), (0, len(rows))),
             ("LINEABOVE", (1, gross), (-1, gross), 0.7, accent())]
    head = ["", *(say("estimate.number", number=way.number) for way in shown)]
    return ruled_table(head, rows, [ANSWER_INDENT, *[column] * len(shown)], commands=tight, row_headers=True,
                       unruled=unruled)


def _name(words: str) -> Flowable:
    return para(words, style="cell", colour=FAINT)


def _further(way: Way) -> str:
    return say("estimate.further", number=way.number)


def _answer(way: Way, currency: str, is_open: bool) -> str:
    """Return what the customer said to a way, by whom, how and when."""
    approval = way.approval
    if approval is None:
        return say("estimate.open" if is_open else "estimate.not_chosen")
    facts = {"by": approval.by, "how": how_words(approval),
             "date": date_words(approval.at)}
    if not approval.agreed:
        return say("estimate.refused", **facts)
    if approval.up_to is None:
        return say("estimate.agreed_open", **facts)
    return say("estimate.agreed", up_to=show_money(approval.up_to, currency), **facts)


def sign_table(to_sign: list[tuple[str, Decimal | None]], currency: str, none: str, width: float) -> Flowable:
    """Return a row with room for name, date and signature for each choice, and one for none of them.

    Each choice has its words and its amount, None being without a limit. `none` is the words for none of them; blank
    where there is nothing to refuse.
    """
    rows = [[para(shortened(words, _LONGEST_TITLE), style="cell bold"),
             para(say("estimate.no_limit"), style="cell bold right") if up_to is None
             else amount(up_to, currency, "cell bold right"), "", "", ""] for words, up_to in to_sign]
    if none:
        rows.append([para(none, style="cell"), "", "", "", ""])
    head = [say("estimate.sign_way"), say("estimate.up_to"), say("sign.name"), say("sign.date"), say("sign.signature")]
    shares = (0.25, 0.18, 0.22, 0.12, 0.23)
    return ruled_table(head, rows, [width * share for share in shares], right=frozenset({1}), row_headers=True,
                       commands=[("BOTTOMPADDING", (0, 1), (-1, -1), SIGNING_HEIGHT - 8),
                                 ("TOPPADDING", (0, 1), (-1, -1), 6), ("LEFTPADDING", (2, 0), (-1, -1), 6),
                                 ("LINEBEFORE", (2, 1), (-1, -1), HAIRLINE, RULE)])
