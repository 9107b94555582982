"""Printing a paper: the system's dialog, what was chosen in it, and the job beside the window."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Slot
from PySide6.QtPrintSupport import QAbstractPrintDialog, QPrintDialog, QPrinter, QPrinterInfo
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFileDialog, QLineEdit, QMessageBox, QToolButton, QWidget

from workshop_log.delivery.cups import has_lp, printers
from workshop_log.delivery.page_choice import PageChoiceError, chosen, facts_of, save_pages
from workshop_log.delivery.printing import Handed, Standing, print_paper
from workshop_log.desktop import theme
from workshop_log.desktop.fields import set_part
from workshop_log.desktop.print_choice import print_job, size_of, take_own_size, wanted_pages

if TYPE_CHECKING:
    from workshop_log.delivery.page_choice import PaperFacts
    from workshop_log.desktop.desk import Desk
    from workshop_log.progress import Progress

# What the parts of Qt's own dialog are called for those who listen; it leaves them without a name.
_NAMES = {"printers": "Printer", "filename": "Output file", "fileBrowser": "Choose the output file",
          "from": "From page", "to": "To page", "pagesLineEdit": "Pages", "pageSetCombo": "Page set",
          "copies": "Copies"}


def print_pdf(parent: QWidget, desk: Desk, pdf: bytes, name: str, current_page: int = 0) -> None:
    """Let the person choose a printer, pages, copies and sides, and print beside the window.

    Returns at once. What became of it is told by the desk; with no printer at all, saving as a PDF is offered instead.

    Parameters
    ----------
    parent : QWidget
        Over whose window the dialog opens.
    desk : Desk
        Works beside the window and tells.
    pdf : bytes
        The paper; it is printed as it is.
    name : str
        What it is called in the printer's queue, in messages, and as a file without ".pdf".
    current_page : int
        The page that the person looks at, from 1; 0 does not offer it.
    """
    if parent.findChild(Printing, options=Qt.FindChildOption.FindDirectChildrenOnly) is None:
        Printing(parent, desk, pdf, name, current_page).begin()


class Printing(QObject):
    """One paper from the wish to print it until its job is under way."""

    def __init__(self, parent: QWidget, desk: Desk, pdf: bytes, name: str, current_page: int = 0) -> None:
        super().__init__(parent)
        self._parent, self._desk = parent, desk
        self._pdf, self._name, self._current_page = pdf, name.removesuffix(".pdf"), current_page
        # Kept: a printer that is collected while its dialog is open takes the program with it.
        self._printer: QPrinter | None = None
        self._dialog: QPrintDialog | None = None
        self._facts: PaperFacts | None = None

    def begin(self) -> None:
        """Look for printers, beside the window: a printing system far away may take its time."""
        self._desk.work.begin("Looking for printers", _look, self._pdf, finished=self.on_looked, failed=self.on_failed,
                              cancelled=self.deleteLater, whose=self)

    def on_looked(self, found: tuple[PaperFacts, tuple[str, ...] | None]) -> None:
        """Open the dialog, or say that there is no printer."""
        self._facts, names = found
        if names is None:
            names = tuple(QPrinterInfo.availablePrinterNames())
        if names:
            self._ask()
        else:
            self._offer_to_save()

    @Slot(str)
    def on_failed(self, sentence: str) -> None:
        """Say what went wrong before the dialog could open."""
        self._desk.problem.emit(sentence)
        self.deleteLater()

    # --- asking ------------------------------------------------------------------------------------------------------

    def _ask(self) -> None:
        self._printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        self._printer.setDocName(self._name)
        self._printer.setPageSize(size_of(self._facts))
        dialog = self._dialog = QPrintDialog(self._printer, self._parent)
        dialog.setWindowTitle(f"Print: {self._name}")
        options = QAbstractPrintDialog.PrintDialogOption
        dialog.setOptions(options.PrintToFile | options.PrintPageRange | options.PrintCollateCopies
                          | options.PrintShowPageSize)
        dialog.setOption(options.PrintCurrentPage, on=bool(self._current_page))
        dialog.setMinMax(1, self._facts.pages)
        dialog.setFromTo(1, self._facts.pages)
        dialog.finished.connect(self.on_answered)
        if sys.platform == "win32":
            # The system's dialog there opens in no other way. Not tried.
            dialog.exec()
            return
        _unfold(dialog)
        self._take_the_file_over(dialog)
        # Not the dialog's own `open`, which wants a slot by its name.
        QDialog.open(dialog)

    def _take_the_file_over(self, dialog: QPrintDialog) -> None:
        """Look for a place for the file as the rest of the window does: with the book's own file let alone."""
        browser, field = dialog.findChild(QToolButton, "fileBrowser"), dialog.findChild(QLineEdit, "filename")
        if browser is None or field is None:
            return
        browser.clicked.disconnect()
        browser.clicked.connect(self.on_place_wanted)
        # It would look into the folder while a name is typed.
        field.setCompleter(None)

    @Slot()
    def on_place_wanted(self) -> None:
        """Ask where the file shall be, and put it into the dialog's field."""
        field = self._dialog.findChild(QLineEdit, "filename")
        path = self._ask_for_path(self._dialog, field.text())
        if path:
            field.setText(path)

    def _ask_for_path(self, parent: QWidget, proposed: str) -> str:
        with self._desk.resting():
            path, _ = QFileDialog.getSaveFileName(parent, f"Save {self._name}", proposed, "PDF (*.pdf)")
        return path if not path or path.lower().endswith(".pdf") else f"{path}.pdf"

    @Slot(int)
    def on_answered(self, result: int) -> None:
        """Begin what was chosen, or leave."""
        self._dialog.deleteLater()
        self.deleteLater()
        if result == QDialog.DialogCode.Accepted:
            try:
                self._begin_job()
            except PageChoiceError as error:
                self._desk.problem.emit(str(error))

    def _offer_to_save(self) -> None:
        box = QMessageBox(QMessageBox.Icon.NoIcon, "No printer",
                          f"No printer is set up on this machine: save “{self._name}” as a PDF and print it elsewhere.",
                          QMessageBox.StandardButton.Close, self._parent)
        save = box.addButton("&Save as PDF…", QMessageBox.ButtonRole.AcceptRole)
        box.setDefaultButton(save)
        set_part(save, "part", "main")
        for button in box.buttons():
            button.setMinimumHeight(theme.TARGET_PX - 4)
        box.accepted.connect(self.on_save_wanted)
        box.finished.connect(box.deleteLater)
        box.finished.connect(self.deleteLater)
        box.open()

    @Slot()
    def on_save_wanted(self) -> None:
        """Ask where, and save every page."""
        path = self._ask_for_path(self._parent, str(Path.home() / f"{self._name}.pdf"))
        if path:
            self._save(Path(path), chosen((), self._facts.pages))

    # --- doing -------------------------------------------------------------------------------------------------------

    def _begin_job(self) -> None:
        pages = wanted_pages(self._printer, self._facts.pages, self._current_page)
        take_own_size(self._printer, self._facts)
        if self._printer.outputFileName():
            self._save(Path(self._printer.outputFileName()), pages)
        elif has_lp():
            self._hand_over(pages)
        else:
            self._draw(pages)

    def _save(self, path: Path, pages: tuple[int, ...]) -> None:
        desk = self._desk
        desk.work.begin("Saving the PDF", save_pages, self._pdf, pages, path,
                        finished=lambda saved: desk.told.emit(f"Saved as {saved}."))

    def _hand_over(self, pages: tuple[int, ...]) -> None:
        desk, name = self._desk, self._name
        job = print_job(self._printer, self._pdf, name, pages, self._facts.pages)
        desk.work.begin(
            f"Printing on {job.printer}", print_paper, job,
            finished=lambda handed: (desk.told if handed.is_well else desk.problem).emit(words_of(handed, name)),
            cancelled=lambda: desk.told.emit(f"Ended: “{name}” is out of the queue of {job.printer}; what was printed "
                                             "before stays."))

    def _draw(self, pages: tuple[int, ...]) -> None:
        desk, name, printer = self._desk, self._name, self._printer
        desk.work.begin(f"Printing on {printer.printerName()}", _drawn, printer, self._pdf, pages,
                        finished=lambda _: desk.told.emit(f"“{name}” has gone to the printer {printer.printerName()}."),
                        cancelled=lambda: desk.told.emit(f"Ended: “{name}” was not printed to its end."))


def words_of(handed: Handed, name: str) -> str:
    """Return what became of a job, and what is to be done about it."""
    job, printer = f"“{name}”, job {handed.name},", f"the printer {handed.printer}"
    if handed.standing is Standing.HELD:
        why = f": {handed.trouble}" if handed.trouble else ""
        return f"T{printer[1:]} has stopped{why}. {job} waits there and is printed once the printer runs again."
    if handed.standing is Standing.TAKEN_OUT:
        return f"{job} was taken out of the queue of {printer}. Print it again if it is still wanted."
    where = "has gone to" if handed.standing is Standing.PRINTED else "is in the queue of"
    if handed.trouble:
        return f"{job} {where} {printer}, which says: {handed.trouble}. See to it, and count the pages."
    return f"“{name}” {where} {printer} as job {handed.name}."


def _look(pdf: bytes, progress: Progress) -> tuple[PaperFacts, tuple[str, ...] | None]:
    """Return the facts of the paper and the printers' names; none of these where the window has to ask itself."""
    progress(0, 1)
    return facts_of(pdf), printers() if has_lp() else None


def _drawn(printer: QPrinter, pdf: bytes, pages: tuple[int, ...], progress: Progress) -> None:
    # Here, because loading it takes longer than the window may pause.
    from workshop_log.desktop.drawn_printing import draw_pages

    draw_pages(printer, pdf, pages, progress)


def _unfold(dialog: QPrintDialog) -> None:
    """Show copies, pages and sides at once where Qt's own dialog folds them away; name its fields, size its buttons."""
    for field, name in _NAMES.items():
        widget = dialog.findChild(QWidget, field)
        if widget is not None:
            widget.setAccessibleName(name)
    box, copies = dialog.findChild(QDialogButtonBox), dialog.findChild(QWidget, "copies")
    # A dialog of the system's has neither.
    if box is None or copies is None:
        return
    is_folded = not copies.isVisibleTo(dialog)
    for button in box.buttons():
        button.setMinimumHeight(theme.TARGET_PX - 4)
        role = box.buttonRole(button)
        if role == QDialogButtonBox.ButtonRole.AcceptRole:
            set_part(button, "part", "main")
        elif role != QDialogButtonBox.ButtonRole.RejectRole and is_folded:
            button.click()
