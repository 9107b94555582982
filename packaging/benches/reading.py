"""Judging a reading and reading an entry line: what happens at every key while testing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from benches.timing import Figures, Line, seconds

ROUNDS, AT_ONCE = 30, 200
LINES = ("12.4 V battery +", "0.48 V strap while cranking <0.2 V", "brake disc thickness 21.3 mm >= 22", "lamp F7 dark")


def reading(rounds: int = ROUNDS, at_once: int = AT_ONCE) -> Iterator[Line]:
    """Yield the lines on one reading, one entry line, and one step as the window judges it."""
    from workshop_log.exchange.records import Expected, Job, VoltageStep
    from workshop_log.jobs.entry_line import read_entry_line
    from workshop_log.jobs.evaluation import judge_step
    from workshop_log.measuring.entry import read_entry
    from workshop_log.measuring.instruments import DEFAULT_MULTIMETER
    from workshop_log.measuring.ranges import ExpectedRange
    from workshop_log.measuring.uncertainty import standard_uncertainty
    from workshop_log.measuring.verdict import judge

    entry = read_entry("12.40 V")
    expected = ExpectedRange(12.2, 12.8, "V", "workshop's own")
    uncertainty = standard_uncertainty(entry, DEFAULT_MULTIMETER)
    step = VoltageStep(id="s1", red="B+", reading="12.40 V",
                       expected=Expected(low="12.2 V", high="12.8 V", source="workshop's own"))
    job = Job(steps=(step,))
    for text in LINES:
        line = read_entry_line(text, job)
        if line.step is None:
            raise RuntimeError(f"“{text}” is not understood: {line.problem}")

    yield _line("judging a reading", lambda: judge(entry, expected, uncertainty), rounds, at_once)
    yield _line("a reading from text, its uncertainty, its verdict", lambda: judge_step(step, job), rounds, at_once)
    for text in LINES:
        yield _line(f"entry line: {text}", lambda text=text: read_entry_line(text, job), rounds, at_once)


def _line(what: str, act: Callable[[], Any], rounds: int, at_once: int) -> Line:
    def many() -> None:
        for _ in range(at_once):
            act()

    act()
    figures = Figures(tuple(seconds(many) / at_once for _ in range(rounds)))
    return Line(what, figures.median * 1e6, "µs", note=f"least {figures.least * 1e6:.0f} µs")
