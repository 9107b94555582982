"""The figures of a case on its card, the suspects offered for one, and deciding with them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from desktop.looking import seen, settle, work_done
from desktop.test_layout import SIZES, page_faults
from jobs.pump import PUMP, STEPS
from PySide6.QtWidgets import QApplication, QLabel, QPushButton

from workshop_log.desktop import theme
from workshop_log.desktop.desk import now
from workshop_log.desktop.main_window import CASE, MainWindow
from workshop_log.desktop.pages import case as case_page
from workshop_log.jobs import deciding, intake, testing
from workshop_log.jobs.figures import in_a_hundred
from workshop_log.jobs.percent import percent_words
from workshop_log.jobs.places import Place
from workshop_log.jobs.suspecting import suspicion_of
from workshop_log.jobs.suspicion import CircuitSuspicion, Decision, Proposal, Share, SuspectLine
from workshop_log.jobs.weighing import Weighed, basis_of

LOOK = Proposal("look W1", "look", Place("pump", element="W1"), "Look at W1", "Goes straight to W1; 4 min.", 4.0,
                step={"kind": "look", "elements": ["W1"]})


@pytest.fixture
def pump(window: MainWindow) -> MainWindow:
    """Open a job with a circuit and three readings on its Case page."""
    desk = window.desk
    job = intake.take_in(desk.book, now())
    intake.edit(desk.book, job.number, {"workshop.labour_rate": Decimal(64)})
    testing.save_circuit(desk.book, job.number, PUMP)
    for step in STEPS:
        testing.record_step(desk.book, job.number, step, now())
    window.open_job(job.number)
    window.turn_to(CASE)
    figures_there()
    return window


def figures_there() -> None:
    """Wait until what was asked for is worked out and shown."""
    work_done()
    settle()


def offered(window: MainWindow) -> list[QPushButton]:
    return window.case.likely.findChildren(QPushButton)


def consider(window: MainWindow, element: str = "W1", **facts: str) -> case_page._CaseCard:
    """Consider an element of the circuit and return its card, with its figures."""
    assert window.desk.do(deciding.consider, "", (), now(), circuit="pump", element=element, **facts)
    figures_there()
    return next(card for card in window.case._cards.values() if card.condemned.element == element)


def said(widget: object) -> str:
    """Return all words that are seen in a widget."""
    return "\n".join(part.text().replace("\N{NO-BREAK SPACE}", " ") for part in seen(widget)
                     if isinstance(part, QLabel | QPushButton))


def hand_over(window: MainWindow, card: case_page._CaseCard, right: float, loss: str, going_on: str | None,
              lines: tuple[SuspectLine, ...] = ()) -> None:
    """Show a card with figures written by hand, as if they had just been worked out."""
    shares = [Share("W1", "W1 (feed to the pump)", right), Share("C3.2", "C3.2 (pin at the pump)", 1 - right)]
    shares += [Share(line.element, line.element, 0.0, "cleared", line.cleared_by) for line in lines]
    better = LOOK if going_on is not None and Decimal(going_on) < Decimal(loss) else None
    decision = Decision("W1", "W1", ("W1",), right, Decimal(90), Decimal(loss), better,
                        None if going_on is None else Decimal(going_on), words="It is told in sentences.")
    window.case.on_weighed({card.condemned.id: Weighed(
        basis_of(window.desk.job, card.condemned), CircuitSuspicion("pump", "Fuel pump", suspects=lines,
                                                                    shares=tuple(shares), n_steps=3), decision)})
    settle()


def test_case_begins_with_its_figures(pump: MainWindow):
    """How likely, what being wrong costs, what else is possible: worked out beside the window, then shown."""
    card = consider(pump, price="9", fit_minutes="30")
    words = said(card.figures)
    likely = suspicion_of(pump.desk.job, "pump").share_of("W1").probability
    assert card.figures.right.figure.text() == in_a_hundred(likely)
    assert card.figures.cost.figure.text() == "£41.00"
    assert "is still possible" in words
    assert "Working out" not in words
    # The cost stands above, and not twice.
    assert not card.cost.isVisibleTo(card)


def test_case_by_its_name_has_no_figures(pump: MainWindow):
    """It looks as it did without a circuit."""
    pump.case.part.setText("hub")
    pump.case.begin.click()
    figures_there()
    (card,) = pump.case._cards.values()
    assert not card.figures.isVisibleTo(card)
    assert card.cost.isVisibleTo(card)


@pytest.mark.parametrize(("loss", "going_on", "now_says", "first_says", "has_test"), [
    ("8.00", "7.50", "", "The better of the two, by £0.50.", True),
    ("8.00", "9.25", "The better of the two, by £1.25.", "", False),
    ("8.00", "8.00", "", "", False),
])
def test_better_of_the_two_is_said_in_words(pump: MainWindow, loss: str, going_on: str, now_says: str, first_says: str,
                                            has_test: bool):
    """Under the smaller sum, with the difference; equal sums are not told apart."""
    card = consider(pump)
    hand_over(pump, card, 0.9, loss, going_on)
    assert (card.figures.now._note.text(), card.figures.first._note.text()) == (now_says, first_says)
    assert card.figures.test.isVisibleTo(card) is has_test


def test_better_test_is_taken_with_one_press(pump: MainWindow):
    """The entry line waits for it at its place."""
    card = consider(pump)
    hand_over(pump, card, 0.9, "8.00", "7.50")
    assert "Look at W1" in said(card.figures.test)
    card.figures.take.click()
    settle()
    assert pump.stack.currentWidget() is pump.testing
    pump.testing.entry.line.setText("damage")
    pump.testing.entry.on_take()
    settle()
    assert (pump.desk.job.steps[-1].elements, pump.desk.job.steps[-1].result) == (("W1",), "damage")


def test_what_cleared_the_others_is_folded_away(pump: MainWindow):
    """One press shows it, another folds it away again."""
    card = consider(pump)
    fuse = SuspectLine("F7: open", "F7", "open", "always", "F7", 0.0, "cleared", cleared_by=("s2",), share="F7")
    hand_over(pump, card, 0.9, "8.00", "7.50", (fuse,))
    assert card.figures.unfold.text().endswith("What else was cleared, and by which steps: 1")
    assert "F7: cleared by s2" not in said(card)
    card.figures.unfold.click()
    assert "F7: cleared by s2" in said(card)
    card.figures.unfold.click()
    assert "F7: cleared by s2" not in said(card)


def test_likeliest_suspect_begins_a_case_with_one_press(pump: MainWindow):
    """It brings its element, and is not offered again."""
    first = offered(pump)[0]
    likely = suspicion_of(pump.desk.job, "pump").share_of("W1").probability
    assert first.text() == f"W1 (feed to the pump), {percent_words(likely)}"
    first.click()
    figures_there()
    (entry,) = pump.desk.job.condemned
    assert (entry.part, entry.circuit, entry.element) == ("feed to the pump", "pump", "W1")
    assert not any(button.text().startswith("W1 ") for button in offered(pump))


def test_price_on_the_card_counts_before_the_decision(pump: MainWindow):
    """The sums follow what is typed, and what cannot be read changes nothing."""
    card = consider(pump, fit_minutes="30")
    field = card.money.fields["price"]
    for typed, cost in (("20", "£52.00"), ("much", "£52.00")):
        field.setText(typed)
        card.hand_over()
        settle()
        figures_there()
        assert card.figures.cost.figure.text() == cost
    assert pump.desk.job.condemned[0].price is None


def test_reason_is_asked_for_at_its_field(pump: MainWindow, problems_of: list[str]):
    """Before the press in a hint, after it in a sentence; with a reason the part is condemned."""
    card = consider(pump)
    hand_over(pump, card, 0.6, "8.00", None)
    assert "Asked for: By the circuit it is about 60 in 100" in said(card)
    card.replace.click()
    figures_there()
    assert pump.desk.job.condemned[-1].decision == "considered"
    assert "all the same" in problems_of[-1]
    card.money.fields["all_the_same"].setText("Seen melted before.")
    card.replace.click()
    figures_there()
    entry = pump.desk.job.condemned[-1]
    assert (entry.decision, entry.all_the_same, entry.probability_right) == ("replace", "Seen melted before.", 0.6)
    assert "Asked for" not in said(card)


@pytest.fixture
def problems_of(pump: MainWindow) -> list[str]:
    """Return the sentences that the desk tells, as they come."""
    told: list[str] = []
    pump.desk.problem.connect(told.append)
    return told


def test_nothing_is_worked_out_in_the_window_when_a_part_is_condemned(pump: MainWindow,
                                                                      monkeypatch: pytest.MonkeyPatch):
    """The figures that are shown are those that count."""
    card = consider(pump)
    hand_over(pump, card, 0.97, "1.00", "3.00")
    monkeypatch.setattr(deciding, "weigh", lambda *_: pytest.fail("worked out while the person waits"))
    card.replace.click()
    figures_there()
    entry = pump.desk.job.condemned[-1]
    assert (entry.decision, entry.probability_right) == ("replace", 0.97)


def test_press_before_the_figures_are_there_waits_for_them(pump: MainWindow, monkeypatch: pytest.MonkeyPatch):
    """A price typed a moment ago is weighed beside the window, and the part is condemned then."""
    card = consider(pump)
    card.money.fields["all_the_same"].setText("Seen melted before.")
    card.money.fields["price"].setText("20")
    monkeypatch.setattr(deciding, "weigh", lambda *_: pytest.fail("worked out while the person waits"))
    card.replace.click()
    assert pump.desk.job.condemned[-1].decision == "considered"
    assert "Working out what the circuit says" in said(card)
    for _ in range(3):
        figures_there()
    entry = pump.desk.job.condemned[-1]
    assert (entry.decision, entry.price) == ("replace", Decimal("20"))
    assert "Working out" not in said(card)


def test_figures_that_fail_are_told_and_decide_nothing(pump: MainWindow, problems_of: list[str],
                                                       monkeypatch: pytest.MonkeyPatch):
    """The press that waited for them is forgotten."""
    from workshop_log.errors import WorkshopLogError
    from workshop_log.jobs import weighing

    def fail(*_: object) -> None:
        raise WorkshopLogError("Nothing can be said of this circuit.")

    card = consider(pump)
    monkeypatch.setattr(weighing, "weigh_all", fail)
    card.money.fields["price"].setText("20")
    card.replace.click()
    for _ in range(3):
        figures_there()
    assert problems_of == ["Nothing can be said of this circuit."]
    assert pump.desk.job.condemned[-1].decision == "considered"


def test_figures_of_one_job_do_not_come_into_another(samples: None, pump: MainWindow):
    """Another job is opened while they are worked out."""
    consider(pump)
    pump.case.weigher.stop()
    pump.case.weigh()
    pump.open_job("2031-0001")
    pump.turn_to(CASE)
    figures_there()
    assert all(not card.figures.isVisibleTo(card) for card in pump.case._cards.values())


def test_part_that_is_let_off_shows_what_cleared_it_and_no_money(pump: MainWindow):
    """Nobody asks any more what condemning it would cost."""
    card = consider(pump)
    card.let_off.click()
    figures_there()
    (card,) = pump.case._cards.values()
    assert card.figures.right.isVisibleTo(card)
    assert not any(block.isVisibleTo(card) for block in (card.figures.cost, card.figures.now, card.figures.first))


def test_clean_trials_after_the_repair_are_counted_on_the_card(samples: None, window: MainWindow):
    """The sample's wire shorted in 4 of 10 movements before the repair, and in none of 20 after it."""
    window.open_job("2031-0005")
    window.turn_to(CASE)
    figures_there()
    assert "Before the repair it showed in 4 of 10 movements, after it in none of 20: " in said(window.case)


@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK], ids=lambda t: t.name)
def test_card_with_all_its_figures_fits(pump: MainWindow, qapp: QApplication, colours: theme.Theme):
    """Nothing is cut off or scrolls sideways at any size."""
    theme.apply(qapp, colours)
    card = consider(pump)
    fuse = SuspectLine("F7: open", "F7", "open", "always", "F7", 0.0, "cleared", cleared_by=("s1", "s2"), share="F7")
    hand_over(pump, card, 0.6, "1008.00", "997.50", (fuse,))
    card.figures.unfold.click()
    faults = []
    for width, height in SIZES:
        pump.resize(width, height)
        settle()
        faults += [f"{width}×{height}: {fault}" for fault in page_faults(pump)]
    assert not faults, "\n".join(faults)
