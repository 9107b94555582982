"""A fuel pump that does not run because its feed wire has a high resistance, as a circuit with three readings."""

from __future__ import annotations

from decimal import Decimal

from workshop_log.exchange.records import Circuit, Element, Expected, Job, VoltageStep, Workshop

PUMP = Circuit(id="pump", title="Fuel pump", elements=(
    Element(id="BAT", kind="battery", between=("B+", "B-"), voltage="12.6 V"),
    Element(id="F7", kind="fuse", between=("B+", "a"), rating="15 A", title="pump fuse"),
    Element(id="W1", kind="wire", between=("a", "b"), resistance="0.02 ohm", title="feed to the pump"),
    Element(id="C3.2", kind="contact", between=("b", "c"), title="pin at the pump"),
    Element(id="PUMP", kind="motor", between=("c", "B-"), current="6 A", at="12.6 V", price=Decimal("184.00"),
            returnable=False, fit_minutes=45),
))
STEPS = tuple(VoltageStep(id=f"s{n}", circuit="pump", red=red, reading=reading,
                          expected=Expected(low="11 V", source="circuit"), proved=True, instrument=None)
              for n, red, reading in ((1, "B+", "12.4 V"), (2, "a", "12.3 V"), (3, "b", "1.2 V")))
JOB = Job(number="2031-0001", workshop=Workshop(labour_rate=Decimal(64)), circuits=(PUMP,), steps=STEPS)
