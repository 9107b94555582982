"""A proposed test made, or only supposed: what it may show, as it would be typed, and the step that this would be.

Pure: a proposal, the text and the job in; a step, or why there is none, out.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import msgspec

from workshop_log.exchange import records
from workshop_log.jobs import labels, testing
from workshop_log.jobs.circuit_ranges import AS_FOUND
from workshop_log.jobs.completing import completed
from workshop_log.jobs.entry_line import EntryLine, read_count
from workshop_log.jobs.ids import next_id
from workshop_log.jobs.places import place_words, read_at
from workshop_log.measuring.entry import EntryError, read_entry

if TYPE_CHECKING:
    from workshop_log.exchange.records import Expected, Instrument, Job, Step
    from workshop_log.jobs.suspicion import Proposal

# A result to stand in a step that has none yet.
_BLANKS = {"voltage": {"reading": "0 V"}, "current": {"reading": "0 A"}, "resistance": {"reading": "0 ohm"},
           "lamp": {"result": "dark"}, "look": {"result": "nothing"}, "movement": {"shown": 0},
           "swap": {"cured": False}}
# What is typed for a test without a number: healthy, and faulty.
_TYPED = {"look": ("nothing", "damage"), "swap": ("same", "cured")}
_LOOKS = ("lit", "dim", "dark")
_HINTS = {
    "voltage": "Type the voltage.", "current": "Type the current.", "resistance": "Type the resistance, or OL.",
    "lamp": "Type lit, dim or dark.", "look": "Type damage or nothing.",
    "movement": "Type how often the fault showed in how many movements: 3/10, or 0/10.",
    "swap": "Type cured, or same where the fault is still there.",
}
# Until a movement is tried, half of the trials stand for "the fault shows".
_SHOWN_PART = 2


class Outcome(NamedTuple):
    """What a test may show: the text as it would be typed, and what that means."""

    text: str
    words: str


def hint_for(proposal: Proposal) -> str:
    """Return what is to be typed for a proposed test."""
    return _HINTS.get(proposal.kind, "Type what it showed.")


def template_of(proposal: Proposal, job: Job) -> Step:
    """Return the step of a proposed test with a blank result."""
    fields = {"id": next_id(job.steps, "s"), "circuit": proposal.place.circuit} | dict(proposal.step) | _BLANKS.get(
        proposal.kind, {})
    if fields.get("setup") == AS_FOUND:
        # As found is what a step without a setup means.
        del fields["setup"]
    return msgspec.convert(fields, records.Step)


def read_result(text: str, proposal: Proposal, job: Job, *, expected: Expected | None = None,
                instrument: Instrument | None = None) -> EntryLine:
    """Read what was typed for a proposed test; where it is another kind of result, for its place.

    Parameters
    ----------
    text : str
        As `hint_for` says, or anything that `places.read_at` understands.
    proposal : Proposal
        The test.
    job : Job
        With the circuit.
    expected, instrument
        Chosen beside the line.
    """
    template = template_of(proposal, job)
    if not text.strip() or not _fits(text, template):
        return read_at(text, proposal.place, job, expected=expected, instrument=instrument)
    read = testing.read_again(text, template, job, after_repair=False, expected=expected, instrument=instrument)
    if read.step is None:
        return read
    return completed(text, read.step, job, None, None, lambda made, known: (
        f"{labels.step_title(made, known)}: {labels.step_result(made)}, {place_words(proposal.place, known)}."))


def _fits(text: str, template: Step) -> bool:
    """Return whether a text is a result of the template's kind, and nothing else."""
    word = " ".join(text.split()).lower()
    match template:
        case records.LampStep():
            return word in _LOOKS
        case records.LookStep():
            return word in _TYPED["look"]
        case records.SwapStep():
            return word in _TYPED["swap"]
        case records.MovementStep():
            return read_count(word) is not None
        case _:
            usual = read_entry(template.reading)
            try:
                entry = read_entry(text, usual_unit=usual.unit)
            except EntryError:
                return False
            return entry.is_over_range or entry.dimension == usual.dimension


def outcomes_of(proposal: Proposal) -> tuple[Outcome, ...]:
    """Return what a proposed test may show: healthy, and with the likeliest faults."""
    alternatives = [alternative.strip() for alternative in proposal.faulty.split(";") if alternative.strip()]
    if proposal.kind in _TYPED:
        healthy, faulty = _TYPED[proposal.kind]
        found = [Outcome(healthy, f"{proposal.healthy}, as healthy"), Outcome(faulty, proposal.faulty)]
    elif proposal.kind == "movement":
        trials = int(proposal.step.get("trials", 1))
        shown = max(1, trials // _SHOWN_PART)
        found = [Outcome(f"0/{trials}", f"it never shows in {trials}, as healthy"),
                 Outcome(f"{shown}/{trials}", f"it shows in {shown} of {trials}")]
    else:
        healthy = next(iter(_ends(proposal.healthy, proposal.kind)), "")
        found = [Outcome(healthy, f"{proposal.healthy}, as healthy")]
        for alternative in alternatives:
            ends = _ends(alternative.partition(" if ")[0], proposal.kind)
            text = max(ends, key=lambda end: _away(end, healthy), default="")
            found.append(Outcome(text, alternative if alternative.startswith(f"{text} if ")
                                 else f"{text} ({alternative})"))
    return tuple({outcome.text: outcome for outcome in reversed(found) if outcome.text}.values())[::-1]


def _ends(words: str, kind: str) -> tuple[str, ...]:
    """Return the values that are named as they would be typed: of "0 V to 3.1 V" both ends, of "dim or dark" both."""
    if kind == "lamp":
        return tuple(word for word in words.split(" or ") if word in _LOOKS)
    ends = []
    for part in words.split(" to "):
        try:
            read_entry(part)
        except EntryError:
            continue
        ends.append(part)
    return tuple(ends)


def _away(end: str, healthy: str) -> float:
    """Return how far a value is from the healthy one, to tell which says most; of looks every other one does."""
    try:
        found, usual = read_entry(end), read_entry(healthy)
    except EntryError:
        return float(end != healthy)
    if found.value is None or usual.value is None:
        return 0.0 if found.value == usual.value else math.inf
    return abs(found.value - usual.value)


def supposed_words(step: Step) -> str:
    """Return the name of a supposition: "if it showed 0 V", "if damage was found"."""
    match step:
        case records.LampStep():
            return f"if the lamp was {step.result}"
        case records.LookStep():
            return "if damage was found" if step.result == "damage" else "if no damage was found"
        case records.MovementStep():
            return f"if the fault showed in {step.shown} of {step.trials} movements"
        case records.ObserveStep():
            return "if it worked" if step.works else "if it did not work"
        case records.SwapStep():
            return ("if the fault was gone with the known good part" if step.cured
                    else "if the fault was still there with the known good part")
        case _:
            return f"if it showed {step.reading}"
