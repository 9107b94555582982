"""How the tests narrowed down what was possible: which bars a report shows, and which parts of them have a name.

Pure: the values of `jobs.suspicion` in, what is to be drawn out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from workshop_log.jobs.suspicion import CircuitSuspicion, Moment, Share

# own estimate: a test is worth a bar of its own when it moved at least this part of the whole.
_TELLING = 0.05
# Bars between the first and the last.
_MOST_BETWEEN = 4
# Tests that a sentence names.
_MOST_TOLD = 3
# own estimate: a narrower part of a bar is no more than a line on paper.
_WORTH_A_NAME = 0.04
# As many fills can be told from each other in black and white.
MOST_NAMED = 5


@dataclass(frozen=True, slots=True)
class Segment:
    """One part of a bar.

    Attributes
    ----------
    share : Share
        What it stands for, with its probability at that moment.
    fill : int | None
        Which of the fills it has, the same in every bar; None for everything else.
    """

    share: Share
    fill: int | None


@dataclass(frozen=True, slots=True)
class Bar:
    """What was possible after one step.

    Attributes
    ----------
    step : str
        The step's id; blank for the beginning, and for the last bar where no single step led to it.
    title : str
        What was done in the step, in words.
    segments : tuple[Segment, ...]
        Those with a fill first; in the same order in every bar.
    """

    step: str
    title: str
    segments: tuple[Segment, ...]


@dataclass(frozen=True, slots=True)
class Narrowing:
    """The bars of one circuit under each other.

    Attributes
    ----------
    earlier : tuple[Bar, ...]
        At the beginning, and after each step that told much; empty where no step counts.
    last : Bar
        After all steps that count.
    named : tuple[Share, ...]
        The parts that have a fill of their own, as they were at last; their place is the number of the fill.
    told_most : tuple[str, ...]
        The ids of the few steps that moved most, in the order in which they were made.
    """

    earlier: tuple[Bar, ...]
    last: Bar
    named: tuple[Share, ...]
    told_most: tuple[str, ...]

    @property
    def has_others(self) -> bool:
        """Whether any bar has parts without a fill of their own."""
        return any(segment.fill is None for bar in (*self.earlier, self.last) for segment in bar.segments)


def narrowing_of(suspicion: CircuitSuspicion, history: tuple[Moment, ...]) -> Narrowing:
    """Return the bars that show best how the tests narrowed it down."""
    moved = {number: _moved(history[number - 1], history[number]) for number in range(1, len(history))}
    telling = sorted((number for number in moved if moved[number] >= _TELLING), key=lambda number: -moved[number])
    final = len(history) - 1
    between = sorted([number for number in telling if number != final][:_MOST_BETWEEN])
    earlier = [history[number] for number in (0, *between)] if final > 0 else []
    named = _named(suspicion, earlier[1:])
    fills = {share.key: number for number, share in enumerate(named)}
    places = {share.key: number for number, share in enumerate(suspicion.shares)}

    def segments(shares: tuple[Share, ...]) -> tuple[Segment, ...]:
        ordered = sorted(shares, key=lambda share: (fills.get(share.key, MOST_NAMED), places.get(share.key, 0)))
        return tuple(Segment(share, fills.get(share.key)) for share in ordered if share.probability > 0)

    ended = history[final] if final in telling else None
    last = Bar(ended.step if ended else "", ended.title if ended else "", segments(suspicion.shares))
    return Narrowing(tuple(Bar(moment.step, moment.title, segments(moment.shares)) for moment in earlier), last, named,
                     tuple(history[number].step for number in sorted(telling[:_MOST_TOLD])))


def _moved(before: Moment, after: Moment) -> float:
    """Return which part of the whole lies elsewhere after a step."""
    earlier = {share.key: share.probability for share in before.shares}
    return sum(max(0.0, share.probability - earlier.get(share.key, 0.0)) for share in after.shares)


def _named(suspicion: CircuitSuspicion, between: list[Moment]) -> tuple[Share, ...]:
    """Return the parts of the bar that get a fill of their own: the likeliest at last, then those that once were."""
    highest = {share.key: share.probability for share in suspicion.shares}
    for share in (share for moment in between for share in moment.shares):
        highest[share.key] = max(highest.get(share.key, 0.0), share.probability)
    worth = [share for share in suspicion.shares if highest[share.key] >= _WORTH_A_NAME]
    at_last = [share for share in worth if share.probability >= _WORTH_A_NAME]
    once = sorted((share for share in worth if share not in at_last), key=lambda share: -highest[share.key])
    return tuple((at_last + once)[:MOST_NAMED])
