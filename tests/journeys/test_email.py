"""A report goes to its customer by email: set up, written, sent, lost on the way, killed in the middle, looked up."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from datetime import timedelta
from email import message_from_bytes
from email.policy import SMTP
from pathlib import Path
from typing import Any

import pytest
from delivery.mail_server import PASSWORD, SILENT, MailServer, running
from desktop.looking import SAMPLES, settle
from journeys.driver import CTRL, PLATFORM_NOISE, Person
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QPushButton

from workshop_log.book.opening import open_book
from workshop_log.book.settings import save_setting
from workshop_log.delivery import outbox
from workshop_log.delivery.messages import Attachment
from workshop_log.desktop.desk import now
from workshop_log.desktop.email_dialog import EmailDialog
from workshop_log.desktop.outbox_panel import OutboxDialog
from workshop_log.desktop.settings_dialog import SettingsDialog
from workshop_log.exchange.letter import Letter
from workshop_log.exchange.stationery import MailAccount
from workshop_log.jobs import outgoing

pytestmark = PLATFORM_NOISE

NUMBER = "2031-0003"
TESTS = Path(__file__).resolve().parents[1]
StartMail = Callable[..., tuple[MailServer, MailAccount]]


@pytest.fixture
def with_job(book_path: Path) -> Path:
    """Put a job into the book before anybody opens it."""
    from workshop_log.jobs.transfer import import_file

    book = open_book(str(book_path))
    import_file(book, SAMPLES / "ground-strap.job.json")
    book.close()
    return book_path


def window_of(kind: type[QDialog]) -> Any:
    (found,) = [w for w in QApplication.topLevelWidgets() if isinstance(w, kind) and w.isVisible()]
    return found


def write(person: Person) -> EmailDialog:
    """Turn to the report and press "Email…"."""
    person.turn_to(4)
    person.wait_for_the_report()
    person.press("Email…")
    dialog = window_of(EmailDialog)
    person.wait(dialog.isActiveWindow)
    return dialog


def look_into_the_outbox(person: Person) -> OutboxDialog:
    person.window.activateWindow()
    settle()
    person.window.actions_by_id["job.outbox"].trigger()
    dialog = window_of(OutboxDialog)
    person.wait(dialog.isActiveWindow)
    return dialog


def rows(dialog: OutboxDialog) -> list[tuple[str, str, str]]:
    return [tuple(dialog.table.item(row, column).text() for column in range(3))
            for row in range(dialog.table.rowCount())]


def shut(person: Person, dialog: QDialog) -> None:
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    settle()
    person.look_at_the_window()


def idle(person: Person) -> None:
    """Wait until the post has nothing more to do now."""
    person.rest()
    person.wait(lambda: not person.window.desk.post.is_at_work)


def end(person: Person) -> None:
    person.rest()
    person.window.close()
    settle()


def set_up(path: Path, account: MailAccount) -> None:
    book = open_book(str(path))
    with book.session() as session:
        save_setting(session, "mail", account)
    book.close()


def reports_of(path: Path) -> list[str]:
    from workshop_log.book.jobs import load_job

    book = open_book(str(path))
    try:
        with book.read() as session:
            return [one.sha256 for one in load_job(session, NUMBER).reports]
    finally:
        book.close()


def test_from_setting_email_up_to_the_report_that_was_sent(with_job: Path, begin: Callable[[], Person],
                                                           start_mail: StartMail) -> None:
    """Typed, tried, written, sent; after a restart the outbox still knows what, to whom and the very PDF."""
    server, account = start_mail()
    before = len(reports_of(with_job))
    person = begin()
    person.choose_job(NUMBER)

    def fill_in(dialog: SettingsDialog) -> None:
        tab = dialog.tabs.tabBar()
        QTest.mouseClick(tab, Qt.MouseButton.LeftButton, pos=tab.tabRect(tab.count() - 1).center())
        for name, text in (("Mail server", "localhost"), ("Port", str(account.port)), ("User", account.user),
                           ("Sent from", "desk@example.org"), ("File of your own authority", account.authority),
                           ("Password", PASSWORD)):
            person.fill(person.field(name, dialog), text)
        person.press(person.button("Try it", dialog))
        person.wait(dialog.mail.attempt.isEnabled)
        assert dialog.mail.words.text() == "It works: the server takes mail from here."

    with person.answering(SettingsDialog, fill_in):
        person.shortcut(Qt.Key.Key_Comma, CTRL)
    person.window.begin_post()

    dialog = write(person)
    assert dialog.to.text() == "Prue Tansley <prue@example.org>"
    assert not dialog.account.isVisible()
    person.fill(person.field("Copy to", dialog), "insurer@example.org")
    person.press(person.button("Send", dialog))
    person.wait(lambda: bool(server.received))
    idle(person)
    person.wait(lambda: "Sent" in person.window.statusBar().currentMessage())
    (mail,) = server.received
    assert mail.recipients == ["prue@example.org", "insurer@example.org"]
    arrived = message_from_bytes(mail.data, policy=SMTP)
    (pdf,) = [part.get_content() for part in arrived.iter_attachments()]
    assert pdf.startswith(b"%PDF-")
    assert "The joint between the engine's ground strap" in arrived.get_body().get_content().replace("\r\n", " ")
    assert len(person.window.desk.job.reports) == before + 1
    end(person)

    person = begin()
    person.window.begin_post()
    outbox_dialog = look_into_the_outbox(person)
    assert rows(outbox_dialog) == [
        ("Sent", "Prue Tansley, insurer@example.org", "Report 2031-0003: Tamber Causey 2027, ZZ00 RDW")]
    assert "250 taken as 4711" in outbox_dialog.words.text()
    (kept,) = outbox_dialog.chosen.attached
    assert person.window.desk.book.files.get(kept.sha256) == pdf
    shut(person, outbox_dialog)
    idle(person)
    assert len(server.received) == 1
    assert len(reports_of(with_job)) == before + 1


def test_a_network_that_is_lost_and_comes_back(with_job: Path, begin: Callable[[], Person], authority: Any,
                                               start_mail: StartMail) -> None:
    """The message waits through it and a restart; the person sends it when the network is back."""
    _, account = start_mail()
    with running(authority.contexts["right"]) as gone:
        port = gone.port
    from msgspec.structs import replace

    account = replace(account, port=port)
    set_up(with_job, account)
    person = begin()
    person.window.desk.post.passwords.keep_for_now(account, PASSWORD)
    person.window.begin_post()
    person.choose_job(NUMBER)
    person.press(person.button("Send", write(person)))
    person.wait(lambda: "Not sent yet" in person.window.statusBar().currentMessage())
    idle(person)
    end(person)

    person = begin()
    person.window.desk.post.passwords.keep_for_now(account, PASSWORD)
    person.window.begin_post()
    idle(person)
    dialog = look_into_the_outbox(person)
    assert rows(dialog)[0][0] == "Waiting"
    assert "Nothing answers at localhost" in dialog.words.text()
    with running(authority.contexts["right"], port=port) as server:
        person.press(person.button("Send now", dialog))
        person.wait(lambda: rows(dialog)[0][0] == "Sent")
        assert len(server.received) == 1
        idle(person)
    shut(person, dialog)


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal there")
def test_killed_while_it_sends_the_message_is_in_doubt_and_the_person_decides(
        with_job: Path, begin: Callable[[], Person], start_mail: StartMail) -> None:
    """The server had it already: it is not sent twice, and enters the record once the receiver says that it came."""
    server, account = start_mail()
    server.fails = {"END": SILENT}
    set_up(with_job, account)
    before = reports_of(with_job)
    book = open_book(str(with_job))
    letter = Letter(sender="desk@example.org", recipients=("prue@example.org",), subject="Report 2031-0003", body="x")
    pdf = Attachment("Report.pdf", "application/pdf", b"%PDF-1.7 bytes")
    outbox.put(book, NUMBER, letter, (outbox.Enclosure(pdf, "customer"),), now() - timedelta(minutes=1))
    book.close()
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join((str(TESTS), str(TESTS.parent)))}
    with subprocess.Popen([sys.executable, "-m", "journeys.poster", str(with_job), PASSWORD], cwd=TESTS.parent,
                          stderr=subprocess.PIPE, text=True, env=environment) as child:
        assert server.is_holding.wait(40)
        child.kill()
        assert "Traceback" not in child.stderr.read()
    assert len(server.received) == 1

    person = begin()
    person.window.desk.post.passwords.keep_for_now(account, PASSWORD)
    person.window.begin_post()
    idle(person)
    assert "The program ended while it sent “Report 2031-0003”" in person.window.bar.text()
    dialog = look_into_the_outbox(person)
    assert rows(dialog)[0][0] == "In doubt"
    person.press(person.button("It arrived", dialog))
    assert rows(dialog)[0][0] == "Sent"
    assert "It arrived, as whom it was for says." in dialog.words.text()
    (message,) = outgoing.messages(person.window.desk.book)
    shut(person, dialog)
    idle(person)
    assert len(server.received) == 1
    assert reports_of(with_job) == [*before, message.attached[0].sha256]


def test_a_doubt_is_seen_on_the_buttons_that_are_there(with_job: Path, begin: Callable[[], Person]) -> None:
    """Nobody has to read a manual for it."""
    book = open_book(str(with_job))
    letter = Letter(sender="desk@example.org", recipients=("prue@example.org",), subject="Report", body="x")
    message = outbox.put(book, NUMBER, letter, (), now())
    outgoing.claim(book, "ended", now() + timedelta(seconds=1))
    outgoing.mark_handed_over(book, message.key, "ended")
    book.close()
    person = begin()
    person.window.begin_post()
    idle(person)
    dialog = look_into_the_outbox(person)
    names = [b.text().replace("&", "") for b in dialog.findChildren(QPushButton) if b.isVisible()]
    assert names == ["Send again", "It arrived", "Withdraw", "Close"]
    shut(person, dialog)
