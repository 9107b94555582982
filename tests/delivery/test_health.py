"""What the program says of its mail, without calling anybody."""

from __future__ import annotations

from delivery.test_outbox import put

from workshop_log.book.settings import save_setting
from workshop_log.delivery.health import Check, checks
from workshop_log.exchange.stationery import MailAccount
from workshop_log.jobs import outgoing


def mail(book):
    return list(checks(str(book.path)))[-1]


def test_mail_that_is_not_set_up_is_no_fault(book):
    """It says what to do instead."""
    assert mail(book) == Check("mail", True, "not set up: save the report and send it with your own mail program")


def test_what_waits_is_counted_and_a_doubt_is_a_no(book, clock):
    """With the server's name."""
    with book.session() as session:
        save_setting(session, "mail", MailAccount(server="mail.example.org"))
    put(book)
    assert mail(book) == Check("mail", True, "mail.example.org, port 587, STARTTLS; 1 waiting in the outbox")
    message = outgoing.claim(book, "me", clock())
    outgoing.note_in_doubt(book, message.key, "me", "No answer.")
    answer = mail(book)
    assert not answer.is_well
    assert "0 waiting in the outbox, 1 in doubt" in answer.words
