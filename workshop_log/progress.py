"""How long work tells how far it is, and how a person ends it before its end.

A function that takes long takes a `Progress` as its last argument and calls it between two pieces of work. Whoever
waits may end the work there: the call then raises `Cancelled`, which the function lets pass, leaving nothing half done.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable


class Cancelled(Exception):  # noqa: N818 - nothing went wrong
    """The person who waited for it ended the work."""


class Left(Cancelled):
    """Nobody waits any more because the window closes: what others have taken over may go on without it."""


# Called with how much is done and of how much; raises `Cancelled` where nobody waits any more.
Progress = Callable[[int, int], None]


def untold(_done: int, _total: int) -> None:
    """Tell nobody: the progress of work that nobody watches."""


def outliving(progress: Progress) -> Progress:
    """Return the progress of a stage that is soon over and that a closing window does not end."""

    def tell(done: int, total: int) -> None:
        with contextlib.suppress(Left):
            progress(done, total)

    return tell


def part_of(progress: Progress, first: int, last: int, total: int) -> Progress:
    """Return the progress of one stage, which goes from `first` to `last` of `total`."""

    def tell(done: int, of: int) -> None:
        progress(first + (last - first) * done // max(of, 1), total)

    return tell
