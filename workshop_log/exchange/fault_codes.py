"""What a fault code says by its structure: the system, who defined it, and the type of failure.

The maker's own text for a code is not here and is not needed: the structure says where to look.

References
----------
.. [1] ISO 15031-6 and SAE J2012: two bits for the system, two for the first digit, three hexadecimal characters.
.. [2] ISO 14229-1 Annex D and SAE J2012-DA: the third byte, the failure type.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from workshop_log.errors import WorkshopLogError

# [1]_
_SYSTEMS = "PCBU"
_SYSTEM_WORDS = {"P": "power train", "C": "chassis", "B": "body", "U": "network"}
# [2]_; categories 0 to 7 read in a public text, 8 and 9 from memory.
_CATEGORIES = {
    0x0: "general", 0x1: "general electrical", 0x2: "general signal", 0x3: "pulse width or frequency",
    0x4: "control unit, internal", 0x5: "control unit, programming", 0x6: "computed by the control unit",
    0x7: "mechanical", 0x8: "bus signal or message", 0x9: "component",
}
# [2]_ category 1, from memory.
_ELECTRICAL = {
    0x11: "short to ground", 0x12: "short to supply", 0x13: "open", 0x14: "short to ground or open",
    0x15: "short to supply or open", 0x16: "voltage too low", 0x17: "voltage too high", 0x18: "current too low",
    0x19: "current too high", 0x1A: "resistance too low", 0x1B: "resistance too high",
    0x1E: "resistance out of range", 0x1F: "comes and goes",
}
_LETTER_CODE = re.compile(r"([PCBU])([0-3])([0-9A-F]{3})(?:-?([0-9A-F]{2}))?")
_HEX_CODE = re.compile(r"(?:0X)?([0-9A-F]{4})([0-9A-F]{2})?")
_STANDARD, _MAKER, _RESERVED = "the standard", "the maker", "reserved by the standard"


class FaultCodeError(WorkshopLogError, ValueError):
    """A text that is no fault code; `text` is what was typed, `reason` one sentence."""

    def __init__(self, text: str, reason: str) -> None:
        self.text = text
        self.reason = reason
        super().__init__(reason)


@dataclass(frozen=True, slots=True)
class CodeReading:
    """What a fault code says.

    Attributes
    ----------
    code : str
        As it is written: P0143, B1000-16.
    system : str
        "power train", "chassis", "body" or "network".
    defined_by : str
        "the standard", "the maker" or "reserved by the standard".
    failure_type : str
        The third byte in words; empty where there is none or where it says nothing.
    """

    code: str
    system: str
    defined_by: str
    failure_type: str

    def words(self) -> str:
        """Return one line for a person: "body, defined by the maker: voltage too low"."""
        by = self.defined_by if self.defined_by == _RESERVED else f"defined by {self.defined_by}"
        return f"{self.system}, {by}{': ' if self.failure_type else ''}{self.failure_type}"


def read_fault_code(text: str) -> CodeReading:
    """Read a code as people write it (`P0143`, `b1000-16`) or as its two or three bytes (`0143`, `90 00 16`).

    Raises
    ------
    FaultCodeError
        If it is neither.
    """
    code = "".join(text.upper().split())
    letters = _LETTER_CODE.fullmatch(code)
    if letters:
        system, digit, rest, failure = letters.groups()
    else:
        hexadecimal = _HEX_CODE.fullmatch(code)
        if not hexadecimal:
            raise FaultCodeError(text, _why(code))
        bits = int(hexadecimal[1], 16)
        system, digit, rest = _SYSTEMS[bits >> 14], str(bits >> 12 & 3), f"{bits & 0xFFF:03X}"
        failure = hexadecimal[2]
    written = f"{system}{digit}{rest}{'-' if failure else ''}{failure or ''}"
    return CodeReading(written, _SYSTEM_WORDS[system], _defined_by(system, int(digit), int(rest[0], 16)),
                       _failure_words(int(failure, 16)) if failure else "")


def _why(code: str) -> str:
    shown = code if len(code) <= 20 else code[:19] + "…"
    if not code:
        return "Type a fault code, such as P0143 or B1000-16."
    if code[0] in _SYSTEMS and len(code) > 1 and code[1] in "456789":
        return f"“{shown}” is no fault code: the first digit is 0 to 3."
    if code[0].isalpha() and code[0] not in _SYSTEMS + "ADEF":
        return f"“{shown}” is no fault code: it begins with P, C, B or U."
    return f"“{shown}” is no fault code: write a letter and four characters, and the failure type if any: B1000-16."


def _defined_by(system: str, digit: int, next_digit: int) -> str:
    """Return who gave the code its meaning. [1]_ (from memory, except the halves of P3)."""
    if system == "P":
        if digit == 3:
            return _MAKER if next_digit < 4 else _STANDARD
        return _MAKER if digit == 1 else _STANDARD
    return (_STANDARD, _MAKER, _MAKER, _RESERVED)[digit]


def _failure_words(failure: int) -> str:
    if failure == 0:
        return ""
    return _ELECTRICAL.get(failure) or _CATEGORIES.get(failure >> 4, "")
