"""Papers whose pages say which they are."""

from __future__ import annotations

import io

from pypdf import PdfReader
from reportlab.lib.pagesizes import A4
from reportlab.pdfgen.canvas import Canvas


def paper(pages: int) -> bytes:
    """Return a PDF of so many pages, each with its number in words on it and a link to the first."""
    held = io.BytesIO()
    canvas = Canvas(held, pagesize=A4, invariant=1, pageCompression=0)
    for number in range(1, pages + 1):
        canvas.bookmarkPage(f"page-{number}")
        canvas.drawString(72, 700, f"Page number {number}")
        canvas.linkAbsolute("the next", f"page-{number % pages + 1}", (72, 690, 200, 712))
        canvas.showPage()
    canvas.save()
    return held.getvalue()


def words_of(pdf: bytes) -> list[str]:
    """Return what stands on each page."""
    return [page.extract_text().strip() for page in PdfReader(io.BytesIO(pdf)).pages]
