"""A colleague's answer against the job, as values: what the window shows of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from workshop_log.exchange.records import Note

# How it stands here where the answer has something that the job has not.
NOTHING_HERE = "nothing of it"


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that stands differently on the two sides.

    Attributes
    ----------
    about : str
        What it is about: "Voltage: C3.2b to B−"; of causes the circuit.
    ours, theirs : str
        How it stands in the job, and in the answer.
    """

    about: str
    ours: str
    theirs: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """What an answer says against the job.

    Attributes
    ----------
    causes : tuple[Difference, ...]
        What is likeliest in each circuit, where it differs.
    parts : tuple[Difference, ...]
        Parts that the colleague considered, condemned or let off.
    readings : tuple[Difference, ...]
        Steps that the colleague corrected, and those that the answer's figures call in doubt.
    tests : tuple[Difference, ...]
        Steps that the colleague added, and the next test on either side where it differs.
    described : tuple[Difference, ...]
        Circuits, suspects, access, complaints and fault codes that differ.
    notes : tuple[Note, ...]
        What the colleague wrote.
    agreed : tuple[str, ...]
        What both sides say, one sentence each.
    unknown_to_them : tuple[str, ...]
        Ids of steps that were made here after the question.
    """

    causes: tuple[Difference, ...] = ()
    parts: tuple[Difference, ...] = ()
    readings: tuple[Difference, ...] = ()
    tests: tuple[Difference, ...] = ()
    described: tuple[Difference, ...] = ()
    notes: tuple[Note, ...] = ()
    agreed: tuple[str, ...] = ()
    unknown_to_them: tuple[str, ...] = ()

    @property
    def says_something(self) -> bool:
        """Whether the answer has anything that the job has not; figures apart."""
        return any((self.parts, self.readings, self.tests, self.described, self.notes))
