"""Pages drawn for a printer that takes no PDF; into a file here, whose pages can be looked at."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from delivery.papers import paper, squares_of
from pypdf import PdfReader
from PySide6.QtGui import QPageSize
from PySide6.QtPdf import QPdfDocument
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QApplication
from reportlab.lib.pagesizes import A4, landscape
from reportlab.pdfgen.canvas import Canvas

from workshop_log.delivery.cups import PrintingError
from workshop_log.desktop.drawn_printing import draw_pages
from workshop_log.progress import Cancelled, untold

PAPER = paper(4)


def printer_into(path: Path, size: QPageSize.PageSizeId = QPageSize.PageSizeId.A4) -> QPrinter:
    made = QPrinter(QPrinter.PrinterMode.HighResolution)
    made.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    made.setOutputFileName(str(path))
    made.setPageSize(QPageSize(size))
    return made


def test_pages_are_drawn_where_they_are_on_the_paper(qapp: QApplication, tmp_path: Path):
    """At their own size, without a seam between two strips."""
    draw_pages(printer_into(tmp_path / "out.pdf"), PAPER, (2, 4), untold)
    assert squares_of((tmp_path / "out.pdf").read_bytes()) == [2, 4]


def test_the_last_page_comes_first_where_that_was_chosen(qapp: QApplication, tmp_path: Path):
    """As many times as the printer itself does not repeat them."""
    printer = printer_into(tmp_path / "out.pdf")
    printer.setPageOrder(QPrinter.PageOrder.LastPageFirst)
    draw_pages(printer, PAPER, (1, 2, 3), untold)
    assert squares_of((tmp_path / "out.pdf").read_bytes()) == [3, 2, 1]


def test_a_page_is_fitted_to_another_sheet(qapp: QApplication, tmp_path: Path):
    """Nothing is cut off; the sheet is the chosen one."""
    draw_pages(printer_into(tmp_path / "out.pdf", QPageSize.PageSizeId.A5), PAPER, (1,), untold)
    box = PdfReader(tmp_path / "out.pdf").pages[0].mediabox
    assert (round(box.width), round(box.height)) == (420, 595)


def test_a_page_that_lies_across_the_sheet_is_turned(qapp: QApplication, tmp_path: Path):
    """It is as large as the sheet: what stands at its upper left is at the sheet's upper right."""
    made = io.BytesIO()
    canvas = Canvas(made, pagesize=landscape(A4))
    canvas.rect(0, A4[0] - 100, 100, 100, stroke=0, fill=1)
    canvas.save()
    draw_pages(printer_into(tmp_path / "out.pdf"), made.getvalue(), (1,), untold)
    document = QPdfDocument(None)
    document.load(str(tmp_path / "out.pdf"))
    size = document.pagePointSize(0).toSize()
    picture = document.render(0, size)
    document.close()
    assert size.height() > size.width()
    corners = [picture.pixelColor(x, y).alpha() > 0 and picture.pixelColor(x, y).lightness() < 50
               for x in (40, size.width() - 40) for y in (40, size.height() - 40)]
    assert corners == [False, False, True, False]


def test_progress_goes_on_with_every_strip(qapp: QApplication, tmp_path: Path):
    """From nothing to the whole, and never back."""
    told: list[tuple[int, int]] = []
    draw_pages(printer_into(tmp_path / "out.pdf"), PAPER, (1, 2), lambda *done: told.append(done))
    assert told == sorted(told)
    assert len({total for _, total in told}) == 1
    assert len(told) == told[0][1] >= 10


def test_it_is_ended_between_two_strips(qapp: QApplication, tmp_path: Path):
    """At once, and not after the last page."""
    told: list[int] = []

    def progress(done: int, _total: int) -> None:
        told.append(done)
        if done == 3:
            raise Cancelled

    with pytest.raises(Cancelled):
        draw_pages(printer_into(tmp_path / "out.pdf"), PAPER, (1, 2), progress)
    assert told == [0, 1, 2, 3]


@pytest.mark.qt_log_ignore("QPrinter|QPdf|QPainter", extend=True)
def test_a_printer_that_cannot_be_opened_is_told(qapp: QApplication, tmp_path: Path):
    """With what to look for."""
    with pytest.raises(PrintingError, match="could not be opened"):
        draw_pages(printer_into(tmp_path / "gone" / "out.pdf"), PAPER, (1,), untold)
    assert len(PdfReader(io.BytesIO(PAPER)).pages) == 4
