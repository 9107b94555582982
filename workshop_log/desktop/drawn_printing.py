"""Pages drawn for a printer that takes no PDF: on Windows, and where the program `lp` is missing.

They are printed as pictures: a PDF that can be handed over as it is should be. Tried on Debian 12 through CUPS without
`lp`; not tried on Windows.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QRect, QSize, Qt
from PySide6.QtGui import QPainter
from PySide6.QtPdf import QPdfDocument, QPdfDocumentRenderOptions
from PySide6.QtPrintSupport import QPrinter

from workshop_log.delivery.cups import PrintingError
from workshop_log.desktop.print_choice import further_choices
from workshop_log.progress import Cancelled, Progress

# Fine enough for small print; twice as many take four times as long. [dots per inch]
RESOLUTION = 300
# A page is drawn in so many strips: drawing keeps the window waiting, so each has to be short.
STRIPS = 8


def draw_pages(printer: QPrinter, pdf: bytes, pages: tuple[int, ...], progress: Progress) -> None:
    """Draw these pages of a PDF on a printer, on whichever thread this is called; nobody else may use the printer.

    Raises
    ------
    PrintingError
        If the printer cannot be opened, or gives up.
    Cancelled
        If the person who waited for it ended it; what can be called back is.
    """
    buffer, document = QBuffer(), QPdfDocument(None)
    buffer.setData(QByteArray(pdf))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    document.load(buffer)
    if further_choices(printer).get("page-ranges") or further_choices(printer).get("page-set", "all") != "all":
        # Qt hands this choice on, and the printing system leaves pages out of what is drawn here: it needs them all.
        pages = tuple(range(1, document.pageCount() + 1))
    printer.setFullPage(True)
    printer.setResolution(RESOLUTION)
    painter = QPainter()
    if not painter.begin(printer):
        raise PrintingError(f"The printer {printer.printerName()} could not be opened. Look whether it is switched on "
                            "and has paper, or save the PDF and print it elsewhere.")
    try:
        copies = 1 if printer.supportsMultipleCopies() else max(1, printer.copyCount())
        order = (tuple(reversed(pages)) if printer.pageOrder() == QPrinter.PageOrder.LastPageFirst else pages) * copies
        for number, page in enumerate(order):
            if number and not printer.newPage():
                raise PrintingError(f"The printer {printer.printerName()} gave up before page {page}. Look what it "
                                    "says, and print the pages that are missing.")
            _draw(painter, printer, document, page, lambda done, number=number: progress(
                number * STRIPS + done, len(order) * STRIPS))
    except Cancelled:
        printer.abort()
        raise
    finally:
        painter.end()
        document.close()


def _draw(painter: QPainter, printer: QPrinter, document: QPdfDocument, page: int, tell: Callable[[int], None]) -> None:
    """Draw one page, as large as the sheet, in strips; one that lies across the sheet is turned to the right."""
    sheet = printer.pageLayout().fullRectPixels(printer.resolution()).size()
    points = document.pagePointSize(page - 1)
    painter.resetTransform()
    if (points.width() > points.height()) != (sheet.width() > sheet.height()):
        painter.translate(sheet.width(), 0)
        painter.rotate(90)
        sheet = sheet.transposed()
    size = points.scaled(sheet, Qt.AspectRatioMode.KeepAspectRatio).toSize()
    left, top = (sheet.width() - size.width()) // 2, (sheet.height() - size.height()) // 2
    edges = [size.height() * strip // STRIPS for strip in range(STRIPS + 1)]
    for strip, (upper, lower) in enumerate(zip(edges, edges[1:], strict=False)):
        tell(strip)
        part = QRect(0, upper, size.width(), lower - upper)
        options = QPdfDocumentRenderOptions()
        options.setScaledSize(size)
        options.setScaledClipRect(part)
        picture = document.render(page - 1, QSize(part.width(), part.height()), options)
        painter.drawImage(part.translated(left, top), picture)
