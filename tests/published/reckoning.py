"""Whether what was believed came true: of all that was said to be so many percent likely, as much must be so."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from workshop_log.diagnosis.suspects import HEALTHY

BINS = 10


@dataclass(frozen=True)
class Search:
    """One search in figures.

    Attributes
    ----------
    case : str
        What it is called.
    has_complaint : bool
        Whether the technician began with a load that was seen not to work.
    truth, share : str
        What is really the matter, in words, and the part of the bar that this is.
    likeliest, probability
        The part that was the likeliest at the end, and how likely it was then.
    called : str
        The part that was called; nothing where none was likely enough.
    tests, minutes
        How many tests it took, and how long.
    brier : float
        Σ (believed − true)² over all parts, at the end.
    said : tuple[tuple[int, float, int], ...]
        For each bin of what was believed at any moment of any part: how often, the sum of it, and how often it was so.
    """

    case: str
    has_complaint: bool
    truth: str
    share: str
    likeliest: str
    probability: float
    called: str
    tests: int
    minutes: float
    brier: float
    said: tuple[tuple[int, float, int], ...] = field(repr=False)

    @property
    def is_right(self) -> bool:
        """Whether the part that was called is the one."""
        return self.called == self.share


def reckoned(run) -> Search:
    """Return a `technician.Run` in figures."""
    said = [[0, 0.0, 0] for _ in range(BINS)]
    for shares in run.shares:
        for share, probability in shares.items():
            of = said[min(int(probability * BINS), BINS - 1)]
            of[0] += 1
            of[1] += probability
            of[2] += share == run.share
    likeliest, probability = run.likeliest
    final = run.shares[-1]
    brier = sum((probability - (share == run.share)) ** 2 for share, probability in final.items())
    return Search(
        f"{run.case.vehicle.size} {run.case.key}", bool(run.case.seen), run.case.truth.words, run.share, likeliest,
        probability, run.called, len(run.tests), run.minutes, brier + (run.share not in final), tuple(map(tuple, said)))


@dataclass(frozen=True)
class Reckoning:
    """Many searches.

    Attributes
    ----------
    searches : tuple[Search, ...]
        All of them.
    """

    searches: tuple[Search, ...]

    def with_complaint(self) -> Reckoning:
        """Return those that began with a complaint."""
        return Reckoning(tuple(search for search in self.searches if search.has_complaint))

    def of_cases(self, other: Reckoning) -> Reckoning:
        """Return those of the same cases as others."""
        wanted = {search.case for search in other.searches}
        return Reckoning(tuple(search for search in self.searches if search.case in wanted))

    @property
    def called(self) -> tuple[Search, ...]:
        """Those that ended with a part called, or with nothing wrong."""
        return tuple(search for search in self.searches if search.called)

    @property
    def right(self) -> float:
        """Which part of the calls was right."""
        return _mean(search.is_right for search in self.called)

    @property
    def expected(self) -> float:
        """Which part of the calls should have been right, by what was believed at each."""
        return _mean(search.probability for search in self.called)

    @property
    def parts_right(self) -> tuple[int, int]:
        """How many calls of a part, without those of nothing wrong, were right, and how many there were."""
        parts = [search for search in self.called if search.called != HEALTHY]
        return sum(search.is_right for search in parts), len(parts)

    @property
    def brier(self) -> float:
        """Brier score at the end."""
        return _mean(search.brier for search in self.searches)

    @property
    def tests(self) -> float:
        """Tests on average, those that ended without a call included."""
        return _mean(search.tests for search in self.searches)

    @property
    def minutes(self) -> float:
        """Minutes on average, those that ended without a call included."""
        return _mean(search.minutes for search in self.searches)

    @property
    def reliability(self) -> list[tuple[int, float, float]]:
        """For each bin: how often something was said, how likely on average, and which part of it was so."""
        found = []
        for number in range(BINS):
            count, total, true = (sum(column) for column in zip(*(s.said[number] for s in self.searches), strict=True))
            found.append((count, total / max(count, 1), true / max(count, 1)))
        return found


def together(reckonings: Iterable[Reckoning]) -> Reckoning:
    """Return several as one."""
    return Reckoning(tuple(search for each in reckonings for search in each.searches))


def _mean(values: Iterable[float]) -> float:
    values: Sequence[float] = list(values)
    return sum(values) / len(values) if values else float("nan")
