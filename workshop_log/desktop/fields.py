"""Labelled fields that hand over what was typed when the cursor leaves them."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QEvent, QRect, QSignalBlocker, Qt, Signal, Slot
from PySide6.QtGui import QFocusEvent, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLayout,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from workshop_log.desktop import theme


def label(text: str, part: str = "", parent: QWidget | None = None) -> QLabel:
    """Return a label of plain text whose look is named by `part` (see the theme's style sheet)."""
    made = QLabel(text, parent)
    made.setTextFormat(Qt.TextFormat.PlainText)
    made.setWordWrap(True)
    made.setIndent(0)
    if part:
        made.setProperty("part", part)
    return made


def is_for_the_book(event: QEvent, is_typing: bool) -> bool:
    """Whether Undo or Redo was pressed in a field where nothing is being typed: it then means the last edit.

    A field would otherwise keep the keys for itself, whether or not it has anything to undo.
    """
    return (event.type() == QEvent.Type.ShortcutOverride and not is_typing
            and (event.matches(QKeySequence.StandardKey.Undo) or event.matches(QKeySequence.StandardKey.Redo)))


def tip(text: str) -> str:
    """Return a tool tip that shows `text` as it was typed: Qt would take some of it for markup."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace("\n", "<br>")


def empty(layout: QLayout) -> None:
    """Take every widget out of `layout`; each is gone from sight at once, and deleted when Qt comes to it."""
    while layout.count():
        old = layout.takeAt(0).widget()
        old.hide()
        old.deleteLater()


def bring_into_view(widget: QWidget, part: QRect | None = None) -> None:
    """Scroll the column that a widget stands in so that it, or a part of it, can be seen: Qt does so for Tab alone."""
    above = widget.parentWidget()
    while above is not None and not isinstance(above, QScrollArea):
        above = above.parentWidget()
    if above is None:
        return
    part = part or widget.rect()
    # From the bottom to the top: where both do not fit the top is seen.
    for corner in (part.bottomLeft(), part.topLeft()):
        at = widget.mapTo(above.widget(), corner)
        above.ensureVisible(max(at.x(), 0), at.y(), 0, 12)


def in_tab_order(before: QWidget, newcomers: Iterable[QWidget]) -> None:
    """Let the cursor come to `newcomers` before it comes to `before`; rows that are made late come last otherwise."""
    newcomers = tuple(newcomers)
    late = {id(part) for widget in newcomers for part in (widget, *widget.findChildren(QWidget))}
    last = before.previousInFocusChain()
    # Qt takes no order from a widget that the cursor does not come to.
    while last is not before and (id(last) in late or not last.focusPolicy() & Qt.FocusPolicy.TabFocus):
        last = last.previousInFocusChain()
    for widget in newcomers:
        for part in (widget, *widget.findChildren(QWidget)):
            # A choice's list is a window of its own.
            if part.focusPolicy() & Qt.FocusPolicy.TabFocus and part.window() is before.window():
                QWidget.setTabOrder(last, part)
                last = part
    QWidget.setTabOrder(last, before)


def set_part(widget: QWidget, name: str, value: object) -> None:
    """Set a style property and make the style sheet look at the widget again."""
    if widget.property(name) == value:
        return
    widget.setProperty(name, value)
    widget.style().unpolish(widget)
    widget.style().polish(widget)


class _Kept:
    """What the book holds of a typed text, and what it would not take: the half that lines and texts share."""

    path: str
    _saved = ""
    # What the book would not take; it stays here, to be put right.
    _refused: str | None = None

    def typed(self) -> str:
        """Return the text as it stands in the field."""
        raise NotImplementedError

    @property
    def pending(self) -> bool:
        """Whether something typed here has not been handed over yet."""
        return self.typed() not in (self._saved, self._refused)

    def refuse(self) -> None:
        """Keep what was typed although the book did not take it."""
        self._refused = self.typed()

    def forget_refused(self) -> None:
        """Show again what the book holds."""
        self._refused = None

    def hand_over(self) -> None:
        """Hand the text over if it was changed."""
        if self.pending:
            self._saved, self._refused = self.typed(), None
            self.edited.emit(self.path, self.typed())

    def try_again(self) -> None:
        """Hand over once more what was refused."""
        if self.typed() == self._refused:
            self._refused = None
            self.edited.emit(self.path, self.typed())

    def event(self, event: QEvent) -> bool:
        """Leave Undo and Redo to the window where nothing is being typed."""
        if is_for_the_book(event, self.pending):
            event.ignore()
            return False
        return super().event(event)


class PlainLine(QLineEdit):
    """A line that belongs to no field: what is typed is used at Enter. Empty, it leaves Undo to the window."""

    def event(self, event: QEvent) -> bool:
        """Leave Undo and Redo to the window where nothing is being typed."""
        if is_for_the_book(event, bool(self.text())):
            event.ignore()
            return False
        return super().event(event)


class LineField(_Kept, QLineEdit):
    """One line bound to a path of the job.

    Signals
    -------
    edited : str, str
        The path and the new text, once, when the cursor leaves a field that was changed or Enter is pressed.
    """

    edited = Signal(str, str)

    def __init__(self, path: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.path = path
        self.editingFinished.connect(self.on_finished)
        self.returnPressed.connect(self.on_return)

    def typed(self) -> str:
        return self.text()

    def show_value(self, text: str) -> None:
        """Show what the book holds; what is being typed, or was refused, is left alone."""
        if self.text() == self._refused or (self.hasFocus() and self.isModified() and self.pending):
            return
        if self.text() != text:
            with QSignalBlocker(self):
                self.setText(text)
                # The beginning is what a person looks for.
                self.setCursorPosition(0)
        # As Qt gives it back: a space that does not break, say, becomes an ordinary one, and that is no edit.
        self._saved = self.text()
        self.setModified(False)

    @Slot()
    def on_finished(self) -> None:
        self.hand_over()

    @Slot()
    def on_return(self) -> None:
        self.try_again()


class TextField(_Kept, QPlainTextEdit):
    """Several lines bound to a path of the job; Tab leaves the field.

    Signals
    -------
    edited : str, str
        The path and the new text, once, when the cursor leaves a field that was changed.
    """

    edited = Signal(str, str)

    def __init__(self, path: str, lines: int = 3, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.path = path
        self.setTabChangesFocus(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFixedHeight(self.fontMetrics().lineSpacing() * lines + 26)

    def typed(self) -> str:
        return self.toPlainText()

    def show_value(self, text: str) -> None:
        """Show what the book holds; what is being typed, or was refused, is left alone."""
        if self.toPlainText() == self._refused or (self.hasFocus() and self.pending):
            return
        if self.toPlainText() != text:
            with QSignalBlocker(self):
                self.setPlainText(text)
        self._saved = self.toPlainText()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Hand the text over when the cursor leaves."""
        super().focusOutEvent(event)
        self.hand_over()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Hand the text over at Ctrl+Enter, too, even if it was refused before."""
        is_enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if is_enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.try_again()
            self.hand_over()
            return
        super().keyPressEvent(event)


class QuietBox(QComboBox):
    """A choice that the wheel does not change: somebody scrolls past it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def wheelEvent(self, event: QEvent) -> None:
        """Leave the wheel to the page."""
        event.ignore()


class ChoiceField(QuietBox):
    """A choice bound to a path of the job; each choice has the words shown and the value kept.

    Signals
    -------
    edited : str, str
        The path and the chosen value.
    """

    edited = Signal(str, str)

    def __init__(self, path: str, choices: tuple[tuple[str, str], ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.path = path
        for value, words in choices:
            self.addItem(words, value)
        self.activated.connect(self.on_activated)

    def show_value(self, value: str) -> None:
        """Show what the book holds."""
        with QSignalBlocker(self):
            self.setCurrentIndex(max(0, self.findData(value)))

    @Slot(int)
    def on_activated(self, _row: int) -> None:
        """Hand the choice over."""
        self.edited.emit(self.path, self.currentData())


class TickField(QCheckBox):
    """A yes or no bound to a path of the job.

    Signals
    -------
    edited : str, str
        The path and `yes` or `no`.
    """

    edited = Signal(str, str)

    def __init__(self, path: str, words: str, parent: QWidget | None = None) -> None:
        super().__init__(words, parent)
        self.path = path
        self.clicked.connect(self.on_clicked)

    def show_value(self, value: str) -> None:
        """Show what the book holds."""
        with QSignalBlocker(self):
            self.setChecked(value == "yes")

    @Slot(bool)
    def on_clicked(self, ticked: bool) -> None:
        """Hand the answer over."""
        self.edited.emit(self.path, "yes" if ticked else "no")


Field = LineField | TextField | ChoiceField | TickField


class Form(QWidget):
    """Fields under each other or side by side, each with label, hint and a place for what is wrong with it.

    Signals
    -------
    edited : str, str
        Path and text of whichever field was left.
    """

    edited = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.grid = QGridLayout(self)
        self.grid.setContentsMargins(0, 0, 0, 0)
        self.grid.setHorizontalSpacing(14)
        self.grid.setVerticalSpacing(3)
        self.fields: dict[str, Field] = {}
        self._notes: dict[str, QLabel] = {}
        self._row = 0

    def add_field(self, title: str, field: Field, hint: str = "", *, column: int = 0, span: int = 1,
                  same_row: bool = False) -> Field:
        """Add `field` under its title; `&` marks the letter that reaches it with Alt."""
        if not same_row:
            self._row += 3
        caption = QLabel(title)
        caption.setTextFormat(Qt.TextFormat.PlainText)
        caption.setProperty("part", "faint")
        caption.setBuddy(field)
        caption.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        plain = title.replace("&", "")
        field.setAccessibleName(plain)
        field.setAccessibleDescription(hint)
        if hint and isinstance(field, LineField | TextField):
            field.setPlaceholderText(hint)
        note = label("", "problem")
        note.hide()
        # A tick carries its own words.
        if not isinstance(field, TickField):
            self.grid.addWidget(caption, self._row, column, 1, span)
        self.grid.addWidget(field, self._row + 1, column, 1, span)
        self.grid.addWidget(note, self._row + 2, column, 1, span)
        self.fields[field.path] = field
        self._notes[field.path] = note
        field.edited.connect(self.edited)
        return field

    def show_note(self, path: str, words: str, *, problem: bool) -> None:
        """Show a remark under the field `path`, as a problem or as a plain hint; no words take it away."""
        note = self._notes.get(path)
        if note is None:
            return
        note.setText(words)
        set_part(note, "part", "problem" if problem else "hint")
        note.setVisible(bool(words))
        set_part(self.fields[path], "problem", bool(words) and problem)

    def forget_refused(self) -> None:
        """Let go of everything that was refused, as when another job is shown."""
        for path, field in self.fields.items():
            if isinstance(field, LineField | TextField):
                field.forget_refused()
            self.show_note(path, "", problem=False)

    def hand_over(self) -> None:
        """Hand over whatever is still being typed, as when the window closes."""
        for field in self.fields.values():
            if isinstance(field, LineField | TextField):
                field.hand_over()


class Card(QFrame):
    """A sheet with a heading and a body."""

    def __init__(self, title: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "card")
        self.body = QVBoxLayout(self)
        self.body.setContentsMargins(16, 12, 16, 14)
        self.body.setSpacing(8)
        self.head = QHBoxLayout()
        self.heading = label(title, "section")
        self.head.addWidget(self.heading, 1)
        self.body.addLayout(self.head)
        self.heading.setVisible(bool(title))


class FoldingCard(Card):
    """A card whose heading shows and hides what is in it."""

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__("", parent)
        self.title = title
        self.fold = QPushButton()
        self.fold.setProperty("part", "fold")
        self.fold.setMinimumHeight(theme.TARGET_PX)
        self.head.addWidget(self.fold)
        self.inside = QWidget()
        self.body.addWidget(self.inside)
        self.body.setContentsMargins(16, 2, 16, 2)
        self.body = QVBoxLayout(self.inside)
        self.body.setContentsMargins(0, 0, 0, 12)
        self.body.setSpacing(8)
        self.fold.clicked.connect(self.on_fold)
        self.unfold(True)

    def unfold(self, is_open: bool) -> None:
        """Show what is in the card, or hide it."""
        self.inside.setVisible(is_open)
        self.fold.setText(f"{'▾' if is_open else '▸'}  {self.title}")
        self.fold.setAccessibleName(f"{self.title}: {'hide' if is_open else 'show'}")

    @Slot()
    def on_fold(self) -> None:
        self.unfold(self.inside.isHidden())


class TakeBackRow(QWidget):
    """One thing that was said, with the way to take it back.

    Signals
    -------
    taken_back : str
        It shall be taken back; what it is known by.
    """

    taken_back = Signal(str)

    def __init__(self, words: str, known_by: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._known_by = known_by
        back = QPushButton("Take back")
        back.setMinimumHeight(theme.TARGET_PX)
        back.setProperty("part", "quiet")
        back.setAccessibleName(f"Take back: {words}")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(label(words), 1)
        row.addWidget(back)
        back.clicked.connect(self.on_back)

    @Slot()
    def on_back(self) -> None:
        """Tell that it shall be taken back."""
        self.taken_back.emit(self._known_by)
