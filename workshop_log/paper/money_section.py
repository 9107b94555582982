"""Time, parts and total: the bill as it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs import labels
from workshop_log.jobs.money import show_money
from workshop_log.measuring.entry import MINUS
from workshop_log.paper.sections import MONEY, heading, lines
from workshop_log.paper.sentences import rate_words
from workshop_log.paper.styles import accent
from workshop_log.paper.tables import SHORT_ROWS, headed, ruled_table
from workshop_log.paper.text import para
from workshop_log.paper.wording import say, sentence

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.jobs.money import BillLine, Totals
    from workshop_log.paper.report_input import Reader, ReportInput


def time_and_parts(content: ReportInput, width: float) -> list[Flowable]:
    """Return the lines of the bill with net, tax and total."""
    from reportlab.platypus import Spacer

    totals = content.totals
    if not totals.lines:
        return []
    currency = totals.currency
    rows = [_row(line, currency) for line in totals.lines]
    sums = [(say("money.net_total"), totals.net, "cell"),
            (say("money.tax", rate=rate_words(totals.tax_rate)), totals.tax, "cell"),
            (say("money.gross"), totals.gross, "total")]
    if not totals.tax and not totals.tax_rate:
        sums = sums[2:]
    rows += [["", "", para(name, style=f"{style} right"), para(show_money(amount, currency), style=f"{style} right")]
             for name, amount, style in sums]
    first, last = len(totals.lines) + 1, len(rows)
    # The sums stay together with the end of the bill and have no rules between them.
    # A line more than the last one, where both are short enough for any page.
    together = max(1, first - 2) if sum(len(line.what) for line in totals.lines[-2:]) < SHORT_ROWS / 3 else first - 1
    commands = [("NOSPLIT", (0, together), (0, last)), ("LINEBELOW", (0, first), (-1, last), 0.4, "white"),
                ("LINEABOVE", (0, first), (-1, first), 0.7, accent()), ("TOPPADDING", (0, first), (-1, last), 3),
                ("BOTTOMPADDING", (0, first), (-1, last), 1)]
    head = [say(f"money.{key}") for key in ("what", "quantity", "price", "net")]
    table = ruled_table(head, rows, [width * share for share in (0.46, 0.17, 0.2, 0.17)], right=frozenset({1, 2, 3}),
                        commands=commands)
    return [*headed(heading("money.heading", space=150, anchor=MONEY), table, len(totals.lines)), Spacer(0, 5),
            *lines(_notes(totals, content.reader), style="faint")]


def _row(line: BillLine, currency: str) -> list[list[Flowable] | Flowable]:
    price = "" if line.price is None else show_money(line.price, currency)
    if line.kind == "labour":
        quantity, price = labels.minutes_words(float(line.quantity)), price and say("money.each_hour", price=price)
    else:
        quantity = f"{line.quantity.normalize():f}".replace("-", MINUS) if line.kind == "part" else ""
        price = price if line.kind == "part" else ""
    return [[para(line.what, style="cell"), para(say(f"money.{line.kind}"), style="cell faint")],
            para(quantity, style="cell right"), para(price, style="cell right"),
            para(show_money(line.net, currency), style="cell right")]


def _notes(totals: Totals, reader: Reader) -> list[str]:
    # What was worked beyond what is charged is the workshop's own affair.
    with_worked = totals.worked_minutes and reader == "expert"
    worked = [say("money.worked", worked=labels.minutes_words(float(totals.worked_minutes)),
                  billed=labels.minutes_words(float(totals.billed_minutes)))] if with_worked else []
    return worked + [sentence(question) for question in totals.open_questions]
