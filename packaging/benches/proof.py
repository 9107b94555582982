"""The independent proof of the diagnosis: made-up faults, answered by the circuit simulator, searched test by test.

Circuits, faults and the vehicle that answers are those of the tests (`published.vehicles`, `published.simulated`); the
baselines are a technician who probes from the supply down, one who halves what is left, and one who tests anything.
"""

from __future__ import annotations

import math
import os
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import environment

from benches.timing import Line, held_to

FAULTS = 2000
FAULTS_PER_VEHICLE = 5
# The baselines, and worse conditions, on this part of them.
PART_OF_FAULTS = 0.25
SIZES = {"small": "6 to 9 elements", "large": "14 to 26 elements"}
PROPOSAL, SUPPLY_DOWN, HALF_SPLIT, ANY_TEST = "proposal", "supply down", "half split", "any test"
BASELINES = (SUPPLY_DOWN, HALF_SPLIT, ANY_TEST)
WORSE = (("true tolerances doubled", {"spread": 2.0}), ("2 % misread", {"misread": 0.02}),
         ("comes and goes", {"appears": "comes and goes"}))
# Goals.
RIGHT_PERCENT, TESTS_SHARE, MINUTES_SHARE = 95.0, 0.45, 0.5


def proof(faults: int = FAULTS) -> Iterator[Line]:
    """Yield the lines on how often the diagnosis is right, how well it knows that, and how soon it is there."""
    sys.path.append(str(environment.PROJECT / "tests"))
    from published import ngspice
    from published.reckoning import together

    if ngspice.PROGRAM is None:
        yield Line("diagnosis of simulated faults", 0.0, "%", note="ngspice is not installed")
        return
    each = -(-faults // len(SIZES))
    some = math.ceil(each * PART_OF_FAULTS)
    with ProcessPoolExecutor(min(2, os.cpu_count() or 1)) as workers:
        proposed = {size: _searched(workers, size, each, (PROPOSAL,))[PROPOSAL] for size in SIZES}
        yield from _called("", proposed)
        yield from _reliability(proposed)
        baselines = {size: _searched(workers, size, some, BASELINES) for size in SIZES}
        for size, ours in proposed.items():
            yield from _against(size, SIZES[size], ours, baselines[size])
        yield from _against("all", "small and large together", together(proposed.values()), {
            way: together(each[way] for each in baselines.values()) for way in BASELINES})
        for name, conditions in WORSE:
            yield from _called(f", {name}", {size: _searched(workers, size, some, (PROPOSAL,), **conditions)[PROPOSAL]
                                             for size in SIZES})


def _searched(workers: ProcessPoolExecutor, size: str, faults: int, ways: tuple[str, ...],
              **conditions: Any) -> dict[str, Any]:
    """Return the reckoning of each way over so many faults."""
    from published.reckoning import Reckoning

    tasks = [workers.submit(searches, size, seed, min(FAULTS_PER_VEHICLE, faults - seed * FAULTS_PER_VEHICLE), ways,
                            **conditions) for seed in range(-(-faults // FAULTS_PER_VEHICLE))]
    done = [task.result() for task in tasks]
    return {way: Reckoning(tuple(search for each in done for search in each[way])) for way in ways}


def searches(size: str, seed: int, faults: int, ways: tuple[str, ...], *, spread: float = 1.0, misread: float = 0.0,
             appears: str = "always") -> dict[str, list]:
    """Return the searches on one vehicle in several ways; a process of its own runs this.

    Parameters
    ----------
    size, seed, faults
        Which vehicle, and how many faults.
    ways : tuple[str, ...]
        `PROPOSAL` and any of `BASELINES`.
    spread : float
        True values lie within so many times the tolerances.
    misread : float
        How often a reading is written down wrongly.
    appears : str
        Whether the customer says that it is always there, or that it comes and goes.
    """
    sys.path.append(str(environment.PROJECT / "tests"))
    from published import ngspice, technician, vehicles
    from published.reckoning import reckoned
    from published.simulated import NoPointError, Simulated, design

    from workshop_log.diagnosis.inference import infer

    vehicle = {"small": vehicles.small_vehicle, "large": vehicles.large_vehicle}[size](seed)
    others, begun = technician.OtherWays(vehicle), {}
    found: dict[str, list] = {way: [] for way in ways}
    with tempfile.TemporaryDirectory() as folder, ngspice.Simulator(Path(folder)) as simulator:
        designed = design(vehicle, simulator)
        for case in technician.cases(vehicle, faults, simulator, spread=spread, appears=appears):
            if case.seen not in begun:
                begun[case.seen] = infer(vehicle.circuit, case.seen, case.options)
            choices = {PROPOSAL: technician.by_proposal, SUPPLY_DOWN: others.supply_down,
                       HALF_SPLIT: others.half_split, ANY_TEST: others.at_random(case.key)}
            for way in ways:
                simulated = Simulated(vehicle, case.truth, simulator, designed, case.key, misread)
                try:
                    run = technician.search(case, choices[way], simulated, begun[case.seen])
                except NoPointError:
                    continue
                found[way].append(reckoned(run))
    return found


def _called(condition: str, sizes: dict[str, Any]) -> Iterator[Line]:
    from published.reckoning import together

    both = together(sizes.values())
    right, parts = both.parts_right
    yield Line(f"right where a part was called{condition}", 100 * both.right, "%", 100 * both.expected,
               f"≥ {RIGHT_PERCENT:g} %", 100 * both.right >= RIGHT_PERCENT,
               f"{len(both.called)} of {len(both.searches)} cases called, {right} of {parts} parts rightly; baseline: "
               "what was believed at the calls")
    yield Line(f"Brier score at the end{condition}", 1000 * both.brier, "‰",
               note=", ".join(f"{name} {1000 * size.brier:.1f}" for name, size in sizes.items()))


def _reliability(sizes: dict[str, Any]) -> Iterator[Line]:
    from published.reckoning import BINS, together

    for number, (count, said, true) in enumerate(together(sizes.values()).reliability):
        yield Line(f"came true, of what was {number * 100 // BINS} to {(number + 1) * 100 // BINS} % likely",
                   100 * true, "%", 100 * said, note=f"{count} times said, at any moment; baseline: what was said")


def _against(size: str, what: str, ours: Any, baselines: dict[str, Any]) -> Iterator[Line]:
    for way, theirs in baselines.items():
        goals = (TESTS_SHARE, MINUTES_SHARE) if way == SUPPLY_DOWN else (None, None)
        # Without a complaint there may be nothing to find.
        theirs = theirs.with_complaint()
        same = ours.of_cases(theirs)
        note = (f"{what}; {len(same.called)} and {len(theirs.called)} of {len(theirs.searches)} complaints "
                "called, 25 tests at most")
        yield held_to(f"tests to 95 %, {size}, against {way}", same.tests, "tests", theirs.tests, ratio=goals[0],
                      note=note)
        yield held_to(f"minutes to 95 %, {size}, against {way}", same.minutes, "min", theirs.minutes, ratio=goals[1],
                      note=note)
