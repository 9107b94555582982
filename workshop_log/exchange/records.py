"""The values of one job, exactly as the job file spells them.

These structs are the common language of the program: the book stores and returns
them, the window shows them, the report is made from them, and the job file is
their JSON. They are frozen; quantities stay the text that was typed (`"12.60 V"`
says more than 12.6), money is `Decimal`, times are aware.
"""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Annotated, Literal

from msgspec import Meta, Struct

FORMAT = "workshop-log/job"
VERSION = 1

Id = Annotated[str, Meta(min_length=1, max_length=64, description="Short and unique among its kind in this job.")]
Number = Annotated[str, Meta(max_length=32, description="The job's number as people say it.")]
Line = Annotated[str, Meta(max_length=400, description="One line of plain text.")]
Words = Annotated[str, Meta(max_length=100_000, description="Plain text of any length.")]
QuantityText = Annotated[str, Meta(max_length=60, description="A number with its unit, as typed: 12.4 V, 440 mA, 4k7.")]
Moment = Annotated[datetime, Meta(tz=True, description="ISO 8601 with an offset.")]
Minutes = Annotated[float, Meta(ge=0, le=100_000)]
Money = Annotated[Decimal, Meta(description="A decimal string in the workshop's currency.")]
Points = tuple[Id, Id]


class Record(Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """Base of every value in a job file: frozen, keyword only, unknown keys refused, defaults left out."""


# --- who, which vehicle, what is wrong ------------------------------------------------------------------------------


class Workshop(Record, kw_only=True):
    """The workshop whose letterhead the report carries; rates are those that applied to this job."""

    name: Line = ""
    address: Words = ""
    phone: Line = ""
    email: Line = ""
    tax_number: Line = ""
    currency: Annotated[str, Meta(pattern="^[A-Z]{3}$")] = "GBP"
    labour_rate: Money | None = None
    # Percent on the net amount.
    tax_rate: Money = Decimal(0)
    # How tax is rounded: see `jobs.money.TaxRule`.
    tax_rule: Literal["total half up", "total down", "line half up", "line tenth down"] = "total half up"


class Customer(Record, kw_only=True):
    """Who brought the vehicle and may agree to the money."""

    name: Line = ""
    phone: Line = ""
    email: Line = ""
    address: Words = ""


class Vehicle(Record, kw_only=True):
    """What is recognised by its plate or VIN."""

    registration: Line = ""
    vin: Line = ""
    make: Line = ""
    model: Line = ""
    year: Annotated[int, Meta(ge=1885, le=2200)] | None = None
    # With unit, as typed: "61250 mi".
    odometer: QuantityText = ""
    nominal_supply: QuantityText = "12 V"
    # Systems that can hurt: each brings its cautions.
    systems: tuple[Literal["pyrotechnic", "high voltage"], ...] = ()


class Complaint(Record, kw_only=True):
    """What the customer reports, in their words."""

    id: Id
    words: Words = ""
    appears: Literal["always", "comes and goes"] | None = None
    # When it shows: cold, wet, after an hour, only reversing.
    conditions: Words = ""
    confirmed: bool | None = None


class FaultCode(Record, kw_only=True):
    """A fault code that the technician read out, as structure, without its maker's text."""

    code: Annotated[str, Meta(max_length=16)]
    state: Literal["", "stored", "pending", "present", "history"] = ""
    # Which control unit reported it.
    unit: Line = ""
    note: Words = ""


# --- instruments ----------------------------------------------------------------------------------------------------


class InstrumentRange(Record, kw_only=True):
    """One measuring range and its accuracy ±(percent of reading + counts of the last digit)."""

    quantity: Literal["voltage", "current", "resistance", "temperature", "pressure", "length", "frequency", "time",
                      "capacitance", "ratio"]
    up_to: QuantityText
    percent: Annotated[float, Meta(ge=0, le=100)] = 0.0
    counts: Annotated[float, Meta(ge=0, le=10_000)] = 0.0
    resolution: QuantityText


class Instrument(Record, kw_only=True):
    """What a reading was taken with."""

    id: Id
    kind: Literal["multimeter", "clamp", "test lamp", "thermometer", "gauge", "battery tester", "oscilloscope"] = (
        "multimeter")
    title: Line = ""
    input_resistance: QuantityText = ""
    last_proved: Moment | None = None
    ranges: tuple[InstrumentRange, ...] = ()
    # Test lamps only.
    voltage: QuantityText = ""
    current: QuantityText = ""


# --- circuits: a document, kept and checked here, computed in `electrics` -------------------------------------------

FaultKind = Literal["open", "high resistance", "short to ground", "short to supply", "shorted", "stuck open",
                    "stuck closed", "dead", "draws too much", "low voltage"]
ElementKind = Literal["battery", "source", "fuse", "wire", "contact", "switch", "relay", "lamp", "motor", "heater",
                      "coil", "sensor", "control unit", "load", "diode", "ground point"]


class Element(Record, kw_only=True):
    """One part of a circuit. Which keys belong to which kind is checked when the file is read."""

    id: Id
    kind: ElementKind
    between: Points | None = None
    title: Line = ""
    voltage: QuantityText = ""
    voltage_tolerance: QuantityText = ""
    resistance: QuantityText = ""
    # Percent of the resistance.
    tolerance: Annotated[float, Meta(ge=0, le=1000)] | None = None
    rating: QuantityText = ""
    length: QuantityText = ""
    section: QuantityText = ""
    material: Literal["copper", "aluminium"] | None = None
    colour: Line = ""
    temperature: QuantityText = ""
    connector: Line = ""
    coil: Points | None = None
    coil_resistance: QuantityText = ""
    pull_in: QuantityText = ""
    common: Id | None = None
    normally_open: Id | None = None
    normally_closed: Id | None = None
    power: QuantityText = ""
    current: QuantityText = ""
    at: QuantityText = ""
    forward_voltage: QuantityText = ""
    price: Money | None = None
    fit_minutes: Minutes | None = None
    access_minutes: Minutes | None = None
    returnable: bool | None = None
    weight: Annotated[float, Meta(ge=0)] | None = None
    protected: Literal["pyrotechnic", "high voltage"] | None = None
    faults: tuple[FaultKind, ...] | None = None


class Bridge(Record, kw_only=True):
    """A lamp or fused lead laid between two points for a test."""

    between: Points
    through: Literal["lamp", "fused lead"]
    rating: QuantityText = ""


class Setup(Record, kw_only=True):
    """The condition under which a test is made."""

    id: Id
    title: Line = ""
    on: tuple[Id, ...] = ()
    pulled: tuple[Id, ...] = ()
    unplugged: tuple[Id, ...] = ()
    disconnected: tuple[Id, ...] = ()
    bridges: tuple[Bridge, ...] = ()


class Circuit(Record, kw_only=True):
    """The elements and points that concern the complaint."""

    id: Id
    title: Line = ""
    elements: tuple[Element, ...] = ()
    setups: tuple[Setup, ...] = ()


# --- test steps -----------------------------------------------------------------------------------------------------


class Expected(Record, kw_only=True):
    """What a reading should show, and where that comes from; one side may be missing."""

    low: QuantityText | None = None
    high: QuantityText | None = None
    source: Line = ""


class StepBase(Record, kw_only=True):
    """What every test step has. `kind` in the file says which of the classes below it is."""

    id: Id
    at: Moment | None = None
    circuit: Id | None = None
    # A setup of the circuit; without a circuit, the condition in words ("cranking", "lights on").
    setup: Line = ""
    minutes: Minutes | None = None
    note: Words = ""
    instrument: Id | None = None
    proved: bool | None = None
    expected: Expected | None = None
    replaces: Id | None = None
    because: Words = ""
    after_repair: bool = False
    # The step before the repair that this one makes again.
    repeats: Id | None = None


class VoltageStep(StepBase, kw_only=True, tag_field="kind", tag="voltage"):
    """A voltage between two points."""

    red: Line
    black: Line = "B-"
    reading: QuantityText


class CurrentStep(StepBase, kw_only=True, tag_field="kind", tag="current"):
    """A current through an element."""

    through: Line
    reading: QuantityText


class ResistanceStep(StepBase, kw_only=True, tag_field="kind", tag="resistance"):
    """A resistance between two points; `OL` when over range."""

    red: Line
    black: Line
    reading: QuantityText


class LampStep(StepBase, kw_only=True, tag_field="kind", tag="lamp"):
    """A test lamp from its clip to its probe."""

    clip: Line
    probe: Line
    result: Literal["lit", "dim", "dark"]


class LookStep(StepBase, kw_only=True, tag_field="kind", tag="look"):
    """Looking at elements."""

    elements: tuple[Line, ...]
    result: Literal["damage", "nothing"]
    strength: Literal["slight", "fair", "strong"] = "fair"


class WatchVoltage(Record, kw_only=True, tag_field="kind", tag="voltage"):
    """A voltage watched during a movement test."""

    red: Line
    black: Line = "B-"


class WatchCurrent(Record, kw_only=True, tag_field="kind", tag="current"):
    """A current watched during a movement test."""

    through: Line


class WatchResistance(Record, kw_only=True, tag_field="kind", tag="resistance"):
    """A resistance watched during a movement test."""

    red: Line
    black: Line


class WatchLamp(Record, kw_only=True, tag_field="kind", tag="lamp"):
    """A lamp watched during a movement test."""

    clip: Line
    probe: Line


class MovementStep(StepBase, kw_only=True, tag_field="kind", tag="movement"):
    """Moving elements by hand while something is watched."""

    elements: tuple[Line, ...]
    watching: WatchVoltage | WatchCurrent | WatchResistance | WatchLamp | None = None
    trials: Annotated[int, Meta(ge=1, le=100_000)] = 1
    shown: Annotated[int, Meta(ge=0, le=100_000)] = 0


class ObserveStep(StepBase, kw_only=True, tag_field="kind", tag="observe"):
    """Whether a load works, or a fuse holds."""

    element: Line
    works: bool


class SwapStep(StepBase, kw_only=True, tag_field="kind", tag="swap"):
    """A known good one put in an element's place."""

    element: Line
    cured: bool


class ValueStep(StepBase, kw_only=True, tag_field="kind", tag="value"):
    """Any other quantity."""

    what: Line
    where: Line = ""
    reading: QuantityText


Step = (VoltageStep | CurrentStep | ResistanceStep | LampStep | LookStep | MovementStep | ObserveStep | SwapStep
        | ValueStep)
ReadingStep = VoltageStep | CurrentStep | ResistanceStep | ValueStep

# --- what the suspects are weighed with beside the steps: facts that may be edited, no evidence ---------------------

Says = Literal["clears", "supports"]
Strength = Literal["slight", "fair", "strong"]
# Kinds of test that may not be available.
TestKind = Literal["voltage", "current", "resistance", "lamp", "look", "movement", "swap"]
AccessState = Literal["cannot be reached", "not available", "already off"]


class Bearing(Record, kw_only=True):
    """What a step says of a suspect written by hand, and how strongly."""

    step: Id
    says: Says
    strength: Strength = "fair"


class HandSuspect(Record, kw_only=True):
    """A possible cause written by hand, where no circuit is described."""

    id: Id
    name: Line
    # How often this is the cause, compared with the other suspects written by hand.
    weight: Annotated[float, Meta(ge=0.001, le=1000)] = 1.0
    bearings: tuple[Bearing, ...] = ()


class Access(Record, kw_only=True):
    """What the technician said about getting at a point or an element, or about a kind of test.

    "cannot be reached" and "already off" (nothing is in the way any more) go with a point or an element; "not
    available" with a kind of test, and perhaps one element: no known good one is there to swap in.
    """

    id: Id
    circuit: Id
    point: Id | None = None
    element: Id | None = None
    test: TestKind | None = None
    state: AccessState


# --- deciding, money, time ------------------------------------------------------------------------------------------


class Condemned(Record, kw_only=True):
    """A part that is to be replaced or repaired, or that was considered and let off, with the reason."""

    id: Id
    at: Moment | None = None
    part: Line
    circuit: Id | None = None
    element: Id | None = None
    decision: Literal["considered", "replace", "repair", "let off"] = "considered"
    # The finding in a sentence that could be read aloud to the customer.
    finding: Words = ""
    # The steps that speak for it.
    steps: tuple[Id, ...] = ()
    # What every other suspect was cleared by, in words, where there is no circuit.
    others_cleared: Words = ""
    unproved: Words = ""
    # The technician's own reason where the figures say no.
    all_the_same: Words = ""
    # The elements that go together because nothing tells them apart; with `element` itself.
    together: tuple[Id, ...] = ()
    # How likely it was at the decision that the cause is this part, or one of those that go together.
    probability_right: Annotated[float, Meta(ge=0, le=1)] | None = None
    price: Money | None = None
    returnable: bool | None = None
    fit_minutes: Minutes | None = None
    # After the repair: was it the cause?
    repaired: Moment | None = None
    what_was_done: Words = ""
    was_the_cause: bool | None = None
    replaces: Id | None = None
    because: Words = ""


class EstimateOption(Record, kw_only=True):
    """One way to go on, with what it costs and what it would tell; alternatives stand beside each other."""

    id: Id
    title: Line
    # What the customer is told that this would show or mend.
    tells: Words = ""
    labour_minutes: Minutes = 0
    parts: Money = Decimal(0)
    other: Money = Decimal(0)


class Approval(Record, kw_only=True):
    """What the customer agreed to."""

    id: Id
    at: Moment
    by: Line
    how: Literal["in person", "telephone", "email", "message", "signed"] = "in person"
    # Up to how much, tax included; none means without a limit.
    up_to: Money | None = None
    words: Words = ""
    option: Id | None = None
    # A refusal is worth recording too.
    agreed: bool = True
    replaces: Id | None = None
    because: Words = ""


class TimeLine(Record, kw_only=True):
    """Labour as it was worked; what is charged is decided separately."""

    id: Id
    person: Line
    start: Moment
    end: Moment | None = None
    what: Line = ""
    # Decided apart from the worked time; none means not decided yet.
    billed_minutes: Minutes | None = None


class Part(Record, kw_only=True):
    """A part ordered, fitted or returned."""

    id: Id
    name: Line
    number: Line = ""
    supplier: Line = ""
    quantity: Annotated[Decimal, Meta(description="How many.")] = Decimal(1)
    # What the customer pays for one, without tax.
    price: Money | None = None
    # What the workshop pays for one: never printed.
    cost: Money | None = None
    returnable: bool | None = None
    ordered: Moment | None = None
    arrived: Moment | None = None
    fitted: Moment | None = None
    returned: Moment | None = None
    condemned: Id | None = None


class Charge(Record, kw_only=True):
    """Anything else on the bill: an amount without tax."""

    id: Id
    what: Line
    amount: Money


class Photo(Record, kw_only=True):
    """A picture. Its bytes are in `data` (base64 in the file) or in the book under `sha256`."""

    id: Id
    name: Line = ""
    caption: Words = ""
    taken: Moment | None = None
    media_type: Literal["image/jpeg", "image/png", "image/webp"] = "image/jpeg"
    sha256: Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
    step: Id | None = None
    data: bytes | None = None


class Note(Record, kw_only=True):
    """Something said or thought: a call from the customer, a remark for the workshop."""

    id: Id
    at: Moment
    who: Line = ""
    words: Words
    # Internal notes never leave the workshop.
    internal: bool = True


class IssuedReport(Record, kw_only=True):
    """A report as it was handed over."""

    id: Id
    at: Moment
    reader: Literal["customer", "expert"] = "customer"
    # SHA-256 of the PDF's bytes.
    sha256: Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]


# --- the seal -------------------------------------------------------------------------------------------------------


class Intake(Record, kw_only=True):
    """What evidence rests on at the time: the complaint, the vehicle and the codes, as they stood."""

    vehicle: Vehicle
    complaints: tuple[Complaint, ...] = ()
    fault_codes: tuple[FaultCode, ...] = ()


class SealEntry(Record, kw_only=True):
    """One link of the chain of fingerprints over the evidence, in the order in which it was entered."""

    kind: Literal["intake", "instrument", "circuit", "step", "condemned", "approval", "photo", "report"]
    # The id of the step, approval, ... that is this link's body; several links may have the same circuit or intake.
    id: Id
    fingerprint: Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
    # The body itself where it no longer stands elsewhere in the file: an earlier intake, circuit, instrument.
    intake: Intake | None = None
    circuit: Circuit | None = None
    instrument: Instrument | None = None


class Seal(Record, kw_only=True):
    """The chain. The last fingerprint seals everything before it."""

    entries: tuple[SealEntry, ...] = ()


# --- the job --------------------------------------------------------------------------------------------------------


class Job(Record, kw_only=True):
    """One visit of one vehicle, from intake to hand-back."""

    format: Literal["workshop-log/job"] = FORMAT
    version: Literal[1] = VERSION
    number: Number = ""
    opened: Moment | None = None
    # True in a copy that was made without people, plate and positions.
    anonymous: bool = False
    # In a copy made for a colleague and in the answer to it: the mark by which the book that asked finds its job again.
    # To anybody else it says nothing (`book.opinions`).
    opinion_on: Annotated[str, Meta(pattern="^([0-9a-f]{64})?$")] = ""
    workshop: Workshop = Workshop()
    customer: Customer = Customer()
    vehicle: Vehicle = Vehicle()
    complaints: tuple[Complaint, ...] = ()
    fault_codes: tuple[FaultCode, ...] = ()
    instruments: tuple[Instrument, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    steps: tuple[Step, ...] = ()
    suspects: tuple[HandSuspect, ...] = ()
    access: tuple[Access, ...] = ()
    condemned: tuple[Condemned, ...] = ()
    estimate: tuple[EstimateOption, ...] = ()
    approvals: tuple[Approval, ...] = ()
    clock: tuple[TimeLine, ...] = ()
    parts: tuple[Part, ...] = ()
    charges: tuple[Charge, ...] = ()
    photos: tuple[Photo, ...] = ()
    notes: tuple[Note, ...] = ()
    # What was left untested and why, one sentence each, for the report.
    not_tested: tuple[Words, ...] = ()
    reports: tuple[IssuedReport, ...] = ()
    handed_back: Moment | None = None
    settled: Moment | None = None
    seal: Seal | None = None
