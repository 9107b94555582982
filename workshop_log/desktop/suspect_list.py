"""The suspects under the bar: the likeliest first, with size and what is not told from it; the cleared struck out."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, QRect, QSize, Qt, Signal, Slot
from PySide6.QtGui import QColor, QFont, QFontMetrics, QKeyEvent, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.fields import bring_into_view, tip

if TYPE_CHECKING:
    from workshop_log.jobs.suspicion import CircuitSuspicion, Share, SuspectLine

_Index = QModelIndex | QPersistentModelIndex
# Parts that are less likely than this stand behind a fold, and those after so many: the next test shall be in sight.
SMALL, MOST_SHOWN = 0.01, 4
# What can be unfolded.
CLEARED, FEW = "cleared", "few"
SHARE, SUSPECT, FOLD = "share", "suspect", "fold"
_APPEARS = {"always": "always there"}
# So many suspects that cannot be told from one are named.
_MOST_NAMED = 4
_SIDE, _ABOVE, _INDENT, _BETWEEN = 8, 7, 14, 10


class SuspectRow(NamedTuple):
    """One row as it is shown.

    Attributes
    ----------
    kind : str
        An element or another part of the bar, one suspect of the chosen one, or something to unfold.
    key : str
        Of the part, of the suspect, or what is unfolded.
    share : str
        The part of the bar that it belongs to; blank for a fold.
    title, right : str
        What it is, and how likely: percent, or the steps that cleared it.
    below : str
        In a line under it: kind of fault, size, what no measurement tells from it.
    is_struck : bool
        Whether it is cleared.
    spoken, tip : str
        For those who listen, and for the pointer.
    """

    kind: str
    key: str
    share: str
    title: str
    right: str = ""
    below: str = ""
    is_struck: bool = False
    spoken: str = ""
    tip: str = ""


def suspect_rows(suspicion: CircuitSuspicion, chosen: str = "", unfolded: frozenset[str] = frozenset(),
                 ) -> tuple[SuspectRow, ...]:
    """Return the rows of the list: parts of the bar, under the chosen one its suspects, and the folds."""
    standing = [share for share in suspicion.shares if share.standing != "cleared"]
    few = few_of(suspicion)
    cleared = [share for share in suspicion.shares if share.standing == "cleared"]
    rows: list[SuspectRow] = []
    for share in standing:
        if share not in few:
            rows += _rows_of(share, suspicion, chosen)
    for name, shares, words in ((FEW, few, f"{len(few)} others, {_at_most(few)}"),
                                (CLEARED, cleared, f"{len(cleared)} cleared")):
        if shares:
            is_open = name in unfolded
            rows.append(SuspectRow(FOLD, name, "", f"{'▾' if is_open else '▸'}  {words}",
                                   spoken=f"{words}, {'shown' if is_open else 'hidden'}: Enter changes it"))
            for share in shares if is_open else ():
                rows += _rows_of(share, suspicion, chosen)
    return tuple(rows)


def few_of(suspicion: CircuitSuspicion) -> list[Share]:
    """Return the standing parts behind the fold: hardly likely, or after the first ones."""
    standing = [share for share in suspicion.shares if share.standing != "cleared"]
    few = [share for place, share in enumerate(standing) if share.probability < SMALL or place >= MOST_SHOWN]
    # A fold for one row saves nothing.
    return few if len(few) > 1 else []


def _at_most(shares: list[Share]) -> str:
    """Return how likely each of some parts is at most."""
    from workshop_log.jobs.percent import percent_words

    most = max((share.probability for share in shares), default=0.0)
    return "under 1\N{NO-BREAK SPACE}% each" if most < SMALL else f"{percent_words(most)} or less each"


def _rows_of(share: Share, suspicion: CircuitSuspicion, chosen: str) -> list[SuspectRow]:
    from workshop_log.jobs.percent import percent_words

    lines = suspicion.lines_of(share.key)
    # What is written by hand has no kinds of fault to be listed.
    is_cleared, is_chosen = share.standing == "cleared", share.key == chosen and any(line.fault for line in lines)
    steps = ", ".join(share.cleared_by)
    right = (steps or "cleared") if is_cleared else percent_words(share.probability)
    likeliest = next((line for line in lines if line.standing != "cleared"), None)
    below = "proved" if share.standing == "proved" else ""
    if likeliest is not None and not is_chosen:
        below = "; ".join(filter(None, (below, _likeliest_words(likeliest), _same_words(likeliest, suspicion))))
    reach = "\n".join(dict.fromkeys(line.reach for line in lines if line.reach)) if is_cleared else ""
    spoken = ", ".join(filter(None, (share.name, f"cleared by {steps}" if is_cleared and steps else right, below)))
    rows = [SuspectRow(SHARE, share.key, share.key, share.name, right, below, is_cleared, spoken,
                       "\n".join(filter(None, (f"{share.name}: {right}", reach))))]
    return [*rows, *(_suspect_row(line, suspicion) for line in lines)] if is_chosen else rows


def _suspect_row(line: SuspectLine, suspicion: CircuitSuspicion) -> SuspectRow:
    from workshop_log.jobs.percent import percent_words

    is_cleared = line.standing == "cleared"
    steps = ", ".join(line.cleared_by)
    right = (steps or "cleared") if is_cleared else percent_words(line.probability)
    title = _fault_words(line) or line.name
    below = line.reach if is_cleared else "; ".join(filter(None, (
        "proved" if line.standing == "proved" else "", _size_words(line), _same_words(line, suspicion))))
    spoken = ", ".join(filter(None, (line.name, f"cleared by {steps}" if is_cleared and steps else right, below)))
    return SuspectRow(SUSPECT, line.key, line.share, title, right, below, is_cleared, spoken,
                      "\n".join(filter(None, (line.name, line.reach))))


def _fault_words(line: SuspectLine) -> str:
    """Return the kind of fault and how it appears: "open, comes and goes"."""
    if not line.fault or " and " in line.element:
        return ""
    return ", ".join(filter(None, (line.fault, _APPEARS.get(line.appears, line.appears))))


def _likeliest_words(line: SuspectLine) -> str:
    """Return the likeliest fault of a part in one short line: "high resistance, 2.2 mΩ to 46 kΩ, comes and goes"."""
    appears = line.appears if line.appears != "always" else ""
    return ", ".join(filter(None, (line.fault, line.size, appears))) if _fault_words(line) else ""


def _size_words(line: SuspectLine) -> str:
    return f"size {line.size}" if line.size else ""


def _same_words(line: SuspectLine, suspicion: CircuitSuspicion) -> str:
    """Return what no measurement tells from a suspect: "or C2.1: no measurement tells them apart"."""
    known = {other.key: other for other in suspicion.suspects}
    others = [known[key] for key in line.same_as if key in known]
    elements = list(dict.fromkeys(other.element or other.name for other in others if other.element != line.element))
    names = elements or list(dict.fromkeys(_fault_words(other) or other.name for other in others))
    if not names:
        return ""
    if len(names) > _MOST_NAMED:
        names = [*names[:_MOST_NAMED - 1], f"one of {len(names) - _MOST_NAMED + 1} others"]
    said = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
    return f"or {said}: no measurement tells them apart"


class SuspectModel(QAbstractListModel):
    """The rows; every text is built when the suspicion changes."""

    ROW = Qt.ItemDataRole.UserRole + 1

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows: tuple[SuspectRow, ...] = ()

    def set_rows(self, rows: tuple[SuspectRow, ...]) -> None:
        """Show `rows`; where they are the same ones with other words, nothing is built anew."""
        if rows == self.rows:
            return
        if [(row.kind, row.key) for row in rows] == [(row.kind, row.key) for row in self.rows]:
            self.rows = rows
            self.dataChanged.emit(self.index(0), self.index(len(rows) - 1))
            return
        self.beginResetModel()
        self.rows = rows
        self.endResetModel()

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(self.rows)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        row = self.rows[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return row.title
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return row.spoken
        if role == Qt.ItemDataRole.ToolTipRole:
            return tip(row.tip) or None
        return row if role == self.ROW else None


class _SuspectDelegate(QStyledItemDelegate):
    """Draws a row: what it is and how likely, and under it what else is known."""

    def __init__(self, view: SuspectList) -> None:
        super().__init__(view)
        self._view = view

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:
        width = self._view.viewport().width()
        boxes = _boxes(index.data(SuspectModel.ROW), QRect(0, 0, width, 0), option.font)
        bottom = max(box.bottom() for box in boxes) + 1 + _ABOVE
        return QSize(width, max(bottom, theme.TARGET_PX))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        row: SuspectRow = index.data(SuspectModel.ROW)
        colours = theme.current()
        is_current = bool(option.state & QStyle.StateFlag.State_HasFocus)
        is_chosen = row.kind == SHARE and row.key == self._view.chosen
        painter.save()
        if is_chosen:
            painter.fillRect(option.rect, QColor(colours.picked))
        if row.kind == SHARE and index.row():
            painter.fillRect(option.rect.left(), option.rect.top(), option.rect.width(), 1, QColor(colours.rule))
        if is_current:
            painter.setPen(QColor(colours.accent))
            painter.drawRect(option.rect.adjusted(0, 1, -1, -1))
        title, right, below = _boxes(row, option.rect, option.font)
        used = max(title.bottom(), right.bottom(), below.bottom()) + 1 - option.rect.top() + _ABOVE
        # A short row stands in the middle of its target.
        down = max(0, (option.rect.height() - used) // 2)
        font = _title_font(row, option.font)
        font.setStrikeOut(row.is_struck)
        faint = row.is_struck or row.kind == FOLD
        wrap = Qt.TextFlag.TextWordWrap
        painter.setFont(font)
        painter.setPen(QColor(colours.accent if row.kind == FOLD else colours.faint_ink if faint else colours.ink))
        painter.drawText(title.translated(0, down), wrap, row.title)
        painter.setFont(_right_font(row, option.font))
        painter.setPen(QColor(colours.accent if row.is_struck else colours.ink))
        painter.drawText(right.translated(0, down), wrap | Qt.AlignmentFlag.AlignRight, row.right)
        painter.setFont(option.font)
        painter.setPen(QColor(colours.faint_ink))
        painter.drawText(below.translated(0, down), wrap, row.below)
        painter.restore()


def _title_font(row: SuspectRow, font: QFont) -> QFont:
    made = QFont(font)
    if row.kind == SHARE and not row.is_struck:
        made.setWeight(QFont.Weight.DemiBold)
    return made


def _right_font(row: SuspectRow, font: QFont) -> QFont:
    made = QFont(font)
    if row.kind == SHARE or row.is_struck:
        made.setWeight(QFont.Weight.DemiBold)
    return made


def _boxes(row: SuspectRow, room: QRect, font: QFont) -> tuple[QRect, QRect, QRect]:
    """Return where title, percent and the words below stand in a row that begins where `room` does."""
    left = room.left() + _SIDE + (_INDENT if row.kind == SUSPECT else 0)
    width = room.right() - _SIDE - left + 1
    top = room.top() + _ABOVE
    wrap = int(Qt.TextFlag.TextWordWrap)
    strong = QFontMetrics(_right_font(row, font))
    # Steps may be many: they take as much as they need up to a third, and wrap.
    right_wide = min(strong.horizontalAdvance(row.right) + 2, width // 3) if row.right else 0
    right = strong.boundingRect(QRect(0, 0, right_wide, 10_000), wrap, row.right) if row.right else QRect()
    right_box = QRect(left + width - right_wide, top, right_wide, right.height())
    title_wide = width - (right_wide + _BETWEEN if row.right else 0)
    title = QFontMetrics(_title_font(row, font)).boundingRect(QRect(0, 0, title_wide, 10_000), wrap, row.title)
    title_box = QRect(left, top, title_wide, title.height())
    if not row.below:
        return title_box, right_box, QRect(left, top, 0, 0)
    below_top = max(title_box.bottom(), right_box.bottom()) + 3
    below = QFontMetrics(font).boundingRect(QRect(0, 0, width, 10_000), wrap, row.below)
    return title_box, right_box, QRect(left, below_top, width, below.height())


class SuspectList(QListView):
    """The list, as high as what is in it: the column that it stands in scrolls.

    Arrow keys go from row to row; Enter or a click chooses a part of the bar, or unfolds.

    Signals
    -------
    share_chosen : str
        The key of a part of the bar; blank when it is let go of.
    """

    share_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.suspects = SuspectModel(self)
        self._suspicion: CircuitSuspicion | None = None
        self.chosen = ""
        self._unfolded: frozenset[str] = frozenset()
        self.setModel(self.suspects)
        self.setItemDelegate(_SuspectDelegate(self))
        self.setAccessibleName("Suspects, the likeliest first")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setProperty("part", "flat")
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.clicked.connect(self.on_clicked)

    def show_suspicion(self, suspicion: CircuitSuspicion | None) -> None:
        """Show these suspects; what is chosen and unfolded stays."""
        self._suspicion = suspicion
        self._show_rows()

    def choose(self, key: str) -> None:
        """Show the suspects of a part of the bar; none with an empty key."""
        if key == self.chosen:
            return
        self.chosen = key
        share = self._suspicion.share_of(key) if self._suspicion else None
        if share is not None and share.standing == "cleared":
            self._unfolded |= {CLEARED}
        elif share is not None and share in few_of(self._suspicion):
            self._unfolded |= {FEW}
        self._show_rows()

    def fold(self) -> None:
        """Let go of what is chosen and unfolded, as when another circuit is shown."""
        self.chosen, self._unfolded = "", frozenset()
        self._show_rows()

    def _show_rows(self) -> None:
        current = self.currentIndex().data(SuspectModel.ROW) if self.currentIndex().isValid() else None
        rows = suspect_rows(self._suspicion, self.chosen, self._unfolded) if self._suspicion else ()
        self.suspects.set_rows(rows)
        if current is not None and not self.currentIndex().isValid():
            place = next((i for i, row in enumerate(rows) if (row.kind, row.key) == (current.kind, current.key)), -1)
            self.setCurrentIndex(self.suspects.index(place))
        self._fit()

    def _fit(self) -> None:
        """Take the height that the rows need at this width."""
        self.doItemsLayout()
        high = sum(self.sizeHintForIndex(self.suspects.index(row)).height() for row in range(len(self.suspects.rows)))
        if self.height() != high or self.minimumHeight() != high:
            self.setFixedHeight(high)
        self.viewport().update()

    def resizeEvent(self, event: object) -> None:
        super().resizeEvent(event)
        self._fit()

    @Slot(QModelIndex)
    def on_clicked(self, index: QModelIndex) -> None:
        """Choose or unfold what was clicked."""
        self._press(index.data(SuspectModel.ROW))

    def _press(self, row: SuspectRow) -> None:
        if row.kind == FOLD:
            self._unfolded ^= {row.key}
            self._show_rows()
        elif row.kind == SHARE:
            self.choose("" if row.key == self.chosen else row.key)
            self.share_chosen.emit(self.chosen)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose or unfold with Enter; the arrow keys go from row to row."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space) and self.currentIndex().isValid():
            self._press(self.currentIndex().data(SuspectModel.ROW))
            return
        super().keyPressEvent(event)

    def currentChanged(self, current: QModelIndex, previous: QModelIndex) -> None:
        """Scroll to the row that the arrow keys come to."""
        super().currentChanged(current, previous)
        if current.isValid() and self.hasFocus():
            bring_into_view(self, self.visualRect(current))

    def focusInEvent(self, event: object) -> None:
        super().focusInEvent(event)
        if not self.currentIndex().isValid() and self.suspects.rows:
            self.setCurrentIndex(self.suspects.index(0))
