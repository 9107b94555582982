"""Sheets, margins, footer and bookmarks: the document that the report's parts flow into."""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import cache, partial
from typing import TYPE_CHECKING, Literal

from workshop_log.paper.fonts import FALLBACK, MISSING, REGULAR, font_of, plain, register
from workshop_log.paper.styles import FAINT, HAIRLINE, MARGIN_BOTTOM, MARGIN_SIDE, MARGIN_TOP, RULE
from workshop_log.paper.tagging import Structure
from workshop_log.paper.wording import say
from workshop_log.progress import Progress, untold

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import BaseDocTemplate, Flowable

PaperSize = Literal["A4", "Letter", "label"]
# A label of 89 × 36 mm, as address labels are sold. [pt]
LABEL_SIZE = (89 * 72 / 25.4, 36 * 72 / 25.4)
# Printers leave about so much of an edge white; own estimate. [pt]
_UNPRINTABLE = 24.0

_FOOTER_SIZE = 7.4
_FOOTER_BASELINE = 34.0
_TOTAL_FORM = "number-of-pages"

# Pages as they are, and lying on their long side for what is wide, with less of a margin at the sides. [pt]
_UPRIGHT, _ACROSS = "upright", "across"
_MARGIN_ACROSS = 40.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """What every page carries and the document says of itself.

    Attributes
    ----------
    paper : {"A4", "Letter", "label"}
        The size of the page.
    title, author, subject : str
        The document's properties.
    footer_middle, footer_right : str
        What stands in the footer beside the number of the page.
    is_label : bool
        Whether labels fill the pages: no footer, and no more margin than the labels leave.
    fingerprint : str
        The whole one of the job inside, for the document's properties; blank where none is.
    """

    paper: PaperSize
    title: str
    author: str
    subject: str
    footer_middle: str = ""
    footer_right: str = ""
    is_label: bool = False
    fingerprint: str = ""


@dataclass(frozen=True, slots=True)
class DrawnPages:
    """The drawn document: the bytes of a PDF without structure, and the structure for it."""

    pdf: bytes
    structure: Structure


def page_size(paper: PaperSize) -> tuple[float, float]:
    """Return the width and height of a sheet, in points."""
    from reportlab.lib.pagesizes import A4, LETTER

    return {"A4": A4, "Letter": LETTER, "label": LABEL_SIZE}[paper]


def text_width(paper: PaperSize, is_label: bool = False) -> float:
    """Return the width between the margins, in points."""
    return page_size(paper)[0] - 2 * _margins(paper, is_label)[0]


def _margins(paper: PaperSize, is_label: bool) -> tuple[float, float, float]:
    """Return the margins at the sides, at the top and at the bottom; labels stand in the middle of their sheet."""
    if not is_label:
        return MARGIN_SIDE, MARGIN_TOP, MARGIN_BOTTOM
    if paper == "label":
        return 0.0, 0.0, 0.0
    columns, rows = labels_on(paper)
    width, height = page_size(paper)
    side, ends = (width - columns * LABEL_SIZE[0]) / 2, (height - rows * LABEL_SIZE[1]) / 2
    return side, ends, ends


def labels_on(paper: PaperSize) -> tuple[int, int]:
    """Return how many labels a sheet has beside and below each other."""
    if paper == "label":
        return 1, 1
    columns, rows = ((length - 2 * _UNPRINTABLE) // size for length, size in zip(page_size(paper), LABEL_SIZE,
                                                                                 strict=True))
    return int(columns), int(rows)


def text_height(paper: PaperSize) -> float:
    """Return the height between the margins, in points."""
    return page_size(paper)[1] - MARGIN_TOP - MARGIN_BOTTOM


def room_across(paper: PaperSize) -> tuple[float, float]:
    """Return the width and height between the margins of a page that lies on its long side, in points."""
    width, height = page_size(paper)
    return height - 2 * _MARGIN_ACROSS, width - MARGIN_TOP - MARGIN_BOTTOM


def turn_across() -> list[Flowable]:
    """Return what ends a page; from there to the end of the paper pages lie on their long side."""
    from reportlab.platypus import NextPageTemplate, PageBreak

    return [NextPageTemplate(_ACROSS), PageBreak()]


def draw_pages(story: list[Flowable], sheet: Sheet, progress: Progress = untold) -> DrawnPages:
    """Return the pages for these flowables."""
    from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

    register()
    width, height = page_size(sheet.paper)
    file = io.BytesIO()
    structure = Structure()
    document = BaseDocTemplate(file, pagesize=(width, height), title=sheet.title, author=sheet.author,
                               subject=sheet.subject, creator="Workshop Log", lang="en-GB", displayDocTitle=True,
                               initialFontName=REGULAR, invariant=1, pageCompression=1)
    side, top, bottom = _margins(sheet.paper, sheet.is_label)
    # The name of the template, the size of its pages, and their margin at the sides.
    kinds = [(_UPRIGHT, (width, height), side)]
    if not sheet.is_label:
        kinds.append((_ACROSS, (height, width), _MARGIN_ACROSS))
    for name, size, beside in kinds:
        frame = Frame(beside, bottom, size[0] - 2 * beside, size[1] - top - bottom,
                      leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)
        document.addPageTemplates(PageTemplate(name, [frame], pagesize=size, onPage=partial(
            _draw_footer, sheet=sheet, width=size[0], margin=beside)))

    def new_canvas(*arguments: object, **options: object) -> Canvas:
        canvas = _canvas_class()(*arguments, **options)
        canvas.structure = structure
        return canvas

    _end_without_space(story)
    whole = len(story)
    document.setProgressCallBack(lambda what, value: progress(min(value, whole), whole) if what == "PROGRESS" else None)
    document.build(story, canvasmaker=new_canvas)
    return DrawnPages(file.getvalue(), structure)


def _end_without_space(story: list[Flowable]) -> None:
    """Take away the space below the last words: where the page is full it would make an empty page."""
    from reportlab.platypus import Spacer

    while story and isinstance(story[-1], Spacer):
        story.pop()


@cache
def _canvas_class() -> type[Canvas]:
    from reportlab.pdfgen.canvas import Canvas

    class ReportCanvas(Canvas):
        """A canvas with the document's structure, bookmarks and, once all pages are there, their number."""

        structure: Structure
        # Where the link that is being drawn leads.
        _leads_to = ""

        def linkURL(self, url: str, *arguments: object, **options: object) -> None:  # noqa: N802 - ReportLab's name
            """Draw a link to an address."""
            self._leads_to = url
            super().linkURL(url, *arguments, **options)

        def linkRect(self, contents: str, destinationname: str, *arguments: object,  # noqa: N802 - ReportLab's name
                     **options: object) -> None:
            """Draw a link to a place of the document."""
            self._leads_to = destinationname
            super().linkRect(contents, destinationname, *arguments, **options)

        def _annotatePage(self, name: str) -> None:
            """Note each link, so that it stands in the document's structure where its words do."""
            self.structure.add_link(self.getPageNumber() - 1, len(self._annotationrefs), self._leads_to)
            super()._annotatePage(name)

        def add_bookmark(self, title: str, level: int) -> None:
            """Add a bookmark to the place reached."""
            key = f"section-{self.structure.next_number()}"
            self.bookmarkHorizontal(key, 0, 20)
            self.addOutlineEntry(title, key, level)

        def save(self) -> None:
            """Write how many pages there are into the place kept for it, and the document."""
            self.beginForm(_TOTAL_FORM)
            self.setFont(REGULAR, _FOOTER_SIZE)
            self.setFillColor(FAINT)
            self.drawString(0, 0, str(self.getPageNumber() - 1))
            self.endForm()
            super().save()

    return ReportCanvas


def _draw_footer(canvas: Canvas, _document: BaseDocTemplate, sheet: Sheet, width: float, margin: float) -> None:
    """Draw page x of y, the job and the fingerprint under a hairline; nothing on labels."""
    if sheet.is_label:
        return
    page = say("footer.page", page=canvas.getPageNumber()) + " "
    with canvas.structure.artifact(canvas):
        canvas.saveState()
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(HAIRLINE)
        canvas.line(margin, _FOOTER_BASELINE + 12, width - margin, _FOOTER_BASELINE + 12)
        canvas.setFillColor(FAINT)
        canvas.setFont(REGULAR, _FOOTER_SIZE)
        canvas.drawString(margin, _FOOTER_BASELINE, page)
        canvas.saveState()
        canvas.translate(margin + canvas.stringWidth(page, REGULAR, _FOOTER_SIZE), _FOOTER_BASELINE)
        canvas.doForm(_TOTAL_FORM)
        canvas.restoreState()
        middle = printable_line(canvas, sheet.footer_middle, width - 2 * margin - 250)
        canvas.drawCentredString(width / 2, _FOOTER_BASELINE, middle)
        canvas.drawRightString(width - margin, _FOOTER_BASELINE, sheet.footer_right)
        canvas.restoreState()


def printable_line(canvas: Canvas, text: str, width: float) -> str:
    """Return the text as one line in the text face that fits, characters it lacks shown as empty boxes."""
    line = "".join(c if font_of(c) not in ("", FALLBACK) else MISSING for c in " ".join(plain(text).split()))
    if canvas.stringWidth(line, REGULAR, _FOOTER_SIZE) <= width:
        return line
    while line and canvas.stringWidth(line + "…", REGULAR, _FOOTER_SIZE) > width:
        line = line[:-1]
    return line + "…"
