"""An invented job, small enough for one page: how a workshop's papers look is shown with it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from workshop_log.exchange import records

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job, Workshop

_OPENED = datetime(2031, 5, 6, 8, 30, tzinfo=UTC)
# When the papers of the example are issued.
ISSUED = _OPENED + timedelta(days=1, hours=8)


def example_job(workshop: Workshop) -> Job:
    """Return the job as this workshop would have taken it in."""
    def at(minutes: int) -> datetime:
        return _OPENED + timedelta(minutes=minutes)

    limit = records.Expected(high="0.2 V", source="typed")
    before = records.VoltageStep(id="s1", at=at(20), red="lamp, ground", reading="3.1 V", expected=limit)
    found = records.LookStep(id="s2", at=at(28), elements=("ground stud",), result="damage", strength="strong")
    after = records.VoltageStep(id="s3", at=at(70), red="lamp, ground", reading="0.02 V", expected=limit,
                                after_repair=True, repeats="s1")
    case = records.Condemned(
        id="k1", at=at(30), part="ground stud", decision="repair", steps=("s1", "s2"), repaired=at(60),
        was_the_cause=True, finding="The stud that the lamp's ground is bolted to is rusted through under its paint.",
        what_was_done="Stud replaced, bare metal under the eyelet, sealed with wax.")
    return records.Job(
        number="2031-0042", opened=_OPENED, workshop=workshop,
        customer=records.Customer(name="Ada Marsh", address="3 Mill Lane, Pellinbrook"),
        vehicle=records.Vehicle(registration="ZZ00 EXA", make="Tamber", model="Causey", year=2028, odometer="41200 mi"),
        complaints=(records.Complaint(id="c1", words="The left tail lamp glows dimly and the right one does not."),),
        steps=(before, found, after), condemned=(case,),
        estimate=(records.EstimateOption(id="e1", title="Follow the ground of the lamp", labour_minutes=30,
                                         tells="Whether the lamp or its ground is at fault."),
                  records.EstimateOption(id="e2", title="Replace the lamp unit", labour_minutes=40,
                                         parts=Decimal("184.00"), tells="Mends it only if the lamp itself is broken.")),
        clock=(records.TimeLine(id="t1", person="Ida", start=at(15), end=at(75), what="Finding the fault",
                                billed_minutes=45),),
        parts=(records.Part(id="p1", name="Ground stud M8", number="GS-8", price=Decimal("4.20"), fitted=at(55),
                            condemned="k1"),),
        not_tested=("The wiring to the trailer socket was not tested.",))
