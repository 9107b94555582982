"""The test steps of a job as a table: what, the reading, its glyph, the expected range and the verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.fields import tip
from workshop_log.desktop.range_glyph import HEIGHT, WIDTH, draw_glyph, glyph_words, verdict_colour

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job, Step
    from workshop_log.jobs.evaluation import Evaluation, JudgedReading

_Index = QModelIndex | QPersistentModelIndex
HEADINGS = ("No.", "Test", "Reading", "Expected", "Verdict")
NUMBER, TEST, READING, EXPECTED, VERDICT = range(5)


@dataclass(frozen=True, slots=True)
class StepRow:
    """One step as it is shown: an upper and a lower line for each column."""

    step: Step
    judged: JudgedReading | None
    upper: tuple[str, ...]
    lower: tuple[str, ...]
    verdict: str
    replaced: bool
    # The step in full sentences, for the line under the table and for those who listen.
    detail: str
    spoken: str


def step_rows(job: Job, evaluation: Evaluation) -> tuple[StepRow, ...]:
    """Return the rows for `job`, in the order in which the steps were taken."""
    from workshop_log.jobs.labels import setup_words, step_title
    from workshop_log.measuring.entry import show_entry

    replaced = {step.replaces for step in job.steps if step.replaces}
    rows = []
    for step in job.steps:
        judged, remark = evaluation.reading_of(step.id), evaluation.remark_of(step.id)
        condition = "  ·  ".join(filter(None, (
            setup_words(step, job) if step.setup else "", "after the repair" if step.after_repair else "",
            f"corrects {step.replaces}: {step.because}" if step.replaces else "", " ".join(step.note.split()))))
        reading = show_entry(judged.entry) if judged and judged.entry else (remark.words if remark else "?")
        verdict = judged.verdict.value if judged and judged.verdict else ""
        expected = judged.expected.words() if judged and judged.expected else ""
        when = f"{step.at.astimezone():%H:%M}" if step.at else ""
        below = _instrument_words(step, judged, job)
        first, _, rest = verdict.partition(" to ")
        shown_verdict = first or ("no range yet" if judged else "")
        under_verdict = "replaced" if step.id in replaced else f"to {rest}" if rest else ""
        caveat = judged.words if judged else remark.caveat if remark else ""
        rows.append(StepRow(
            step, judged,
            (step.id, step_title(step, job), reading, "", shown_verdict),
            (when, condition, below, expected, under_verdict),
            verdict, step.id in replaced,
            "  ·  ".join(filter(None, (condition, caveat))),
            f"Step {step.id}: {', '.join(filter(None, (step_title(step, job), condition)))}. "
            f"{glyph_words(judged) if judged else reading}"))
    return tuple(rows)


def _instrument_words(step: Step, judged: JudgedReading | None, job: Job) -> str:
    if judged is None:
        return ""
    if judged.default_instrument:
        return "default instrument"
    return next((i.title or i.id for i in job.instruments if i.id == step.instrument), step.instrument or "")


class StepModel(QAbstractTableModel):
    """Rows and columns of the steps; every text is built when the job changes."""

    ROW = Qt.ItemDataRole.UserRole + 1

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows: tuple[StepRow, ...] = ()

    def set_rows(self, rows: tuple[StepRow, ...]) -> None:
        """Show `rows`."""
        if rows == self.rows:
            return
        self.beginResetModel()
        self.rows = rows
        self.endResetModel()

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(HEADINGS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return HEADINGS[section]
        return None

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        row = self.rows[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return row.upper[index.column()]
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return row.spoken
        if role == Qt.ItemDataRole.ToolTipRole:
            lines = (row.upper[index.column()], row.lower[index.column()])
            if index.column() in (EXPECTED, VERDICT) and row.judged:
                lines = (row.judged.words,)
            return tip("\n".join(filter(None, lines))) or None
        if role == self.ROW:
            return row
        return None


class _StepDelegate(QStyledItemDelegate):
    """Draws a cell in two lines: what matters, and under it where it comes from."""

    def sizeHint(self, option: QStyleOptionViewItem, _index: _Index) -> QSize:
        return QSize(60, _row_height(option.fontMetrics))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        self.initStyleOption(option, index)
        ground = _blank(option)
        ground.widget.style().drawControl(QStyle.ControlElement.CE_ItemViewItem, ground, painter, ground.widget)
        painter.fillRect(option.rect.left(), option.rect.bottom(), option.rect.width(), 1, QColor(theme.current().rule))
        row: StepRow = index.data(StepModel.ROW)
        column = index.column()
        box = option.rect.adjusted(8, 6, -8, -6)
        if column == EXPECTED and row.judged:
            draw_glyph(painter, QRectF(box.left(), box.top() - 3, box.width(), HEIGHT), row.judged)
        colours = theme.current()
        painter.save()
        upper = QFont(option.font)
        ink = colours.faint_ink if row.replaced else colours.ink
        if column == READING:
            upper.setWeight(QFont.Weight.DemiBold)
        if column == VERDICT and row.verdict:
            upper.setWeight(QFont.Weight.DemiBold)
            ink = verdict_colour(row.verdict)
        upper.setStrikeOut(row.replaced and column in (TEST, READING))
        elide = Qt.TextElideMode.ElideRight
        for text, font, colour, line in ((row.upper[column], upper, ink, 0),
                                         (row.lower[column], QFont(option.font), colours.faint_ink, 1)):
            painter.setFont(font)
            painter.setPen(QColor(colour))
            metrics = painter.fontMetrics()
            top = box.top() + line * (metrics.lineSpacing() + 4)
            if not row.lower[column] and line == 0 and column != EXPECTED:
                top = box.center().y() - metrics.height() // 2
            shown = metrics.elidedText(text, elide, box.width())
            painter.drawText(box.left(), top + metrics.ascent(), shown)
        painter.restore()


def _row_height(metrics: QFontMetrics) -> int:
    """Return the height of a row: a target for a gloved finger, with room for two lines or a glyph and a line."""
    return max(theme.TARGET_PX, metrics.lineSpacing() * 2 + 18)


def _blank(option: QStyleOptionViewItem) -> QStyleOptionViewItem:
    """Return the option for a cell's ground alone, without a focus frame inside the row."""
    ground = QStyleOptionViewItem(option)
    ground.text = ""
    ground.state &= ~QStyle.StateFlag.State_HasFocus
    return ground


class StepTable(QTableView):
    """The table; whole rows are chosen, columns share the width."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.steps = StepModel(self)
        self.setModel(self.steps)
        self.setItemDelegate(_StepDelegate(self))
        self.setAccessibleName("Test steps")
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(_row_height(self.fontMetrics()))
        header = self.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setHighlightSections(False)
        header.setMinimumSectionSize(40)
        for column in (NUMBER, READING, EXPECTED, VERDICT):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
        header.setSectionResizeMode(TEST, QHeaderView.ResizeMode.Stretch)
        em = self.fontMetrics().horizontalAdvance("0")
        self.setColumnWidth(NUMBER, em * 7)
        self.setColumnWidth(READING, em * 16)
        self.setColumnWidth(EXPECTED, int(WIDTH) + 36)
        self.setColumnWidth(VERDICT, em * 12)

    def show_job(self, job: Job, evaluation: Evaluation) -> None:
        """Show the steps of `job` and keep the chosen one; a new last step is scrolled to."""
        chosen = self.chosen()
        before = len(self.steps.rows)
        self.steps.set_rows(step_rows(job, evaluation))
        self.clearSpans()
        for number, row in enumerate(self.steps.rows):
            # What a look or a movement test showed is a sentence, and has no range beside it.
            if row.judged is None:
                self.setSpan(number, READING, 1, 2)
        ids = [row.step.id for row in self.steps.rows]
        if chosen is not None and chosen.id in ids:
            self.selectRow(ids.index(chosen.id))
        if len(ids) > before:
            self.scrollToBottom()

    def chosen(self) -> Step | None:
        """Return the step that is chosen."""
        rows = self.selectionModel().selectedRows()
        return rows[0].data(StepModel.ROW).step if rows else None
