"""What the papers that a customer signs have in common: their head, terms, and the places to sign."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.paper import first_page
from workshop_log.paper.letterhead import letterhead
from workshop_log.paper.sections import margin_heading
from workshop_log.paper.styles import ANSWER_INDENT, HAIRLINE, ink
from workshop_log.paper.tables import side_by_side
from workshop_log.paper.text import para
from workshop_log.paper.wording import say

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.paper.paper_input import PaperInput, PaperKind

# Room for a hand to write. [pt]
SIGNING_HEIGHT = 26.0
_BETWEEN = 20.0


def head(content: PaperInput, kind: PaperKind, beside: str, width: float) -> list[Flowable]:
    """Return letterhead, title with what stands at its right, for whom it is, and the vehicle."""
    job, title = content.job, say(f"papers.kinds.{kind}")
    words = say("papers.on_job", title=title, number=job.number) if job.number else title
    return [*letterhead(job.workshop, width), *first_page.title_row(words, beside, job, width, 0.72),
            *first_page.vehicle_strip(content, width)]


def terms(content: PaperInput, width: float) -> list[Flowable]:
    """Return the workshop's terms; nothing where it has none."""
    words = content.look.terms.strip()
    return [*margin_heading("papers.terms", width), para(words, style="answer")] if words else []


def places_to_sign(sides: list[tuple[str, str]], width: float) -> Flowable:
    """Return lines to be signed on, beside each other: of each side its title and the name known already."""
    column = (width - ANSWER_INDENT - _BETWEEN * (len(sides) - 1)) / len(sides)
    widths = [ANSWER_INDENT]
    rows: list[list[object]] = [[""], [""], [""]]
    lines = []
    for number, (title, name) in enumerate(sides):
        first = len(widths)
        rows[0] += [para(title, style="fact bold"), ""]
        rows[1] += [para(say("sign.name"), style="label"), para(name, style="fact") if name else ""]
        rows[2] += [para(f"{say('sign.date')}, {say('sign.signature').lower()}", style="label"), ""]
        widths += [column * 0.3, column * 0.7]
        if number + 1 < len(sides):
            for row in rows:
                row.append("")
            widths.append(_BETWEEN)
        lines += [("LINEBELOW", (first, row), (first + 1, row), HAIRLINE, ink()) for row in (1, 2)]
        lines.append(("SPAN", (first, 0), (first + 1, 0)))
    return side_by_side(rows, widths, [
        *lines, ("VALIGN", (0, 1), (-1, -1), "BOTTOM"), ("BOTTOMPADDING", (0, 1), (-1, -1), 3),
        ("TOPPADDING", (0, 1), (-1, 1), 7), ("TOPPADDING", (0, 2), (-1, 2), SIGNING_HEIGHT)])
