"""Whether what the book holds of a job is still what was entered."""

from __future__ import annotations

from sqlalchemy.orm import Session

from workshop_log.book.loading import load_job
from workshop_log.exchange.seal import SealCheck, verify_seal


def verify_job(session: Session, number: str) -> SealCheck:
    """Compute a job's chain of fingerprints again from what the book holds now."""
    return verify_seal(load_job(session, number))
