"""What a circuit begins with: one of an earlier job on the same model, a usual one, or nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QSize, Qt, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QListWidget, QListWidgetItem, QPushButton, QVBoxLayout, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.circuit_view import CircuitView
from workshop_log.desktop.fields import label

if TYPE_CHECKING:
    from workshop_log.desktop.desk import Desk
    from workshop_log.exchange.records import Circuit

_LIST_WIDTH = 400
# Room above and below the words of a row, to be pressed with a glove.
_AROUND = 18


class Beginning(NamedTuple):
    """One circuit to begin with.

    Attributes
    ----------
    title, words : str
        What it is, and what it is for or where it comes from.
    circuit : Circuit
        The circuit.
    origin : str
        The job and vehicle that it was described for; blank for what is usual.
    """

    title: str
    words: str
    circuit: Circuit
    origin: str = ""


def beginnings(desk: Desk) -> list[Beginning]:
    """Return all circuits to begin with, the closest to this vehicle first."""
    from workshop_log.book.known import known_circuits
    from workshop_log.jobs.circuit_editing import circuit_from_nothing
    from workshop_log.jobs.starters import starter_circuits

    with desk.book.read() as session:
        known = known_circuits(session, desk.job.vehicle, desk.job.number)
    return [
        *(Beginning(k.circuit.title or k.circuit.id, "As it was described for the same model before, with its setups.",
                    k.circuit, f"job {k.number}, {k.vehicle}") for k in known),
        *(Beginning(starter.title, starter.words, starter.circuit) for starter in starter_circuits()),
        Beginning("From nothing", "A battery, a fuse, a wire, a load and a ground point; everything else is added.",
                  circuit_from_nothing())]


class BeginPage(QWidget):
    """A list with search, and beside it the drawing of what is chosen.

    Signals
    -------
    chosen : object
        Begin with this `Circuit`.
    left
        Begin with none.
    """

    chosen = Signal(object)
    left = Signal()

    def __init__(self, offered: list[Beginning], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._offered = offered
        self.find = QLineEdit()
        self.find.setPlaceholderText("Search: horn, relay, sensor…")
        self.find.setAccessibleName("Search the circuits to begin with")
        self.find.setMinimumHeight(theme.TARGET_PX)
        self.list = QListWidget()
        self.list.setAccessibleName("Circuits to begin with")
        self.list.setWordWrap(True)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        for beginning in offered:
            item = QListWidgetItem(f"{beginning.title}\n{beginning.origin}" if beginning.origin else beginning.title)
            item.setSizeHint(QSize(0, self.fontMetrics().lineSpacing() * (2 if beginning.origin else 1) + _AROUND))
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{beginning.title}. {beginning.origin} {beginning.words}")
            self.list.addItem(item)
        self.title, self.words = label("", "heading"), label("", "faint")
        self.view = CircuitView()
        # To be looked at here, not pressed.
        self.view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.begin, cancel = QPushButton("Begin with this"), QPushButton("Cancel")
        self.begin.setProperty("part", "main")
        self.begin.setDefault(True)
        for button in (self.begin, cancel):
            button.setMinimumHeight(theme.TARGET_PX)
        cancel.setAutoDefault(False)
        self._lay_out(cancel)
        self.find.textChanged.connect(self.on_find)
        self.list.currentRowChanged.connect(self.on_row)
        self.list.itemActivated.connect(self.on_begin)
        self.begin.clicked.connect(self.on_begin)
        cancel.clicked.connect(self.left)
        self.list.setCurrentRow(0)

    def _lay_out(self, cancel: QPushButton) -> None:
        left = QVBoxLayout()
        left.addWidget(label("Begin with", "section"))
        left.addWidget(self.find)
        left.addWidget(self.list, 1)
        self.list.setFixedWidth(_LIST_WIDTH)
        self.find.setFixedWidth(_LIST_WIDTH)
        right = QVBoxLayout()
        right.addWidget(self.title)
        right.addWidget(self.words)
        right.addWidget(self.view, 1)
        row = QHBoxLayout()
        row.setSpacing(16)
        row.addLayout(left)
        row.addLayout(right, 1)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(cancel)
        buttons.addWidget(self.begin)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addLayout(row, 1)
        column.addLayout(buttons)

    @Slot(str)
    def on_find(self, words: str) -> None:
        """Show what has all the words, and choose the first of it."""
        wanted = words.casefold().split()
        first = -1
        for row, beginning in enumerate(self._offered):
            text = f"{beginning.title} {beginning.words} {beginning.origin}".casefold()
            is_found = all(word in text for word in wanted)
            self.list.item(row).setHidden(not is_found)
            first = row if is_found and first < 0 else first
        current = self.list.currentItem()
        if current is None or current.isHidden():
            self.list.setCurrentRow(first)

    @Slot(int)
    def on_row(self, row: int) -> None:
        """Show what is chosen."""
        self.begin.setEnabled(row >= 0)
        self.view.setVisible(row >= 0)
        if row < 0:
            self.title.setText("Nothing found")
            self.words.setText("Search with another word, or begin from nothing.")
            return
        beginning = self._offered[row]
        self.title.setText(beginning.title)
        self.words.setText(beginning.words)
        self.view.show_circuit(beginning.circuit)
        self.view.fit()

    @Slot()
    def on_begin(self) -> None:
        """Go on with what is chosen."""
        row = self.list.currentRow()
        if row >= 0 and not self.list.item(row).isHidden():
            self.chosen.emit(self._offered[row].circuit)
