"""From the outbox to a real server: each message once, whatever happens on the way."""

from __future__ import annotations

import signal
import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from email import message_from_bytes
from email.policy import SMTP
from pathlib import Path

import pytest
from delivery.conftest import NOW
from delivery.mail_server import DROP, PASSWORD, SILENT, running
from msgspec.structs import replace

from workshop_log.book.errors import StorageUnavailableError
from workshop_log.book.jobs import load_job
from workshop_log.book.opening import open_book
from workshop_log.delivery import outbox
from workshop_log.delivery.messages import Attachment, MessageError, message_bytes
from workshop_log.delivery.outbox import Enclosure, Sending, send_next
from workshop_log.delivery.outcomes import NotSent, Refused, Sent
from workshop_log.exchange.letter import Letter
from workshop_log.jobs import outgoing

NUMBER = "2031-0007"
PROJECT = Path(__file__).parents[2]
PDF = b"%PDF-1.7 the very bytes \x00\xff"
LETTER = Letter(sender="Invented Electrics <desk@example.org>",
                recipients=("Ottoline Brásk <o.brask@example.org>",), copies=("second@example.org",),
                subject="Report 2031-0007", body="Dear Ottoline Brásk,\nattached.")
REPORT = Enclosure(Attachment("Report.pdf", "application/pdf", PDF), "customer")


def put(book, letter=LETTER, enclosures=(REPORT,)):
    return outbox.put(book, NUMBER, letter, enclosures, NOW)


def reports(book):
    with book.read() as session:
        return [one.sha256 for one in load_job(session, NUMBER).reports[1:]]


def test_what_was_written_arrives_with_its_exact_file(start, book, sending, clock):
    """To everybody named, once; the record has the report, the outbox what was sent to whom and when."""
    server, account = start()
    message = put(book)
    clock.go(minutes=1)
    tried = send_next(sending(account))
    assert isinstance(tried.outcome, Sent)
    assert send_next(sending(account)) is None
    (mail,) = server.received
    assert (mail.sender, mail.recipients) == ("desk@example.org", ["o.brask@example.org", "second@example.org"])
    arrived = message_from_bytes(mail.data, policy=SMTP)
    assert arrived["Message-ID"] == message.message_id
    assert [part.get_content() for part in arrived.iter_attachments()] == [PDF]
    (kept,) = outgoing.messages(book)
    assert (kept.state, kept.sent_at, kept.answer) == ("sent", clock(), "250 taken as 4711")
    assert book.files.get(kept.attached[0].sha256) == PDF
    assert reports(book) == [kept.attached[0].sha256]


@pytest.mark.parametrize("letter", [
    replace(LETTER, recipients=()), replace(LETTER, recipients=("nobody",)), replace(LETTER, subject="a\r\nBcc: x"),
    replace(LETTER, sender="")])
def test_what_cannot_be_sent_is_not_put_in(book, letter):
    """Nothing is in the outbox that would be refused for certain."""
    with pytest.raises(ValueError, match=r"\.$"):
        put(book, letter)
    assert outgoing.messages(book) == ()


def test_what_is_too_large_is_not_put_in(book):
    """Nor any of its files."""
    large = Enclosure(Attachment("large.pdf", "application/pdf", bytes(20_000_000)))
    with pytest.raises(MessageError, match="MB"):
        put(book, enclosures=(REPORT, large))
    assert outgoing.messages(book) == ()
    assert list(book.files.names()) == []


def test_every_try_is_the_same_message(start, book, sending, clock):
    """Byte for byte, also by another program on another day."""
    server, account = start()
    server.fails = {"END": "451 not now"}
    message = put(book)
    assert isinstance(send_next(sending(account)).outcome, NotSent)
    before = outbox.bytes_of(book, message)
    server.fails = {}
    clock.go(days=1)
    send_next(sending(account))
    assert server.received[0].data == before


def test_a_lost_network_that_comes_back(start, book, sending, clock, authority):
    """The message waits, with growing gaps, and leaves once."""
    server, account = start()
    gone = replace(account, port=1)
    put(book)
    for minutes in (1, 2, 5):
        tried = send_next(sending(gone))
        assert tried.message.state == "waiting"
        assert send_next(sending(gone)) is None
        clock.go(minutes=minutes)
    assert isinstance(send_next(sending(account)).outcome, Sent)
    clock.go(days=9)
    assert send_next(sending(account)) is None
    assert len(server.received) == 1


def test_a_server_that_comes_back_at_the_same_place(book, sending, clock, authority, start):
    """A restart of the server in between."""
    _, account = start()
    with running(authority.contexts["right"]) as server:
        account = replace(account, port=server.port)
    put(book)
    assert send_next(sending(account)).message.state == "waiting"
    clock.go(minutes=1)
    with running(authority.contexts["right"], port=account.port) as server:
        assert isinstance(send_next(sending(account)).outcome, Sent)
        assert len(server.received) == 1


def test_two_programs_on_one_book_send_each_message_once(start, book, sending):
    """Both at once."""
    server, account = start()
    wanted = {put(book, replace(LETTER, subject=f"Report {n}")).message_id for n in range(6)}
    others = [open_book(book.url, create=False) for _ in range(2)]

    def send_all(other):
        program = Sending(other, sending(account).call, lambda: NOW)
        count = 0
        while send_next(program) is not None:
            count += 1
        return count

    with ThreadPoolExecutor(2) as pool:
        assert sum(pool.map(send_all, others)) == 6
    for other in others:
        other.close()
    assert sorted(message_from_bytes(mail.data)["Message-ID"] for mail in server.received) == sorted(wanted)
    assert len(reports(book)) == 6


def test_a_lost_answer_is_in_doubt_and_a_person_decides(start, book, sending, clock):
    """Not tried again by itself; sent again it has the same name, and nothing entered the record before."""
    server, account = start()
    server.fails = {"END": DROP}
    message = put(book)
    assert send_next(sending(account)).message.state == "in doubt"
    clock.go(days=1)
    assert send_next(sending(account)) is None
    assert reports(book) == []
    server.fails = {}
    outgoing.send_now(book, message.key, clock())
    assert send_next(sending(account)).message.state == "sent"
    assert [message_from_bytes(mail.data)["Message-ID"] for mail in server.received] == [message.message_id] * 2
    assert len(reports(book)) == 1


def test_a_refused_message_names_who_was_refused_and_goes_out_corrected(start, book, sending, clock):
    """As a new message, to the corrected address."""
    server, account = start()
    server.refuses = {"second@example.org": "550 nobody of this name"}
    message = put(book)
    tried = send_next(sending(account))
    assert isinstance(tried.outcome, Refused)
    assert "second@example.org" in tried.message.answer
    new = outbox.write_again(book, message.key, replace(LETTER, copies=()), clock())
    assert new.message_id != message.message_id
    assert send_next(sending(account)).message.state == "sent"
    assert server.received[0].recipients == ["o.brask@example.org"]
    with pytest.raises(ValueError, match="no email address"):
        outbox.write_again(book, message.key, replace(LETTER, recipients=("nobody",)), clock())


def test_a_wrong_password_costs_the_message_no_try(start, book, sending, clock):
    """It waits as before, and says what is wrong."""
    _, account = start()
    put(book)
    tried = send_next(sending(account, "guessed"))
    assert tried.outcome.is_login
    assert (tried.message.state, tried.message.tries, tried.message.next_at) == ("waiting", 0, None)
    assert "password" in tried.message.answer


def test_a_file_that_was_lost_is_said(start, book, sending):
    """The rest does not go without it."""
    server, account = start()
    message = put(book)
    sha256 = message.attached[0].sha256
    (book.files.folder / sha256[:2] / sha256).unlink()
    tried = send_next(sending(account))
    assert tried.message.state == "refused"
    assert "backup" in tried.message.answer
    assert server.received == []


def test_what_a_book_could_not_take_is_noted_later(start, book, sending, monkeypatch):
    """The message left and the disk was full: it is not sent again."""
    server, account = start()
    put(book)
    program = sending(account)
    has_left = outgoing.note_left

    def full(*_):
        raise StorageUnavailableError("book.db", "the disk is full.", "Free some space.")

    monkeypatch.setattr(outgoing, "note_left", full)
    with pytest.raises(StorageUnavailableError):
        send_next(program)
    monkeypatch.setattr(outgoing, "note_left", has_left)
    assert send_next(program).message.state == "sent"
    assert send_next(program) is None
    assert len(server.received) == 1
    assert len(reports(book)) == 1


def test_a_book_that_cannot_take_the_mark_stops_the_message_before_its_end(start, book, sending, monkeypatch, clock):
    """Without the mark a crash would send it twice."""
    server, account = start()
    put(book)
    mark = outgoing.mark_handed_over

    def full(*_):
        raise StorageUnavailableError("book.db", "the disk is full.", "Free some space.")

    monkeypatch.setattr(outgoing, "mark_handed_over", full)
    tried = send_next(sending(account))
    assert tried.message.state == "waiting"
    assert "disk is full" in tried.message.answer
    assert server.received == []
    monkeypatch.setattr(outgoing, "mark_handed_over", mark)
    clock.go(minutes=1)
    assert send_next(sending(account)).message.state == "sent"
    assert len(server.received) == 1


@pytest.mark.parametrize("is_late", [False, True])
def test_fault_of_the_program_keeps_no_message_where_it_is(start, book, sending, monkeypatch, caplog, is_late):
    """Before its end was handed over it waits for another try, afterwards a person is asked; the log says why."""
    _, account = start()
    put(book)

    class Faulty:
        def send(self, _sender, _to, _data, is_mine):
            if is_late:
                assert is_mine()
            raise ZeroDivisionError("secret words")

    program = sending(account)
    program.call = Faulty
    tried = send_next(program)
    assert tried.message.state == ("in doubt" if is_late else "waiting")
    assert "ZeroDivisionError" in tried.message.answer
    assert "secret words" not in tried.message.answer
    assert "secret words" in caplog.text
    assert send_next(program) is None


def test_the_book_is_left_alone_while_a_file_dialog_is_open(start, book, sending):
    """Nothing is taken up until the dialog is closed; then it is sent."""
    server, account = start()
    put(book)
    program = sending(account)
    with book.resting():
        thread = threading.Thread(target=send_next, args=(program,))
        thread.start()
        thread.join(0.2)
        assert thread.is_alive()
        assert server.received == []
    thread.join(5)
    assert outgoing.messages(book)[0].state == "sent"
    assert len(server.received) == 1


# --- killed in the middle -------------------------------------------------------------------------------------------

_SENDER = """
import sys
from datetime import UTC, datetime
from msgspec.json import decode
from workshop_log.book.opening import open_book
from workshop_log.delivery.outbox import Sending, send_next
from workshop_log.delivery.smtp import Call
from workshop_log.exchange.stationery import MailAccount

account = decode(sys.argv[2], type=MailAccount)
book = open_book(sys.argv[1], create=False)
send_next(Sending(book, lambda: Call(account, sys.argv[3]), lambda: datetime(2031, 4, 2, 8, 35, tzinfo=UTC)))
"""


def send_and_kill(server, account, book):
    from msgspec.json import encode

    with subprocess.Popen([sys.executable, "-c", _SENDER, str(book.path), encode(account).decode(), PASSWORD],
                          cwd=PROJECT) as child:
        assert server.is_holding.wait(15)
        child.kill()


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal there")
@pytest.mark.parametrize("stage", ["GREETING", "AUTH", "RCPT", "DATA"])
def test_killed_before_the_end_it_is_sent_once_after_the_restart(start, book, sending, stage):
    """Nothing was handed over whole, and the book knows."""
    server, account = start()
    server.fails = {stage: SILENT}
    put(book)
    send_and_kill(server, account, book)
    assert outgoing.messages(book)[0].state == "sending"
    (freed,) = outgoing.free_left_behind(book, "restarted", NOW, is_alone=True)
    assert freed.state == "waiting"
    server.fails = {}
    assert send_next(sending(account)).message.state == "sent"
    assert len(server.received) == 1


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal there")
def test_killed_while_the_answer_is_awaited_it_is_in_doubt(start, book, sending):
    """The server has it, nobody here knows: it is never sent again by itself."""
    server, account = start()
    server.fails = {"END": SILENT}
    put(book)
    send_and_kill(server, account, book)
    assert len(server.received) == 1
    (freed,) = outgoing.free_left_behind(book, "restarted", NOW, is_alone=True)
    assert freed.state == "in doubt"
    server.fails = {}
    assert send_next(sending(account)) is None
    assert outgoing.note_arrived(book, freed.key, NOW).state == "sent"
    assert len(reports(book)) == 1
    assert len(server.received) == 1


def test_a_text_that_no_book_can_keep_is_made_one(book):
    """Half a sign, or what ends a text elsewhere."""
    message = put(book, replace(LETTER, body="a\x00b\udc80c\r\nd"))
    assert message.letter.body == "a b?c\nd"
    assert outgoing.messages(book) == (message,)


def test_the_bytes_are_those_of_the_letter(book):
    """As a person may read them beforehand."""
    message = put(book)
    assert outbox.bytes_of(book, message) == message_bytes(LETTER, (REPORT.file,), message.message_id, NOW)
