"""Circuits that were described before are offered again for the same model."""

from __future__ import annotations

import pytest
from book.samples import NOW, small_job
from msgspec.structs import replace

from workshop_log.book.jobs import append_entry, insert_job
from workshop_log.book.known import known_circuits
from workshop_log.exchange import records as r

LOAD = r.Element(id="E1", kind="lamp", between=("B+", "B-"), power="21 W", at="12 V")
BATTERY = r.Element(id="battery", kind="battery", between=("B+", "B-"), voltage="12.6 V")
FEED = r.Circuit(id="feed", title="Rear lamp feed", elements=(BATTERY, LOAD))
HORN = r.Circuit(id="horn", title="Horn", elements=(BATTERY, replace(LOAD, id="P1")))
TARN = r.Vehicle(make="Brannick", model="Tarn")


def put(book, number, vehicle, *circuits):
    with book.session() as session:
        insert_job(session, small_job(number, vehicle=vehicle, circuits=circuits, steps=(), condemned=(), photos=()),
                   NOW)


def offered(book, vehicle, besides=""):
    with book.read() as session:
        return [(known.number, known.circuit) for known in known_circuits(session, vehicle, besides)]


@pytest.fixture
def filled(book):
    """Give a book with two jobs on one model, one on another model of the same make, and one on no known model."""
    put(book, "2031-0007", r.Vehicle(registration="ZZ00 KLD", make="Brannick", model="Tarn", year=2026), FEED)
    put(book, "2031-0008", r.Vehicle(registration="ZZ01 KLD", make="BRANNICK", model="  tarn "), HORN)
    put(book, "2031-0009", r.Vehicle(registration="ZZ02 KLD", make="Brannick", model="Garth"), FEED)
    put(book, "2031-0010", r.Vehicle(registration="ZZ03 KLD", make="Brannick"), HORN)
    return book


def test_circuits_of_the_same_model_are_offered_the_newest_first(filled):
    """However make and model were typed; another model's circuits are none of them."""
    assert offered(filled, TARN) == [("2031-0008", HORN), ("2031-0007", FEED)]


def test_a_job_is_not_offered_its_own_circuits(filled):
    """They are in it already."""
    assert offered(filled, TARN, "2031-0008") == [("2031-0007", FEED)]


@pytest.mark.parametrize("vehicle", [r.Vehicle(), r.Vehicle(make="Brannick"), r.Vehicle(model="Tarn"),
                                     r.Vehicle(make="Brannick", model="Tarns")])
def test_an_unknown_model_is_offered_nothing(filled, vehicle):
    """A make alone says nothing of a circuit."""
    assert offered(filled, vehicle) == []


def test_a_circuit_is_offered_as_it_stood_last(filled):
    """What was put right later in that job is what is offered."""
    better = replace(FEED, elements=(*FEED.elements, replace(LOAD, id="E2")))
    with filled.session() as session:
        append_entry(session, "2031-0007", "circuit", better)
    assert offered(filled, TARN, "2031-0008") == [("2031-0007", better)]


def test_the_same_circuit_in_two_jobs_is_offered_once(filled):
    """From the newer of the two."""
    put(filled, "2031-0011", TARN, FEED)
    assert offered(filled, TARN) == [("2031-0011", FEED), ("2031-0008", HORN)]


def test_a_circuit_without_elements_is_not_offered(filled):
    """Nothing could be begun with it."""
    put(filled, "2031-0012", TARN, r.Circuit(id="empty", title="Empty"))
    assert "2031-0012" not in [number for number, _ in offered(filled, TARN)]
