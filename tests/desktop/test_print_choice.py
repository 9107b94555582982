"""What a printer was set to in the system's dialog, in the words of a job."""

from __future__ import annotations

from pathlib import Path

import pytest
from delivery.virtual_printers import OFFICE, VirtualPrinters, needs_cups
from PySide6.QtCore import QSizeF
from PySide6.QtGui import QPageRanges, QPageSize
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QApplication

from workshop_log.delivery.page_choice import PageChoiceError, PaperFacts
from workshop_log.delivery.printing import Sides
from workshop_log.desktop import print_choice
from workshop_log.desktop.print_choice import further_choices, print_job, size_of, take_own_size, wanted_pages

PDF = b"%PDF-"


@pytest.fixture
def printer(qapp: QApplication, tmp_path: Path) -> QPrinter:
    """Return a printer into a file: what the dialog would set is set here."""
    made = QPrinter(QPrinter.PrinterMode.HighResolution)
    made.setOutputFileName(str(tmp_path / "out.pdf"))
    return made


def test_every_page_unless_some_are_chosen(printer: QPrinter):
    """And then no ranges are told."""
    assert further_choices(printer) == {}
    assert wanted_pages(printer, 3) == (1, 2, 3)
    assert print_job(printer, PDF, "x", (1, 2, 3), 3).pages == ()
    assert print_job(printer, PDF, "x", (1, 3), 3).pages == ((1, 1), (3, 3))


def test_pages_from_and_to(printer: QPrinter):
    """What lies beyond the end is left out."""
    printer.setPrintRange(QPrinter.PrintRange.PageRange)
    printer.setFromTo(2, 9)
    assert wanted_pages(printer, 4) == (2, 3, 4)


def test_ranges_that_another_system_s_dialog_sets(printer: QPrinter):
    """Where there is no CUPS they stand in the printer itself."""
    printer.setPageRanges(QPageRanges.fromString("1-2,4"))
    assert wanted_pages(printer, 5) == (1, 2, 4)


def test_the_current_page(printer: QPrinter):
    """Every page where nobody knows which that is."""
    printer.setPrintRange(QPrinter.PrintRange.CurrentPage)
    assert wanted_pages(printer, 5, 3) == (3,)
    assert wanted_pages(printer, 5) == (1, 2, 3, 4, 5)


@pytest.mark.parametrize(("further", "pages"), [
    ({"page-ranges": "1-2,5"}, (1, 2, 5)), ({"page-set": "even"}, (2, 4)),
    ({"page-ranges": "2-4", "page-set": "odd"}, (3,))])
def test_ranges_that_cups_s_own_part_sets(
        printer: QPrinter, monkeypatch: pytest.MonkeyPatch, further: dict, pages: tuple):
    """And which side of the sheets."""
    monkeypatch.setattr(print_choice, "further_choices", lambda _: further)
    assert wanted_pages(printer, 5) == pages
    assert print_job(printer, PDF, "x", pages, 5).options == ()


def test_pages_that_are_not_there(printer: QPrinter):
    """Are no reason to print everything."""
    printer.setPrintRange(QPrinter.PrintRange.PageRange)
    printer.setFromTo(7, 8)
    with pytest.raises(PageChoiceError, match="none of them was chosen by 7-8"):
        wanted_pages(printer, 5)


@pytest.mark.parametrize(("mode", "sides"), [
    (QPrinter.DuplexMode.DuplexNone, Sides.ONE), (QPrinter.DuplexMode.DuplexAuto, Sides.AS_SET),
    (QPrinter.DuplexMode.DuplexLongSide, Sides.LONG_EDGE), (QPrinter.DuplexMode.DuplexShortSide, Sides.SHORT_EDGE)])
def test_every_way_of_both_sides_has_its_word(qapp: QApplication, mode: QPrinter.DuplexMode, sides: Sides):
    """None is left out."""
    class Turning(QPrinter):
        # Without a printing system none keeps what is set.
        def duplex(self) -> QPrinter.DuplexMode:
            return mode

    assert print_job(Turning(), PDF, "x", (1,), 1).sides is sides
    assert set(print_choice._SIDES) == set(QPrinter.DuplexMode)


def test_copies_order_paper_and_colour(printer: QPrinter):
    """As they were chosen."""
    printer.setCopyCount(3)
    printer.setCollateCopies(False)
    printer.setPageOrder(QPrinter.PageOrder.LastPageFirst)
    printer.setPageSize(QPageSize(QPageSize.PageSizeId.Letter))
    printer.setColorMode(QPrinter.ColorMode.GrayScale)
    job = print_job(printer, PDF, "Report 7", (1,), 1)
    assert (job.title, job.copies, job.collate, job.reverse, job.paper) == ("Report 7", 3, False, True, "Letter")
    assert job.options == (("print-color-mode", "monochrome"),)


def test_a_paper_without_a_common_name_is_left_to_the_printer(printer: QPrinter):
    """Rather than called by one that no printer knows."""
    printer.setPageSize(QPageSize(QSizeF(300, 500), QPageSize.Unit.Point))
    assert print_job(printer, PDF, "x", (1,), 1).paper == ""


def test_further_choices_are_passed_on_and_what_nobody_chose_is_not(printer: QPrinter, monkeypatch: pytest.MonkeyPatch):
    """The dialog tells all that it has."""
    said = {"number-up": "1", "number-up-layout": "lrtb", "job-billing": "", "job-priority": "50",
            "job-sheets": "none,none"}
    monkeypatch.setattr(print_choice, "further_choices", lambda _: said)
    assert print_job(printer, PDF, "x", (1,), 1).options == ()
    said |= {"number-up": "2", "job-sheets": "standard,none", "MediaType": "Plain"}
    assert print_job(printer, PDF, "x", (1,), 1).options == (
        ("number-up", "2"), ("number-up-layout", "lrtb"), ("job-sheets", "standard,none"), ("MediaType", "Plain"))


@needs_cups
def test_another_sheet_than_the_usual_is_what_was_chosen(printers: VirtualPrinters, qapp: QApplication):
    """The paper's own size stands in for the usual one alone."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setPrinterName(OFFICE)
    a4, letter = PaperFacts(1, 595.28, 841.89), PaperFacts(1, 612, 792)
    printer.setPageSize(size_of(letter))
    take_own_size(printer, a4)
    assert printer.pageLayout().pageSize().id() == QPageSize.PageSizeId.Letter
    printer.setPageSize(size_of(a4))
    take_own_size(printer, letter)
    assert printer.pageLayout().pageSize().id() == QPageSize.PageSizeId.Letter
