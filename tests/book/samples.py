"""Small jobs for the tests of the book."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

from msgspec.structs import replace

from workshop_log.exchange import records as r
from workshop_log.exchange.records import Job, Seal
from workshop_log.exchange.seal import seal_job

NOW = datetime(2031, 4, 2, 8, 35, tzinfo=UTC)
PICTURE = b"\xff\xd8\xff not much of a picture"


def small_job(number: str = "2031-0007", **changed: Any) -> Job:
    """Return a job with one of everything."""
    return replace(Job(
        number=number, opened=datetime(2031, 4, 2, 8, 35, tzinfo=timezone(timedelta(hours=1))),
        workshop=r.Workshop(name="Invented Electrics", labour_rate=Decimal("64.00")),
        customer=r.Customer(name="Ottoline Brásk", phone="07700 900123", email="o.brask@example.org"),
        vehicle=r.Vehicle(registration="ZZ00 KLD", vin="ZZZ00000000000512", make="Brannick", model="Tarn", year=2026),
        complaints=(r.Complaint(id="c1", words="The rear lamp flickers.", appears="comes and goes"),
                    r.Complaint(id="c2", words="The horn is weak.", confirmed=False)),
        fault_codes=(r.FaultCode(code="B1234-11", state="stored"),),
        instruments=(r.Instrument(id="meter", title="bench meter"),),
        circuits=(r.Circuit(id="feed", title="Rear lamp feed"),),
        steps=(r.VoltageStep(id="s1", at=NOW, red="B+", reading="12.60 V", minutes=3, note="rested overnight"),
               r.LookStep(id="s2", at=NOW, elements=("strap",), result="damage")),
        suspects=(r.HandSuspect(id="h1", name="worn hub", weight=2.0, bearings=(
                      r.Bearing(step="s1", says="clears"), r.Bearing(step="s2", says="supports", strength="strong"))),
                  r.HandSuspect(id="h2", name="loose strap")),
        access=(r.Access(id="a1", circuit="feed", point="F7.out", state="cannot be reached"),
                r.Access(id="a2", circuit="feed", test="swap", element="F7", state="not available")),
        condemned=(r.Condemned(id="k1", part="ground strap", decision="replace", steps=("s1", "s2"),
                               price=Decimal("18.50"), probability_right=0.93),),
        estimate=(r.EstimateOption(id="o1", title="New strap", parts=Decimal("18.50"), labour_minutes=45),),
        approvals=(r.Approval(id="a1", at=NOW, by="Ottoline Brásk", up_to=Decimal("120.00")),),
        clock=(r.TimeLine(id="t1", person="Mara", start=NOW, end=NOW + timedelta(minutes=40)),),
        parts=(r.Part(id="p1", name="strap", number="ZX-4711-B", price=Decimal("18.50"), ordered=NOW),),
        charges=(r.Charge(id="x1", what="Disposal", amount=Decimal("2.00")),),
        photos=(r.Photo(id="f1", name="strap.jpg", sha256=hashlib.sha256(PICTURE).hexdigest(), step="s2",
                        data=PICTURE),),
        notes=(r.Note(id="n1", at=NOW, words="Asked for a call before six."),),
        not_tested=("The trailer socket, because no trailer was there.",),
        reports=(r.IssuedReport(id="r1", at=NOW, sha256="0" * 64),)), **changed)


def without_bytes(job: Job) -> Job:
    """Return the job with its photos' bytes left out."""
    return replace(job, photos=tuple(replace(photo, data=None) for photo in job.photos))


def as_kept(job: Job, number: str) -> Job:
    """Return what the book is to give back for a job: sealed, numbered, photos' bytes in the file store."""
    job = without_bytes(replace(job, number=number))
    has_evidence = any((job.instruments, job.circuits, job.steps, job.condemned, job.approvals, job.photos,
                        job.reports))
    if job.seal is not None:
        return job
    return seal_job(job) if has_evidence else replace(job, seal=Seal())
