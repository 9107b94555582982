"""Jobs by words, as you type: every word may be the beginning of one, the newest jobs first."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Select, and_, bindparam, literal_column, or_, select, text
from sqlalchemy.orm import Session

from workshop_log.book.entities import Job, SearchText
from workshop_log.book.listing import JobRow, row_columns, rows_of
from workshop_log.book.search_text import COLUMNS, LONGEST_WORD, fold

# More words than this make nothing clearer and a slow query.
_MOST_TERMS = 12
# One letter in the middle of a word is in every job.
_SHORTEST_PART = 3


def search_jobs(session: Session, words: str, limit: int = 50) -> list[JobRow]:
    """Return the jobs that have all the words, the newest first; none for no words.

    Looked through are number, customer, vehicle, complaints, fault codes, parts, notes and evidence. Where no word
    begins so, plates, VINs, telephone numbers and names are looked through for it in their middle.
    """
    terms = list(dict.fromkeys(word[:LONGEST_WORD] for word in fold(words).split()))[:_MOST_TERMS]
    if not terms:
        return []
    if not _has_index(session):
        return _jobs(session, _containing(terms, COLUMNS), limit)
    found = _jobs(session, _indexed(session, terms), limit)
    if found or max(map(len, terms)) < _SHORTEST_PART:
        return found
    return _jobs(session, _containing(terms, ("head",)), limit)


def _jobs(session: Session, keys: Select[Any], limit: int) -> list[JobRow]:
    keys = keys.order_by(literal_column("job_key").desc()).limit(limit)
    return rows_of(session, select(*row_columns()).where(Job.key.in_(keys)).order_by(Job.key.desc()))


def _indexed(session: Session, terms: list[str]) -> Select[Any]:
    # Folded words are letters and digits only, so nothing in them can be an operator.
    if _is_sqlite(session):
        asked = " ".join(f'"{term}"*' for term in terms)
        return (select(literal_column("rowid").label("job_key")).select_from(text("search_index"))
                .where(text("search_index MATCH :asked").bindparams(asked=asked)))
    asked = " & ".join(f"'{term}':*" for term in terms)
    matches = text("search_index_words @@ to_tsquery('simple', :asked)").bindparams(bindparam("asked", asked))
    return select(SearchText.job_key).where(matches)


def _containing(terms: list[str], columns: tuple[str, ...]) -> Select[Any]:
    searched = [getattr(SearchText, name) for name in columns]
    return select(SearchText.job_key).where(
        and_(*(or_(*(column.contains(term) for column in searched)) for term in terms)))


def _has_index(session: Session) -> bool:
    if not _is_sqlite(session):
        return True
    return session.scalar(text("SELECT 1 FROM sqlite_master WHERE name = 'search_index'")) is not None


def _is_sqlite(session: Session) -> bool:
    return session.get_bind().dialect.name == "sqlite"
