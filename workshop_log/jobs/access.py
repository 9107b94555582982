"""What the technician said about getting at things: a point that cannot be reached, a trim that is off already.

Proposals of the next test rest on it; what the readings say does not.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from workshop_log.exchange.checking import check_job
from workshop_log.exchange.records import Access
from workshop_log.jobs.change import changing
from workshop_log.jobs.fields import FieldError, read_as
from workshop_log.jobs.ids import next_id

if TYPE_CHECKING:
    from workshop_log.book.opening import Book
    from workshop_log.exchange.records import Job

CANNOT_BE_REACHED, NOT_AVAILABLE, ALREADY_OFF = "cannot be reached", "not available", "already off"


def say_access(book: Book, number: str, circuit: str, *, point: str = "", element: str = "", test: str = "",
               state: str) -> Job:
    """Note something about access, in place of what was said of the same thing before.

    Parameters
    ----------
    book, number
        Which job.
    circuit : str
        Its circuit.
    point, element, test : str
        Of what it is said: a point or an element that "cannot be reached", or that nothing covers any more ("already
        off"); a kind of test that is "not available", perhaps for one element only.
    state : str
        One of these three.

    Raises
    ------
    FieldError
        If the circuit has no such point or element, or the words do not fit together.
    """
    with changing(book, number) as change:
        words = {"circuit": circuit, "state": state} | {
            name: text for name, text in (("point", point), ("element", element), ("test", test)) if text}
        said = Access(id=next_id(change.job.access, "a"), **{
            name: read_as(f"access/{name}", Access, name, text, change.job.workshop.currency)
            for name, text in words.items()})
        before = next((one for one in change.job.access if _is_of_the_same(one, said)), None)
        if before is None or before.state != said.state:
            others = tuple(one for one in change.job.access if one is not before)
            _check(replace(change.job, access=(*others, said)))
            if before is not None:
                change.remove("access", before.id)
            change.add("access", said)
    return change.job


def unsay_access(book: Book, number: str, access_id: str) -> Job:
    """Take back what was said about access; `intake.put_item` says it again.

    Raises
    ------
    UnknownItemError
        If it was taken back already.
    """
    with changing(book, number) as change:
        change.find("access", access_id)
        change.remove("access", access_id)
    return change.job


def _is_of_the_same(one: Access, other: Access) -> bool:
    return all(getattr(one, name) == getattr(other, name) for name in ("circuit", "point", "element", "test"))


def _check(job: Job) -> None:
    """Refuse what was said last if it does not fit the job; what only has no effect is refused as well."""
    start = f"access[{len(job.access) - 1}]"
    for finding in check_job(job):
        if finding.path == start or finding.path.startswith(f"{start}."):
            key = finding.path.removeprefix(start).lstrip(".")
            raise FieldError(f"access/{key}" if key else "access", f"{finding.message[0].upper()}{finding.message[1:]}")


# --- what follows from it -------------------------------------------------------------------------------------------


def unreachable_points(job: Job, circuit: str) -> frozenset[str]:
    """Return the points of a circuit that cannot be reached; those of an unreachable element may lie open elsewhere."""
    return frozenset(one.point for one in _said(job, circuit, CANNOT_BE_REACHED) if one.point is not None)


def unreachable_elements(job: Job, circuit: str) -> frozenset[str]:
    """Return the elements of a circuit that can be neither looked at nor moved nor swapped."""
    return frozenset(one.element for one in _said(job, circuit, CANNOT_BE_REACHED) if one.element is not None)


def is_off(job: Job, circuit: str, element: str) -> bool:
    """Return whether what covers an element, or the point of this name, is off already."""
    return any(element in (one.element, one.point) for one in _said(job, circuit, ALREADY_OFF))


def not_available(job: Job, circuit: str) -> frozenset[tuple[str, str]]:
    """Return the kinds of test that are not available, each with the one element that this is said of, or blank."""
    return frozenset((one.test, one.element or "") for one in _said(job, circuit, NOT_AVAILABLE)
                     if one.test is not None)


def _said(job: Job, circuit: str, state: str) -> tuple[Access, ...]:
    return tuple(one for one in job.access if one.circuit == circuit and one.state == state)
