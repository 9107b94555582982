"""What was typed somewhere and is no entry yet: it is there again after a crash, and gone once it is entered."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from workshop_log.book.entities import Draft


def save_draft(session: Session, key: str, text: str) -> None:
    """Keep what is being typed at the place that `key` names; an empty text is no draft."""
    if not text:
        clear_draft(session, key)
        return
    session.merge(Draft(name=key, words=text, kept_at=datetime.now(UTC)))


def load_draft(session: Session, key: str) -> str | None:
    """Return what was typed at a place, None for nothing."""
    return session.scalar(select(Draft.words).where(Draft.name == key))


def drafts(session: Session, prefix: str = "") -> dict[str, str]:
    """Return the drafts whose key begins with `prefix`, by their whole key."""
    query = select(Draft.name, Draft.words).order_by(Draft.name)
    if prefix:
        query = query.where(Draft.name.startswith(prefix, autoescape=True))
    # SQLite's LIKE does not tell capitals from small letters.
    return {name: words for name, words in session.execute(query) if name.startswith(prefix)}


def clear_draft(session: Session, key: str) -> None:
    """Forget what was typed at a place."""
    session.execute(delete(Draft).where(Draft.name == key))
