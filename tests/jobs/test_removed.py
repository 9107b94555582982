"""Parts that were taken out: which, when, why, and what is dangerous in them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from workshop_log.exchange.records import Circuit, Condemned, Element, Job, Part
from workshop_log.jobs.removed import removed_part, removed_parts

DAY = datetime(2031, 4, 2, 9, 0, tzinfo=UTC)
LATER = DAY + timedelta(days=1)


def condemned(**changes: object) -> Condemned:
    return Condemned(**{"id": "k1", "part": "ground strap", "decision": "replace", "finding": "It loses 1.3 V.",
                        **changes})


def fitted(**changes: object) -> Part:
    return Part(**{"id": "p1", "name": "Ground strap", "number": "GS-35", "fitted": DAY, "condemned": "k1", **changes})


def test_a_replaced_part_came_out_with_its_reason_and_its_day():
    """The sentence that condemned it is why; the first part fitted in its place says when."""
    (removed,) = removed_parts(Job(condemned=(condemned(repaired=LATER),),
                                   parts=(fitted(), fitted(id="p2", name="Bolt", number="", fitted=LATER))))
    assert (removed.id, removed.parts, removed.name) == ("k1", ("p1", "p2"), "ground strap")
    assert (removed.new_number, removed.why, removed.removed) == ("GS-35", "It loses 1.3 V.", DAY)
    assert removed.kept_until(30) == datetime(2031, 5, 2, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize(("entry", "parts", "count"), [
    # Decided, and nothing done yet.
    ({}, (), 0),
    ({"repaired": LATER}, (), 1),
    ({}, (fitted(),), 1),
    # A repair takes nothing out, unless something new went in.
    ({"decision": "repair", "repaired": LATER}, (), 0),
    ({"decision": "repair", "repaired": LATER}, (fitted(),), 1),
    ({"decision": "let off"}, (), 0),
    # Back at the supplier: it was never left in the vehicle.
    ({}, (fitted(returned=LATER),), 0),
    ({}, (fitted(fitted=None, ordered=DAY),), 0)])
def test_only_what_came_out_is_a_removed_part(entry, parts, count):
    """Neither what is only decided, nor what was mended in its place."""
    assert len(removed_parts(Job(condemned=(condemned(**entry),), parts=parts))) == count


def test_without_a_case_a_fitted_part_stands_for_the_one_before_it():
    """A part fitted on a customer's word takes the place of one like it; nobody wrote why."""
    (removed,) = removed_parts(Job(parts=(fitted(condemned=None),)))
    assert (removed.id, removed.name, removed.why) == ("p1", "Ground strap", "")


def test_two_new_numbers_are_no_number():
    """A number that may be that of the bolt is not printed as the part's."""
    job = Job(condemned=(condemned(),), parts=(fitted(), fitted(id="p2", number="M8")))
    assert removed_parts(job)[0].new_number == ""


def test_a_corrected_case_comes_once():
    """The last entry counts."""
    job = Job(condemned=(condemned(), condemned(id="k2", replaces="k1", because="slip", finding="It loses 1.4 V.",
                                                repaired=LATER)))
    assert [removed.why for removed in removed_parts(job)] == ["It loses 1.4 V."]


@pytest.mark.parametrize("id_", ["k1", "p1"])
def test_one_is_found_by_its_case_or_by_what_was_fitted(id_):
    """Whoever stands at the part or at the case names the same label."""
    job = Job(condemned=(condemned(),), parts=(fitted(), fitted(id="p2", name="Grease", condemned=None)))
    assert removed_part(job, id_).id == "k1"
    assert removed_part(job, "p2").name == "Grease"
    assert removed_part(job, "p9") is None


@pytest.mark.parametrize(("part", "element", "dangers"), [
    ("driver's airbag", None, ("pyrotechnic",)), ("starter battery", None, ("battery",)),
    ("fuel pump", None, ("fuel",)), ("ground strap", None, ()), ("wiper motor", None, ()),
    ("module under the seat", Element(id="e", kind="load", protected="pyrotechnic"), ("pyrotechnic",)),
    ("converter", Element(id="e", kind="load", protected="high voltage"), ("high voltage",)),
    ("the old one", Element(id="e", kind="battery"), ("battery",))])
def test_what_is_dangerous_on_a_shelf_is_known(part, element, dangers):
    """By its name or by what the circuit says of it; what moves in a vehicle is harmless on a shelf."""
    circuits = (Circuit(id="c", elements=(element,)),) if element else ()
    entry = condemned(part=part, repaired=LATER, circuit="c" if element else None, element="e" if element else None)
    assert removed_parts(Job(condemned=(entry,), circuits=circuits))[0].dangers == dangers
