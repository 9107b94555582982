"""How the papers look: kept value by value, refused where nobody could read it, and shown as it prints."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from desktop.looking import settle, work_done
from desktop.test_settings_dialog import kept
from PIL import Image
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QColorDialog, QFileDialog

from workshop_log.desktop.desk import Desk
from workshop_log.desktop.settings_dialog import SettingsDialog
from workshop_log.desktop.settings_papers import PapersPage

SHORT_MS = 20


@pytest.fixture
def page(desk: Desk, qtbot: object) -> PapersPage:
    """Return the tab of an open dialog."""
    dialog = SettingsDialog(None, desk)
    qtbot.addWidget(dialog)
    dialog.show()
    dialog.tabs.setCurrentWidget(dialog.papers)
    redrawn(dialog.papers)
    return dialog.papers


def redrawn(page: PapersPage) -> None:
    """Wait until the page shows what is set."""
    work_done()
    while page._pause.isActive():
        QTest.qWait(SHORT_MS)
    work_done()


def put(page: PapersPage, name: str, text: str) -> None:
    """Type into a field and leave it."""
    field = page.form.fields[name]
    field.setFocus()
    (field.setPlainText if name == "terms" else field.setText)(text)
    page.on_edited(name, text)


def colours(page: PapersPage) -> set[tuple[int, int, int]]:
    """Return the colours of the shown page."""
    image = page.preview.pixmap().toImage()
    return {QColor(image.pixel(x, y)).toTuple()[:3] for x in range(image.width()) for y in range(image.height())}


def shows(page: PapersPage, colour: str) -> bool:
    """Return whether something on the page has this colour, as far as thin lines keep theirs."""
    wanted = QColor(colour).toTuple()[:3]
    return any(sum(abs(one - other) for one, other in zip(found, wanted, strict=True)) < 100 for found in colours(page))


@pytest.mark.parametrize(("name", "text", "value"), [
    ("accent", "#7a3b00", "#7A3B00"), ("ink", "102030", "#102030"),
    ("terms", "Two lines\nof terms. ", "Two lines\nof terms."),
    ("closing", "Open until five.", "Open until five."), ("keep_days", "14", 14)])
def test_each_value_is_kept_when_its_field_is_left(page: PapersPage, desk: Desk, name: str, text: str,
                                                   value: object) -> None:
    """Nothing waits for a button."""
    put(page, name, text)
    assert getattr(kept(desk).stationery, name) == value


@pytest.mark.parametrize(("name", "text", "said"), [
    ("accent", "#FFEE00", "too pale to be read on white paper: its contrast is 1.2"), ("ink", "red", "six digits"),
    ("ink", "#12345", "six digits"), ("keep_days", "soon", "whole number"), ("keep_days", "-3", "whole number"),
    ("keep_days", "99999", "up to 3650"), ("keep_days", "", "whole number")])
def test_what_cannot_be_is_refused_in_one_sentence(page: PapersPage, desk: Desk, name: str, text: str,
                                                   said: str) -> None:
    """What was set before stays."""
    before = kept(desk).stationery
    put(page, name, text)
    assert said in page.form._notes[name].text()
    assert kept(desk).stationery == before


def test_page_changes_with_the_colour(page: PapersPage, monkeypatch: pytest.MonkeyPatch) -> None:
    """The paper is shown in the new colour without anything else being pressed."""
    assert not shows(page, "#800080")
    monkeypatch.setattr(QColorDialog, "getColor", lambda *_: QColor("#800080"))
    page.pick["accent"].click()
    redrawn(page)
    assert shows(page, "#800080")
    assert page.form.fields["accent"].text() == "#800080"


@pytest.mark.parametrize("row", range(4))
def test_every_paper_can_be_looked_at(page: PapersPage, row: int) -> None:
    """Each paper fills the room that there is, and is not blank."""
    page.shown.setCurrentIndex(row)
    page.redraw()
    redrawn(page)
    assert not page.dialog.problem.isVisible(), page.dialog.problem.text()
    assert len(colours(page)) > 5
    pixmap = page.preview.pixmap()
    assert pixmap.width() > page.preview.width() * 0.8 or pixmap.height() > page.preview.height() * 0.9


def test_logo_is_taken_kept_without_what_is_hidden_in_it_and_let_go(page: PapersPage, desk: Desk, tmp_path: Path,
                                                                    monkeypatch: pytest.MonkeyPatch) -> None:
    """It is in the book's store and on the page; without it the page is as before."""
    file = tmp_path / "logo.png"
    Image.new("RGB", (300, 100), (0, 200, 0)).save(file)
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(file), ""))
    page.choose.click()
    redrawn(page)
    sha256 = kept(desk).stationery.logo
    assert Image.open(io.BytesIO(desk.book.files.get(sha256))).size == (300, 100)
    assert shows(page, "#00c800")
    page.remove.click()
    redrawn(page)
    assert kept(desk).stationery.logo == ""
    assert not shows(page, "#00c800")


@pytest.mark.parametrize("data", [b"no picture", b""])
def test_logo_that_is_no_picture_is_refused(page: PapersPage, desk: Desk, tmp_path: Path, data: bytes) -> None:
    """One sentence says which file and what to do."""
    file = tmp_path / "logo.png"
    file.write_bytes(data)
    page.take_logo(file)
    work_done()
    settle()
    assert "logo.png" in page.dialog.problem.text()
    assert kept(desk).stationery.logo == ""
