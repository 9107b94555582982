"""What a report is made from: values only, so that the same input always gives the same bytes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from workshop_log.errors import WorkshopLogError
from workshop_log.paper.look import PLAIN, Look

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime
    from decimal import Decimal

    from workshop_log.exchange.records import Job
    from workshop_log.jobs.cautions import Caution
    from workshop_log.jobs.evaluation import Evaluation
    from workshop_log.jobs.money import Totals
    from workshop_log.jobs.suspicion import CircuitSuspicion, Decision, Moment

Reader = Literal["customer", "expert"]
Paper = Literal["A4", "Letter"]


class ReportError(WorkshopLogError, ValueError):
    """A report that cannot be made from what was given."""


@dataclass(frozen=True, slots=True)
class ReportInput:
    """Everything that one report shows.

    Attributes
    ----------
    job, evaluation, totals, cautions
        The job and what was worked out from it.
    photos : Mapping[str, bytes]
        The bytes of the job's photos by their SHA-256; a photo without bytes is named and not shown.
    reader : {"customer", "expert"}
        The customer reads it plain; the expert also gets uncertainties, replaced readings and whole fingerprints.
    issued : datetime
        When it is issued, aware: its only clock.
    paper : {"A4", "Letter"}
        The sheet.
    suspicions : tuple[CircuitSuspicion, ...]
        What is still possible: in each circuit, and among the suspects written by hand.
    histories : Mapping[str, tuple[Moment, ...]]
        How that came about step by step, by the circuit's id; blank for the suspects written by hand.
    decisions : Mapping[str, Decision]
        What condemning a part costs on average, by the id of its case.
    look : Look
        The workshop's colours, logo and closing line.
    """

    job: Job
    evaluation: Evaluation
    totals: Totals
    cautions: tuple[Caution, ...]
    photos: Mapping[str, bytes]
    reader: Reader
    issued: datetime
    paper: Paper = "A4"
    suspicions: tuple[CircuitSuspicion, ...] = ()
    histories: Mapping[str, tuple[Moment, ...]] = field(default_factory=dict)
    decisions: Mapping[str, Decision] = field(default_factory=dict)
    look: Look = PLAIN

    def __post_init__(self) -> None:
        if self.issued.tzinfo is None:
            raise ReportError("A report needs the time of its issue with a time zone: give an aware date and time.")
        if self.reader not in ("customer", "expert"):
            raise ReportError(f"A report is for the customer or for an expert, not for “{self.reader}”.")
        if self.paper not in ("A4", "Letter"):
            raise ReportError(f"A report is printed on A4 or Letter, not on “{self.paper}”.")

    def suspicion_of(self, circuit: str) -> CircuitSuspicion | None:
        """Return what is still possible in a circuit; blank for the suspects written by hand."""
        return next((found for found in self.suspicions if found.circuit == circuit), None)


def report_input(job: Job, evaluation: Evaluation, photos: Mapping[str, bytes], *, reader: Reader, issued: datetime,
                 paper: Paper = "A4", come_back: Decimal | None = None, look: Look = PLAIN,
                 is_outdated: Callable[[], bool] | None = None) -> ReportInput:
    """Return the input for the report of `job` as it stands, with everything worked out that it says.

    Not quick where a circuit is described. `come_back` and `is_outdated` are those of `jobs.reported`.
    """
    from workshop_log.jobs.cautions import cautions_for
    from workshop_log.jobs.money import totals
    from workshop_log.jobs.reported import reported

    suspects = reported(job, come_back=come_back, is_outdated=is_outdated)
    return ReportInput(job, evaluation, totals(job, issued), cautions_for(job), photos, reader, issued, paper,
                       suspects.suspicions, suspects.histories, suspects.decisions, look)
