"""The line under the tabs is seen where a colleague asks or answered, and nowhere else."""

from __future__ import annotations

import pytest
from desktop.opinions import LATER, NOW
from PySide6.QtGui import QFontMetrics

from workshop_log.book.opinions import LaidBeside
from workshop_log.desktop.opinion_line import ASKED, GOES_BACK, OpinionLine


@pytest.fixture
def line(qtbot) -> OpinionLine:
    made = OpinionLine()
    qtbot.addWidget(made)
    return made


def test_nothing_is_seen_where_there_is_nothing_to_say(line: OpinionLine):
    """Nor after the last answer is gone from sight with its job."""
    assert line.isHidden()
    line.show_answers((LaidBeside(NOW, "Ostrel Venn", "0" * 64),))
    assert not line.isHidden()
    line.show_answers(())
    assert line.isHidden()


def test_it_says_how_many_answered_and_who_last(line: OpinionLine, qtbot):
    """And its button asks for them to be read."""
    first, second = LaidBeside(NOW, "Ostrel Venn", "0" * 64), LaidBeside(LATER, "Kestrel Moor", "1" * 64)
    line.show_answers((first,))
    assert line.words.text() == "1 answer from a colleague: Ostrel Venn, 03 Apr 2031"
    line.show_answers((first, second))
    assert line.words.text() == "2 answers from colleagues: Kestrel Moor, 04 Apr 2031"
    with qtbot.waitSignal(line.read_wanted), qtbot.assertNotEmitted(line.answer_wanted):
        line.act.click()


def test_it_says_what_a_colleague_asks_and_what_goes_back(line: OpinionLine, qtbot):
    """With one action: the answer."""
    line.show_question("Is it the pump?")
    assert line.words.text() == f"A colleague asks: “Is it the pump?” {GOES_BACK}"
    assert line.act.text() == "Send the answer back…"
    with qtbot.waitSignal(line.answer_wanted), qtbot.assertNotEmitted(line.read_wanted):
        line.act.click()
    line.show_question("")
    assert line.words.text() == f"{ASKED} {GOES_BACK}"


def test_a_long_question_leaves_room_for_the_work(line: OpinionLine):
    """Three lines of a small laptop; the whole is in the tool tip, as it was typed."""
    line.show_question("Is it <b>the</b> pump? " * 60)
    line.resize(1050, 10)
    assert line.words.heightForWidth(850) <= 4 * QFontMetrics(line.words.font()).lineSpacing() + 4
    assert line.words.toolTip().count("&lt;b&gt;") == 60
