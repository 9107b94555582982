"""How one workshop's papers look: colours, logo, terms; in force while one paper is drawn."""

from __future__ import annotations

from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workshop_log.exchange.stationery import ACCENT, INK, Stationery

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass(frozen=True, slots=True)
class Look:
    """What makes the papers of one workshop its own.

    Attributes
    ----------
    accent, ink : str
        Colours as #rrggbb: headings and rules, and the text.
    logo : bytes
        A picture; empty without one.
    terms : str
        What stands below an estimate and an invoice summary.
    closing : str
        The last line of a report's first page.
    """

    accent: str = ACCENT
    ink: str = INK
    logo: bytes = b""
    terms: str = ""
    closing: str = ""


def look_of(stationery: Stationery, logo: bytes = b"") -> Look:
    """Return the look that a workshop has set; `logo` is the picture that its fingerprint names."""
    return Look(stationery.accent, stationery.ink, logo, stationery.terms, stationery.closing)


# Of a workshop that has set nothing.
PLAIN = Look()
_in_force: ContextVar[Look] = ContextVar("look", default=PLAIN)


def current() -> Look:
    """Return the look of the paper that is being drawn."""
    return _in_force.get()


@contextmanager
def used(look: Look) -> Iterator[None]:
    """Draw with this look meanwhile."""
    token = _in_force.set(look)
    try:
        yield
    finally:
        _in_force.reset(token)
