"""How long the diagnosis thinks: everything from nothing, one more reading, ranking tests; and how that grows.

Held against dense solves of the predictions that it needs (`circuits.Dense`): every fault in every size, its own
matrix solved whole in each step of Newton and of switching. Weighing the readings comes on top of that.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import Any

import environment

from benches.circuits import ELEMENTS, READINGS, SEED, Dense
from benches.timing import Figures, Line, held_to, in_turn, seconds

ROUNDS = 5
# Above, a dense solve takes minutes.
DENSE_UP_TO = 41
ALL_MS, ONE_MORE_MS, RANKING_MS = 200.0, 15.0, 50.0
CANDIDATES, FIRST_READINGS = 200, 3
GROWTH_ELEMENTS, GROWTH_READINGS = (13, 20, 30, 40, 50, 60), (5, 10, 20, 30, 40)
# The fault whose readings are taken: this one of all, at the middle of its sizes.
FAULT_AT = 0.6


def speed() -> Iterator[Line]:
    """Yield the lines on time."""
    sys.path.append(str(environment.PROJECT / "tests"))
    from workshop_log.diagnosis.inference import infer

    circuit, readings = _measured(ELEMENTS, READINGS)
    found = infer(circuit, readings)
    size = (f"{len(circuit.elements)} elements, {found.n_faults} faults in {len(found.singles.cells)} cells, "
            f"{len(readings)} readings")
    dense = Dense(circuit, circuit.setup(readings[0].setup), [reading.probe for reading in readings])
    ours, theirs = in_turn([lambda: seconds(lambda: infer(circuit, readings)), lambda: seconds(dense.solve)], ROUNDS)
    yield held_to("diagnosis, everything from nothing", ours.median * 1e3, "ms", theirs.median * 1e3, below=ALL_MS,
                  note=size)

    # Readings stand in an order of their own, so that one that comes later may stand first: each fourth in turn.
    late = iter(range(0, READINGS, READINGS // ROUNDS))

    def one_more() -> float:
        # What it makes of a reading is kept: begun anew each time.
        number = next(late)
        before = infer(circuit, readings[:number] + readings[number + 1:])
        return seconds(lambda: before.with_evidence(readings[number]))

    one = Dense(circuit, circuit.setup(readings[0].setup), [readings[-1].probe])
    ours, theirs = in_turn([one_more, lambda: seconds(one.solve)], ROUNDS)
    yield held_to("diagnosis, one more reading", ours.median * 1e3, "ms", theirs.median * 1e3, below=ONE_MORE_MS,
                  note=size)
    yield from _ranking(circuit, readings)
    for count in GROWTH_ELEMENTS:
        yield _grown(count, READINGS)
    for count in GROWTH_READINGS:
        yield _grown(ELEMENTS, count)


def _measured(elements: int, readings: int) -> tuple[Any, tuple]:
    """Return a circuit of about this many elements, and readings of it with a fault."""
    from electrics.generated import circuit_and_setup

    from workshop_log.diagnosis.candidates import Access, candidates
    from workshop_log.diagnosis.evidence import Measured
    from workshop_log.electrics.faults import amounts, faults_of
    from workshop_log.electrics.probes import predict
    from workshop_log.measuring.entry import read_entry
    from workshop_log.measuring.uncertainty import standard_uncertainty

    circuit, setup = circuit_and_setup(SEED, elements)
    faults = faults_of(circuit)
    fault = faults[int(FAULT_AT * len(faults))]
    sizes = amounts(circuit.element(fault.element), fault.kind)
    fault = fault.of(sizes[len(sizes) // 2] if sizes else None)
    probes = [test.probe for test in candidates(circuit, Access()) if test.kind == "voltage" and test.setup == setup.id]
    found = []
    for probe in probes[:readings]:
        entry = read_entry(f"{predict(circuit, setup, probe, fault=fault).value:.2f} V")
        found.append(Measured(step=f"s{len(found)}", setup=setup.id, probe=probe, low=entry.value, high=entry.value,
                              standard=standard_uncertainty(entry).standard))
    return circuit, tuple(found)


def _ranking(circuit: Any, readings: tuple) -> Iterator[Line]:
    """Yield how long it takes to rank tests, after the first readings and from nothing."""
    from workshop_log.diagnosis.candidates import Access
    from workshop_log.diagnosis.inference import infer
    from workshop_log.diagnosis.next_test import NextTest, propose

    # With two points of three within reach there are about as many tests as are to be ranked.
    access = Access(unreachable_points=frozenset(circuit.points[1::3]),
                    not_available=frozenset({("resistance", "")}))
    dense = [Dense(circuit, setup, [reading.probe for reading in readings]) for setup in circuit.setups]
    for what, begun, goal in ((f"after {FIRST_READINGS} readings", readings[:FIRST_READINGS], RANKING_MS),
                              ("from nothing", (), None)):
        found = infer(circuit, begun)
        count = len(NextTest(found, access).outcomes.candidates)

        def ranked(found: Any = found) -> float:
            return seconds(lambda: propose(found, 3, access))

        ours, theirs = in_turn([ranked, lambda: sum(seconds(each.solve) for each in dense)], ROUNDS)
        yield held_to(f"diagnosis, ranking tests {what}", ours.median * 1e3, "ms", theirs.median * 1e3, below=goal,
                      note=f"{count} tests; baseline: every fault in every size in each setup")


def _grown(elements: int, readings: int) -> Line:
    from workshop_log.diagnosis.inference import infer

    circuit, taken = _measured(elements, readings)
    ours = Figures(tuple(seconds(lambda: infer(circuit, taken)) for _ in range(ROUNDS)))
    theirs = None
    if readings == READINGS and len(circuit.elements) <= DENSE_UP_TO:
        dense = Dense(circuit, circuit.setup(taken[0].setup), [reading.probe for reading in taken])
        theirs = seconds(dense.solve) * 1e3
    return Line(f"from nothing, {len(circuit.elements)} elements, {len(taken)} readings", ours.median * 1e3, "ms",
                theirs, note=f"{len(infer(circuit, taken).singles.cells)} cells")
