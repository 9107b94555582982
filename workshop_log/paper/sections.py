"""Headings and plain lines, as every section begins with them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.paper.text import para
from workshop_log.paper.wording import say

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportlab.platypus import Flowable

# What has to fit on the page below a heading, or both go to the next one. [pt]
_SPACE_BELOW = 62.0


def heading(key: str, space: float = _SPACE_BELOW, **values: object) -> list[Flowable]:
    """Return a section's heading, kept together with the beginning of what follows."""
    from reportlab.platypus import CondPageBreak

    return [CondPageBreak(space), para(say(key, **values), style="heading")]


def subheading(words: str, space: float = _SPACE_BELOW) -> list[Flowable]:
    """Return the heading of a part of a section, kept together with the beginning of what follows."""
    from reportlab.platypus import CondPageBreak

    return [CondPageBreak(space), para(words, style="subheading")]


def lines(said: Iterable[str], style: str = "body") -> list[Flowable]:
    """Return each text as its own paragraph."""
    return [para(text, style=style) for text in said if text.strip()]
