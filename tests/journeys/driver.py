"""A person at the window: a mouse, a keyboard, and eyes; nothing is done behind the window's back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from desktop.looking import settle, work_done
from PySide6.QtCore import QEvent, QObject, QPoint, Qt, QTimer
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QDialog,
    QLabel,
    QScrollArea,
    QWidget,
)

from workshop_log.desktop.main_window import MainWindow

LONGEST_WAIT_MS = 20_000
# Said by the offscreen platform about itself, when a window or a menu comes up.
PLATFORM_NOISE = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)
NO_MODIFIER = Qt.KeyboardModifier.NoModifier
CTRL, SHIFT, ALT = (Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier,
                    Qt.KeyboardModifier.AltModifier)
LEFT = Qt.MouseButton.LeftButton
# More Tabs than any page has fields: whoever has not arrived by then never will.
MOST_TABS = 120


def type_into(widget: QWidget, text: str) -> None:
    """Type `text` key by key; a character that no key has comes as it does from an input method's key."""
    for char in text:
        if char == "\n":
            QTest.keyClick(widget, Qt.Key.Key_Return)
        elif ord(char) < 128:
            QTest.keyClicks(widget, char)
        else:
            QTest.sendKeyEvent(QTest.KeyAction.Click, widget, Qt.Key.Key_unknown, char, NO_MODIFIER)


class MouseWatch(QObject):
    """Counts what the mouse does."""

    def __init__(self) -> None:
        super().__init__()
        self.count = 0

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.MouseButtonPress, QEvent.Type.MouseButtonRelease,
                            QEvent.Type.MouseButtonDblClick, QEvent.Type.Wheel):
            self.count += 1
        return False


class Person:
    """Somebody who works at a window.

    Attributes
    ----------
    said : list[str]
        Every problem the window told, as it came.
    """

    def __init__(self, window: MainWindow, qtbot: Any) -> None:
        self.window, self.qtbot = window, qtbot
        self.said: list[str] = []
        window.desk.problem.connect(self.said.append)

    # --- waiting and looking -----------------------------------------------------------------------------------------

    def wait(self, condition: Callable[[], bool]) -> None:
        """Wait until `condition` holds."""
        self.qtbot.waitUntil(condition, timeout=LONGEST_WAIT_MS)

    def rest(self) -> None:
        """Wait until nothing is worked on in the background."""
        work_done()

    def look_at_the_window(self) -> None:
        """Have the window in front again, as a desktop brings it back by itself when a dialog closes."""
        self.window.activateWindow()
        self.wait(self.window.isActiveWindow)
        settle()

    @property
    def page(self) -> QWidget:
        return self.window.stack.currentWidget()

    @property
    def waits(self) -> str:
        """What the strip says the job waits for."""
        return self.window.strip.waits.toolTip()

    def words(self, root: QWidget | None = None) -> str:
        """Return every label and button that can be seen on the page, or below `root`."""
        root = root or self.page
        return "\n".join(w.text().replace("\N{NO-BREAK SPACE}", " ") for w in root.findChildren(QWidget)
                         if isinstance(w, QLabel | QAbstractButton) and w.isVisible() and w.text())

    def button(self, words: str, root: QWidget | None = None) -> QAbstractButton:
        """Return the one button that can be seen and is called `words`, on its face or to those who listen."""
        found = [b for b in (root or self.page).findChildren(QAbstractButton)
                 if b.isVisible() and words in (b.text().replace("&", ""), b.accessibleName())]
        assert len(found) == 1, f"{len(found)} buttons “{words}” in:\n{self.words(root)}"
        return found[0]

    def field(self, name: str, root: QWidget | None = None) -> QWidget:
        """Return the one field that can be seen and is called `name`."""
        found = self.named(name, root)
        assert len(found) == 1, f"{len(found)} fields “{name}”"
        return found[0]

    def named(self, name: str, root: QWidget | None = None) -> list[QWidget]:
        """Return the fields that can be seen and are called `name`, in the order in which they were made."""
        return [w for w in (root or self.page).findChildren(QWidget) if w.isVisible() and w.accessibleName() == name]

    # --- keys --------------------------------------------------------------------------------------------------------

    @property
    def focus(self) -> QWidget:
        """Whatever has the keyboard."""
        widget = QApplication.focusWidget()
        assert widget is not None, "nothing has the keyboard"
        return widget

    def keys(self, text: str) -> None:
        """Type into whatever has the keyboard."""
        for char in text:
            type_into(self.focus, char)

    def key(self, key: Qt.Key, modifiers: Qt.KeyboardModifier = NO_MODIFIER) -> None:
        """Press one key."""
        QTest.keyClick(self.focus, key, modifiers)
        settle()

    def shortcut(self, key: Qt.Key, modifiers: Qt.KeyboardModifier = CTRL) -> None:
        """Press a menu's shortcut."""
        QTest.keyClick(QApplication.focusWidget() or self.window, key, modifiers)
        settle()

    def paste(self, text: str) -> None:
        """Paste what was copied elsewhere: what nobody would type."""
        QApplication.clipboard().setText(text)
        self.key(Qt.Key.Key_V, CTRL)

    def tab_to(self, target: QWidget) -> None:
        """Go to `target` by the Tab key alone."""
        for _ in range(MOST_TABS):
            if target.hasFocus():
                return
            QTest.keyClick(self.focus, Qt.Key.Key_Tab)
        raise AssertionError(f"“{target.accessibleName()}” is not reached by Tab")

    # --- mouse -------------------------------------------------------------------------------------------------------

    def press(self, button: QAbstractButton | str) -> None:
        """Click on a button."""
        button = self.button(button) if isinstance(button, str) else button
        assert button.isVisible(), f"“{button.text()}” cannot be seen"
        assert button.isEnabled(), f"“{button.text()}” cannot be pressed"
        self._into_view(button)
        QTest.mouseClick(button, LEFT, pos=QPoint(min(12, button.width() // 2), button.height() // 2))
        settle()

    def _into_view(self, widget: QWidget) -> None:
        above = widget.parentWidget()
        while above is not None:
            if isinstance(above, QScrollArea):
                above.ensureWidgetVisible(widget)
            above = above.parentWidget()

    def click_into(self, field: QWidget) -> None:
        """Click into a field."""
        self._into_view(field)
        inner = field.viewport() if hasattr(field, "viewport") else field
        QTest.mouseClick(inner, LEFT, pos=QPoint(min(10, inner.width() // 2), min(12, inner.height() // 2)))
        assert field.hasFocus(), f"a click does not reach “{field.accessibleName()}” but {QApplication.focusWidget()}"

    def fill(self, field: QWidget | str, text: str) -> None:
        """Click into a field, type over what stands there, and leave it with Tab."""
        field = self.field(field) if isinstance(field, str) else field
        self.click_into(field)
        self.key(Qt.Key.Key_A, CTRL)
        if text:
            self.keys(text)
        else:
            self.key(Qt.Key.Key_Delete)
        self.key(Qt.Key.Key_Tab)

    def choose(self, box: QComboBox, words: str) -> None:
        """Choose from a list with the arrow keys."""
        row = box.findText(words)
        assert row >= 0, f"“{words}” is not among {[box.itemText(i) for i in range(box.count())]}"
        box.setFocus(Qt.FocusReason.TabFocusReason)
        while box.currentIndex() != row:
            QTest.keyClick(box, Qt.Key.Key_Down if box.currentIndex() < row else Qt.Key.Key_Up)
        settle()

    def menu(self, title: str, item: str) -> None:
        """Choose an item of a menu with the mouse."""
        bar = self.window.menuBar()
        head = _action(bar.actions(), title)
        QTest.mouseClick(bar, LEFT, pos=bar.actionGeometry(head).center())
        menu = head.menu()
        self.wait(menu.isVisible)
        entry = _action(menu.actions(), item)
        assert entry.isEnabled(), f"{title}, {item} cannot be chosen"
        QTest.mouseClick(menu, LEFT, pos=menu.actionGeometry(entry).center())
        self.look_at_the_window()

    # --- whole gestures ----------------------------------------------------------------------------------------------

    def turn_to(self, number: int) -> None:
        """Turn to a page by its number key."""
        self.shortcut(Qt.Key(Qt.Key.Key_1 + number))
        assert self.window.stack.currentIndex() == number

    def take_down(self, line: str) -> str:
        """Type one line at the vehicle and press Enter; return what the window says about it."""
        self.shortcut(Qt.Key.Key_F2, NO_MODIFIER)
        before = len(self.window.desk.job.steps)
        assert self.window.testing.entry.line.hasFocus()
        self.keys(line)
        self.key(Qt.Key.Key_Return)
        assert len(self.window.desk.job.steps) == before + 1, self.understood
        return self.window.statusBar().currentMessage()

    @property
    def understood(self) -> str:
        """What stands under the entry line."""
        return self.window.testing.entry.understood.text()

    def wait_for_the_report(self) -> bytes:
        """Wait until the report is drawn, and return it."""
        report = self.window.report
        try:
            self.wait(lambda: bool(report.pdf))
        except self.qtbot.TimeoutError:
            raise AssertionError(f"no report came: {report.state.text()!r}, {report.waiting.text()!r}") from None
        return report.pdf

    def choose_step(self, step_id: str) -> None:
        """Click on a step in the table."""
        table = self.window.testing.table
        row = next(i for i, r in enumerate(table.steps.rows) if r.step.id == step_id)
        index = table.steps.index(row, 1)
        table.scrollTo(index)
        QTest.mouseClick(table.viewport(), LEFT, pos=table.visualRect(index).center())
        assert table.chosen().id == step_id

    def choose_job(self, number: str) -> None:
        """Click on a job in the list."""
        view, model = self.window.books.view, self.window.books.model
        row = model.row_of(number)
        assert row >= 0, f"{number} is not in the list"
        view.scrollTo(model.index(row))
        QTest.mouseClick(view.viewport(), LEFT, pos=view.visualRect(model.index(row)).center())
        settle()

    @contextmanager
    def answering(self, kind: type[QDialog], act: Callable[[Any], None]) -> Iterator[None]:
        """Do `act` in the dialog of this kind that what is done inside the block opens."""
        met: list[BaseException | None] = []
        timer = QTimer()
        timer.setInterval(5)

        def look() -> None:
            dialog = QApplication.activeModalWidget()
            if not (isinstance(dialog, kind) and dialog.isActiveWindow()):
                return
            timer.stop()
            try:
                act(dialog)
                met.append(None)
            except BaseException as error:
                met.append(error)
            finally:
                if dialog.isVisible() and QApplication.activeModalWidget() is dialog:
                    dialog.reject()

        timer.timeout.connect(look)
        timer.start()
        try:
            yield
        finally:
            timer.stop()
        if met and met[0] is not None:
            raise met[0]
        assert met, f"no {kind.__name__} came"
        self.look_at_the_window()


def _action(actions: list[QAction], words: str) -> QAction:
    found = [a for a in actions if a.text().replace("&", "").rstrip("…") == words]
    assert len(found) == 1, f"“{words}” is not in {[a.text() for a in actions]}"
    return found[0]
