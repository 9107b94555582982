"""A question asked in one book, answered in another, laid beside the job in the first: the job never changes."""

from __future__ import annotations

import hashlib
import shutil
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from exchange.strategies import jobs
from hypothesis import HealthCheck, given, settings
from jobs.feed_job import FOUND, job, volts
from msgspec.structs import replace
from sqlalchemy import select

from workshop_log.book import entities
from workshop_log.book.errors import UnknownJobError
from workshop_log.book.jobs import load_job
from workshop_log.book.opening import open_book
from workshop_log.book.settings import save_setting
from workshop_log.exchange import records as r
from workshop_log.exchange.free_text import Place
from workshop_log.exchange.opinion import is_question, question_of
from workshop_log.exchange.reading import JobFileError, read_job
from workshop_log.exchange.writing import write_job
from workshop_log.jobs import asking, opinions, testing, transfer
from workshop_log.jobs.asking import Choice, OpinionError
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.intake import add_note
from workshop_log.jobs.opinions import Taken

NOW = datetime(2031, 4, 3, 9, 0, tzinfo=UTC)
LATER = NOW + timedelta(days=1)
NUMBER = "2031-0042"
# Where answers and the key of the marks lie: beside the jobs.
BESIDE = ("opinions", "settings", "files")
OURS = job(*FOUND[:3], customer=r.Customer(name="Joan Dent", phone="07700 900456"),
           vehicle=r.Vehicle(registration="XX31 ABC", make="Invented", model="Merle"),
           notes=(r.Note(id="n1", at=NOW, who="R. Bolt", words="Joan owes us 80."),))


@pytest.fixture
def home(book):
    """Put the job into the book at home."""
    transfer.import_job(book, OURS, NOW)
    return book


@pytest.fixture
def away(empty_book, tmp_path):
    """Open the colleague's book, which has a job of the same number and rates of its own."""
    path = tmp_path / "away" / "book.db"
    path.parent.mkdir()
    shutil.copy(empty_book, path)
    opened = open_book(str(path))
    transfer.import_job(opened, r.Job(number=NUMBER, opened=NOW, complaints=(r.Complaint(id="c1", words="Dark"),)), NOW)
    with opened.session() as session:
        save_setting(session, "workshop", r.Workshop(name="Harrow Works", labour_rate=Decimal("71.00")))
    yield opened
    opened.close()


@pytest.fixture
def question(home, tmp_path):
    """Return the file of the question."""
    path = tmp_path / "question.job.json"
    path.write_bytes(asking.ask(home, NUMBER, NOW, Choice("Is it the plug?")).data())
    return path


@pytest.fixture
def answer(away, question, tmp_path):
    """Return the file of the answer, with a note and a step of the colleague's."""
    number = opinions.take_in_file(away, question, NOW).number
    add_note(away, number, "It is the plug.", LATER, who="Ostrel Venn")
    testing.record_step(away, number, volts("s4", "C3.b", "0.00 V"), LATER)
    path = tmp_path / "answer.job.json"
    path.write_bytes(asking.answer_bytes(away, number))
    return path


def state(book, number=NUMBER):
    """Return everything that the book holds of a job, row by row, and its job file."""
    with book.read() as session:
        rows = [session.execute(select(table).order_by(*table.primary_key)).all()
                for table in entities.Base.metadata.sorted_tables if table.name not in BESIDE]
    return rows, transfer.export_job(book, number)


# --- asking and answering -------------------------------------------------------------------------------------------


def test_the_question_becomes_a_job_of_its_own_at_the_colleague(away, question):
    """With a free number and the colleague's rates; the job of the same number there is untouched."""
    before = state(away)[1]
    taken = opinions.take_in_file(away, question, NOW)
    assert taken == Taken("2031-0043", is_beside=False)
    with away.read() as session:
        there = load_job(session, taken.number)
    assert is_question(there)
    assert question_of(there) == "Is it the plug?"
    assert there.workshop.labour_rate == Decimal("71.00")
    assert transfer.export_job(away, NUMBER) == before


def test_a_question_with_a_number_that_is_taken_gets_a_free_one(away, question, tmp_path):
    """Another program may have put one in."""
    told = replace(read_job(question.read_bytes(), "question"), number=NUMBER)
    path = tmp_path / "numbered.job.json"
    path.write_bytes(write_job(told))
    assert opinions.take_in_file(away, path, NOW).number == "2031-0043"


def test_the_answer_has_the_notes_and_steps_and_nothing_of_the_workshop(answer):
    """And leads back."""
    told = read_job(answer.read_bytes(), "answer")
    assert [note.words for note in told.notes] == ["Is it the plug?", "It is the plug."]
    assert told.steps[-1].reading == "0.00 V"
    assert (told.number, told.workshop, told.clock) == ("", r.Workshop(), ())
    assert b"Harrow" not in answer.read_bytes()
    assert b"71.00" not in answer.read_bytes()


def test_names_of_the_workshop_and_those_told_are_taken_out(home):
    """Whoever works here may be named in a complaint and nowhere else."""
    with home.session() as session:
        save_setting(session, "persons", ("Kestrel Weld",))
    told = add_note(home, NUMBER, "Kestrel and Uncle Bertil saw it, 80.00 in all.", NOW, who="Bo", internal=False)
    assert told.notes[-1].words.startswith("Kestrel")
    asked = asking.ask(home, NUMBER, NOW, Choice(also=("Bertil",)))
    assert asked.copy.notes[-1].words == "[name] and Uncle [name] saw it, 80.00 in all."


def test_what_is_left_out_by_choice_can_still_be_chosen(home):
    """The question is without it, the choice still shows it."""
    asked = asking.ask(home, NUMBER, NOW, Choice(left_out=frozenset({Place("complaints", "c1", "words")})))
    assert asked.copy.complaints[0].words == ""
    assert asked.whole.complaints[0].words == "The pump does not run."


def test_what_was_written_after_the_copy_was_read_does_not_travel(home):
    """Another bay goes on with the job while somebody reads through its copy."""
    read = asking.ask(home, NUMBER, LATER).job
    add_note(home, NUMBER, "The owner's brother fitted it.", LATER, internal=False)
    copy = asking.ask(home, NUMBER, LATER, Choice(read=read)).copy
    assert "brother" not in write_job(copy).decode()
    assert "brother" in write_job(asking.ask(home, NUMBER, LATER).copy).decode()


def test_a_question_is_not_asked_further_and_a_job_is_not_answered(home, away, question):
    """Each is told what to do instead."""
    number = opinions.take_in_file(away, question, NOW).number
    with pytest.raises(OpinionError, match="send the answer back instead"):
        asking.ask(away, number, NOW)
    with pytest.raises(OpinionError, match="Export it instead"):
        asking.answer_bytes(home, NUMBER)
    with pytest.raises(UnknownJobError):
        asking.ask(home, "2031-9999", NOW)


def test_the_mark_tells_nothing_and_is_the_same_each_time(home, away):
    """It is no fingerprint of anything that could be tried out: another book gives the same job another mark."""
    first, second = (asking.ask(home, NUMBER, NOW).copy.opinion_on for _ in range(2))
    assert first == second
    assert first != asking.ask(away, NUMBER, NOW).copy.opinion_on
    with home.read() as session:
        sealed = {entry.fingerprint for entry in load_job(session, NUMBER).seal.entries}
    assert first not in sealed
    assert first != hashlib.sha256(NUMBER.encode()).hexdigest()


# --- laying beside --------------------------------------------------------------------------------------------------


def test_an_answer_is_laid_beside_the_job_byte_for_byte(home, answer):
    """Found by its mark, named by its last note; the job and its chain are what they were."""
    before = state(home)
    assert opinions.take_in_file(home, answer, LATER) == Taken(NUMBER, is_beside=True)
    laid, = opinions.opinions_on(home, NUMBER)
    assert (laid.by, laid.received_at) == ("Ostrel Venn", LATER)
    assert home.files.get(laid.sha256) == answer.read_bytes()
    assert opinions.opinion_job(home, laid) == read_job(answer.read_bytes(), "answer")
    assert state(home) == before


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(about=jobs(most=2), noted=jobs(most=2))
def test_no_job_is_ever_changed_by_asking_or_by_an_answer(home, tmp_path, about, noted):
    """Any job, and an answer with any steps and notes that another job may have."""
    about = replace(about, number="", photos=tuple(p for p in about.photos if p.data is not None))
    number = transfer.import_job(home, about, NOW).number
    before = state(home, number)
    asked = asking.ask(home, number, NOW, Choice("Why?")).copy
    note = r.Note(id="n1", at=LATER, who="Ostrel Venn", words="Because.")
    path = tmp_path / "any.job.json"
    path.write_bytes(write_job(replace(noted, opinion_on=asked.opinion_on, notes=(note,), number=number, photos=())))
    assert opinions.take_in_file(home, path, LATER) == Taken(number, is_beside=True)
    assert state(home, number) == before


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(about=jobs(most=2))
def test_any_job_can_be_asked_about_and_answered(home, away, tmp_path, about):
    """The question is imported, judged, tested on and sent back; the answer finds its job."""
    number = transfer.import_job(home, replace(about, number="", photos=()), NOW).number
    question, answer = tmp_path / "question.job.json", tmp_path / "answer.job.json"
    question.write_bytes(asking.ask(home, number, NOW, Choice("Why?")).data())
    there = opinions.take_in_file(away, question, NOW).number
    with away.read() as session:
        evaluate(load_job(session, there))
    testing.record_step(away, there, r.ValueStep(id="x", what="tread", reading="4 mm"), LATER)
    answer.write_bytes(asking.answer_bytes(away, there))
    assert opinions.take_in_file(home, answer, LATER) == Taken(number, is_beside=True)


def test_an_answer_lies_beside_a_job_once(home, answer):
    """The second time is told, and nothing is added."""
    opinions.lay_beside(home, opinions.receive(answer), LATER)
    with pytest.raises(OpinionError, match="lies beside job 2031-0042 already: nothing was added"):
        opinions.lay_beside(home, opinions.receive(answer), LATER)
    assert len(opinions.opinions_on(home, NUMBER)) == 1


def test_an_answer_to_another_job_is_refused_with_its_number(home, answer):
    """The person is led to the right one."""
    other = transfer.import_job(home, r.Job(opened=NOW), NOW).number
    with pytest.raises(OpinionError, match=f"is about job {NUMBER}, not about job {other}"):
        opinions.lay_beside(home, opinions.receive(answer), LATER, number=other)
    assert opinions.opinions_on(home, other) == ()


def test_what_is_no_answer_is_refused_in_one_sentence(home, away, question, answer, tmp_path):
    """The bare question, an ordinary job file, the answer to somebody else, no file, no job file."""
    plain = tmp_path / "plain.job.json"
    plain.write_bytes(write_job(OURS))
    broken = tmp_path / "broken.job.json"
    broken.write_text("{")
    for book, path, error, words in (
            (home, question, OpinionError, "is the question as it was sent"),
            (home, plain, OpinionError, "is a job file, but no answer to a question"),
            (away, answer, OpinionError, "was not asked from this book"),
            (home, tmp_path / "gone.job.json", transfer.TransferError, "cannot be read"),
            (home, broken, JobFileError, "broken.job.json: ")):
        with pytest.raises(error, match=words) as raised:
            opinions.lay_beside(book, opinions.receive(path), LATER)
        assert "\n" not in str(raised.value)
    assert opinions.opinions_on(home, NUMBER) == ()


def test_who_answered_is_as_the_technician_says(home, answer):
    """Else as the notes say, else a colleague."""
    opinions.lay_beside(home, opinions.receive(answer), LATER, by=" Venn of Harrow Works ")
    assert opinions.opinions_on(home, NUMBER)[0].by == "Venn of Harrow Works"
    assert opinions.written_by(r.Job(opinion_on="0" * 64)) == "a colleague"


def test_a_note_of_theirs_becomes_an_ordinary_one_only_when_it_is_copied(home, answer):
    """With its source in words, internal, and the chain as it was."""
    opinions.lay_beside(home, opinions.receive(answer), LATER)
    laid, = opinions.opinions_on(home, NUMBER)
    note = opinions.opinion_job(home, laid).notes[-1]
    with home.read() as session:
        before = load_job(session, NUMBER)
    after = opinions.copy_into_note(home, NUMBER, note, laid, LATER, who="R. Bolt")
    written = after.notes[-1]
    assert (written.who, written.internal) == ("R. Bolt", True)
    assert written.words == "Ostrel Venn, asked for a second opinion, wrote on 04 Apr 2031: It is the plug."
    assert replace(after, notes=before.notes) == before
