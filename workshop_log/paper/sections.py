"""Headings and plain lines, as every section begins with them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.paper.drawings import rule
from workshop_log.paper.styles import ANSWER_INDENT, BODY_SIZE, style
from workshop_log.paper.tagging import beside
from workshop_log.paper.text import Anchor, para
from workshop_log.paper.wording import say

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportlab.platypus import Flowable

# Names of the sections that others lead to.
UNTESTED, CAUTIONS, MONEY, CIRCUITS_ACROSS = "not-tested", "cautions", "money", "circuits-across"
# What has to fit on the page below a heading, or both go to the next one. [pt]
_SPACE_BELOW = 62.0
# Around the hairline above a question, and between a question and its answer. [pt]
_ABOVE_QUESTION, _BELOW_RULE, _GAP = 3.5, 6.5, 12.0


def heading(key: str, space: float = _SPACE_BELOW, anchor: str = "", **values: object) -> list[Flowable]:
    """Return a section's heading, kept together with the beginning of what follows; `anchor` is where links lead."""
    from reportlab.platypus import CondPageBreak

    words = say(key, **values)
    parts = (Anchor(anchor), words) if anchor else (words,)
    return [CondPageBreak(space), para(*parts, style="heading")]


def margin_heading(key: str, width: float, is_ruled: bool = True) -> list[Flowable]:
    """Return a heading in the margin, on the line of the answer that follows, and below a hairline."""
    from reportlab.platypus import CondPageBreak, Spacer

    words = para(say(key), style="question", tag="H2")
    # On one line with the answer, whatever the sizes of the two.
    lift = style("question").fontSize - BODY_SIZE
    above = [Spacer(0, _ABOVE_QUESTION), rule(width), Spacer(0, _BELOW_RULE)] if is_ruled else [Spacer(0, _BELOW_RULE)]
    return [CondPageBreak(_SPACE_BELOW), *above, beside(words, ANSWER_INDENT - _GAP, lift)]


def subheading(words: str, space: float = _SPACE_BELOW) -> list[Flowable]:
    """Return the heading of a part of a section, kept together with the beginning of what follows."""
    from reportlab.platypus import CondPageBreak

    return [CondPageBreak(space), para(words, style="subheading")]


def lines(said: Iterable[str], style: str = "body") -> list[Flowable]:
    """Return each text as its own paragraph."""
    return [para(text, style=style) for text in said if text.strip()]
