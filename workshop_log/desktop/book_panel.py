"""The list of jobs on the left: sorted by what they wait for, searched as you type."""

from __future__ import annotations

from datetime import datetime

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QSize,
    Qt,
    QTimer,
    Signal,
    Slot,
)
from PySide6.QtGui import QColor, QFont, QKeyEvent, QPainter
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QListView,
    QPushButton,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from workshop_log.book.listing import JobRow
from workshop_log.desktop import theme
from workshop_log.desktop.fields import PlainLine, label, tip

# Typing pauses this long before the book is searched.
SEARCH_PAUSE_MS = 120
# What a job waits for when all is done; such a job stands back in the list.
NOTHING_LEFT = "Finished"
_Index = QModelIndex | QPersistentModelIndex


def since_words(since: datetime | None, now: datetime) -> str:
    """Return how long ago `since` was, as people say it."""
    seconds = (now - since).total_seconds() if since is not None else -1.0
    # A moment to come, as in a practice book that plays in later years, has no "for how long".
    if seconds < 0:
        return ""
    if seconds < 90:
        return "just now"
    for size, one, many in ((86_400, "day", "days"), (3_600, "hour", "hours"), (60, "minute", "minutes")):
        count = int(seconds // size)
        if count >= 1:
            if size == 86_400 and count > 60:
                return f"since {since.astimezone():%d %b %Y}".replace(" 0", " ")
            return f"for {count} {one if count == 1 else many}"
    return ""


class JobListModel(QAbstractListModel):
    """Rows of the list; every text is built when the rows change."""

    ROW = Qt.ItemDataRole.UserRole + 1
    TEXTS = Qt.ItemDataRole.UserRole + 2

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[JobRow, ...] = ()
        self._texts: tuple[tuple[str, str, str, str], ...] = ()

    def set_rows(self, rows: tuple[JobRow, ...], now: datetime) -> None:
        """Show `rows`; an unchanged list is left alone so that nothing flickers."""
        texts = tuple(self._text_of(row, now) for row in rows)
        if [r.number for r in rows] == [r.number for r in self._rows]:
            self._rows, self._texts = rows, texts
            if rows:
                self.dataChanged.emit(self.index(0), self.index(len(rows) - 1))
            return
        self.beginResetModel()
        self._rows, self._texts = rows, texts
        self.endResetModel()

    @staticmethod
    def _text_of(row: JobRow, now: datetime) -> tuple[str, str, str, str]:
        first = row.registration or row.customer or row.number
        vehicle = row.vehicle or "vehicle not described yet"
        complaint = " ".join((row.complaint or "complaint not described yet").split())
        is_done = row.waits_for == NOTHING_LEFT
        waits = row.waits_for if is_done else " ".join(filter(None, (row.waits_for, since_words(row.waits_since, now))))
        return first, vehicle, complaint, waits

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(self._rows)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        row, texts = self._rows[index.row()], self._texts[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return f"{texts[0]}, {texts[1]}: {texts[2]}. {texts[3]}. Job {row.number}"
        if role == Qt.ItemDataRole.ToolTipRole:
            return tip(f"Job {row.number}\n{texts[0]} · {texts[1]}\n{texts[2]}\n{texts[3]}")
        if role == self.ROW:
            return row
        if role == self.TEXTS:
            return texts
        return None

    def row_of(self, number: str) -> int:
        """Return the row of the job `number`, or -1."""
        return next((i for i, row in enumerate(self._rows) if row.number == number), -1)


class _JobDelegate(QStyledItemDelegate):
    """Draws one job: plate and vehicle, complaint, what it waits for."""

    def sizeHint(self, option: QStyleOptionViewItem, _index: _Index) -> QSize:
        return QSize(100, option.fontMetrics.lineSpacing() * 3 + 22)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        colours = theme.current()
        first, vehicle, complaint, waits = index.data(JobListModel.TEXTS)
        painter.save()
        # Asked of the view, not of the option: to make the style's many constants takes longer than to paint the list.
        picked = self.parent().selectionModel().isSelected(index)
        painter.fillRect(option.rect, QColor(colours.picked if picked else colours.band))
        if picked:
            painter.fillRect(
                QRect(option.rect.left(), option.rect.top(), 4, option.rect.height()), QColor(colours.accent)
            )
        box = option.rect.adjusted(14, 9, -12, -9)
        step = option.fontMetrics.lineSpacing() + 1
        strong = QFont(option.font)
        strong.setWeight(QFont.Weight.DemiBold)
        painter.setFont(strong)
        painter.setPen(QColor(colours.ink))
        metrics = painter.fontMetrics()
        head = metrics.elidedText(first, Qt.TextElideMode.ElideRight, box.width())
        painter.drawText(box.left(), box.top() + metrics.ascent(), head)
        used = metrics.horizontalAdvance(head) + 10
        painter.setFont(option.font)
        metrics = painter.fontMetrics()
        painter.setPen(QColor(colours.faint_ink))
        elide = Qt.TextElideMode.ElideRight
        painter.drawText(
            box.left() + used, box.top() + metrics.ascent(), metrics.elidedText(vehicle, elide, box.width() - used)
        )
        painter.setPen(QColor(colours.ink))
        painter.drawText(
            box.left(), box.top() + step + metrics.ascent(), metrics.elidedText(complaint, elide, box.width())
        )
        painter.setPen(QColor(colours.faint_ink if waits == NOTHING_LEFT else colours.accent))
        painter.drawText(
            box.left(), box.top() + 2 * step + metrics.ascent(), metrics.elidedText(waits, elide, box.width())
        )
        painter.setPen(QColor(colours.rule))
        painter.drawLine(option.rect.bottomLeft(), option.rect.bottomRight())
        painter.restore()


class BookPanel(QWidget):
    """Search field, list and the button for a new job.

    Signals
    -------
    job_wanted : str
        The number of the job that was clicked or chosen with Enter.
    new_wanted
        A new job shall be taken in.
    words_changed : str
        What to search for, after a short pause in typing; empty for the whole list.
    """

    job_wanted = Signal(str)
    new_wanted = Signal()
    words_changed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "band")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.model = JobListModel(self)
        self.search = PlainLine()
        self.search.setPlaceholderText("Search: plate, name, words, part…")
        self.search.setAccessibleName("Search the book")
        self.search.setClearButtonEnabled(True)
        self.search.setMinimumHeight(theme.TARGET_PX - 4)
        self.view = QListView()
        self.view.setProperty("part", "book")
        self.view.setAccessibleName("Jobs")
        self.view.setModel(self.model)
        self.view.setItemDelegate(_JobDelegate(self.view))
        self.view.setUniformItemSizes(True)
        self.view.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self.view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.new_button = QPushButton("New job")
        self.new_button.setProperty("part", "main")
        self.new_button.setMinimumHeight(theme.TARGET_PX - 4)
        self.empty = label("", "faint")
        self.empty.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        self.empty.hide()
        self.count = QLabel("")
        self.count.setProperty("part", "faint")

        top = QHBoxLayout()
        top.addWidget(self.search, 1)
        top.addWidget(self.new_button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 10, 0, 6)
        column.setSpacing(8)
        head = QWidget()
        head.setLayout(top)
        top.setContentsMargins(12, 0, 12, 0)
        column.addWidget(head)
        column.addWidget(self.empty)
        column.addWidget(self.view, 1)
        self.count.setContentsMargins(14, 0, 12, 0)
        column.addWidget(self.count)

        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(SEARCH_PAUSE_MS)
        self._pause.timeout.connect(self.on_pause_over)
        self.search.textChanged.connect(self._pause.start)
        self.search.returnPressed.connect(self.on_search_entered)
        self.view.clicked.connect(self.on_row_chosen)
        self.view.activated.connect(self.on_row_chosen)
        self.new_button.clicked.connect(self.new_wanted)

    def show_rows(self, rows: tuple[JobRow, ...], now: datetime, current: str = "", more: bool = False) -> None:
        """Show `rows` and mark the job `current`."""
        self.model.set_rows(rows, now)
        self.mark(current)
        words = self.search.text().strip()
        self.empty.setVisible(not rows)
        self.empty.setText(
            f"Nothing in the book has “{words}”." if words else "The book is empty.\nBegin with New job."
        )
        found = f"{len(rows)}{'+' if more else ''} "
        self.count.setText(
            found + (("found" if words else "jobs") if len(rows) != 1 or more else ("found" if words else "job"))
        )

    def mark(self, number: str) -> None:
        """Mark the job `number` in the list."""
        row = self.model.row_of(number)
        if row >= 0:
            self.view.setCurrentIndex(self.model.index(row))
        else:
            self.view.clearSelection()

    @Slot()
    def on_pause_over(self) -> None:
        self.words_changed.emit(self.search.text().strip())

    @Slot()
    def on_search_entered(self) -> None:
        """Open the first job found."""
        self._pause.stop()
        self.words_changed.emit(self.search.text().strip())
        if self.model.rowCount():
            self.on_row_chosen(self.model.index(0))

    @Slot(QModelIndex)
    def on_row_chosen(self, index: QModelIndex) -> None:
        row = index.data(JobListModel.ROW)
        if row is not None:
            self.job_wanted.emit(row.number)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go from the search field into the list with the down key."""
        if event.key() == Qt.Key.Key_Down and self.search.hasFocus() and self.model.rowCount():
            self.view.setFocus()
            self.view.setCurrentIndex(self.model.index(0))
            return
        super().keyPressEvent(event)
