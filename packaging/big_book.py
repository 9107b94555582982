#!/usr/bin/env python3
"""Make a big book for measuring: `big_book.py PATH [--jobs 100000] [--readings 1000000]`; the same book each time.

Every job is whole: customer, vehicle, complaint, a chain of evidence whose fingerprints are right, what can be
searched, and its place in the list. All is invented.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import random
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

JOBS, READINGS = 100_000, 1_000_000
# So many pairs of name and telephone number, each of one customer.
MOST_JOBS = 132_000
# Prime to it: neighbouring jobs have different customers.
_STRIDE = 7_919
_AT_ONCE = 2_000
_FIRST_DAY = datetime(2012, 1, 2, 8, 0, tzinfo=UTC)
_FIRST_NAMES = ("Ada", "Bela", "Cato", "Dora", "Edda", "Falk", "Gwen", "Hugo", "Ines", "Jory", "Kaya", "Lutz")
_NAMES = ("Brask", "Corlett", "Dunmere", "Ellory", "Farrant", "Garrow", "Hesketh", "Inch", "Jessop", "Kettle", "Lorn")
_MODELS = (("Brannick", "Tarn"), ("Brannick", "Fell"), ("Harrowend", "Garth"), ("Harrowend", "Beck"),
           ("Sollis", "Moor"))
_WHERE = ("rear lamp", "window motor", "wiper", "fuel sender", "starter", "trailer socket", "horn", "door module")
_WHAT = ("stays dark", "works now and then", "blows its fuse", "runs slowly", "does not stop", "hums", "flickers")
_WHEN = ("in the wet", "after an hour", "in the cold", "over bumps", "when reversing", "with the lights on")
_WAITS = ("approval", "part", "finding the cause", "repair", "proving the repair", "report", "hand-back", "bill")
# One job in so many is not finished.
_OPEN_EVERY = 250


def make_big_book(path: Path | str, jobs: int = JOBS, readings: int = READINGS) -> None:
    """Make the book at `path`, which must not exist yet.

    Parameters
    ----------
    path : Path | str
        The file, or the address of an empty shared book.
    jobs, readings : int
        How many; there are no more than 132,000 different customers.
    """
    if jobs > MOST_JOBS:
        raise ValueError(f"At most {MOST_JOBS} jobs: there are no more different customers.")
    from sqlalchemy import insert, text

    from workshop_log.book import entities, schema
    from workshop_log.book.opening import open_book

    book = open_book(path)
    dice = random.Random(0)
    counts: dict[str, int] = {}
    tables = {"customers": entities.Customer, "vehicles": entities.Vehicle, "jobs": entities.Job,
              "complaints": entities.Complaint, "fault_codes": entities.FaultCode, "time_lines": entities.TimeLine,
              "parts": entities.Part, "notes": entities.Note, "entries": entities.Entry,
              "search_texts": entities.SearchText}
    try:
        for first in range(1, jobs + 1, _AT_ONCE):
            rows: dict[str, list[dict[str, Any]]] = {name: [] for name in tables}
            for key in range(first, min(first + _AT_ONCE, jobs + 1)):
                steps = readings * key // jobs - readings * (key - 1) // jobs
                for name, row in _job(key, steps, dice, counts):
                    rows[name].append(row)
            with book.session() as session:
                for name, entity in tables.items():
                    session.execute(insert(entity.__table__), rows[name])
        with book.session() as session:
            session.execute(insert(entities.Counter.__table__),
                            [{"name": year, "last": last} for year, last in counts.items()])
        with book.session() as session:
            if book.is_shared:
                schema.count_on(session.connection())
            else:
                session.execute(text("INSERT INTO search_index(search_index) VALUES ('optimize')"))
            session.execute(text("ANALYZE"))
    finally:
        book.close()


def _job(key: int, steps: int, dice: random.Random, counts: dict[str, int]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield the rows of one job, by table; the masters first."""
    from workshop_log.book.rows import head_row
    from workshop_log.book.search_text import fold, job_texts, joined
    from workshop_log.exchange import records

    opened = _FIRST_DAY + timedelta(minutes=70 * key)
    counts[f"{opened:%Y}"] = counts.get(f"{opened:%Y}", 0) + 1
    make, model = dice.choice(_MODELS)
    where, what, when = dice.choice(_WHERE), dice.choice(_WHAT), dice.choice(_WHEN)
    name, phone = divmod(key * _STRIDE % MOST_JOBS, 1000)
    customer = records.Customer(
        name=f"{_FIRST_NAMES[name // len(_NAMES)]} {_NAMES[name % len(_NAMES)]}", phone=f"07700 900{phone:03}",
        email=f"customer{key}@example.org", address=f"{dice.randint(1, 99)} Invented Lane, Tarnby")
    vehicle = records.Vehicle(
        registration=f"ZZ{key % 100:02} {_letters(key // 100)}", vin=f"ZZZ{key:014}", make=make, model=model,
        year=dice.randint(2005, 2030), odometer=f"{dice.randint(1, 200)}000 mi")
    complaint = records.Complaint(id="c1", words=f"The {where} {what} {when}.", appears="comes and goes",
                                  confirmed=True)
    code = records.FaultCode(code=f"B{dice.randint(0x1000, 0x1FFF):04X}", state="stored")
    part = records.Part(id="p1", name=where, number=f"ZZ-{dice.randint(10_000, 99_999)}", price=dice.randint(5, 300))
    note = records.Note(id="n1", at=opened, who=customer.name, words=f"Called about the {where}: {what} {when}.")
    line = records.TimeLine(id="t1", person="Mara", start=opened, end=opened + timedelta(minutes=55), what="Testing")
    is_open = key % _OPEN_EVERY == 0
    settled = None if is_open else opened + timedelta(hours=5)
    job = records.Job(
        number=f"{opened:%Y}-{counts[f'{opened:%Y}']:04}", opened=opened, customer=customer, vehicle=vehicle,
        complaints=(complaint,), fault_codes=(code,), handed_back=settled, settled=settled)

    yield "customers", {
        "key": key, "recognised_by": f"{fold(customer.name)} / {joined(customer.phone)}",
        "found_by": f"{fold(customer.name)} {joined(customer.phone)} {fold(customer.email)}", "last_job": key,
        **{name: getattr(customer, name) for name in customer.__struct_fields__}}
    plate, vin = joined(vehicle.registration), joined(vehicle.vin)
    yield "vehicles", {"key": key, "recognised_by": f"vin {vin}", "found_by": f"{plate} {vin}", "last_job": key,
                       **{name: getattr(vehicle, name) for name in vehicle.__struct_fields__}}
    yield "jobs", {"key": key, "customer_key": key, "vehicle_key": key, "version": 1, **head_row(job),
                   **_waiting(is_open, opened, settled, dice)}
    for table, item in (("complaints", complaint), ("fault_codes", code), ("time_lines", line), ("parts", part),
                        ("notes", note)):
        yield table, {"job_key": key, "place": 0, "version": 1,
                      **{name: getattr(item, name) for name in item.__struct_fields__}}
    said = [f"{dice.choice(_WHERE)} {dice.choice(('warm', 'cold', 'moved'))}" for _ in range(steps)]
    for entry in _entries(key, job, said, opened, dice):
        yield "entries", entry
    texts = job_texts(job)
    yield "search_texts", {
        "job_key": key, **texts, "parts": f"{fold(part.name)} {fold(part.number)} {joined(part.number)}",
        "notes": fold(note.words), "evidence": " ".join(dict.fromkeys(" ".join(said).split()))}


def _entries(key: int, job: Any, said: list[str], opened: datetime, dice: random.Random) -> Iterator[dict[str, Any]]:
    """Yield the chain of a job: its intake, then a voltage for each sentence."""
    from workshop_log.exchange.seal import intake_of
    from workshop_log.exchange.writing import canonical_json

    previous = ""
    for position in range(len(said) + 1):
        if position == 0:
            kind, item_id, place, value, body = "intake", "intake", None, None, canonical_json(intake_of(job)).decode()
        else:
            kind, item_id, place, value = "step", f"s{position}", position - 1, dice.randint(0, 1450) / 100
            # The canonical JSON of a step, spelled out: a million records would take minutes.
            body = json.dumps({
                "at": f"{opened + timedelta(minutes=3 * position):%Y-%m-%dT%H:%M:%SZ}",
                "expected": {"high": "12.8 V", "low": "12.2 V", "source": "workshop's own"}, "id": item_id,
                "kind": "voltage", "note": said[position - 1], "reading": f"{value:.2f} V",
                "red": f"p{position}"}, separators=(",", ":"))
        mark = hashlib.sha256(f'{{"body":{body},"kind":"{kind}","previous":"{previous}"}}'.encode()).hexdigest()
        yield {"job_key": key, "position": position, "kind": kind, "item_id": item_id, "place": place, "body": body,
               "what": "voltage" if value is not None else None, "value": value, "unit": "V" if position else None,
               "entered_at": opened, "replaces": None, "previous": previous, "fingerprint": mark}
        previous = mark


def _waiting(is_open: bool, opened: datetime, settled: datetime | None, dice: random.Random) -> dict[str, Any]:
    from workshop_log.book.listing import FINISHED, group_of
    from workshop_log.book.times import microseconds

    key, since = (dice.choice(_WAITS), opened) if is_open else (FINISHED, settled)
    order = microseconds(since) * (1 if is_open else -1)
    return {"waits_key": key, "waits_for": f"Waits for: {key}", "waits_since": since, "list_group": group_of(key),
            "list_order": order}


def _letters(number: int) -> str:
    return "".join(chr(ord("A") + number // 26**place % 26) for place in range(3))


def main() -> int:
    parser = argparse.ArgumentParser(description="Make a big book for measuring.", allow_abbrev=False)
    parser.add_argument("path", help="the new book: a file, or the address of an empty shared book")
    parser.add_argument("--jobs", type=int, default=JOBS)
    parser.add_argument("--readings", type=int, default=READINGS)
    given = parser.parse_args()
    began = time.monotonic()
    make_big_book(given.path, given.jobs, given.readings)
    print(f"{given.jobs:,} jobs and {given.readings:,} readings in {time.monotonic() - began:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
