"""Testing: the entry line, the steps so far or the circuit; beside them what is still possible and the next test."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, Qt, Signal, Slot
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QMenu,
    QPushButton,
    QScrollArea,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.circuit_panel import CircuitPanel
from workshop_log.desktop.desk import now
from workshop_log.desktop.entry_bar import EntryBar
from workshop_log.desktop.fields import Card, FoldingCard, QuietBox, empty, label, tip
from workshop_log.desktop.pages.page import Page
from workshop_log.desktop.photos import PhotoShelf
from workshop_log.desktop.step_table import StepRow, StepTable
from workshop_log.desktop.suspicion_panel import SuspicionPanel

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job, Step
    from workshop_log.jobs.evaluation import JudgedReading
    from workshop_log.jobs.suspicion import Proposal

# What stands beside the steps gets this part of the page, unless the person moves the line between them.
SIDE_PART, SIDE_LEAST, SIDE_MOST = 0.345, 340, 470


class TestingPage(Page):
    """The page that is open all day.

    Signals
    -------
    case_wanted : str
        A part shall be considered because of the step with this id.
    """

    # Not a class of tests, whatever its name begins with.
    __test__ = False

    case_wanted = Signal(str)

    def __init__(self, desk: object, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        # The job whose circuit or steps are shown.
        self._shown_number = ""
        self.entry = EntryBar(desk)
        self.table = StepTable()
        self.nothing = label("No test step yet.\n\nProve the instrument first: on a known supply and a known ground. "
                             "Then type what it showed into the line above.", "faint")
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
        # What the chosen step says in full: condition, range and its source, verdict and why.
        self.detail = label("", "faint")
        self.detail.hide()
        self.correct = QPushButton("Correct")
        self.again = QPushButton("Again after the repair")
        self.consider = QPushButton("Consider a part")
        self.attach = QPushButton("Photo to this step")
        buttons = QHBoxLayout()
        for button in (self.correct, self.again, self.consider, self.attach):
            button.setMinimumHeight(theme.TARGET_PX)
            button.setEnabled(False)
            buttons.addWidget(button)
        buttons.addStretch(1)

        main = QWidget()
        column = QVBoxLayout(main)
        column.setContentsMargins(16, 12, 12, 12)
        column.setSpacing(10)
        column.addWidget(self.entry)
        column.addLayout(self._views())
        column.addWidget(self.circuit, 1)
        column.addWidget(self.nothing, 1)
        column.addWidget(self.table, 1)
        column.addWidget(self.detail)
        column.addLayout(buttons)

        self._is_side_moved = False
        self.splitter = QSplitter(Qt.Orientation.Horizontal)
        self.splitter.addWidget(main)
        self.splitter.addWidget(self._side())
        self.splitter.setStretchFactor(0, 1)
        self.splitter.setStretchFactor(1, 0)
        self.splitter.setChildrenCollapsible(False)
        self.splitter.splitterMoved.connect(self.on_side_moved)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self.splitter)

        self.table.selectionModel().selectionChanged.connect(self.on_chosen)
        self.table.doubleClicked.connect(self.on_correct)
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.table.customContextMenuRequested.connect(self.on_menu)
        self.correct.clicked.connect(self.on_correct)
        self.again.clicked.connect(self.on_again)
        self.consider.clicked.connect(self.on_consider)
        self.attach.clicked.connect(self.on_attach)
        self.entry.recorded.connect(self.on_recorded)
        self.entry.range_wanted.connect(self.on_range_wanted)
        self.entry.supposed.connect(self.suspicion.suppose)
        self.circuit.circuit_chosen.connect(self.on_circuit_chosen)
        self.circuit.view.element_pressed.connect(self.suspicion.choose)
        self.suspicion.shares_changed.connect(self.circuit.show_shares)
        self.suspicion.element_chosen.connect(self.circuit.point_out)
        self.suspicion.taken.connect(self.on_taken)
        self.suspicion.step_wanted.connect(self.on_step_wanted)

    def _views(self) -> QHBoxLayout:
        """Return the choice between the steps and the circuit."""
        self.circuit = CircuitPanel()
        self.circuit.hide()
        self.steps_tab, self.circuit_tab = QPushButton("Steps"), QPushButton("Circuit")
        row = QHBoxLayout()
        views = QButtonGroup(self)
        views.setExclusive(True)
        for button in (self.steps_tab, self.circuit_tab):
            button.setCheckable(True)
            button.setMinimumHeight(theme.TARGET_PX)
            views.addButton(button)
            row.addWidget(button)
        for control in self.circuit.controls:
            row.addWidget(control, 1 if isinstance(control, QComboBox) else 0)
        row.addStretch(0)
        self.describe = QPushButton("Describe the circuit…")
        self.describe.setMinimumHeight(theme.TARGET_PX)
        row.addWidget(self.describe)
        self.steps_tab.setChecked(True)
        views.buttonClicked.connect(self.on_view)
        self.describe.clicked.connect(self.on_describe)
        self.circuit.place_chosen.connect(self.on_place)
        self.circuit.edit_wanted.connect(self.on_edit_circuit)
        self.entry.place_left.connect(self.on_place_left)
        return row

    def _side(self) -> QWidget:
        self.cautions = label("", "caution")
        self.cautions.hide()
        self.suspicion = SuspicionPanel(self.desk)
        self.stands_out = FoldingCard("What stands out")
        self.outside_rows = QVBoxLayout()
        self.outside_rows.setSpacing(6)
        self.stands_out.body.addLayout(self.outside_rows)
        self.waits = label("", "faint")
        self.stands_out.body.addWidget(self.waits)

        tool = Card("Instrument")
        self.instrument = QuietBox()
        self.instrument.setAccessibleName("Instrument for the next step")
        self.instrument.setMinimumHeight(theme.TARGET_PX)
        self.instrument.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.instrument.setMinimumContentsLength(12)
        self.instrument_words = label("", "faint")
        self.prove = QPushButton("Just proved on a known supply")
        self.prove.setMinimumHeight(theme.TARGET_PX)
        tool.body.addWidget(self.instrument)
        tool.body.addWidget(self.instrument_words)
        tool.body.addWidget(self.prove)

        self.photo_card = Card("Photos")
        self.photos = PhotoShelf(self.desk)
        self.photo_card.body.addWidget(self.photos)

        side = QWidget()
        side.setProperty("part", "page-body")
        column = QVBoxLayout(side)
        column.setContentsMargins(4, 12, 14, 12)
        column.setSpacing(12)
        for widget in (self.cautions, self.suspicion, tool, self.photo_card, self.stands_out):
            column.addWidget(widget)
        column.addStretch(1)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setWidget(side)
        area.setMinimumWidth(SIDE_LEAST)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.instrument.activated.connect(self.on_instrument)
        self.prove.clicked.connect(self.on_prove)
        return area

    # --- showing -----------------------------------------------------------------------------------------------------

    def show_job(self, job: Job | None) -> None:
        """Show the steps and what stands out."""
        if job is None:
            return
        from workshop_log.jobs.photos import standing_photos

        evaluation = self.desk.evaluation
        self.table.show_job(job, evaluation)
        has_circuit = any(circuit.elements for circuit in job.circuits)
        if job.number != self._shown_number:
            self._shown_number = job.number
            self.steps_tab.setChecked(True)
            self.circuit.point_out("")
            # Where a circuit is described, the bar says what stands out.
            self.stands_out.unfold(not has_circuit)
        self.circuit_tab.setEnabled(has_circuit)
        self.describe.setVisible(not has_circuit)
        if not has_circuit:
            self.steps_tab.setChecked(True)
        self.circuit.show_job(job, self.desk.evaluation)
        self._show_view()
        self.suspicion.show_job(job, self._circuit_id())
        self._show_instruments(job)
        self._show_what_stands_out(job)
        self._show_cautions(job)
        self.photos.show_photos(standing_photos(job))
        self.entry.show_job(job)
        self.on_chosen()

    def _show_view(self) -> None:
        """Show the circuit, or the steps."""
        job = self.desk.job
        on_circuit = self.circuit_tab.isChecked()
        self.circuit.setVisible(on_circuit)
        for control in self.circuit.controls:
            control.setVisible(on_circuit and (control is not self.circuit.circuits or len(job.circuits) > 1))
        for button in (self.correct, self.again, self.consider, self.attach):
            button.setVisible(not on_circuit)
        self.table.setVisible(not on_circuit and bool(job.steps))
        self.nothing.setVisible(not on_circuit and not job.steps)
        self.detail.setVisible(not on_circuit and bool(self.detail.text()))

    def _circuit_id(self) -> str:
        """Return the circuit that is looked at; blank where none is described."""
        circuit = self.circuit.circuit()
        if circuit is not None and not circuit.elements:
            circuit = next((one for one in self.desk.job.circuits if one.elements), None)
        return circuit.id if circuit is not None else ""

    def resizeEvent(self, event: object) -> None:
        super().resizeEvent(event)
        if not self._is_side_moved:
            side = min(max(round(self.width() * SIDE_PART), SIDE_LEAST), SIDE_MOST)
            self.splitter.setSizes([self.width() - side, side])

    @Slot()
    def on_side_moved(self) -> None:
        self._is_side_moved = True

    def _show_cautions(self, job: Job) -> None:
        from workshop_log.jobs.cautions import cautions_for

        cautions = cautions_for(job)
        self.cautions.setVisible(bool(cautions))
        self.cautions.setText(f"⚠ {' · '.join(c.title for c in cautions)}")
        self.cautions.setToolTip(tip("\n\n".join(f"{c.title}\n{c.words}" for c in cautions)))

    def _show_what_stands_out(self, job: Job) -> None:
        from workshop_log.jobs.waiting import waits_for

        empty(self.outside_rows)
        telling = [
            r
            for r in self.desk.evaluation.readings
            if r.verdict is not None and r.verdict.value != "inside" and not r.replaced and not r.step.after_repair
        ]
        for reading in telling[-5:]:
            self.outside_rows.addWidget(_OutsideRow(reading, job, self))
        if not telling:
            clear = sum(
                1 for r in self.desk.evaluation.readings if r.verdict is not None and r.verdict.value == "inside"
            )
            self.outside_rows.addWidget(
                label(
                    f"{clear} reading{'' if clear == 1 else 's'} inside, none outside."
                    if clear
                    else "Nothing measured yet.",
                    "faint",
                )
            )
        waits = waits_for(job, self.desk.evaluation)
        self.waits.setText("The job is finished." if waits.key == "nothing" else
                           f"The job {waits.words[0].lower()}{waits.words[1:]}.")

    def _show_instruments(self, job: Job) -> None:
        keep = self.instrument.currentData()
        if not keep and job.steps:
            keep = next((s.instrument for s in reversed(job.steps) if s.instrument), "")
        self.instrument.clear()
        self.instrument.addItem("Default instrument", "")
        known = {i.id: i for i in (*self.desk.settings.instruments, *job.instruments)}
        for instrument in known.values():
            self.instrument.addItem(instrument.title or f"{instrument.kind} {instrument.id}", instrument.id)
        self.instrument.setCurrentIndex(max(0, self.instrument.findData(keep)))
        self.on_instrument()

    def first_focus(self) -> QWidget:
        """Begin in the entry line."""
        return self.entry.line

    def _known_instrument(self) -> object:
        wanted = self.instrument.currentData()
        for instrument in (*(self.desk.job.instruments if self.desk.job else ()), *self.desk.settings.instruments):
            if instrument.id == wanted:
                return instrument
        return None

    def _detail_of(self, row: StepRow) -> str:
        """Return what the step says in full, with what a clear test on a circuit could have seen."""
        from workshop_log.jobs.circuit_ranges import reach_of_clear_test

        told = self.desk.evaluation.reading_of(row.step.id) or self.desk.evaluation.remark_of(row.step.id)
        reach = reach_of_clear_test(told, self.desk.job) if told is not None else ""
        return row.detail + (f"  ·  Reach: {reach}." if reach else "")

    # --- the circuit -------------------------------------------------------------------------------------------------

    @Slot()
    def on_view(self) -> None:
        """Turn to the circuit, or to the steps."""
        if self.desk.job is None:
            return
        if self.steps_tab.isChecked():
            self.on_place_left()
        self._show_view()
        if self.circuit_tab.isChecked():
            self.circuit.view.setFocus()

    @Slot(object)
    def on_place(self, place: object) -> None:
        """Take the next reading at the pressed place."""
        self.entry.set_place(place)

    @Slot()
    def on_place_left(self) -> None:
        """Go back to lines that name their place themselves."""
        self.circuit.forget_place()
        self.entry.set_place(None)

    @Slot(str)
    def on_circuit_chosen(self, _circuit: str) -> None:
        """Show what is possible in the circuit that is looked at now."""
        self.suspicion.show_job(self.desk.job, self._circuit_id())

    @Slot(object)
    def on_taken(self, proposal: Proposal) -> None:
        """Make a proposed test next: its place is shown in the drawing, and the entry line says what to type."""
        if not self.circuit_tab.isChecked():
            self.circuit_tab.setChecked(True)
            self._show_view()
        self.circuit.go_to(proposal.place)
        self.entry.make_next(proposal)

    @Slot(str)
    def on_step_wanted(self, step: str) -> None:
        """Show a step among the others."""
        self.steps_tab.click()
        ids = [row.step.id for row in self.table.steps.rows]
        if step in ids:
            self.table.selectRow(ids.index(step))
            self.table.scrollTo(self.table.steps.index(ids.index(step), 0))
            self.table.setFocus()

    @Slot()
    def on_describe(self) -> None:
        self.on_edit_circuit(None)

    @Slot(object)
    def on_edit_circuit(self, circuit: object) -> None:
        """Describe a circuit, or change one; then show it."""
        from workshop_log.desktop.circuit_dialog import CircuitDialog

        if CircuitDialog.ask(self, self.desk, circuit):
            self.circuit_tab.click()

    # --- what the person does ----------------------------------------------------------------------------------------

    @Slot()
    def on_instrument(self) -> None:
        """Use the chosen instrument for the next steps."""
        from workshop_log.jobs.evaluation import DEFAULT_INSTRUMENT_WORDS

        chosen = self._known_instrument()
        self.entry.instrument = chosen
        self.prove.setEnabled(chosen is not None)
        if chosen is None:
            self.instrument_words.setText(f"{DEFAULT_INSTRUMENT_WORDS[0].upper()}{DEFAULT_INSTRUMENT_WORDS[1:]}. "
                                          "Choose the one in your hand to be judged by its own accuracy.")
            return
        proved = (f"Shown to work at {chosen.last_proved.astimezone():%H:%M}." if chosen.last_proved
                  else "Not shown to work yet: a clear result weighs less.")
        self.instrument_words.setText(proved)

    @Slot()
    def on_prove(self) -> None:
        """Take down that the instrument was just shown to work."""
        from workshop_log.jobs.testing import prove_instrument

        chosen = self._known_instrument()
        if chosen is not None:
            self.desk.do(prove_instrument, chosen, now())

    @Slot()
    def on_chosen(self) -> None:
        """Offer what can be done with the chosen step."""
        step = self.table.chosen()
        row = next((r for r in self.table.steps.rows if step is not None and r.step.id == step.id), None)
        live = row is not None and not row.replaced
        self.correct.setEnabled(live)
        self.again.setEnabled(live and not step.after_repair)
        self.consider.setEnabled(live)
        self.attach.setEnabled(step is not None)
        self.suspicion.by_hand.set_step(step.id if step is not None else "")
        self.detail.setText(self._detail_of(row) if row is not None else "")
        self.detail.setVisible(bool(self.detail.text()) and not self.circuit_tab.isChecked())

    @Slot()
    def on_correct(self) -> None:
        """Correct the chosen step in the entry line."""
        if self.correct.isEnabled():
            self.entry.correct(self.table.chosen())

    @Slot()
    def on_again(self) -> None:
        """Make the chosen step again after the repair."""
        if self.again.isEnabled():
            self.entry.again(self.table.chosen())

    @Slot()
    def on_consider(self) -> None:
        """Consider a part because of the chosen step."""
        if self.consider.isEnabled():
            self.case_wanted.emit(self.table.chosen().id)

    @Slot()
    def on_attach(self) -> None:
        """Add photos to the chosen step."""
        self.photos.step = self.table.chosen().id
        self.photos.on_add()
        self.photos.step = None

    @Slot(str)
    def on_recorded(self, step_id: str) -> None:
        """Show the new step's verdict in the status line."""
        judged = self.desk.evaluation.reading_of(step_id)
        self.desk.told.emit(f"Step {step_id} taken down. {judged.words if judged else ''}")
        self.table.scrollToBottom()
        # What was just taken down is what the next key is about.
        self.table.selectRow(self.table.steps.rowCount() - 1)

    @Slot()
    def on_range_wanted(self) -> None:
        """Choose the expected range of the next reading."""
        from workshop_log.desktop.range_dialog import RangeDialog

        chosen = RangeDialog.ask(self, self.desk.settings)
        if chosen is not None:
            expected, words = chosen
            self.entry.set_expected(expected, words)

    @Slot(QPoint)
    def on_menu(self, at: QPoint) -> None:
        """Offer the same actions at the pointer."""
        if self.table.chosen() is None:
            return
        menu = QMenu(self)
        for button in (self.correct, self.again, self.consider, self.attach):
            action = QAction(button.text(), menu)
            action.setEnabled(button.isEnabled())
            action.triggered.connect(button.click)
            menu.addAction(action)
        menu.exec(self.table.viewport().mapToGlobal(at))


class _OutsideRow(QWidget):
    """A reading that stands out, with its glyph and the way to the case."""

    def __init__(self, reading: JudgedReading, job: Job, page: TestingPage) -> None:
        super().__init__()
        from workshop_log.desktop.range_glyph import RangeGlyph
        from workshop_log.jobs.labels import step_title
        from workshop_log.measuring.entry import show_entry

        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(1)
        column.addWidget(label(f"{reading.step.id}  {step_title(reading.step, job)}"))
        row = QHBoxLayout()
        row.addWidget(RangeGlyph(reading))
        row.addWidget(label(f"{show_entry(reading.entry)}, {reading.verdict.value}", "faint"), 1)
        column.addLayout(row)
        self._step: Step = reading.step
        self._page = page

    def mousePressEvent(self, _event: object) -> None:
        """Choose the step in the table."""
        ids = [row.step.id for row in self._page.table.steps.rows]
        if self._step.id in ids:
            self._page.table.selectRow(ids.index(self._step.id))
