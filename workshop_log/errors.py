"""The one family of errors whose text is meant for a person."""

from __future__ import annotations


class WorkshopLogError(Exception):
    """Base of every error that is told to the user in one clear sentence.

    The message says what is wrong, where, and what to do. Concrete classes also
    inherit the fitting builtin and keep their parts as attributes.
    """
