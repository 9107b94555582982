"""What a vehicle identification number says by its structure, and what is wrong with it.

Only the structure: which maker stands behind the first three characters is nobody's business here.

References
----------
.. [1] ISO 3779, Road vehicles: vehicle identification number (VIN): content and structure.
.. [2] 49 CFR 565.13 and 565.15, Vehicle identification number requirements, Tables III, IV and VII.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

LENGTH = 17
# [1]_ and 49 CFR 565.13 [2]_: taken for 1 and 0.
_NEVER_USED = {"I": "a one", "O": "a zero", "Q": "a zero"}
# 49 CFR 565.15 Table III [2]_; digits stand for themselves.
_VALUES = {str(digit): digit for digit in range(10)} | dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", (1, 2, 3, 4, 5, 6, 7, 8, 1, 2, 3, 4, 5, 7, 9, 2, 3, 4, 5, 6, 7, 8, 9), strict=True))
# 49 CFR 565.15 Table IV [2]_, positions 1 to 17.
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_CHECK_POSITION = 9
_YEAR_POSITION = 10
# A letter here means 2010 or later, for a car or light truck of North America: 49 CFR 565.15(b) [2]_.
_CYCLE_POSITION = 7
# 49 CFR 565.15 Table VII [2]_ (from memory): one code a year in cycles of thirty years.
_YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"
_FIRST_YEAR = 1980
_CYCLE_YEARS = 30
# The first character of numbers given out in North America: 1, 4, 5 the United States, 2 Canada, 3 Mexico.
_NORTH_AMERICA = frozenset("12345")


@dataclass(frozen=True, slots=True)
class VinCheck:
    """What was found in a VIN.

    Attributes
    ----------
    vin : str
        Capital letters, without the spaces and dashes that were typed.
    findings : tuple[str, ...]
        What is wrong, one sentence each; empty where nothing is.
    model_years : tuple[int, ...]
        The years that position 10 can mean; outside North America it need not be a year at all.
    check_digit : {"right", "wrong", "not used"}
        Whether position 9 confirms the rest. "wrong" only where the rule binds.
    """

    vin: str
    findings: tuple[str, ...]
    model_years: tuple[int, ...]
    check_digit: Literal["right", "wrong", "not used"]

    @property
    def is_well_formed(self) -> bool:
        """Whether nothing is wrong with it."""
        return not self.findings


def check_vin(text: str) -> VinCheck:
    """Return what a VIN says and what is wrong with it.

    The check digit is binding in North America only; elsewhere position 9 may hold anything, and is called "right"
    where it happens to agree. It cannot find every slip: A and J have the same value [2]_.
    """
    vin = "".join(character for character in text.upper() if character not in " -\t\u00a0\u2010\u2011\u2013")
    findings = _length_findings(vin) + _letter_findings(vin)
    if findings:
        return VinCheck(vin, findings, (), "not used")
    agrees = vin[_CHECK_POSITION - 1] == check_character(vin)
    binding = vin[0] in _NORTH_AMERICA
    check_digit: Literal["right", "wrong", "not used"] = "right" if agrees else "wrong" if binding else "not used"
    if check_digit == "wrong":
        findings = (f"Wrong check digit: position {_CHECK_POSITION} is {vin[_CHECK_POSITION - 1]} but the rest asks "
                    f"for {check_character(vin)}; one character was mistyped.",)
    return VinCheck(vin, findings, _model_years(vin), check_digit)


def check_character(vin: str) -> str:
    """Return what position 9 of a well-formed VIN is where it is a check digit: weighted sum modulo 11, X for 10 [2]_.

    Raises
    ------
    ValueError
        If the VIN has not 17 characters that a VIN can have.
    """
    if len(vin) != LENGTH or any(character not in _VALUES for character in vin):
        raise ValueError("A check digit belongs to 17 characters that a VIN can have.")
    remainder = sum(_VALUES[character] * weight for character, weight in zip(vin, _WEIGHTS, strict=True)) % 11
    return "X" if remainder == 10 else str(remainder)


def _length_findings(vin: str) -> tuple[str, ...]:
    if len(vin) == LENGTH:
        return ()
    difference = len(vin) - LENGTH
    what = f"{difference} too many" if difference > 0 else f"{-difference} missing"
    return (f"A VIN has {LENGTH} characters; this has {len(vin)}: {what}.",)


def _letter_findings(vin: str) -> tuple[str, ...]:
    findings = []
    for position, character in enumerate(vin[:2 * LENGTH], start=1):
        if character in _NEVER_USED:
            findings.append(f"A VIN never has the letters I, O or Q; position {position} is {character}: "
                            f"is it {_NEVER_USED[character]}?")
        elif character not in _VALUES:
            findings.append(f"A VIN has only letters and digits; position {position} is “{character}”.")
    return tuple(findings)


def _model_years(vin: str) -> tuple[int, ...]:
    code = vin[_YEAR_POSITION - 1]
    if code not in _YEAR_CODES:
        return ()
    first = _FIRST_YEAR + _YEAR_CODES.index(code)
    years = (first, first + _CYCLE_YEARS)
    if vin[0] in _NORTH_AMERICA and vin[_CYCLE_POSITION - 1].isalpha():
        # The letter is conclusive; a digit is not, for heavy vehicles may have one in either cycle.
        return years[1:]
    return years
