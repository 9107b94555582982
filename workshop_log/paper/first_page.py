"""The first page: who writes to whom about which vehicle, what was found, why, what was done, what it costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs import labels
from workshop_log.jobs.before_after import before_and_after
from workshop_log.jobs.case import case_of
from workshop_log.measuring.entry import EntryError, read_entry, show_entry
from workshop_log.paper import sentences
from workshop_log.paper.drawings import GLYPH_WIDTH, reading_glyph, rule
from workshop_log.paper.sections import heading, lines
from workshop_log.paper.styles import ACCENT, HAIRLINE, RULE
from workshop_log.paper.tables import CellTexts, ruled_table, shortened, side_by_side
from workshop_log.paper.text import para
from workshop_log.paper.wording import bare, date_words, say, sentence, upper_first

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Condemned, Step
    from workshop_log.jobs.before_after import BeforeAfter
    from workshop_log.paper.report_input import ReportInput


def letterhead(content: ReportInput, width: float) -> list[Flowable]:
    """Return the workshop's name with how to reach it, over a line in the accent colour."""
    from reportlab.platypus import Spacer

    workshop = content.job.workshop
    address = "\n".join(line for line in (
        ", ".join(line.strip() for line in workshop.address.splitlines() if line.strip()),
        " · ".join(word for word in (workshop.phone, workshop.email) if word),
        say("letterhead.tax_number", number=workshop.tax_number) if workshop.tax_number else "") if line)
    # The letterhead is one row and has to stay on the page.
    row = [para(shortened(workshop.name, 160), style="workshop"), para(shortened(address, 400), style="address")]
    head = side_by_side([row], [width * 0.45, width * 0.55], [("VALIGN", (0, 0), (-1, -1), "BOTTOM")])
    return [head, Spacer(0, 6), rule(width, ACCENT, 1.1), Spacer(0, 13)]


def title(content: ReportInput, width: float) -> list[Flowable]:
    """Return the title with the job's number and the day of issue."""
    from reportlab.platypus import Spacer

    job = content.job
    words = say("title.report") + (f" {say('title.on_job', number=job.number)}" if job.number else "")
    kind = say(f"title.copy_for.{content.reader}")
    dated = f"{date_words(content.issued)}\n{say('title.anonymous') if job.anonymous else kind}"
    row = [para(words, style="title"), para(dated, style="subtitle")]
    made = [side_by_side([row], [width * 0.66, width * 0.34], [("VALIGN", (0, 0), (-1, -1), "BOTTOM")])]
    names = ", ".join(line.strip() for line in (job.customer.name, *job.customer.address.splitlines()) if line.strip())
    if names:
        made += [Spacer(0, 3), para(say("letterhead.for", names=names), style="fact")]
    return [*made, Spacer(0, 9)]


def vehicle_strip(content: ReportInput, width: float) -> list[Flowable]:
    """Return what the vehicle is recognised by, between two hairlines."""
    vehicle = content.job.vehicle
    facts = [
        ("vehicle.registration", vehicle.registration, "fact bold", 0.20),
        ("vehicle.vehicle", labels.vehicle_words(vehicle), "fact", 0.33),
        ("vehicle.vin", vehicle.vin, "fact", 0.29),
        ("vehicle.odometer", _odometer(vehicle.odometer), "fact", 0.18),
    ]
    facts = [fact for fact in facts if fact[1]]
    if not facts:
        return []
    share = sum(fact[3] for fact in facts)
    cells = [[para(say(key), style="label"), para(shortened(value, 160), style=style)]
             for key, value, style, _ in facts]
    strip = side_by_side([cells], [width * fact[3] / share for fact in facts], [
        ("LINEABOVE", (0, 0), (-1, 0), HAIRLINE, RULE), ("LINEBELOW", (0, 0), (-1, 0), HAIRLINE, RULE),
        ("TOPPADDING", (0, 0), (-1, -1), 5), ("BOTTOMPADDING", (0, 0), (-1, -1), 7),
        ("RIGHTPADDING", (0, 0), (-2, -1), 8)])
    return [strip]


def _odometer(text: str) -> str:
    """Return the odometer with its unit as it is printed; what cannot be read stays as typed."""
    try:
        return show_entry(read_entry(text)) if text else ""
    except EntryError:
        return text


def complaint(content: ReportInput) -> list[Flowable]:
    """Return the complaint in the customer's words."""
    job = content.job
    made = heading("complaint.heading")
    if not any(one.words.strip() for one in job.complaints):
        made.append(para(say("complaint.none")))
    for one in job.complaints:
        if one.words.strip():
            made.append(para(f"“{one.words.strip()}”", style="quote"))
        words = sentences.complaint_words(one)
        if words:
            made.append(para(words, style="faint"))
    codes = sentences.codes_words(job.fault_codes)
    if codes:
        made.append(para(codes, style="faint"))
    return made


def found(content: ReportInput) -> list[Flowable]:
    """Return what was found in plain sentences."""
    job = content.job
    return [*heading("found.heading"), *lines(sentences.finding_sentences(job)),
            para(sentences.tally(job, content.evaluation), style="faint")]


def why_condemned(content: ReportInput, entry: Condemned, width: float) -> list[Flowable]:
    """Return the tests that speak for a condemned part, each with its mark, and what else it could have been."""
    job, evaluation = content.job, content.evaluation
    named = {step.id: step for step in job.steps}
    steps = [named[id_] for id_ in entry.steps if id_ in named]
    made = heading("why.heading", part=entry.part)
    for step in steps:
        words = sentences.reason_sentence(step, job, evaluation)
        reading = evaluation.reading_of(step.id)
        glyph = reading_glyph(reading, sentences.shown_reading(reading)) if reading else ""
        made.append(_beside(para(words), glyph, width) if glyph else para(words))
    if not steps:
        made.append(para(say("why.no_tests")))
    for key, words in (("others", entry.others_cleared), ("all_the_same", entry.all_the_same)):
        if words.strip():
            made.append(para(say(f"why.{key}", words=sentence(words))))
    if content.reader == "expert":
        case = case_of(job, evaluation, entry, suspicion=content.suspicion_of(entry.circuit or ""),
                       decision=content.decisions.get(entry.id))
        unproved = " ".join(sentence(sentences.with_test_numbers(doubt)) for doubt in case.doubts)
        made += [para(say("why.unproved", words=unproved))] if unproved else []
    return made


def _beside(words: Flowable, glyph: Flowable, width: float) -> Flowable:
    """Return a sentence with the mark of its reading at the right margin."""
    return side_by_side([[words, glyph]], [width - GLYPH_WIDTH, GLYPH_WIDTH],
                        [("RIGHTPADDING", (0, 0), (0, 0), 12), ("BOTTOMPADDING", (0, 0), (-1, -1), 3)])


def done(content: ReportInput) -> list[Flowable]:
    """Return what was done; nothing while nothing was."""
    job = content.job
    said = [words for entry in sentences.decided(job)
            if (words := " ".join(sentences.done_sentences(entry, job.parts)))]
    return [*heading("done.heading"), *lines(said)] if said else []


def proof(content: ReportInput, width: float) -> list[Flowable]:
    """Return the same tests before and after the repair, side by side."""
    job, evaluation = content.job, content.evaluation
    said = sentences.proof_sentence(job, evaluation)
    if not said:
        return []
    made = [*heading("proof.heading", space=175), para(said)]
    again = before_and_after(job, evaluation)
    if again:
        texts = CellTexts()
        rows = [_proof_row(content, pair, texts) for pair in again]
        side = 0.31
        made.append(ruled_table([say("proof.test"), say("proof.before"), say("proof.after")], rows,
                                [width * (1 - 2 * side), width * side, width * side], row_headers=True))
        made += texts.flowables()
    return made


def _proof_row(content: ReportInput, pair: BeforeAfter, texts: CellTexts) -> list[list[Flowable]]:
    further = say("tests.further", number=_number(pair.after.step))
    setup = texts.fit(pair.setup, further)
    held = content.evaluation.reading_of(pair.after.step.id)
    if held and held.judgement:
        setup = say("proof.expected", setup=setup, expected=held.judgement.expected.words())
    cell = [para(texts.fit(pair.title, further), style="cell"), para(setup, style="cell faint")]
    return [cell, _proof_cell(content, pair.before.step), _proof_cell(content, pair.after.step)]


def _proof_cell(content: ReportInput, step: Step) -> list[Flowable]:
    """Return a result with its glyph and verdict."""
    shown = sentences.result_words(step, content.evaluation)
    reading = content.evaluation.reading_of(step.id)
    cell = [para(upper_first(shown), style="cell bold")]
    glyph = reading_glyph(reading, shown, width=112, height=13) if reading else ""
    if glyph:
        cell.append(glyph)
    verdict = sentences.verdict_words(step, content.evaluation)
    label = say("proof.test_number", number=_number(step))
    cell.append(para(f"{label}: {verdict}" if verdict else label, style="cell faint"))
    return cell


def _number(step: Step) -> str:
    return sentences.number_of(step.id)


def cost(content: ReportInput) -> list[Flowable]:
    """Return what it costs, in sentences; the bill itself comes later."""
    return [*heading("cost.heading"), para(" ".join(sentences.cost_sentences(content.job, content.totals)))]


def watch(content: ReportInput) -> list[Flowable]:
    """Return what the customer should know from here on: what was not tested and which cautions applied."""
    job = content.job
    # The expert reads it, with everything else that is unproved, below the part.
    said = [say("why.unproved", words=sentence(entry.unproved)) for entry in sentences.decided(job)
            if entry.unproved.strip() and content.reader == "customer"]
    if job.not_tested:
        said.append(say("watch.not_tested", section=say("not_tested.heading")))
    if content.cautions:
        titles = ", ".join(bare(caution.title) for caution in content.cautions)
        said.append(say("watch.cautions", titles=titles, section=say("cautions.heading")))
    return [*heading("watch.heading"), *lines(said)] if said else []
