"""Email among the settings: saved field by field, the password never in the book, tried against a real server."""

from __future__ import annotations

import time
from pathlib import Path

import keyring
import pytest
from delivery.mail_server import PASSWORD
from delivery.test_passwords import Ring
from desktop.looking import settle, work_done
from desktop.test_settings_dialog import kept
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog

from workshop_log.desktop.desk import Desk
from workshop_log.desktop.settings_dialog import SettingsDialog
from workshop_log.desktop.settings_mail import MailPage
from workshop_log.exchange.stationery import MailAccount


@pytest.fixture
def page(desk: Desk, qtbot: object) -> MailPage:
    dialog = SettingsDialog(None, desk)
    qtbot.addWidget(dialog)
    dialog.tabs.setCurrentWidget(dialog.mail)
    dialog.show()
    dialog.activateWindow()
    qtbot.waitUntil(dialog.isActiveWindow)
    dialog.mail.password.setFocus()
    yield dialog.mail
    work_done()
    while desk.post.is_at_work:
        settle()
        time.sleep(0.005)


def fill(page: MailPage, account: MailAccount) -> None:
    for name in account.__struct_fields__:
        page.on_edited(name, str(getattr(account, name)))


def press(button: object) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    work_done()


def test_each_field_is_saved_when_it_is_left(page: MailPage, desk: Desk):
    """And shown the next time."""
    account = MailAccount(server="mail.example.org", port=2525, security="STARTTLS", user="desk",
                          sender="Post <post@example.org>", authority="/some/file.pem")
    fill(page, account)
    assert kept(desk).mail == account
    again = SettingsDialog(None, desk)
    assert {name: field.text() for name, field in again.mail.form.fields.items() if name != "security"} == {
        "server": "mail.example.org", "port": "2525", "user": "desk", "sender": "Post <post@example.org>",
        "authority": "/some/file.pem"}
    again.close()


def test_the_usual_port_goes_with_the_kind_of_security(page: MailPage, desk: Desk):
    """One that somebody chose stays."""
    page.on_edited("security", "TLS")
    assert (kept(desk).mail.port, page.form.fields["port"].text()) == (465, "465")
    page.on_edited("security", "STARTTLS")
    assert kept(desk).mail.port == 587
    page.on_edited("port", "2525")
    page.on_edited("security", "TLS")
    assert kept(desk).mail.port == 2525


@pytest.mark.parametrize(("name", "text"), [
    ("port", ""), ("port", "0"), ("port", "65536"), ("port", "smtp"), ("port", "²"), ("sender", "desk"),
    ("sender", "a@example.org\nBcc: x"), ("server", "https://mail.example.org"), ("server", "mail example"),
    ("server", "mail.example.org:587"), ("user", "x" * 401), ("user", "a\nb")])
def test_what_cannot_be_is_refused_in_one_sentence(page: MailPage, desk: Desk, problems: list[str], name: str,
                                                    text: str):
    """Under its field; the book keeps what it had."""
    before = kept(desk).mail
    page.on_edited(name, text)
    assert kept(desk).mail == before
    note = page.form._notes[name]
    assert note.isVisibleTo(page)
    assert note.text().endswith(".")
    assert problems == []


def test_the_password_goes_to_the_keyring_and_never_into_the_book(page: MailPage, desk: Desk, book_path: Path,
                                                                   monkeypatch: pytest.MonkeyPatch):
    """The field is blank again at once."""
    ring = Ring()
    monkeypatch.setattr(keyring, "get_keyring", lambda: ring)
    page.on_edited("server", "mail.example.org")
    page.on_edited("user", "desk")
    page.password.insert("never in a file")
    QTest.keyClick(page.password, Qt.Key.Key_Tab)
    work_done()
    assert page.password.text() == ""
    assert list(ring.kept.values()) == ["never in a file"]
    assert "keyring of this machine" in page.words.text()
    for path in book_path.parent.rglob("*"):
        if path.is_file():
            assert b"never in a file" not in path.read_bytes()


def test_without_a_keyring_the_person_knows_how_long_it_is_kept(page: MailPage, desk: Desk):
    """Until the program ends."""
    page.password.insert("for now")
    QTest.keyClick(page.password, Qt.Key.Key_Tab)
    work_done()
    assert "until the program ends" in page.words.text()
    assert desk.post.passwords.get(desk.settings.mail) == "for now"


@pytest.mark.parametrize("security", ["STARTTLS", "TLS"])
def test_a_try_logs_in_and_sends_nothing(page: MailPage, start: object, security: str):
    """With a password that was only just typed."""
    server, account = start(security)
    fill(page, account)
    page.password.insert(PASSWORD)
    press(page.attempt)
    assert page.words.text() == "It works: the server takes mail from here."
    assert server.heard[-1] == "AUTH"
    assert server.received == []
    assert page.attempt.isEnabled()


@pytest.mark.parametrize(("change", "password", "words"), [
    ({"server": ""}, "x", "Type the name of the mail server first."), ({}, "", "Type the password of desk first."),
    ({}, "guessed", "does not take this user or password"), ({"port": 1}, "x", "Nothing answers"),
    ({"authority": ""}, "x", "vouches"), ({"security": "TLS"}, "x", "choose STARTTLS"),
    ({"authority": "/no/such.pem"}, "x", "cannot be read")])
def test_a_try_that_fails_says_why_in_plain_words(page: MailPage, start: object, change: dict, password: str,
                                                  words: str):
    """And what to change; the button can be pressed again."""
    _, account = start()
    fill(page, replace(account, **change))
    page.on_edited("port", str(replace(account, **change).port))
    page.password.insert(password)
    press(page.attempt)
    assert words in page.words.text()
    assert page.words.property("part") == "problem"
    assert page.attempt.isEnabled()


def test_the_file_of_an_authority_is_chosen(page: MailPage, desk: Desk, monkeypatch: pytest.MonkeyPatch):
    """While the book rests."""
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: ("/some/own.pem", ""))
    press(page.choose)
    assert kept(desk).mail.authority == page.form.fields["authority"].text() == "/some/own.pem"


def test_a_try_is_not_as_patient_as_the_post(monkeypatch: pytest.MonkeyPatch):
    """A person waits for it, and a program that is closed meanwhile ends only after it."""
    from workshop_log.delivery import smtp
    from workshop_log.delivery.passwords import Passwords
    from workshop_log.desktop.settings_mail import TRY_S, _try

    made: list[smtp.Call] = []

    def noted(call: smtp.Call) -> str:
        made.append(call)
        return ""

    monkeypatch.setattr(smtp.Call, "try_login", noted)
    assert _try(Passwords(), MailAccount(server="mail.example.org", port=587), "", lambda _done, _total: None) == ""
    (call,) = made
    assert call._patience.connect == call._patience.reply == TRY_S
    assert call._patience.reply < smtp.Patience().reply
