"""The bar of what is still possible: as wide as likely, told apart without colour, moving without flicker."""

from __future__ import annotations

import itertools

import pytest
from desktop.suspicions import C32, SUSPICION, W1
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QHelpEvent
from PySide6.QtWidgets import QApplication, QProxyStyle, QStyle, QToolTip
from pytestqt.qtbot import QtBot

from workshop_log.desktop import theme
from workshop_log.desktop.suspicion_bar import (
    CROSSED,
    MOVING_MS,
    PATTERN_INKS,
    PATTERNS,
    PLAIN,
    SuspicionBar,
    parts_of,
    patterns_for,
)
from workshop_log.jobs.suspicion import HEALTHY, SEVERAL, Share
from workshop_log.paper.circuit_drawing import COLOURS

SHARES = SUSPICION.shares
LATER = (Share("C3.2", C32, 0.9), Share("W1", W1, 0.1))


@pytest.fixture
def bar(qtbot: QtBot) -> SuspicionBar:
    """Show a bar of 400 pixels, and nothing in it yet."""
    made = SuspicionBar()
    qtbot.addWidget(made)
    made.resize(400, made.height())
    made.show()
    return made


class Still(QProxyStyle):
    """The style of a system that asks for no animations."""

    def styleHint(self, hint: QStyle.StyleHint, *args: object) -> int:
        if hint == QStyle.StyleHint.SH_Widget_Animation_Duration:
            return 0
        return super().styleHint(hint, *args)


def test_a_part_is_as_wide_as_it_is_likely():
    """50 % of what is shown is half of the bar, less the gaps; the parts fill it and do not overlap."""
    shares = (Share("A", "A", 0.5), Share("B", "B", 0.3), Share("C", "C", 0.2))
    parts = parts_of(shares, 504)
    assert [part.right - part.left for part in parts] == pytest.approx([250, 150, 100])
    assert parts[0].left == 0
    assert parts[-1].right == pytest.approx(504)
    assert all(one.right < other.left for one, other in itertools.pairwise(parts))


def test_a_part_that_is_hardly_possible_is_left_to_the_list_and_a_small_one_is_seen():
    """Under half a percent nothing is drawn; one percent is never narrower than can be seen."""
    parts = parts_of((Share("A", "A", 0.985), Share("B", "B", 0.011), Share("C", "C", 0.004)), 200)
    assert [part.share.key for part in parts] == ["A", "B"]
    assert parts[1].right - parts[1].left >= 4
    assert parts_of((), 200) == ()


def test_more_parts_than_there_is_room_for_stay_inside():
    """A hundred suspects in a narrow bar do not run out of it."""
    parts = parts_of(tuple(Share(str(n), str(n), 0.01) for n in range(100)), 250)
    assert parts[-1].right <= 250.001
    assert all(part.right > part.left for part in parts)


def test_neighbours_never_have_the_same_pattern():
    """Whatever order the parts come in, and whatever they had before."""
    keys = ["A", "B", "C", "D", "E", "F"]
    before: dict[str, str] = {}
    for order in itertools.permutations(keys):
        made = patterns_for(list(order), before)
        assert all(made[one] != made[other] for one, other in itertools.pairwise(order)), order
        assert set(made.values()) <= set(PATTERNS)
        before = made


def test_nothing_wrong_is_plain_and_two_faults_are_crossed():
    """Both are always the same, and no element looks like them."""
    made = patterns_for(["W1", HEALTHY, "C3.2", SEVERAL], {})
    assert (made[HEALTHY], made[SEVERAL]) == (PLAIN, CROSSED)
    assert made["W1"] in PATTERNS
    assert made["C3.2"] in PATTERNS


def test_a_part_keeps_its_pattern_while_others_move():
    """The eye finds it again."""
    first = patterns_for(["A", "B", "C"], {})
    second = patterns_for(["B", "A"], first)
    assert second == {key: first[key] for key in second}


@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK], ids=lambda t: t.name)
def test_words_stand_out_from_every_ground_and_pattern(colours: theme.Theme):
    """4.5 : 1 on the ground of a part, and on the lines of its pattern as well."""
    grounds = [colours.sheet, *(COLOURS[colours.name][f"shade {step}"] for step in (1, 2, 3, 4)),
               *PATTERN_INKS[colours.name]]
    assert {ground for ground in grounds if theme.contrast(colours.ink, ground) < 4.5} == set()


def test_names_stand_inside_where_they_fit(bar: SuspicionBar):
    """The whole name, then the id, then the percent alone, then nothing: never a piece of a word that fits nowhere."""
    share = SHARES[0]
    assert bar.words_inside(share, 400) == (W1, "50\N{NO-BREAK SPACE}%")
    assert bar.words_inside(share, 56) == ("W1", "50\N{NO-BREAK SPACE}%")
    assert bar.words_inside(Share("Z", "a very long name of something", 0.5), 50) == ("50\N{NO-BREAK SPACE}%",)
    assert bar.words_inside(share, 12) == ()
    assert bar.words_inside(SHARES[2], 120)[0] == HEALTHY


def test_it_says_itself_to_those_who_listen(bar: SuspicionBar):
    """Name and percent of each part, the likeliest first."""
    bar.show_shares(SHARES)
    assert bar.accessibleName() == "What is still possible"
    assert bar.accessibleDescription().startswith(f"{W1}: 50\N{NO-BREAK SPACE}%; {C32}: 30")
    assert "nothing wrong in this circuit: 15" in bar.accessibleDescription()
    assert "cleared" not in bar.accessibleDescription()


def test_a_click_chooses_the_part_under_the_pointer(bar: SuspicionBar, qtbot: QtBot):
    """The key of the part, an element or not."""
    bar.show_shares(SHARES)
    chosen: list[str] = []
    bar.share_chosen.connect(chosen.append)
    for x in (20, 250, 340):
        qtbot.mouseClick(bar, Qt.MouseButton.LeftButton, pos=QPoint(x, 20))
    assert chosen == ["W1", "C3.2", HEALTHY]


def test_every_part_is_reached_by_the_arrow_keys(bar: SuspicionBar, qtbot: QtBot):
    """From left to right and back; Enter chooses."""
    bar.show_shares(SHARES)
    bar.setFocus()
    chosen: list[str] = []
    bar.share_chosen.connect(chosen.append)
    drawn = [part.share.key for part in bar.parts()]
    for key in drawn:
        qtbot.keyClick(bar, Qt.Key.Key_Return)
        qtbot.keyClick(bar, Qt.Key.Key_Right)
        assert chosen[-1] == key
    qtbot.keyClick(bar, Qt.Key.Key_Left)
    qtbot.keyClick(bar, Qt.Key.Key_Space)
    assert chosen == [*drawn, drawn[-2]]


def test_the_tool_tip_names_the_part(bar: SuspicionBar, monkeypatch: pytest.MonkeyPatch):
    """Also of one that is too narrow for its words."""
    bar.show_shares(SHARES)
    said: list[str] = []
    monkeypatch.setattr(QToolTip, "showText", lambda _at, words, *_: said.append(words))
    narrow = bar.parts()[-1]
    QApplication.sendEvent(bar, QHelpEvent(QEvent.Type.ToolTip, QPoint(int(narrow.left) + 1, 20), QPoint()))
    assert narrow.share.name in said[0]
    assert "1\N{NO-BREAK SPACE}%" in said[0]


def test_parts_move_to_their_new_places_in_a_moment(bar: SuspicionBar, qtbot: QtBot):
    """It begins at once, at no moment does a part jump back, and it is there within the time."""
    bar.show_shares(SHARES)
    before = {part.share.key: part.left for part in bar.parts()}
    bar.show_shares(LATER)
    assert bar._moving.duration() <= MOVING_MS <= 150
    started = {part.share.key: part.left for part in bar.parts()}
    assert started["C3.2"] == pytest.approx(before["C3.2"], abs=1)
    seen = [started["C3.2"]]
    bar._moving.valueChanged.connect(lambda _: seen.append(bar.parts()[0].left))
    qtbot.waitUntil(lambda: bar.parts() == parts_of(LATER, 400), timeout=2000)
    assert seen == sorted(seen, reverse=True)


def test_nothing_moves_where_the_system_asks_for_no_animations(bar: SuspicionBar):
    """The new bar stands at once."""
    style = Still()
    bar.setStyle(style)
    bar.show_shares(SHARES)
    bar.show_shares(LATER)
    assert bar.parts() == parts_of(LATER, 400)
    bar.setStyle(None)


def test_the_same_bar_again_is_not_drawn_again(bar: SuspicionBar, qtbot: QtBot):
    """Nothing flickers when a reading changed nothing."""
    bar.show_shares(SHARES)
    qtbot.wait(10)
    painted: list[int] = []
    bar.paintEvent = lambda _event: painted.append(1)
    bar.show_shares(tuple(SHARES))
    qtbot.wait(30)
    assert painted == []


@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK], ids=lambda t: t.name)
def test_neighbours_look_different_without_colour(bar: SuspicionBar, qapp: QApplication, colours: theme.Theme):
    """Two equal parts beside each other differ in their grey as well, light and dark."""
    theme.apply(qapp, colours)
    bar.show_shares((Share("A", "A", 0.5), Share("B", "B", 0.5)), at_once=True)
    picture = bar.grab().toImage().convertToFormat(bar.grab().toImage().Format.Format_Grayscale8)
    scale = picture.width() / bar.width()

    def strip(left: float) -> list[int]:
        return [picture.pixelColor(int((left + x) * scale), int(y * scale)).value()
                for y in range(6, 14) for x in range(8, 50)]

    one, other = (part.left for part in bar.parts())
    assert strip(one) != strip(other)


def test_a_ghost_takes_no_keys_and_no_clicks(qtbot: QtBot):
    """It is looked at and compared."""
    ghost = SuspicionBar(is_ghost=True)
    qtbot.addWidget(ghost)
    ghost.resize(400, ghost.height())
    ghost.show()
    ghost.show_shares(SHARES)
    assert ghost.focusPolicy() == Qt.FocusPolicy.NoFocus
    with qtbot.assertNotEmitted(ghost.share_chosen):
        qtbot.mouseClick(ghost, Qt.MouseButton.LeftButton, pos=QPoint(20, 10))
