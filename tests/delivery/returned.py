"""A report that comes back, and the tools of whoever changes it meanwhile."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pikepdf
from msgspec.structs import replace

from workshop_log.exchange.records import Job, Step, VoltageStep
from workshop_log.jobs.evaluation import evaluate
from workshop_log.paper.report import make_report
from workshop_log.paper.report_input import report_input

SAMPLE = Path(__file__).resolve().parents[2] / "sample_jobs" / "temperature-sensor.job.json"
ISSUED = datetime(2031, 4, 3, 16, 40, tzinfo=timezone(timedelta(hours=1)))


def drawn(job: Job, **facts: object) -> bytes:
    """Return the report of a job."""
    return make_report(report_input(job, evaluate(job), {}, **({"reader": "customer", "issued": ISSUED} | facts)))


def attached_to(pdf: bytes) -> tuple[str, bytes]:
    """Return name and bytes of the one file in a report."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        ((name, specification),) = opened.attachments.items()
        return name, specification.get_file().read_bytes()


def altered(pdf: bytes, change: Callable[[pikepdf.Pdf], object], **options: object) -> bytes:
    """Return a report after `change(opened)`, saved anew with the given options."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        change(opened)
        file = io.BytesIO()
        opened.save(file, **options)
    return file.getvalue()


def with_job_file(pdf: bytes, data: bytes, fingerprint: str = "") -> bytes:
    """Return a report with other bytes for its job file, and another fingerprint among its properties if given."""
    name, _ = attached_to(pdf)

    def exchange(opened: pikepdf.Pdf) -> None:
        opened.attachments[name] = pikepdf.AttachedFileSpec(opened, data, filename=name)
        if fingerprint:
            opened.docinfo["/Fingerprint"] = fingerprint

    return altered(pdf, exchange)


# --- what a forger may do to the steps ------------------------------------------------------------------------------


def taken_out(job: Job, place: int) -> Job:
    """Return the job without one of its steps; nothing in the case goes on naming it."""
    gone = job.steps[place].id
    left = tuple(replace(step, replaces=None, repeats=None) for step in job.steps if step.id != gone)
    return replace(job, steps=left, condemned=tuple(
        replace(entry, steps=tuple(id_ for id_ in entry.steps if id_ != gone)) for entry in job.condemned))


def exchanged(job: Job, place: int) -> Job:
    """Return the job with what two neighbouring steps say exchanged, their ids and times as they were."""
    steps = list(job.steps)
    one, other = steps[place:place + 2]
    steps[place:place + 2] = replace(other, id=one.id, at=one.at), replace(one, id=other.id, at=other.at)
    return replace(job, steps=tuple(steps))


def doubled(job: Job, place: int) -> Job:
    """Return the job with a step entered twice, under two ids."""
    return _inserted(job, place, replace(job.steps[place], id="s99"))


def put_in(job: Job, place: int) -> Job:
    """Return the job with a step that nobody made."""
    return _inserted(job, place, VoltageStep(id="s99", at=job.steps[place].at, red="B+", reading="12.6 V"))


def _inserted(job: Job, place: int, step: Step) -> Job:
    return replace(job, steps=(*job.steps[:place], step, *job.steps[place:]))


def changed(job: Job, place: int) -> Job:
    """Return the job with another word in the note of a step."""
    steps = list(job.steps)
    steps[place] = replace(steps[place], note=f"{steps[place].note} So.".strip())
    return replace(job, steps=tuple(steps))
