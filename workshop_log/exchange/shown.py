"""A copy of a job with only what a report shows: this is what travels inside the report."""

from __future__ import annotations

from msgspec.structs import replace

from workshop_log.exchange.records import Customer, Job, Photo


def shown_job(job: Job) -> Job:
    """Return the job without what is nobody's business outside the workshop.

    Left out are internal notes, what parts cost the workshop and who supplied them, parts that were not fitted,
    options that nobody agreed to or refused, and how to reach the customer. The evidence stays whole, with its
    seal, so that whoever has the report can verify it; photos leave their bytes to the report's pages, their
    fingerprints stand for them.
    """
    answered = {approval.option for approval in job.approvals}
    return replace(
        job,
        customer=Customer(name=job.customer.name, address=job.customer.address),
        estimate=tuple(option for option in job.estimate if option.id in answered),
        parts=tuple(replace(part, cost=None, supplier="", ordered=None, arrived=None)
                    for part in job.parts if part.fitted is not None and part.returned is None),
        photos=tuple(without_bytes(photo) for photo in job.photos),
        notes=tuple(note for note in job.notes if not note.internal))


def without_bytes(photo: Photo) -> Photo:
    """Return the photo without its bytes."""
    return photo if photo.data is None else replace(photo, data=None)
