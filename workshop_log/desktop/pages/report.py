"""Report: the paper itself, page by page, as it will print; save, print, hand over."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSaveFile, QTemporaryDir, QTimer, Signal, Slot
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QPushButton, QStackedLayout, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import QuietBox, label
from workshop_log.desktop.pages.page import Page
from workshop_log.desktop.workers import run_in_background
from workshop_log.errors import WorkshopLogError

if TYPE_CHECKING:
    from collections.abc import Callable

    from workshop_log.exchange.records import Job

READERS = (("customer", "for the customer"), ("expert", "for the expert"))
PAPERS = (("A4", "A4"), ("Letter", "Letter"))
# Edits that follow each other closely make one new report.
REBUILD_PAUSE_MS = 250
# A raster print, where the printer takes no PDF. [dots per inch]
PRINT_DPI = 300


class PrintError(WorkshopLogError):
    """A report that could not be printed."""


def _drawn(facts: dict[str, object], is_outdated: Callable[[], bool]) -> bytes:
    """Return the report, drawn off the window's thread; blank where nobody waits for it any more."""
    from workshop_log.diagnosis.outdated import Outdated
    from workshop_log.paper.report import make_report
    from workshop_log.paper.report_input import report_input

    try:
        return make_report(report_input(**facts, is_outdated=is_outdated))
    except Outdated:
        return b""


class ReportPage(Page):
    """The report as it will print.

    Signals
    -------
    drawn
        The report can be saved, printed and handed over, or cannot any more.
    """

    drawn = Signal()

    def __init__(self, desk: object, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self.pdf = b""
        self._shown_for: tuple[str, str] | None = None
        self._wanted = 0
        self._buffer = QBuffer(self)
        self.reader, self.paper = QuietBox(), QuietBox()
        for box, choices, name in ((self.reader, READERS, "Reader of the report"), (self.paper, PAPERS, "Paper size")):
            for value, words in choices:
                box.addItem(words, value)
            box.setAccessibleName(name)
            box.setMinimumHeight(theme.TARGET_PX - 4)
            box.activated.connect(self.on_choice)
        self.save = QPushButton("Save PDF…")
        self.print = QPushButton("Print…")
        self.issue = QPushButton("Hand over")
        self.issue.setProperty("part", "main")
        self.issue.setToolTip("Save the report and enter it into the record: its fingerprint joins the chain")
        self.state = label("", "faint")
        row = QHBoxLayout()
        row.setContentsMargins(16, 10, 16, 8)
        row.setSpacing(8)
        row.addWidget(self.reader)
        row.addWidget(self.paper)
        row.addWidget(self.state, 1)
        for button in (self.save, self.print, self.issue):
            button.setMinimumHeight(theme.TARGET_PX - 4)
            button.setEnabled(False)
            row.addWidget(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(row)
        self._stack = QStackedLayout()
        self.waiting = label("Drawing the report …", "faint")
        self.waiting.setMargin(40)
        # First into the page: a stack of its own would show the label as a window.
        column.addLayout(self._stack, 1)
        self._stack.addWidget(self.waiting)
        self.view: QWidget | None = None
        self._document: object = None
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(REBUILD_PAUSE_MS)
        self._pause.timeout.connect(self.rebuild)
        self.save.clicked.connect(self.on_save)
        self.print.clicked.connect(self.on_print)
        self.issue.clicked.connect(self.on_issue)

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_job(self, job: Job | None) -> None:
        """Draw the report anew, off the window's thread."""
        if job is None:
            return
        # What was drawn before is not this job as it is now: nobody shall hand that over.
        self._set_pdf(b"")
        if self._shown_for is None or self._shown_for[0] != job.number:
            self._stack.setCurrentWidget(self.waiting)
            self.waiting.setText("Drawing the report …")
            self.rebuild()
        else:
            self._pause.start()

    @Slot()
    def rebuild(self) -> None:
        """Draw the report of the open job."""
        if self.desk.job is None:
            return
        self._wanted += 1
        wanted, key = self._wanted, (self.desk.job.number, self.reader.currentData())
        done, facts = self.desk.attempt(self._facts)
        if not done:
            return
        self.state.setText("Drawing …")
        run_in_background(_drawn, facts, lambda: wanted != self._wanted, parent=self, failed=self.on_failed,
                          finished=lambda pdf: self._show_pdf(wanted, key, pdf))

    def _facts(self) -> dict[str, object]:
        """Return what `report_input` asks for."""
        from workshop_log.jobs.handing import photo_bytes

        return {"job": self.desk.job, "evaluation": self.desk.evaluation,
                "photos": photo_bytes(self.desk.book, self.desk.job), "reader": self.reader.currentData(),
                "issued": now(), "paper": self.paper.currentData(), "come_back": self.desk.settings.come_back}

    def _show_pdf(self, wanted: int, key: tuple[str, str], pdf: bytes) -> None:
        # A newer drawing is under way: this one is outdated.
        if wanted != self._wanted:
            return
        from PySide6.QtPdf import QPdfDocument
        from PySide6.QtPdfWidgets import QPdfView

        place = self.view.verticalScrollBar().value() if self.view is not None and key == self._shown_for else 0
        if self.view is None:
            self._document = QPdfDocument(self)
            self.view = QPdfView(self)
            self.view.setPageMode(QPdfView.PageMode.MultiPage)
            self.view.setZoomMode(QPdfView.ZoomMode.FitToWidth)
            self.view.setDocument(self._document)
            self.view.setAccessibleName("The report's pages")
            self._stack.addWidget(self.view)
        self._document.close()
        self._buffer.close()
        self._buffer.setData(QByteArray(pdf))
        self._buffer.open(QIODevice.OpenModeFlag.ReadOnly)
        self._document.load(self._buffer)
        self._shown_for = key
        self._stack.setCurrentWidget(self.view)
        self.view.verticalScrollBar().setValue(place)
        pages = self._document.pageCount()
        self.state.setText(f"{pages} page{'' if pages == 1 else 's'}, {len(pdf) / 1000:.0f} kB")
        self._set_pdf(pdf)

    def _set_pdf(self, pdf: bytes) -> None:
        """Offer `pdf` to be saved, printed and handed over; nothing is offered while it is drawn."""
        self.pdf = pdf
        for button in (self.save, self.print, self.issue):
            button.setEnabled(bool(pdf))
        self.drawn.emit()

    @Slot(str)
    def on_failed(self, words: str) -> None:
        self.waiting.setText(words)
        self._stack.setCurrentWidget(self.waiting)
        self.state.setText("")

    @Slot()
    def on_choice(self) -> None:
        self._set_pdf(b"")
        self.rebuild()

    def first_focus(self) -> QWidget:
        """Begin with the reader."""
        return self.reader

    # --- what the person does ----------------------------------------------------------------------------------------

    def _proposed_name(self) -> str:
        plate = "".join(c for c in self.desk.job.vehicle.registration if c.isalnum())
        return f"Report {self.desk.job.number}{' ' + plate if plate else ''}.pdf"

    def ask_for_path(self) -> str:
        """Ask where to save the report."""
        with self.desk.resting():
            name, _ = QFileDialog.getSaveFileName(self, "Save the report", str(Path.home() / self._proposed_name()),
                                                  "PDF (*.pdf)")
        return name

    @Slot()
    def on_save(self) -> bool:
        """Save the PDF as it is shown; the file is whole or not there."""
        name = self.ask_for_path()
        if not name:
            return False
        path = name if name.lower().endswith(".pdf") else f"{name}.pdf"
        file = QSaveFile(path)
        if not (
            file.open(QIODevice.OpenModeFlag.WriteOnly) and file.write(self.pdf) == len(self.pdf) and file.commit()
        ):
            self.desk.problem.emit(
                f"The report could not be saved as {path}: {file.errorString()}. Choose another place."
            )
            return False
        self.desk.told.emit(f"Saved as {path}.")
        return True

    @Slot()
    def on_issue(self) -> None:
        """Save the report and enter it into the record."""
        from workshop_log.jobs.handing import issue_report

        if self.on_save():
            self.desk.do(issue_report, self.pdf, self.reader.currentData(), now())

    @Slot()
    def on_print(self) -> None:
        """Print through the system's dialog: the PDF itself where the system takes it, else its pages as pictures."""
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter, QPrinterInfo

        if not QPrinterInfo.availablePrinterNames():
            self.desk.problem.emit("No printer is set up on this machine. Save the PDF and print it elsewhere.")
            return
        # Kept: a printer that is collected while its dialog is open takes the program with it.
        self._printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        self._printer.setDocName(self._proposed_name())
        dialog = QPrintDialog(self._printer, self)
        if dialog.exec() != QPrintDialog.DialogCode.Accepted:
            return
        try:
            if shutil.which("lp") and not self._printer.outputFileName():
                self._print_pdf(self._printer)
            else:
                self._print_pages(self._printer)
        except PrintError as error:
            self.desk.problem.emit(str(error))
        else:
            self.desk.told.emit("Handed to the printer.")

    def _print_pdf(self, printer: object) -> None:
        folder = QTemporaryDir()
        path = Path(folder.path()) / "report.pdf"
        path.write_bytes(self.pdf)
        command = ["lp", "-d", printer.printerName(), "-n", str(printer.copyCount()), "-t", self._proposed_name()]
        if printer.fromPage():
            command += ["-P", f"{printer.fromPage()}-{printer.toPage()}"]
        done = subprocess.run([*command, "--", str(path)], capture_output=True, text=True, check=False, timeout=60)
        if done.returncode:
            raise PrintError(f"The printer {printer.printerName()} did not take the report: {done.stderr.strip()}")

    def _print_pages(self, printer: object) -> None:
        from PySide6.QtCore import QSize
        from PySide6.QtGui import QPainter

        printer.setResolution(PRINT_DPI)
        painter = QPainter()
        if not painter.begin(printer):
            raise PrintError("The printer could not be opened. Is it switched on and has it paper?")
        first = max(1, printer.fromPage()) - 1
        last = printer.toPage() or self._document.pageCount()
        for number in range(first, min(last, self._document.pageCount())):
            if number > first:
                printer.newPage()
            points = self._document.pagePointSize(number)
            size = QSize(int(points.width() / 72 * PRINT_DPI), int(points.height() / 72 * PRINT_DPI))
            painter.drawImage(painter.viewport(), self._document.render(number, size))
        painter.end()
