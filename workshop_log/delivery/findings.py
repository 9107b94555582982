"""What came out of checking a report, a job file or a job in the book: each check with its own result."""

from __future__ import annotations

import enum
from dataclasses import dataclass

from workshop_log.exchange.seal import short


class Result(enum.Enum):
    """How one check ended."""

    # It is as it was sealed.
    WHOLE = "checked, whole"
    # It is not, and the words say where.
    DIFFERS = "differs"
    # Something that it needs was not at hand; the words say what.
    UNCHECKED = "could not be checked"


@dataclass(frozen=True, slots=True)
class Check:
    """One check.

    Attributes
    ----------
    what : str
        What was looked at, in a word or two.
    result : Result
        How it ended.
    words : str
        A sentence that goes on after the result: "differs: entry 5, test 4, is not what was sealed."
    """

    what: str
    result: Result
    words: str

    @property
    def sentence(self) -> str:
        """The words by themselves."""
        return self.words[:1].upper() + self.words[1:]


@dataclass(frozen=True, slots=True)
class Findings:
    """Everything that was checked about one report, job file or job.

    Attributes
    ----------
    name : str
        The file's name, or the job's number.
    fingerprint : str
        The last fingerprint of its evidence, whole; empty without a seal.
    checks : tuple[Check, ...]
        In the order in which a person asks; the first is about the evidence itself.
    """

    name: str
    fingerprint: str
    checks: tuple[Check, ...]

    @property
    def is_whole(self) -> bool:
        """Whether the evidence was checked and nothing differs."""
        return self.checks[0].result is Result.WHOLE and not self.differing

    @property
    def differing(self) -> tuple[Check, ...]:
        """The checks in which something differs."""
        return tuple(check for check in self.checks if check.result is Result.DIFFERS)

    @property
    def headline(self) -> str:
        """The answer in one sentence."""
        if self.checks[0].result is Result.DIFFERS:
            return f"{self.name} is not as it was sealed."
        if self.differing:
            return f"{self.name} does not agree with what it was held against."
        if self.is_whole and not self.fingerprint:
            return "Nothing is sealed yet."
        if self.is_whole:
            return f"The seal is intact: {short(self.fingerprint)}"
        return self.checks[0].words
