"""The small dialogs: a note, and a text to read; both go when they are closed."""

from __future__ import annotations

import gc
import weakref

import pytest
from desktop.looking import settle
from PySide6.QtWidgets import QDialog, QWidget

from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.note_dialog import NoteAnswer, NoteDialog
from workshop_log.desktop.reading_dialog import ReadingDialog

SAVE, CANCEL = QDialog.DialogCode.Accepted, QDialog.DialogCode.Rejected


def answer(monkeypatch: pytest.MonkeyPatch, words: str, result: int = SAVE, *, printed: bool = False,
           made: list[weakref.ref] | None = None) -> None:
    """Fill the next note in and leave it."""
    def fill(dialog: NoteDialog) -> int:
        dialog.words.setPlainText(words)
        dialog.printed.setChecked(printed)
        if made is not None:
            made.append(weakref.ref(dialog))
        return result

    monkeypatch.setattr(NoteDialog, "exec", fill)


@pytest.mark.parametrize(("words", "result", "printed", "given"), [
    (" rang at noon ", SAVE, False, NoteAnswer("rang at noon", "Ostrel Venn", True)),
    ("rang at noon", SAVE, True, NoteAnswer("rang at noon", "Ostrel Venn", False)),
    ("rang at noon", CANCEL, False, None), ("  \n", SAVE, False, None)])
def test_a_note_is_given_when_there_are_words_and_they_are_saved(
        monkeypatch: pytest.MonkeyPatch, words: str, result: int, printed: bool, given: NoteAnswer | None):
    """For the workshop alone unless it is meant to be printed."""
    answer(monkeypatch, words, result, printed=printed)
    assert NoteDialog.ask(None, "Ostrel Venn") == given


def test_a_note_stands_in_the_job(samples: None, window: MainWindow, monkeypatch: pytest.MonkeyPatch):
    """With who said it, kept from the report."""
    window.open_job("2031-0011")
    answer(monkeypatch, "the part comes on Friday")
    window.actions_by_id["edit.note"].trigger()
    note = window.desk.job.notes[-1]
    assert (note.words, note.internal) == ("the part comes on Friday", True)


def test_closed_dialogs_are_freed(monkeypatch: pytest.MonkeyPatch, qtbot: object):
    """Although their parent lives on."""
    parent, made = QWidget(), []
    qtbot.addWidget(parent)
    answer(monkeypatch, "x", made=made)
    NoteDialog.ask(parent, "")
    monkeypatch.setattr(ReadingDialog, "exec", lambda dialog: made.append(weakref.ref(dialog)))
    ReadingDialog.show_text(parent, "Cautions", "words")
    settle()
    gc.collect()
    assert len(made) == 2
    assert not [ref() for ref in made if ref() is not None]
    assert not parent.findChildren(QDialog)


def test_a_text_is_shown_as_it_is(qtbot: object):
    """No markup, and nothing to be changed."""
    dialog = ReadingDialog(None, "Cautions", "<b>1 < 2</b>")
    qtbot.addWidget(dialog)
    assert dialog.text.toPlainText() == "<b>1 < 2</b>"
    assert dialog.text.isReadOnly()
