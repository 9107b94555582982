"""The case of each condemned part: what speaks for it, how sure it was, what else it could be, what cleared that."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workshop_log.jobs.case import case_of
from workshop_log.jobs.figures import in_a_hundred
from workshop_log.paper import sentences
from workshop_log.paper.drawings import GLYPH_WIDTH, reading_glyph
from workshop_log.paper.sections import heading
from workshop_log.paper.tables import side_by_side
from workshop_log.paper.text import para
from workshop_log.paper.wording import list_words, say, sentence

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

    from workshop_log.exchange.records import Condemned
    from workshop_log.jobs.case import Case
    from workshop_log.jobs.suspicion import CircuitSuspicion
    from workshop_log.paper.report_input import ReportInput


def why_condemned(content: ReportInput, entry: Condemned, width: float) -> list[Flowable]:
    """Return the tests that speak for a condemned part, each with its mark, how sure it was, and what else it could be.

    The expert also reads by which tests everything else was cleared, and all that is unproved.
    """
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
    case = _case(content, entry)
    is_expert = content.reader == "expert"
    others = say("why.others", words=sentence(entry.others_cleared)) if entry.others_cleared.strip() else ""
    own = say("why.all_the_same", words=sentence(entry.all_the_same)) if entry.all_the_same.strip() else ""
    said = (" ".join(sure_sentences(case, content)), others, cleared_words(case) if is_expert else "", own,
            _unproved(case) if is_expert else "")
    return made + [para(words) for words in said if words]


def _case(content: ReportInput, entry: Condemned) -> Case:
    return case_of(content.job, content.evaluation, entry, suspicion=content.suspicion_of(entry.circuit or ""),
                   decision=content.decisions.get(entry.id))


def _beside(words: Flowable, glyph: Flowable, width: float) -> Flowable:
    """Return a sentence with the mark of its reading at the right margin."""
    return side_by_side([[words, glyph]], [width - GLYPH_WIDTH, GLYPH_WIDTH],
                        [("RIGHTPADDING", (0, 0), (0, 0), 12), ("BOTTOMPADDING", (0, 0), (-1, -1), 3)])


# --- how sure it was ------------------------------------------------------------------------------------------------


def sure_sentences(case: Case, content: ReportInput) -> tuple[str, ...]:
    """Return how likely it was the cause, what goes together with it and why, and which tests are in doubt."""
    entry, said = case.condemned, []
    rests_on_tests = case.figures is not None and case.figures.n_steps > 0
    if entry.probability_right is not None or (case.probability_right is not None and rests_on_tests):
        then = "decided" if entry.probability_right is not None else "repaired" if entry.repaired else "now"
        said.append(say(f"why.sure.{then}", chance=in_a_hundred(case.probability_right)))
    if case.figures is not None and case.figures.together_words:
        said.append(case.figures.together_words)
    suspicion = content.suspicion_of(entry.circuit or "")
    if suspicion is not None and _is_in_doubt(case):
        said.append(doubtful_words(suspicion))
    return tuple(said)


def doubtful_words(suspicion: CircuitSuspicion) -> str:
    """Return which tests do not go with the others; blank where all do."""
    numbers = [sentences.number_of(step) for step in suspicion.contradicting]
    if not numbers:
        return ""
    return say("narrowing.doubtful_one" if len(numbers) == 1 else "narrowing.doubtful", tests=list_words(numbers))


def _is_in_doubt(case: Case) -> bool:
    # Whether it was the cause is known better after the repair than any figure could say.
    return bool(case.figures and case.figures.contradictions) and not case.condemned.was_the_cause


def told_in_cases(content: ReportInput, suspicion: CircuitSuspicion) -> frozenset[str]:
    """Return what the cases of a circuit's condemned parts say of it already: "alike", "doubtful", both or neither."""
    cases = [_case(content, entry) for entry in sentences.decided(content.job)
             if (entry.circuit or "") == suspicion.circuit]
    said = {"alike": any(case.figures and case.figures.together_words for case in cases),
            "doubtful": any(map(_is_in_doubt, cases))}
    return frozenset(name for name, is_said in said.items() if is_said)


# --- for the expert -------------------------------------------------------------------------------------------------


def cleared_words(case: Case) -> str:
    """Return by which tests everything else was cleared, one sentence for those that the same tests cleared."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for cleared in case.figures.cleared if case.figures else ():
        groups.setdefault(cleared.steps, []).append(cleared.name)
    said = []
    for steps, names in groups.items():
        numbers = [sentences.number_of(step) for step in steps]
        key = {0: "cleared_by_none", 1: "cleared_by_one"}.get(len(numbers), "cleared_by_many")
        said.append(sentence(say(f"why.{key}", tests=list_words(numbers), names="; ".join(names))))
    return " ".join(said)


def _unproved(case: Case) -> str:
    """Return what is not proved; what does not go together stands in the annex."""
    known = case.figures.contradictions if case.figures else ()
    doubts = " ".join(sentence(sentences.with_test_numbers(doubt)) for doubt in case.doubts if doubt not in known)
    return say("why.unproved", words=doubts) if doubts else ""
