"""The outbox as a person sees it: to whom, when, what, why not; and what they decide."""

from __future__ import annotations

import time
from datetime import timedelta
from pathlib import Path

import pytest
from desktop.looking import settle
from desktop.test_outbox_worker import LETTER, NUMBER, REPORT, put, set_up, wait
from msgspec.structs import replace
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton, QWidget

from workshop_log.delivery import outbox
from workshop_log.desktop.desk import Desk, now
from workshop_log.desktop.outbox_panel import MOST_SHOWN, OutboxDialog
from workshop_log.exchange.stationery import MailAccount
from workshop_log.jobs import outgoing

NOWHERE = MailAccount(server="127.0.0.1", port=1)


def in_state(desk: Desk, state: str) -> outgoing.Message:
    message = put(desk, subject=f"Report, {state}")
    at = now()
    outgoing.claim(desk.book, "me", at)
    match state:
        case "waiting":
            later = at + timedelta(minutes=9)
            return outgoing.note_not_sent(desk.book, message.key, "me", "There is no network.", later)
        case "in doubt":
            return outgoing.note_in_doubt(desk.book, message.key, "me", "No answer came.")
        case "refused":
            return outgoing.note_refused(desk.book, message.key, "me", "The server knows nobody of this name.")
        case "sent":
            return outgoing.note_left(desk.book, message.key, "250 taken as 4711", at)
    return outgoing.withdraw(desk.book, outgoing.note_refused(desk.book, message.key, "me", "No.").key)


@pytest.fixture
def opened(samples: None, desk: Desk, qtbot: object) -> OutboxDialog:
    made = OutboxDialog.ask(None, desk)
    qtbot.addWidget(made)
    yield made
    wait(desk)


def press(button: QWidget) -> None:
    settle()
    assert button.isVisible()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    settle()


def shown(dialog: OutboxDialog) -> list[list[str]]:
    table = dialog.table
    return [[table.item(row, column).text() for column in range(3)] for row in range(table.rowCount())]


def offered(dialog: OutboxDialog) -> set[str]:
    names = {"now": dialog.now, "arrived": dialog.arrived, "withdraw": dialog.withdraw, "correct": dialog.correct}
    return {name for name, button in names.items() if button.isVisible()}


def test_an_empty_outbox_says_what_it_is_for(opened: OutboxDialog):
    """And offers nothing."""
    assert opened.nothing.isVisible()
    assert not opened.table.isVisible()
    assert offered(opened) == set()


@pytest.mark.parametrize(("state", "acts", "words"), [
    ("waiting", {"now", "withdraw"}, "Not sent yet, 1 try so far. Next: "),
    ("sent", set(), "The server's answer: 250 taken as 4711"),
    ("refused", {"now", "withdraw", "correct"}, "The server knows nobody of this name."),
    ("in doubt", {"now", "arrived", "withdraw"}, "Ask whom it was for"),
    ("withdrawn", {"correct"}, "It was taken back")])
def test_each_message_says_how_it_stands_and_what_can_be_done(opened: OutboxDialog, desk: Desk, state: str,
                                                              acts: set[str], words: str):
    """In plain words, with the receiver, what it was, and its files."""
    in_state(desk, state)
    opened.refresh()
    assert shown(opened) == [[{"in doubt": "In doubt"}.get(state, state.capitalize()), "prue@example.org",
                              f"Report, {state}"]]
    assert words in opened.words.text()
    assert "prue@example.org" in opened.words.text()
    assert offered(opened) == acts
    assert [b.text() for b in opened.findChildren(QPushButton) if b.text().startswith("Open")] == [
        "Open Report.pdf, 1 kB"]


def test_the_newest_stands_first_and_the_chosen_one_stays_chosen(opened: OutboxDialog, desk: Desk):
    """While others come and go."""
    in_state(desk, "sent")
    opened.refresh()
    opened.table.setCurrentCell(0, 0)
    first = opened.chosen.key
    outbox.put(desk.book, NUMBER, replace(LETTER, subject="newer"), (REPORT,), now() + timedelta(seconds=9))
    opened.refresh()
    assert [row[2] for row in shown(opened)] == ["newer", "Report, sent"]
    assert opened.chosen.key == first


def test_a_message_is_sent_now(opened: OutboxDialog, desk: Desk, start: object):
    """Without waiting for the next try; the list shows it by itself."""
    server, account = start()
    set_up(desk, account)
    in_state(desk, "waiting")
    opened.refresh()
    press(opened.now)
    wait(desk)
    assert shown(opened)[0][0] == "Sent"
    assert len(server.received) == 1


def test_without_an_account_send_now_says_where_to_set_one_up(opened: OutboxDialog, desk: Desk):
    """The message waits as before."""
    in_state(desk, "refused")
    opened.refresh()
    press(opened.now)
    assert "Email is not set up" in opened.problem.text()
    assert shown(opened)[0][0] == "Refused"


def test_a_message_is_withdrawn(opened: OutboxDialog, desk: Desk):
    """It stays in the list."""
    in_state(desk, "waiting")
    opened.refresh()
    press(opened.withdraw)
    assert shown(opened)[0][0] == "Withdrawn"


def test_what_happened_meanwhile_is_said(opened: OutboxDialog, desk: Desk):
    """Another bay, or the post, was quicker."""
    message = in_state(desk, "waiting")
    opened.refresh()
    outgoing.send_now(desk.book, message.key, now())
    outgoing.claim(desk.book, "other", now())
    outgoing.note_left(desk.book, message.key, "250 OK", now())
    press(opened.withdraw)
    assert "cannot be withdrawn" in opened.problem.text()
    assert shown(opened)[0][0] == "Sent"


def test_a_message_in_doubt_that_arrived_enters_the_record(opened: OutboxDialog, desk: Desk):
    """The open job shows it."""
    desk.open(NUMBER)
    before = len(desk.job.reports)
    in_state(desk, "in doubt")
    opened.refresh()
    press(opened.arrived)
    assert shown(opened)[0][0] == "Sent"
    assert len(desk.job.reports) == before + 1


def test_a_refused_address_is_corrected(opened: OutboxDialog, desk: Desk):
    """As a new message; a bad one is said and stays to be put right; what is typed is left alone meanwhile."""
    set_up(desk, NOWHERE)
    in_state(desk, "refused")
    opened.refresh()
    opened.to.setText("prue")
    press(opened.correct)
    assert "“prue” is no email address" in opened.problem.text()
    opened.refresh()
    assert opened.to.text() == "prue"
    opened.to.setText("p.tansley@example.org")
    press(opened.correct)
    assert [row[:2] for row in shown(opened)][-1] == ["Refused", "prue@example.org"]
    assert shown(opened)[0][1] == "p.tansley@example.org"


def test_the_very_file_is_opened(opened: OutboxDialog, desk: Desk, monkeypatch: pytest.MonkeyPatch):
    """Byte for byte, under its name; one that was lost is said."""
    seen: list[QUrl] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", lambda url: bool(seen.append(url)) or True)
    message = in_state(desk, "sent")
    opened.refresh()
    (button,) = [b for b in opened.findChildren(QPushButton) if b.text().startswith("Open")]
    press(button)
    path = Path(seen[0].toLocalFile())
    assert path.read_bytes() == REPORT.file.data
    assert path.name.endswith("Report.pdf")
    sha256 = message.attached[0].sha256
    (desk.book.files.folder / sha256[:2] / sha256).unlink()
    press(button)
    assert "backup" in opened.problem.text()


def test_hundreds_of_messages_are_shown_at_once(opened: OutboxDialog, desk: Desk):
    """As many as the list shows, within what nobody feels; the best of three, because the machine may be busy."""
    for _ in range(MOST_SHOWN + 1):
        put(desk)
    took = []
    for _ in range(3):
        begun = time.perf_counter()
        opened.refresh()
        took.append(time.perf_counter() - begun)
    assert min(took) < 0.1
    assert opened.table.rowCount() == MOST_SHOWN
