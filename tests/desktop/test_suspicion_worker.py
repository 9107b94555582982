"""The work beside the window: the bar first, the next test then; what is outdated is dropped, and nothing is left."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from desktop.looking import sample, settle, work_done
from desktop.suspicions import MOMENTS, PROPOSALS, SUSPICION
from msgspec.structs import replace
from pytestqt.qtbot import QtBot

from workshop_log.desktop.suspicion_worker import Basis, SuspicionWorker
from workshop_log.diagnosis.outdated import Outdated
from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.records import Job, LookStep, Step
from workshop_log.jobs import suspecting

LONGEST_MS = 20_000
STEP = LookStep(id="s99", circuit="start", elements=("GS",), result="damage")


class Engine:
    """Stands for what is computed: it takes note of what it is asked, and waits where it is told to.

    Attributes
    ----------
    asked : list[str]
        What was begun.
    stopped : list[str]
        What was stopped because it was outdated.
    hold : set[str]
        What waits until it is outdated or let go of.
    """

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.stopped: list[str] = []
        self.hold: set[str] = set()
        self.threads: set[int] = set()
        self.problem = ""

    def suspicion_of(self, job: Job, circuit: str, is_outdated: Callable[[], bool], complete: bool) -> Any:
        return self.work("complete" if complete else "quick", SUSPICION, is_outdated)

    def what_if(self, job: Job, circuit: str, step: Step, is_outdated: Callable[[], bool]) -> Any:
        return self.work(f"if {step.id}", SUSPICION, is_outdated)

    def proposals_of(self, job: Job, circuit: str, *, is_outdated: Callable[[], bool], usual_minutes: object,
                     come_back: object) -> Any:
        return self.work("proposals", PROPOSALS, is_outdated)

    def history_of(self, job: Job, circuit: str, is_outdated: Callable[[], bool]) -> Any:
        return self.work("history", MOMENTS, is_outdated)

    def work(self, what: str, answer: Any, is_outdated: Callable[[], bool]) -> Any:
        self.asked.append(what)
        self.threads.add(threading.get_ident())
        while what in self.hold:
            if is_outdated():
                self.stopped.append(what)
                raise Outdated
            threading.Event().wait(0.002)
        if self.problem:
            raise WorkshopLogError(self.problem)
        return answer


@pytest.fixture
def engine(monkeypatch: pytest.MonkeyPatch) -> Engine:
    """Put an engine in the place of the real one."""
    made = Engine()
    for name in ("suspicion_of", "what_if", "proposals_of", "history_of"):
        monkeypatch.setattr(suspecting, name, getattr(made, name))
    return made


@pytest.fixture
def worker(qtbot: QtBot) -> Iterator[SuspicionWorker]:
    """Return a worker; nothing may be left of it."""
    made = SuspicionWorker()
    yield made
    made.stop()
    work_done()
    assert not made.is_busy
    made.deleteLater()
    settle()


@pytest.fixture
def told(worker: SuspicionWorker) -> list[str]:
    """Return what is told, in its order."""
    found: list[str] = []
    worker.suspicion_found.connect(lambda _, is_whole: found.append("whole" if is_whole else "bar"))
    worker.proposals_found.connect(lambda proposals, problem: found.append(problem or f"{len(proposals)} tests"))
    worker.history_found.connect(lambda moments: found.append(f"{len(moments)} moments"))
    worker.supposed.connect(lambda step, _: found.append(f"if {step.id}"))
    return found


@pytest.fixture
def job() -> Job:
    """Return a job in work with a circuit."""
    return replace(sample("ground-strap"), handed_back=None)


def finish(worker: SuspicionWorker, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: not worker.is_busy, timeout=LONGEST_MS)


def test_the_bar_comes_first_then_what_cleared_what_then_the_next_test(
        worker: SuspicionWorker, engine: Engine, told: list[str], job: Job, qtbot: QtBot):
    """All of it on another thread, told on this one."""
    worker.ask(Basis(job, "start"))
    finish(worker, qtbot)
    assert told == ["bar", "whole", "3 tests"]
    assert threading.get_ident() not in engine.threads


def test_the_same_facts_are_not_worked_out_twice(worker: SuspicionWorker, engine: Engine, job: Job, qtbot: QtBot):
    """The clock, the customer's telephone: nothing that the bar rests on."""
    assert worker.ask(Basis(job, "start"))
    finish(worker, qtbot)
    assert not worker.ask(Basis(replace(job, clock=(), notes=(), customer=job.customer), "start"))
    assert engine.asked == ["quick", "complete", "proposals"]
    assert worker.ask(Basis(replace(job, steps=job.steps[:-1]), "start"))


def test_what_is_outdated_is_stopped_and_dropped(
        worker: SuspicionWorker, engine: Engine, told: list[str], job: Job, qtbot: QtBot):
    """A reading came meanwhile: only the newer answer is told, and the older work does not run on beside it."""
    engine.hold = {"quick"}
    worker.ask(Basis(job, "start"))
    qtbot.waitUntil(lambda: engine.asked == ["quick"], timeout=LONGEST_MS)
    worker.ask(Basis(replace(job, steps=job.steps[:3]), "start"))
    qtbot.waitUntil(lambda: engine.stopped == ["quick"], timeout=LONGEST_MS)
    engine.hold = set()
    finish(worker, qtbot)
    assert told == ["bar", "whole", "3 tests"]
    assert engine.asked == ["quick", "quick", "complete", "proposals"]


def test_an_answer_that_comes_too_late_is_dropped(
        worker: SuspicionWorker, engine: Engine, told: list[str], job: Job, qtbot: QtBot,
        monkeypatch: pytest.MonkeyPatch):
    """Work that never looks whether it is outdated is told to nobody either."""
    go_on = threading.Event()
    asked: list[int] = []

    def deaf(job: Job, circuit: str, is_outdated: Callable[[], bool], complete: bool) -> Any:
        asked.append(len(job.steps))
        if len(asked) == 1:
            go_on.wait(LONGEST_MS / 1000)
        return SUSPICION

    monkeypatch.setattr(suspecting, "suspicion_of", deaf)
    worker.ask(Basis(job, "start"))
    qtbot.waitUntil(lambda: len(asked) == 1, timeout=LONGEST_MS)
    worker.ask(Basis(replace(job, steps=job.steps[:2]), "start"))
    go_on.set()
    finish(worker, qtbot)
    assert asked == [len(job.steps), 2, 2]
    assert told == ["bar", "whole", "3 tests"]


def test_what_is_being_typed_goes_before_the_next_test(
        worker: SuspicionWorker, engine: Engine, told: list[str], job: Job, qtbot: QtBot):
    """The tests are put off, and worked out afterwards all the same."""
    engine.hold = {"proposals"}
    worker.ask(Basis(job, "start"))
    qtbot.waitUntil(lambda: engine.asked[-1:] == ["proposals"], timeout=LONGEST_MS)
    worker.suppose(STEP)
    qtbot.waitUntil(lambda: "if s99" in told, timeout=LONGEST_MS)
    engine.hold = set()
    finish(worker, qtbot)
    assert told == ["bar", "whole", "if s99", "3 tests"]


def test_only_the_last_supposition_is_told(
        worker: SuspicionWorker, engine: Engine, told: list[str], job: Job, qtbot: QtBot):
    """Typed key by key; and none any more once the line is empty."""
    worker.ask(Basis(job, "start"))
    finish(worker, qtbot)
    engine.hold = {"if s97"}
    worker.suppose(replace(STEP, id="s97"))
    qtbot.waitUntil(lambda: "if s97" in engine.asked, timeout=LONGEST_MS)
    worker.suppose(replace(STEP, id="s98"))
    worker.suppose(STEP)
    finish(worker, qtbot)
    assert told[3:] == ["if s99"]
    engine.hold = {"if s99"}
    worker.suppose(STEP)
    worker.suppose(None)
    finish(worker, qtbot)
    assert told[3:] == ["if s99"]


def test_how_the_bar_moved_is_worked_out_when_it_is_asked_for(
        worker: SuspicionWorker, engine: Engine, told: list[str], job: Job, qtbot: QtBot):
    """Not before: most people do not look back."""
    worker.ask(Basis(job, "start"))
    worker.ask_history()
    finish(worker, qtbot)
    assert told == ["bar", "whole", "3 tests", "4 moments"]


def test_what_cannot_be_worked_out_says_why(
        worker: SuspicionWorker, engine: Engine, told: list[str], job: Job, qtbot: QtBot):
    """As the problem of the suspicion, in the program's sentence."""
    engine.problem = "The circuit has no supply: add one."
    with qtbot.waitSignal(worker.suspicion_found, timeout=LONGEST_MS) as found:
        worker.ask(Basis(job, "start"))
    assert found.args[0].problem == engine.problem
    assert found.args[0].title == job.circuits[0].title
    finish(worker, qtbot)
    assert told[-1] == engine.problem


def test_suspects_written_by_hand_need_no_proposals(
        worker: SuspicionWorker, engine: Engine, told: list[str], job: Job, qtbot: QtBot):
    """They are worked out at a stroke."""
    worker.ask(Basis(job, ""))
    finish(worker, qtbot)
    assert told == ["whole"]


def test_nothing_is_proposed_for_a_vehicle_that_was_handed_back(
        worker: SuspicionWorker, engine: Engine, told: list[str], qtbot: QtBot):
    """What was possible is all that is asked of it."""
    worker.ask(Basis(sample("ground-strap"), "start"))
    finish(worker, qtbot)
    assert told == ["bar", "whole"]
    assert engine.asked == ["quick", "complete"]


def test_stopping_lets_go_of_everything(
        worker: SuspicionWorker, engine: Engine, told: list[str], job: Job, qtbot: QtBot):
    """As when the window closes: what runs ends, nothing is told, and the next question is answered anew."""
    engine.hold = {"quick"}
    worker.ask(Basis(job, "start"))
    worker.suppose(STEP)
    qtbot.waitUntil(lambda: bool(engine.asked), timeout=LONGEST_MS)
    worker.stop()
    finish(worker, qtbot)
    assert told == []
    engine.hold = set()
    assert worker.ask(Basis(job, "start"))
    finish(worker, qtbot)
    assert told == ["bar", "whole", "3 tests"]


def test_nothing_is_supposed_before_anything_is_known(worker: SuspicionWorker, engine: Engine):
    """Without a circuit there is nothing to suppose."""
    worker.suppose(STEP)
    worker.ask_history()
    assert not worker.is_busy
    assert engine.asked == []


def test_a_sample_job_is_worked_out_for_real(worker: SuspicionWorker, job: Job, qtbot: QtBot):
    """The joint of the ground strap on the body, as the job's own verdict says."""
    with qtbot.waitSignal(worker.suspicion_found, timeout=LONGEST_MS, check_params_cb=lambda _, is_whole: is_whole,
                          ) as found:
        worker.ask(Basis(job, "start"))
    first = found.args[0].shares[0]
    assert (first.key, first.standing) == ("J2", "proved")
    finish(worker, qtbot)
