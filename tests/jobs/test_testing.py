"""Steps in the book: taken down, corrected, made again; instruments, circuits and photos with them."""

from __future__ import annotations

from datetime import timedelta

import pytest

from workshop_log.book.errors import UnknownItemError
from workshop_log.exchange.records import (
    Circuit,
    Element,
    Expected,
    Instrument,
    InstrumentRange,
    Job,
    LampStep,
    LookStep,
    MovementStep,
    ObserveStep,
    SwapStep,
    VoltageStep,
)
from workshop_log.jobs import photos, testing
from workshop_log.jobs.evaluation import evaluate, is_proved
from workshop_log.jobs.testing import StepError, StepRefusedError, read_again
from workshop_log.measuring.ranges import ExpectedRange

METER = Instrument(id="meter", ranges=(
    InstrumentRange(quantity="voltage", up_to="60 V", percent=0.5, counts=2, resolution="0.01 V"),))
LAMP = Instrument(id="lamp", kind="test lamp")
STRAP = VoltageStep(id="x", red="strap", setup="cranking", reading="0.48 V", expected=Expected(high="0.2 V"))


def intact(book, number) -> bool:
    from book.sealed import verify_job

    with book.read() as session:
        return verify_job(session, number).intact


def test_step_gets_its_number_and_time(book, job, now) -> None:
    """Numbers go up and are the book's, whatever the step brought."""
    testing.record_step(book, job.number, STRAP, now)
    job = testing.record_step(book, job.number, STRAP, now + timedelta(minutes=1))
    assert [(step.id, step.at) for step in job.steps] == [("s1", now), ("s2", now + timedelta(minutes=1))]
    assert intact(book, job.number)


def test_correction_stays_beside_what_it_corrects(book, job, now) -> None:
    """Both entries stay, the chain is whole, and a step is corrected once."""
    testing.record_step(book, job.number, STRAP, now)
    right = VoltageStep(id="x", red="strap", reading="0.05 V")
    job = testing.correct_step(book, job.number, "s1", right, "probe slipped", now)
    assert [(step.id, step.replaces, step.because) for step in job.steps] == [
        ("s1", None, ""), ("s2", "s1", "probe slipped")]
    with pytest.raises(StepError, match="corrected by step s2 already"):
        testing.correct_step(book, job.number, "s1", right, "again", now)
    with pytest.raises(StepError, match="needs a reason"):
        testing.correct_step(book, job.number, "s2", right, " ", now)
    with pytest.raises(UnknownItemError):
        testing.correct_step(book, job.number, "s9", right, "x", now)
    assert intact(book, job.number)


@pytest.mark.parametrize("step", [
    VoltageStep(id="x", red="strap", reading="twelve"),
    VoltageStep(id="x", red="strap", reading="3 mm"),
    VoltageStep(id="x", red="strap", reading="3 V", instrument="nowhere"),
    VoltageStep(id="x", red="strap", reading="3 V", circuit="nowhere"),
    VoltageStep(id="x", red="strap", reading="3 V", expected=Expected(low="4 V", high="2 V")),
])
def test_step_that_could_not_stand_in_a_job_file_is_refused_whole(book, job, now, step) -> None:
    """One sentence, and nothing of it in the book."""
    with pytest.raises(StepError) as refused:
        testing.record_step(book, job.number, step, now)
    assert str(refused.value)
    assert testing.record_step(book, job.number, STRAP, now).steps[0].id == "s1"


def test_lamp_on_a_restraint_is_refused(book, job, now) -> None:
    """It is not taken down, so that nobody reads it as the way to do it."""
    with pytest.raises(StepRefusedError):
        testing.record_step(book, job.number, LampStep(id="x", clip="B-", probe="airbag pin 1", result="dark"), now)


def test_instrument_in_the_hand_is_kept_with_the_job(book, job, now) -> None:
    """The accuracy that judged a reading stays with it."""
    step = VoltageStep(id="x", red="strap", reading="0.48 V", instrument="meter")
    job = testing.record_step(book, job.number, step, now, instrument=METER)
    assert job.instruments == (METER,)
    assert testing.record_step(book, job.number, step, now, instrument=METER).instruments == (METER,)
    assert intact(book, job.number)


def test_proved_instrument_counts_for_the_steps_after_it(book, job, now) -> None:
    """Also where the window still holds the instrument from before."""
    testing.prove_instrument(book, job.number, METER, now)
    step = VoltageStep(id="x", red="strap", reading="0.48 V", instrument="meter")
    job = testing.record_step(book, job.number, step, now + timedelta(minutes=5), instrument=METER)
    assert job.instruments[0].last_proved == now
    assert is_proved(job.steps[0], job) is True


def test_bad_instrument_and_bad_circuit_are_refused(book, job) -> None:
    """What could not stand in a job file does not enter the book."""
    with pytest.raises(StepError):
        testing.save_instrument(book, job.number, Instrument(id="m", input_resistance="high"))
    with pytest.raises(StepError):
        testing.save_circuit(book, job.number, Circuit(id="f", elements=(Element(id="F7", kind="fuse"),)))


def test_circuit_is_kept_with_every_change(book, job) -> None:
    """The job shows the last one; the chain has each."""
    feed = Circuit(id="feed", title="Feed", elements=(
        Element(id="battery", kind="battery", between=("B+", "B-"), voltage="12.6 V"),))
    testing.save_circuit(book, job.number, feed)
    job = testing.save_circuit(book, job.number, Circuit(id="feed", title="Wiper feed", elements=feed.elements))
    assert [circuit.title for circuit in job.circuits] == ["Wiper feed"]
    assert [entry.kind for entry in job.seal.entries].count("circuit") == 2
    assert intact(book, job.number)


# --- lines


def test_range_and_instrument_chosen_beside_the_line_go_with_it() -> None:
    """What the line says itself wins."""
    chosen = Expected(high="0.3 V", source="common practice, no source")
    step = testing.read_entry_line("0.25 V strap", Job(), expected=chosen, instrument=METER).step
    assert (step.expected, step.instrument) == (chosen, "meter")
    assert testing.read_entry_line("0.25 V strap <0.2 V", Job(), expected=chosen).step.expected.high == "0.2 V"
    assert testing.read_entry_line("lamp F7 dark", Job(), instrument=METER).step.instrument is None
    assert testing.read_entry_line("lamp F7 dark", Job(), instrument=LAMP).step.instrument == "lamp"


def test_range_of_another_kind_is_a_problem_before_it_is_recorded() -> None:
    """A range in millimetres chosen for a voltage is said under the line."""
    line = testing.read_entry_line("0.25 V strap", Job(), expected=Expected(low="22 mm"))
    assert line.step is None
    assert line.problem


@pytest.mark.parametrize(("template", "typed", "fields"), [
    (STRAP, "0.04", {"reading": "0.04 V", "red": "strap", "setup": "cranking", "expected": STRAP.expected}),
    (STRAP, "40 mV", {"reading": "40 mV", "red": "strap"}),
    (STRAP, "0.04 V clamp", {"reading": "0.04 V", "red": "clamp", "expected": STRAP.expected}),
    (LampStep(id="s1", clip="B-", probe="F7", result="dark"), "lit", {"result": "lit", "probe": "F7"}),
    (LookStep(id="s1", elements=("loom",), result="damage"), "nothing", {"result": "nothing", "elements": ("loom",)}),
    (LookStep(id="s1", elements=("loom",), result="damage", strength="strong"), "nothing",
     {"result": "nothing", "strength": "fair"}),
    (LookStep(id="s1", elements=("loom",), result="damage"), "slight damage",
     {"result": "damage", "strength": "slight"}),
    (SwapStep(id="s1", element="R2", cured=True), "not cured", {"cured": False, "element": "R2"}),
    (MovementStep(id="s1", elements=("loom",), trials=10, shown=3), "0/20", {"shown": 0, "trials": 20}),
    (ObserveStep(id="s1", element="wiper", works=False), "works", {"works": True, "element": "wiper"}),
    (SwapStep(id="s1", element="R2", cured=False), "cured", {"cured": True, "element": "R2"}),
])
def test_result_alone_is_the_same_test_again(template, typed, fields) -> None:
    """Place, setup, range and unit are those of before; only the result is typed."""
    job = Job(steps=(template,))
    line = read_again(typed, template, job, after_repair=True)
    assert not line.problem
    assert {name: getattr(line.step, name) for name in fields} == fields
    assert line.step.after_repair
    assert line.step.repeats == template.id
    assert read_again(typed, template, job, after_repair=False).step.repeats is None


@pytest.mark.parametrize("step", [
    STRAP, LampStep(id="s1", clip="B-", probe="F7", result="dim"), LookStep(id="s1", elements=("a",), result="nothing"),
    MovementStep(id="s1", elements=("a",), trials=9, shown=2), ObserveStep(id="s1", element="a", works=False),
    LookStep(id="s1", elements=("a",), result="damage", strength="strong"),
    SwapStep(id="s1", element="a", cured=False)])
def test_words_to_retype_give_the_same_result(step) -> None:
    """What is offered for correction means what stands there."""
    again = read_again(testing.words_to_retype(step), step, Job(steps=(step,)), after_repair=False).step
    results = ("reading", "result", "strength", "shown", "works", "cured")
    kept = [name for name in type(step).__struct_fields__ if name in results]
    assert kept
    assert [getattr(again, name) for name in kept] == [getattr(step, name) for name in kept]


def test_expected_range_is_written_with_all_digits_that_matter() -> None:
    """A computed limit keeps fifteen digits on the way into the job file."""
    limits = ExpectedRange(0.1 + 0.2, 1 / 3, "V", "from the conductor")
    step = VoltageStep(id="s1", red="a", reading="0.32 V", expected=testing.expected_record(limits))
    read = evaluate(Job(steps=(step,))).readings[0].expected
    assert (read.low, read.high) == pytest.approx((limits.low, limits.high), rel=1e-14)
    assert (read.unit, read.source) == ("V", "from the conductor")


# --- photos


def test_photo_is_kept_once_and_its_caption_is_a_new_entry(book, job, picture, now) -> None:
    """The bytes lie in the file store; the last caption stands."""
    testing.add_photo(book, job.number, picture, "strap.jpg", now)
    job = testing.add_photo(book, job.number, picture, "strap.jpg", now)
    (photo,) = job.photos
    assert book.files.get(photo.sha256).startswith(b"\xff\xd8")
    job = photos.caption_photo(book, job.number, photo.id, "The corroded end", now + timedelta(minutes=1))
    assert [photo.caption for photo in photos.standing_photos(job)] == ["The corroded end"]
    assert len(job.photos) == 2
    assert intact(book, job.number)
