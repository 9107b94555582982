"""Text on paper: the one place where paragraphs are made, so that what a person typed is never markup."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

from workshop_log.paper import styles
from workshop_log.paper.fonts import BOLD, FALLBACK, MISSING, REGULAR, font_of, plain, register, unbroken
from workshop_log.paper.tagging import Element, tagged_paragraph

if TYPE_CHECKING:
    from reportlab.platypus import Paragraph


@dataclass(frozen=True, slots=True)
class Strong:
    """A part of a paragraph in bold."""

    text: str


@dataclass(frozen=True, slots=True)
class Struck:
    """A part of a paragraph that no longer stands."""

    text: str


@dataclass(frozen=True, slots=True)
class Ref:
    """A part of a paragraph that leads somewhere: "#test-3" to an `Anchor` of the same paper, or an address of mail.

    Whoever makes one sees to it that the anchor is there: a paper whose links lead nowhere cannot be drawn.
    """

    text: str
    to: str


@dataclass(frozen=True, slots=True)
class Anchor:
    """A place that a `Ref` leads to, at the beginning of its paragraph; it shows nothing."""

    name: str
    text: str = ""


Part = str | Strong | Struck | Ref | Anchor
# The tag that a style stands for in the document's structure; every other one is a paragraph.
_TAGS = {"title": "H1", "heading": "H2", "subheading": "H3", "caption": "Caption"}


def para(*parts: Part, style: str = "body", colour: str = "", tag: str = "") -> Paragraph:
    """Return a paragraph of these parts, each of them plain text whatever characters it holds.

    Parameters
    ----------
    *parts : str | Strong | Struck | Ref | Anchor
        The text; newlines begin new lines.
    style : str
        A name of `styles`.
    colour : str
        Another colour than the style's.
    tag : str
        What it is in the document's structure, where the style does not say.
    """
    register()
    markup = "".join(map(_markup, parts))
    text = " ".join(plain("".join(part if isinstance(part, str) else part.text for part in parts)).split())
    links = {part.to.removeprefix("#"): part.text for part in parts if isinstance(part, Ref)}
    return tagged_paragraph(markup, styles.style(style, colour),
                            Element(tag or _TAGS.get(style, "P"), text=text, links=links))


def _markup(part: Part) -> str:
    if isinstance(part, Strong):
        return f'<font name="{BOLD}">{_escaped(part.text)}</font>'
    if isinstance(part, Ref):
        # In the accent colour and not underlined: on paper it is a word like any other.
        return f'<a href={quoteattr(part.to)} color="{styles.accent()}">{_escaped(part.text)}</a>'
    if isinstance(part, Anchor):
        return f"<a name={quoteattr(part.name)}/>"
    if isinstance(part, Struck):
        return f"<strike>{_escaped(part.text)}</strike>"
    return _escaped(part)


def _escaped(text: str) -> str:
    """Return the text as markup that shows every character of it, in a font that has it."""
    text = unbroken(plain(text))
    if text.isascii():
        return _lines(text)
    runs = ((font, "".join(run)) for font, run in groupby(text, font_of))
    return "".join(_run(font, run) for font, run in runs)


def _run(font: str, text: str) -> str:
    """Return characters that one font has, or empty boxes for those that none has."""
    if not font:
        return MISSING * len(text)
    return _lines(text) if font == REGULAR else f'<font name="{FALLBACK}">{_lines(text)}</font>'


def _lines(text: str) -> str:
    return escape(text).replace("\n", "<br/>")
