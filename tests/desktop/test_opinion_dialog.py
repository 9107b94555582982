"""An answer is read beside the job; only a note crosses over, and only when it is copied."""

from __future__ import annotations

import gc
import weakref

import pytest
from desktop.looking import settle, work_done
from desktop.opinions import LATER, NUMBER, answer_to, put_in
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton

from workshop_log.desktop.desk import Desk
from workshop_log.desktop.opinion_dialog import OpinionDialog
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.writing import write_job
from workshop_log.jobs import opinions


@pytest.fixture
def answer(book_path, books, tmp_path):
    put_in(book_path)
    return answer_to(book_path, books["empty"], tmp_path)


@pytest.fixture
def dialog(answer, desk: Desk, qtbot) -> OpinionDialog:
    desk.open(NUMBER)
    desk.person = "R. Bolt"
    opinions.lay_beside(desk.book, opinions.receive(answer), LATER)
    return shown(desk, qtbot)


def shown(desk: Desk, qtbot) -> OpinionDialog:
    made = OpinionDialog(None, desk, opinions.opinions_on(desk.book, NUMBER))
    qtbot.addWidget(made)
    made.show()
    work_done()
    return made


def words(dialog: OpinionDialog) -> list[str]:
    return [label.text().replace("\N{NO-BREAK SPACE}", " ") for label in dialog.findChildren(QLabel)
            if label.isVisibleTo(dialog)]


def copy_buttons(dialog: OpinionDialog) -> list[QPushButton]:
    return [button for button in dialog.findChildren(QPushButton) if button.text() == "Copy into a note"]


def test_the_answer_stands_beside_the_job(dialog: OpinionDialog):
    """Notes first, then what is likely, tests, and what is alike; each difference here and there."""
    told = words(dialog)
    assert dialog.heading.text() == "The answer of Ostrel Venn"
    order = [told.index(word) for word in ("What they wrote", "It is the <plug>.", "What is likely the cause", "Tests",
                                           "Voltage: C3.b to B−, Pump switched on", "Alike on both sides")]
    assert order == sorted(order)
    row = told.index("Voltage: C3.b to B−, Pump switched on")
    assert told[row + 1:row + 3] == ["not made here", "0.00 V"]
    row = told.index("Feed of the pump")
    assert "31 %" in told[row + 1]
    assert told[row + 2].startswith("C3 (plug at the pump) ")
    assert all(label.textFormat() == Qt.TextFormat.PlainText for label in dialog.findChildren(QLabel) if label.text())


def test_a_note_is_copied_into_the_job_with_its_source_and_nothing_else(dialog: OpinionDialog, desk: Desk):
    """It can be undone like any other edit."""
    before = desk.job
    copy, = copy_buttons(dialog)
    copy.click()
    note = desk.job.notes[-1]
    assert note.who == "R. Bolt"
    assert note.words.startswith("Ostrel Venn, asked for a second opinion, wrote on ")
    assert note.words.endswith("It is the <plug>.")
    assert replace(desk.job, notes=before.notes) == before
    assert not copy.isEnabled()
    desk.undo_stack.undo()
    assert desk.job == before


def test_of_several_answers_one_is_shown_at_a_time(answer, desk: Desk, qtbot, tmp_path):
    """The newest first; the choice is offered only where there is one."""
    desk.open(NUMBER)
    opinions.lay_beside(desk.book, opinions.receive(answer), LATER)
    second = tmp_path / "second.job.json"
    told = read_job(answer.read_bytes(), "answer")
    second.write_bytes(write_job(replace(told, notes=tuple(
        replace(note, words="No, the ground.", who="Kestrel Moor") if note.who == "Ostrel Venn" else note
        for note in told.notes))))
    opinions.lay_beside(desk.book, opinions.receive(second), LATER)
    dialog = shown(desk, qtbot)
    assert dialog.which.isVisible()
    assert "No, the ground." in words(dialog)
    dialog.which.setCurrentIndex(0)
    work_done()
    assert dialog.heading.text() == "The answer of Ostrel Venn"
    assert "No, the ground." not in words(dialog)


def test_an_answer_whose_bytes_are_lost_is_said_in_a_sentence(answer, desk: Desk, qtbot):
    """The job is shown as ever."""
    desk.open(NUMBER)
    opinions.lay_beside(desk.book, opinions.receive(answer), LATER)
    laid, = opinions.opinions_on(desk.book, NUMBER)
    (desk.book.files.folder / laid.sha256[:2] / laid.sha256).unlink()
    dialog = shown(desk, qtbot)
    assert "look for it in a backup" in dialog.state.text()


def test_a_dialog_that_is_closed_while_it_compares_is_left_alone(answer, desk: Desk, problems):
    """The comparison that nobody waits for any more is dropped, and the dialog is freed."""
    desk.open(NUMBER)
    opinions.lay_beside(desk.book, opinions.receive(answer), LATER)
    made = OpinionDialog(None, desk, opinions.opinions_on(desk.book, NUMBER))
    gone = weakref.ref(made)
    made.reject()
    made.deleteLater()
    work_done()
    settle()
    del made
    gc.collect()
    assert problems == []
    assert gone() is None


def test_without_an_answer_nothing_is_shown(book_path, desk: Desk):
    """A dialog that came would wait for an answer, which fails the test."""
    put_in(book_path)
    desk.open(NUMBER)
    OpinionDialog.read(None, desk)


@pytest.mark.parametrize("width", [1080, 760])
def test_nothing_is_cut_off_sideways(dialog: OpinionDialog, width):
    """On a small laptop and smaller."""
    dialog.resize(width, 600)
    settle()
    assert dialog.scroll.horizontalScrollBar().maximum() == 0
