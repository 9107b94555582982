"""What stands at the points and elements of a circuit: tests, the reading whose glyph is shown, how suspect it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.exchange import records
from workshop_log.jobs.percent import percent_sign
from workshop_log.measuring.verdict import Verdict
from workshop_log.paper.circuit_layout import Marks, Shade
from workshop_log.paper.sentences import number_of, standing_steps

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from workshop_log.exchange.records import Circuit, Job, Step
    from workshop_log.jobs.evaluation import Evaluation, JudgedReading
    from workshop_log.jobs.suspicion import Share

# As many numbers stand at one point; the table of tests has them all.
_MOST_NUMBERS = 5
# As many steps that cleared an element stand behind its name; the list of suspects has them all.
_MOST_CLEARED_BY = 2


def marks_of(job: Job, evaluation: Evaluation, circuit: Circuit, words: Callable[[list[str]], str],
             ) -> tuple[Marks, dict[tuple[str, str], JudgedReading]]:
    """Return the numbers of the tests at each point and element, and the reading there whose glyph is shown.

    A voltage or resistance stands at both of its points unless one is battery negative; its glyph at the red one. Of
    several readings the last one outside its range is shown, so that the drawing says where the fault was; else the
    last one. `words` makes of the numbers of the tests at one place what stands there.
    """
    numbers: dict[tuple[str, str], list[str]] = {}
    readings: dict[tuple[str, str], JudgedReading] = {}
    for step in standing_steps(job):
        if step.circuit != circuit.id:
            continue
        places = list(_places(step))
        for place in places:
            numbers.setdefault(place, []).append(number_of(step.id))
        reading = evaluation.reading_of(step.id)
        if places and reading and reading.judgement and reading.entry and (
                places[0] not in readings or reading.verdict is Verdict.OUTSIDE
                or readings[places[0]].verdict is not Verdict.OUTSIDE):
            readings[places[0]] = reading
    written = {place: words(_shortened(found)) for place, found in numbers.items()}
    marks = Marks({name: said for (kind, name), said in written.items() if kind == "point"},
                  {name: said for (kind, name), said in written.items() if kind == "element"}, frozenset(readings))
    return marks, readings


def shades_of(circuit: Circuit, shares: Iterable[Share], words: Callable[[list[str]], str]) -> dict[str, Shade]:
    """Return how suspect each element of a circuit is, as `marks_of` has the words for the steps that cleared it.

    An element that is no part of the bar gets a shade without words, which keeps its room.
    """
    shades = {element.id: Shade() for element in circuit.elements}
    for share in shares:
        if share.key in shades:
            is_cleared = share.standing == "cleared"
            steps = [number_of(step) for step in share.cleared_by]
            if len(steps) > _MOST_CLEARED_BY:
                steps = [steps[0], "…"]
            shades[share.key] = Shade(share.probability, words(steps) if is_cleared and steps else
                                      "" if is_cleared else percent_sign(share.probability), is_cleared)
    return shades


def _shortened(numbers: list[str]) -> list[str]:
    return numbers if len(numbers) <= _MOST_NUMBERS else [*numbers[:_MOST_NUMBERS - 1], "…"]


def _places(step: Step) -> Iterator[tuple[str, str]]:
    """Yield the points and elements at which a step was made, the one that shows the reading first."""
    match step:
        case records.VoltageStep() | records.ResistanceStep():
            yield "point", step.red
            if step.black != "B-":
                yield "point", step.black
        case records.LampStep():
            yield "point", step.probe
        case records.CurrentStep():
            yield "element", step.through
        case records.LookStep() | records.MovementStep():
            yield from (("element", element) for element in step.elements)
        case records.ObserveStep() | records.SwapStep():
            yield "element", step.element
        case _:
            return
