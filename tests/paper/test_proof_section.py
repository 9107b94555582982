"""Clean trials of a fault that comes and goes: told after the repair, with the numbers of the tests, and honestly."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from paper.test_narrowing import content_of, text_of

from workshop_log.exchange.records import Complaint, Condemned, Job, MovementStep
from workshop_log.jobs.evaluation import evaluate
from workshop_log.jobs.suspicion import CircuitSuspicion
from workshop_log.paper.proof_section import trials_sentences

REPAIRED = datetime(2031, 4, 3, 12, tzinfo=UTC)
NOT_ENOUGH = "That is not enough yet: the repair is not proved."
# By hand: of a fault that showed in 1 of 1, five clean movements leave 2 / (6 · 7) = 4.8 %, four 2 / (5 · 6) = 6.7 %.
FIVE = "it takes 5 clean movements"


def moved(number: int, shown: int, trials: int, loom: str = "door loom", **facts: object) -> MovementStep:
    return MovementStep(id=f"s{number}", elements=(loom,), shown=shown, trials=trials, **facts)


def again(number: int, shown: int, trials: int, loom: str = "door loom", **facts: object) -> MovementStep:
    return moved(number, shown, trials, loom, after_repair=True, **facts)


def job_of(*steps: MovementStep, appears: str = "comes and goes") -> Job:
    done = Condemned(id="k", part="wire", decision="repair", repaired=REPAIRED)
    return Job(complaints=(Complaint(id="c", words="It stops.", appears=appears),), condemned=(done,), steps=steps)


def said_of(job: Job) -> tuple[str, ...]:
    return tuple(words.replace("\u00a0", " ") for words in trials_sentences(job, evaluate(job)))


@pytest.mark.parametrize(("after", "said", "is_enough"), [
    ((0, 5), f"after the repair it did not show in 5 movements (test 2), and {FIVE} to be 95 % sure.", True),
    ((0, 4), f"after the repair it did not show in 4 movements (test 2), but {FIVE} to be 95 % sure.", False),
    ((0, 1), f"after the repair it did not show in 1 movement (test 2), but {FIVE} to be 95 % sure.", False),
    (None, f"{FIVE} after the repair to be 95 % sure, and none has been made.", False)])
def test_clean_trials_are_told_with_how_many_it_takes(after: tuple[int, int] | None, said: str,
                                                      is_enough: bool) -> None:
    """One sentence; where they are too few the next one says that the repair is not proved."""
    job = job_of(moved(1, 1, 1), *([again(2, *after)] if after else []))
    told = said_of(job)
    assert told[0] == f"Moving door loom had shown the fault in 1 of 1 movement (test 1); {said}"
    assert told[1:] == (() if is_enough else (NOT_ENOUGH,))


@pytest.mark.parametrize(("shown", "times"), [(1, "once"), (2, "2 times")])
def test_fault_that_shows_again_is_said_to_leave_the_repair_unproved(shown: int, times: str) -> None:
    """However many movements were clean."""
    told = said_of(job_of(moved(1, 9, 15), again(2, shown, 40)))
    assert told == (f"Moving door loom had shown the fault in 9 of 15 movements (test 1); after the repair it showed "
                    f"{times} again (test 2), so the repair is not proved.",)


def test_one_clean_movement_is_enough_where_it_always_showed() -> None:
    """Of a fault that showed in 19 of 19, one clean movement leaves 1 / 21 = 4.8 %."""
    assert said_of(job_of(moved(1, 19, 19), again(2, 0, 1)))[0].endswith(
        "it did not show in 1 movement (test 2), and it takes 1 clean movement to be 95 % sure.")


def test_same_movement_in_several_tests_is_added_up() -> None:
    """All their numbers are named."""
    told = said_of(job_of(moved(1, 3, 5), moved(2, 6, 10), again(3, 0, 10), again(4, 0, 20)))
    assert told[0].startswith("Moving door loom had shown the fault in 9 of 15 movements (tests 1 and 2); after the "
                              "repair it did not show in 30 movements (tests 3 and 4)")


def test_movement_left_out_is_named_and_nothing_more_asked_where_another_is_enough() -> None:
    """Enough clean trials of one movement prove the repair."""
    told = said_of(job_of(moved(1, 1, 1), moved(2, 3, 10, "whole loom"), again(3, 0, 5)))
    assert told[1] == ("Moving whole loom had shown the fault in 3 of 10 movements (test 2); this was not tried again "
                       "after the repair.")
    assert len(told) == 2


def test_what_was_tried_before_the_repair_was_finished_is_named_and_does_not_count() -> None:
    """The table beside it shows those tests; without a word they would seem to be forgotten."""
    early = again(2, 0, 10, at=datetime(2031, 4, 3, 11, tzinfo=UTC))
    told = said_of(job_of(moved(1, 1, 1), early))
    assert told[0].endswith(f"{FIVE} after the repair to be 95 % sure, and what was tried before the repair was "
                            "finished does not count (test 2).")
    assert told[1] == NOT_ENOUGH


@pytest.mark.parametrize("job", [
    job_of(moved(1, 1, 1), again(2, 0, 1), appears="always"), job_of(moved(1, 0, 10), again(2, 0, 10))])
def test_nothing_is_said_of_a_fault_that_is_always_there_or_was_never_provoked(job: Job) -> None:
    """Only a fault that comes and goes, and that a movement had shown, has to be looked for again and again."""
    assert said_of(job) == ()


def test_report_tells_them_below_the_tests_before_and_after() -> None:
    """Both readers find them where the repair's proof is told; before a repair there is no such section."""
    job = job_of(moved(1, 9, 15), again(2, 0, 30))
    nothing = CircuitSuspicion("", "")
    for reader in ("customer", "expert"):
        proof = text_of(content_of(nothing, (), job, reader)).split("The same tests before and after the repair")[1]
        told = proof.split("Tests and readings")[0]
        assert "Fault shown in 0 of 30 movements" in told
        assert told.rstrip().endswith("after the repair it did not show in 30 movements (test 2), and it takes 4 clean "
                                      "movements to be 95 % sure.")
    waiting = Job(complaints=job.complaints, steps=job.steps[:1])
    assert "had shown the fault" not in text_of(content_of(nothing, (), waiting))
