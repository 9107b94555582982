"""The first page: five questions and their answers, in their order, on one page however much was written."""

from __future__ import annotations

import io
import re
from pathlib import Path

import msgspec
import pypdf
import pytest
from paper.conftest import ISSUED

from workshop_log.exchange import records
from workshop_log.exchange.reading import read_job
from workshop_log.jobs.evaluation import evaluate
from workshop_log.paper.report import make_report
from workshop_log.paper.report_input import report_input

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_jobs").glob("*.job.json"))
QUESTIONS = ["The complaint", "What was wrong", "How we know", "What was done", "What it cost", "What to watch"]


def pages_of(job: records.Job, paper: str = "A4", reader: str = "customer") -> list[str]:
    """Return the text of each page of the job's report."""
    pdf = make_report(report_input(job, evaluate(job), {}, reader=reader, issued=ISSUED, paper=paper))
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def sample(name: str) -> records.Job:
    """Return a sample job."""
    path = next(path for path in SAMPLES if path.name.startswith(name))
    return read_job(path.read_bytes(), path.name)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name.split(".")[0])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_first_page_of_every_sample_answers_all_five_questions(path: Path, paper: str) -> None:
    """On either sheet, in their order and whole; what comes behind begins on the next page."""
    job = read_job(path.read_bytes(), path.name)
    pages = pages_of(job, paper)
    places = [pages[0].index(question) for question in QUESTIONS]
    assert places == sorted(places)
    assert "Tests and readings" not in pages[0]
    # The footer is drawn first; then a heading, and not the end of an answer. An answer may stand there in full.
    assert re.match(r"Page 2 of \d+ Job [\w-]+ · [\w ]+?(Fingerprint [\w ]+?)?"
                    r"(How we narrowed it down|Condemned, and why|Tests and readings|What was wrong|What was done)",
                    pages[1])


def test_long_texts_are_cut_on_the_first_page_and_whole_behind_it() -> None:
    """All five answers still stand on the first page; nothing is lost."""
    job = sample("ground-strap")
    note = "The strap was looked at once more. " * 60 + "Last word of {}."
    changed = tuple(msgspec.structs.replace(case, finding=note.format("finding"), what_was_done=note.format("repair"),
                                            unproved=note.format("unproved")) if case.decision == "replace" else case
                    for case in job.condemned)
    job = msgspec.structs.replace(job, condemned=changed, not_tested=(note.format("untested"), "Heater."))
    for paper in ("A4", "Letter"):
        pages = pages_of(job, paper)
        assert [question in pages[0] for question in QUESTIONS] == [True] * len(QUESTIONS)
        assert not any(f"Last word of {what}" in pages[0] for what in ("finding", "repair", "unproved", "untested"))
        rest = " ".join(pages[1:])
        assert [what for what in ("finding", "repair", "unproved", "untested") if f"Last word of {what}." not in rest] \
            == []


def test_short_job_says_what_it_has_not() -> None:
    """Every question has an answer, even where the answer is that there is nothing."""
    first, *_ = pages_of(records.Job(number="2031-0001"))
    told = first.split("How we know")[1]
    known, told = told.split("What was done")
    done, told = told.split("What it cost")
    cost, watch = told.split("What to watch")
    assert all(len(words.split()) > 3 for words in (known, done, cost, watch))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("reader", ["customer", "expert"])
def test_long_complaints_and_many_parts_leave_room_for_the_answers(paper: str, reader: str) -> None:
    """Six complaints and eight condemned parts, each as long as can be: the first page still answers everything."""
    job = sample("ground-strap")
    told = "It hums, flickers and then stops. " * 290 + "End of {}."
    case = next(case for case in job.condemned if case.decision == "replace")
    job = msgspec.structs.replace(
        job,
        complaints=tuple(records.Complaint(id=f"c{n}", words=told.format(f"complaint {n}"), appears="always",
                                           conditions="On wet mornings. " * 12) for n in range(6)),
        condemned=tuple(msgspec.structs.replace(case, id=f"k{n}", part=f"part {n}", unproved=told.format(f"doubt {n}"),
                                                finding=told.format(f"finding {n}"),
                                                what_was_done=told.format(f"repair {n}")) for n in range(8)))
    pages = pages_of(job, paper, reader)
    places = [pages[0].index(question) for question in QUESTIONS]
    assert places == sorted(places)
    assert not any(question in pages[1] for question in QUESTIONS[1:])
    whole = " ".join(pages)
    for number in range(6):
        assert f"End of complaint {number}." in whole
    for number in range(8):
        assert f"End of finding {number}." in whole
        assert f"End of repair {number}." in whole
