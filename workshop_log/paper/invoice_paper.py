"""The invoice summary: what was done, every line of the bill, tax, total, what was agreed, whether it is settled."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs import labels
from workshop_log.jobs.money import approved, show_money, standing_approvals
from workshop_log.measuring.entry import MINUS
from workshop_log.paper import sentences, signing
from workshop_log.paper.sections import heading, lines, margin_heading
from workshop_log.paper.sentences import rate_words
from workshop_log.paper.styles import accent
from workshop_log.paper.tables import SHORT_ROWS, CellTexts, amount, headed, ruled_table
from workshop_log.paper.text import Strong, para
from workshop_log.paper.wording import date_words, say, sentence, time_words

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Approval
    from workshop_log.jobs.money import BillLine
    from workshop_log.paper.paper_input import PaperInput
    from workshop_log.progress import Progress

# A longer text is cut here and stands whole at the end.
_LONGEST, _MOST_LINES = 620, 9


def story(content: PaperInput, width: float, _progress: Progress) -> list[Flowable]:
    """Return the invoice summary from top to bottom."""
    texts = CellTexts(_LONGEST, _MOST_LINES)
    beside = f"{date_words(content.issued)}\n{_state(content)}"
    return [*signing.head(content, "invoice", beside, width), *_done(content, width, texts), *_cost(content, width),
            *_lines(content, width), *_agreed(content, width), *signing.terms(content, width),
            *texts.flowables()]


def _state(content: PaperInput) -> str:
    if content.job.settled:
        return say("invoice.settled", date=date_words(content.job.settled))
    return say("invoice.not_final" if content.totals.open_questions else "invoice.not_settled")


def _done(content: PaperInput, width: float, texts: CellTexts) -> list[Flowable]:
    """Return what was done about each condemned part; that nothing was, where nothing was."""
    job = content.job
    told = (" ".join(sentences.done_sentences(entry, job.parts)) for entry in sentences.decided(job))
    said = [words for words in told if words] or [say("answers.nothing_done")]
    return [*margin_heading("invoice.done", width, is_ruled=False),
            *(para(texts.fit(words, say("invoice.done")), style="answer") for words in said)]


def _cost(content: PaperInput, width: float) -> list[Flowable]:
    """Return the total, how it stands to what was agreed, what this paper is not, and what is not decided yet."""
    totals = content.totals
    key = "invoice.altogether" if totals.tax or totals.tax_rate else "invoice.altogether_no_tax"
    words = say(key, tax=show_money(totals.tax, totals.currency), rate=rate_words(totals.tax_rate))
    settled = content.job.settled
    state = say("invoice.was_settled", date=date_words(settled)) if settled else say("invoice.to_pay")
    made = [*margin_heading("invoice.cost", width),
            para(Strong(show_money(totals.gross, totals.currency)), words, style="answer lead"),
            para(" ".join(filter(None, (state, _against_agreed(content), say("invoice.summary")))), style="answer")]
    open_ = [say("cost.open", question=sentence(question)) for question in totals.open_questions]
    return [*made, *lines(open_, style="answer")]


# --- line by line ---------------------------------------------------------------------------------------------------


def _lines(content: PaperInput, width: float) -> list[Flowable]:
    """Return every line of the bill with net, tax by its rate, and total."""
    from reportlab.platypus import Spacer

    totals = content.totals
    currency, rate = totals.currency, rate_words(totals.tax_rate)
    has_tax = bool(totals.tax or totals.tax_rate)
    numbers = iter([part.number for part in content.job.parts if part.returned is None])
    rows = [_row(line, currency, rate if has_tax else "", next(numbers) if line.kind == "part" else "")
            for line in totals.lines]
    sums = [(say("money.net_total"), totals.net, "cell"),
            (say("invoice.tax", rate=rate, net=show_money(totals.net, currency)), totals.tax, "cell"),
            (say("money.gross"), totals.gross, "total")]
    first = len(rows) + 1
    # A large total needs more room than a line's amount.
    rows += [[para(name, style=f"{style} right"), "", "",
              amount(value, currency, f"{style} right"), ""] for name, value, style in (sums if has_tax else sums[2:])]
    last = len(rows)
    # A line more than the last one, where both are short enough for any page.
    together = max(1, first - 2) if sum(len(line.what) for line in totals.lines[-2:]) < SHORT_ROWS / 3 else first - 1
    commands = [("NOSPLIT", (0, together), (0, last)), ("LINEBELOW", (0, first), (-1, last), 0.4, "white"),
                ("LINEABOVE", (0, first), (-1, first), 0.7, accent()), ("TOPPADDING", (0, first), (-1, last), 3),
                ("BOTTOMPADDING", (0, first), (-1, last), 1),
                ("RIGHTPADDING", (3, first), (3, last), 0),
                *(("SPAN", (0, row), (2, row)) for row in range(first, last + 1)),
                *(("SPAN", (3, row), (4, row)) for row in range(first, last + 1))]
    head = [say("money.what"), say("money.quantity"), say("money.price"), say("invoice.tax_rate"), say("money.net")]
    table = ruled_table(head, rows, [width * share for share in (0.39, 0.14, 0.21, 0.08, 0.18)],
                        right=frozenset({1, 2, 3, 4}), commands=commands)
    return [*headed(heading("invoice.lines", space=150), table, len(totals.lines)), Spacer(0, 5)]


def _row(line: BillLine, currency: str, rate: str, number: str) -> list[object]:
    """Return a line of the bill: labour by the hour as charged, parts by the piece."""
    price = "" if line.price is None or line.kind == "other" else show_money(line.price, currency)
    quantity = ""
    if line.kind == "labour":
        quantity, price = labels.minutes_words(float(line.quantity)), price and say("money.each_hour", price=price)
    elif line.kind == "part":
        quantity = f"{line.quantity.normalize():f}".replace("-", MINUS)
    what = [para(line.what, style="cell")]
    if number.strip():
        what.append(para(say("invoice.part_number", number=number), style="cell faint"))
    return [what, para(quantity, style="cell right"), para(price, style="cell right"),
            para(f"{rate} %" if rate else "", style="cell right"),
            amount(line.net, currency)]


# --- what was agreed ------------------------------------------------------------------------------------------------


def _agreed(content: PaperInput, width: float) -> list[Flowable]:
    """Return each amount that was agreed to or refused."""
    from reportlab.platypus import Spacer

    job, totals, texts = content.job, content.totals, CellTexts()
    said = standing_approvals(job)
    if not said:
        return []
    rows = [[para(time_words(a.at), style="cell"), para(a.by, style="cell"),
             para(sentences.how_words(a), style="cell"),
             para(texts.fit(_for_way(a, content), time_words(a.at)), style="cell"),
             para(_up_to(a, totals.currency), style="cell right")] for a in said]
    head = [say(f"approvals.{key}") for key in ("when", "who", "how", "words", "up_to")]
    table = ruled_table(head, rows, [width * share for share in (0.21, 0.17, 0.13, 0.35, 0.14)], right=frozenset({4}))
    return [*headed(heading("invoice.agreed", space=150), table, len(rows)), Spacer(0, 5), *texts.flowables()]


def _against_agreed(content: PaperInput) -> str:
    """Return how the bill stands to the amount that was agreed last; blank where there is none."""
    totals, last = content.totals, approved(content.job)
    if not last or last.up_to is None or not totals.lines:
        return ""
    over = totals.gross - last.up_to
    return say("invoice.beyond" if over > 0 else "invoice.within", up_to=show_money(last.up_to, totals.currency),
               over=show_money(over, totals.currency))


def _for_way(approval: Approval, content: PaperInput) -> str:
    title = next((option.title for option in content.job.estimate if option.id == approval.option), "")
    return " ".join(words for words in (say("invoice.for_way", title=title) if title else "", approval.words) if words)


def _up_to(approval: Approval, currency: str) -> str:
    if not approval.agreed:
        return say("approvals.refused")
    return say("approvals.no_limit") if approval.up_to is None else show_money(approval.up_to, currency)

