"""What is still possible as lines for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from workshop_log.jobs.percent import percent_words

if TYPE_CHECKING:
    from workshop_log.jobs.suspicion import CircuitSuspicion, Decision, Proposal, SuspectLine

# Suspects of which less is left are counted, not listed.
_LISTED_FROM = 0.005
_SHARE_WIDTH = 14


def suspect_lines(told: CircuitSuspicion, proposals: Sequence[Proposal],
                  decision: Decision | None = None) -> Iterator[str]:
    """Yield what is still possible in a circuit, the tests worth making next, and the figures of a decision."""
    yield f"{told.title}: {told.problem}" if told.problem else f"{told.title}: {told.summary}"
    if told.problem:
        return
    for line in told.suspects:
        if line.probability >= _LISTED_FROM:
            yield f"  {percent_words(line.probability):>{_SHARE_WIDTH}}  {line.name}{_more(line)}"
    cleared = [line for line in told.suspects if line.standing == "cleared"]
    if cleared:
        by = list(dict.fromkeys(step for line in cleared for step in line.cleared_by))
        yield f"  {len(cleared)} suspects cleared, by {', '.join(by)}."
    for words in told.contradictions:
        yield f"  {words}"
    for number, proposal in enumerate(proposals, 1):
        yield f"  Next {number}: {proposal.title}. {proposal.why}"
        if proposal.healthy:
            yield f"          Healthy {proposal.healthy}{'; ' if proposal.faulty else ''}{proposal.faulty}."
        for caution in proposal.cautions:
            yield f"          ⚠ {caution}"
    if decision is not None:
        yield f"  {decision.words}"


def _more(line: SuspectLine) -> str:
    size = f", {line.size}" if line.size else ""
    return f"{size}, proved" if line.standing == "proved" else size
