"""Before a copy is given away the person sees what was taken out, reads what is left, and leaves out what they want."""

from __future__ import annotations

import pytest
from desktop.looking import settle, work_done
from desktop.opinions import NOW, NUMBER, put_in
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel

from workshop_log.desktop import theme
from workshop_log.desktop.desk import Desk
from workshop_log.desktop.opinion_ask_dialog import LEFT_WORDS, PICTURE_WORDS, OpinionAskDialog, place_words
from workshop_log.exchange import records as r
from workshop_log.exchange.free_text import Place, free_texts
from workshop_log.jobs import asking


@pytest.fixture
def dialog(book_path, desk: Desk, qtbot) -> OpinionAskDialog:
    put_in(book_path)
    desk.open(NUMBER)
    made = OpinionAskDialog(None, desk)
    qtbot.addWidget(made)
    made.show()
    work_done()
    return made


def read(dialog: OpinionAskDialog) -> list[str]:
    return [label.text() for label in dialog.findChildren(QLabel) if label.isVisibleTo(dialog)]


def test_what_was_taken_out_is_listed_before_anything_is_saved(dialog: OpinionAskDialog):
    """People, plate, VIN, prices, positions; and that pictures must be looked at."""
    words = read(dialog)
    for line in ("People: Joan Dent, R. Bolt", "Plate: taken out", "VIN: its last six places", "Prices: 9 amounts",
                 "Left out whole: 1 internal note", "Photo positions: no photo carried one", PICTURE_WORDS):
        assert line in words, line
    assert dialog.save.isEnabled()


def test_a_name_that_stays_because_tests_refer_to_it_is_told(dialog: OpinionAskDialog):
    """The person can give it another one before."""
    assert not [text for text in read(dialog) if LEFT_WORDS in text]
    dialog.also.setText("C3.a")
    dialog.refresh()
    work_done()
    assert f"{LEFT_WORDS} “C3.a”" in read(dialog)


def test_nothing_can_be_saved_before_it_could_be_read(book_path, desk: Desk, qtbot):
    """The copy is made beside the window."""
    put_in(book_path)
    desk.open(NUMBER)
    made = OpinionAskDialog(None, desk)
    qtbot.addWidget(made)
    assert not made.save.isEnabled()
    assert made.state.text() == "Making the copy…"
    work_done()
    assert made.save.isEnabled()
    assert made.state.text() == ""


def test_masked_words_are_set_off_and_markup_stays_as_it_was_typed(dialog: OpinionAskDialog):
    """By weight, ground and brackets; what somebody typed is never markup."""
    complaint = next(text for text in read(dialog) if "the pump is dead" in text)
    accent = theme.current().accent
    assert complaint.count(f"color:{accent};font-weight:600") == 2
    assert "[plate]</span>: the pump is dead, &lt;b&gt;<span" in complaint
    assert "[price]</span>&lt;/b&gt; paid." in complaint


def test_a_name_that_nobody_noted_is_taken_out_when_it_is_written(dialog: OpinionAskDialog):
    """The preview shows the copy without it."""
    assert "Uncle Bertil listened." in read(dialog)
    dialog.also.setFocus()
    QTest.keyClicks(dialog.also, "Bertil, Ostrel")
    QTest.keyClick(dialog.also, Qt.Key.Key_Tab)
    work_done()
    assert not [text for text in read(dialog) if "Bertil" in text]
    assert dialog.choice().also == ("Bertil", "Ostrel")


def test_sentences_and_photos_that_are_unticked_do_not_go(dialog: OpinionAskDialog, desk: Desk):
    """And stay unticked when the copy is made anew because a question was written."""
    place = Place("notes", "q1", "words")
    dialog._texts[place].click()
    dialog._photos["f1"].click()
    dialog.question.setFocus()
    QTest.keyClicks(dialog.question, "Is it Joan's pump?")
    QTest.keyClick(dialog.question, Qt.Key.Key_Tab)
    work_done()
    assert not dialog._texts[place].isChecked()
    assert not dialog._photos["f1"].isChecked()
    assert any(text.startswith("Is it <span") for text in read(dialog))
    choice = dialog.choice()
    assert choice == asking.Choice("Is it Joan's pump?", (), frozenset({place}), frozenset({"f1"}))
    copy = asking.ask(desk.book, NUMBER, NOW, choice).copy
    assert (len(copy.notes), copy.photos) == (1, ())


def test_a_dialog_that_is_closed_while_the_copy_is_made_is_left_alone(book_path, desk: Desk, problems):
    """The copy that nobody waits for any more is dropped."""
    put_in(book_path)
    desk.open(NUMBER)
    made = OpinionAskDialog(None, desk)
    made.reject()
    made.deleteLater()
    work_done()
    settle()
    assert problems == []


@pytest.mark.parametrize("size", [(1366, 768), (900, 600)])
def test_nothing_is_cut_off_sideways(dialog: OpinionAskDialog, size):
    """On a small laptop and smaller."""
    dialog.resize(min(size[0], 1080), min(size[1], 660))
    settle()
    for column in (dialog.left, dialog.right):
        assert column.horizontalScrollBar().maximum() == 0


def test_every_place_has_its_words():
    """As a person says it."""
    job = r.Job(
        complaints=(r.Complaint(id="c1", words="a", conditions="b"),),
        fault_codes=(r.FaultCode(code="P0143", note="c"),),
        steps=(r.ObserveStep(id="s3", element="M1", works=True, note="d", because="e"),),
        condemned=(r.Condemned(id="k1", part="pump", finding="f"),), notes=(
            r.Note(id="q1", at="2031-01-01", who="the customer", words="g"),), not_tested=("h",))
    assert [place_words(job, text.place) for text in free_texts(job)] == [
        "Complaint c1", "Complaint c1, when it shows", "Fault code P0143, remark", "Step s3, remark",
        "Step s3, why it was corrected", "Part pump, finding", "Note from the customer", "Not tested"]
