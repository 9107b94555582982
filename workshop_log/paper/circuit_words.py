"""A circuit in words, for those who hear the drawing instead of seeing it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.paper.circuit_text import label_lines, point_words
from workshop_log.paper.wording import say, sentence

if TYPE_CHECKING:
    from workshop_log.exchange.records import Circuit, Element
    from workshop_log.paper.circuit_layout import Marks


def circuit_words(circuit: Circuit, marks: Marks) -> str:
    """Return every element with its value and points, supply side first, and where which test was made."""
    said = [say("circuit.alternative", title=circuit.title or circuit.id, count=len(circuit.elements))]
    said += [sentence(_element_words(element)) for element in circuit.elements]
    said += [say("circuit.tested_at", tests=tests, place=point_words(name)) for name, tests in marks.points.items()]
    said += [say("circuit.tested_at", tests=tests, place=name) for name, tests in marks.elements.items()]
    return " ".join(said)


def _element_words(element: Element) -> str:
    """Return "fuse F7, 15 A, from B+ to F7.out"."""
    facts = [f"{element.kind} {element.id}", *label_lines(element, "whole", True)]
    if element.between:
        facts.append(_way_words(element.between))
    if element.coil:
        facts.append(say("circuit.coil", way=_way_words(element.coil)))
    if element.common is not None:
        ends = [point for point in (element.normally_open, element.normally_closed) if point is not None]
        facts.append(say("circuit.contact", common=point_words(element.common),
                         ends=" / ".join(map(point_words, ends))))
    return ", ".join(facts)


def _way_words(ends: tuple[str, str]) -> str:
    return say("circuit.way", first=point_words(ends[0]), second=point_words(ends[1]))
