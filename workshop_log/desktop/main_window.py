"""The one window: the book on the left, the job on the right."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QEvent, QSettings, Qt, QTimer, Signal, Slot
from PySide6.QtGui import QAction, QCloseEvent, QKeySequence, QPaintEvent
from PySide6.QtWidgets import (
    QApplication,
    QButtonGroup,
    QFileDialog,
    QHBoxLayout,
    QInputDialog,
    QMainWindow,
    QMessageBox,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from workshop_log.book.listing import PAGE, first_page
from workshop_log.desktop import theme
from workshop_log.desktop.actions import ACTIONS, ActionSpec, WindowState
from workshop_log.desktop.book_panel import BookPanel
from workshop_log.desktop.desk import Desk, now
from workshop_log.desktop.fields import label, set_part
from workshop_log.desktop.identity_strip import IdentityStrip, facts_line
from workshop_log.desktop.long_work import WorkStrip
from workshop_log.desktop.opinion_line import OpinionLine

if TYPE_CHECKING:
    from datetime import datetime

    from workshop_log.book.listing import JobRow
    from workshop_log.desktop.pages.case import CasePage
    from workshop_log.desktop.pages.intake import IntakePage
    from workshop_log.desktop.pages.money import MoneyPage
    from workshop_log.desktop.pages.page import Page
    from workshop_log.desktop.pages.report import ReportPage
    from workshop_log.desktop.pages.testing import TestingPage
    from workshop_log.exchange.records import Job
    from workshop_log.exchange.stationery import MailAccount
    from workshop_log.jobs.clock import RunningLine
    from workshop_log.jobs.suspicion import Proposal

# Title, module and class of each page, in the order of their tabs.
PAGES = (("Intake", "intake", "IntakePage"), ("Testing", "testing", "TestingPage"), ("Case", "case", "CasePage"),
         ("Time and money", "money", "MoneyPage"), ("Report", "report", "ReportPage"))
INTAKE, TESTING, CASE, MONEY, REPORT = range(len(PAGES))

# As many jobs as the list shows at once; the search finds the others.
LIST_LENGTH = 200
LIST_WIDTH = 290
# What the entry line understands, for those who ask for the keys.
ENTRY_LINE_WORDS = (
    "The entry line: what it showed, where, under what condition, what it should be",
    "",
    "12.4 V battery +                            a voltage, against battery negative",
    "0.48 V strap to engine while cranking <0.2 V   between two points, with its range",
    "2.1 A through F31 1.8..2.4 A                a current",
    "OL plug pin 5 to ground >1 Mohm             a resistance; OL is over range",
    "brake disc thickness 21.3 mm >= 22 mm       any other quantity",
    "lamp pin 2 lit   (dim, dark)                a test lamp, its clip on battery negative",
    "look strap damage   (nothing)               a look",
    "move loom 3/10                              moved ten times, three times the fault showed",
    "works wiper   wiper does not work           whether something works",
    "swap relay R2 cured   (same)                a known good one in its place",
    "… using meter   … after repair   … ; note   instrument, after the repair, a remark",
)
# A message in the bar above the page stays this long unless it is a problem.
WORD_MS = 6000


class MainWindow(QMainWindow):
    """Wires the panels together; holds no rule of the trade.

    Signals
    -------
    stands
        The window was painted for the first time; what is heavy may begin now.
    is_built
        All pages are built: nothing is made any more before somebody wants it.
    """

    stands = Signal()
    is_built = Signal()

    def __init__(self, desk: Desk, book_path: Path | None = None) -> None:
        super().__init__()
        self.desk = desk
        self._book_path = book_path
        self._words = ""
        self._is_painted = self._is_closed = False
        # The forgotten line that was pointed out already.
        self._noticed: tuple[str, str] | None = None
        self.setWindowTitle("Workshop Log")
        self.setMinimumSize(1100, 640)

        self.books = BookPanel()
        self.strip = IdentityStrip()
        # The pages that are built, by their number; see `page`.
        self._built: dict[int, Page] = {}
        self.stack = QStackedWidget()
        for _ in PAGES:
            self.stack.addWidget(QWidget())
        self._lay_out()
        self._make_actions()
        self._wire()
        self._restore()
        self.show_job(None)

    # --- building ----------------------------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        self.tabs = QButtonGroup(self)
        self.tabs.setExclusive(True)
        tabs = QWidget()
        tabs.setProperty("part", "band")
        tabs.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        row = QHBoxLayout(tabs)
        row.setContentsMargins(10, 0, 16, 0)
        row.setSpacing(2)
        for number, (title, _, _) in enumerate(PAGES):
            tab = QToolButton()
            tab.setText(title)
            tab.setProperty("part", "page")
            tab.setCheckable(True)
            tab.setToolTip(f"Ctrl+{number + 1}")
            self.tabs.addButton(tab, number)
            row.addWidget(tab)
        row.addStretch(1)
        row.addWidget(self.strip.waits, 1)

        self.bar = label("", "problem")
        self.bar.setMargin(8)
        self.bar_close = QPushButton("Understood")
        self.bar_row = QWidget()
        self.bar_row.setProperty("part", "band")
        self.bar_row.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        bar = QHBoxLayout(self.bar_row)
        bar.setContentsMargins(10, 2, 12, 2)
        bar.addWidget(self.bar, 1)
        bar.addWidget(self.bar_close)
        self.bar_row.hide()

        self.job_side = QWidget()
        column = QVBoxLayout(self.job_side)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.strip)
        column.addWidget(tabs)
        self.opinion_line = OpinionLine()
        column.addWidget(self.opinion_line)
        column.addWidget(self.stack, 1)

        self.welcome = label(
            "Choose a job on the left, or begin a new one.\n\nCtrl+N  new job      Ctrl+F  search      F1  all keys",
            "faint",
        )
        self.welcome.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.right = QStackedWidget()
        self.right.addWidget(self.welcome)
        self.right.addWidget(self.job_side)
        right = QWidget()
        right_column = QVBoxLayout(right)
        right_column.setContentsMargins(0, 0, 0, 0)
        right_column.setSpacing(0)
        right_column.addWidget(self.bar_row)
        right_column.addWidget(self.right, 1)
        self.work_strip = WorkStrip(self.desk.work)
        right_column.addWidget(self.work_strip)

        self.splitter = QSplitter(Qt.Orientation.Horizontal)
        self.splitter.addWidget(self.books)
        self.splitter.addWidget(right)
        self.splitter.setStretchFactor(0, 0)
        self.splitter.setStretchFactor(1, 1)
        self.splitter.setChildrenCollapsible(False)
        self.splitter.setHandleWidth(1)
        self.books.setMinimumWidth(240)
        self.splitter.setSizes([LIST_WIDTH, 1046])
        self.setCentralWidget(self.splitter)
        self.statusBar().setSizeGripEnabled(False)

    def _make_actions(self) -> None:
        self.actions_by_id: dict[str, QAction] = {}
        menus = {}
        for spec in ACTIONS:
            menu = menus.get(spec.menu) or menus.setdefault(spec.menu, self.menuBar().addMenu(spec.menu))
            if spec.apart:
                menu.addSeparator()
            action = QAction(spec.title, self)
            action.setObjectName(spec.id)
            if spec.shortcut:
                action.setShortcut(QKeySequence(spec.shortcut))
            action.triggered.connect(_caller(spec, self))
            menu.addAction(action)
            self.actions_by_id[spec.id] = action

    def _wire(self) -> None:
        desk, books = self.desk, self.books
        desk.job_shown.connect(self.show_job)
        desk.job_switched.connect(self.on_job_switched)
        desk.list_changed.connect(self.refresh_list)
        desk.list_changed.connect(self.show_opinions)
        desk.clock_changed.connect(self.show_clock)
        desk.problem.connect(self.show_problem)
        desk.told.connect(self.tell)
        desk.undo_stack.indexChanged.connect(self.enable_actions)

        books.job_wanted.connect(self.open_job)
        books.new_wanted.connect(self.take_in)
        books.words_changed.connect(self.on_words_changed)

        self.tabs.idClicked.connect(self.turn_to)
        self.strip.clock_pressed.connect(self.on_clock_pressed)
        self.strip.caution_pressed.connect(self.show_cautions)
        self.bar_close.clicked.connect(self.bar_row.hide)
        self.opinion_line.read_wanted.connect(self.read_opinions)
        self.opinion_line.answer_wanted.connect(self.ask_colleague)

        # The list says for how long a job has waited; once a minute is often enough.
        self._minute = QTimer(self)
        self._minute.setInterval(60_000)
        self._minute.timeout.connect(self.on_minute)
        self._minute.start()

    def _restore(self) -> None:
        settings = QSettings()
        self.desk.person = str(settings.value("person", "") or "")
        geometry = settings.value("geometry")
        if isinstance(geometry, QByteArray) and self.restoreGeometry(geometry):
            return
        area = QApplication.primaryScreen().availableGeometry()
        self.resize(min(1600, area.width()), min(1000, area.height()))

    # --- the pages ---------------------------------------------------------------------------------------------------

    def page(self, number: int) -> Page:
        """Return a page, built at first use: the list shall stand before five pages of fields are made."""
        if number not in self._built:
            _, module, name = PAGES[number]
            page: Page = getattr(import_module(f"workshop_log.desktop.pages.{module}"), name)(self.desk)
            self._built[number] = page
            is_current = self.stack.currentIndex() == number
            empty = self.stack.widget(number)
            self.stack.insertWidget(number, page)
            if is_current:
                self.stack.setCurrentIndex(number)
            self.stack.removeWidget(empty)
            empty.deleteLater()
            if number == TESTING:
                page.case_wanted.connect(self.on_case_wanted)
            elif number == CASE:
                page.test_wanted.connect(self.on_test_wanted)
            elif number == REPORT:
                page.drawn.connect(self.enable_actions)
        return self._built[number]

    @Slot()
    def on_loaded(self) -> None:
        """Go on with what needs the heavy libraries: the book is opened, pages are built, the outbox is looked into.

        Opening the book says at once if something is wrong with it. Pages are built only now: both at once would keep
        the window from answering.
        """
        # Whoever closed the window at once has closed the book with it.
        if not self._is_closed:
            self.refresh_list()
            self.build_next_page()
            self.begin_post()

    @Slot()
    def build_next_page(self) -> None:
        """Build a page that nobody has turned to yet, one between two looks at what the person does."""
        if self._is_closed:
            return
        left = [number for number in range(len(PAGES)) if number not in self._built]
        if left:
            self.page(left[0])
            QTimer.singleShot(0, self, self.build_next_page)
        else:
            self.is_built.emit()

    @property
    def intake(self) -> IntakePage:
        """Who brings which vehicle with what complaint."""
        return self.page(INTAKE)

    @property
    def testing(self) -> TestingPage:
        """The page that is open all day."""
        return self.page(TESTING)

    @property
    def case(self) -> CasePage:
        """Suspects and what was condemned."""
        return self.page(CASE)

    @property
    def money(self) -> MoneyPage:
        """Time, parts and the bill."""
        return self.page(MONEY)

    @property
    def report(self) -> ReportPage:
        """The report as it will be printed."""
        return self.page(REPORT)

    # --- the list ----------------------------------------------------------------------------------------------------

    def show_first_list(self) -> None:
        """Show the list before anything heavy is imported."""
        rows = tuple(first_page(self._book_path)) if self._book_path else ()
        self.books.show_rows(rows, now(), "", len(rows) == PAGE)

    @Slot()
    def refresh_list(self) -> None:
        """Show the list, or what was found, as it is now."""
        done, rows = self.desk.attempt(self._rows)
        if done:
            current = self.desk.job.number if self.desk.job else ""
            self.books.show_rows(rows, now(), current, len(rows) == LIST_LENGTH)

    def _rows(self) -> tuple[JobRow, ...]:
        from workshop_log.book.listing import list_jobs
        from workshop_log.book.search import search_jobs

        with self.desk.book.read() as session:
            if self._words:
                return tuple(search_jobs(session, self._words, limit=LIST_LENGTH))
            return tuple(list_jobs(session, limit=LIST_LENGTH))

    @Slot(str)
    def on_words_changed(self, words: str) -> None:
        """Search the book."""
        self._words = words
        self.refresh_list()

    @Slot()
    def on_minute(self) -> None:
        if self.desk.is_resting:
            return
        self.refresh_list()
        self.show_clock(self.desk.running() if self.desk.person else None)

    # --- the job -----------------------------------------------------------------------------------------------------

    @Slot(str)
    def open_job(self, number: str) -> None:
        """Open a job after saving what is still being typed."""
        self.hand_over()
        self.desk.open(number)

    @Slot()
    def take_in(self) -> None:
        """Begin a new job with the cursor in its first field."""
        self.hand_over()
        if self.desk.take_in():
            self.turn_to(INTAKE)
            if not self.desk.settings.workshop.name:
                self.tell("The workshop has no name and no rates yet: Edit, Workshop and instruments (Ctrl+,).")

    @Slot(object)
    def on_job_switched(self, job: Job | None) -> None:
        """Turn to the page where the work of this job is."""
        # What was said of one job says nothing of another.
        self.bar_row.hide()
        if job is not None:
            self.turn_to(INTAKE if not job.steps and not job.condemned else self._page_for(job))

    @staticmethod
    def _page_for(job: Job) -> int:
        return TESTING if job.handed_back is None else REPORT

    @Slot(object)
    def show_job(self, job: Job | None) -> None:
        """Show the job in the strip and on the page that is seen."""
        if job is not None:
            self._show_strip(job)
        for page in self._built.values():
            page.outdate()
        # A page that comes into sight by this shows the job at once.
        self.right.setCurrentWidget(self.job_side if job else self.welcome)
        for page in self._built.values():
            page.refresh(job)
        self.enable_actions()

    def _show_strip(self, job: Job) -> None:
        from workshop_log.jobs.cautions import cautions_for
        from workshop_log.jobs.labels import vehicle_words
        from workshop_log.jobs.waiting import waits_for

        complaint = (
            "  /  ".join(" ".join(c.words.split()) for c in job.complaints if c.words) or "Complaint not described yet"
        )
        cautions = tuple(caution.title for caution in cautions_for(job))
        self.strip.show_job(
            job.vehicle.registration,
            facts_line(vehicle_words(job.vehicle), job.customer.name, f"job {job.number}"),
            complaint,
            cautions,
        )
        self.strip.waits.set_whole(waits_for(job, self.desk.evaluation).words)
        self.strip.waits.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.show_clock(self.desk.running() if self.desk.person else None)

    @Slot(int)
    def turn_to(self, number: int) -> None:
        """Turn to a page and put the cursor where the work begins."""
        self.hand_over()
        self.tabs.button(number).setChecked(True)
        page = self.page(number)
        self.stack.setCurrentIndex(number)
        if (focus := page.first_focus()) is not None:
            focus.setFocus(Qt.FocusReason.OtherFocusReason)
        self.enable_actions()

    def show_paper(self, row: int) -> None:
        """Turn to the papers and show one of them."""
        self.turn_to(REPORT)
        self.report.choose(row)

    def go_to_entry_line(self) -> None:
        """Put the cursor into the entry line."""
        self.turn_to(TESTING)

    def at_the_vehicle(self) -> TestingPage:
        """Return the Testing page once it shows the open job: its keys work from every page."""
        self.turn_to(TESTING)
        return self.testing

    def hand_over(self) -> None:
        """Save whatever is still being typed."""
        if self.desk.job is None or self.desk.is_resting:
            return
        for page in self._built.values():
            page.hand_over()
        if TESTING in self._built and self.testing.entry.line.text():
            self.testing.entry.save_draft()

    @Slot(str)
    def on_case_wanted(self, step_id: str) -> None:
        """Consider a part because of a step."""
        self.turn_to(CASE)
        self.case.consider_step(step_id)

    @Slot(object)
    def on_test_wanted(self, proposal: Proposal) -> None:
        """Make a test at the vehicle before a part is condemned."""
        self.at_the_vehicle().on_taken(proposal)

    @Slot()
    def enable_actions(self) -> None:
        """Enable what can be done now."""
        stack, job = self.desk.undo_stack, self.desk.job
        is_ready = job is not None and self.stack.currentIndex() == REPORT and bool(self.report.pdf)
        state = WindowState(job is not None, stack.canUndo(), stack.canRedo(), is_ready,
                            is_ready and self.report.issue.isEnabled())
        for spec in ACTIONS:
            self.actions_by_id[spec.id].setEnabled(spec.enabled_when(state))
        is_question = self.desk.job is not None and bool(self.desk.job.opinion_on)
        self.actions_by_id["job.ask"].setText("Send the &answer back…" if is_question else "&Ask a colleague…")
        # The menu says what would be undone: it may stand on another page.
        for name, title, what in (("edit.undo", "&Undo", stack.undoText()), ("edit.redo", "&Redo", stack.redoText())):
            self.actions_by_id[name].setText(f"{title}: {what}" if what else title)

    # --- the clock ---------------------------------------------------------------------------------------------------

    @Slot(object)
    def show_clock(self, line: object) -> None:
        """Show the running line in the strip, and notice a forgotten one."""
        if line is None:
            self.strip.show_clock(None, here=False)
            return
        from workshop_log.jobs.clock import forgotten

        here = self.desk.job is not None and line.number == self.desk.job.number
        noticed = forgotten(line, now())
        self.strip.show_clock(line.start, here=here, where=line.number, forgotten=noticed)
        if noticed and self._noticed != (line.number, line.id):
            self._noticed = (line.number, line.id)
            self.show_problem(_forgotten_words(line))

    @Slot()
    def on_clock_pressed(self) -> None:
        """Start the clock here, or stop it."""
        if not self.desk.person and not self.ask_person():
            return
        line = self.desk.running()
        if line is not None and self.desk.job is not None and line.number == self.desk.job.number:
            from workshop_log.jobs.clock import forgotten

            self.desk.stop_clock(self.ask_end(line) if forgotten(line, now()) else None)
        else:
            self.desk.start_clock()

    def ask_person(self) -> bool:
        """Ask who works at this machine."""
        name, given = QInputDialog.getItem(self, "Whose clock?", "Who works at this machine?",
                                           list(self.desk.settings.persons) or [""], 0, True)
        if given and name.strip():
            self.desk.set_person(name.strip())
        return bool(self.desk.person)

    def ask_end(self, line: RunningLine) -> datetime | None:
        """Ask whether the forgotten line ended when the last thing was taken down; no answer means now."""
        answer = QMessageBox.question(
            self, "A forgotten clock",
            f"{_forgotten_words(line)}\n\nEnd the line at {line.last_recorded.astimezone():%d %b %H:%M}?",
            QMessageBox.StandardButton.Yes | QMessageBox.StandardButton.No)
        return line.last_recorded if answer == QMessageBox.StandardButton.Yes else None

    # --- words -------------------------------------------------------------------------------------------------------

    @Slot(str)
    def show_problem(self, words: str) -> None:
        """Say above the page what could not be done; it stays until it is understood."""
        self.bar.setText(words)
        set_part(self.bar, "part", "problem")
        self.bar_row.show()

    @Slot(str)
    def tell(self, words: str) -> None:
        """Say something in passing."""
        self.statusBar().showMessage(words, WORD_MS)

    # --- commands ----------------------------------------------------------------------------------------------------

    def search(self) -> None:
        """Put the cursor into the search field."""
        self.books.search.setFocus()
        self.books.search.selectAll()

    def undo(self) -> None:
        """Take the last edit back."""
        self.hand_over()
        what = self.desk.undo_stack.undoText()
        self.desk.undo_stack.undo()
        self.tell(f"Undone: {what}.")
        self.enable_actions()

    def redo(self) -> None:
        """Make the edit again that was taken back."""
        self.desk.undo_stack.redo()
        self.enable_actions()

    def import_files(self) -> None:
        """Take job files into the book."""
        from workshop_log.desktop import transfer_flow

        transfer_flow.import_files(self)

    def export_job(self, *, anonymous: bool = False) -> None:
        """Write the open job as a job file."""
        from workshop_log.desktop import transfer_flow

        transfer_flow.export_job(self, anonymous=anonymous)

    def ask_where(self, title: str, suggested: str) -> str:
        """Ask where a job file shall be written; blank for nowhere."""
        with self.desk.resting():
            name, _ = QFileDialog.getSaveFileName(self, title, str(Path.home() / suggested), "Job files (*.job.json)")
        return name

    @Slot()
    def ask_colleague(self) -> None:
        """Ask a colleague about the open job, or answer where it is a colleague's question."""
        from workshop_log.desktop import opinion_flow

        opinion_flow.ask_or_answer(self)

    def lay_beside(self) -> None:
        """Lay a colleague's answer beside the open job."""
        from workshop_log.desktop import transfer_flow

        transfer_flow.lay_beside(self)

    @Slot()
    def show_opinions(self) -> None:
        """Say under the tabs whether a colleague asks or answered; another bay may have laid an answer beside."""
        if self.desk.job is not None:
            from workshop_log.desktop import opinion_flow

            opinion_flow.show_line(self, self.desk.job)

    @Slot()
    def read_opinions(self) -> None:
        """Show the answers beside the open job."""
        from workshop_log.desktop import opinion_flow

        opinion_flow.read(self)

    def verify(self) -> None:
        """Check the open job's chain of fingerprints."""
        from workshop_log.desktop import transfer_flow

        transfer_flow.verify(self)

    def check_report(self) -> None:
        """Check a report that came back."""
        from workshop_log.desktop.verify_dialog import VerifyDialog

        VerifyDialog(self, self.desk).open()

    def back_up(self) -> None:
        """Write a copy of the whole book."""
        from workshop_log.desktop import transfer_flow

        transfer_flow.back_up(self)

    def add_note(self) -> None:
        """Take down a remark or a call."""
        from workshop_log.desktop.note_dialog import NoteDialog
        from workshop_log.jobs.intake import add_note

        note = NoteDialog.ask(self, self.desk.person)
        if note is not None and self.desk.do(add_note, note.words, now(), who=note.who, internal=note.internal):
            self.tell("Noted.")

    def edit_settings(self) -> None:
        """Change the workshop's facts, instruments and ranges."""
        from workshop_log.desktop.settings_dialog import SettingsDialog

        SettingsDialog.ask(self, self.desk)

    def set_theme(self, name: str) -> None:
        """Change to light, dark or the system's choice, and remember it."""
        QSettings().setValue("theme", name)
        chosen = {"light": theme.LIGHT, "dark": theme.DARK}.get(name) or theme.system_theme()
        theme.apply(QApplication.instance(), chosen)
        self.show_job(self.desk.job)

    def show_keys(self) -> None:
        """Show every key."""
        native = QKeySequence.SequenceFormat.NativeText
        lines = [
            f"{QKeySequence(s.shortcut).toString(native):<14} {s.title.replace('&', '')}" for s in ACTIONS if s.shortcut
        ]
        self._inform("Keys", "\n".join([*lines, "", *ENTRY_LINE_WORDS]))

    def show_cautions(self) -> None:
        """Show the cautions of this job in full."""
        from workshop_log.jobs.cautions import cautions_for

        cautions = cautions_for(self.desk.job) if self.desk.job else ()
        self._inform("Cautions", "\n\n".join(f"{c.title}\n{c.words}" for c in cautions) or "No caution for this job.")

    def show_about(self) -> None:
        """Say which program this is."""
        from workshop_log import __version__

        self._inform(
            "About",
            f"Workshop Log {__version__}\n\nThe logbook that works with a vehicle-electrics technician "
            f"while they test.\n\nBook: {self.desk.book.url}",
        )

    def _inform(self, title: str, text: str) -> None:
        from workshop_log.desktop.reading_dialog import ReadingDialog

        ReadingDialog.show_text(self, title, text)

    # --- mail --------------------------------------------------------------------------------------------------------

    @Slot()
    def begin_post(self) -> None:
        """Send from now on what is due in the outbox."""
        self.desk.post.password_wanted.connect(self.ask_password, Qt.ConnectionType.UniqueConnection)
        self.desk.post.begin()

    @Slot(object)
    def ask_password(self, account: MailAccount) -> None:
        """Ask for the password of the mail account, without holding anything up."""
        from workshop_log.desktop.password_dialog import PasswordDialog

        if not self.findChildren(PasswordDialog):
            dialog = PasswordDialog(self, account)
            dialog.given.connect(self.desk.post.on_password)
            dialog.open()

    def show_outbox(self) -> None:
        """Show what waits, what was sent and what was refused."""
        from workshop_log.desktop.outbox_panel import OutboxDialog

        OutboxDialog.ask(self, self.desk)

    # --- opening and closing -----------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Tell, once the first paint is done, that the window stands."""
        super().paintEvent(event)
        if not self._is_painted:
            self._is_painted = True
            QTimer.singleShot(0, self, self.stands.emit)

    def changeEvent(self, event: QEvent) -> None:
        """Save what is typed when the window loses the screen: the lid may close next."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and not self.isActiveWindow():
            self.hand_over()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Save everything, remember the window's place, close the book."""
        self._is_closed = True
        self.hand_over()
        QSettings().setValue("geometry", self.saveGeometry())
        self._minute.stop()
        self.desk.close()
        super().closeEvent(event)


def _forgotten_words(line: RunningLine) -> str:
    start, last = line.start.astimezone(), line.last_recorded.astimezone()
    return (
        f"The clock of {line.person} runs on job {line.number} since {start:%d %b %H:%M}. It may have been forgotten: "
        f"the last thing was taken down there at {last:%d %b %H:%M}. Stop it, and say when it ended."
    )


def _caller(spec: ActionSpec, window: MainWindow) -> object:
    return lambda _checked=False: spec.run(window)


