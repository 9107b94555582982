"""How a long computation ends when nobody waits for its answer any more."""

from __future__ import annotations


class Outdated(Exception):  # noqa: N818 - nothing went wrong
    """What was being computed is not wanted any more."""
