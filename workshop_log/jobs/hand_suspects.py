"""Suspects written by hand, for a job or a part of it that no circuit describes: a worn hub, a tired strut.

Each has a weight, and steps that clear or support it as far as the technician says so. What is possible then follows
from the job alone: the weights, multiplied by what the steps say, with room for what nobody has written down.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from workshop_log.exchange.records import Bearing, HandSuspect
from workshop_log.jobs import labels
from workshop_log.jobs.change import changing
from workshop_log.jobs.fields import FieldError, read_as
from workshop_log.jobs.ids import next_id
from workshop_log.jobs.percent import percent_words
from workshop_log.jobs.suspicion import CircuitSuspicion, Moment, Share, SuspectLine

if TYPE_CHECKING:
    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job, Step
    from workshop_log.jobs.change import Change
    from workshop_log.jobs.suspicion import Standing

# The key of what nobody has written down; it stands in the bar and among the suspects.
NOT_LISTED = "not listed"
NOT_LISTED_WORDS = "something that nobody has written down"
TITLE = "suspects written by hand"

# own estimate: what is found in the end was on the list at the beginning in about six jobs of seven.
NOT_LISTED_SHARE = 0.15
# own estimates: by how much a step makes a suspect less or more likely against all others. A part that was seen to be
# sound is sound, so that clearing weighs more than supporting: what fits one cause often fits another as well.
FACTORS = {
    ("clears", "slight"): 1 / 2, ("clears", "fair"): 1 / 7, ("clears", "strong"): 1 / 300,
    ("supports", "slight"): 1.5, ("supports", "fair"): 3.0, ("supports", "strong"): 50.0,
}
# own estimates: of a list in words nobody can ask for the two in a thousand that a computed circuit allows.
CLEARED_BELOW = 0.02
PROVED_ABOVE = 0.95

_WEIGHTS = 0.001, 1000.0
_NUMBER = re.compile(r"\d{1,9}(?:[.,]\d{1,9})?")
# The summary names at most so many, each from this share on.
_MOST_NAMED = 3
_WORTH_NAMING = 0.02


# --- in the book ----------------------------------------------------------------------------------------------------


def add_suspect(book: Book, number: str, name: str, weight: str | float = "") -> Job:
    """Write down a suspect.

    Parameters
    ----------
    book, number
        Which job.
    name : str
        As it could be read aloud: "worn hub".
    weight : str | float
        How often it is the cause compared with the others, as typed; blank for as often as they.

    Raises
    ------
    FieldError
        If it has no name, is written down already, or its weight is no number from 0.001 to 1000.
    """
    with changing(book, number) as change:
        suspect = HandSuspect(id=next_id(change.job.suspects, "h"), name=_name(change, name), weight=_weight(weight))
        change.add("suspects", suspect)
    return change.job


def edit_suspect(book: Book, number: str, suspect_id: str, *, name: str | None = None,
                 weight: str | float | None = None) -> Job:
    """Change the name or the weight of a suspect, or both; what steps say of it stays.

    Raises
    ------
    FieldError
        As `add_suspect`.
    UnknownItemError
        If it is no longer there.
    """
    with changing(book, number) as change:
        suspect = change.find("suspects", suspect_id)
        fields: dict[str, str | float] = {}
        if name is not None:
            fields[f"suspects/{suspect.id}/name"] = _name(change, name, suspect.id)
        if weight is not None:
            fields[f"suspects/{suspect.id}/weight"] = _weight(weight)
        change.set_paths(fields)
    return change.job


def remove_suspect(book: Book, number: str, suspect_id: str) -> Job:
    """Take a suspect off the list, with all that steps say of it; `intake.put_item` puts it back.

    Raises
    ------
    UnknownItemError
        If it is no longer there.
    """
    with changing(book, number) as change:
        change.find("suspects", suspect_id)
        change.remove("suspects", suspect_id)
    return change.job


def bear(book: Book, number: str, suspect_id: str, step_id: str, says: Literal["clears", "supports", ""],
         strength: Literal["slight", "fair", "strong"] = "fair") -> Job:
    """Note what a step says of a suspect, in place of what was noted before; blank takes that away.

    A step that was corrected is the step that corrects it.

    Raises
    ------
    FieldError
        If the step was made after the repair, or the words are none of those.
    UnknownItemError
        If the suspect or the step is not there.
    """
    with changing(book, number) as change:
        suspect = change.find("suspects", suspect_id)
        change.find("steps", step_id)
        standing = _standing_steps(change.job)
        step = standing[step_id]
        if says and step.after_repair:
            raise FieldError("suspects/bearings", f"Step {step.id} was made after the repair: it says nothing of the "
                                                  f"fault before it.")
        if says and (says, strength) not in FACTORS:
            raise FieldError("suspects/bearings", "A step clears or supports a suspect, and does so slight, fair or "
                                                  "strong.")
        kept = [one for one in suspect.bearings if standing.get(one.step) is not step]
        if says:
            kept.append(Bearing(step=step.id, says=says, strength=strength))
        change.set_paths({f"suspects/{suspect.id}/bearings": tuple(kept)})
    return change.job


def _name(change: Change, text: str, besides: str = "") -> str:
    name = read_as("suspects/name", HandSuspect, "name", text.strip(), change.job.workshop.currency)
    if not name:
        raise FieldError("suspects/name", "What could it be? Name it as the customer will read it.")
    for suspect in change.job.suspects:
        if suspect.id != besides and suspect.name.casefold() == name.casefold():
            raise FieldError("suspects/name", f"“{suspect.name}” is written down already.")
    return name


def _weight(typed: str | float) -> float:
    if isinstance(typed, str):
        text = typed.strip()
        if not text:
            return 1.0
        weight = float(text.replace(",", ".")) if _NUMBER.fullmatch(text) else math.nan
    else:
        weight = float(typed)
    low, high = _WEIGHTS
    # Not a number fails as well.
    if not low <= weight <= high:
        raise FieldError("suspects/weight", f"“{typed}” is no weight: write how often it is the cause compared with "
                                            f"the others, 2 for twice as often; from {low:g} to {high:g}.")
    return weight


# --- what is possible -----------------------------------------------------------------------------------------------


def hand_suspicion(job: Job) -> CircuitSuspicion:
    """Return what is still possible among the suspects written by hand, by their weights and what the steps say.

    A step made after the repair says nothing of the fault before it. What was said of a step that was corrected goes
    over to the step that corrects it, unless something was said of that one.
    """
    if not job.suspects:
        return CircuitSuspicion("", TITLE, problem="No suspect is written down yet.")
    says = _all_that_counts(job)
    shares = _shares(job, says)
    by_key = {share.key: share for share in shares}
    lines = [SuspectLine(suspect.id, "", "", "", _called(suspect), by_key[suspect.id].probability,
                         by_key[suspect.id].standing, cleared_by=by_key[suspect.id].cleared_by, share=suspect.id)
             for suspect in job.suspects]
    unknown = by_key[NOT_LISTED]
    lines.append(SuspectLine(NOT_LISTED, "", "", "", unknown.name, unknown.probability, unknown.standing,
                             share=NOT_LISTED))
    counted = {step for said in says.values() for step in said}
    return CircuitSuspicion(
        "", TITLE, suspects=tuple(sorted(lines, key=lambda line: -line.probability)),
        shares=tuple(sorted(shares, key=lambda share: -share.probability)),
        summary=_summary(shares, len(counted)), assumptions=tuple(_assumptions(job)), n_steps=len(counted))


def hand_history(job: Job) -> tuple[Moment, ...]:
    """Return how the bar moved: before the first step, and after each one that says something of a suspect."""
    if not job.suspects:
        return ()
    says = _all_that_counts(job)
    order = [share.key for share in sorted(_shares(job, says), key=lambda share: -share.probability)]
    moments = []
    known: set[str] = set()
    for step in (None, *(step for step in job.steps if any(step.id in said for said in says.values()))):
        title = "before the first test"
        if step is not None:
            known.add(step.id)
            title = f"{labels.step_title(step, job)}: {labels.step_result(step)}"
        then = {suspect: {name: one for name, one in said.items() if name in known} for suspect, said in says.items()}
        shares = {share.key: share for share in _shares(job, then)}
        moments.append(Moment(step.id if step else "", title, tuple(shares[key] for key in order)))
    return tuple(moments)


def _standing_steps(job: Job) -> dict[str, Step]:
    """Return for the id of each step the step that counts in its place: the last of its corrections, or itself."""
    steps = {step.id: step for step in job.steps}
    standing = dict(steps)
    # A correction stands behind what it replaces: backwards, what it leads to is known already.
    for step in reversed(job.steps):
        if step.replaces in steps and step.replaces != step.id and standing[step.replaces] is steps[step.replaces]:
            standing[step.replaces] = standing[step.id]
    return standing


def _all_that_counts(job: Job) -> dict[str, dict[str, Bearing]]:
    """Return for the id of each suspect what counts of it, by the id of the step, in the order of the steps."""
    standing = _standing_steps(job)
    place = {step.id: number for number, step in enumerate(job.steps)}
    says: dict[str, dict[str, Bearing]] = {}
    for suspect in job.suspects:
        found: dict[str, Bearing] = {}
        # What was said of the last correction counts, not what was said of the step before it.
        for bearing in sorted((one for one in suspect.bearings if one.step in place), key=lambda one: place[one.step]):
            step = standing[bearing.step]
            if not step.after_repair:
                found[step.id] = bearing
        says[suspect.id] = {step: found[step] for step in sorted(found, key=place.__getitem__)}
    return says


def _shares(job: Job, says: dict[str, dict[str, Bearing]]) -> list[Share]:
    """Return the bar: a share for each suspect in the order in which they are written, and one for what is not."""
    total = math.fsum(suspect.weight for suspect in job.suspects)
    sizes = [math.log((1 - NOT_LISTED_SHARE) * suspect.weight / total)
             + math.fsum(math.log(FACTORS[one.says, one.strength]) for one in says[suspect.id].values())
             for suspect in job.suspects]
    sizes.append(math.log(NOT_LISTED_SHARE))
    most = max(sizes)
    parts = [math.exp(size - most) for size in sizes]
    whole = math.fsum(parts)
    shares = []
    for suspect, part in zip(job.suspects, parts, strict=False):
        probability = part / whole
        clearing = tuple(step for step, one in says[suspect.id].items() if one.says == "clears")
        standing: Standing = "standing"
        if probability < CLEARED_BELOW and clearing:
            standing = "cleared"
        elif probability > PROVED_ABOVE:
            standing = "proved"
        shares.append(Share(suspect.id, _called(suspect), probability, standing,
                            clearing if standing == "cleared" else ()))
    shares.append(Share(NOT_LISTED, NOT_LISTED_WORDS, parts[-1] / whole))
    return shares


def _called(suspect: HandSuspect) -> str:
    # A job file may leave the name blank.
    return suspect.name or suspect.id


# --- in words -------------------------------------------------------------------------------------------------------


def _summary(shares: list[Share], steps: int) -> str:
    listed = [share for share in shares if share.key != NOT_LISTED]
    if not steps:
        written = "1 suspect is" if len(listed) == 1 else f"{len(listed)} suspects are"
        return f"{written} written down; no test says anything of {'it' if len(listed) == 1 else 'them'} yet."
    first, *others = sorted(shares, key=lambda share: -share.probability)
    begin = "It is" if first.standing == "proved" else "Most likely it is"
    words = f"{begin} {first.name} ({percent_words(first.probability)})"
    worth = [share for share in others if share.probability >= _WORTH_NAMING]
    named, more = worth[:_MOST_NAMED - 1], len(worth) - (_MOST_NAMED - 1)
    if named:
        words += "; also possible: " + ", ".join(f"{share.name} ({percent_words(share.probability)})"
                                                 for share in named)
        words += f", and {more} more" if more > 0 else ""
    cleared = sum(share.standing == "cleared" for share in listed)
    if not cleared:
        return f"{words}."
    of_all = f"{cleared} of {len(listed)} suspects" if len(listed) > 1 else "The one suspect"
    return f"{words}. {of_all} {'is' if cleared == 1 else 'are'} cleared."


def _assumptions(job: Job) -> Iterator[str]:
    """Yield what the figures rest on, in sentences."""
    weights = {suspect.weight for suspect in job.suspects}
    if len(job.suspects) > 1 and len(weights) == 1:
        yield "Before the first test all suspects written down count the same."
    elif len(job.suspects) > 1:
        listed = ", ".join(f"{_called(suspect)} {suspect.weight:g}" for suspect in job.suspects)
        yield f"Before the first test the suspects count as the technician weighed them: {listed}."
    yield (f"Before the first test the cause is {NOT_LISTED_WORDS} in {percent_words(NOT_LISTED_SHARE)} of all cases "
           f"(own estimate).")
    if any(suspect.bearings for suspect in job.suspects):
        down, up = ([FACTORS[says, strength] for strength in ("slight", "fair", "strong")]
                    for says in ("clears", "supports"))
        yield ("What a test says of a suspect, and how strongly, is the technician's judgement. A test that clears it "
               f"slightly takes its share against the others down to 1/{1 / down[0]:.0f}, fairly to 1/{1 / down[1]:.0f}"
               f", strongly to 1/{1 / down[2]:.0f}; one that supports it takes it up {up[0]:g}, {up[1]:g} or {up[2]:g} "
               "times (own estimates).")
