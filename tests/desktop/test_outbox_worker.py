"""The post beside the window, with a real mail server: what is due leaves, and what became of it is said."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from datetime import timedelta

import pytest
from delivery.mail_server import PASSWORD, SILENT, MailServer
from desktop.looking import settle, work_done
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from workshop_log.book.opening import open_book
from workshop_log.book.settings import save_setting
from workshop_log.delivery import outbox
from workshop_log.delivery.messages import Attachment
from workshop_log.desktop.desk import Desk, now
from workshop_log.desktop.main_window import MainWindow
from workshop_log.desktop.outbox_worker import Post
from workshop_log.desktop.password_dialog import PasswordDialog
from workshop_log.exchange.letter import Letter
from workshop_log.exchange.stationery import MailAccount
from workshop_log.jobs import outgoing

NUMBER = "2031-0003"
LETTER = Letter(sender="desk@example.org", recipients=("prue@example.org",), subject="Report 2031-0003", body="x")
REPORT = outbox.Enclosure(Attachment("Report.pdf", "application/pdf", b"%PDF-1.7 bytes"), "customer")
Start = Callable[..., tuple[MailServer, MailAccount]]


def set_up(desk: Desk, account: MailAccount, password: str | None = PASSWORD) -> None:
    with desk.book.session() as session:
        save_setting(session, "mail", account)
    desk.forget_settings()
    if password is not None:
        desk.post.passwords.keep_for_now(account, password)


def put(desk: Desk, **changes: object) -> outgoing.Message:
    return outbox.put(desk.book, NUMBER, replace(LETTER, **changes), (REPORT,), now() - timedelta(seconds=5))


def wait(desk: Desk) -> None:
    """Wait until the post has ended its round, and all is said."""
    until = time.monotonic() + 10
    while desk.post.is_at_work:
        assert time.monotonic() < until, "the post does not come to its end"
        settle()
        time.sleep(0.005)
    settle()


@pytest.fixture
def said(desk: Desk) -> list[str]:
    """Return what is told in passing."""
    words: list[str] = []
    desk.told.connect(words.append)
    return words


def states(desk: Desk) -> list[str]:
    return [message.state for message in outgoing.messages(desk.book)]


def test_what_is_due_leaves_and_enters_the_record(samples: None, desk: Desk, start: Start, said: list[str],
                                                  problems: list[str]):
    """The open job shows it; nobody has to do anything."""
    server, account = start()
    set_up(desk, account)
    desk.open(NUMBER)
    before = len(desk.job.reports)
    put(desk)
    desk.post.begin()
    wait(desk)
    assert len(server.received) == 1
    assert said == ["Sent: “Report 2031-0003” to prue@example.org."]
    assert problems == []
    assert len(desk.job.reports) == before + 1


def test_without_a_server_set_up_nothing_is_tried(samples: None, desk: Desk, problems: list[str]):
    """Messages wait, and nobody is bothered."""
    put(desk)
    desk.post.begin()
    wait(desk)
    assert states(desk) == ["waiting"]
    assert problems == []


def test_a_refused_message_is_said_until_it_is_understood(samples: None, desk: Desk, start: Start,
                                                          problems: list[str]):
    """With whom the server refused."""
    server, account = start()
    server.refuses = {"prue@example.org": "550 nobody of this name"}
    set_up(desk, account)
    put(desk)
    desk.post.wake()
    wait(desk)
    assert states(desk) == ["refused"]
    assert "was refused" in problems[0]
    assert "prue@example.org (550 nobody of this name)" in problems[0]


def test_a_lost_network_is_told_in_passing_and_tried_again(samples: None, desk: Desk, start: Start, said: list[str],
                                                           problems: list[str]):
    """No problem yet: it goes by itself when the network is back."""
    server, account = start()
    set_up(desk, replace(account, port=1))
    message = put(desk)
    desk.post.begin()
    wait(desk)
    assert "Not sent yet" in said[0]
    assert problems == []
    set_up(desk, account)
    with desk.book.session() as session:
        from workshop_log.book.outbox import change

        change(session, message.key, ("waiting",), next_at=now())
    desk.post.on_timer()
    wait(desk)
    assert states(desk) == ["sent"]
    assert len(server.received) == 1


def test_a_password_is_asked_for_once_and_kept_for_the_session(samples: None, window: MainWindow, start: Start):
    """Cancelled, it is not asked for again by itself; given, the message leaves."""
    desk = window.desk
    server, account = start()
    set_up(desk, account, password=None)
    put(desk)
    window.begin_post()
    wait(desk)
    dialog = asked()
    assert account.user in dialog.findChildren(type(window.bar))[0].text()
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    settle()
    desk.post.on_timer()
    wait(desk)
    assert not window.findChildren(PasswordDialog)
    desk.post.wake()
    wait(desk)
    dialog = asked()
    dialog.password.insert(PASSWORD)
    QTest.keyClick(dialog.password, Qt.Key.Key_Return)
    work_done()
    wait(desk)
    assert states(desk) == ["sent"]
    assert len(server.received) == 1
    assert "no keyring" in window.statusBar().currentMessage() or "Sent" in window.statusBar().currentMessage()
    window.desk.post.close()


def asked() -> PasswordDialog:
    (found,) = [w for w in QApplication.topLevelWidgets() if isinstance(w, PasswordDialog) and w.isVisible()]
    return found


def test_a_wrong_password_is_said_and_asked_for_again(samples: None, window: MainWindow, start: Start):
    """And not tried over and over: the account would be locked."""
    desk = window.desk
    server, account = start()
    set_up(desk, account, password="guessed")
    put(desk)
    put(desk)
    window.begin_post()
    wait(desk)
    assert server.heard.count("AUTH") == 1
    assert "does not take this user or password" in window.bar.text()
    desk.post.on_timer()
    wait(desk)
    assert server.heard.count("AUTH") == 1
    dialog = asked()
    dialog.password.insert(PASSWORD)
    QTest.keyClick(dialog.password, Qt.Key.Key_Return)
    work_done()
    wait(desk)
    assert states(desk) == ["sent", "sent"]


def test_the_book_is_left_alone_while_a_file_dialog_is_open(samples: None, desk: Desk, start: Start):
    """A round that is under way waits; none begins."""
    server, account = start()
    set_up(desk, account)
    put(desk)
    server.fails = {"RCPT": SILENT}
    desk.post.wake()
    assert server.is_holding.wait(5)
    with desk.resting():
        desk.post._call.hang_up()
        desk.post._thread.join(0.3)
        assert desk.post._thread.is_alive()
        desk.post.on_timer()
        settle()
    wait(desk)
    assert states(desk) == ["waiting"]


# --- closing in the middle ------------------------------------------------------------------------------------------


def states_afterwards(desk: Desk) -> list[str]:
    book = open_book(desk.book_url, create=False)
    try:
        outgoing.free_left_behind(book, "restarted", now(), is_alone=True)
        return [message.state for message in outgoing.messages(book)]
    finally:
        book.close()


@pytest.mark.parametrize("stage", ["GREETING", "AUTH", "RCPT", "DATA"])
def test_closing_before_the_end_lets_the_message_wait(samples: None, open_window: Callable[[], MainWindow],
                                                      start: Start, stage: str):
    """The window closes at once and nothing was sent."""
    window = open_window()
    desk = window.desk
    server, account = start()
    server.fails = {stage: SILENT}
    set_up(desk, account)
    put(desk)
    window.begin_post()
    assert server.is_holding.wait(5)
    thread = desk.post._thread
    begun = time.monotonic()
    window.close()
    assert time.monotonic() - begun < 1.5
    assert not thread.is_alive()
    assert states_afterwards(desk) == ["waiting"]
    assert server.received == []


def test_closing_while_the_answer_is_awaited_leaves_the_message_in_doubt(
        samples: None, open_window: Callable[[], MainWindow], start: Start, monkeypatch: pytest.MonkeyPatch):
    """The window does not wait long for it; the next start says so."""
    from workshop_log.desktop import outbox_worker

    monkeypatch.setattr(outbox_worker, "CLOSING_S", 0.2)
    window = open_window()
    desk = window.desk
    server, account = start()
    server.fails = {"END": SILENT}
    set_up(desk, account)
    put(desk)
    window.begin_post()
    assert server.is_holding.wait(5)
    thread = desk.post._thread
    window.close()
    assert states_afterwards(desk) == ["in doubt"]
    assert len(server.received) == 1
    # The thread is one that the program's end would not wait for.
    assert thread.daemon
    import socket

    socket.socket.shutdown(desk.post._call._socket, socket.SHUT_RDWR)
    thread.join(5)
    assert states_afterwards(desk) == ["in doubt"]


def test_a_message_left_in_doubt_is_said_at_the_next_start(samples: None, desk: Desk, problems: list[str]):
    """And where to decide."""
    message = put(desk)
    outgoing.claim(desk.book, "ended", now())
    outgoing.mark_handed_over(desk.book, message.key, "ended")
    desk.post.begin()
    wait(desk)
    assert states(desk) == ["in doubt"]
    assert "Report 2031-0003" in problems[0]
    assert "Outbox" in problems[0]


def test_nothing_of_the_post_is_made_before_it_is_wanted(samples: None, window: MainWindow):
    """The first paint waits for none of it."""
    assert window.desk._post is None
    assert not [t for t in threading.enumerate() if t.name == "post"]
    assert isinstance(window.desk.post, Post)
