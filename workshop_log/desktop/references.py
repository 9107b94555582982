"""Keeps Python's constants alive under a Qt binding that forgets to count its references to them."""

from __future__ import annotations

import sys

# More than any window can use up: a million a second would last for thirty thousand years.
PLENTY = 1 << 60
CONSTANTS = (None, True, False, NotImplemented, Ellipsis)


def keep_constants() -> None:
    """Give the constants so many references that they are never freed, as later versions of Python do by themselves.

    PySide6 6.12 is built for Python 3.12 and later, where `None`, `True` and `False` are immortal: each of its calls
    that returns one of them takes a reference that it was not given. On Python 3.11 some fifty thousand calls, less
    than an hour of a ticking clock, end in "Fatal Python error: none_dealloc".
    """
    # WORKAROUND for PySide6 6.12.0 (6.11 counts rightly): remove when Python 3.11 is no longer supported.
    if sys.version_info >= (3, 12) or sys.implementation.name != "cpython":
        return
    import ctypes

    for constant in CONSTANTS:
        # The count is the first field of every object.
        count = ctypes.c_ssize_t.from_address(id(constant))
        count.value = max(count.value, PLENTY)
