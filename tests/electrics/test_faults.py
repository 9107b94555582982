"""Which element may have which fault, and how large."""

from __future__ import annotations

from itertools import pairwise

import pytest
from electrics.samples import horn, series

from workshop_log.electrics.circuit import Element
from workshop_log.electrics.faults import (
    KINDS,
    KINDS_OF_ELEMENT,
    Fault,
    FaultError,
    amounts,
    faults_of,
    kinds_of,
    limits,
)
from workshop_log.electrics.solver import solve


def test_every_kind_belongs_to_some_element():
    """Nothing in the list of kinds is forgotten."""
    assert {kind for several in KINDS_OF_ELEMENT.values() for kind in several} == set(KINDS)


def test_own_list_of_faults_replaces_the_kinds():
    """What the technician says is to be considered is considered, and nothing else."""
    element = Element("M", "motor", ("1", "2"), faults=("open",))
    assert kinds_of(element) == ("open",)


def test_faults_of_a_circuit_are_in_its_order():
    """Element by element, kind by kind."""
    faults = faults_of(horn())
    assert [fault.element for fault in faults] == sorted(
        (fault.element for fault in faults), key=[element.id for element in horn().elements].index)
    assert Fault("K1", "stuck closed") in faults


@pytest.mark.parametrize("kind", sorted({"high resistance", "short to ground", "shorted", "draws too much"}))
def test_sizes_are_even_in_their_logarithm(kind):
    """Equal steps between the smallest and the largest that the fault may have."""
    element = Element("M", "load", ("1", "2"), resistance_ohm=4.0)
    sizes = amounts(element, kind, 16)
    low, high = limits(element, kind)
    assert len(sizes) == 16
    assert low < sizes[0] < sizes[-1] < high
    steps = [larger / smaller for smaller, larger in pairwise(sizes)]
    assert steps == pytest.approx([steps[0]] * 15)


@pytest.mark.parametrize(("fault", "words"), [
    (Fault("F", "short to ground"), "say how large"),
    (Fault("C", "stuck open"), "cannot be “stuck open”"),
    (Fault("battery", "short to ground", 1.0), "cannot be “short to ground”"),
    (Fault("M", "low voltage", 1.0), "cannot be “low voltage”"),
])
def test_impossible_fault_is_refused_in_one_sentence(fault, words):
    """The sentence names the element and what it may be."""
    with pytest.raises(FaultError, match=words) as refused:
        solve(series(), "on", fault)
    assert fault.element in str(refused.value)


@pytest.mark.parametrize(("arguments", "words"), [
    (("F", "melted"), "no kind of fault"), (("F", "open", float("nan")), "zero or a positive"),
    (("F", "high resistance", -1.0), "zero or a positive"), (("W", "short to ground", 1.0, 1.5), "between 0 and 1")])
def test_impossible_description_is_refused(arguments, words):
    """A fault checks itself."""
    with pytest.raises(FaultError, match=words):
        Fault(*arguments)


def test_words():
    """As a suspect is called, with its size where it has one."""
    assert Fault("W", "short to ground", 0.5).words() == "W: short to ground, 500\u00a0mΩ"
    assert Fault("W", "open").words() == "W: open"
    assert Fault("battery", "low voltage", 10.5).words() == "battery: low voltage, 10.5\u00a0V"


def test_short_along_a_wire_lies_between_its_ends():
    """A short in the middle of a wire takes a current between those at its two ends."""
    currents = [solve(series(W=1.0), "on", Fault("W", "short to ground", 0.1, position)).current_a("battery")
                for position in (0.0, 0.25, 0.5, 0.75, 1.0)]
    assert currents == sorted(currents, reverse=True)
    assert currents[0] == pytest.approx(12.6 / (0.0176 + 1 / (1 / 0.1 + 1 / 5.0297)), rel=1e-2)


@pytest.mark.parametrize("kind", ["open", "shorted"])
def test_relay_coil_faults_keep_it_out_or_load_its_feed(kind):
    """An open coil never pulls in; a shorted one takes a current of its own."""
    fault = Fault("K1", kind, 5.0 if kind == "shorted" else None)
    state = solve(horn(), "pressed", fault)
    assert (state.pulled_in == frozenset()) == (kind == "open")
    if kind == "shorted":
        assert state.current_a("S1") > 2.0


@pytest.mark.parametrize(("kind", "pulled_in"), [("stuck closed", {"K1"}), ("stuck open", set())])
def test_stuck_relay_does_not_follow_its_coil(kind, pulled_in):
    """Pressed or not, the contact stays where it is."""
    for setup in ("", "pressed"):
        assert solve(horn(), setup, Fault("K1", kind)).pulled_in == pulled_in
