"""An invented job, a starter that cranks slowly because of its ground strap, and reports made from it."""

from __future__ import annotations

import hashlib
import io
from datetime import datetime, timedelta, timezone
from decimal import Decimal

import pytest
from msgspec.structs import replace
from PIL import Image, ImageDraw

from workshop_log.exchange import records
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.records import (
    Approval,
    Complaint,
    Condemned,
    Customer,
    Expected,
    FaultCode,
    Instrument,
    InstrumentRange,
    Job,
    LookStep,
    MovementStep,
    Note,
    Part,
    Photo,
    TimeLine,
    ValueStep,
    Vehicle,
    VoltageStep,
    Workshop,
)
from workshop_log.exchange.seal import seal_job
from workshop_log.exchange.writing import write_job
from workshop_log.jobs.cautions import cautions_for
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.money import totals
from workshop_log.paper.report_input import ReportInput

ZONE = timezone(timedelta(hours=1))
ISSUED = datetime(2031, 4, 3, 16, 40, tzinfo=ZONE)


def at(day: int, hour: int, minute: int) -> datetime:
    return datetime(2031, 4, day, hour, minute, tzinfo=ZONE)


def picture(width: int, height: int, words: str, **options: object) -> bytes:
    image = Image.new("RGB", (width, height), (98, 104, 110))
    draw = ImageDraw.Draw(image)
    for step in range(0, width, 40):
        draw.line((step, 0, width - step, height), fill=(120 + step % 90, 110, 96), width=9)
    draw.rectangle((width * 0.3, height * 0.35, width * 0.7, height * 0.65), fill=(176, 138, 84))
    draw.text((40, 40), words, fill="white")
    file = io.BytesIO()
    image.save(file, "JPEG", quality=88, **options)
    return file.getvalue()


@pytest.fixture(scope="session")
def pictures() -> dict[str, bytes]:
    """Two photos by their SHA-256."""
    made = (picture(1600, 1200, "strap"), picture(1500, 1200, "meter"))
    return {hashlib.sha256(data).hexdigest(): data for data in made}


@pytest.fixture(scope="session")
def ground_strap(pictures: dict[str, bytes]) -> Job:
    """Return the job, sealed."""
    at_most = Expected(high="0.2 V", source="common practice for a cable that carries the starter's current")
    strap, meter = pictures
    job = Job(
        number="2031-0007", opened=at(2, 8, 35),
        workshop=Workshop(name="Larkfield Vehicle Electrics", address="Unit 4, Old Maltings Yard\nWhinbury WB4 7QX",
                          phone="01632 960 114", email="bench@larkfield.example.org", tax_number="GB 000 0000 00",
                          labour_rate=Decimal("64.00"), tax_rate=Decimal(20)),
        customer=Customer(name="Mrs Odile Harrowgate", phone="07700 900 412",
                          address="3 Weavers Row\nWhinbury"),
        vehicle=Vehicle(registration="WX27 KTR", vin="ZZ9TRN4V7V1004217", make="Tarn", model="Vela", year=2027,
                        odometer="61250 mi"),
        complaints=(Complaint(
            id="c1", words="In the morning it turns over so slowly that I think it will not start. Once it is warm it "
                           "is better, but never quick. The battery is new since February.",
            appears="comes and goes", conditions="Cold mornings, worse after rain", confirmed=True),),
        fault_codes=(FaultCode(code="B1000-16", state="stored", unit="body control unit",
                               note="supply voltage low while cranking"),),
        instruments=(
            Instrument(id="meter", kind="multimeter", title="Bench multimeter 2", input_resistance="10 Mohm",
                       last_proved=at(2, 8, 50), ranges=(
                           InstrumentRange(quantity="voltage", up_to="6 V", percent=0.5, counts=2, resolution="1 mV"),
                           InstrumentRange(quantity="voltage", up_to="60 V", percent=0.5, counts=2,
                                           resolution="0.01 V"))),
            Instrument(id="clamp", kind="clamp", title="Current clamp", last_proved=at(2, 8, 52), ranges=(
                InstrumentRange(quantity="current", up_to="600 A", percent=2.0, counts=5, resolution="0.1 A"),))),
        steps=(
            VoltageStep(id="s1", at=at(2, 9, 0), setup="at rest, everything off", red="B+", reading="12.61 V",
                        instrument="meter", proved=True,
                        expected=Expected(low="12.5 V", high="12.9 V", source="rested lead-acid battery, above 80 %")),
            VoltageStep(id="s2", at=at(2, 9, 6), setup="cranking", red="B+", reading="11.2 V", instrument="meter",
                        proved=True,
                        expected=Expected(low="9.6 V", source="common practice, battery at 20 °C")),
            VoltageStep(id="s3", at=at(2, 9, 11), setup="cranking", red="B+", black="starter terminal 30",
                        reading="0.19 V", instrument="meter", proved=True, expected=at_most,
                        note="Second attempt: the probe slipped at first."),
            VoltageStep(id="s4", at=at(2, 9, 17), setup="cranking", red="starter housing", reading="14.2 V",
                        instrument="meter", proved=True, expected=at_most),
            VoltageStep(id="s5", at=at(2, 9, 19), setup="cranking", red="starter housing", reading="1.42 V",
                        instrument="meter", proved=True, expected=at_most, replaces="s4",
                        because="The decimal point was read in the wrong place; the test was made again."),
            VoltageStep(id="s6", at=at(2, 9, 24), setup="cranking", red="ground strap, engine end",
                        black="ground strap, body end", reading="1.31 V", instrument="meter", proved=True,
                        expected=at_most),
            LookStep(id="s7", at=at(2, 9, 30), elements=("ground strap",), result="damage", strength="strong",
                     note="Green under the braid at the body end, strands broken."),
            MovementStep(id="s8", at=at(2, 9, 36), elements=("main loom at the bulkhead",), trials=10, shown=0,
                         watching=records.WatchVoltage(red="starter terminal 30")),
            records.CurrentStep(id="s9", at=at(2, 9, 45), setup="cranking", through="starter", reading="168.0 A",
                                instrument="clamp", expected=Expected(low="120 A", high="190 A",
                                                                      source="the workshop's own list, this engine")),
            ValueStep(id="s10", at=at(2, 9, 50), what="engine temperature", where="coolant sensor", reading="9 °C"),
            VoltageStep(id="s11", at=at(3, 11, 5), setup="cranking", red="starter housing", reading="0.08 V",
                        instrument="meter", proved=True, expected=at_most, after_repair=True, repeats="s5"),
            VoltageStep(id="s12", at=at(3, 11, 9), setup="cranking", red="ground strap, engine end",
                        black="ground strap, body end", reading="0.04 V", instrument="meter", proved=True,
                        expected=at_most, after_repair=True, repeats="s6"),
            records.ObserveStep(id="s13", at=at(3, 11, 12), element="starter", works=True, after_repair=True,
                                setup="engine cold, 7 °C outside"),
        ),
        condemned=(
            Condemned(id="k1", at=at(2, 10, 5), part="starter ground strap", decision="replace",
                      finding="The strap that carries the starter's current back to the body is corroded under its "
                              "braid. While cranking it loses 1.31 V, six times what a sound strap may lose.",
                      steps=("s5", "s6", "s7"),
                      others_cleared="The battery and the supply cable hold their voltage under load (tests 1 to 3), "
                                     "and the starter draws what it should (test 9).",
                      unproved="Whether damp also reaches the connector beside the strap; it was dry today.",
                      repaired=at(3, 10, 40),
                      what_was_done="The strap was replaced, the body's contact face cleaned to bright metal and "
                                    "sealed.", was_the_cause=True),
            Condemned(id="k2", at=at(2, 10, 8), part="starter", decision="let off",
                      finding="It draws 168 A, as it should."),
        ),
        approvals=(
            Approval(id="a1", at=at(2, 8, 40), by="Mrs Harrowgate", how="in person", up_to=Decimal("120.00"),
                     words="Find the cause."),
            Approval(id="a2", at=at(2, 10, 20), by="Mrs Harrowgate", how="telephone", up_to=Decimal("240.00"),
                     words="Go ahead with the strap."),
        ),
        clock=(
            TimeLine(id="t1", person="R. Aldous", start=at(2, 8, 50), end=at(2, 10, 0), what="Finding the cause",
                     billed_minutes=60),
            TimeLine(id="t2", person="R. Aldous", start=at(3, 10, 0), end=at(3, 11, 20),
                     what="Replacing the strap and proving the repair", billed_minutes=75),
        ),
        parts=(Part(id="p1", name="Ground strap, 35 mm², 250 mm", number="GS-35-250", supplier="Fen Parts",
                    price=Decimal("18.40"), cost=Decimal("9.10"), fitted=at(3, 10, 40), condemned="k1"),
               Part(id="p2", name="Contact grease", price=Decimal("2.10"), fitted=at(3, 10, 40))),
        photos=(Photo(id="f1", caption="The strap's body end: strands broken, green under the braid.", sha256=strap,
                      step="s7"),
                Photo(id="f2", caption="The meter across the strap while cranking.", sha256=meter, step="s6")),
        notes=(Note(id="n1", at=at(2, 10, 20), who="Mrs Harrowgate", internal=False,
                    words="Agreed by telephone and asked whether the battery could be kept. It can."),
               Note(id="n2", at=at(2, 12, 0), words="Strap bent on delivery: haggle with the supplier.")),
        not_tested=("The alternator's charging voltage at full load was not tested, because the complaint shows before "
                    "the engine runs.",
                    "The starter was not opened."),
    )
    # As it comes from a file: numbers there have one spelling each.
    return seal_job(read_job(write_job(job), "ground-strap.job.json"))


def input_for(job: Job, pictures: dict[str, bytes], **changes: object) -> ReportInput:
    """Return the report's input with everything worked out from the job."""
    facts = {"job": job, "evaluation": evaluate(job), "totals": totals(job), "cautions": cautions_for(job),
             "photos": pictures, "reader": "customer", "issued": ISSUED, **changes}
    return ReportInput(**facts)


@pytest.fixture
def report_input(ground_strap: Job, pictures: dict[str, bytes]):
    """Make an input for the ground-strap job, with changes to the job or to the input."""
    def make(job: Job = ground_strap, **changes: object) -> ReportInput:
        return input_for(job, pictures, **changes)

    return make


@pytest.fixture
def changed(ground_strap: Job):
    """Return the ground-strap job with fields changed, without its seal."""
    return lambda **fields: replace(ground_strap, seal=None, **fields)



