"""The sample jobs: they read, they come out as their README says, and they are consistent in themselves."""

from __future__ import annotations

import hashlib
import io
import re
import tomllib
from collections import defaultdict
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest
from PIL import Image

from workshop_log.exchange.reading import check_job, read_job
from workshop_log.exchange.records import Job
from workshop_log.exchange.writing import write_job
from workshop_log.jobs import money
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.waiting import waits_for
from workshop_log.measuring.entry import read_entry
from workshop_log.measuring.sensors import NtcBeta

FOLDER = Path(__file__).resolve().parent.parent / "sample_jobs"
NAMES = sorted(path.name.removesuffix(".job.json") for path in FOLDER.glob("*.job.json"))
EXPECTED = tomllib.loads((FOLDER / "expected.toml").read_text(encoding="utf-8"))
README = (FOLDER / "README.md").read_text(encoding="utf-8")
# The one thing that is wrong on purpose.
VIN_WITH_A_SLIP = "tailgate-unit"
ELECTRICAL = ("drained-battery", "ground-strap", "chafed-wire", "tailgate-unit", "data-bus", "fuel-sender")
LARGEST_PHOTO = 60_000

each_sample = pytest.mark.parametrize("name", NAMES)


@cache
def sample(name: str) -> Job:
    return read_job((FOLDER / f"{name}.job.json").read_bytes(), f"{name}.job.json")


def step(job: Job, step_id: str):
    return next(step for step in job.steps if step.id == step_id)


def value(name: str, step_id: str) -> float:
    """Return a step's reading in its base unit."""
    return read_entry(step(sample(name), step_id).reading).value


# --- as its README says ---------------------------------------------------------------------------------------------


def test_every_file_has_expectations_and_every_expectation_a_file():
    """No sample can be added without saying what should come out."""
    assert sorted(EXPECTED) == NAMES
    assert len(NAMES) >= 8


@each_sample
def test_sample_reads_with_no_more_warnings_than_meant(name):
    """Only one file warns: of the VIN whose check digit is wrong on purpose."""
    findings = [(finding.severity, finding.path) for finding in check_job(sample(name))]
    assert findings == ([("warning", "vehicle.vin")] if name == VIN_WITH_A_SLIP else [])


@each_sample
def test_sample_is_written_as_it_stands(name):
    """Reading and writing leaves every byte of the file as it was."""
    assert write_job(sample(name)) == (FOLDER / f"{name}.job.json").read_bytes()


@each_sample
def test_every_reading_comes_out_as_expected(name):
    """Each reading with a number has the verdict that the job was written for."""
    verdicts = {reading.step.id: reading.verdict.value for reading in evaluate(sample(name)).readings}
    assert verdicts == EXPECTED[name]["verdicts"]


@each_sample
def test_sample_waits_for_what_it_should(name):
    """Nine jobs are finished; one waits for an approval and one for a part."""
    assert sample(name).number == EXPECTED[name]["number"]
    assert waits_for(sample(name)).key == EXPECTED[name]["waits_for"]


@each_sample
def test_readme_says_the_same_verdicts(name):
    """The table in words and the one for machines agree, and each line says why."""
    section = README.split(f"\n## {name}\n")[1].split("\n## ")[0]
    rows = re.findall(r"^\| (s\d+) \| ([a-z ]+) \| (.*) \|$", section, re.MULTILINE)
    assert {step_id: verdict for step_id, verdict, _ in rows} == EXPECTED[name]["verdicts"]
    assert all(why for _, _, why in rows)


# --- consistent in itself -------------------------------------------------------------------------------------------


@each_sample
def test_steps_follow_each_other_within_the_clock(name):
    """Evidence stands in the order in which it was taken, while somebody was working on the job."""
    job = sample(name)
    times = [step.at for step in job.steps]
    assert times == sorted(times)
    for at in times:
        assert any(line.start <= at <= line.end for line in job.clock), at


def test_nobody_works_on_two_jobs_at_once():
    """A person's time lines never overlap, over all jobs."""
    lines = defaultdict(list)
    for name in NAMES:
        for line in sample(name).clock:
            lines[line.person].append((line.start, line.end))
    assert len(lines) == 2
    for worked in lines.values():
        worked.sort()
        assert all(earlier[1] <= later[0] for earlier, later in zip(worked, worked[1:], strict=False))


@each_sample
def test_work_stays_within_what_was_approved(name):
    """The bill lies within the last approval, and the labour up to each approval within the one before it."""
    job = sample(name)
    assert money.beyond_approval(job) is None
    assert not money.totals(job).open_questions
    rate = job.workshop.labour_rate / 60 * (1 + job.workshop.tax_rate / 100)
    for earlier, later in zip(job.approvals, job.approvals[1:], strict=False):
        billed = sum(Decimal(str(line.billed_minutes)) for line in job.clock if line.end <= later.at)
        assert billed * rate <= earlier.up_to
        assert all(part.ordered is None or part.ordered > earlier.at for part in job.parts)


@each_sample
def test_corrections_say_why_and_letting_off_and_condemning_say_by_what(name):
    """A replaced reading has its reason; each decision names steps made before it and a sentence to read aloud."""
    job = sample(name)
    for made in job.steps:
        assert bool(made.replaces) == bool(made.because)
    for condemned in job.condemned:
        assert condemned.finding.endswith(".")
        assert all(step(job, step_id).at <= condemned.at for step_id in condemned.steps)
        assert condemned.steps or condemned.element


@each_sample
def test_people_and_places_are_invented(name):
    """Telephone numbers come from the ranges reserved for drama, addresses of e-mail from example.org."""
    job = sample(name)
    for person in (job.workshop, job.customer):
        assert re.fullmatch(r"01632 960\d{3}|07700 900\d{3}", person.phone)
        assert person.email.endswith("example.org")
    assert job.vehicle.registration.startswith("ZZ00 ")


@each_sample
def test_photos_are_small_drawings_without_metadata(name):
    """Each picture is what its fingerprint says, says that it is a drawing, and carries nothing of a camera."""
    for photo in sample(name).photos:
        assert hashlib.sha256(photo.data).hexdigest() == photo.sha256
        assert len(photo.data) < LARGEST_PHOTO
        assert photo.caption.endswith("(drawing)")
        with Image.open(io.BytesIO(photo.data)) as picture:
            assert (picture.format, picture.size) == ("JPEG", (800, 600))
            assert not picture.getexif()


@pytest.mark.parametrize("name", ELECTRICAL)
def test_electrical_sample_carries_its_circuit(name):
    """A small circuit is there, and every step that names it probes points and moves elements that exist."""
    job = sample(name)
    [circuit] = job.circuits
    assert 5 <= len(circuit.elements) <= 15
    points = {point for element in circuit.elements
              for point in (*(element.between or ()), *(element.coil or ()), element.common, element.normally_open)}
    elements = {element.id for element in circuit.elements}
    setups = {"", "as found", *(setup.id for setup in circuit.setups)}
    on_circuit = [made for made in job.steps if made.circuit]
    assert on_circuit
    for made in on_circuit:
        assert made.setup in setups
        for place in ("red", "black", "clip", "probe"):
            assert getattr(made, place, "B-") in points
        named = [*getattr(made, "elements", ()), getattr(made, "through", None), getattr(made, "element", None)]
        assert {element for element in named if element} <= elements


# --- the readings obey physics --------------------------------------------------------------------------------------


def test_drops_of_the_starter_circuit_add_up():
    """Kirchhoff: the drops along the ground side make its whole, and supply side, motor and ground side the battery.

    The motor's own drop is the clamp's current times its 55.5 mΩ.
    """
    name = "ground-strap"
    ground = sum(value(name, step_id) for step_id in ("s9", "s10", "s11", "s12"))
    assert ground == pytest.approx(value(name, "s8"), abs=0.002)
    motor = value(name, "s5") * 55.5e-3
    assert value(name, "s6") + motor + value(name, "s8") == pytest.approx(value(name, "s4"), abs=0.02)
    after = value(name, "s17") * 55.5e-3 + value(name, "s15")
    assert after < value(name, "s18") < after + 0.3


def test_voltage_over_the_fuse_is_the_drain():
    """7.3 mV over a 25 A blade fuse of 2.52 mΩ are the 2.93 A measured in the cable, within 3 %."""
    name = "drained-battery"
    assert value(name, "s13") / 2.52e-3 == pytest.approx(value(name, "s10"), rel=0.03)


def test_limits_of_the_temperature_sensor_are_those_of_its_curve():
    """The limits typed into the job are the curve's at ± 0.5 °C, rounded to the digits typed."""
    curve = NtcBeta(2500, 3468, r25_percent=3, beta_percent=3)
    for step_id, temperature in (("s10", 20.0), ("s13", 80.0)):
        expected = step(sample("temperature-sensor"), step_id).expected
        computed = curve.expected_range(temperature, 0.5)
        assert read_entry(expected.low).value == pytest.approx(computed.low, abs=0.5)
        assert read_entry(expected.high).value == pytest.approx(computed.high, abs=0.5)
    # R25 exp(B (1/T - 1/T25)) = 648 Ω, solved by hand: T = 337.3 K.
    assert curve.temperature(value("temperature-sensor", "s13")) == pytest.approx(64.2, abs=0.1)


def test_two_terminating_resistors_lie_side_by_side():
    """120.46 Ω and 120.11 Ω in parallel are 60.1 Ω; the wires between add two tenths."""
    name = "data-bus"
    front, rear = value(name, "s7"), value(name, "s12")
    assert front * rear / (front + rear) == pytest.approx(value(name, "s13"), abs=0.3)


def test_trailer_lamps_draw_what_their_power_says():
    """Hand calculation: 25 W at 12 V are 2.08 A, and that current over 0.229 Ω of supply side drops 0.477 V.

    0.229 Ω: fuse 7.7 mΩ, switch 20 mΩ, 7.9 m of 0.75 mm² copper at 1/58 Ω mm²/m, two contacts of 10 mΩ.
    """
    name = "chafed-wire"
    assert value(name, "s4") == pytest.approx(25 / 12, rel=0.01)
    resistance = 0.0077 + 0.020 + 7.9 / (58 * 0.75) + 2 * 0.010
    assert value(name, "s6") == pytest.approx(value(name, "s4") * resistance, rel=0.01)
