"""The program's own health: whether book, fonts, printers and mail are there and work."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass

from workshop_log import resources
from workshop_log.delivery.cups import PrintingError, has_lp, printers
from workshop_log.errors import WorkshopLogError

# What every report prints; a font without one of them would leave a box on paper.
NEEDED_CHARACTERS = "µΩ°±≤≥−→ÄÖÜßéñ£€"


@dataclass(frozen=True, slots=True)
class Check:
    """What one look found."""

    what: str
    is_well: bool
    words: str


def checks(book_url: str | None) -> Iterator[Check]:
    """Yield one look after the other; none of them changes anything."""
    yield _book(book_url)
    yield _fonts()
    yield _printers()
    yield _mail(book_url)


def _book(book_url: str | None) -> Check:
    from workshop_log.book.opening import open_book

    try:
        book = open_book(book_url)
    except WorkshopLogError as error:
        return Check("book", False, str(error))
    try:
        return _opened_book(book)
    except WorkshopLogError as error:
        return Check("book", False, str(error))
    finally:
        book.close()


def _opened_book(book: object) -> Check:
    from sqlalchemy import text

    with book.read() as session:
        jobs = session.execute(text("SELECT count(*) FROM jobs")).scalar_one()
        if not book.is_shared:
            answer = session.execute(text("PRAGMA quick_check")).scalar_one()
            if answer != "ok":
                return Check("book", False, f"{book.url} is damaged ({answer}): restore the last backup")
    return Check("book", True, f"{book.url}, {jobs} job{'' if jobs == 1 else 's'}")


def _fonts() -> Check:
    from reportlab.pdfbase.ttfonts import TTFontFile

    files = sorted(resources.path("fonts").rglob("*.ttf"))
    if not files:
        return Check("fonts", False, f"no fonts in {resources.path('fonts')}: install the program again")
    found = {chr(code) for path in files for code in TTFontFile(str(path)).charToGlyph}
    missing = [character for character in NEEDED_CHARACTERS if character not in found]
    if missing:
        return Check("fonts", False, f"no font has {' '.join(missing)}: install the program again")
    return Check("fonts", True, f"{len(files)} files, with every sign that a report needs")


def _mail(book_url: str | None) -> Check:
    """Say how mail is set up and what waits; nobody is called."""
    from workshop_log.book.opening import open_book
    from workshop_log.book.outbox import IN_DOUBT, WAITING, list_messages
    from workshop_log.book.settings import load_settings

    try:
        with contextlib.closing(open_book(book_url)) as book, book.read() as session:
            account = load_settings(session).mail
            waiting = len(list_messages(session, states=(WAITING,)))
            doubted = len(list_messages(session, states=(IN_DOUBT,)))
    except WorkshopLogError:
        return Check("mail", True, "not looked at: the book cannot be read")
    if not account.server:
        return Check("mail", True, "not set up: save the report and send it with your own mail program")
    words = f"{account.server}, port {account.port}, {account.security}; {waiting} waiting in the outbox"
    return Check("mail", not doubted, words + (f", {doubted} in doubt: open the outbox and say whether it arrived"
                                               if doubted else ""))


def _printers() -> Check:
    if not has_lp():
        return Check("printers", True, "asked through the print dialog; save the PDF where there is none")
    try:
        names = printers()
    except PrintingError as error:
        return Check("printers", False, str(error))
    return Check("printers", True, ", ".join(names) if names else "none set up: save the PDF and print it elsewhere")
