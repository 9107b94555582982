"""Starter circuits: usual circuits to begin with, from `resources/starter_circuits`, to be adapted to the vehicle.

Lengths, sections, currents and resistances in them are own estimates of what is usual, not any maker's data.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import msgspec

from workshop_log import resources
from workshop_log.exchange.records import Circuit, Line, Record, Words


@dataclass(frozen=True, slots=True)
class Starter:
    """A circuit to begin with.

    Attributes
    ----------
    id, title : str
        Of the circuit.
    words : str
        What it is for, in a sentence or two.
    circuit : Circuit
        The circuit with its setups.
    """

    id: str
    title: Line
    words: Words
    circuit: Circuit


class _File(Record, kw_only=True):
    """One file of the folder."""

    words: Words
    circuit: Circuit


@cache
def starter_circuits() -> tuple[Starter, ...]:
    """Return the starter circuits in the order of their titles."""
    read = msgspec.json.Decoder(_File).decode
    files = [read(path.read_bytes()) for path in sorted(resources.path("starter_circuits").glob("*.json"))]
    starters = (Starter(file.circuit.id, file.circuit.title, file.words, file.circuit) for file in files)
    return tuple(sorted(starters, key=lambda starter: starter.title.casefold()))
