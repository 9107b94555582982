"""Sentences are found with their places and can be left out; the job stays one that can be read."""

from __future__ import annotations

from exchange.strategies import jobs
from hypothesis import given, settings

from workshop_log.exchange import records as r
from workshop_log.exchange.free_text import FreeText, Place, all_texts, free_texts, labels_of, without_texts
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.writing import write_job

JOB = r.Job(
    complaints=(r.Complaint(id="c1", words="Dark", conditions="wet"),),
    fault_codes=(r.FaultCode(code="P0143", note="first"), r.FaultCode(code="P0143", unit="body", note="second")),
    steps=(r.ObserveStep(id="s1", element="lamp", works=False, note="seen twice"),),
    notes=(r.Note(id="n1", at="2031-01-01", who="A", words="Called."),), not_tested=("the bulb", "the switch"))


def test_sentences_are_found_with_their_places():
    """Items by their id; a fault code, which may stand twice, and what was left untested by its number."""
    assert free_texts(JOB) == (
        FreeText(Place("complaints", "c1", "words"), "Dark"), FreeText(Place("complaints", "c1", "conditions"), "wet"),
        FreeText(Place("fault_codes", "0", "note"), "first"), FreeText(Place("fault_codes", "1", "note"), "second"),
        FreeText(Place("steps", "s1", "note"), "seen twice"), FreeText(Place("notes", "n1", "words"), "Called."),
        FreeText(Place("not_tested", "0", ""), "the bulb"), FreeText(Place("not_tested", "1", ""), "the switch"))


def test_names_and_titles_are_told_apart_from_sentences():
    """Each once."""
    assert labels_of(JOB) == ("body", "lamp")
    assert ("who", "A") in set(all_texts(JOB))


def test_only_what_is_meant_is_left_out():
    """One of two notes on the same code; a note goes whole, a step stays."""
    left = without_texts(JOB, {Place("fault_codes", "1", "note"), Place("notes", "n1", "words"),
                               Place("not_tested", "0", ""), Place("steps", "s1", "note"),
                               Place("steps", "s9", "note")})
    assert [code.note for code in left.fault_codes] == ["first", ""]
    assert (left.notes, left.not_tested, left.steps[0].note) == ((), ("the switch",), "")
    assert left.complaints == JOB.complaints


@settings(max_examples=60)
@given(job=jobs())
def test_a_job_without_all_its_sentences_is_still_a_job(job):
    """And with none left out it is the same."""
    assert without_texts(job, ()) == job
    bare = without_texts(job, {text.place for text in free_texts(job)})
    assert free_texts(bare) == ()
    assert read_job(write_job(bare), "bare") == bare
