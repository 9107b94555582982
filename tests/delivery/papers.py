"""Papers whose pages say which they are."""

from __future__ import annotations

import io

from pypdf import PdfReader
from reportlab.lib.pagesizes import A4
from reportlab.pdfgen.canvas import Canvas


def paper(pages: int, size: tuple[float, float] = A4) -> bytes:
    """Return a PDF of so many pages, each with its number as words and as squares, and a link to the next."""
    held = io.BytesIO()
    canvas = Canvas(held, pagesize=size, invariant=1, pageCompression=0)
    for number in range(1, pages + 1):
        canvas.bookmarkPage(f"page-{number}")
        canvas.drawString(72, 700, f"Page number {number}")
        for square in range(number):
            canvas.rect(72 + 60 * square, 500, 36, 36, stroke=0, fill=1)
        canvas.linkAbsolute("the next", f"page-{number % pages + 1}", (72, 690, 200, 712))
        canvas.showPage()
    canvas.save()
    return held.getvalue()


def words_of(pdf: bytes) -> list[str]:
    """Return what stands on each page."""
    return [page.extract_text().strip() for page in PdfReader(io.BytesIO(pdf)).pages]


def squares_of(pdf: bytes) -> list[int]:
    """Return how many squares can be seen on each page, whatever it is made of: lines or a picture."""
    from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize
    from PySide6.QtPdf import QPdfDocument

    buffer, document = QBuffer(), QPdfDocument(None)
    buffer.setData(QByteArray(pdf))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    document.load(buffer)
    seen = []
    for page in range(document.pageCount()):
        # One point, one pixel; the middle of the squares' row, where no words are.
        picture = document.render(page, QSize(595, 842))
        row = [picture.pixelColor(x, 842 - 518) for x in range(picture.width())]
        # A PDF has no ground of its own: what nothing was drawn on is transparent.
        dark = [color.alpha() > 128 and color.lightness() < 128 for color in row]
        seen.append(sum(now and not before for before, now in zip([False, *dark], dark, strict=False)))
    return seen
