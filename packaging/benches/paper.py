"""A report of ten pages, against ReportLab with the same boxes and text.

The comparison is made from the report itself: every paragraph, table, glyph, rule and space of it, taken down as plain
values and built again from ReportLab's own classes, without tags, attachment, metadata or anything worked out. A second
comparison only puts the same lines of text and the same strokes where they lie: what no layout at all would cost.
"""

from __future__ import annotations

import dataclasses
import io
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from unittest import mock

from benches.timing import Line, held_to, in_turn, seconds

PROJECT = Path(__file__).resolve().parent.parent.parent
SAMPLE = PROJECT / "sample_jobs" / "ground-strap.job.json"
ISSUED = datetime(2031, 4, 3, 15, 40, tzinfo=UTC)
PAGES, ROUNDS = 10, 12
MOST_RATIO = 2.0


def paper(pages: int = PAGES, rounds: int = ROUNDS) -> Iterator[Line]:
    """Yield the lines on a report of so many pages."""
    from workshop_log.paper.report import make_report

    content = report_of(pages)
    taken = Taken(content, pages)
    strokes = Strokes(taken)
    for made in (taken.draw(), strokes.draw()):
        if page_count(made) != pages:
            raise RuntimeError(f"The comparison has {page_count(made)} pages, not {pages}.")
    report, same, bare = in_turn(
        [lambda: seconds(lambda: make_report(content)), lambda: seconds(taken.draw), lambda: seconds(strokes.draw)],
        rounds)
    steps = len(content.job.steps)
    yield held_to(f"report of {pages} pages, median", report.median * 1e3, "ms", same.median * 1e3, ratio=MOST_RATIO,
                  note=f"{steps} test steps; ReportLab's paragraphs and tables of the same content")
    yield held_to(f"report of {pages} pages, least", report.least * 1e3, "ms", same.least * 1e3, ratio=MOST_RATIO)
    yield Line(f"report of {pages} pages against bare strokes", report.median * 1e3, "ms", bare.median * 1e3,
               note=f"{strokes.texts} lines of text and {strokes.lines} strokes put in place, no layout")


def report_of(pages: int) -> Any:
    """Return the input of a report of so many pages: a sample job whose tests go on."""
    from workshop_log.exchange.reading import read_job
    from workshop_log.paper.report import make_report

    job = read_job(SAMPLE.read_bytes(), SAMPLE.name)
    count = len(job.steps)
    for _ in range(50):
        content = _input(job, count)
        there = page_count(make_report(content))
        if there == pages:
            return content
        # A page holds some twenty steps; the last few are felt for.
        count += max(1, 12 * (pages - there)) if there < pages else -1
    raise RuntimeError(f"No job was found whose report has {pages} pages.")


def _input(job: Any, count: int) -> Any:
    from msgspec.structs import replace

    from workshop_log.exchange.seal import seal_job
    from workshop_log.jobs.evaluation import evaluate
    from workshop_log.paper.report_input import report_input

    before = [step for step in job.steps if not step.after_repair]
    more = []
    while len(job.steps) + len(more) < count:
        number = len(more)
        more.append(replace(before[number % len(before)], id=f"s{len(job.steps) + number + 1}", replaces=None,
                            because=""))
    long = seal_job(replace(job, steps=(*job.steps, *more), photos=(), reports=(), seal=None))
    # Working out the suspects is timed by itself, and their pages hold figures of their own.
    return dataclasses.replace(report_input(long, evaluate(long), {}, reader="expert", issued=ISSUED), suspicions=(),
                               histories={}, decisions={})


def page_count(pdf: bytes) -> int:
    """Return how many pages a document has."""
    import pikepdf

    with pikepdf.open(io.BytesIO(pdf)) as opened:
        return len(opened.pages)


# --- the same boxes and text ----------------------------------------------------------------------------------------


@dataclass
class Taken:
    """A report as plain values, and ReportLab drawing it from them."""

    content: Any
    pages: int
    # Each a kind and its values.
    recipe: list[tuple] = field(init=False)
    sheet: Any = field(init=False)

    def __post_init__(self) -> None:
        """Take the report down."""
        from workshop_log.paper import report
        from workshop_log.paper.fonts import register
        from workshop_log.paper.pages import text_width
        from workshop_log.progress import untold

        register()
        self.sheet = report._sheet(self.content)
        with _noted_markup():
            story = report._story(self.content, report.attachment_name(self.content), text_width(self.content.paper),
                                  untold)
            self.recipe = [_taken(flowable) for flowable in story]

    def draw(self) -> bytes:
        """Build and draw it with ReportLab alone, its settings as the program sets them."""
        from reportlab.pdfgen.canvas import Canvas
        from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

        from workshop_log.paper.composing import _settings
        from workshop_log.paper.pages import page_size
        from workshop_log.paper.styles import MARGIN_BOTTOM, MARGIN_SIDE, MARGIN_TOP

        width, height = page_size(self.content.paper)
        file = io.BytesIO()
        with _settings():
            document = BaseDocTemplate(file, pagesize=(width, height), title=self.sheet.title)
            frame = Frame(MARGIN_SIDE, MARGIN_BOTTOM, width - 2 * MARGIN_SIDE, height - MARGIN_TOP - MARGIN_BOTTOM,
                          leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)
            document.addPageTemplates(PageTemplate("page", [frame], onPage=self._draw_footer))
            document.build([_built(item) for item in self.recipe], canvasmaker=Canvas)
        return file.getvalue()

    def _draw_footer(self, canvas: Any, _document: Any) -> None:
        from workshop_log.paper.fonts import REGULAR
        from workshop_log.paper.pages import page_size
        from workshop_log.paper.styles import FAINT, HAIRLINE, MARGIN_SIDE, RULE

        width, _ = page_size(self.content.paper)
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(HAIRLINE)
        canvas.line(MARGIN_SIDE, 46, width - MARGIN_SIDE, 46)
        canvas.setFillColor(FAINT)
        canvas.setFont(REGULAR, 7.4)
        canvas.drawString(MARGIN_SIDE, 34, f"Page {canvas.getPageNumber()} of {self.pages}")
        canvas.drawCentredString(width / 2, 34, self.sheet.footer_middle)
        canvas.drawRightString(width - MARGIN_SIDE, 34, self.sheet.footer_right)


@contextmanager
def _noted_markup() -> Iterator[None]:
    """Have every paragraph remember its markup, every table the style it was given, every glyph its shapes."""
    from reportlab.platypus import Table

    from workshop_log.paper import drawings, text

    make_paragraph, make_table, draw_shapes = text.tagged_paragraph, Table.__init__, drawings.draw_shapes

    def paragraph(markup: str, style: Any, element: Any) -> Any:
        made = make_paragraph(markup, style, element)
        made.noted = markup
        return made

    def table(made: Any, data: Any, *arguments: Any, style: Any = (), **options: Any) -> None:
        make_table(made, data, *arguments, style=style, **options)
        made.noted = tuple(style)

    def shapes(canvas: Any, drawn: Any, verdict: str) -> None:
        if isinstance(canvas, _Pad):
            canvas.shapes = drawn, verdict
        else:
            draw_shapes(canvas, drawn, verdict)

    with (mock.patch.object(text, "tagged_paragraph", paragraph), mock.patch.object(Table, "__init__", table),
          mock.patch.object(drawings, "draw_shapes", shapes)):
        yield


class _Pad(mock.MagicMock):
    """Stands in for a canvas while a figure is asked what it would draw."""

    shapes: tuple | None = None


def _taken(flowable: Any) -> tuple:
    """Return a flowable as plain values."""
    from reportlab.platypus import CondPageBreak, KeepTogether, Spacer, Table
    from reportlab.platypus.doctemplate import ActionFlowable

    if isinstance(flowable, str):
        return "text", flowable
    if isinstance(flowable, list | tuple):
        return "list", [_taken(item) for item in flowable]
    if hasattr(flowable, "noted") and not isinstance(flowable, Table):
        return "paragraph", flowable.noted, flowable.style
    if isinstance(flowable, Table):
        cells = [[_taken(cell) for cell in row] for row in flowable._cellvalues]
        return "table", cells, list(flowable._argW), flowable.noted, flowable.repeatRows
    if isinstance(flowable, KeepTogether):
        return "together", [_taken(item) for item in flowable._content]
    if isinstance(flowable, CondPageBreak):
        return "break", flowable.height
    if isinstance(flowable, Spacer):
        return "space", flowable.height
    if isinstance(flowable, ActionFlowable):
        # The end of the first page: the program's own, for it writes nothing.
        return "end", flowable
    if hasattr(flowable, "_lift"):
        return "beside", _taken(flowable._words), flowable._width, flowable._lift
    pad = _Pad()
    flowable._drawing(pad)
    return "figure", flowable.width, flowable.height, pad.shapes, flowable._drawing


def _built(item: tuple) -> Any:
    """Return a flowable of ReportLab's own from plain values."""
    from reportlab.platypus import CondPageBreak, KeepTogether, Paragraph, Spacer, Table

    match item:
        case ("text", text):
            return text
        case ("list", items):
            return [_built(inner) for inner in items]
        case ("paragraph", markup, style):
            return Paragraph(markup, style)
        case ("table", cells, widths, style, repeat):
            return Table([[_built(cell) for cell in row] for row in cells], colWidths=widths, hAlign="LEFT",
                         style=style, repeatRows=repeat)
        case ("together", items):
            return KeepTogether([_built(inner) for inner in items])
        case ("break", height):
            return CondPageBreak(height)
        case ("space", height):
            return Spacer(0, height)
        case ("end", flowable):
            return flowable
        case ("beside", words, width, lift):
            return _beside(_built(words), width, lift)
    return _drawing(*item[1:])


def _beside(words: Any, width: float, lift: float) -> Any:
    from reportlab.platypus import Flowable

    class Beside(Flowable):
        """A paragraph that takes no height."""

        def wrap(self, available: float, _: float) -> tuple[float, float]:
            """Return no height."""
            return available, 0

        def draw(self) -> None:
            """Draw it where the next paragraph begins."""
            _, height = words.wrapOn(self.canv, width, 1000)
            words.drawOn(self.canv, 0, lift - height)

    return Beside()


def _drawing(width: float, height: float, shapes: tuple | None, drawing: Callable[[Any], None]) -> Any:
    from reportlab.platypus import Flowable

    class Drawing(Flowable):
        """Strokes and dots by the canvas's own methods."""

        def wrap(self, *_: float) -> tuple[float, float]:
            """Return the fixed size."""
            return width, height

        def draw(self) -> None:
            """Draw."""
            if shapes is None:
                drawing(self.canv)
            else:
                _draw_shapes(self.canv, *shapes)

    return Drawing()


def _draw_shapes(canvas: Any, shapes: Any, verdict: str) -> None:
    from workshop_log.paper.glyph_geometry import COLOURS, Line

    colours = COLOURS["light"]
    canvas.saveState()
    canvas.setLineCap(1)
    for shape in shapes:
        canvas.setStrokeColor(colours[verdict] if shape.role == "mark" else colours[shape.role])
        if isinstance(shape, Line):
            canvas.setLineWidth(shape.thickness)
            canvas.line(shape.x1, shape.y1, shape.x2, shape.y2)
        else:
            canvas.setLineWidth(2 * shape.radius)
            canvas.line(shape.x, shape.y, shape.x, shape.y)
    canvas.restoreState()


# --- the same text, put in its place --------------------------------------------------------------------------------


class Strokes:
    """The lines of text and strokes of a drawn document by their places, and ReportLab's canvas drawing them."""

    def __init__(self, taken: Taken) -> None:
        from reportlab.pdfbase.pdfmetrics import stringWidth
        from reportlab.pdfgen.canvas import Canvas
        from reportlab.pdfgen.textobject import PDFTextObject

        self._size = taken.content.paper
        pages: list[list[tuple]] = [[]]
        put_text, put_line, end_page = PDFTextObject._textOut, Canvas.line, Canvas.showPage

        def text(made: Any, words: str, ends_line: Any = None) -> None:
            # ReportLab leaves it to the reader of the PDF where text goes on.
            across, down = getattr(made, "noted", (0.0, 0.0))
            x, y = made._canvas.absolutePosition(made._x + across, made._y - down)
            colour = getattr(made, "_fillColorObj", made._canvas._fillColorObj)
            pages[-1].append(("text", x, y, made._fontname, made._fontsize, colour, words))
            width = stringWidth(words, made._fontname, made._fontsize)
            made.noted = (0.0, down + made._leading) if ends_line else (across + width, down)
            put_text(made, words, ends_line)

        def line(canvas: Any, x1: float, y1: float, x2: float, y2: float) -> None:
            pages[-1].append(("line", *canvas.absolutePosition(x1, y1), *canvas.absolutePosition(x2, y2),
                              canvas._lineWidth, canvas._strokeColorObj))
            put_line(canvas, x1, y1, x2, y2)

        def show(canvas: Any) -> None:
            end_page(canvas)
            pages.append([])

        def putting(share: float) -> Callable[..., None]:
            """Return what notes a line whose place is that of its beginning, middle or end."""
            def put(canvas: Any, x: float, y: float, words: str, *_: Any) -> None:
                x -= share * stringWidth(words, canvas._fontname, canvas._fontsize)
                pages[-1].append(("text", x, y, canvas._fontname, canvas._fontsize, canvas._fillColorObj, words))

            return put

        with (mock.patch.object(PDFTextObject, "_textOut", text), mock.patch.object(Canvas, "line", line),
              mock.patch.object(Canvas, "showPage", show), mock.patch.object(Canvas, "drawString", putting(0)),
              mock.patch.object(Canvas, "drawCentredString", putting(0.5)),
              mock.patch.object(Canvas, "drawRightString", putting(1))):
            taken.draw()
        self._pages = [page for page in pages if page]
        self.texts = sum(act[0] == "text" for page in self._pages for act in page)
        self.lines = sum(act[0] == "line" for page in self._pages for act in page)

    def draw(self) -> bytes:
        """Draw it."""
        from reportlab.pdfgen.canvas import Canvas

        from workshop_log.paper.composing import _settings
        from workshop_log.paper.pages import page_size

        file = io.BytesIO()
        with _settings():
            canvas = Canvas(file, pagesize=page_size(self._size))
            for page in self._pages:
                for kind, *values in page:
                    if kind == "text":
                        x, y, font, size, colour, words = values
                        canvas.setFont(font, size)
                        canvas.setFillColor(colour)
                        canvas.drawString(x, y, words)
                    else:
                        canvas.setLineWidth(values[4])
                        canvas.setStrokeColor(values[5])
                        canvas.line(*values[:4])
                canvas.showPage()
            canvas.save()
        return file.getvalue()
