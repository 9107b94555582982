"""The document's structure beside its drawing, so that a screen reader hears headings, tables and figures in order.

ReportLab draws; here each piece of drawing is marked with the element that it belongs to, and everything else (rules,
footers, headers repeated on a further page) as an artifact. `finishing` writes the collected elements into the file.
Only public hooks are used: `Canvas.addLiteral`, the tables' `renderCB` and subclasses of flowables.
"""

from __future__ import annotations

import itertools
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from reportlab.lib.styles import ParagraphStyle
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable, Paragraph
    from reportlab.platypus.paraparser import ParaFrag


# Headings that the reader's list of bookmarks shows.
_BOOKMARK_LEVELS = {"H1": 0, "H2": 1}


class Content(NamedTuple):
    """A piece of marked content: its page, from 0, and its number there."""

    page: int
    number: int


class Link(NamedTuple):
    """A link: its page, from 0, its place among the annotations there, and where it leads."""

    page: int
    place: int
    to: str


class Element:
    """One element of the structure: a heading, a paragraph, a table, a figure.

    Attributes
    ----------
    tag : str
        A structure type of PDF: "H1", "P", "Table", "TR", "TH", "TD", "Figure", "Caption".
    children : list[Element | Content | Link]
        Elements below it, its own marked content, and its links.
    alternative : str
        What a figure shows, in words.
    text : str
        The whole text of a paragraph.
    is_text_needed : bool
        Whether the drawn text is in several lines, so that its words could run together.
    scope : str
        Of a header cell: "Column" or "Row".
    columns : int
        How many columns a cell takes.
    box : tuple[float, float, float, float] | None
        Where a figure lies on its page. [pt]
    placed : bool
        Whether it already hangs below another element: a paragraph over two pages stays one element.
    links : dict[str, str]
        The words of its links, by where they lead.
    """

    __slots__ = ("tag", "children", "alternative", "text", "is_text_needed", "scope", "columns", "box", "placed",
                 "links")

    def __init__(self, tag: str, alternative: str = "", text: str = "", scope: str = "",
                 links: dict[str, str] | None = None) -> None:
        self.tag = tag
        self.scope = scope
        self.columns = 1
        self.children: list[Element | Content | Link] = []
        self.alternative = alternative
        self.text = text
        self.is_text_needed = False
        self.box: tuple[float, float, float, float] | None = None
        self.placed = False
        self.links = links or {}


class Structure:
    """The structure of one document while it is drawn."""

    def __init__(self) -> None:
        self.root = Element("Document")
        self._open = [self.root]
        self._counts: dict[int, int] = {}
        self._artifact_depth = 0
        # The element whose content is being drawn.
        self._drawn: Element | None = None
        self._numbers = itertools.count(1)

    def next_number(self) -> int:
        """Return a number that no bookmark has yet."""
        return next(self._numbers)

    @property
    def is_artifact(self) -> bool:
        """Whether what is drawn now is no part of the text."""
        return self._artifact_depth > 0

    def open(self, element: Element) -> None:
        """Begin an element: what follows lies below it."""
        self._place(element)
        self._open.append(element)

    def close(self) -> None:
        """End the element opened last."""
        self._open.pop()

    def _place(self, element: Element) -> None:
        if not element.placed and not self._artifact_depth:
            self._open[-1].children.append(element)
            element.placed = True

    @contextmanager
    def content(self, canvas: Canvas, element: Element) -> Iterator[None]:
        """Mark what is drawn meanwhile as content of the element."""
        if self._artifact_depth:
            yield
            return
        self._place(element)
        page = canvas.getPageNumber() - 1
        number = self._counts.get(page, 0)
        self._counts[page] = number + 1
        element.children.append(Content(page, number))
        canvas.addLiteral(f"/{element.tag} <</MCID {number}>> BDC")
        self._drawn = element
        yield
        self._drawn = None
        canvas.addLiteral("EMC")

    def add_link(self, page: int, place: int, to: str) -> None:
        """Note a link in what is being drawn."""
        if self._drawn is not None:
            self._drawn.children.append(Link(page, place, to))

    def begin_artifact(self, canvas: Canvas) -> None:
        """Mark what is drawn from here on as no part of the text."""
        if not self._artifact_depth:
            canvas.addLiteral("/Artifact BMC")
        self._artifact_depth += 1

    def end_artifact(self, canvas: Canvas) -> None:
        """End what `begin_artifact` began."""
        self._artifact_depth -= 1
        if not self._artifact_depth:
            canvas.addLiteral("EMC")

    @contextmanager
    def artifact(self, canvas: Canvas) -> Iterator[None]:
        """Mark what is drawn meanwhile as no part of the text."""
        self.begin_artifact(canvas)
        yield
        self.end_artifact(canvas)


@cache
def _paragraph_class() -> type[Paragraph]:
    """Return ReportLab's paragraph with an element; made on first use, because ReportLab is imported late."""
    from reportlab.platypus import Paragraph

    class TaggedParagraph(Paragraph):
        """A paragraph that marks its text, and stays one element when it is split."""

        element: Element
        _wrapped: tuple[float, float, float] = (-1.0, 0.0, 0.0)

        def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
            """Return the size; a table asks several times for the same width, and the lines are broken once."""
            if self._wrapped[0] != available_width:
                self._wrapped = (available_width, *super().wrap(available_width, available_height))
            return self._wrapped[1:]

        def draw(self) -> None:
            """Draw the text as content of its element; a heading also becomes a bookmark."""
            if self.element.tag in _BOOKMARK_LEVELS and not self.element.placed:
                self.canv.add_bookmark(self.element.text, _BOOKMARK_LEVELS[self.element.tag])
            # Lines end without a space: without the whole text their words would run together when read aloud.
            self.element.is_text_needed |= len(self.blPara.lines) > 1
            with self.canv.structure.content(self.canv, self.element):
                super().draw()

        def split(self, available_width: float, available_height: float) -> list[Paragraph]:
            """Split at a page's end; the parts share the element."""
            parts = super().split(available_width, available_height)
            # Splitting forgets the lines.
            self._wrapped = TaggedParagraph._wrapped
            for part in parts:
                part.element = self.element
            return parts

    return TaggedParagraph


def tagged_paragraph(markup: str, style: ParagraphStyle, element: Element) -> Paragraph:
    """Return a paragraph of ReportLab's markup; only `text.para` may call this."""
    is_plain = "<" not in markup and "&" not in markup
    # Most texts hold nothing to parse: they take the form that the parser gives to any one text of their style.
    paragraph = (_paragraph_class()(None, style, frags=[_fragment(style).clone(text=markup.strip())]) if is_plain
                 else _paragraph_class()(markup, style))
    paragraph.element = element
    return paragraph


@cache
def _fragment(style: ParagraphStyle) -> ParaFrag:
    """Return what ReportLab's parser makes of a text of this style."""
    (fragment,) = _paragraph_class()("x", style).frags
    return fragment


@cache
def _figure_class() -> type[Flowable]:
    """Return the class of everything that is drawn and not written."""
    from reportlab.platypus import Flowable

    class Figure(Flowable):
        """A drawing of fixed size with a text that stands for it; without a text it is an artifact."""

        def __init__(self, width: float, height: float, alternative: str, drawing: Callable[[Canvas], None]) -> None:
            super().__init__()
            self.width, self.height = width, height
            self.element = Element("Figure", alternative)
            self._drawing = drawing

        def wrap(self, *_: float) -> tuple[float, float]:
            """Return the size, which is fixed."""
            return self.width, self.height

        def draw(self) -> None:
            """Draw, marked as what it is."""
            structure: Structure = self.canv.structure
            if not self.element.alternative:
                with structure.artifact(self.canv):
                    self._drawing(self.canv)
                return
            left, bottom = self.canv.absolutePosition(0, 0)
            self.element.box = (left, bottom, left + self.width, bottom + self.height)
            with structure.content(self.canv, self.element):
                self._drawing(self.canv)

    return Figure


def figure(width: float, height: float, alternative: str, drawing: Callable[[Canvas], None]) -> Flowable:
    """Return a figure that `drawing` draws on the canvas, its lower left corner at (0, 0); lengths in points."""
    return _figure_class()(width, height, alternative, drawing)


@cache
def _beside_class() -> type[Flowable]:
    from reportlab.platypus import Flowable

    class Beside(Flowable):
        """A paragraph that takes no height: what follows begins on the same line, right of it."""

        def __init__(self, words: Paragraph, width: float, lift: float) -> None:
            super().__init__()
            self._words, self._width, self._lift = words, width, lift

        def wrap(self, available_width: float, _: float) -> tuple[float, float]:
            """Return no height at all."""
            return available_width, 0

        def draw(self) -> None:
            """Draw the paragraph, its top where the next one's will be."""
            _, height = self._words.wrapOn(self.canv, self._width, 1000)
            self._words.drawOn(self.canv, 0, self._lift - height)

    return Beside


def beside(words: Paragraph, width: float, lift: float) -> Flowable:
    """Return a paragraph of this width that stands left of what follows, raised by `lift`; lengths in points."""
    return _beside_class()(words, width, lift)
