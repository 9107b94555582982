"""The best next tests: all that has to be known of them, taken by Enter, put off by what cannot be reached."""

from __future__ import annotations

from dataclasses import replace

import pytest
from desktop.looking import settle
from desktop.suspicions import LOOK, PROPOSALS, SWAP, VOLTAGE
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton
from pytestqt.qtbot import QtBot

from workshop_log.desktop import theme
from workshop_log.desktop.proposal_cards import ProposalCard, ProposalCards, access_wishes, access_words, reach_words
from workshop_log.exchange.records import Access

# Long enough to be folded to its title, and one without a title.
FUEL = ("Fuel: Fuel and its vapour burn. No flames or sparks, good ventilation, collect what runs out. "
        "Local rules and licensed practice come first.")
PUSHES = "Up to 12 A may flow through this lead: fuse it."


@pytest.fixture
def cards(qtbot: QtBot) -> ProposalCards:
    """Show three tests."""
    made = ProposalCards()
    qtbot.addWidget(made)
    made.resize(330, 800)
    made.show_proposals(PROPOSALS)
    made.show()
    return made


def seen_words(card: ProposalCard) -> str:
    return "\n".join(w.text().replace("\N{NO-BREAK SPACE}", " ") for w in card.findChildren(QLabel)
                     if w.isVisibleTo(card))


def test_the_best_one_says_all_and_the_others_what_and_why(cards: ProposalCards):
    """Title, reason with minutes, what healthy and faulty show, what a clear result would have seen."""
    first = seen_words(cards.cards[0])
    for words in (VOLTAGE.title, VOLTAGE.why, "Healthy: 12.4 V.", "Else 0 V if it is W1.",
                  "Else 0 V to 11.1 V if it is C3.2.", "A clear result would have shown an open at W1, C3.2."):
        assert words in first
    assert seen_words(cards.cards[1]) == f"{LOOK.title}\n{LOOK.why}"


def test_what_comes_off_first_is_said(cards: ProposalCards, qtbot: QtBot):
    """Before the test is taken."""
    qtbot.mouseClick(cards.cards[1], Qt.MouseButton.LeftButton)
    assert "Comes off first: 5 min to get at W1." in seen_words(cards.cards[1])


def test_a_click_unfolds_one_card_and_folds_the_others(cards: ProposalCards, qtbot: QtBot):
    """One at a time."""
    qtbot.mouseClick(cards.cards[2], Qt.MouseButton.LeftButton)
    assert [card.body.isVisible() for card in cards.cards] == [False, False, True]


def test_cautions_come_before_the_test_and_are_read_in_full(cards: ProposalCards, qtbot: QtBot):
    """Folded to a line; the whole of it at a press; a short one as it is."""
    card = cards.cards[0]
    card.show_proposal(replace(VOLTAGE, cautions=(FUEL, PUSHES)), is_open=True)
    settle()
    assert f"⚠ {PUSHES}" in seen_words(card)
    fold = next(b for b in card.findChildren(QPushButton) if "Fuel" in b.text())
    assert "or sparks" not in seen_words(card)
    qtbot.mouseClick(fold, Qt.MouseButton.LeftButton)
    assert "or sparks" in seen_words(card)
    assert card.cautions.geometry().bottom() < card.take.geometry().top()
    assert "or sparks" in card.accessibleDescription()


def test_enter_on_a_card_takes_the_test(cards: ProposalCards, qtbot: QtBot):
    """The keyboard alone is enough: down to the second one, Enter."""
    cards.cards[0].setFocus()
    qtbot.keyClick(cards.cards[0], Qt.Key.Key_Down)
    assert cards.cards[1].body.isVisible()
    with qtbot.waitSignal(cards.taken) as taken:
        qtbot.keyClick(cards.cards[1], Qt.Key.Key_Return)
    assert taken.args == [LOOK]


def test_the_button_takes_the_test(cards: ProposalCards, qtbot: QtBot):
    """As large as a glove needs it."""
    card = cards.cards[0]
    assert min(card.take.height(), card.what_if.height(), card.cannot.height()) >= theme.TARGET_PX
    with qtbot.waitSignal(cards.taken) as taken:
        qtbot.mouseClick(card.take, Qt.MouseButton.LeftButton)
    assert taken.args == [VOLTAGE]


def test_what_if_offers_healthy_faulty_and_a_value_of_ones_own(cards: ProposalCards, qtbot: QtBot):
    """The likeliest results at a press, anything else typed."""
    card = cards.cards[0]
    menu = card.what_if_menu()
    words = [action.text() for action in menu.actions()]
    assert words[0] == "What if: 12.4 V, as healthy"
    assert words[1] == "What if: 0 V if it is W1"
    assert words[-1] == "What if it shows something else…"
    with qtbot.waitSignal(cards.supposed) as supposed:
        menu.actions()[1].trigger()
    assert supposed.args == [VOLTAGE, "0 V"]
    menu.actions()[-1].trigger()
    assert card.own.isVisible()
    qtbot.keyClicks(card.own, "3.1")
    with qtbot.assertNotEmitted(cards.taken), qtbot.waitSignal(cards.supposed) as own:
        qtbot.keyClick(card.own, Qt.Key.Key_Return)
    assert own.args == [VOLTAGE, "3.1"]


@pytest.mark.qt_log_ignore("This plugin does not support", extend=True)
def test_the_menus_come_up_at_their_buttons(cards: ProposalCards, qtbot: QtBot):
    """Pressed, each shows its choices."""
    card = cards.cards[0]
    for button, words in ((card.what_if, "as healthy"), (card.cannot, "Cannot reach c")):
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
        menu = next(m for m in card.findChildren(type(card.what_if_menu())) if m.isVisible())
        assert any(words in action.text() for action in menu.actions())
        menu.close()


def test_what_stands_in_the_way_is_said_of_a_point(cards: ProposalCards, qtbot: QtBot):
    """Of the point, never of battery negative; or of the instrument."""
    assert [(wish.words, dict(wish.about)) for wish in access_wishes(VOLTAGE)] == [
        ("Cannot reach c", {"point": "c", "state": "cannot be reached"}),
        ("No voltmeter here", {"test": "voltage", "state": "not available"})]
    menu = cards.cards[0].cannot_menu()
    with qtbot.waitSignal(cards.said) as said:
        menu.actions()[0].trigger()
    assert said.args == [{"point": "c", "state": "cannot be reached"}]


def test_what_stands_in_the_way_is_said_of_an_element():
    """Out of reach; covered by nothing any more; no known good one there."""
    assert [dict(wish.about) for wish in access_wishes(LOOK)] == [
        {"element": "W1", "state": "cannot be reached"}, {"test": "look", "state": "not available"},
        {"element": "W1", "state": "already off"}]
    assert {"test": "swap", "element": "PUMP", "state": "not available"} in [
        dict(wish.about) for wish in access_wishes(SWAP)]


@pytest.mark.parametrize(("said", "words"), [
    (Access(id="a1", circuit="pump", point="c", state="cannot be reached"), "c cannot be reached"),
    (Access(id="a1", circuit="pump", element="W1", state="already off"), "nothing in the way of W1 any more"),
    (Access(id="a1", circuit="pump", test="swap", element="K1", state="not available"),
     "a known good part not available for K1"),
    (Access(id="a1", circuit="pump", test="current", state="not available"), "currents not available")])
def test_what_was_said_is_shown_and_taken_back(cards: ProposalCards, qtbot: QtBot, said: Access, words: str):
    """In words, each with its own way back."""
    assert access_words(said) == words
    cards.show_access((said,))
    back = next(b for b in cards.findChildren(QPushButton) if b.accessibleName() == f"Take back: {words}")
    with qtbot.waitSignal(cards.unsaid) as unsaid:
        qtbot.mouseClick(back, Qt.MouseButton.LeftButton)
    assert unsaid.args == ["a1"]
    cards.show_access(())
    assert not cards.said_words.isVisible()


def test_fewer_tests_leave_no_empty_cards(cards: ProposalCards):
    """And with none it is said why."""
    cards.show_proposals((SWAP,))
    assert cards.shown() == (SWAP,)
    assert [card.isVisible() for card in cards.cards] == [True, False, False]
    assert cards.cards[0].body.isVisible()
    cards.show_proposals((), "No test is left.")
    assert cards.shown() == ()
    assert cards.waiting.text() == "No test is left."


def test_the_unfolded_test_stays_unfolded_while_it_is_proposed(cards: ProposalCards, qtbot: QtBot):
    """New figures do not close what is being read."""
    qtbot.mouseClick(cards.cards[1], Qt.MouseButton.LeftButton)
    cards.show_proposals((LOOK, VOLTAGE))
    assert [card.body.isVisible() for card in cards.cards if card.isVisible()] == [True, False]


def test_a_long_reach_is_cut_to_its_beginning():
    """The rest stands in the tool tip."""
    long = replace(VOLTAGE, reach="would have shown an open at W1; a path at W2; a path at W3; a path at W4")
    assert reach_words(long) == "A clear result would have shown an open at W1; a path at W2; and 2 more."
