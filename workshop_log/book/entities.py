"""The tables of the book.

A column that holds a field of a record bears the field's name, so that rows become records and back by name; the
customer, the vehicle and the workshop as they stood at a job lie in the job's own row, with their name in front.
`key` is the row's own number; `id` is the short id that people see.
"""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any, ClassVar

from sqlalchemy import (
    BigInteger,
    Double,
    ForeignKey,
    Index,
    LargeBinary,
    MetaData,
    String,
    Text,
    UniqueConstraint,
    text,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column

from workshop_log.book.columns import DecimalText, MomentText, Records, Texts
from workshop_log.exchange import records
from workshop_log.exchange.attached import Attached


class Base(DeclarativeBase):
    """Base of every table. Everything has a name: SQLite's migrations can only alter what has one."""

    metadata = MetaData(naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    })
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        str: String(), datetime: MomentText(), Decimal: DecimalText(), tuple[str, ...]: Texts(), float: Double(),
        bytes: LargeBinary(),
    }


class Versioned:
    """A row that several bays may edit: its version tells a change that came in between."""

    version: Mapped[int] = mapped_column(sort_order=100)

    @declared_attr.directive
    def __mapper_args__(cls) -> dict[str, Any]:  # noqa: N805 - SQLAlchemy calls it with the class
        return {"version_id_col": cls.version}


# --- remembered from job to job -------------------------------------------------------------------------------------


class Customer(Base):
    """A customer as last known. `recognised_by` is what makes two entries the same one."""

    __tablename__ = "customers"

    key: Mapped[int] = mapped_column(primary_key=True)
    recognised_by: Mapped[str] = mapped_column(unique=True)
    # Folded name, telephone and address for completion at the desk.
    found_by: Mapped[str]
    name: Mapped[str]
    phone: Mapped[str]
    email: Mapped[str]
    address: Mapped[str]
    # The newest job, which has the facts as they stood then.
    last_job: Mapped[int | None]


class Vehicle(Base):
    """A vehicle as last known, recognised by its VIN or, without one, by its plate."""

    __tablename__ = "vehicles"

    key: Mapped[int] = mapped_column(primary_key=True)
    recognised_by: Mapped[str] = mapped_column(unique=True)
    # VIN and plate without spaces, folded, for completion at the desk.
    found_by: Mapped[str]
    registration: Mapped[str]
    vin: Mapped[str]
    make: Mapped[str]
    model: Mapped[str]
    year: Mapped[int | None]
    odometer: Mapped[str]
    nominal_supply: Mapped[str]
    systems: Mapped[tuple[str, ...]]
    last_job: Mapped[int | None]


# --- the job --------------------------------------------------------------------------------------------------------


class Job(Versioned, Base):
    """One visit of one vehicle: what is single in it, and what the list shows."""

    __tablename__ = "jobs"

    key: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str] = mapped_column(unique=True)
    opened: Mapped[datetime | None]
    anonymous: Mapped[bool]
    opinion_on: Mapped[str] = mapped_column(default="")
    handed_back: Mapped[datetime | None]
    settled: Mapped[datetime | None]
    not_tested: Mapped[tuple[str, ...]]

    workshop_name: Mapped[str]
    workshop_address: Mapped[str]
    workshop_phone: Mapped[str]
    workshop_email: Mapped[str]
    workshop_tax_number: Mapped[str]
    workshop_currency: Mapped[str]
    workshop_labour_rate: Mapped[Decimal | None]
    workshop_tax_rate: Mapped[Decimal]
    workshop_tax_rule: Mapped[str]

    customer_key: Mapped[int | None] = mapped_column(ForeignKey("customers.key"), index=True)
    customer_name: Mapped[str]
    customer_phone: Mapped[str]
    customer_email: Mapped[str]
    customer_address: Mapped[str]

    vehicle_key: Mapped[int | None] = mapped_column(ForeignKey("vehicles.key"), index=True)
    vehicle_registration: Mapped[str]
    vehicle_vin: Mapped[str]
    vehicle_make: Mapped[str]
    vehicle_model: Mapped[str]
    vehicle_year: Mapped[int | None]
    vehicle_odometer: Mapped[str]
    vehicle_nominal_supply: Mapped[str]
    vehicle_systems: Mapped[tuple[str, ...]]

    # What the job waits for, worked out by whoever changed it; kept so that the list need not open each job.
    waits_key: Mapped[str] = mapped_column(default="")
    waits_for: Mapped[str] = mapped_column(default="")
    waits_since: Mapped[datetime | None]
    # The list's order: first what is waited for, then since when; finished jobs count backwards in time.
    list_group: Mapped[int] = mapped_column(default=0)
    list_order: Mapped[int] = mapped_column(BigInteger, default=0)

    __table_args__ = (Index("ix_jobs_list", "list_group", "list_order", "key"),)


class _Item(Versioned):
    """A row of one of the job's lists; `place` keeps the order of the list."""

    key: Mapped[int] = mapped_column(primary_key=True, sort_order=-4)
    job_key: Mapped[int] = mapped_column(ForeignKey("jobs.key"), sort_order=-3)
    place: Mapped[int] = mapped_column(sort_order=-2)


class _NamedItem(_Item):
    """An item that has a short id of its own."""

    id: Mapped[str] = mapped_column(sort_order=-1)

    @declared_attr.directive
    def __table_args__(cls) -> tuple[Any, ...]:  # noqa: N805
        return (UniqueConstraint("job_key", "id"), Index(None, "job_key", "place"))


class Complaint(_NamedItem, Base):
    """What the customer reports."""

    __tablename__ = "complaints"

    words: Mapped[str]
    appears: Mapped[str | None]
    conditions: Mapped[str]
    confirmed: Mapped[bool | None]


class FaultCode(_Item, Base):
    """A fault code that was read out; the same code may stand twice, from two control units."""

    __tablename__ = "fault_codes"

    code: Mapped[str] = mapped_column(index=True)
    state: Mapped[str]
    unit: Mapped[str]
    note: Mapped[str]

    __table_args__ = (Index(None, "job_key", "place"),)


class HandSuspect(_NamedItem, Base):
    """A possible cause written by hand; what the steps say of it goes with it."""

    __tablename__ = "hand_suspects"

    name: Mapped[str]
    weight: Mapped[float]
    bearings: Mapped[tuple[records.Bearing, ...]] = mapped_column(Records(records.Bearing))


class Access(_NamedItem, Base):
    """What was said about getting at a point, an element, or about a kind of test."""

    __tablename__ = "access"

    circuit: Mapped[str]
    point: Mapped[str | None]
    element: Mapped[str | None]
    test: Mapped[str | None]
    state: Mapped[str]


class EstimateOption(_NamedItem, Base):
    """One way to go on."""

    __tablename__ = "estimate_options"

    title: Mapped[str]
    tells: Mapped[str]
    labour_minutes: Mapped[float]
    parts: Mapped[Decimal]
    other: Mapped[Decimal]


class TimeLine(_NamedItem, Base):
    """Labour as it was worked."""

    __tablename__ = "time_lines"

    person: Mapped[str]
    start: Mapped[datetime]
    end: Mapped[datetime | None]
    what: Mapped[str]
    billed_minutes: Mapped[float | None]

    @declared_attr.directive
    def __table_args__(cls) -> tuple[Any, ...]:  # noqa: N805
        # Who has a line running is asked each time that a clock starts.
        return (*super().__table_args__, Index(None, "person", "end"))


class Part(_NamedItem, Base):
    """A part ordered, fitted or returned."""

    __tablename__ = "parts"

    name: Mapped[str]
    number: Mapped[str]
    supplier: Mapped[str]
    quantity: Mapped[Decimal]
    price: Mapped[Decimal | None]
    cost: Mapped[Decimal | None]
    returnable: Mapped[bool | None]
    ordered: Mapped[datetime | None]
    arrived: Mapped[datetime | None]
    fitted: Mapped[datetime | None]
    returned: Mapped[datetime | None]
    condemned: Mapped[str | None]


class Charge(_NamedItem, Base):
    """Anything else on the bill."""

    __tablename__ = "charges"

    what: Mapped[str]
    amount: Mapped[Decimal]


class Note(_NamedItem, Base):
    """Something said or thought."""

    __tablename__ = "notes"

    at: Mapped[datetime]
    who: Mapped[str]
    words: Mapped[str]
    internal: Mapped[bool]


class Photo(_NamedItem, Base):
    """A picture; its bytes lie in the file store under their fingerprint."""

    __tablename__ = "photos"

    name: Mapped[str]
    caption: Mapped[str]
    taken: Mapped[datetime | None]
    media_type: Mapped[str]
    sha256: Mapped[str]
    step: Mapped[str | None]


class IssuedReport(_NamedItem, Base):
    """A report as it was handed over."""

    __tablename__ = "reports"

    at: Mapped[datetime]
    reader: Mapped[str]
    sha256: Mapped[str] = mapped_column(index=True)


# --- evidence -------------------------------------------------------------------------------------------------------


class Entry(Base):
    """One piece of evidence as it was entered. The database itself refuses to change or delete it.

    `position` is its place in the chain, `place` that in the job's list of its kind. A row without fingerprint stands
    in the job without having been entered: only a job file with a broken seal brings one, and it stays visible.
    """

    __tablename__ = "entries"

    key: Mapped[int] = mapped_column(primary_key=True)
    job_key: Mapped[int] = mapped_column(ForeignKey("jobs.key"))
    position: Mapped[int]
    kind: Mapped[str]
    item_id: Mapped[str]
    place: Mapped[int | None]
    # Canonical JSON; none where a seal names something that was taken out of its file.
    body: Mapped[str | None] = mapped_column(Text)
    # Of a test step with a reading, so that the history of a value can be asked for.
    what: Mapped[str | None]
    value: Mapped[float | None]
    unit: Mapped[str | None]
    entered_at: Mapped[datetime]
    # The entry of the same job that this one corrects.
    replaces: Mapped[str | None]
    previous: Mapped[str | None]
    fingerprint: Mapped[str | None]

    __table_args__ = (
        UniqueConstraint("job_key", "position"), UniqueConstraint("job_key", "previous"),
        # Decisions are few among the entries, and the workshop learns from those of all its jobs.
        Index("ix_entries_condemned", "key", sqlite_where=text("kind = 'condemned'"),
              postgresql_where=text("kind = 'condemned'")))


class Standing(Base):
    """Where a suspect was after a test step."""

    __tablename__ = "standings"

    key: Mapped[int] = mapped_column(primary_key=True)
    entry_key: Mapped[int] = mapped_column(ForeignKey("entries.key"), index=True)
    circuit: Mapped[str]
    # None stands for "nothing wrong in this circuit".
    element: Mapped[str | None]
    fault: Mapped[str | None]
    appears: Mapped[str]
    probability: Mapped[float]
    standing: Mapped[str]


# --- beside the jobs ------------------------------------------------------------------------------------------------


class SearchText(Base):
    """What of a job can be searched, folded to plain words; one column for each place it comes from."""

    __tablename__ = "search_texts"

    job_key: Mapped[int] = mapped_column(ForeignKey("jobs.key"), primary_key=True, autoincrement=False)
    head: Mapped[str] = mapped_column(Text, default="")
    complaints: Mapped[str] = mapped_column(Text, default="")
    fault_codes: Mapped[str] = mapped_column(Text, default="")
    parts: Mapped[str] = mapped_column(Text, default="")
    notes: Mapped[str] = mapped_column(Text, default="")
    evidence: Mapped[str] = mapped_column(Text, default="")


class Counter(Base):
    """The last number given in a year."""

    __tablename__ = "counters"

    name: Mapped[str] = mapped_column(primary_key=True)
    last: Mapped[int]


class Setting(Versioned, Base):
    """One of the workshop's settings, as JSON."""

    __tablename__ = "settings"

    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str] = mapped_column(Text)


class Draft(Base):
    """What was typed somewhere and is no entry yet."""

    __tablename__ = "drafts"

    name: Mapped[str] = mapped_column(primary_key=True)
    words: Mapped[str] = mapped_column(Text)
    kept_at: Mapped[datetime]


class StoredFile(Base):
    """The bytes of a photo or report, where the book is shared."""

    __tablename__ = "files"

    sha256: Mapped[str] = mapped_column(primary_key=True)
    data: Mapped[bytes]


class AccessNote(Versioned, Base):
    """What has to come off to get at something on a model."""

    __tablename__ = "access_notes"

    key: Mapped[int] = mapped_column(primary_key=True)
    make: Mapped[str]
    model: Mapped[str]
    year: Mapped[int | None]
    # What is got at, and what has to come off for it.
    gets_at: Mapped[str]
    comes_off: Mapped[str] = mapped_column(Text)
    clips: Mapped[int | None]
    minutes: Mapped[float | None]
    noted_at: Mapped[datetime]

    __table_args__ = (Index(None, "make", "model"),)


class AccessFastener(Base):
    """Fasteners of one kind that an access note counts."""

    __tablename__ = "access_fasteners"

    key: Mapped[int] = mapped_column(primary_key=True)
    note_key: Mapped[int] = mapped_column(ForeignKey("access_notes.key", ondelete="CASCADE"), index=True)
    drive: Mapped[str]
    size: Mapped[str]
    count: Mapped[int]


class OutboxMessage(Versioned, Base):
    """A message on its way out, and afterwards what was sent to whom and when."""

    __tablename__ = "outbox"

    key: Mapped[int] = mapped_column(primary_key=True)
    job_key: Mapped[int | None] = mapped_column(ForeignKey("jobs.key"), index=True)
    # The message's own name, the same in every try: a receiver that gets it twice can tell.
    message_id: Mapped[str] = mapped_column(unique=True)
    sender: Mapped[str]
    recipients: Mapped[tuple[str, ...]]
    copies: Mapped[tuple[str, ...]]
    subject: Mapped[str]
    body: Mapped[str] = mapped_column(Text)
    # What is attached; the bytes lie in the file store.
    attached: Mapped[tuple[Attached, ...]] = mapped_column(Records(Attached))
    # "waiting", "sending", "sent", "in doubt", "refused", "withdrawn".
    state: Mapped[str] = mapped_column(index=True)
    tries: Mapped[int]
    written_at: Mapped[datetime]
    tried_at: Mapped[datetime | None]
    # Not tried again before this.
    next_at: Mapped[datetime | None]
    sent_at: Mapped[datetime | None]
    # Which running program has taken it to send it; blank while nobody has.
    taken_by: Mapped[str]
    # Why the last try failed, or what the server answered to the one that did not.
    answer: Mapped[str]


class Opinion(Base):
    """What a colleague sent back about a job: a job file of its own, laid beside the job and never into it."""

    __tablename__ = "opinions"

    key: Mapped[int] = mapped_column(primary_key=True)
    job_key: Mapped[int] = mapped_column(ForeignKey("jobs.key"), index=True)
    received_at: Mapped[datetime]
    # From whom, as the technician says.
    by: Mapped[str]
    # The fingerprint of the job file in the file store.
    sha256: Mapped[str]

    __table_args__ = (UniqueConstraint("job_key", "sha256"),)
