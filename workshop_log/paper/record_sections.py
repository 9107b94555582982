"""What stands behind the findings: what was not tested, cautions, instruments, remarks, approvals."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange import values
from workshop_log.jobs.money import show_money
from workshop_log.measuring import units
from workshop_log.measuring.entry import EntryError, read_entry, show_entry
from workshop_log.paper.sections import CAUTIONS, UNTESTED, heading, lines
from workshop_log.paper.sentences import how_words
from workshop_log.paper.tables import CellTexts, headed, ruled_table
from workshop_log.paper.text import Strong, para
from workshop_log.paper.wording import say, sentence, time_words

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Approval, Instrument
    from workshop_log.paper.report_input import ReportInput


def not_tested(content: ReportInput) -> list[Flowable]:
    """Return what was left untested and why."""
    said = [sentence(words) for words in content.job.not_tested if words.strip()]
    return [*heading("not_tested.heading", anchor=UNTESTED), *lines(said)] if said else []


def cautions(content: ReportInput) -> list[Flowable]:
    """Return the cautions that applied, in full."""
    if not content.cautions:
        return []
    return [*heading("cautions.heading", anchor=CAUTIONS),
            *(para(Strong(sentence(caution.title)), " ", caution.words) for caution in content.cautions)]


def remarks(content: ReportInput) -> list[Flowable]:
    """Return what was said, without what is only for the workshop."""
    made = []
    for note in sorted((n for n in content.job.notes if not n.internal), key=lambda n: n.at):
        key = "notes.said" if note.who else "notes.said_bare"
        made.append(para(Strong(say(key, when=time_words(note.at), who=note.who)), note.words.strip()))
    return [*heading("notes.heading"), *made] if made else []


def instruments(content: ReportInput, width: float) -> list[Flowable]:
    """Return the instruments used, how accurate they are, and when they were last proved."""
    job = content.job
    used = {step.instrument for step in job.steps}
    shown = [instrument for instrument in job.instruments if instrument.id in used]
    if not shown:
        return []
    texts = CellTexts()
    rows = [[para(instrument.title or instrument.kind, style="cell"), _accuracy(instrument, content, texts),
             para(time_words(instrument.last_proved) if instrument.last_proved else say("instruments.never"),
                  style="cell")] for instrument in shown]
    table = ruled_table([say("instruments.title"), say("instruments.accuracy"), say("instruments.proved")], rows,
                        [width * 0.27, width * 0.48, width * 0.25], row_headers=True)
    return [*headed(heading("instruments.heading", space=150), table, len(rows)), *texts.flowables()]


def _accuracy(instrument: Instrument, content: ReportInput, texts: CellTexts) -> list[Flowable]:
    """Return the accuracy in the ranges that this job used; the attached job file has all."""
    if instrument.kind == "test lamp":
        words = ", ".join(_shown(text) for text in (instrument.voltage, instrument.current) if text)
    else:
        words = "\n".join(_ranges_used(instrument, content))
    return [para(texts.fit(words or say("instruments.no_accuracy"), instrument.title or instrument.id), style="cell")]


def _ranges_used(instrument: Instrument, content: ReportInput) -> list[str]:
    """Return the ranges that the readings of this instrument fell into, each once, the smallest first."""
    try:
        measuring = values.instrument_of(instrument)
    except WorkshopLogError:
        # What is wrong with it is a finding of the evaluation; the default accuracy was used.
        return []
    used = set()
    for reading in content.evaluation.readings:
        entry = reading.entry
        if reading.step.instrument != instrument.id or entry is None or not measuring.ranges_of(entry.dimension):
            continue
        value = None if entry.value is None else units.convert(entry.value, entry.unit,
                                                               units.base_unit(entry.dimension))
        used.add(measuring.range_for(entry.dimension, value))
    return [say("instruments.range", quantity=accuracy.quantity, up_to=accuracy.range_words(),
                accuracy=accuracy.words())
            for accuracy in sorted(used, key=lambda accuracy: (accuracy.quantity, accuracy.up_to))]


def _shown(text: str) -> str:
    """Return a quantity as a meter shows it, or as typed where it cannot be read."""
    try:
        return show_entry(read_entry(text))
    except EntryError:
        return text


def approvals(content: ReportInput, width: float) -> list[Flowable]:
    """Return what the customer agreed to and refused: who, how, when, up to how much."""
    job = content.job
    replaced = {approval.replaces for approval in job.approvals if approval.replaces}
    is_expert = content.reader == "expert"
    shown = [a for a in sorted(job.approvals, key=lambda a: a.at) if is_expert or a.id not in replaced]
    if not shown:
        return []
    texts = CellTexts()
    rows = [[para(time_words(a.at), style="cell"), para(a.by, style="cell"), para(how_words(a), style="cell"),
             para(texts.fit(_approval_words(a, content, replaced), time_words(a.at)), style="cell"),
             para(_up_to(a, content), style="cell right")] for a in shown]
    head = [say(f"approvals.{key}") for key in ("when", "who", "how", "words", "up_to")]
    table = ruled_table(head, rows, [width * share for share in (0.21, 0.17, 0.13, 0.35, 0.14)], right=frozenset({4}))
    return [*headed(heading("approvals.heading", space=150), table, len(rows)), *texts.flowables()]


def _up_to(approval: Approval, content: ReportInput) -> str:
    if not approval.agreed:
        return say("approvals.refused")
    if approval.up_to is None:
        return say("approvals.no_limit")
    return show_money(approval.up_to, content.job.workshop.currency)


def _approval_words(approval: Approval, content: ReportInput, replaced: set[str]) -> str:
    option = next((o.title for o in content.job.estimate if o.id == approval.option), "")
    corrected = say("approvals.corrected") if approval.id in replaced else ""
    return " ".join(sentence(words) for words in (option, approval.words, approval.because, corrected) if words.strip())
