"""A probability as people read it: whole percents, because none of them deserves more digits, and no certainty."""

from __future__ import annotations

from workshop_log.measuring.showing import NO_BREAK_SPACE

_LEAST, _MOST = 0.01, 0.99


def percent_words(probability: float) -> str:
    """Return a probability in words: "42 %", "under 1 %", "over 99 %"."""
    if probability < _LEAST:
        return f"under 1{NO_BREAK_SPACE}%"
    if probability > _MOST:
        return f"over 99{NO_BREAK_SPACE}%"
    return _whole(probability)


def percent_sign(probability: float) -> str:
    """Return a probability where there is room for five characters: "42 %", "<1 %", ">99 %"."""
    if probability < _LEAST:
        return f"<1{NO_BREAK_SPACE}%"
    if probability > _MOST:
        return f">99{NO_BREAK_SPACE}%"
    return _whole(probability)


def _whole(probability: float) -> str:
    # A half is rounded up, as people do.
    return f"{int(probability * 100 + 0.5)}{NO_BREAK_SPACE}%"
