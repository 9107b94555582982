"""How we narrowed it down: which bars are shown, and what the customer reads and hears."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import msgspec
import pikepdf
import pypdf
import pytest
from paper.suspicions import suspicion_by_hand
from paper.test_structure import check_marks, elements

from workshop_log.exchange import records
from workshop_log.exchange.reading import read_job
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.suspicion import CircuitSuspicion, Moment, Share
from workshop_log.paper.narrowing import narrowing_of
from workshop_log.paper.report import make_report
from workshop_log.paper.report_input import ReportInput, report_input

_JOBS = Path(__file__).resolve().parents[2] / "sample_jobs"
ISSUED = datetime(2031, 5, 1, tzinfo=UTC)
HEADING = "How we narrowed it down"
NEVER_SAID = ("bits", "posterior", "prior ", "likelihood", "entropy", "bayes", "gum")

FEED = records.Circuit(id="feed", title="Feed of the pump", elements=(
    records.Element(id="battery", kind="battery", between=("B+", "B-"), voltage="12.6 V"),
    records.Element(id="F7", kind="fuse", between=("B+", "F7.out"), title="pump fuse"),
    records.Element(id="W1", kind="wire", between=("F7.out", "C3.2a"), title="feed to the pump"),
    records.Element(id="C3.2", kind="contact", between=("C3.2a", "M1.1"), title="pin 2 of plug C3"),
    records.Element(id="M1", kind="motor", between=("M1.1", "M1.2"), title="pump"),
    records.Element(id="G2", kind="ground point", between=("M1.2", "B-"))))
TOLD = (
    ("s1", "Voltage: B+ to B−: 12.61 V", {"battery": 0.01}),
    ("s2", "Look: pump: no damage found", {"M1": 0.9}),
    ("s3", "Voltage: M1.1 to B−: 0.2 V", {"M1": 0.001, "G2": 0.001, "nothing wrong": 0.005}),
    ("s4", "Voltage: F7.out to B−: 12.58 V", {"F7": 0.001}),
    ("s5", "Voltage: C3.2a to B−: 12.55 V", {"W1": 0.001}),
)


def shares(**probabilities: float) -> tuple[Share, ...]:
    return tuple(Share(key, f"{key} (part)", probability) for key, probability in probabilities.items())


def content_of(suspicion: CircuitSuspicion, history: tuple[Moment, ...], job: records.Job | None = None,
               reader: str = "customer") -> ReportInput:
    job = job or records.Job(circuits=(FEED,))
    none = records.Job()
    made = report_input(none, evaluate(none), {}, reader=reader, issued=ISSUED)
    return replace(made, job=job, evaluation=evaluate(job), suspicions=(suspicion,),
                   histories={suspicion.circuit: history})


def text_of(content: ReportInput) -> str:
    pages = pypdf.PdfReader(io.BytesIO(make_report(content))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).replace("\u00a0", " ").split())


def section_of(text: str) -> str:
    """Return what stands below the heading, up to the next one of the report."""
    return re.split(r"What was done|What it costs|Condemned, and why", text.split(HEADING)[1])[0]


# --- which bars -----------------------------------------------------------------------------------------------------


def test_bars_are_the_beginning_the_steps_that_moved_most_and_the_end() -> None:
    """Of seven steps four stand between, in the order in which they were made; the small ones are left out."""
    left = [1.0, 0.97, 0.85, 0.70, 0.55, 0.45, 0.30, 0.28]
    history = tuple(Moment(f"s{number}" if number else "", "", shares(a=1 - one, b=one))
                    for number, one in enumerate(left))
    suspicion = CircuitSuspicion("c", "", shares=history[-1].shares, n_steps=7)
    made = narrowing_of(suspicion, history)
    # By hand: they moved 3, 12, 15, 15, 10, 15 and 2 in 100; four are shown between, the last step moved too little.
    assert [bar.step for bar in made.earlier] == ["", "s2", "s3", "s4", "s6"]
    assert made.last.step == ""
    assert made.told_most == ("s3", "s4", "s6")


def test_last_bar_names_its_step_only_where_that_step_told_much() -> None:
    """Where the last test settled it, it is named beside the last bar and not shown twice."""
    history = (Moment("", "", shares(a=0.5, b=0.5)), Moment("s1", "Look: a", shares(a=0.9, b=0.1)))
    made = narrowing_of(CircuitSuspicion("c", "", shares=history[-1].shares, n_steps=1), history)
    assert ([bar.step for bar in made.earlier], made.last.step, made.last.title) == ([""], "s1", "Look: a")


def test_parts_keep_their_fill_and_their_place_in_every_bar() -> None:
    """The eye follows one part from bar to bar; what was likely for a while has a name as well."""
    history = (Moment("", "", shares(a=0.2, b=0.2, c=0.2, d=0.2, e=0.2)),
               Moment("s1", "", shares(a=0.02, b=0.03, c=0.9, d=0.03, e=0.02)),
               Moment("s2", "", shares(a=0.9, b=0.08, c=0.01, d=0.005, e=0.005)))
    made = narrowing_of(CircuitSuspicion("c", "", shares=history[-1].shares, n_steps=2), history)
    assert [share.key for share in made.named] == ["a", "b", "c"]
    for bar in (*made.earlier, made.last):
        assert [(segment.share.key, segment.fill) for segment in bar.segments] == [
            ("a", 0), ("b", 1), ("c", 2), ("d", None), ("e", None)]
    assert made.has_others


def test_without_a_history_there_is_one_bar() -> None:
    """What is possible now is shown even where nobody knows how it came about."""
    made = narrowing_of(CircuitSuspicion("", "", shares=shares(a=0.6, b=0.4)), ())
    assert made.earlier == ()
    assert [segment.share.key for segment in made.last.segments] == ["a", "b"]


def test_no_more_parts_have_a_fill_than_can_be_told_apart() -> None:
    """Twelve equal parts: five are named, the others stand together."""
    equal = shares(**{f"p{number}": 1 / 12 for number in range(12)})
    made = narrowing_of(CircuitSuspicion("c", "", shares=equal, n_steps=1), (Moment("", "", equal),))
    assert len(made.named) == 5
    assert sum(segment.fill is None for segment in made.last.segments) == 7


# --- what the customer reads ----------------------------------------------------------------------------------------


def test_customer_reads_the_beginning_the_narrowing_and_what_is_left() -> None:
    """One paragraph in plain words, percents without decimals."""
    said = section_of(text_of(content_of(*suspicion_by_hand(FEED, TOLD))))
    # By hand: six parts with 2 + 2 + 4 + 2 + 4 + 2 kinds of fault. In the end C3.2 stands at 1 against 0.01 of the
    # battery, 0.005 of nothing wrong, and about 0.001 of each of the four others: 98.1 % and 1.9 %.
    assert said.strip().startswith(
        "At the beginning 6 parts of the circuit could have been the cause, in 16 ways altogether. Testing cleared 4 "
        "of them. We learned most from tests 3, 4 and 5. What is left now: C3.2 (pin 2 of plug C3), 98 %; everything "
        "else together, 2 %. That counts as proved: one cause is over 95 %, and all others together are under 5 %. "
        "Before the first test")
    assert re.search(r"\d[.,]\d+ %", said) is None
    assert [word for word in NEVER_SAID if word in said.lower()] == []


def test_rows_say_what_was_tested_beside_their_bars() -> None:
    """Step number and what was tested, the beginning first, the end last."""
    said = section_of(text_of(content_of(*suspicion_by_hand(FEED, TOLD))))
    rows = ["Before the first test", "After test 1", "Voltage: B+ to B−: 12.61 V", "After test 3", "After test 4",
            "Now", "After test 5: Voltage: C3.2a to B−: 12.55 V"]
    places = [said.index(words) for words in rows]
    assert places == sorted(places)
    # The look moved next to nothing.
    assert "After test 2" not in said


def test_long_words_of_a_test_are_cut_between_words_and_its_result_stays() -> None:
    """What a test showed is why the bar changed."""
    step = records.MovementStep(id="s3", elements=("supply wire of the pump in the loom behind the left front wheel",),
                                trials=12, shown=7, watching=records.WatchVoltage(red="M1.1"))
    said = section_of(text_of(content_of(*suspicion_by_hand(FEED, TOLD), records.Job(circuits=(FEED,), steps=(step,)))))
    row = said.split("After test 3 ")[1].split("After test 4")[0]
    assert row.startswith("Movement test: supply wire of the pump in the loom …: fault shown in 7 of 12 movements ")


def test_how_the_bars_are_read_is_said_once() -> None:
    """Two circuits have a paragraph and bars each, and one explanation."""
    content = content_of(*suspicion_by_hand(FEED, TOLD))
    other = replace(content.suspicions[0], circuit="wash", title="Feed of the washer")
    text = text_of(replace(content, suspicions=(*content.suspicions, other)))
    assert text.count("At the beginning 6 parts") == 2
    assert text.count("Each bar is all that could be the cause") == 1


@pytest.mark.parametrize(("facts", "row", "sentence"), [
    ({}, "Now", "What is left now: "),
    ({"decision": "replace", "circuit": "feed", "element": "C3.2"}, "At the decision",
     "What was left when it was decided: "),
    ({"decision": "repair", "circuit": "feed", "repaired": datetime(2031, 4, 3, tzinfo=UTC)}, "Before the repair",
     "What was left before the repair: "),
    ({"decision": "let off", "circuit": "feed", "element": "M1"}, "Now", "What is left now: ")])
def test_last_bar_says_where_the_evidence_ended(facts: dict, row: str, sentence: str) -> None:
    """Tests after the repair do not count, and the report says so of what is left."""
    case = records.Condemned(id="k1", part="pin", **facts)
    job = records.Job(circuits=(FEED,), condemned=(case,) if facts else ())
    said = section_of(text_of(content_of(*suspicion_by_hand(FEED, TOLD), job)))
    assert sentence in said
    assert f"{row} After test 5" in said


def test_parts_that_no_test_tells_apart_and_doubtful_tests_are_said() -> None:
    """The customer hears why two parts go together, and that a test does not fit."""
    suspicion, history = suspicion_by_hand(FEED, TOLD[:3], contradicting=("s2",))
    first, second = suspicion.suspects[0], next(line for line in suspicion.suspects if line.share == "W1")
    first = replace(first, same_as=(second.key,))
    said = section_of(text_of(content_of(replace(suspicion, suspects=(first, *suspicion.suspects[1:])), history)))
    names = f"{suspicion.shares[0].name} and W1 (feed to the pump)"
    assert f"No test that can be made here tells these apart: {names}." in said
    assert "Not all tests agree with one another; test 2 is in doubt." in said


def test_causes_written_by_hand_are_counted_without_what_nobody_wrote() -> None:
    """Three causes were thought of; what is not on the list stands in the bar alone."""
    job = records.Job(suspects=tuple(records.HandSuspect(id=f"h{number}", name=name) for number, name in
                                     enumerate(("worn hub", "worn disc", "loose strut"), start=1)))
    suspicion = CircuitSuspicion("", "suspects written by hand", n_steps=1, shares=(
        Share("h2", "worn disc", 0.9, "standing"), Share("not listed", "something that nobody has written down", 0.08),
        Share("h1", "worn hub", 0.01, "cleared", ("s1",)), Share("h3", "loose strut", 0.01, "cleared", ("s1",))))
    said = section_of(text_of(content_of(suspicion, (), job)))
    assert said.strip().startswith("At the beginning we thought of 3 possible causes. Testing cleared 2 of them.")
    assert "worn disc, 90 %; something that nobody has written down, 8 %; everything else together, 2 %." in said


@pytest.mark.parametrize("suspicion", [
    CircuitSuspicion("feed", "Feed", problem="Element F7 has no rating."),
    replace(suspicion_by_hand(FEED, ())[0], n_steps=0),
    CircuitSuspicion("feed", "Feed")])
def test_nothing_is_shown_without_evidence(suspicion: CircuitSuspicion) -> None:
    """A circuit that nothing was tested of, or that cannot be computed, has no section for the customer."""
    assert HEADING not in text_of(content_of(suspicion, ()))


def test_job_without_circuit_and_suspects_has_no_section() -> None:
    """Such a job is as it always was."""
    job = records.Job()
    made = report_input(job, evaluate(job), {}, reader="customer", issued=ISSUED)
    assert made.suspicions == ()
    assert HEADING not in text_of(made)


@pytest.mark.parametrize("name", ["W" * 400, "<b>&amp; {x} %s", "\U0001f600 漢 \u05d0 Ω ✓", "(", " "])
def test_any_name_of_a_part_can_be_printed(name: str) -> None:
    """However long and whatever it holds, a name neither breaks the figure nor the page."""
    suspicion, history = suspicion_by_hand(FEED, TOLD)
    odd = tuple(replace(share, name=name) for share in suspicion.shares)
    moments = tuple(replace(moment, title=name, shares=tuple(replace(share, name=name) for share in moment.shares))
                    for moment in history)
    assert "Before the first test" in text_of(content_of(replace(suspicion, shares=odd), moments))


# --- what is heard --------------------------------------------------------------------------------------------------


def test_every_bar_is_a_figure_with_words_and_everything_is_marked() -> None:
    """A screen reader hears the parts of each bar with their shares, in the order of the bars."""
    with pikepdf.open(io.BytesIO(make_report(content_of(*suspicion_by_hand(FEED, TOLD))))) as pdf:
        check_marks(pdf)
        heard = [str(element.Alt).replace("\u00a0", " ") for element in elements(pdf)
                 if element.S == "/Figure" and "everything else" in str(element.Alt)]
    # Six parts and "nothing wrong" share the beginning alike: 14 in 100 each.
    assert heard[0].startswith("C3.2 (pin 2 of plug C3), 14 %; ")
    # The first and the last stand on the first page, and again among all five.
    assert len(heard) == 7
    assert heard[:2] == [heard[2], heard[-1]]
    assert heard[-1] == "C3.2 (pin 2 of plug C3), 98 %; everything else together, 2 %."


def test_same_values_give_the_same_bytes() -> None:
    """Nothing in the figure depends on chance."""
    content = content_of(*suspicion_by_hand(FEED, TOLD))
    assert make_report(content) == make_report(content)


# --- worked out from a job ------------------------------------------------------------------------------------------


def test_report_of_the_main_sample_names_the_part_that_was_at_fault() -> None:
    """`sample_jobs/expected.toml` names the joint J2 as the true fault; the report leaves it with over 99 in 100."""
    path = _JOBS / "ground-strap.job.json"
    job = read_job(path.read_bytes(), path.name)
    content = report_input(job, evaluate(job), {}, reader="customer", issued=ISSUED)
    said = section_of(text_of(content))
    assert "What was left before the repair: J2 (strap's joint on the body), over 99 %;" in said
    # 18 tests were made of which five came after the repair: none of those is beside a bar.
    later = [step.id[1:] for step in job.steps if step.after_repair]
    assert [number for number in later if re.search(rf"After test {number}\b", said)] == []


def test_steps_after_the_repair_change_nothing() -> None:
    """The bars are the same with and without the tests that prove the repair."""
    path = _JOBS / "ground-strap.job.json"
    job = read_job(path.read_bytes(), path.name)
    before = msgspec.structs.replace(job, steps=tuple(step for step in job.steps if not step.after_repair))
    facts = {"reader": "customer", "issued": ISSUED}
    assert (report_input(job, evaluate(job), {}, **facts).suspicions
            == report_input(before, evaluate(before), {}, **facts).suspicions)
