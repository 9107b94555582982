"""The suspects under the bar: the likeliest first, the cleared struck out with what cleared them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from desktop.suspicions import C32, F7, G1, SUSPICION, W1, line
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QScrollArea
from pytestqt.qtbot import QtBot

from workshop_log.desktop import theme
from workshop_log.desktop.suspect_list import CLEARED, FEW, FOLD, SHARE, SUSPECT, SuspectList, SuspectRow, suspect_rows
from workshop_log.jobs.suspicion import HEALTHY, CircuitSuspicion, Share

EVERYTHING = frozenset({CLEARED, FEW})


@pytest.fixture
def shown(qtbot: QtBot) -> SuspectList:
    """Show the list in a column that scrolls."""
    area = QScrollArea()
    made = SuspectList()
    area.setWidget(made)
    area.setWidgetResizable(True)
    area.resize(340, 500)
    qtbot.addWidget(area)
    area.show()
    made.show_suspicion(SUSPICION)
    made.area = area
    return made


def plain(row: SuspectRow) -> tuple[str, str, str]:
    return tuple(text.replace("\N{NO-BREAK SPACE}", " ") for text in (row.title, row.right, row.below))


def titles(widget: SuspectList) -> list[str]:
    return [row.title for row in widget.suspects.rows]


def click(widget: SuspectList, title: str, qtbot: QtBot) -> None:
    index = widget.suspects.index(next(i for i, row in enumerate(widget.suspects.rows) if title in row.title))
    qtbot.mouseClick(widget.viewport(), Qt.MouseButton.LeftButton, pos=widget.visualRect(index).topLeft() +
                     QPoint(30, 12))


def test_parts_come_likeliest_first_with_their_likeliest_fault():
    """Percent, kind of fault, and what no measurement tells from it, in words."""
    rows = suspect_rows(SUSPICION)
    assert [plain(row) for row in rows if row.kind == SHARE] == [
        (W1, "50 %", "open; or C3.2: no measurement tells them apart"),
        (C32, "30 %", "open; or W1: no measurement tells them apart"),
        ("nothing wrong in this circuit", "15 %", ""), ("PUMP (fuel pump)", "4 %", "dead")]


def test_what_is_hardly_possible_and_what_is_cleared_stand_behind_folds():
    """How many they are is said; nothing of them is shown until it is asked for."""
    rows = suspect_rows(SUSPICION)
    assert [(row.key, plain(row)[0]) for row in rows if row.kind == FOLD] == [
        (FEW, "▸  3 others, under 1 % each"), (CLEARED, "▸  2 cleared")]
    unfolded = suspect_rows(SUSPICION, unfolded=EVERYTHING)
    assert [row.title for row in unfolded if row.kind == SHARE][4:] == ["S1", "S2", "two faults at once", F7, G1]


def test_more_likely_parts_than_fit_stand_behind_the_fold_as_well():
    """The next test stays in sight; the fold says how likely they are at most."""
    many = CircuitSuspicion("c", "c", shares=tuple(Share(f"E{n}", f"E{n}", 0.1) for n in range(10)))
    rows = suspect_rows(many)
    assert [row.title for row in rows if row.kind == SHARE] == ["E0", "E1", "E2", "E3"]
    assert plain(rows[-1])[0] == "▸  6 others, 10 % or less each"


def test_what_is_cleared_is_struck_out_with_the_steps_that_cleared_it():
    """And says what those steps could have seen."""
    rows = {row.title: row for row in suspect_rows(SUSPICION, unfolded=EVERYTHING)}
    assert (rows[G1].is_struck, rows[G1].right) == (True, "s4, s9")
    assert "s9: an open at G1" in rows[G1].tip
    assert rows[G1].spoken == f"{G1}, cleared by s4, s9"
    assert not rows[W1].is_struck


def test_under_the_chosen_part_stand_its_suspects():
    """Each kind of fault with its size; one that is cleared with its step and its reach."""
    rows = suspect_rows(SUSPICION, "W1")
    under = [row for row in rows if row.kind == SUSPECT]
    assert [plain(row) for row in under] == [
        ("open, always there", "30 %", "or C3.2: no measurement tells them apart"),
        ("high resistance, comes and goes", "20 %", "size 0.20 Ω to 1.4 Ω"),
        ("short to ground, always there", "s4", "s4: any path to ground below 19 Ω at W1")]
    assert [row.is_struck for row in under] == [False, False, True]
    assert {row.share for row in under} == {"W1"}
    # What is told of each stands there, not twice.
    assert next(row for row in rows if row.key == "W1").below == ""


def test_of_many_that_cannot_be_told_apart_only_a_few_are_named():
    """Nineteen names in a narrow column say less than "and others"."""
    keys = tuple(f"E{n}: open, always" for n in range(19))
    suspects = (replace(line("W1", "open", 0.5), same_as=keys), *(line(f"E{n}", "open", 0.02) for n in range(19)))
    row, *_ = suspect_rows(CircuitSuspicion("c", "c", suspects=suspects, shares=(Share("W1", W1, 0.5),)))
    assert row.below == "open; or E0, E1, E2 or one of 16 others: no measurement tells them apart"


def test_a_click_chooses_a_part_and_shows_its_suspects(shown: SuspectList, qtbot: QtBot):
    """A second one lets go of it."""
    with qtbot.waitSignal(shown.share_chosen) as chosen:
        click(shown, "W1", qtbot)
    assert chosen.args == ["W1"]
    assert titles(shown)[1:4] == ["open, always there", "high resistance, comes and goes",
                                  "short to ground, always there"]
    with qtbot.waitSignal(shown.share_chosen) as let_go:
        click(shown, "W1", qtbot)
    assert let_go.args == [""]
    assert titles(shown)[1] == C32


def test_a_fold_is_opened_and_closed_by_a_click(shown: SuspectList, qtbot: QtBot):
    """The cleared ones come and go."""
    click(shown, "2 cleared", qtbot)
    assert titles(shown)[-2:] == [F7, G1]
    click(shown, "2 cleared", qtbot)
    assert F7 not in titles(shown)


def test_rows_are_reached_and_chosen_by_keys(shown: SuspectList, qtbot: QtBot):
    """The arrow keys go from row to row, Enter chooses, and what is stood on stays after it."""
    shown.setFocus()
    shown.setCurrentIndex(shown.suspects.index(0))
    qtbot.keyClick(shown, Qt.Key.Key_Down)
    with qtbot.waitSignal(shown.share_chosen) as chosen:
        qtbot.keyClick(shown, Qt.Key.Key_Return)
    assert chosen.args == ["C3.2"]
    assert shown.currentIndex().row() == 1
    for _ in range(len(shown.suspects.rows)):
        qtbot.keyClick(shown, Qt.Key.Key_Down)
    assert titles(shown)[shown.currentIndex().row()] == "▸  2 cleared"
    qtbot.keyClick(shown, Qt.Key.Key_Space)
    assert titles(shown)[-1] == G1


def test_choosing_elsewhere_unfolds_what_it_stands_behind(shown: SuspectList):
    """An element that is pressed in the drawing is found in the list, cleared or not."""
    shown.choose("G1")
    assert G1 in titles(shown)
    assert "open, always there" in titles(shown)[titles(shown).index(G1) + 1]
    shown.choose("S1")
    assert "S1" in titles(shown)


def test_what_is_chosen_stays_while_readings_arrive(shown: SuspectList, qtbot: QtBot):
    """Other percents, the same rows: nothing is built anew."""
    click(shown, "W1", qtbot)
    resets: list[int] = []
    shown.suspects.modelReset.connect(lambda: resets.append(1))
    shares = tuple(replace(share, probability=share.probability * 0.99) for share in SUSPICION.shares)
    shown.show_suspicion(replace(SUSPICION, shares=shares))
    assert resets == []
    assert plain(shown.suspects.rows[0])[1] == "50 %"
    assert shown.chosen == "W1"


def test_the_list_is_as_high_as_its_rows_at_every_width(shown: SuspectList, qtbot: QtBot):
    """It does not scroll itself; narrower, its rows wrap and it becomes higher."""
    shown.choose("W1")
    heights = []
    for width in (460, 300):
        shown.area.resize(width, 500)
        qtbot.waitUntil(lambda: shown.viewport().width() > 0)
        rows = [shown.visualRect(shown.suspects.index(row)) for row in range(len(shown.suspects.rows))]
        assert sum(row.height() for row in rows) == shown.height()
        assert all(row.height() >= theme.TARGET_PX for row in rows)
        heights.append(shown.height())
    assert heights[1] > heights[0]


def test_an_empty_list_takes_no_room(shown: SuspectList):
    """Before anything is known there is nothing to see."""
    shown.show_suspicion(None)
    assert shown.suspects.rows == ()
    assert shown.height() == 0


def test_each_row_says_itself_whole(shown: SuspectList):
    """To those who listen, and as tool tip, in plain text."""
    index = shown.suspects.index(0)
    assert index.data(Qt.ItemDataRole.AccessibleTextRole).startswith(f"{W1}, 50")
    shown.show_suspicion(replace(SUSPICION, shares=(Share("<b>", "<b>x</b>", 1.0),)))
    assert "<b>" not in shown.suspects.index(0).data(Qt.ItemDataRole.ToolTipRole)


def test_suspects_written_by_hand_are_named_once():
    """They have no kinds of fault to list under them."""
    suspicion = CircuitSuspicion("", "by hand", suspects=(replace(line("", "", 0.7), key="h1", share="h1", name="hub",
                                                                  appears=""),), shares=(Share("h1", "hub", 0.7),))
    assert [row.title for row in suspect_rows(suspicion, "h1")] == ["hub"]
    assert HEALTHY not in [row.key for row in suspect_rows(suspicion, "h1")]
