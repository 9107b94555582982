"""How far long work is, in a terminal: one line that is written over, and gone when the work is done."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from workshop_log.progress import Progress, untold

# Work that is done sooner says nothing. [s]
_SHOWN_AFTER = 0.5
_EVERY = 0.1


@contextmanager
def told(words: str) -> Iterator[Progress]:
    """Give a `Progress` that tells how far it is on the standard error, where that is a terminal; Ctrl+C ends it."""
    if not sys.stderr.isatty():
        yield untold
        return
    begun = last = time.monotonic()
    is_shown = False

    def tell(done: int, total: int) -> None:
        nonlocal is_shown, last
        moment = time.monotonic()
        if moment - begun >= _SHOWN_AFTER and (not is_shown or moment - last >= _EVERY):
            is_shown, last = True, moment
            print(f"\r{words} … {100 * done // max(total, 1):3d} %", end="", file=sys.stderr, flush=True)

    try:
        yield tell
    finally:
        if is_shown:
            # Over the line with blanks, and back to its beginning.
            print(f"\r{' ' * (len(words) + 8)}\r", end="", file=sys.stderr, flush=True)
