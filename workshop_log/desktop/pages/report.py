"""Report: the paper itself, page by page, as it will print; save, print, email, hand over."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QLocale, QSettings, QTimer, Signal, Slot
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QPushButton, QStackedLayout, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.fields import QuietBox, label
from workshop_log.desktop.pages.page import Page
from workshop_log.desktop.paper_drawing import (
    LABEL_SHEETS,
    PAPERS,
    SHEETS,
    PaperChoice,
    PaperRequest,
    draw,
    file_name,
    why_not,
)
from workshop_log.whole_file import write_whole

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.book.opening import Book
    from workshop_log.desktop.long_work import Piece
    from workshop_log.exchange.records import Job
    from workshop_log.progress import Progress

# Edits that follow each other closely make one new paper.
REBUILD_PAUSE_MS = 250
_ISSUE_TIP = "Save the report and enter it into the record: its fingerprint joins the chain"
_NO_ISSUE_TIP = "Only a report enters the record"


class ReportPage(Page):
    """The job's papers as they will print, one at a time.

    Signals
    -------
    drawn
        The paper can be saved, printed, sent and handed over, or cannot any more.
    """

    drawn = Signal()

    def __init__(self, desk: object, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self.pdf = b""
        self._shown_for: tuple[str, str, str] | None = None
        self._piece: Piece | None = None
        self._wanted = 0
        self._buffer = QBuffer(self)
        self.kind, self.sheet = QuietBox(), QuietBox()
        for row, choice in enumerate(PAPERS):
            self.kind.addItem(choice.words, row)
        for box, name in ((self.kind, "Which paper"), (self.sheet, "Size of the sheet")):
            box.setAccessibleName(name)
            box.setMinimumHeight(theme.TARGET_PX - 4)
        self.sheet.setSizeAdjustPolicy(QuietBox.SizeAdjustPolicy.AdjustToContents)
        self._offer_sheets()
        self.save, self.print = QPushButton("Save PDF…"), QPushButton("Print…")
        self.email, self.issue = QPushButton("Email…"), QPushButton("Hand over")
        self.issue.setProperty("part", "main")
        self.state = label("", "faint")
        row = QHBoxLayout()
        row.setContentsMargins(16, 10, 16, 8)
        row.setSpacing(8)
        row.addWidget(self.kind)
        row.addWidget(self.sheet)
        row.addWidget(self.state, 1)
        for button in (self.save, self.print, self.email, self.issue):
            button.setMinimumHeight(theme.TARGET_PX - 4)
            button.setEnabled(False)
            row.addWidget(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(row)
        self._stack = QStackedLayout()
        self.waiting = label("", "faint")
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
        self.kind.activated.connect(self.on_kind)
        self.sheet.activated.connect(self.on_sheet)
        self.save.clicked.connect(self.on_save)
        self.print.clicked.connect(self.on_print)
        self.email.clicked.connect(self.on_email)
        self.issue.clicked.connect(self.on_issue)

    # --- what is chosen ----------------------------------------------------------------------------------------------

    @property
    def choice(self) -> PaperChoice:
        """The chosen paper."""
        return PAPERS[self.kind.currentData()]

    def _offer_sheets(self) -> None:
        """Offer the sheets that the chosen paper is printed on; the one used last comes first to hand."""
        self.sheet.clear()
        for value, words in LABEL_SHEETS if self.choice.kind == "label" else SHEETS:
            self.sheet.addItem(words, value)
        if self.choice.kind != "label":
            self.sheet.setCurrentIndex(self.sheet.findData(_usual_sheet()))

    def choose(self, row: int) -> None:
        """Show the paper of this row, unless it is shown already."""
        if row != self.kind.currentIndex():
            self.kind.setCurrentIndex(row)
            self.on_kind()

    @Slot()
    def on_kind(self) -> None:
        """Show another paper."""
        self._offer_sheets()
        self.on_choice()

    @Slot()
    def on_sheet(self) -> None:
        """Print on another sheet, from now on as well."""
        if self.choice.kind != "label":
            QSettings().setValue("sheet", self.sheet.currentData())
        self.on_choice()

    def on_choice(self) -> None:
        """Draw what was chosen."""
        self._set_pdf(b"")
        self.rebuild()

    def first_focus(self) -> QWidget:
        """Begin with the paper."""
        return self.kind

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_job(self, job: Job | None) -> None:
        """Draw the paper anew, beside the window."""
        if job is None:
            return
        # What was drawn before is not this job as it is now: nobody shall hand that over.
        self._set_pdf(b"")
        if self._shown_for is None or self._shown_for[0] != job.number:
            self._wait("Drawing …")
            self.rebuild()
        else:
            self._pause.start()

    @Slot()
    def rebuild(self) -> None:
        """Draw the chosen paper of the open job."""
        job, choice = self.desk.job, self.choice
        if job is None:
            return
        if self._piece is not None:
            self._piece.cancel()
        self._wanted += 1
        if reason := why_not(choice, job):
            self._piece = None
            self._wait(reason)
            return
        done, request = self.desk.attempt(self._request, choice)
        if not done:
            return
        wanted, key = self._wanted, (job.number, choice.kind, choice.reader)
        self.state.setText("Drawing …")
        self._piece = self.desk.work.begin(
            f"Drawing the {_said(choice)}", draw, request, lambda: wanted != self._wanted,
            finished=lambda pdf: self._show_pdf(wanted, key, pdf), failed=lambda words: self._failed(wanted, words),
            cancelled=lambda: self._failed(wanted, "This was ended before it was drawn. Choose the paper above again "
                                                   "to draw it."), whose=self)

    def _request(self, choice: PaperChoice) -> PaperRequest:
        sheet = self.sheet.currentData() if choice == self.choice else _usual_sheet()
        return PaperRequest(choice, sheet, self.desk.book, self.desk.job, self.desk.evaluation, self.desk.settings,
                            now())

    def _show_pdf(self, wanted: int, key: tuple[str, str, str], pdf: bytes) -> None:
        # A newer drawing is under way: this one is outdated.
        if wanted != self._wanted or not pdf:
            return
        self._piece = None
        from PySide6.QtPdf import QPdfDocument
        from PySide6.QtPdfWidgets import QPdfView

        place = self.view.verticalScrollBar().value() if self.view is not None and key == self._shown_for else 0
        if self.view is None:
            self._document = QPdfDocument(self)
            self.view = QPdfView(self)
            self.view.setPageMode(QPdfView.PageMode.MultiPage)
            self.view.setZoomMode(QPdfView.ZoomMode.FitToWidth)
            self.view.setDocument(self._document)
            self.view.setAccessibleName("The paper's pages")
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
        """Offer `pdf` to be saved, printed, sent and handed over; nothing is offered while it is drawn."""
        self.pdf = pdf
        is_report = self.choice.kind == "report"
        for button in (self.save, self.print, self.email):
            button.setEnabled(bool(pdf))
        self.issue.setEnabled(bool(pdf) and is_report)
        self.issue.setToolTip(_ISSUE_TIP if is_report else _NO_ISSUE_TIP)
        self.drawn.emit()

    def _wait(self, words: str) -> None:
        self.waiting.setText(words)
        self._stack.setCurrentWidget(self.waiting)
        self.state.setText("")

    def _failed(self, wanted: int, words: str) -> None:
        if wanted == self._wanted:
            self._piece = None
            self._wait(words)

    # --- what the person does ----------------------------------------------------------------------------------------

    def ask_for_path(self) -> str:
        """Ask where to save the paper."""
        proposed = str(Path.home() / file_name(self.choice, self.desk.job))
        with self.desk.resting():
            name, _ = QFileDialog.getSaveFileName(self, f"Save the {_said(self.choice)}", proposed, "PDF (*.pdf)")
        return name if not name or name.lower().endswith(".pdf") else f"{name}.pdf"

    @Slot()
    def on_save(self) -> None:
        """Save the PDF as it is shown; the file is whole or not there."""
        pdf, name = self.pdf, self.ask_for_path()
        if name:
            self.desk.work.begin("Saving the PDF", _save, Path(name), pdf,
                                 finished=lambda _: self.desk.told.emit(f"Saved as {name}."))

    @Slot()
    def on_issue(self) -> None:
        """Save the report and enter it into the record."""
        pdf, reader, number, name = self.pdf, self.choice.reader, self.desk.job.number, self.ask_for_path()
        if not name:
            return

        def issued(_: Job) -> None:
            self.desk.told.emit(f"Saved as {name} and entered into the record.")
            self.desk.look_again(number)

        self.desk.work.begin("Handing the report over", _issue, self.desk.book, number, Path(name), pdf, reader, now(),
                             finished=issued)

    @Slot()
    def on_print(self) -> None:
        """Print the paper through the system's dialog, which also offers the page that is looked at."""
        from workshop_log.desktop.printing import print_pdf

        page = self.view.pageNavigator().currentPage() + 1
        print_pdf(self, self.desk, self.pdf, file_name(self.choice, self.desk.job).removesuffix(".pdf"), page)

    @Slot()
    def on_email(self) -> None:
        """Write to the customer; the paper that is shown is attached already."""
        from workshop_log.desktop.email_dialog import AttachmentOffer, EmailDialog

        shown, job = self.choice, self.desk.job
        offers = []
        for choice in PAPERS:
            # A label belongs on the part.
            if choice.kind == "label" or why_not(choice, job):
                continue
            done, request = self.desk.attempt(self._request, choice)
            if done:
                offers.append(AttachmentOffer(_attached_name(choice, job), "application/pdf", _drawer(request),
                                              choice == shown, choice.reader))
        EmailDialog.ask(self, self.desk, tuple(offers), _said(shown))


def _usual_sheet() -> str:
    """Return the sheet that was used last here, or that of the country."""
    known = QSettings().value("sheet")
    is_letter = QLocale().measurementSystem() == QLocale.MeasurementSystem.ImperialUSSystem
    return known if known in dict(SHEETS) else "Letter" if is_letter else "A4"


def _said(choice: PaperChoice) -> str:
    """Return what a paper is called in a sentence."""
    return "report" if choice.kind == "report" else choice.words[0].lower() + choice.words[1:]


def _attached_name(choice: PaperChoice, job: Job) -> str:
    name = file_name(choice, job)
    return name.replace("Report", "Report for an expert", 1) if choice.reader == "expert" else name


def _drawer(request: PaperRequest) -> object:
    return lambda progress: draw(request, lambda: False, progress)


def _save(path: Path, pdf: bytes, _progress: Progress) -> None:
    write_whole(path, pdf)


def _issue(book: Book, number: str, path: Path, pdf: bytes, reader: str, moment: datetime,
           _progress: Progress) -> Job:
    """Save the report, then enter it; a report that could not be saved was not handed over."""
    from workshop_log.jobs.handing import issue_report

    write_whole(path, pdf)
    return issue_report(book, number, pdf, reader, moment)
