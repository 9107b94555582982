"""Jobs by words, and what the desk knows."""

from __future__ import annotations

import pytest
from book.samples import NOW, small_job
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from workshop_log.book.jobs import add_item, append_entry, insert_job, remove_item, set_fields
from workshop_log.book.known import known_customers, known_vehicles, past_jobs
from workshop_log.book.listing import list_jobs
from workshop_log.book.search import search_jobs
from workshop_log.book.search_text import fold, joined
from workshop_log.exchange import records as r

NUMBER = "2031-0007"


@pytest.fixture
def filled(book):
    """Give a book with one job and another that shares only its workshop."""
    with book.session() as session:
        insert_job(session, small_job(), NOW)
        insert_job(session, small_job(
            "2031-0008", customer=r.Customer(name="Hettie Lorn", phone="07700 900555"),
            vehicle=r.Vehicle(registration="ZZ99 PKE", make="Harrowend", model="Garth"),
            complaints=(r.Complaint(id="c1", words="The wiper stops."),), fault_codes=(), parts=(), notes=(), steps=(),
            condemned=(), circuits=(), instruments=(), approvals=(), photos=(), estimate=()), NOW)
    return book


def found(book, words, **how):
    with book.read() as session:
        return [row.number for row in search_jobs(session, words, **how)]


@pytest.mark.parametrize("words", [
    "2031-0007", "ottoline", "Ottoline BRASK", "brásk", "o.brask@example.org", "07700 900123", "07700900123",
    "ZZ00 KLD", "zz00kld", "zz00k", "ZZZ00000000000512", "000512", "brannick tarn", "2026", "rear lamp", "flick",
    "horn weak",
    "B1234-11", "b1234", "strap", "ZX-4711-B", "zx4711", "4711", "before six", "rested overnight", "feed", "kld lamp",
    "bench meter", "strap.jpg", "lamp, rear", "  rear   lamp  ", "tarn flickers strap call",
])
def test_a_job_is_found_by_any_of_its_words_as_they_are_typed(filled, words):
    """Number, people, vehicle, complaint, codes, parts, notes and evidence; beginnings of words; all words together."""
    assert found(filled, words) == [NUMBER]


@pytest.mark.parametrize("words", ["", "   ", "—", "'\"", "lamp wiper", "nothing of the sort", "lamps", "drop table"])
def test_what_no_job_has_finds_nothing(filled, words):
    """All words must be in one job, and signs alone are no words."""
    assert found(filled, words) == []


def test_the_middle_of_a_plate_is_found_where_no_word_begins_so(filled):
    """Half a plate is what people remember."""
    assert found(filled, "00kl") == [NUMBER]
    assert found(filled, "900555") == ["2031-0008"]
    assert found(filled, "0k") == []


@given(words=st.text(max_size=30))
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_anything_may_be_typed(filled, words):
    """No sign is an operator of the database's search."""
    found(filled, words)


@pytest.mark.parametrize("operator", ["AND", "OR", "NOT", "NEAR(rear lamp)", "head:lamp", "lamp*", "rear & lamp",
                                      "!lamp", "rear <-> lamp", "^lamp", "lamp:*", "-lamp", "%", "_"])
def test_operators_are_words_like_others(filled, operator):
    """The search of the database has a language; nobody at the desk speaks it."""
    assert set(found(filled, operator)) <= {NUMBER, "2031-0008"}


def test_the_newest_job_comes_first_and_the_rest_is_cut_off(filled):
    """The list is of the last ones, however many there are."""
    assert found(filled, "2031") == ["2031-0008", NUMBER]
    assert found(filled, "2031", limit=1) == ["2031-0008"]


def test_a_found_row_is_that_of_the_list(filled):
    """Searching changes which jobs are shown, not what of them."""
    with filled.read() as session:
        listed = {row.number: row for row in list_jobs(session)}
        assert search_jobs(session, "lamp") == [listed[NUMBER]]


def test_every_change_can_be_searched_at_once(filled):
    """Fields, items and evidence; what was taken out is no longer found."""
    with filled.session() as session:
        set_fields(session, NUMBER, {"customer.name": "Quilla Stroud", "complaints/c1/words": "The indicator hums."})
        add_item(session, NUMBER, "notes", r.Note(id="n2", at=NOW, words="Wants the old parts back."))
        remove_item(session, NUMBER, "parts", "p1")
        append_entry(session, NUMBER, "step", r.LookStep(id="s9", elements=("grommet",), result="damage"), NOW)
    for words in ("quilla", "indicator", "old parts", "grommet"):
        assert found(filled, words) == [NUMBER]
    for words in ("flickers", "zx4711"):
        assert found(filled, words) == []


def test_without_the_databases_own_search_the_same_is_found(file_book):
    """SQLite may be built without FTS5."""
    with file_book.session() as session:
        insert_job(session, small_job(), NOW)
        for name in ("insert", "delete", "update"):
            session.execute(text(f"DROP TRIGGER search_index_{name}"))
        session.execute(text("DROP TABLE search_index"))
    with file_book.session() as session:
        append_entry(session, NUMBER, "step", r.LookStep(id="s9", elements=("grommet",), result="damage"), NOW)
    for words in ("rear lamp", "grommet", "brásk", "zz00kld"):
        assert found(file_book, words) == [NUMBER]
    assert found(file_book, "lamp nothing") == []


@pytest.mark.parametrize(("typed", "folded"), [
    ("Brásk", "brask"), ("STRASSE", "strasse"), ("Straße", "strasse"), ("ZX-4711_B", "zx 4711 b"), ("µ", "μ"),
    ("…", "")])
def test_folding_leaves_small_letters_and_digits(typed, folded):
    """Both sides of the search are folded the same way."""
    assert fold(typed) == folded
    assert joined(typed) == folded.replace(" ", "")


# --- known ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("look_up", "typed"), [
    (known_vehicles, "ZZ00KLD"), (known_vehicles, "zz00 kl"), (known_vehicles, "000512"), (known_customers, "ottol"),
    (known_customers, "Brásk"), (known_customers, "07700 900 123"), (known_customers, "900123"),
])
def test_the_desk_is_offered_what_the_book_knows(filled, look_up, typed):
    """Half a plate, a name or a telephone number brings customer and vehicle as they stood last."""
    with filled.read() as session:
        (known,) = look_up(session, typed)
    job = small_job()
    assert (known.number, known.vehicle, known.customer) == (NUMBER, job.vehicle, job.customer)
    assert "ZZ00 KLD" in known.words
    assert "Ottoline Brásk" in known.words


@pytest.mark.parametrize("typed", ["", "z", "zz", "qqqq", "%", "___"])
def test_too_little_or_nothing_known_offers_nothing(filled, typed):
    """Two letters are in half the book, and signs of the database's own are none."""
    with filled.read() as session:
        assert known_vehicles(session, typed) == []
        assert known_customers(session, typed) == []


def test_a_new_job_with_the_same_plate_does_not_hide_what_was_known(filled):
    """The job being typed is itself in the book; the earlier one with the facts is offered too."""
    with filled.session() as session:
        plate_only = small_job("2031-0009", vehicle=r.Vehicle(registration="zz00kld"), customer=r.Customer())
        insert_job(session, plate_only, NOW)
    with filled.read() as session:
        assert [known.number for known in known_vehicles(session, "ZZ00 KLD")] == ["2031-0009", NUMBER]


def test_the_same_facts_are_offered_once(filled):
    """A vehicle with ten visits is one line."""
    with filled.session() as session:
        insert_job(session, small_job("2031-0009"), NOW)
    with filled.read() as session:
        assert [known.number for known in known_vehicles(session, "zz00kld")] == ["2031-0009"]


def test_past_jobs_are_those_of_the_vehicle(filled):
    """By VIN where there is one, by plate otherwise; a plate that moved to another VIN is another vehicle."""
    with filled.session() as session:
        insert_job(session, small_job("2031-0009", vehicle=r.Vehicle(registration="zz00 kld", vin="zzz00000000000512")),
                   NOW)
        insert_job(session, small_job("2031-0010", vehicle=r.Vehicle(registration="ZZ00KLD", vin="ZZZ9")), NOW)
        insert_job(session, small_job("2031-0011", vehicle=r.Vehicle(registration="ZZ00 KLD")), NOW)

    def past(**vehicle):
        with filled.read() as session:
            return [row.number for row in past_jobs(session, r.Vehicle(**vehicle))]

    assert past(vin="ZZZ00000000000512") == ["2031-0009", NUMBER]
    assert past(registration="ZZ00KLD", vin="ZZZ9") == ["2031-0011", "2031-0010"]
    assert past(registration="zz00kld") == ["2031-0011", "2031-0010", "2031-0009", NUMBER]
    assert past() == []
