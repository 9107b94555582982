"""The password: in a keyring that keeps it safe, else in memory alone, whatever a keyring does."""

from __future__ import annotations

from pathlib import Path

import keyring
import pytest
from keyring.backend import KeyringBackend
from keyring.errors import KeyringError, KeyringLocked, PasswordDeleteError

from workshop_log.delivery.passwords import Passwords
from workshop_log.exchange.stationery import MailAccount

ACCOUNT = MailAccount(server="mail.example.org", user="desk")
SECRET = "quite ünguessable"


class Ring(KeyringBackend):
    """A keyring in memory."""

    priority = 5

    def __init__(self) -> None:
        super().__init__()
        self.kept: dict[tuple[str, str], str] = {}

    def get_password(self, service: str, username: str) -> str | None:
        return self.kept.get((service, username))

    def set_password(self, service: str, username: str, password: str) -> None:
        self.kept[service, username] = password

    def delete_password(self, service: str, username: str) -> None:
        if self.kept.pop((service, username), None) is None:
            raise PasswordDeleteError


class Broken(Ring):
    """A keyring that fails at everything."""

    error: Exception

    def get_password(self, service: str, username: str) -> str | None:
        raise self.error

    def set_password(self, service: str, username: str, password: str) -> None:
        raise self.error

    def delete_password(self, service: str, username: str) -> None:
        raise self.error


class PlainFile(Ring):
    """A keyring that is a file anybody can read."""

    priority = 0.5


class Chain(Ring):
    """Several keyrings at once."""

    priority = 10

    def __init__(self, *backends: KeyringBackend) -> None:
        super().__init__()
        self.backends = backends

    def set_password(self, service: str, username: str, password: str) -> None:
        raise AssertionError("a chain may fall through to a plain file")


@pytest.fixture
def use(monkeypatch):
    """Return a function that makes a keyring the machine's own."""
    def make_own(ring):
        monkeypatch.setattr(keyring, "get_keyring", lambda: ring)
        return ring

    return make_own


def test_a_password_outlives_the_program_in_the_keyring(use):
    """The next run of the program finds it; another server or user has its own."""
    ring = use(Ring())
    assert Passwords().keep(ACCOUNT, SECRET)
    assert Passwords().get(ACCOUNT) == SECRET
    assert Passwords().get(MailAccount(server="mail.example.org", user="other")) is None
    assert Passwords().get(MailAccount(server="other.example.org", user="desk")) is None
    Passwords().forget(ACCOUNT)
    assert ring.kept == {}
    Passwords().forget(ACCOUNT)


def test_without_a_keyring_a_password_ends_with_the_program():
    """The tests' machine has none."""
    passwords = Passwords()
    assert passwords.get(ACCOUNT) is None
    assert not passwords.keep(ACCOUNT, SECRET)
    assert passwords.get(ACCOUNT) == SECRET
    assert Passwords().get(ACCOUNT) is None
    passwords.forget(ACCOUNT)
    assert passwords.get(ACCOUNT) is None


@pytest.mark.parametrize("error", [KeyringLocked("locked"), KeyringError("no service"), RuntimeError("the bus is gone"),
                                   OSError("no such thing"), ValueError("odd")])
def test_a_keyring_that_fails_stops_nobody(use, caplog, error):
    """Locked, without its service, or with an error of its own; the password is in no log."""
    ring = use(Broken())
    ring.error = error
    passwords = Passwords()
    caplog.set_level("DEBUG")
    assert passwords.get(ACCOUNT) is None
    assert not passwords.keep(ACCOUNT, SECRET)
    assert passwords.get(ACCOUNT) == SECRET
    passwords.forget(ACCOUNT)
    assert passwords.get(ACCOUNT) is None
    assert SECRET not in caplog.text


def test_a_keyring_that_is_a_plain_file_is_not_used(use):
    """The password is never in a file."""
    ring = use(PlainFile())
    passwords = Passwords()
    assert not passwords.keep(ACCOUNT, SECRET)
    assert ring.kept == {}
    assert passwords.get(ACCOUNT) == SECRET


def test_of_several_keyrings_the_safe_one_is_used(use):
    """And the plain file beside it is not."""
    plain, safe = PlainFile(), Ring()
    use(Chain(plain, safe))
    assert Passwords().keep(ACCOUNT, SECRET)
    assert list(safe.kept.values()) == [SECRET]
    assert plain.kept == {}


def test_a_password_for_now_is_in_no_keyring(use):
    """It ends with the program."""
    ring = use(Ring())
    passwords = Passwords()
    passwords.keep_for_now(ACCOUNT, SECRET)
    assert passwords.get(ACCOUNT) == SECRET
    assert ring.kept == {}


def test_the_password_is_never_in_the_book(book, start, sending, tmp_path: Path):
    """Nor in any file beside it, after all has been sent."""
    from delivery.mail_server import PASSWORD
    from delivery.test_outbox import put

    from workshop_log.book.settings import save_setting
    from workshop_log.delivery.outbox import send_next

    _, account = start()
    with book.session() as session:
        save_setting(session, "mail", account)
    put(book)
    assert send_next(sending(account)).message.state == "sent"
    book.close()
    for path in tmp_path.rglob("*"):
        if path.is_file():
            assert PASSWORD.encode() not in path.read_bytes(), path
