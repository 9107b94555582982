"""The password of the mail account: in the system's keyring, or in memory until the program ends; in no file of ours.

A keyring may be missing, locked, or fail in ways of its own; none of that stops anybody from sending.
"""

from __future__ import annotations

import logging
import threading
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from workshop_log.exchange.stationery import MailAccount

log = logging.getLogger("workshop_log.passwords")
# What keyring itself calls recommended; backends below write into plain files.
_SAFE = 1


class Passwords:
    """The passwords of one run of the program. Its functions may wait for a person who unlocks the keyring."""

    def __init__(self) -> None:
        self._session: dict[tuple[str, str], str] = {}
        self._lock = threading.Lock()

    def get(self, account: MailAccount) -> str | None:
        """Return the password of an account; nothing where nobody has given one."""
        with self._lock:
            known = self._session.get(_names(account))
        if known is not None:
            return known
        try:
            backend = _backend()
            return None if backend is None else backend.get_password(*_names(account))
        # Backends talk to services of the desktop and pass on whatever those raise.
        except Exception as error:
            log.info("the keyring gave no password: %s", type(error).__name__)
            return None

    def keep(self, account: MailAccount, password: str) -> bool:
        """Keep a password; return whether the keyring has it, or only this run of the program."""
        with self._lock:
            self._session[_names(account)] = password
        try:
            backend = _backend()
            if backend is None:
                return False
            backend.set_password(*_names(account), password)
        except Exception as error:
            log.info("the keyring took no password: %s", type(error).__name__)
            return False
        return True

    def keep_for_now(self, account: MailAccount, password: str) -> None:
        """Keep a password until the program ends."""
        with self._lock:
            self._session[_names(account)] = password

    def forget(self, account: MailAccount) -> None:
        """Forget a password everywhere."""
        with self._lock:
            self._session.pop(_names(account), None)
        try:
            backend = _backend()
            if backend is not None and backend.get_password(*_names(account)) is not None:
                backend.delete_password(*_names(account))
        except Exception as error:
            log.info("the keyring did not forget a password: %s", type(error).__name__)


def _names(account: MailAccount) -> tuple[str, str]:
    """Return under which names the keyring has it: service and user."""
    return f"Workshop Log mail {account.server.casefold()}:{account.port}", account.user


def _backend() -> Any:
    """Return the keyring, or None where there is none that keeps a password safe."""
    import keyring

    found = keyring.get_keyring()
    # Several at once come as a chain, which would fall through to a plain file.
    return next((one for one in getattr(found, "backends", (found,)) if one.priority >= _SAFE), None)
