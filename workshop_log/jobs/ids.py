"""Short ids that people see and that stay: s1, s2, ... for steps, c1 for complaints, p1 for parts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Iterable


class _HasId(Protocol):
    @property
    def id(self) -> str: ...


def next_id(items: Iterable[_HasId], letter: str) -> str:
    """Return the next id with this letter: one more than the highest number taken, never one that was used below it."""
    numbers = [item.id.removeprefix(letter) for item in items if item.id.startswith(letter)]
    return f"{letter}{max((int(n) for n in numbers if n.isascii() and n.isdigit() and len(n) < 9), default=0) + 1}"
