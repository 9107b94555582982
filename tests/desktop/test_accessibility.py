"""Everything that takes the keyboard has a name and is reached by it, on every page and in every dialog."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from desktop.looking import LONG, PAGES, named, seen, settle, work_done
from desktop.opinions import LATER, NUMBER, answer_to, put_in
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QFontInfo
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractScrollArea,
    QApplication,
    QComboBox,
    QDialog,
    QLabel,
    QLineEdit,
    QScrollArea,
    QTabBar,
    QWidget,
)

from workshop_log.book.opening import open_book
from workshop_log.book.settings import Settings
from workshop_log.delivery import outbox
from workshop_log.desktop import theme
from workshop_log.desktop.desk import Desk, now
from workshop_log.desktop.email_dialog import AttachmentOffer, EmailDialog
from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.note_dialog import NoteDialog
from workshop_log.desktop.opinion_ask_dialog import OpinionAskDialog
from workshop_log.desktop.opinion_dialog import OpinionDialog
from workshop_log.desktop.outbox_panel import OutboxDialog
from workshop_log.desktop.password_dialog import PasswordDialog
from workshop_log.desktop.range_dialog import SOURCES, RangeDialog
from workshop_log.desktop.reading_dialog import ReadingDialog
from workshop_log.desktop.settings_dialog import SettingsDialog
from workshop_log.exchange.letter import Letter
from workshop_log.exchange.stationery import MailAccount
from workshop_log.jobs import outgoing
from workshop_log.jobs.opinions import lay_beside, opinions_on, receive

# More than any page has.
MOST_TABS = 400
IN_WORK = "2031-0011"


def takes_keys(widget: QWidget) -> bool:
    """Return whether Tab is meant to reach a widget."""
    if widget.focusProxy() is not None or not widget.isEnabled():
        return False
    # The line of a choice that can be typed into is one with its choice; a view's inner parts are its own matter.
    if isinstance(widget, QLineEdit) and isinstance(widget.parentWidget(), QComboBox):
        return False
    if isinstance(widget, QComboBox) and widget.isEditable():
        return True
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)


def spoken_name(widget: QWidget) -> str:
    """Return what a screen reader is given as the widget's name."""
    told = QAccessible.queryAccessibleInterface(widget)
    return told.text(QAccessible.Text.Name).strip() if told is not None else ""


def unnamed(root: QWidget) -> list[str]:
    return [named(widget) for widget in seen(root) if takes_keys(widget) and not spoken_name(widget)]


@pytest.mark.parametrize("number", [LONG, IN_WORK])
def test_every_control_of_the_window_has_a_name(samples: None, window: MainWindow, number: str):
    """On each page, in the strip and in the list; a sign such as ✕ alone is no name."""
    window.open_job(number)
    faults = []
    for page, title in enumerate(PAGES):
        window.turn_to(page)
        work_done()
        faults += [f"{title}: {fault}" for fault in unnamed(window)]
        faults += [f"{title}, only a sign: {named(w)}" for w in seen(window) if takes_keys(w)
                   and not any(c.isalpha() for c in spoken_name(w))]
    assert not faults, "\n".join(faults)


OFFER = AttachmentOffer("Report.pdf", "application/pdf", lambda _progress: b"")
DIALOGS: dict[str, Callable[[Desk], QDialog]] = {
    "note": lambda _: NoteDialog(None, "Ostrel Venn"), "reading": lambda _: ReadingDialog(None, "Keys", "F1  Keys"),
    "range": lambda _: RangeDialog(None, Settings()), "settings": lambda desk: SettingsDialog(None, desk),
    "question": lambda desk: OpinionAskDialog(None, with_opinions(desk)),
    "opinion": lambda desk: OpinionDialog(None, with_opinions(desk), opinions_on(desk.book, NUMBER)),
    "email": lambda desk: EmailDialog(None, with_a_refused_message(desk), (OFFER,), "report"),
    "outbox": lambda desk: OutboxDialog(None, with_a_refused_message(desk)),
    "password": lambda _: PasswordDialog(None, MailAccount()),
}


def with_a_refused_message(desk: Desk) -> Desk:
    """Open a job of which a message was refused."""
    desk.take_in()
    message = outbox.put(desk.book, desk.job.number, Letter(sender="a@example.org", recipients=("b@example.org",),
                                                            subject="x"), (), now())
    outgoing.claim(desk.book, "me", now())
    outgoing.note_refused(desk.book, message.key, "me", "The server knows nobody of this name.")
    return desk


def with_opinions(desk: Desk) -> Desk:
    """Open a job beside which two answers lie."""
    book = Path(desk.book.path)
    put_in(book)
    empty = book.with_name("empty.db")
    open_book(str(empty)).close()
    for name in ("first", "second"):
        folder = book.with_name(name)
        folder.mkdir()
        lay_beside(desk.book, receive(answer_to(book, empty, folder, f"The {name} one.")), LATER)
    desk.open(NUMBER)
    return desk


def pages_of(dialog: QDialog) -> list[Callable[[], None]]:
    """Return how to turn to each page of a dialog."""
    if isinstance(dialog, RangeDialog):
        return [lambda n=n: dialog.sources.setCurrentRow(n) for n in range(len(SOURCES))]
    if isinstance(dialog, SettingsDialog):
        return [lambda n=n: dialog.tabs.setCurrentIndex(n) for n in range(dialog.tabs.count())]
    return [lambda: None]


@pytest.mark.parametrize("which", DIALOGS)
def test_every_dialog_is_named_reached_by_key_and_large_enough_to_read(desk: Desk, qtbot: object, qapp: QApplication,
                                                                        which: str):
    """Every control of every page has a name, Tab reaches it, Escape closes, and no text is under 11 pt."""
    dialog = DIALOGS[which](desk)
    work_done()
    qtbot.addWidget(dialog)
    dialog.show()
    dialog.activateWindow()
    qtbot.waitUntil(lambda: qapp.activeWindow() is dialog)
    assert dialog.windowTitle()
    for turn in pages_of(dialog):
        turn()
        settle()
        assert not unnamed(dialog)
        assert not missed(dialog, qapp)
        small = [named(w) for w in seen(dialog) if QFontInfo(w.font()).pointSizeF() < theme.TEXT_PT - 0.01]
        assert not small
        sideways = [named(w) for w in seen(dialog) if isinstance(w, QAbstractScrollArea)
                    and w.horizontalScrollBar().maximum() > 0]
        assert not sideways
        cut = [named(w) for w in seen(dialog) if isinstance(w, QAbstractButton) and w.text()
               and w.width() < w.sizeHint().width() and not isinstance(w.parentWidget(), QTabBar)]
        assert not cut
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()


def around(root: QWidget, qapp: QApplication) -> list[QWidget]:
    """Press Tab until the cursor is where it began; return what it came through."""
    start = qapp.focusWidget()
    if start is None:
        root.focusNextChild()
        start = qapp.focusWidget()
    passed = [start]
    for _ in range(MOST_TABS):
        QTest.keyClick(qapp.focusWidget(), Qt.Key.Key_Tab)
        if qapp.focusWidget() is start:
            return passed
        assert qapp.focusWidget() is not passed[-1], f"Tab does not leave {named(passed[-1])}"
        passed.append(qapp.focusWidget())
    raise AssertionError(f"Tab goes in circles at {named(passed[-1])}")


def missed(root: QWidget, qapp: QApplication) -> list[str]:
    passed = set(around(root, qapp))
    # Of ticks or buttons that exclude each other, Tab reaches the one that is chosen, and the arrow keys the others.
    return [named(widget) for widget in seen(root) if takes_keys(widget) and widget not in passed
            and not isinstance(widget, QScrollArea)
            and not (isinstance(widget, QAbstractButton) and widget.group() is not None
                     and widget.group().exclusive() and not widget.isChecked())]


@pytest.mark.parametrize("number", [LONG, IN_WORK])
def test_tab_reaches_every_control_of_every_page(samples: None, window: MainWindow, qapp: QApplication, qtbot: object,
                                                  number: str):
    """From anywhere, without a trap, and Ctrl with a number turns to the page."""
    window.open_job(number)
    window.activateWindow()
    faults = []
    for page, title in enumerate(PAGES):
        window.turn_to(page)
        work_done()
        window.activateWindow()
        qtbot.waitUntil(lambda: qapp.activeWindow() is window)
        assert qapp.focusWidget() is not None
        faults += [f"{title}: {fault}" for fault in missed(window, qapp)]
    assert not faults, "\n".join(faults)


def test_the_pages_are_turned_by_key(samples: None, window: MainWindow, qapp: QApplication, qtbot: object):
    """Ctrl+1 to Ctrl+5, with the cursor where the work of the page begins."""
    window.open_job(IN_WORK)
    window.activateWindow()
    qtbot.waitUntil(lambda: qapp.activeWindow() is window)
    for page, key in enumerate((Qt.Key.Key_1, Qt.Key.Key_2, Qt.Key.Key_3, Qt.Key.Key_4, Qt.Key.Key_5)):
        QTest.keyClick(window, key, Qt.KeyboardModifier.ControlModifier)
        work_done()
        assert window.stack.currentIndex() == page
        assert window.stack.currentWidget().isAncestorOf(qapp.focusWidget())


def test_the_complaint_comes_between_the_customer_and_the_codes(samples: None, window: MainWindow, qapp: QApplication,
                                                                 qtbot: object):
    """Tab follows the eye down the page."""
    window.open_job(IN_WORK)
    window.turn_to(0)
    window.activateWindow()
    qtbot.waitUntil(lambda: qapp.activeWindow() is window)
    settle()
    window.intake.vehicle.fields["vehicle.registration"].setFocus()
    order = [spoken_name(widget) for widget in around(window, qapp)]
    wanted = ["Registration", "VIN", "Name", "Address", "What is wrong", "Fault code", "Agreed up to"]
    places = [order.index(name) for name in wanted]
    assert places == sorted(places), order


def test_every_list_and_table_speaks_its_rows(samples: None, window: MainWindow):
    """The row that is chosen says itself whole."""
    window.open_job(LONG)
    window.turn_to(1)
    work_done()
    for view in window.findChildren(QAbstractItemView):
        if view.isVisible() and view.model().rowCount():
            assert view.model().index(0, 0).data(Qt.ItemDataRole.AccessibleTextRole) or \
                view.model().index(0, 0).data(Qt.ItemDataRole.DisplayRole), named(view)


def test_labels_show_plain_text(samples: None, window: MainWindow):
    """What a customer or a file wrote is never taken for markup."""
    window.open_job(LONG)
    for page in range(len(PAGES)):
        window.turn_to(page)
        work_done()
        rich = [named(w) for w in seen(window) if isinstance(w, QLabel) and w.textFormat() not in (
            Qt.TextFormat.PlainText,) and any(sign in w.text() for sign in "<&")]
        assert not rich


def test_markup_in_a_job_is_shown_as_it_was_typed(window: MainWindow):
    """In the strip, in the fields and in the tool tips."""
    window.take_in()
    window.desk.edit("vehicle.registration", "<b>AB</b>")
    window.desk.edit("complaints/c1/words", "<h1>big</h1> & <img src=x>")
    settle()
    assert window.strip.plate.textFormat() == Qt.TextFormat.PlainText
    assert window.strip.plate.text() == "<b>AB</b>"
    shown = [label for label in window.findChildren(QLabel) if "<" in label.text()]
    assert shown
    assert all(label.textFormat() == Qt.TextFormat.PlainText for label in shown)
    tips = [w.toolTip() for w in window.findChildren(QWidget) if "<h1>" in w.toolTip() or "<b>" in w.toolTip()]
    assert not tips
