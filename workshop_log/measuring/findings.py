"""What a check found, for the person to put right: never an exception, always one sentence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that a check found.

    Attributes
    ----------
    severity : str
        "note": worth knowing; "warning": the result is weaker than it looks; "error": to be put right.
    where : str
        What it is about: an instrument's id, a step, a field.
    key : str
        Stable name of the kind of finding.
    words : str
        One sentence: what is so, and what to do.
    """

    severity: Literal["note", "warning", "error"]
    where: str
    key: str
    words: str
