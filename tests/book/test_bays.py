"""Several bays at one book, at the same time."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
from book.samples import NOW, small_job
from book.sealed import verify_job
from sqlalchemy import select, text

from workshop_log.book.changes import listen
from workshop_log.book.entities import Job
from workshop_log.book.errors import EditConflictError, StorageUnavailableError
from workshop_log.book.jobs import append_entry, insert_job, load_job, next_number, set_fields
from workshop_log.book.opening import open_book
from workshop_log.exchange import records as r

NUMBER = "2031-0007"


@pytest.fixture
def with_job(book):
    with book.session() as session:
        insert_job(session, small_job(), NOW)
    return book


def test_a_row_changed_in_between_is_a_conflict_and_not_overwritten(with_job):
    """The row's version tells; the message says what to do."""
    job = select(Job).where(Job.number == NUMBER)
    with with_job.read() as early:
        seen = early.scalars(job).one()
        # As held by somebody who read it before the other change.
        early.expunge(seen)
        early.rollback()
        with with_job.session() as session:
            set_fields(session, NUMBER, {"customer.name": "Hettie Lorn"})
        with pytest.raises(EditConflictError, match="another bay"), with_job.session() as late:
            seen.customer_name = "Somebody Else"
            late.add(seen)
    with with_job.read() as session:
        assert load_job(session, NUMBER).customer.name == "Hettie Lorn"


def test_bays_that_enter_evidence_at_once_make_one_chain(with_job):
    """Each entry is linked to the one before it, whoever made that."""
    def enter(bay):
        for count in range(5):
            with with_job.session() as session:
                look = r.LookStep(id=f"{bay}.{count}", elements=(), result="nothing")
                append_entry(session, NUMBER, "step", look, NOW)

    with ThreadPoolExecutor(3) as pool:
        list(pool.map(enter, ("a", "b", "c")))
    with with_job.read() as session:
        assert verify_job(session, NUMBER).intact
        assert len(load_job(session, NUMBER).steps) == 2 + 15


def test_bays_that_edit_different_fields_at_once_both_keep_theirs(with_job):
    """Two people at one job do not undo each other."""
    def edit(path):
        for count in range(5):
            with with_job.session() as session:
                set_fields(session, NUMBER, {path: f"{path} {count}"})

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(edit, ("customer.name", "vehicle.make")))
    with with_job.read() as session:
        job = load_job(session, NUMBER)
    assert (job.customer.name, job.vehicle.make) == ("customer.name 4", "vehicle.make 4")


def test_bays_that_take_in_at_once_get_different_numbers(book, now):
    """No two vehicles carry one number."""
    def take_in(_bay):
        numbers = []
        for _ in range(5):
            with book.session() as session:
                numbers.append(insert_job(session, small_job(next_number(session, now)), now))
        return numbers

    with ThreadPoolExecutor(3) as pool:
        given = [number for numbers in pool.map(take_in, range(3)) for number in numbers]
    assert sorted(given) == [f"2031-{count:04}" for count in range(1, 16)]


@pytest.mark.postgres
class TestChanges:
    """What one bay hears of the others."""

    @pytest.fixture
    def shared(self, server, _empty_database):
        book = open_book(server.create(_empty_database))
        yield book
        book.close()

    @pytest.fixture
    def listener(self, shared):
        listening = listen(shared.url)
        yield listening
        listening.close()

    @staticmethod
    def wait(listener):
        import select as sockets

        assert sockets.select([listener.fileno()], [], [], 5)[0], "nothing was heard"
        return listener.poll()

    def test_a_change_is_heard_with_the_jobs_number(self, shared, listener):
        """Taking in, a field and an entry each tell their job, once for each transaction."""
        with shared.session() as session:
            insert_job(session, small_job(), NOW)
            set_fields(session, NUMBER, {"customer.name": "X"})
            append_entry(session, NUMBER, "step", r.LookStep(id="s9", elements=(), result="nothing"), NOW)
        assert self.wait(listener) == [NUMBER]
        assert listener.poll() == []

    def test_what_was_not_kept_is_not_heard(self, shared, listener):
        """A change that failed is none."""
        with pytest.raises(KeyError), shared.session() as session:
            insert_job(session, small_job(), NOW)
            raise KeyError
        with shared.session() as session:
            insert_job(session, small_job("2031-0008"), NOW)
        assert self.wait(listener) == ["2031-0008"]

    def test_a_broken_connection_is_said(self, shared, listener):
        """The window then listens anew."""
        with shared.session() as session:
            session.execute(text("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE pid <> pg_backend_pid() "
                                 "AND datname = current_database() AND query LIKE 'LISTEN%'"))
        with pytest.raises(StorageUnavailableError, match="does not answer"):
            # The server's last words may come before the end of the connection.
            for _ in range(2):
                self.wait(listener)


def test_a_book_of_one_machine_has_nobody_to_listen_to(file_book):
    """Asking is a fault of the program."""
    with pytest.raises(ValueError, match="shared"):
        listen(file_book.url)
