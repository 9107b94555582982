"""A hidden fault followed through the window by its proposals, to a condemned part; and what comes before a unit."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from jobs.feed_job import DOES_NOT_RUN, job
from journeys.driver import Person
from msgspec.structs import replace
from pypdf import PdfReader
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton

from workshop_log.book.opening import open_book
from workshop_log.electrics.circuit import Circuit
from workshop_log.electrics.faults import Fault
from workshop_log.electrics.probes import Current, Lamp, Resistance, Voltage, predict
from workshop_log.exchange.circuits import circuit_of
from workshop_log.exchange.records import Job
from workshop_log.jobs.suspicion import Proposal
from workshop_log.jobs.transfer import import_job, read_file

NOW = datetime(2031, 5, 6, 9, 0, tzinfo=UTC)
SAMPLES = Path(__file__).parents[2] / "sample_jobs"
MOST_TESTS = 8


def answer(proposal: Proposal, circuit: Circuit, fault: Fault) -> str:
    """Return what somebody would type who made the test on a vehicle with this fault."""
    place = proposal.place
    if proposal.kind == "look":
        return "damage strong" if fault.element in (place.element, *place.others) else "nothing strong"
    if proposal.kind == "swap":
        return "cured" if fault.element == place.element else "not cured"
    probe = {"voltage": lambda: Voltage(place.point, place.black), "current": lambda: Current(place.element),
             "resistance": lambda: Resistance(place.point, place.black),
             "lamp": lambda: Lamp(place.black, place.point)}[proposal.kind]()
    shown = predict(circuit, place.setup, probe, fault=fault)
    if proposal.kind == "lamp":
        return shown.look
    if shown.value == float("inf"):
        return "OL"
    return f"{shown.value:.2f} {'ohm' if shown.unit == 'ohm' else shown.unit}"


def opened(begin: Callable[[], Person], book_path: Path, made: Job) -> Person:
    """Put a job into the book, start the window and open the job's Testing page."""
    book = open_book(str(book_path))
    import_job(book, made, NOW)
    book.close()
    person = begin()
    person.choose_job(made.number)
    person.turn_to(1)
    return person


def proposals(person: Person) -> tuple[Proposal, ...]:
    """Wait until the tests worth making stand there, and return them."""
    panel = person.window.testing.suspicion
    person.wait(lambda: not panel.worker.is_busy and bool(panel.proposals.shown()))
    return panel.proposals.shown()


@pytest.mark.parametrize("fault", [Fault("C3", "high resistance", 1.8), Fault("S1", "stuck open"), Fault("W1", "open")],
                         ids=lambda fault: fault.words())
def test_a_hidden_fault_is_found_by_taking_the_proposals(begin, book_path, fault):
    """Each first proposal is taken with the mouse, what the vehicle shows is typed, and the part is condemned."""
    person = opened(begin, book_path, job(DOES_NOT_RUN))
    window = person.window
    circuit = circuit_of(window.desk.job.circuits[0])
    panel = window.testing.suspicion
    made = 0
    while True:
        first, *_ = proposals(person)
        shares = {share.key: share.probability for share in panel.suspicion.shares}
        if max(shares.values()) > 0.95:
            break
        made += 1
        assert made <= MOST_TESTS, shares
        assert first.why
        assert first.why.replace("\N{NO-BREAK SPACE}", " ") in person.words(panel)
        person.press(panel.proposals.cards[0].take)
        assert window.testing.entry.line.hasFocus()
        steps = len(window.desk.job.steps)
        person.keys(answer(first, circuit, fault))
        person.key(Qt.Key.Key_Return)
        assert len(window.desk.job.steps) == steps + 1, person.understood
    assert panel.suspicion.shares[0].key == fault.element
    person.wait(lambda: any(share.standing == "cleared" for share in panel.suspicion.shares))

    person.turn_to(2)
    person.wait(lambda: window.case.likely.isVisible())
    # They are offered anew when the figures have come.
    person.rest()
    person.press(next(button for button in window.case.likely.findChildren(QAbstractButton)
                      if button.isVisible() and button.text().startswith(fault.element)))
    person.fill(person.field("Finding, as it could be read aloud to the customer"), "It has failed; tests prove it.")
    person.wait(lambda: "in 100" in person.words())
    person.press("Condemn: replace")
    person.wait(lambda: window.desk.job.condemned[-1].decision == "replace")
    condemned = window.desk.job.condemned[-1]
    assert condemned.element == fault.element
    assert condemned.probability_right > 0.95

    person.turn_to(4)
    pages = PdfReader(io.BytesIO(person.wait_for_the_report())).pages
    text = " ".join("\n".join(page.extract_text() for page in pages).split())
    assert "narrowed it down" in text
    assert not person.said


def test_the_loom_is_opened_before_the_unit_is_bought(begin, book_path):
    """The unit that fails now and then: all that feeds it tested good, and the card says in money what comes first."""
    made = read_file(SAMPLES / "tailgate-unit.job.json")
    before = replace(made, steps=made.steps[:7], condemned=(), parts=(), approvals=(), clock=(), reports=(), photos=(),
                     handed_back=None, settled=None, seal=None)
    person = opened(begin, book_path, before)
    window = person.window
    assert "W41" in person.words(window.testing.suspicion) or proposals(person)
    person.turn_to(2)
    window.desk.do(consider_unit, NOW)
    person.wait(lambda: "opening" in person.words().lower() or "look at W41" in person.words())
    words = person.words()
    assert "look at W41 (supply wire in the hinge loom)" in words
    decision = next(iter(window.case._cards.values()))._case.figures.decision
    assert decision.look_first.place.element == "W41"
    # A look costs its minutes; the unit cannot go back.
    assert decision.looking < decision.expected_loss / 4
    assert decision.cost_if_wrong > Decimal(468)
    # Whoever condemns it all the same has to say why.
    person.press("Condemn: replace")
    person.wait(lambda: bool(person.said))
    assert window.desk.job.condemned[-1].decision == "considered"


def consider_unit(book, number, now):
    """Consider the control unit, as the customer was told to."""
    from workshop_log.jobs.deciding import consider

    return consider(book, number, "", (), now, circuit="tailgate", element="TCU")
