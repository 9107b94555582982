"""Types on and on in a window of its own, and says each key before and each field after it: made to be killed.

    python -m journeys.typist BOOK COUNT

What it says on its standard output, one line each:

    key                        a key is about to be pressed
    typing PATH<tab>TEXT       a field is about to be typed
    left PATH<tab>TEXT         the cursor has left it
    noting TEXT                a line is about to be typed at the vehicle
    noted TEXT                 it was taken down
    drafted TEXT               half a line was typed, and a moment has passed
"""

from __future__ import annotations

import signal
import sys
from itertools import count
from pathlib import Path

from journeys.driver import CTRL, NO_MODIFIER
from PySide6.QtCore import Qt, qInstallMessageHandler
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from workshop_log.desktop.app import make_application
from workshop_log.desktop.desk import Desk
from workshop_log.desktop.main_window import MainWindow

FIELDS = ("vehicle.registration", "vehicle.make", "customer.name", "customer.phone", "customer.address",
          "complaints/c1/words", "complaints/c1/conditions")
LONGEST_LIFE_S = 60


def say(*words: str) -> None:
    print("\t".join(words), flush=True)


def press(key: Qt.Key, modifiers: Qt.KeyboardModifier = NO_MODIFIER) -> None:
    say("key")
    QTest.keyClick(QApplication.focusWidget(), key, modifiers)
    QApplication.processEvents()


def type_text(text: str) -> None:
    for char in text:
        say("key")
        QTest.keyClicks(QApplication.focusWidget(), char)


def main(path: Path, start: int) -> None:
    # The offscreen platform says of itself what it cannot do.
    qInstallMessageHandler(lambda *_: None)
    # Nobody waits for a typist that is stuck.
    signal.alarm(LONGEST_LIFE_S)
    app = make_application(["typist"])
    window = MainWindow(Desk(str(path)), path)
    window.show_first_list()
    window.show()
    window.activateWindow()
    while not window.isActiveWindow():
        app.processEvents()
    if window.books.model.rowCount():
        press(Qt.Key.Key_F, CTRL)
        press(Qt.Key.Key_Return)
    else:
        window.books.search.setFocus()
        press(Qt.Key.Key_N, CTRL)
    say("ready")
    for number in count(start):
        press(Qt.Key.Key_1, CTRL)
        forms = {name: field for form in window.intake.forms for name, field in form.fields.items()}
        for name in FIELDS:
            text = f"{name[-5:]} {number}"
            while not forms[name].hasFocus():
                press(Qt.Key.Key_Tab)
            say("typing " + name, text)
            press(Qt.Key.Key_A, CTRL)
            type_text(text)
            press(Qt.Key.Key_Tab)
            say("left " + name, text)
        press(Qt.Key.Key_2, CTRL)
        line = window.testing.entry.line
        press(Qt.Key.Key_A, CTRL)
        press(Qt.Key.Key_Delete)
        for half, rest in (("12.4 V batt", "ery +"), ("0.2 V strap wh", "ile cranking")):
            type_text(half)
            while window.testing.entry._draft.isActive():
                app.processEvents()
            say("drafted", half)
            whole = f"{half}{rest} ; {number}"
            say("noting", whole)
            type_text(whole.removeprefix(half))
            press(Qt.Key.Key_Return)
            assert not line.text(), line.text()
            say("noted", whole)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
