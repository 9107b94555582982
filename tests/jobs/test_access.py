"""What the technician said about getting at things."""

from __future__ import annotations

import pytest

from workshop_log.book.errors import UnknownItemError
from workshop_log.exchange.records import Access, Circuit, Element, Job
from workshop_log.jobs import intake, testing
from workshop_log.jobs.access import (
    is_off,
    not_available,
    say_access,
    unreachable_elements,
    unreachable_points,
    unsay_access,
)
from workshop_log.jobs.fields import FieldError

FEED = Circuit(id="feed", elements=(
    Element(id="battery", kind="battery", between=("B+", "B-"), voltage="12.6 V"),
    Element(id="W1", kind="wire", between=("B+", "M1.1"), length="3 m", section="1.5 mm2"),
    Element(id="M1", kind="motor", between=("M1.1", "B-"), current="6 A", at="12 V")))


@pytest.fixture
def number(book, job):
    testing.save_circuit(book, job.number, FEED)
    return job.number


def test_what_is_said_is_kept_and_what_is_said_later_takes_its_place(book, number):
    """One state of each thing; the same words again change nothing."""
    say_access(book, number, "feed", point="M1.1", state="cannot be reached")
    say_access(book, number, "feed", element="W1", state="cannot be reached")
    say_access(book, number, "feed", test="swap", element="M1", state="not available")
    job = say_access(book, number, "feed", test="current", state="not available")
    assert [one.id for one in job.access] == ["a1", "a2", "a3", "a4"]
    assert say_access(book, number, "feed", test="current", state="not available").access == job.access
    job = say_access(book, number, "feed", point="M1.1", state="already off")
    assert [(one.id, one.state) for one in job.access if one.point] == [("a5", "already off")]
    assert unreachable_points(job, "feed") == frozenset()
    assert unreachable_elements(job, "feed") == {"W1"}
    assert not_available(job, "feed") == {("swap", "M1"), ("current", "")}
    assert is_off(job, "feed", "M1.1")
    assert not is_off(job, "feed", "W1")


def test_what_was_said_can_be_taken_back_and_said_again(book, number):
    """Undo puts back what it was."""
    job = say_access(book, number, "feed", element="M1", state="already off")
    assert unsay_access(book, number, "a1").access == ()
    assert intake.put_item(book, number, "access", job.access[0]).access == job.access
    with pytest.raises(UnknownItemError):
        unsay_access(book, number, "a9")


@pytest.mark.parametrize(("said", "path", "words"), [
    ({"circuit": "fed", "point": "M1.1", "state": "cannot be reached"}, "access/circuit", "did you mean “feed”?"),
    ({"point": "M1.2", "state": "cannot be reached"}, "access/point", "no point “M1.2”"),
    ({"element": "M2", "state": "already off"}, "access/element", "no element “M2”"),
    ({"element": "M2", "test": "swap", "state": "not available"}, "access/element", "no element “M2”"),
    ({"state": "cannot be reached"}, "access", "one point or one element"),
    ({"point": "M1.1", "element": "M1", "state": "already off"}, "access", "one point or one element"),
    ({"point": "M1.1", "test": "look", "state": "already off"}, "access/test", "remove “test”"),
    ({"element": "M1", "state": "not available"}, "access/test", "name it in “test”"),
    ({"test": "guess", "state": "not available"}, "access/test", ""),
    ({"point": "M1.1", "state": "far away"}, "access/state", ""),
    ({"circuit": "", "point": "M1.1", "state": "already off"}, "access/circuit", ""),
    ({"point": "x" * 65, "state": "already off"}, "access/point", ""),
])
def test_what_does_not_fit_the_circuit_is_refused_in_a_sentence(book, number, said, path, words):
    """Nothing is kept of it."""
    with pytest.raises(FieldError) as caught:
        say_access(book, number, **{"circuit": "feed"} | said)
    assert caught.value.path == path
    assert words in caught.value.reason
    assert caught.value.reason[0].isupper() or caught.value.reason[0] == "“"
    with pytest.raises(UnknownItemError):
        unsay_access(book, number, "a1")


def test_each_circuit_has_its_own_access():
    """The same name in another circuit is another thing; an element out of reach leaves its points open."""
    job = Job(access=(Access(id="a1", circuit="feed", point="M1.1", state="cannot be reached"),
                      Access(id="a2", circuit="lamp", element="M1", state="cannot be reached"),
                      Access(id="a3", circuit="lamp", test="lamp", state="not available")))
    assert (unreachable_points(job, "feed"), unreachable_elements(job, "feed")) == ({"M1.1"}, frozenset())
    assert (unreachable_points(job, "lamp"), unreachable_elements(job, "lamp")) == (frozenset(), {"M1"})
    assert (not_available(job, "feed"), not_available(job, "lamp")) == (frozenset(), {("lamp", "")})
