"""Nothing is cut off and nothing scrolls sideways, at any size, light or dark, with a short and a long job."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from desktop.looking import LONG, PAGES, SHORT, named, seen, settle, work_done
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QApplication,
    QComboBox,
    QLabel,
    QSplitterHandle,
    QWidget,
)

from workshop_log.desktop import theme
from workshop_log.desktop.identity_strip import ElidedLabel
from workshop_log.desktop.main_window import MainWindow

SIZES = ((1280, 720), (1366, 768), (1920, 1080), (3840, 2160))


def page_faults(root: QWidget) -> Iterator[str]:
    """Yield what does not fit below `root`."""
    for widget in seen(root):
        if isinstance(widget, QAbstractScrollArea) and widget.horizontalScrollBar().maximum() > 0:
            yield f"scrolls sideways by {widget.horizontalScrollBar().maximum()} px: {named(widget)}"
        parent = widget.parentWidget()
        if not isinstance(widget, QSplitterHandle) and (
                widget.x() < 0 or widget.x() + widget.width() > parent.width()):
            yield f"{widget.x()} to {widget.x() + widget.width()} of {parent.width()} px: {named(widget)}"
        yield from text_faults(widget)


def text_faults(widget: QWidget) -> Iterator[str]:
    """Yield that a label's or button's words are cut off."""
    if isinstance(widget, ElidedLabel):
        # It says itself where the room ends, and keeps the whole text as tool tip.
        return
    if isinstance(widget, QLabel) and widget.text():
        if widget.wordWrap():
            needed = widget.heightForWidth(widget.width())
            if needed > widget.height() + 1:
                yield f"{widget.height()} of {needed} px high at {widget.width()}: {named(widget)}"
            longest = max(widget.fontMetrics().horizontalAdvance(word) for word in widget.text().split())
            if longest > widget.contentsRect().width() + 1:
                yield f"a word of {longest} px in {widget.contentsRect().width()}: {named(widget)}"
        elif widget.fontMetrics().horizontalAdvance(widget.text().replace("&", "")) > widget.contentsRect().width() + 1:
            yield f"cut off at {widget.width()} px: {named(widget)}"
    if isinstance(widget, QAbstractButton) and widget.text() and widget.width() < widget.sizeHint().width():
        yield f"{widget.width()} of {widget.sizeHint().width()} px: {named(widget)}"
    if isinstance(widget, QComboBox) and widget.currentText():
        room, needed = widget.width() - 26 - 18, widget.fontMetrics().horizontalAdvance(widget.currentText())
        if needed > room:
            yield f"{needed} px of words in {room}: {named(widget)} {widget.currentText()}"


@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK], ids=lambda t: t.name)
@pytest.mark.parametrize("number", [SHORT, LONG])
def test_no_page_scrolls_sideways_or_cuts_anything_off(
        samples: None, window: MainWindow, qapp: QApplication, colours: theme.Theme, number: str):
    """At every size from a small laptop to a 4K screen all that a page shows lies inside it, whole."""
    theme.apply(qapp, colours)
    window.open_job(number)
    faults = []
    for page, title in enumerate(PAGES):
        window.turn_to(page)
        work_done()
        for width, height in SIZES:
            window.resize(width, height)
            settle()
            assert (window.width(), window.height()) == (width, height)
            faults += [f"{title} {width}×{height}: {fault}" for fault in page_faults(window)]
    assert not faults, "\n".join(faults)
