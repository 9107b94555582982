"""A small job on a described circuit, for tests of what is still possible."""

from __future__ import annotations

from decimal import Decimal

from workshop_log.exchange.records import (
    Circuit,
    Complaint,
    Element,
    Job,
    ObserveStep,
    Setup,
    Step,
    VoltageStep,
    Workshop,
)

FEED = Circuit(id="feed", title="Feed of the pump", elements=(
    Element(id="battery", kind="battery", between=("B+", "B-"), voltage="12.6 V", voltage_tolerance="0.2 V",
            resistance="12 mohm", price=Decimal("120"), returnable=True, fit_minutes=20),
    Element(id="F7", kind="fuse", between=("B+", "F7.out"), rating="15 A", price=Decimal("1"), fit_minutes=2),
    Element(id="W1", kind="wire", title="wire along the sill", between=("F7.out", "C3.a"), length="3.5 m",
            section="1.5 mm2", access_minutes=25, fit_minutes=60, price=Decimal("8")),
    Element(id="C3", kind="contact", title="plug at the pump", between=("C3.a", "C3.b"), connector="C3",
            fit_minutes=15, price=Decimal("6")),
    Element(id="S1", kind="switch", between=("C3.b", "M1.1"), price=Decimal("24"), fit_minutes=20),
    Element(id="M1", kind="motor", title="pump", between=("M1.1", "M1.2"), current="6 A", at="12 V",
            price=Decimal("240"), returnable=False, fit_minutes=50),
    Element(id="G2", kind="ground point", between=("M1.2", "B-"), fit_minutes=15, price=Decimal("0")),
), setups=(Setup(id="running", title="Pump switched on", on=("S1",)),
           Setup(id="dead", title="Battery off", disconnected=("battery",))))

DOES_NOT_RUN = ObserveStep(id="s1", circuit="feed", setup="running", element="M1", works=False)


def volts(step: str, point: str, reading: str, black: str = "B-", **more) -> VoltageStep:
    """Return a voltage read while the pump is switched on."""
    return VoltageStep(id=step, circuit="feed", setup="running", red=point, black=black, reading=reading, **more)


def job(*steps: Step, appears: str | None = "always", **more) -> Job:
    """Return a job with the complaint confirmed and these steps."""
    facts = {"number": "2031-0042", "circuits": (FEED,), "steps": steps,
             "complaints": (Complaint(id="c1", words="The pump does not run.", appears=appears, confirmed=True),),
             "workshop": Workshop(name="Tallow Lane", currency="GBP", labour_rate=Decimal("60.00"))}
    return Job(**(facts | more))


# The pin of the plug is open: 12.6 V before it, nothing behind.
FOUND = (DOES_NOT_RUN, volts("s2", "F7.out", "12.58 V"), volts("s3", "C3.a", "12.58 V"), volts("s4", "C3.b", "0.00 V"))
