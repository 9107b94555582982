"""Somebody who looks for a fault test by test: by the program's own proposals, or in the ways it is held against.

All stop by the same inference, once one part is at least 95 % likely, and after the same number of tests at most.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from published import ngspice
from published.simulated import NoPointError, Simulated, design
from published.vehicles import WITH_COMPLAINT, Truth, Vehicle, truth, weights

from workshop_log.diagnosis.candidates import Access, Candidate, already_made, candidates
from workshop_log.diagnosis.evidence import Evidence, Observed
from workshop_log.diagnosis.inference import Inference, Options, infer
from workshop_log.diagnosis.standing import CLEARED_BELOW, PROVED_ABOVE
from workshop_log.electrics.circuit import REFERENCE, SOURCE_KINDS, Circuit
from workshop_log.electrics.connections import cheapest_path
from workshop_log.electrics.probes import Current, Resistance, Voltage, predict

MOST_TESTS = 25
# So often a fault is drawn for a complaint that it must explain.
_MOST_DRAWN = 1000


@dataclass(frozen=True)
class Case:
    """A vehicle with its fault, and what its technician begins with.

    Attributes
    ----------
    vehicle, truth
        As `vehicles`.
    key : str
        What it is called; everything in it comes from this.
    options : Options
        What is thought of the suspects before any test.
    seen : tuple[Observed, ...]
        The complaint as confirmed; empty where nothing is known.
    """

    vehicle: Vehicle
    truth: Truth = field(repr=False)
    key: str
    options: Options = field(repr=False)
    seen: tuple[Observed, ...] = field(repr=False)


@dataclass(frozen=True)
class Run:
    """How a search went.

    Attributes
    ----------
    case : Case
        What was searched.
    share : str
        The part of the bar that the truth is.
    tests : tuple[Evidence, ...]
        What was found out, in order, without the complaint.
    minutes : float
        What it took.
    shares : tuple[dict[str, float], ...]
        What was believed at the beginning and after each test.
    """

    case: Case
    share: str
    tests: tuple[Evidence, ...]
    minutes: float
    shares: tuple[dict[str, float], ...]

    @property
    def called(self) -> str:
        """The part that was called; nothing where none was likely enough."""
        likeliest, probability = self.likeliest
        return likeliest if probability >= PROVED_ABOVE else ""

    @property
    def likeliest(self) -> tuple[str, float]:
        """The likeliest part at the end."""
        return max(self.shares[-1].items(), key=lambda item: item[1])


def cases(vehicle: Vehicle, count: int, simulator: ngspice.Simulator, *, spread: float = 1.0,
          appears: str = "always") -> Iterator[Case]:
    """Yield cases of one vehicle, drawn so that what the technician begins with is as the program thinks it is.

    The complaint is chosen before the fault; faults are drawn until one brings it about.

    Parameters
    ----------
    vehicle, count, simulator
        Where, how many, and what answers.
    spread : float
        True values lie within so many times the tolerances.
    appears : str
        What the customer says of it: "always", "comes and goes".
    """
    designed, before = design(vehicle, simulator), {}
    for number in range(count):
        chance = random.Random(f"case {vehicle.seed} {number}")
        with_complaint = chance.random() < WITH_COMPLAINT
        if with_complaint not in before:
            before[with_complaint] = infer(vehicle.circuit, (), Options(weights=weights(with_complaint, appears)))
        found = before[with_complaint]
        for drawn in range(_MOST_DRAWN):
            true = truth(vehicle, found.suspects, found.prior.tolist(), chance, spread=spread)
            key = f"vehicle {vehicle.seed}, case {number}.{drawn}"
            try:
                seen = Simulated(vehicle, true, simulator, designed, key).works(*vehicle.complaint, "complaint")
            except NoPointError:
                continue
            if not with_complaint or not seen.works:
                yield Case(vehicle, true, key, found.options, (seen,) if with_complaint else ())
                break


Choice = Callable[[Inference, Access], Candidate | None]


def search(case: Case, choose: Choice, simulated: Simulated, begun: Inference | None = None) -> Run:
    """Return how a search went that chose its tests in one way.

    Parameters
    ----------
    case, simulated
        The case, and its vehicle.
    choose : callable
        Returns the next test; None where there is none left.
    begun : Inference | None
        What is thought before the first test, where that is known already.

    Raises
    ------
    NoPointError
        If the simulator finds no operating point with a test.
    """
    found = begun or infer(case.vehicle.circuit, case.seen, case.options)
    access = Access(minutes=case.vehicle.access_minutes)
    shares, tests, minutes = [found.shares()], [], 0.0
    while max(shares[-1].values()) < PROVED_ABOVE and len(tests) < MOST_TESTS:
        test = choose(found, access)
        if test is None:
            break
        taken, access = after(case.vehicle.circuit, access, test)
        minutes += taken
        tests.append(simulated.answer(test, f"test {len(tests) + 1}"))
        found = found.with_evidence(tests[-1])
        shares.append(found.shares())
    return Run(case, simulated.suspect.share, tuple(tests), minutes, tuple(shares))


def after(circuit: Circuit, access: Access, test: Candidate) -> tuple[float, Access]:
    """Return how long a test takes [min], and what lies open and how the vehicle stands after it."""
    needed = access.needed(circuit, test)
    minutes = access.base_minutes(circuit, test) + sum(access.of_element(element) for element in needed)
    setup = access.setup if test.kind == "look" else test.setup
    return minutes, replace(access, off=access.off | set(needed), setup=setup)


# --- ways to choose -------------------------------------------------------------------------------------------------


def by_proposal(found: Inference, access: Access) -> Candidate | None:
    """Choose what the program proposes first."""
    from workshop_log.diagnosis.next_test import propose

    proposed = propose(found, 1, access)
    return proposed[0].candidate if proposed else None


class OtherWays:
    """The ways that the program is held against, on one vehicle."""

    def __init__(self, vehicle: Vehicle) -> None:
        self.circuit, (load, self.setup) = vehicle.circuit, vehicle.complaint
        self.allowed = [test for test in candidates(self.circuit, Access(), with_movement=False)
                        if not isinstance(test.probe, Resistance)
                        or not predict(self.circuit, test.setup, test.probe).live]
        self.chain = chain(self.circuit, load)
        on_chain = list(dict.fromkeys(point for _, _, point in self.chain))
        self.points = [*on_chain, *(point for point in self.circuit.points if point not in on_chain)]
        self.points.remove(REFERENCE)
        elements = [element for element, _, _ in self.chain]
        elements += [element.id for element in self.circuit.elements if element.id not in elements]
        self.rest = [*(Candidate("current", self.setup, Current(element)) for element in elements),
                     *(Candidate("look", elements=(element,)) for element in elements),
                     *(Candidate("swap", elements=(element,)) for element in elements), *self.allowed]

    def _voltage(self, point: str) -> Candidate:
        return Candidate("voltage", self.setup, Voltage(point))

    def _first(self, found: Inference, tests: list[Candidate]) -> Candidate | None:
        """Return the first test that is allowed and not made yet; nothing cleared is looked at or swapped."""
        made, shares = already_made(found.evidence), found.shares()
        return next((test for test in tests if test.key not in made and test in self.allowed
                     and all(shares[element] >= CLEARED_BELOW for element in test.elements)), None)

    def supply_down(self, found: Inference, access: Access) -> Candidate | None:  # noqa: ARG002
        """Choose the voltage at the next point from the supply down; then clamps, looks and the rest."""
        return self._first(found, [*map(self._voltage, self.points), *self.rest])

    def half_split(self, found: Inference, access: Access) -> Candidate | None:
        """Choose the voltage at the middle of what is not cleared along the chain; then as from the supply down."""
        shares, made = found.shares(), already_made(found.evidence)
        standing = [shares[element] >= CLEARED_BELOW for element, _, _ in self.chain]
        best, most = None, 0
        for number, (_, _, point) in enumerate(self.chain):
            test = self._voltage(point)
            halves = min(sum(standing[:number + 1]), sum(standing[number + 1:]))
            if halves > most and test in self.allowed and test.key not in made:
                best, most = test, halves
        return best or self.supply_down(found, access)

    def at_random(self, key: str) -> Choice:
        """Return the way that chooses any test, the same ones for the same key."""
        chance = random.Random(f"any test, {key}")
        order = chance.sample(self.allowed, len(self.allowed))

        def choose(found: Inference, access: Access) -> Candidate | None:  # noqa: ARG001
            made = already_made(found.evidence)
            return next((test for test in order if test.key not in made), None)

        return choose


def chain(circuit: Circuit, load: str) -> list[tuple[str, str, str]]:
    """Return the elements from the supply through a load to B-, each with the points where it begins and ends.

    The source itself comes first, as one that ends at the supply point.
    """
    point = {name: number for number, name in enumerate(circuit.points)}
    edges, ends = [], []
    for element in circuit.elements:
        if element.kind in SOURCE_KINDS:
            continue
        contact = element.normally_open or element.normally_closed
        for pair in (element.between, element.common and contact and (element.common, contact)):
            if pair and element.id != load:
                edges.append((point[pair[0]], point[pair[1]], 1.0))
                ends.append((element.id, *pair))
    before, behind = circuit.element(load).between
    found = [(source.id, REFERENCE, circuit.supply_point) for source in circuit.elements if source.kind == "battery"]
    for start, end in ((circuit.supply_point, before), (behind, REFERENCE)):
        here = start
        for edge in cheapest_path(point[start], point[end], edges) or []:
            element, one, other = ends[edge]
            there = other if one == here else one
            found.append((element, here, there))
            here = there
        if end == before:
            found.append((load, before, behind))
    return found
