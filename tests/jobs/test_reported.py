"""What a report says of suspects: all circuits, what was written by hand, and the decisions that were made."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from workshop_log.diagnosis.outdated import Outdated
from workshop_log.exchange.reading import read_job
from workshop_log.exchange.records import Bearing, Circuit, HandSuspect, Job, LookStep
from workshop_log.jobs.reported import reported

_JOBS = Path(__file__).resolve().parents[2] / "sample_jobs"


def sample(name: str) -> Job:
    path = _JOBS / f"{name}.job.json"
    return read_job(path.read_bytes(), path.name)


def test_job_without_circuit_or_suspects_says_nothing() -> None:
    """A brake disc has neither; a circuit without elements is none."""
    for job in (sample("brake-disc"), Job(circuits=(Circuit(id="empty"),))):
        told = reported(job)
        assert (told.suspicions, told.histories, told.decisions) == ((), {}, {})


def test_circuit_has_its_suspicion_its_history_and_the_figures_of_what_was_condemned() -> None:
    """The main sample condemns the strap's joint and lets the battery and the starter off."""
    job = sample("ground-strap")
    told = reported(job)
    condemned = next(entry for entry in job.condemned if entry.element == "J2")
    assert [suspicion.circuit for suspicion in told.suspicions] == ["start"]
    # Before the first test, and after each of the tests before the repair that bear on the circuit.
    assert len(told.histories["start"]) == told.suspicions[0].n_steps + 1
    assert told.histories["start"][0].step == ""
    assert list(told.decisions) == [condemned.id]
    assert told.decisions[condemned.id].share == "J2"


def test_figures_of_decisions_are_left_out_where_nobody_reads_them() -> None:
    """The customer's report has none."""
    assert reported(sample("ground-strap"), with_decisions=False).decisions == {}


def test_suspects_written_by_hand_stand_beside_the_circuits() -> None:
    """They have no circuit, so their id is blank."""
    hand = HandSuspect(id="h1", name="worn hub", bearings=(Bearing(step="s1", says="clears"),))
    job = Job(steps=(LookStep(id="s1", elements=("hub",), result="nothing"),), suspects=(hand,))
    told = reported(job)
    assert [suspicion.circuit for suspicion in told.suspicions] == [""]
    assert [moment.step for moment in told.histories[""]] == ["", "s1"]


def test_nobody_waits_for_what_is_outdated() -> None:
    """The window stops it when the job has changed."""
    job = replace(sample("wiper"), number="not kept from another test")
    circuit = replace(job.circuits[0], title="not kept from another test")
    with pytest.raises(Outdated):
        reported(replace(job, circuits=(circuit,)), is_outdated=lambda: True)
