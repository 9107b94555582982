"""The look: contrast, the shipped font, sizes that can be read and pressed."""

from __future__ import annotations

import pytest
from desktop.looking import LONG, PAGES, named, seen, settle, work_done
from PySide6.QtGui import QFontDatabase, QFontInfo, QPalette
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLineEdit, QWidget

from workshop_log.desktop import theme
from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.pages.testing import _OutsideRow
from workshop_log.paper.glyph_geometry import COLOURS

# WCAG 2.2, success criterion 1.4.3 (AA).
LEAST_CONTRAST = 4.5
LEAST_CONTRAST_DRAWN = 3
both_themes = pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK], ids=lambda t: t.name)
WHITE, BLACK, GREY = "#FFFFFF", "#000000", "#777777"


def test_contrast_is_that_of_the_standard():
    """WCAG 2.2: black on white is 21 : 1, a colour on itself 1 : 1, and #777777 on white famously just fails."""
    assert theme.contrast(BLACK, WHITE) == pytest.approx(21)
    assert theme.contrast(GREY, GREY) == pytest.approx(1)
    assert theme.contrast(GREY, WHITE) == theme.contrast(WHITE, GREY) == pytest.approx(4.48, abs=0.005)


@both_themes
def test_every_text_stands_out_from_every_ground(colours: theme.Theme):
    """Each pair of text and ground keeps 4.5 : 1."""
    weak = {what: round(theme.contrast(text, ground), 2) for what, text, ground in colours.text_pairs()
            if theme.contrast(text, ground) < LEAST_CONTRAST}
    assert not weak


@both_themes
def test_every_mark_of_a_reading_stands_out(colours: theme.Theme):
    """The glyph keeps 3 : 1, which WCAG 2.2 (criterion 1.4.11) asks of what is drawn, on every ground it lies on."""
    for ground in (colours.ground, colours.sheet, colours.picked):
        for what in ("inside", "outside", "too close to call", "bracket"):
            assert theme.contrast(COLOURS[colours.name][what], ground) >= LEAST_CONTRAST_DRAWN, (what, ground)


@both_themes
def test_every_colour_of_the_palette_stands_out(qapp: QApplication, colours: theme.Theme):
    """What Qt itself draws is legible as well, enabled or not, chosen or not."""
    theme.apply(qapp, colours)
    palette, role = qapp.palette(), QPalette.ColorRole
    pairs = ((role.WindowText, role.Window), (role.Text, role.Base), (role.ButtonText, role.Button),
             (role.HighlightedText, role.Highlight), (role.ToolTipText, role.ToolTipBase),
             (role.PlaceholderText, role.Base), (role.Link, role.Window))
    for group in (QPalette.ColorGroup.Active, QPalette.ColorGroup.Inactive, QPalette.ColorGroup.Disabled):
        for ink, ground in pairs:
            found = theme.contrast(palette.color(group, ink).name(), palette.color(group, ground).name())
            assert found >= LEAST_CONTRAST, (group, ink, ground)


def test_the_shipped_font_is_used(qapp: QApplication):
    """Words look the same on every machine, because the font comes with the program."""
    assert QFontInfo(qapp.font()).family() == "Lato"
    assert "Lato" in QFontDatabase.families()
    assert qapp.font().pointSizeF() == theme.TEXT_PT


def test_no_text_is_smaller_than_eleven_points(samples: None, window: MainWindow):
    """On every page, in the strip, the list and the menus."""
    window.open_job(LONG)
    small = []
    for page in range(len(PAGES)):
        window.turn_to(page)
        work_done()
        for widget in [window, *window.findChildren(QWidget)]:
            if QFontInfo(widget.font()).pointSizeF() < theme.TEXT_PT - 0.01:
                small.append(f"{PAGES[page]}, {QFontInfo(widget.font()).pointSizeF()} pt: {named(widget)}")
    assert not small, "\n".join(small)


def test_everything_to_press_while_testing_is_large_enough_for_a_glove(samples: None, window: MainWindow):
    """Buttons, fields, choices, rows of the table and readings that stand out are at least 44 pixels high."""
    window.open_job(LONG)
    window.turn_to(1)
    window.testing.table.selectRow(4)
    window.testing.entry.correct(window.desk.job.steps[4])
    settle()
    pressed = [w for w in seen(window.testing)
               if isinstance(w, QAbstractButton | QComboBox | QLineEdit | _OutsideRow)
               and not isinstance(w.parentWidget(), QComboBox)]
    assert len(pressed) > 10
    small = [f"{w.width()} × {w.height()}: {named(w)}" for w in pressed
             if min(w.width(), w.height()) < theme.TARGET_PX]
    assert not small, "\n".join(small)
    table = window.testing.table
    assert all(table.rowHeight(row) >= theme.TARGET_PX for row in range(table.steps.rowCount()))


def test_another_theme_is_remembered(window: MainWindow, qapp: QApplication):
    """The next start looks as the last one was left."""
    from workshop_log.desktop.app import make_application

    window.actions_by_id["view.dark"].trigger()
    assert theme.current() is theme.DARK
    theme.apply(qapp, theme.LIGHT)
    make_application([])
    assert theme.current() is theme.DARK
