"""Edits of a circuit: a sound one stays sound, evidence keeps its place, and what cannot be is said in one sentence."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from workshop_log.electrics.solver import solve
from workshop_log.exchange import records as r
from workshop_log.exchange.circuit_check import names_of, points_of
from workshop_log.exchange.records import Circuit
from workshop_log.jobs import circuit_editing as editing
from workshop_log.jobs import circuit_fields as fields
from workshop_log.jobs.circuit_editing import CONDUCTORS, KINDS, EditRefusedError
from workshop_log.jobs.circuit_ranges import computed_circuit
from workshop_log.jobs.starters import starter_circuits
from workshop_log.jobs.testing import record_step, save_circuit

CIRCUITS = (*(starter.circuit for starter in starter_circuits()), editing.circuit_from_nothing())
SERIES = sorted(CONDUCTORS)
# One wire, one lamp: everything is worked out by hand.
LAMP = Circuit(id="lamp", elements=(
    r.Element(id="battery", kind="battery", between=("B+", "B-"), voltage="12.6 V"),
    r.Element(id="F1", kind="fuse", between=("B+", "F1.out"), rating="10 A"),
    r.Element(id="W1", kind="wire", between=("F1.out", "E1.1"), length="2.9 m", section="1.5 mm2", colour="RD/WH"),
    r.Element(id="S1", kind="switch", between=("E1.1", "E1.2")),
    r.Element(id="E1", kind="lamp", between=("E1.2", "E1.3"), power="21 W", at="12 V"),
    r.Element(id="G1", kind="ground point", between=("E1.3", "B-"))),
    setups=(r.Setup(id="lit", on=("S1",)), r.Setup(id="probed", disconnected=("W1",), bridges=(
        r.Bridge(between=("F1.out", "E1.1"), through="lamp"),))))


def by_id(circuit: Circuit, name: str) -> r.Element:
    return editing.element_of(circuit, name)


# --- every edit ----------------------------------------------------------------------------------------------------


@st.composite
def edits(draw: st.DrawFn):
    """Return a circuit and some edits, each a function of the circuit as it then stands."""
    circuit = draw(st.sampled_from(CIRCUITS))
    number, kind = st.integers(0, 60), st.sampled_from(KINDS)
    # With these texts in any field: what people type, and what they type by mistake.
    text = st.sampled_from(["", "1", "12 V", "4k7", "2,5", "-3", "OL", "RD", "B-", "B+", "nonsense", "0",
                            "1e9 V", "A\x07", "x" * 70, "7.5 A", "20 mohm", "open, dead", "yes", "copper"])
    one = st.one_of(
        st.tuples(st.just("insert"), number, kind, st.booleans()), st.tuples(st.just("split"), number, text),
        st.tuples(st.just("branch"), number, kind), st.tuples(st.just("remove"), number),
        st.tuples(st.just("rename element"), number, text), st.tuples(st.just("rename point"), number, text),
        st.tuples(st.just("change"), number, number, text), st.tuples(st.just("kind"), number, kind),
        st.tuples(st.just("add setup"), text), st.tuples(st.just("remove setup"), number),
        st.tuples(st.just("set"), number, number, st.sampled_from(["on", "pulled", "unplugged", "disconnected"]),
                  st.booleans()))
    return circuit, draw(st.lists(one, min_size=1, max_size=12))


def edited(circuit: Circuit, edit: tuple) -> Circuit:
    what, *how = edit
    elements, points = circuit.elements, sorted(names_of(circuit).points)
    if what == "add setup":
        return editing.add_setup(circuit, how[0])
    if what in ("remove setup", "set"):
        setup = circuit.setups[how[0] % len(circuit.setups)].id if circuit.setups else "none"
        if what == "remove setup":
            return editing.remove_setup(circuit, setup)
        return editing.set_in_setup(circuit, setup, how[2], elements[how[1] % len(elements)].id, how[3])
    element, point = elements[how[0] % len(elements)], points[how[0] % len(points)]
    match what:
        case "insert":
            return editing.insert_in_series(circuit, element.id, *how[1:])[0]
        case "split":
            return editing.split_wire(circuit, element.id, how[1])[0]
        case "branch":
            return editing.branch(circuit, point, how[1])[0]
        case "remove":
            return editing.remove(circuit, element.id)
        case "rename element":
            return editing.rename_element(circuit, element.id, how[1])
        case "rename point":
            return editing.rename_point(circuit, point, how[1])
        case "kind":
            return fields.change(circuit, element.id, kind=how[1])
    keys = [field.key for field in (*fields.fields_of(element.kind), *fields.CASE_FIELDS)]
    return fields.change(circuit, element.id, **{keys[how[1] % len(keys)]: how[2]})


@settings(max_examples=150)
@given(edits())
def test_any_edit_of_a_sound_circuit_leaves_a_sound_one_or_says_why_not(case):
    """Whatever is pressed in whatever order, the circuit can be kept and computed; a refusal is one sentence."""
    circuit, todo = case
    for edit in todo:
        try:
            circuit = edited(circuit, edit)
        except EditRefusedError as refused:
            assert str(refused)[-1] in ".?" and "\n" not in str(refused), str(refused)
            continue
        assert editing.problem_of(circuit) == ""
        solve(computed_circuit(circuit), "as found")


@settings(max_examples=60)
@given(st.sampled_from(CIRCUITS), st.integers(0, 60), st.sampled_from(KINDS), st.booleans())
def test_what_is_added_leaves_every_name_where_it_was(circuit, number, kind, after):
    """Readings stand at points and elements: inserting, splitting and branching take none of them away."""
    element = circuit.elements[number % len(circuit.elements)]
    point = points_of(element)[0]
    for made in (lambda: editing.insert_in_series(circuit, element.id, kind, after), lambda: editing.branch(
            circuit, point, kind), lambda: editing.split_wire(circuit, element.id)):
        try:
            changed, new = made()
        except EditRefusedError:
            continue
        before, now = names_of(circuit), names_of(changed)
        assert before.points <= now.points
        assert before.elements <= now.elements
        assert before.setups == now.setups
        assert new in now.elements - before.elements


@settings(max_examples=60)
@given(st.sampled_from(CIRCUITS), st.integers(0, 60), st.sampled_from(SERIES), st.booleans())
def test_taking_out_what_was_inserted_gives_the_circuit_before(circuit, number, kind, after):
    """Insert, then remove: nothing is left of it."""
    element = circuit.elements[number % len(circuit.elements)]
    changed, new = editing.insert_in_series(circuit, element.id, kind, after)
    assert editing.remove(changed, new, kept=names_of(circuit).points) == circuit


@settings(max_examples=40)
@given(st.sampled_from(CIRCUITS), st.integers(0, 60), st.sampled_from(["fuse", "wire", "contact"]), st.booleans())
def test_what_is_inserted_carries_the_current_of_what_it_is_in_series_with(circuit, number, kind, after):
    """Kirchhoff's first law at the new point: the two meet nothing else there."""
    plain = [element for element in circuit.elements if element.between]
    element = plain[number % len(plain)]
    changed, new = editing.insert_in_series(circuit, element.id, kind, after)
    # A bridge may meet them at the point between.
    for setup in ("as found", *(setup.id for setup in circuit.setups if not setup.bridges)):
        state = solve(computed_circuit(changed), setup)
        if state.blown:
            continue
        assert abs(state.current_a(new)) == pytest.approx(abs(state.current_a(element.id)), abs=1e-6)


# --- single edits --------------------------------------------------------------------------------------------------


def test_what_is_inserted_behind_a_fuse_lies_behind_its_own_point():
    """F1.out is the fuse's point and stays at it; the wire begins behind the new contact."""
    changed, new = editing.insert_in_series(LAMP, "F1", "contact")
    assert new == "X1.1"
    assert by_id(changed, "F1").between == ("B+", "F1.out")
    assert by_id(changed, new).between == ("F1.out", "X1.1b")
    assert by_id(changed, "W1").between == ("X1.1b", "E1.1")
    assert by_id(changed, new).connector == "X1"


def test_what_is_inserted_before_ground_leaves_battery_negative():
    """B- never moves, whatever is inserted beside it."""
    changed, new = editing.insert_in_series(LAMP, "G1", "wire")
    assert new == "W2"
    assert by_id(changed, "G1").between == ("E1.3", "W2.1")
    assert by_id(changed, "W2").between == ("W2.1", "B-")


def test_a_relay_comes_with_the_switch_that_works_it():
    """Its coil lies between the supply and a switch to ground: with that on, the lamp is fed."""
    changed, new = editing.insert_in_series(LAMP, "S1", "relay")
    relay, switch = by_id(changed, new), by_id(changed, "S2")
    assert relay.coil == ("B+", "K1.85")
    assert switch.between == ("K1.85", "B-")
    changed = editing.set_in_setup(changed, "lit", "on", "S2", True)
    assert solve(computed_circuit(changed), "lit").current_a("E1") > 1


def test_a_split_wire_keeps_its_length_and_its_setups():
    """2.9 m become twice 1.45 m, and the battery sees the same resistance but for the pin's."""
    changed, pin = editing.split_wire(LAMP, "W1", "C3")
    assert pin == "C3.1"
    first, second = by_id(changed, "W1"), by_id(changed, "W2")
    assert (first.length, second.length) == ("1.45 m", "1.45 m")
    assert (first.between, second.between) == (("F1.out", "C3.1a"), ("C3.1b", "E1.1"))
    assert second.colour == "RD/WH"
    whole = computed_circuit(LAMP).element("W1").resistance_ohm
    pieces = [computed_circuit(changed).element(name).resistance_ohm for name in ("W1", "W2")]
    assert sum(pieces) == pytest.approx(whole)
    assert changed.setups[1].disconnected == ("W1", "W2")
    again, pin = editing.split_wire(changed, "W2", "C3")
    assert pin == "C3.2"
    with pytest.raises(EditRefusedError, match="Only a wire"):
        editing.split_wire(again, "F1")


def test_a_branch_leads_to_ground_unless_that_is_a_short_circuit():
    """A lamp hangs between the point and B-; a fuse ends open and is gone on from."""
    changed, lamp = editing.branch(LAMP, "E1.1", "lamp")
    assert by_id(changed, lamp).between == ("E1.1", "B-")
    assert (by_id(changed, lamp).power, by_id(changed, lamp).at) == ("21 W", "12 V")
    changed, fuse = editing.branch(changed, "B+", "fuse")
    changed, motor = editing.branch(changed, "F2.2", "motor")
    assert by_id(changed, motor).between == ("F2.2", "B-")
    assert solve(computed_circuit(changed), "as found").current_a("M1") == pytest.approx(5, rel=0.1)


def test_removing_a_wire_joins_its_points_and_removing_a_lamp_does_not():
    """A lead taken out is a lead bridged; a load taken out leaves its ends open."""
    without_wire = editing.remove(LAMP, "W1")
    assert by_id(without_wire, "S1").between == ("F1.out", "E1.2")
    assert without_wire.setups[1].disconnected == ()
    assert without_wire.setups[1].bridges == ()
    assert by_id(editing.remove(LAMP, "W1", kept=("E1.1",)), "F1").between == ("B+", "E1.1")
    without_lamp = editing.remove(LAMP, "E1")
    assert by_id(without_lamp, "S1").between == ("E1.1", "E1.2")
    assert by_id(without_lamp, "G1").between == ("E1.3", "B-")


def test_one_of_two_elements_beside_each_other_is_only_taken_out():
    """Joining its points would bridge the other one."""
    changed, new = editing.branch(LAMP, "E1.1", "switch")
    beside = fields.change(changed, new, second="E1.2")
    assert editing.remove(beside, new) == LAMP


def test_setups_and_bridges_follow_a_new_name():
    """What was switched on stays switched on."""
    changed = editing.rename_element(LAMP, "S1", "S 42")
    assert changed.setups[0].on == ("S 42",)
    changed = editing.rename_point(changed, "F1.out", "15")
    assert changed.setups[1].bridges[0].between == ("15", "E1.1")
    assert by_id(changed, "W1").between == ("15", "E1.1")


@pytest.mark.parametrize(("act", "words"), [
    (lambda: editing.rename_element(LAMP, "S1", "F1"), "already"),
    (lambda: editing.rename_element(LAMP, "S1", "  "), "needs a name"),
    (lambda: editing.rename_element(LAMP, "S1", "x" * 65), "at most 64"),
    (lambda: editing.rename_point(LAMP, "E1.1", "E1.2"), "already"),
    (lambda: editing.rename_point(LAMP, "B-", "31"), "battery negative"),
    (lambda: editing.add_setup(LAMP, "lit"), "already"),
    (lambda: editing.add_setup(LAMP, "as found"), "already"),
    (lambda: editing.remove_setup(LAMP, "as found"), "nothing on"),
    (lambda: editing.remove(LAMP, "W9"), "no element “W9”"),
    (lambda: editing.branch(LAMP, "Q", "lamp"), "no point “Q”"),
    (lambda: fields.change(LAMP, "W1", second="F1.out"), "both ends are the point “F1.out”"),
    (lambda: fields.change(LAMP, "W1", length="3 V"), "W1: .*a voltage"),
    (lambda: fields.change(LAMP, "W1", length="long"), "Length: .*number"),
    (lambda: fields.change(LAMP, "E1", power=""), "lamp needs"),
    (lambda: fields.change(LAMP, "E1", price="-1"), "E1: .*negative"),
    (lambda: fields.change(LAMP, "E1", kind="relay"), "more ends"),
])
def test_what_cannot_be_is_refused_in_one_sentence(act, words):
    """What, where, and what to do."""
    with pytest.raises(EditRefusedError, match=words):
        act()


def test_a_number_without_unit_means_the_usual_one():
    """21 in a lamp's power is 21 W; the voltage that goes with it is the supply's."""
    changed = fields.change(LAMP, "E1", power="55")
    assert by_id(changed, "E1").power == "55 W"
    changed = fields.change(fields.change(LAMP, "W1", kind="heater"), "W1", power="1.2 kW")
    assert (by_id(changed, "W1").power, by_id(changed, "W1").at) == ("1.2 kW", "12 V")
    assert by_id(fields.change(LAMP, "W1", section="2.5 mm²"), "W1").section == "2.5 mm2"


@pytest.mark.parametrize("kinds", [pair for pair in itertools.product(KINDS, KINDS) if "relay" not in pair],
                         ids=" to ".join)
def test_an_element_becomes_one_of_any_other_kind(kinds):
    """What does not fit goes, what is needed comes; its place stays."""
    before, after = kinds
    circuit, new = editing.insert_in_series(LAMP, "W1", before)
    changed = fields.change(circuit, new, kind=after)
    assert by_id(changed, new).kind == after
    assert by_id(changed, new).between == by_id(circuit, new).between


def test_what_is_assumed_is_what_the_circuit_is_computed_with():
    """A contact's 5 mΩ, a wire's resistance by its length, a relay's coil: shown where nothing is typed."""
    assert fields.assumed(LAMP, "S1")["resistance"].split() == ["20", "mΩ"]
    # 2.9 m of 1.5 mm2, of which a metre has at most 12.7 mΩ (ISO 6722-1): 36.8 mΩ.
    assert fields.assumed(LAMP, "W1")["resistance"].split() == ["37", "mΩ"]
    assert "resistance" not in fields.assumed(fields.change(LAMP, "W1", resistance="50 mohm"), "W1")
    relay, _ = editing.insert_in_series(LAMP, "S1", "relay")
    assert fields.assumed(relay, "K1")["coil_resistance"].split() == ["90", "Ω"]


def test_every_field_that_a_kind_shows_fits_it():
    """No field is offered that the check would call foreign, and none of an element's keys is left out."""
    for circuit in CIRCUITS:
        for element in circuit.elements:
            keys = {field.key for field in (*fields.fields_of(element.kind), *fields.CASE_FIELDS)}
            for key in element.__struct_fields__:
                if getattr(element, key) not in (None, "") and key not in ("id", "kind", "between", "coil"):
                    assert key in keys, (element.id, key)
            for key in keys:
                assert fields.change(circuit, element.id, **{key: fields.text_of(element, key)}) is not None


# --- evidence ------------------------------------------------------------------------------------------------------


def job_with_steps() -> r.Job:
    return r.Job(circuits=(LAMP,), steps=(
        r.VoltageStep(id="s1", circuit="lamp", setup="lit", red="E1.1", reading="12.1 V"),
        r.CurrentStep(id="s2", circuit="lamp", through="W1", reading="1.7 A"),
        r.MovementStep(id="s3", circuit="lamp", elements=("W1",), watching=r.WatchVoltage(red="E1.1"), trials=20),
        r.VoltageStep(id="s4", red="E1.2", reading="12.1 V")))


def test_steps_that_name_something_are_found_in_their_circuit_alone():
    """Readings, movements with what was watched, setups; a step on no circuit names nothing here."""
    job = job_with_steps()
    assert editing.used_by_steps(job, LAMP, "E1.1") == ("s1", "s3")
    assert editing.used_by_steps(job, LAMP, "W1") == ("s2", "s3")
    assert editing.used_by_steps(job, LAMP, "lit", "setup") == ("s1",)
    assert editing.used_by_steps(job, LAMP, "lit", "point") == ()
    assert editing.used_by_steps(job, LAMP, "E1.2") == ()
    assert editing.used_by_steps(job, replace(LAMP, id="other"), "W1") == ()


@pytest.mark.parametrize(("edit", "words"), [
    (lambda: editing.rename_element(LAMP, "W1", "W7"), "element “W1”.*steps s2 and s3 name it"),
    (lambda: editing.remove(LAMP, "W1"), "“E1.1”.*steps s1 and s3|“W1”.*steps s2 and s3"),
    (lambda: editing.rename_point(LAMP, "E1.1", "54"), "point “E1.1”.*steps s1 and s3"),
    (lambda: editing.remove_setup(LAMP, "lit"), "setup “lit”.*step s1 names it"),
    (lambda: editing.change_setup(LAMP, "lit", id="on"), "setup “lit”"),
])
def test_what_evidence_names_is_neither_renamed_nor_taken_away(edit, words):
    """The reason names the steps."""
    with pytest.raises(EditRefusedError, match=words):
        editing.require_evidence(job_with_steps(), edit())


def test_the_book_keeps_no_circuit_that_lost_what_a_step_names(book, job, now):
    """Whoever changes it: a step may have been taken down in another bay meanwhile."""
    save_circuit(book, job.number, LAMP)
    record_step(book, job.number, r.CurrentStep(id="", circuit="lamp", setup="lit", through="W1", reading="1.7 A"), now)
    with pytest.raises(EditRefusedError, match="element “W1”"):
        save_circuit(book, job.number, editing.rename_element(LAMP, "W1", "W7"))
    kept = save_circuit(book, job.number, editing.rename_element(LAMP, "S1", "S7"))
    assert "S7" in {element.id for element in kept.circuits[0].elements}


def test_elements_that_are_replaced_together_keep_their_names():
    """A decision names all of them, not only the one that it is about."""
    job = replace(job_with_steps(), condemned=(
        r.Condemned(id="k1", part="switch and lamp", circuit="lamp", element="S1", together=("S1", "E1")),))
    with pytest.raises(EditRefusedError, match="element “E1”.*part “switch and lamp”"):
        editing.require_evidence(job, editing.rename_element(LAMP, "E1", "E9"))


def test_what_evidence_does_not_name_is_free():
    """Beside the readings the circuit can be completed."""
    job = job_with_steps()
    editing.require_evidence(job, editing.rename_element(LAMP, "S1", "S9"))
    editing.require_evidence(job, editing.remove(LAMP, "F1", editing.names_in_evidence(job, LAMP)))
    editing.require_evidence(job, editing.split_wire(LAMP, "W1")[0])


def test_a_new_circuit_gets_an_id_of_its_own():
    """Also one that only steps still name."""
    job = replace(job_with_steps(), circuits=())
    assert editing.free_circuit_id(job, "lamp") == "lamp-2"
    assert editing.free_circuit_id(job, "horn") == "horn"
