"""All faults of a circuit at once, against one dense solve for each and against the circuit simulator ngspice.

The circuits are those that the tests make up, and the netlists those that the tests hold the program against.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import environment

from benches.timing import Figures, Line, held_to, in_turn, seconds

ELEMENTS, READINGS, ROUNDS = 40, 20, 5
GROWTH = (10, 20, 40, 80, 120, 160, 200)
SEED = 8
# So many cells are given to the simulator; all of them would take hours, one run for each reading.
SIMULATED, SIMULATED_ALONE = 200, 20
CHUNK = 500
# A meter that takes nothing, for comparing, and how far apart two ways may be. [Ω], [V]
IDEAL_OHM, LARGEST_V = 1e13, 1e-6


def circuits() -> Iterator[Line]:
    """Yield the lines on predictions for all faults in all sizes, and how they grow with the circuit."""
    sys.path.append(str(environment.PROJECT / "tests"))
    from electrics.generated import circuit_and_setup

    from workshop_log.electrics.fault_arrays import fault_readings
    from workshop_log.electrics.faults import GRID_CELLS
    from workshop_log.electrics.probes import Voltage

    circuit, setup = circuit_and_setup(SEED, ELEMENTS)
    probes = [Voltage(point) for point in circuit.points[1:READINGS + 1]]
    readings = fault_readings(circuit, setup, probes)
    size = (f"{len(readings.faults) - 1} faults × {GRID_CELLS} × {len(probes)} readings, {len(circuit.elements)} "
            f"elements: {len(readings.fault)} cells")
    dense = Dense(circuit, setup, probes)
    ideal = [replace(probe, meter_ohm=IDEAL_OHM) for probe in probes]
    _check_same(fault_readings(circuit, setup, ideal), dense.solve())
    ours, theirs = in_turn([lambda: seconds(lambda: fault_readings(circuit, setup, probes)),
                            lambda: seconds(dense.solve)], ROUNDS)
    yield held_to(f"predictions, {size}", ours.median * 1e3, "ms", theirs.median * 1e3, ratio=1 / 5,
                  note="baseline: each cell's own matrix solved whole, "
                       f"{theirs.median / ours.median:.1f} times as long")
    yield from _against_simulator(circuit, setup, readings, probes, ours)
    for count in GROWTH:
        circuit, setup = circuit_and_setup(SEED, count)
        probes = [Voltage(point) for point in circuit.points[1:READINGS + 1]]
        found: list = []
        taken = seconds(lambda c=circuit, s=setup, p=probes, f=found: f.append(fault_readings(c, s, p)))
        lamps = sum(element.kind in ("lamp", "diode") for element in circuit.elements)
        yield Line(f"the same, {len(circuit.elements)} elements", taken * 1e3, "ms",
                   note=f"{len(found[0].fault)} cells, {len(found[0].states)} switching states, "
                        f"{lamps} lamps and diodes")


class Dense:
    """The same without the algebra: every cell's own matrix, solved whole in each step of Newton and of switching."""

    def __init__(self, circuit: Any, setup: Any, probes: list) -> None:
        self.circuit, self.setup, self.probes = circuit, setup, probes

    def solve(self) -> Any:
        """Return the readings of a meter that loads nothing; shape (n_cells, n_probes)."""
        import numpy as np

        from workshop_log.electrics.fault_arrays import cells_of_faults
        from workshop_log.electrics.faults import GRID_CELLS, faults_of
        from workshop_log.electrics.shown import Bench

        faults = [(), *((fault,) for fault in faults_of(self.circuit))]
        index, amount = cells_of_faults(self.circuit, faults, GRID_CELLS)
        self.bench = bench = Bench(self.circuit, self.setup, self.probes, faults, index, amount)
        self.strength = np.clip(bench.ports.strength[0], -1e12, 1e12)
        self.unknowns = np.zeros((len(index), bench.ports.vectors.shape[1]))
        bench.moving.settle(self._switch_currents)
        # A circuit without relays and fuses has not been solved yet.
        if not bench.moving.coils and not bench.moving.fuses:
            self._switch_currents(bench.moving.states[0], np.arange(len(index)))
        return self.unknowns @ bench.board.functionals[bench.board.probe_rows].T

    def _switch_currents(self, state: tuple, cells: Any) -> Any:
        for start in range(0, len(cells), CHUNK):
            self._newton(state, cells[start:start + CHUNK])
        return self.unknowns[cells] @ self.bench.board.functionals[self.bench.switch_rows].T

    def _newton(self, state: tuple, cells: Any) -> None:
        import numpy as np

        from workshop_log.electrics.solver import tableau

        bench, network, curves = self.bench, self.bench.network, self.bench.curves
        closed = tuple(branch.is_closed(*state) for branch in network.branches)
        matrix, right = tableau(network, closed, dict.fromkeys(curves.index, 1.0))
        rows = np.array([network.n_nodes - 1 + index for index in curves.index], dtype=int)
        while len(cells):
            volts = bench.volts[cells]
            current, slope = curves.values(volts) if len(curves) else (volts, volts)
            vectors = bench.ports.vectors[bench.ports.of_cell[cells, 0]]
            changed = matrix + self.strength[cells, None, None] * vectors[:, :, None] * vectors[:, None, :]
            changed[:, rows, rows] += 1.0 - 1 / slope if len(rows) else 0.0
            source = right + bench.ports.driven[0, cells, None] * vectors
            source[:, rows] = volts - current / slope if len(rows) else 0.0
            unknowns = np.linalg.solve(changed, source[:, :, None])[:, :, 0]
            self.unknowns[cells] = unknowns
            if not len(rows):
                return
            wanted = unknowns[:, rows] / slope + source[:, rows]
            done = ((np.abs(wanted - volts) < 1e-9) | (np.abs(wanted - volts) * slope < 1e-12)).all(axis=1)
            bench.volts[cells] = np.where(done[:, None], wanted, np.stack(
                [curve.limited(volts[:, n], wanted[:, n]) for n, curve in enumerate(curves.each)], axis=1))
            cells = cells[~done]


def _check_same(readings: Any, dense: Any) -> None:
    """Refuse to compare two ways that do not say the same; cells whose relays chatter are left where they were."""
    import numpy as np

    apart = np.abs(readings.value - dense)[~readings.floating & ~readings.chatters[:, None]]
    if apart.max() > LARGEST_V:
        raise RuntimeError(f"the two ways differ by {apart.max():.3g} V")


def _against_simulator(circuit: Any, setup: Any, readings: Any, probes: list, ours: Figures) -> Iterator[Line]:
    import math

    from published import ngspice

    from workshop_log.electrics.solver import solve

    if ngspice.PROGRAM is None:
        yield Line("the same by the circuit simulator", 0.0, "ms", note="ngspice is not installed")
        return

    def netlist(cell: int, probe: Any) -> Any:
        faults = tuple(fault.of(None if math.isnan(amount) else float(amount)) for fault, amount in zip(
            readings.faults[readings.fault[cell]], readings.amount[cell], strict=False))
        return ngspice.Netlist(circuit, setup, faults, probe, solve(circuit, setup, faults, probe))

    cells = range(0, len(readings.fault), max(1, len(readings.fault) // SIMULATED))
    together = [netlist(cell, probes[cell % len(probes)]) for cell in cells]
    with tempfile.TemporaryDirectory() as folder:
        in_one = seconds(lambda: ngspice.operating_points(together, Path(folder))) / len(together)
        alone = []
        for number, each in enumerate(together[:SIMULATED_ALONE]):
            file = Path(folder) / f"alone-{number}.cir"
            file.write_text(each.text(ngspice.OPTIONS[0]), encoding="utf-8")
            alone.append(seconds(lambda file=file: subprocess.run(
                [ngspice.PROGRAM, "-b", file], capture_output=True, check=False)))
    each_ms = ours.median / readings.value.size * 1e3
    for what, taken, goal in (("a run of its own for each", Figures(tuple(alone)).median, 1 / 5000),
                              ("many in one process", in_one, None)):
        yield held_to(f"one prediction against the simulator, {what}", each_ms * 1e3, "µs", taken * 1e6, ratio=goal,
                      note=f"{taken * 1e3 / each_ms:,.0f} times as long, measured on {len(together)} cells")
