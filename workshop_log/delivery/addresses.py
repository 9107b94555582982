"""Email addresses as they are typed, checked before a server sees them."""

from __future__ import annotations

import re
import unicodedata

from workshop_log.errors import WorkshopLogError

# RFC 5321, 4.5.3.1: octets of the part before the @ and of the whole path without its brackets.
_LONGEST_LOCAL, _LONGEST = 64, 254
# As many people get one message; more is a mailing list and no report.
MOST_RECIPIENTS = 30
# As much of a name stands before an address.
_LONGEST_NAME = 120
_LOCAL = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*")
_LABEL = re.compile(r"[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?")
_NAMED = re.compile(r"(?P<name>[^<>]*)<(?P<address>[^<>]*)>")
# Commas and semicolons part addresses, but not inside a quoted name.
_ONE = re.compile(r'(?:"[^"]*"|[^,;"]|")+')


class AddressError(WorkshopLogError, ValueError):
    """An address that no mail can go to; `typed` is the address."""

    def __init__(self, typed: str, reason: str) -> None:
        self.typed = typed
        super().__init__(f"“{shown(typed)}” is no email address: {reason}")


def has_controls(text: str) -> bool:
    """Return whether a text has anything that could end a line of a message's head, or that nobody sees."""
    return any(unicodedata.category(character) in ("Cc", "Cs", "Zl", "Zp") for character in text)


def shown(text: str, longest: int = 80) -> str:
    """Return a text on one line, short, as a sentence quotes it."""
    line = " ".join("".join(" " if has_controls(c) else c for c in text).split())
    return line if len(line) <= longest else f"{line[:longest - 1]}…"


def read_addresses(text: str) -> tuple[str, ...]:
    """Return the addresses of a line, each as it was typed; commas or semicolons stand between them.

    Raises
    ------
    AddressError
        If one of them is no address; the sentence names it.
    """
    given = tuple(one.strip() for one in _ONE.findall(text) if one.strip())
    for one in given:
        parts_of(one)
    if len(given) > MOST_RECIPIENTS:
        raise AddressError(given[MOST_RECIPIENTS], f"one message goes to {MOST_RECIPIENTS} people at most. Send the "
                                                   "others a message of their own.")
    return given


def address_of(text: str) -> str:
    """Return the bare address of `Name <address>`, its domain as servers write it.

    Raises
    ------
    AddressError
        If it is no address.
    """
    return parts_of(text)[1]


def parts_of(text: str) -> tuple[str, str]:
    """Return the name, blank without one, and the bare address.

    Raises
    ------
    AddressError
        If it is no address.
    """
    if has_controls(text):
        raise AddressError(text, "it has a line break or another sign that cannot be seen. Type it anew.")
    text = text.strip()
    found = _NAMED.fullmatch(text)
    name, address = (found["name"].strip(), found["address"].strip()) if found else ("", text)
    if len(name) > 1 and name[0] == name[-1] == '"':
        name = name[1:-1].replace('\\"', '"').replace("\\\\", "\\").strip()
    if len(name) > _LONGEST_NAME:
        raise AddressError(text, f"the name before it has more than {_LONGEST_NAME} letters. Shorten it.")
    return name, _checked(text, address)


def _checked(typed: str, address: str) -> str:
    local, at, domain = address.rpartition("@")
    if not at or not local or not domain:
        raise AddressError(typed, "it needs a name, an @ and a place, as in name@example.org.")
    if any(c.isspace() for c in address):
        raise AddressError(typed, "there is a space in it. Between two addresses stands a comma.")
    if not local.isascii():
        raise AddressError(typed, "before the @ only plain letters without accents can be sent to.")
    if not _LOCAL.fullmatch(local) or len(local) > _LONGEST_LOCAL:
        raise AddressError(typed, "what stands before the @ cannot be a name. Check it letter by letter.")
    try:
        domain = domain.encode("idna").decode("ascii")
    except UnicodeError:
        raise AddressError(typed, "what stands behind the @ cannot be a place. Check it letter by letter.") from None
    labels = domain.split(".")
    if len(labels) < 2:
        raise AddressError(typed, "the end is missing behind the @, as .org in name@example.org.")
    if not all(_LABEL.fullmatch(label) for label in labels) or labels[-1].isdigit() or len(address) > _LONGEST:
        raise AddressError(typed, "what stands behind the @ cannot be a place. Check it letter by letter.")
    return f"{local}@{domain}"
