"""What is still possible in the window: beside the steps and in the drawing, moved by readings, looked back at."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest
from desktop.looking import LONGEST_WORK_MS, named, seen, settle, work_done
from desktop.suspicions import SUSPICION
from desktop.test_layout import SIZES, page_faults
from msgspec.structs import replace as changed
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLineEdit, QPushButton, QSlider
from pytestqt.qtbot import QtBot

from workshop_log.desktop import theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.pages.testing import TestingPage
from workshop_log.desktop.suspect_list import CLEARED, FEW
from workshop_log.desktop.suspicion_panel import SuspicionPanel, carried_over, in_order_of
from workshop_log.exchange.records import LookStep
from workshop_log.jobs.suspicion import HEALTHY, Share
from workshop_log.jobs.testing import record_step, save_circuit

# In work, with a circuit; handed back; without a circuit.
IN_WORK, HANDED_BACK, NO_CIRCUIT = "2031-0011", "2031-0002", "2031-0001"
SMALLEST = (1100, 640)


@pytest.fixture
def page(samples: None, window: MainWindow, qapp: QApplication, qtbot: QtBot) -> Iterator[TestingPage]:
    """Open a job in work at the vehicle, with all worked out."""
    window.activateWindow()
    qtbot.waitUntil(lambda: qapp.activeWindow() is window)
    window.resize(1366, 768)
    window.open_job(IN_WORK)
    window.turn_to(1)
    finish(window)
    yield window.testing
    window.testing.suspicion.worker.stop()
    work_done()


@pytest.fixture
def panel(page: TestingPage) -> SuspicionPanel:
    return page.suspicion


def finish(window: MainWindow) -> None:
    """Wait until everything is worked out and shown."""
    work_done()
    assert not window.testing.suspicion.worker.is_busy


def row_of(panel: SuspicionPanel, key: str) -> int:
    return next(i for i, row in enumerate(panel.list.suspects.rows) if row.key == key)


def shaded(page: TestingPage) -> dict[str, float]:
    return {element: shade.share for element, shade in page.circuit.view._marks.shades.items() if shade.share}


# --- shown --------------------------------------------------------------------------------------------------------


def test_the_bar_the_list_and_the_drawing_say_the_same(page: TestingPage, panel: SuspicionPanel, qtbot: QtBot):
    """One suspicion, three times."""
    found = panel.suspicion
    assert found.circuit == page.desk.job.circuits[0].id
    assert sum(share.probability for share in found.shares) == pytest.approx(1)
    assert [part.share for part in panel.bar.parts()] == [s for s in found.shares if s.probability >= 0.005]
    assert panel.list.suspects.rows[0].key == found.shares[0].key
    qtbot.mouseClick(page.circuit_tab, Qt.MouseButton.LeftButton)
    elements = {element.id for element in page.desk.job.circuits[0].elements}
    assert shaded(page) == {s.key: s.probability for s in found.shares if s.key in elements and s.probability}
    assert panel.rests.isVisible()
    qtbot.mouseClick(panel.rests, Qt.MouseButton.LeftButton)
    assert panel.rests_words.text() == "\n".join(found.assumptions)


def test_three_tests_are_proposed_while_the_job_is_in_work(panel: SuspicionPanel):
    """Each at a place of the circuit."""
    assert 1 <= len(panel.proposals.shown()) <= 3
    assert {proposal.place.circuit for proposal in panel.proposals.shown()} == {panel.suspicion.circuit}


def test_a_vehicle_that_was_handed_back_is_not_tested_any_more(page: TestingPage, window: MainWindow):
    """What was possible stays to be seen; no test is proposed."""
    window.open_job(HANDED_BACK)
    window.turn_to(1)
    finish(window)
    assert page.desk.job.handed_back is not None
    assert page.suspicion.bar.isVisible()
    assert not page.suspicion.next.isVisible()


def test_another_job_shows_nothing_of_the_one_before(page: TestingPage, panel: SuspicionPanel, window: MainWindow):
    """Not for a moment, and not where it has no circuit."""
    window.open_job(NO_CIRCUIT)
    window.turn_to(1)
    assert panel.shown == ()
    finish(window)
    assert panel.shown == ()
    assert not panel.bar.isVisible()
    assert panel.by_hand.isVisible()
    assert page.stands_out.inside.isVisible()


def test_another_circuit_of_the_job_is_looked_at(page: TestingPage, panel: SuspicionPanel, window: MainWindow):
    """The bar is that of the circuit in the drawing."""
    first = window.desk.job.circuits[0]
    window.desk.do(save_circuit, changed(first, id="other", title="The same again"))
    page.circuit_tab.click()
    page.circuit.circuits.setCurrentIndex(page.circuit.circuits.findData("other"))
    page.circuit.on_circuit()
    finish(window)
    assert panel.suspicion.circuit == "other"
    assert panel.suspicion.n_steps == 0
    assert {proposal.place.circuit for proposal in panel.proposals.shown()} == {"other"}


# --- chosen -------------------------------------------------------------------------------------------------------


def test_a_part_of_the_bar_is_pointed_out_in_the_drawing(page: TestingPage, panel: SuspicionPanel, qtbot: QtBot):
    """Its suspects stand in the list, and a line is drawn around the element."""
    page.circuit_tab.click()
    part = panel.bar.parts()[0]
    qtbot.mouseClick(panel.bar, Qt.MouseButton.LeftButton, pos=QPoint(int(part.left) + 4, 20))
    assert panel.list.chosen == part.share.key
    assert panel.list.suspects.rows[1].share == part.share.key
    assert page.circuit.view._pointed_out == part.share.key


def test_a_row_of_the_list_is_pointed_out_in_the_drawing(page: TestingPage, panel: SuspicionPanel, qtbot: QtBot):
    """The same from the list, also while the steps are looked at."""
    key = panel.list.suspects.rows[0].key
    index = panel.list.suspects.index(0)
    qtbot.mouseClick(panel.list.viewport(), Qt.MouseButton.LeftButton, pos=panel.list.visualRect(index).center())
    page.circuit_tab.click()
    assert page.circuit.view._pointed_out == key
    assert panel.bar._chosen == key


def test_an_element_pressed_in_the_drawing_shows_its_suspects(page: TestingPage, panel: SuspicionPanel, qtbot: QtBot):
    """Even where it stands behind the fold of those that are cleared or hardly possible."""
    page.circuit_tab.click()
    key = panel.suspicion.shares[-1].key
    view = page.circuit.view
    view.fit()
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=view.position_of("element", key).toPoint())
    assert panel.list.chosen == key
    assert row_of(panel, key)


# --- taken --------------------------------------------------------------------------------------------------------


def test_the_best_test_is_taken_by_two_keys(page: TestingPage, panel: SuspicionPanel, qtbot: QtBot):
    """F5 goes to it, Enter takes it: its setup and place in the drawing, and in the line what to type."""
    QTest.keyClick(page.entry.line, Qt.Key.Key_F5)
    card = panel.proposals.cards[0]
    assert card.hasFocus()
    assert not card.visibleRegion().isEmpty()
    proposal = card.proposal
    qtbot.keyClick(card, Qt.Key.Key_Return)
    assert page.circuit.isVisible()
    assert page.circuit.setups.currentData() == proposal.place.setup
    place = ("element", proposal.place.element) if proposal.place.element else ("point", proposal.place.point)
    assert place in page.circuit.view._chosen
    assert page.entry.line.hasFocus()
    assert page.entry.understood.text().startswith(f"{proposal.title}. Type ")


def test_what_is_typed_for_a_taken_test_is_a_step_of_its_kind(page: TestingPage, panel: SuspicionPanel,
                                                                window: MainWindow, qtbot: QtBot):
    """The bar moves to what it means, and the line is ready for another reading at that place."""
    before, proposal = panel.suspicion, panel.proposals.shown()[0]
    qtbot.mouseClick(panel.proposals.cards[0].take, Qt.MouseButton.LeftButton)
    qtbot.keyClicks(page.entry.line, "0")
    qtbot.keyClick(page.entry.line, Qt.Key.Key_Return)
    step = window.desk.job.steps[-1]
    assert type(step).__struct_config__.tag == proposal.kind
    assert {name: getattr(step, name) for name in ("red", "black") if name in proposal.step} == {
        name: proposal.step[name] for name in ("red", "black") if name in proposal.step}
    finish(window)
    assert panel.suspicion.n_steps == before.n_steps + 1
    assert panel.suspicion.shares != before.shares
    assert panel.ghost_side.isHidden()
    assert page.entry.line.text() == ""
    assert not page.entry.understood.text().startswith(proposal.title)


# --- what if ------------------------------------------------------------------------------------------------------


def test_a_reading_that_is_being_typed_shows_what_it_would_mean(page: TestingPage, panel: SuspicionPanel,
                                                                  qtbot: QtBot):
    """Under the bar and named; gone when the line is empty again; nothing is taken down."""
    steps = page.desk.job.steps
    page.circuit_tab.click()
    page.circuit.on_point(page.desk.job.circuits[0].elements[1].between[1])
    qtbot.keyClicks(page.entry.line, "0.1")
    qtbot.waitUntil(panel.ghost_side.isVisible, timeout=LONGEST_WORK_MS)
    assert panel.ghost_words.text() == "If it showed 0.1 V:"
    assert panel.ghost.accessibleName() == "What would be possible if it showed 0.1 V"
    assert panel.ghost.parts()
    shown = panel.bar.parts()
    qtbot.keyClick(page.entry.line, Qt.Key.Key_Escape)
    qtbot.waitUntil(lambda: not panel.ghost_side.isVisible(), timeout=LONGEST_WORK_MS)
    assert panel.bar.parts() == shown
    assert page.desk.job.steps == steps


def test_what_if_a_proposed_test_showed_something(page: TestingPage, panel: SuspicionPanel, qtbot: QtBot):
    """By its menu, and closed again by its button."""
    card = panel.proposals.cards[0]
    card.what_if_menu().actions()[0].trigger()
    qtbot.waitUntil(panel.ghost_side.isVisible, timeout=LONGEST_WORK_MS)
    assert panel.ghost_words.text().startswith("If ")
    qtbot.mouseClick(panel.leave_ghost, Qt.MouseButton.LeftButton)
    assert not panel.ghost_side.isVisible()


def test_what_cannot_be_supposed_says_why(page: TestingPage, panel: SuspicionPanel, problems_of: Callable[[], list]):
    """A value that is none."""
    panel.on_proposal_supposed(panel.proposals.shown()[0], "what a mess")
    assert len(problems_of()) == 1
    assert not panel.ghost_side.isVisible()


@pytest.fixture
def problems_of(window: MainWindow) -> Callable[[], list[str]]:
    """Return a function that returns what the window told."""
    said: list[str] = []
    window.desk.problem.connect(said.append)
    return lambda: said


def test_both_bars_have_one_order():
    """So that they can be compared."""
    one = (Share("A", "A", 0.6), Share("B", "B", 0.4))
    other = (Share("C", "C", 0.5), Share("B", "B", 0.3), Share("A", "A", 0.2))
    assert [share.key for share in in_order_of(other, one)] == ["A", "B", "C"]


# --- getting at things --------------------------------------------------------------------------------------------


def test_a_point_that_cannot_be_reached_is_not_proposed(page: TestingPage, panel: SuspicionPanel, window: MainWindow):
    """Said by the card's menu, shown under the tests, and taken back: then it is proposed again."""
    proposal = panel.proposals.shown()[0]
    panel.proposals.cards[0].cannot_menu().actions()[0].trigger()
    finish(window)
    said = window.desk.job.access
    assert len(said) == 1
    assert (said[0].circuit, said[0].state) == (panel.suspicion.circuit, "cannot be reached")
    assert said[0].point in (proposal.place.point, proposal.place.black)
    assert proposal.key not in [other.key for other in panel.proposals.shown()]
    assert panel.proposals.said_words.isVisible()
    panel.proposals.unsaid.emit(said[0].id)
    finish(window)
    assert window.desk.job.access == ()
    assert panel.proposals.shown()[0].key == proposal.key
    window.actions_by_id["edit.undo"].trigger()
    assert len(window.desk.job.access) == 1


# --- doubts and looking back ---------------------------------------------------------------------------------------


def test_steps_that_do_not_go_together_are_told_with_the_way_to_them(page: TestingPage, panel: SuspicionPanel,
                                                                       qtbot: QtBot):
    """Above the bar, as a caution; the step is shown among the others; gone when they go together again."""
    assert not panel.doubt.isVisible()
    sound = panel.suspicion
    doubt = "Step s2 and step s5 cannot both be right: repeat step s2."
    panel.on_suspicion(replace(sound, contradictions=(doubt,), contradicting=("s2",)), True)
    settle()
    assert panel.doubt_words.text() == f"⚠ {doubt}"
    page.circuit_tab.click()
    button = panel.doubt.findChild(type(panel.rests))
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert page.table.isVisible()
    assert page.table.chosen().id == "s2"
    panel.on_suspicion(sound, True)
    assert not panel.doubt.isVisible()


def test_looking_back_shows_everything_as_it_stood(page: TestingPage, panel: SuspicionPanel, window: MainWindow,
                                                     qtbot: QtBot):
    """Bar, list and drawing after the step that is named; one press leads back."""
    page.circuit_tab.click()
    present, drawn = panel.shown, shaded(page)
    QTest.keyClick(page.entry.line, Qt.Key.Key_H, Qt.KeyboardModifier.ControlModifier)
    assert panel.look_back.slider.hasFocus()
    qtbot.keyClick(panel.look_back.slider, Qt.Key.Key_Home)
    finish(window)
    assert panel.look_back.words.text() == "before the first test"
    assert panel.shown != present
    assert shaded(page) != drawn
    assert not panel.next.isVisible()
    qtbot.keyClick(panel.look_back.slider, Qt.Key.Key_Right)
    assert panel.look_back.words.text().startswith("after s1: ")
    qtbot.mouseClick(panel.look_back.now, Qt.MouseButton.LeftButton)
    assert panel.shown == present
    assert shaded(page) == drawn
    assert panel.next.isVisible()


def test_a_new_reading_ends_looking_back(page: TestingPage, panel: SuspicionPanel, window: MainWindow):
    """What was just taken down is what the next look is about."""
    panel.look_back.slider.setValue(0)
    finish(window)
    assert panel.look_back.is_back
    circuit = window.desk.job.circuits[0]
    window.desk.do(record_step, LookStep(id="s99", circuit=circuit.id, elements=(circuit.elements[1].id,),
                                         result="nothing"), now())
    finish(window)
    assert not panel.look_back.is_back
    assert panel.next.isVisible()


@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK], ids=lambda t: t.name)
def test_nothing_is_cut_off_whatever_is_unfolded(page: TestingPage, panel: SuspicionPanel, window: MainWindow,
                                                   qapp: QApplication, colours: theme.Theme):
    """At every size, with a doubt, a supposition, the suspects of an element, each test in full; and looking back."""
    theme.apply(qapp, colours)
    found = panel.suspicion
    panel.on_suspicion(replace(found, contradictions=("Step s2 and step s5 cannot both be right: repeat step s2.",),
                               contradicting=("s2", "s5")), True)
    panel.list.choose(found.shares[0].key)
    panel.list._unfolded = frozenset({CLEARED, FEW})
    panel.list._show_rows()
    panel.on_rests()
    panel._supposed = LookStep(id="s99", elements=("X11.p4",), result="damage")
    panel.on_supposed(panel._supposed, found)
    for fold in panel.proposals.findChildren(QPushButton):
        if "read before the test" in fold.accessibleName():
            fold.click()
    states = [lambda card=card: panel.proposals.on_wanted(card) for card in panel.proposals.cards if card.isVisible()]
    states.append(lambda: panel.look_back.slider.setValue(1))
    faults = []
    for number, turn in enumerate(states):
        turn()
        work_done()
        for width, height in (SMALLEST, *SIZES):
            window.resize(width, height)
            settle()
            faults += [f"{number}, {width}×{height}: {fault}" for fault in page_faults(panel)]
    assert not faults, "\n".join(faults)
    small = [named(w) for w in seen(panel) if isinstance(w, QAbstractButton | QLineEdit | QSlider)
             and min(w.width(), w.height()) < theme.TARGET_PX]
    assert not small


# --- not in vain ---------------------------------------------------------------------------------------------------


def test_nothing_is_worked_out_that_nobody_sees(page: TestingPage, panel: SuspicionPanel, window: MainWindow):
    """A page that was left stops its work, and goes on when it is turned to again."""
    circuit = window.desk.job.circuits[0]
    window.desk.do(record_step, LookStep(id="s99", circuit=circuit.id, elements=(circuit.elements[1].id,),
                                         result="nothing"), now())
    assert panel.worker.is_busy
    window.turn_to(0)
    finish(window)
    steps = panel.suspicion.n_steps
    window.turn_to(1)
    finish(window)
    assert panel.suspicion.n_steps == steps + 1


def test_what_cleared_a_suspect_is_kept_until_it_is_worked_out_again():
    """The list does not flash while a reading is weighed; what came back to life is not kept as cleared."""
    quick = SUSPICION.__class__(
        "pump", "Fuel pump", suspects=tuple(line.__class__(*(getattr(line, name) for name in (
            "key", "element", "fault", "appears", "name", "probability")), "standing", share=line.share)
            for line in SUSPICION.suspects),
        shares=tuple(Share(share.key, share.name, 0.3 if share.key == "G1" else share.probability)
                     for share in SUSPICION.shares))
    kept = carried_over(quick, SUSPICION)
    assert kept.share_of("F7").cleared_by == ("s2",)
    assert kept.share_of("G1").standing == "standing"
    assert kept.share_of(HEALTHY) == SUSPICION.share_of(HEALTHY)
    assert kept.suspects[0].same_as == SUSPICION.suspects[0].same_as
    assert carried_over(quick, None) is quick
    assert carried_over(quick, SUSPICION.__class__("other", "Other")) is quick


def test_closing_the_window_ends_the_work(page: TestingPage, panel: SuspicionPanel, window: MainWindow):
    """Whatever is being worked out."""
    circuit = window.desk.job.circuits[0]
    window.desk.do(record_step, LookStep(id="s99", circuit=circuit.id, elements=(circuit.elements[1].id,),
                                         result="nothing"), now())
    window.close()
    settle()
    work_done()
    assert not panel.worker.is_busy
