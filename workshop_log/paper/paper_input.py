"""What a paper beside the report is made from: values only, so that the same input always gives the same bytes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.stationery import Stationery
from workshop_log.paper.look import PLAIN, Look, look_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime
    from decimal import Decimal

    from workshop_log.exchange.records import Job
    from workshop_log.jobs.cautions import Caution
    from workshop_log.jobs.money import Totals
    from workshop_log.jobs.suspicion import Decision
    from workshop_log.paper.pages import PaperSize

PaperKind = Literal["estimate", "invoice", "receipt", "label"]
KINDS: tuple[PaperKind, ...] = ("estimate", "invoice", "receipt", "label")
KEEP_DAYS = Stationery().keep_days


class PaperError(WorkshopLogError, ValueError):
    """A paper that cannot be made from what was given."""


@dataclass(frozen=True, slots=True)
class PaperInput:
    """Everything that one paper shows.

    Attributes
    ----------
    job, totals, cautions
        The job and what was worked out from it.
    photos : Mapping[str, bytes]
        The bytes of the job's photos by their SHA-256; the intake receipt shows those of the intake.
    issued : datetime
        When it is issued, aware: its only clock.
    paper : {"A4", "Letter", "label"}
        The sheet. Only labels are printed on a roll of labels; on a sheet they stand between cut marks.
    look : Look
        The workshop's colours, logo and terms.
    decisions : Mapping[str, Decision]
        What deciding now costs on average, by the id of the case: where the estimate knows a cheaper test from.
    keep_days : int
        For how long a removed part is kept.
    part : str
        The one removed part that a label is for, by the id of its case or of what was fitted in its place; blank for
        a label for each.
    copies : {1, 2}
        Of the intake receipt: for the customer only, or for the workshop as well.
    """

    job: Job
    totals: Totals
    cautions: tuple[Caution, ...]
    photos: Mapping[str, bytes]
    issued: datetime
    paper: PaperSize = "A4"
    look: Look = PLAIN
    decisions: Mapping[str, Decision] = field(default_factory=dict)
    keep_days: int = KEEP_DAYS
    part: str = ""
    copies: Literal[1, 2] = 2

    def __post_init__(self) -> None:
        if self.issued.tzinfo is None:
            raise PaperError("A paper needs the time of its issue with a time zone: give an aware date and time.")
        if self.paper not in ("A4", "Letter", "label"):
            raise PaperError(f"A paper is printed on A4, on Letter or on a label, not on “{self.paper}”.")


def paper_input(kind: PaperKind, job: Job, photos: Mapping[str, bytes], issued: datetime, *,
                paper: PaperSize = "A4", stationery: Stationery | None = None, logo: bytes = b"", part: str = "",
                copies: Literal[1, 2] = 2, come_back: Decimal | None = None,
                is_outdated: Callable[[], bool] | None = None) -> PaperInput:
    """Return the input for a paper of `job` as it stands, with everything worked out that it says.

    Not quick for the estimate where a circuit is described: it asks whether a cheaper test comes first. `come_back`
    and `is_outdated` are those of `jobs.reported`; without `stationery` the paper looks as that of a new book.
    """
    from workshop_log.jobs.cautions import cautions_for
    from workshop_log.jobs.estimating import decisions_to_price
    from workshop_log.jobs.money import totals

    decisions = decisions_to_price(job, come_back, is_outdated) if kind == "estimate" else {}
    look = PLAIN if stationery is None else look_of(stationery, logo)
    keep_days = KEEP_DAYS if stationery is None else stationery.keep_days
    return PaperInput(job, totals(job, issued), cautions_for(job), photos, issued, paper, look, decisions, keep_days,
                      part, copies)
