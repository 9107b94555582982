"""What was chosen in the system's print dialog, in the words of a `PrintJob`."""

from __future__ import annotations

from PySide6.QtCore import QSizeF
from PySide6.QtGui import QPageSize
from PySide6.QtPrintSupport import QPrintEngine, QPrinter, QPrinterInfo

from workshop_log.delivery.page_choice import PageRange, PaperFacts, chosen, ranges_of, read_ranges
from workshop_log.delivery.printing import PrintJob, Sides

# Under this number Qt's engine for CUPS keeps what its dialog offers beyond other systems', as names and values.
_CUPS_OPTIONS = QPrintEngine.PrintEnginePropertyKey(0xfe00)
_SIDES = {QPrinter.DuplexMode.DuplexNone: Sides.ONE, QPrinter.DuplexMode.DuplexAuto: Sides.AS_SET,
          QPrinter.DuplexMode.DuplexLongSide: Sides.LONG_EDGE, QPrinter.DuplexMode.DuplexShortSide: Sides.SHORT_EDGE}
# What the dialog says when nobody chose anything.
_UNCHOSEN = {("number-up", "1"), ("job-priority", "50"), ("job-sheets", "none,none"), ("job-hold-until", "no-hold")}


def wanted_pages(printer: QPrinter, count: int, current_page: int = 0) -> tuple[int, ...]:
    """Return the numbers of the pages that were chosen, of a paper of `count` pages.

    Raises
    ------
    PageChoiceError
        If the paper has none of them.
    """
    further = further_choices(printer)
    return chosen(_ranges(printer, further, current_page), count, further.get("page-set") or "all")


def _ranges(printer: QPrinter, further: dict[str, str], current_page: int) -> tuple[PageRange, ...]:
    wanted = printer.printRange()
    if wanted == QPrinter.PrintRange.CurrentPage and current_page:
        return ((current_page, current_page),)
    if wanted == QPrinter.PrintRange.PageRange and printer.fromPage():
        return ((printer.fromPage(), max(printer.fromPage(), printer.toPage())),)
    return read_ranges(further.get("page-ranges", "") or printer.pageRanges().toString())


def print_job(printer: QPrinter, pdf: bytes, title: str, pages: tuple[int, ...], count: int) -> PrintJob:
    """Return the job of printing these pages of a paper of `count` pages as it was chosen."""
    size = printer.pageLayout().pageSize()
    ours = {"page-ranges", "page-set"}
    further = further_choices(printer)
    if further.get("number-up", "1") == "1":
        ours |= {"number-up", "number-up-layout"}
    options = [(key, value) for key, value in further.items()
               if key not in ours and value and (key, value) not in _UNCHOSEN]
    if printer.colorMode() == QPrinter.ColorMode.GrayScale:
        options.append(("print-color-mode", "monochrome"))
    return PrintJob(
        pdf, title, printer.printerName(), max(1, printer.copyCount()),
        () if pages == tuple(range(1, count + 1)) else ranges_of(pages), _SIDES[printer.duplex()],
        printer.collateCopies(), printer.pageOrder() == QPrinter.PageOrder.LastPageFirst,
        size.key() if size.id() != QPageSize.PageSizeId.Custom else "", tuple(options))


def size_of(facts: PaperFacts) -> QPageSize:
    """Return the size of a paper by its common name, where it has one to a millimetre or so."""
    return QPageSize(QSizeF(facts.width_pt, facts.height_pt), QPageSize.Unit.Point, "",
                     QPageSize.SizeMatchPolicy.FuzzyMatch)


def take_own_size(printer: QPrinter, facts: PaperFacts) -> None:
    """Have sheets of the paper's own size, unless another one than the printer's usual was chosen.

    Qt's dialog puts the printer's usual size in place of whatever was set before it opened.
    """
    own, info = size_of(facts), QPrinterInfo(printer)
    is_usual = printer.pageLayout().pageSize().isEquivalentTo(info.defaultPageSize())
    if is_usual and any(size.isEquivalentTo(own) for size in info.supportedPageSizes()):
        printer.setPageSize(own)


def further_choices(printer: QPrinter) -> dict[str, str]:
    """Return what the printing system's own part of the dialog offers, by its names; nothing where there is none."""
    flat = printer.printEngine().property(_CUPS_OPTIONS) or []
    return dict(zip(flat[::2], flat[1::2], strict=True))
