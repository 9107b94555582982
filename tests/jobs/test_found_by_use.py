"""What people ran into while they used the program, kept from coming back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from workshop_log.exchange.records import (
    Complaint,
    Condemned,
    Expected,
    Instrument,
    InstrumentRange,
    Job,
    TimeLine,
    VoltageStep,
    Workshop,
)
from workshop_log.jobs.before_after import not_made_again
from workshop_log.jobs.cautions import cautions_for
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.money import totals
from workshop_log.jobs.testing import read_entry_line
from workshop_log.jobs.waiting import waits_for
from workshop_log.paper.sentences import proof_sentence

NOW = datetime(2031, 5, 1, 9, 0, tzinfo=UTC)
DROP = Expected(high="0.1 V", source="the workshop's own list")


def _job(*after: VoltageStep) -> Job:
    """Return a job with two failing tests, one part condemned for both and repaired, and tests after it."""
    failing = tuple(VoltageStep(id=f"s{n}", at=NOW, red=f"joint {n}", reading="0.90 V", expected=DROP) for n in (1, 2))
    condemned = Condemned(id="k1", at=NOW, part="two joints", decision="repair", steps=("s1", "s2"),
                          repaired=NOW + timedelta(hours=1))
    return Job(number="2031-0950", opened=NOW, complaints=(Complaint(id="c1", words="dim", confirmed=True),),
               steps=(*failing, *after), condemned=(condemned,))


def _again(number: int) -> VoltageStep:
    return VoltageStep(id=f"s{number + 10}", at=NOW + timedelta(hours=2), red=f"joint {number}", reading="0.02 V",
                       expected=DROP, after_repair=True, repeats=f"s{number}")


def test_a_repair_is_proved_only_when_every_failing_test_was_made_again() -> None:
    """One of two made again is half a proof: the job waits on, and the report says which one is missing."""
    half = _job(_again(1))
    assert [reading.step.id for reading in not_made_again(half, evaluate(half))] == ["s2"]
    assert waits_for(half).key == "proving the repair"
    assert "Test 2, which had failed, was not" in proof_sentence(half, evaluate(half))
    whole = _job(_again(1), _again(2))
    assert waits_for(whole).key == "report"
    assert "every reading is inside" in proof_sentence(whole, evaluate(whole))


def test_a_voltage_that_can_kill_is_warned_of_before_and_after() -> None:
    """230 V on a vehicle of which nobody said so: in the line, and among the cautions."""
    line = read_entry_line("230 V at pin 1 <250 V", Job())
    assert "licensed persons" in line.words
    job = Job(steps=(VoltageStep(id="s1", red="pin 1", reading="230 V"),))
    assert "high voltage" in [caution.key for caution in cautions_for(job)]
    assert "licensed" not in read_entry_line("12.4 V at pin 1", Job()).words


def test_a_reading_beyond_the_instrument_is_said_before_it_is_taken_down() -> None:
    """A meter whose largest range ends at 60 V cannot have shown 75 V."""
    meter = Instrument(id="meter", ranges=(
        InstrumentRange(quantity="voltage", up_to="60 V", percent=0.5, counts=2, resolution="0.01 V"),))
    assert "largest range" in read_entry_line("75 V at pin 1", Job(), instrument=meter).words


def test_time_that_nobody_decided_yet_is_charged_in_whole_minutes() -> None:
    """Fourteen minutes and thirty-six seconds are fifteen minutes, £16.00 at £64.00 an hour, not £15.57."""
    line = TimeLine(id="t1", person="Maud Harkerley", start=NOW, end=NOW + timedelta(minutes=14, seconds=36))
    bill = totals(Job(workshop=Workshop(labour_rate=Decimal("64.00")), clock=(line,)))
    assert str(bill.labour_net) == "16.00"
