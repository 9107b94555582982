"""Killing the process at any moment loses at most what was not yet acknowledged."""

from __future__ import annotations

import random
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest
from book.samples import NOW
from book.sealed import verify_job

from workshop_log.book.jobs import insert_job, load_job
from workshop_log.book.opening import open_book
from workshop_log.exchange import records as r
from workshop_log.exchange.records import Job

ROUNDS = 25
NUMBER = "2031-0007"
PROJECT = Path(__file__).parents[2]

# Writes a field and an entry in turn, and says each one only after it is kept.
_WRITER = f"""
import sys
from workshop_log.book.jobs import append_entry, set_fields
from workshop_log.book.opening import open_book
from workshop_log.exchange import records as r

book = open_book(sys.argv[1], create=False)
count = int(sys.argv[2])
print("ready", flush=True)
while True:
    count += 1
    with book.session() as session:
        set_fields(session, "{NUMBER}", {{"customer.address": f"{{count}} Invented Lane",
                                          "complaints/c1/words": f"{{count}}"}})
    print(f"field {{count}}", flush=True)
    photo = b"\\xff\\xd8\\xff" + str(count).encode() * 1000
    with book.session() as session:
        sha256 = book.files.put(photo)
        append_entry(session, "{NUMBER}", "photo", r.Photo(id=f"f{{count}}", sha256=sha256, data=photo))
        append_entry(session, "{NUMBER}", "step", r.VoltageStep(id=f"s{{count}}", red="B+", reading=f"{{count}} mV"))
    print(f"entry {{count}}", flush=True)
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal there")
@pytest.mark.slow
def test_every_acknowledged_write_survives_a_kill_at_any_moment(file_book):
    """After each of 25 kills all that was acknowledged is there, the chain is intact and the file sound."""
    with file_book.session() as session:
        insert_job(session, Job(number=NUMBER, opened=NOW, complaints=(r.Complaint(id="c1"),)), NOW)
    file_book.close()
    dice = random.Random(20310402)
    fields = entries = written = 0
    for _ in range(ROUNDS):
        last_field, last_entry = _write_and_kill(file_book.path, max(fields, entries), dice.uniform(0, 0.12))
        fields, entries = max(fields, last_field), max(entries, last_entry)
        written += last_entry > 0
        fields, entries = _check(file_book.path, fields, entries)
    # A test in which every kill came before the first write would prove nothing.
    assert written > ROUNDS // 3


def _write_and_kill(path, count, after_s):
    """Return the last field and the last entry that the child acknowledged before it was killed."""
    with subprocess.Popen([sys.executable, "-c", _WRITER, str(path), str(count)], stdout=subprocess.PIPE, text=True,
                          cwd=PROJECT) as child:
        assert child.stdout.readline() == "ready\n"
        time.sleep(after_s)
        child.kill()
        said = child.stdout.read().splitlines()
    last = {"field": 0, "entry": 0}
    # So short a line goes into a pipe whole or not at all: the kill cannot cut it.
    for line in said:
        what, number = line.split(" ")
        last[what] = int(number)
    return last["field"], last["entry"]


def _check(path, fields, entries):
    connection = sqlite3.connect(path)
    assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    connection.close()
    book = open_book(path, create=False)
    try:
        with book.read() as session:
            job = load_job(session, NUMBER, photo_data=True)
            check = verify_job(session, NUMBER)
    finally:
        book.close()
    assert check.intact, check.reason
    at = int(job.complaints[0].words or 0)
    # Both fields of one change, or neither.
    assert job.customer.address == (f"{at} Invented Lane" if at else "")
    assert at >= fields
    steps = [int(step.id.removeprefix("s")) for step in job.steps]
    assert [int(photo.id.removeprefix("f")) for photo in job.photos] == steps
    assert (steps[-1] if steps else 0) >= entries
    return at, steps[-1] if steps else 0
