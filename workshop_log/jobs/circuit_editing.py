"""A circuit built step by step: an edit of a sound circuit gives a sound circuit, or says in one sentence why not.

Pure: a circuit in, a new one out. The names of points, elements and setups that test steps stand on are evidence; an
edit that would take one of them away is refused by `require_evidence`.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING, Any, NoReturn, get_args

import msgspec
from msgspec.structs import replace

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange import records
from workshop_log.exchange.circuit_check import AS_FOUND, REFERENCE, names_of, points_of
from workshop_log.exchange.records import Bridge, Circuit, Element, ElementKind, Setup
from workshop_log.measuring.entry import plain_text, read_entry

if TYPE_CHECKING:
    from workshop_log.exchange.records import Job, Step

KINDS: tuple[str, ...] = get_args(ElementKind)
# What only leads current: taken out, its two ends become one point.
CONDUCTORS = frozenset({"fuse", "wire", "contact", "switch", "diode", "ground point"})
SOURCES = frozenset({"battery", "source"})
# The letter codes of IEC 81346-2 as they are usual on vehicles; F, K, M, S, W, X as everybody writes them.
_LETTERS = {"battery": "GB", "source": "GS", "fuse": "F", "wire": "W", "switch": "S", "relay": "K",
            "lamp": "E", "motor": "M", "heater": "R", "coil": "Y", "sensor": "B", "control unit": "A", "load": "P",
            "diode": "V", "ground point": "G"}
# own estimates of what is usual, to be overwritten; a load also gets the supply's nominal voltage.
_USUAL: dict[str, dict[str, str]] = {
    "battery": {"voltage": "12.6 V"}, "source": {"voltage": "5.0 V"}, "fuse": {"rating": "10 A"},
    "wire": {"length": "1.0 m", "section": "1.0 mm2"}, "lamp": {"power": "21 W"}, "motor": {"current": "5 A"},
    "heater": {"power": "100 W"}, "coil": {"resistance": "60 ohm"}, "sensor": {"resistance": "1.0 kohm"},
    "control unit": {"current": "100 mA"}, "load": {"current": "1.0 A"}}
_LISTS = ("on", "pulled", "unplugged", "disconnected")
_LONGEST_NAME = 64
_MOST_ELEMENTS = 200


class EditRefusedError(WorkshopLogError, ValueError):
    """An edit that would not leave a sound circuit, or would take evidence its place; the sentence says why."""


# --- soundness ------------------------------------------------------------------------------------------------------


def problem_of(circuit: Circuit) -> str:
    """Return why a circuit cannot be kept and computed, in one sentence; blank where it can."""
    from workshop_log.electrics.checking import require_sound
    from workshop_log.exchange.checking import check_job
    from workshop_log.exchange.writing import canonical_json
    from workshop_log.jobs.circuit_ranges import computed_circuit

    for finding in check_job(records.Job(circuits=(circuit,))):
        if finding.severity == "error":
            return _with_name(circuit, finding.path.removeprefix("circuits[0]").lstrip("."), finding.message)
    try:
        # What the job file could not hold the circuit must not hold either: a name too long, say.
        msgspec.json.decode(canonical_json(circuit), type=Circuit)
        require_sound(computed_circuit(circuit))
    except msgspec.ValidationError as error:
        return f"This cannot be kept: {error}. Shorten it."
    except WorkshopLogError as error:
        return str(error)
    return ""


def _with_name(circuit: Circuit, path: str, message: str) -> str:
    """Return what is wrong at `elements[3].length` with the name that a person knows it by: "W1: ..."."""
    collection, bracket, rest = path.partition("[")
    if collection in ("elements", "setups") and bracket:
        return f"{getattr(circuit, collection)[int(rest.partition(']')[0])].id}: {message}"
    return f"{message[0].upper()}{message[1:]}"


def _sound(circuit: Circuit) -> Circuit:
    problem = problem_of(circuit)
    if problem:
        _refuse(problem)
    return circuit


def _refuse(words: str) -> NoReturn:
    raise EditRefusedError(words)


# --- evidence -------------------------------------------------------------------------------------------------------


def used_by_steps(job: Job, circuit: Circuit, name: str, what: str = "") -> tuple[str, ...]:
    """Return the test steps of a circuit that name a point, an element or a setup.

    Parameters
    ----------
    job : Job
        With the steps.
    circuit : Circuit
        Its id counts.
    name : str
        Of the point, element or setup.
    what : {"point", "element", "setup", ""}
        Which of the three; any of them where nothing is said.
    """
    return tuple(step.id for step in job.steps if step.circuit == circuit.id
                 and any(named == name and what in ("", kind) for kind, named in _named_by(step)))


def _named_by(step: Step) -> Iterator[tuple[str, str]]:
    if step.setup:
        yield "setup", step.setup
    for part in (step, getattr(step, "watching", None)):
        for key in ("red", "black", "clip", "probe"):
            if hasattr(part, key):
                yield "point", getattr(part, key)
        if hasattr(part, "through"):
            yield "element", part.through
    if isinstance(step, records.ObserveStep | records.SwapStep):
        yield "element", step.element
    if isinstance(step, records.LookStep | records.MovementStep):
        yield from (("element", name) for name in step.elements)


def require_evidence(job: Job, circuit: Circuit) -> None:
    """Refuse a circuit without a point, an element or a setup that the job's evidence names.

    Raises
    ------
    EditRefusedError
        With the first such name and who names it.
    """
    names = names_of(circuit)
    known = {"point": names.points, "element": names.elements, "setup": names.setups}
    for step in job.steps:
        if step.circuit != circuit.id:
            continue
        for what, name in _named_by(step):
            if name not in known[what]:
                steps = used_by_steps(job, circuit, name, what)
                _refuse(f"The {what} “{name}” cannot be renamed or taken away: {_steps_words(steps)}, and evidence is "
                        "never changed.")
    for item in job.condemned:
        if item.circuit != circuit.id:
            continue
        for element in (item.element, *item.together):
            if element is not None and element not in names.elements:
                _refuse(f"The element “{element}” cannot be renamed or taken away: it is the part “{item.part}” of "
                        "the case, and evidence is never changed.")


def _steps_words(steps: tuple[str, ...]) -> str:
    if len(steps) == 1:
        return f"step {steps[0]} names it"
    return f"steps {', '.join(steps[:-1])} and {steps[-1]} name it"


def names_in_evidence(job: Job, circuit: Circuit) -> frozenset[str]:
    """Return the points that the job's test steps on a circuit name."""
    return frozenset(name for step in job.steps if step.circuit == circuit.id
                     for what, name in _named_by(step) if what == "point")


# --- names ----------------------------------------------------------------------------------------------------------


def free_name(circuit: Circuit, kind: str) -> str:
    """Return the next short name for an element of a kind: "W2", "F3", "S2", "X4.1"."""
    if kind == "contact":
        return f"{free_connector(circuit)}.1"
    taken = _taken(circuit)
    return next(name for number in itertools.count(1) if (name := f"{_LETTERS[kind]}{number}") not in taken)


def free_connector(circuit: Circuit) -> str:
    """Return the next name for a connector: "X3"."""
    taken = _taken(circuit) | names_of(circuit).connectors
    heads = {name.partition(".")[0] for name in taken}
    return next(name for number in itertools.count(1) if (name := f"X{number}") not in heads)


def free_circuit_id(job: Job, wanted: str) -> str:
    """Return an id for a new circuit of a job: as wanted, or with a number behind it."""
    taken = {circuit.id for circuit in job.circuits} | {step.circuit for step in job.steps}
    if wanted not in taken:
        return wanted
    return next(name for number in itertools.count(2) if (name := f"{wanted[:58]}-{number}") not in taken)


def _taken(circuit: Circuit) -> set[str]:
    return {element.id for element in circuit.elements}


def _free_point(circuit: Circuit, wanted: str, *besides: str) -> str:
    taken = names_of(circuit).points | set(besides)
    if wanted not in taken:
        return wanted
    return next(name for number in itertools.count(2) if (name := f"{wanted}.{number}") not in taken)


def _new_name(name: str, taken: Collection[str], what: str) -> str:
    """Return a name as it may be given, its spaces made single."""
    name = " ".join(name.split())
    if not name:
        _refuse(f"{what[0].upper()}{what[1:]} needs a name: type one.")
    if len(name) > _LONGEST_NAME:
        _refuse(f"A name has at most {_LONGEST_NAME} characters: shorten it.")
    if name in taken:
        _refuse(f"There is {what} “{name}” already: choose another name.")
    return name


# --- a circuit begins -----------------------------------------------------------------------------------------------


def circuit_from_nothing(id: str = "circuit", title: str = "Circuit") -> Circuit:  # noqa: A002
    """Return the least that is a circuit: battery, fuse, wire, load and ground."""
    return Circuit(id=id, title=title, elements=(
        Element(id="battery", kind="battery", between=("B+", REFERENCE), voltage="12.6 V"),
        Element(id="F1", kind="fuse", between=("B+", "F1.out"), **_USUAL["fuse"]),
        Element(id="W1", kind="wire", between=("F1.out", "P1.1"), **_USUAL["wire"]),
        Element(id="P1", kind="load", between=("P1.1", "P1.2"), at="12 V", **_USUAL["load"]),
        Element(id="G1", kind="ground point", between=("P1.2", REFERENCE))))


def with_title(circuit: Circuit, title: str) -> Circuit:
    """Return the circuit under another title."""
    return _sound(replace(circuit, title=" ".join(title.split())))


# --- elements -------------------------------------------------------------------------------------------------------


def element_of(circuit: Circuit, element_id: str) -> Element:
    """Return the element of this name."""
    for element in circuit.elements:
        if element.id == element_id:
            return element
    return _refuse(f"There is no element “{element_id}” in this circuit: choose one that is drawn.")


def insert_in_series(circuit: Circuit, element_id: str, kind: str, after: bool = True) -> tuple[Circuit, str]:
    """Put a new element of a kind behind or before another one; return the circuit and the new element's name.

    What is named after the element ("F7.out" behind F7) stays at it, and the new element lies beyond; any other point
    stays where it leads to.
    """
    element = element_of(circuit, element_id)
    _require_room(circuit, kind)
    new_id = free_name(circuit, kind)
    here = _end(element, after)
    others = [other for other in circuit.elements if other is not element]
    # Battery negative never moves; an open end is where the circuit goes on.
    beyond = here != REFERENCE and (_is_own(here, element) or not any(here in points_of(other) for other in others))
    middle = _free_point(circuit, _point_name(new_id, kind, first=beyond != after))
    if beyond:
        elements = [element if other is element else _at_other_point(other, here, middle)
                    for other in circuit.elements]
        ends = (here, middle)
    else:
        elements = [_with_end(element, after, middle) if other is element else other for other in circuit.elements]
        ends = (middle, here)
    new = _made(circuit, kind, new_id, ends if after else ends[::-1])
    place = circuit.elements.index(element) + after
    return _sound(replace(circuit, elements=(*elements[:place], *new, *elements[place:]))), new_id


def split_wire(circuit: Circuit, element_id: str, connector: str = "") -> tuple[Circuit, str]:
    """Cut a wire in two at a pin of a connector; return the circuit and the pin's name.

    Length, and resistance where it is given, go half to each piece.
    """
    wire = element_of(circuit, element_id)
    if wire.kind != "wire" or wire.between is None:
        _refuse(f"Only a wire is split at a connector; {wire.id} is a {wire.kind}: insert a contact before or after "
                "it.")
    _require_room(circuit, "wire")
    connector = " ".join(connector.split()) or free_connector(circuit)
    pins = (f"{connector}.{number}" for number in itertools.count(1))
    pin = next(name for name in pins if name not in _taken(circuit))
    first, second = _free_point(circuit, f"{pin}a"), _free_point(circuit, f"{pin}b")
    halves = {key: _half(getattr(wire, key)) for key in ("length", "resistance")}
    if wire.weight is not None:
        halves["weight"] = wire.weight / 2
    behind = replace(wire, id=free_name(circuit, "wire"), between=(second, wire.between[1]), **halves)
    pieces = (replace(wire, between=(wire.between[0], first), **halves),
              Element(id=pin, kind="contact", between=(first, second), connector=connector), behind)
    place = circuit.elements.index(wire)
    elements = (*circuit.elements[:place], *pieces, *circuit.elements[place + 1:])
    # Without the wire both its pieces are gone.
    setups = tuple(replace(setup, **{key: (*getattr(setup, key), behind.id) for key in _LISTS
                                     if wire.id in getattr(setup, key)}) for setup in circuit.setups)
    return _sound(replace(circuit, elements=elements, setups=setups)), pin


def branch(circuit: Circuit, point: str, kind: str) -> tuple[Circuit, str]:
    """Hang a new element of a kind on a point; return the circuit and the element's name.

    It leads to battery negative; what would be a short circuit there (a wire, a fuse, a switch) ends open, to be gone
    on from.
    """
    if point not in names_of(circuit).points:
        _refuse(f"There is no point “{point}” in this circuit: choose one that is drawn.")
    _require_room(circuit, kind)
    new_id = free_name(circuit, kind)
    is_open = kind in CONDUCTORS and (kind != "ground point" or point == REFERENCE)
    if point == REFERENCE and not is_open:
        ends = (_free_point(circuit, _point_name(new_id, kind, first=True)), REFERENCE)
    elif is_open:
        ends = (point, _free_point(circuit, _point_name(new_id, kind, first=False)))
    else:
        ends = (point, REFERENCE)
    return _sound(replace(circuit, elements=(*circuit.elements, *_made(circuit, kind, new_id, ends)))), new_id


def remove(circuit: Circuit, element_id: str, kept: Collection[str] = ()) -> Circuit:
    """Take an element out. What only leads current is bridged: its two points become one.

    Parameters
    ----------
    circuit, element_id
        What is taken out of what.
    kept : collection of str
        Points whose name stays, where there is a choice: those that evidence names.
    """
    element = element_of(circuit, element_id)
    others = tuple(other for other in circuit.elements if other is not element)
    if not others:
        _refuse(f"{element.id} is all there is in this circuit: insert something else first.")
    rest = _without_names(replace(circuit, elements=others), element)
    ends = _leads(element)
    if ends is not None:
        stays, goes = ends
        if goes == REFERENCE or (stays != REFERENCE and goes in kept and stays not in kept):
            stays, goes = goes, stays
        joined = _points_renamed(rest, goes, stays)
        # What lies beside it would be bridged as well: then it is only taken out.
        if not any(map(_is_bridged, joined.elements)):
            rest = joined
    return _sound(_without_lost_bridges(rest))


def rename_element(circuit: Circuit, element_id: str, name: str) -> Circuit:
    """Give an element another name; setups follow."""
    element = element_of(circuit, element_id)
    name = _new_name(name, _taken(circuit) - {element_id}, "an element")
    is_connector = element_id in names_of(circuit).connectors

    def follow(key: str, names: tuple[str, ...]) -> tuple[str, ...]:
        if key == "unplugged" and is_connector and element_id in names:
            # The same name also means a connector, which stays unplugged.
            return (*names, name)
        return tuple(name if named == element_id else named for named in names)

    setups = tuple(replace(setup, **{key: follow(key, getattr(setup, key)) for key in _LISTS})
                   for setup in circuit.setups)
    elements = tuple(replace(other, id=name) if other is element else other for other in circuit.elements)
    return _sound(replace(circuit, elements=elements, setups=setups))


def rename_point(circuit: Circuit, point: str, name: str) -> Circuit:
    """Give a point another name; everything that lies at it follows."""
    points = names_of(circuit).points
    if point not in points:
        _refuse(f"There is no point “{point}” in this circuit: choose one that is drawn.")
    name = _new_name(name, points - {point}, "a point")
    if point == REFERENCE and name != point:
        _refuse(f"{REFERENCE} is battery negative, against which everything is measured: its name stays.")
    return _sound(_points_renamed(circuit, point, name))


def with_element(circuit: Circuit, element: Element) -> Circuit:
    """Return the circuit with an element as it is now described."""
    elements = tuple(element if other.id == element.id else other for other in circuit.elements)
    changed = replace(circuit, elements=elements)
    lost = names_of(circuit).connectors - names_of(changed).connectors - _taken(changed)
    return _sound(_without_lost_bridges(_without(changed, lost)))


# --- setups ---------------------------------------------------------------------------------------------------------


def add_setup(circuit: Circuit, name: str) -> Circuit:
    """Add a setup in which nothing is on and nothing pulled yet."""
    name = _new_name(name, names_of(circuit).setups, "a setup")
    return _sound(replace(circuit, setups=(*circuit.setups, Setup(id=name))))


def free_setup(circuit: Circuit) -> str:
    """Return the next name for a setup: "setup 2"."""
    taken = names_of(circuit).setups
    return next(name for number in itertools.count(1) if (name := f"setup {number}") not in taken)


def change_setup(circuit: Circuit, setup_id: str, **changed: Any) -> Circuit:
    """Change what a setup says: `id`, `title`, `on`, `pulled`, `unplugged`, `disconnected`, `bridges`."""
    setup = _setup(circuit, setup_id)
    if "id" in changed:
        taken = names_of(circuit).setups - ({setup_id} if setup_id != AS_FOUND else set())
        changed["id"] = _new_name(changed["id"], taken, "a setup")
    if "title" in changed:
        changed["title"] = " ".join(changed["title"].split())
    setups = tuple(replace(other, **changed) if other is setup else other for other in circuit.setups)
    return _sound(replace(circuit, setups=setups))


def set_in_setup(circuit: Circuit, setup_id: str, key: str, name: str, is_set: bool) -> Circuit:
    """Switch one thing on in a setup, pull, unplug or disconnect it; or undo that."""
    names = tuple(named for named in getattr(_setup(circuit, setup_id), key) if named != name)
    return change_setup(circuit, setup_id, **{key: (*names, name) if is_set else names})


def remove_setup(circuit: Circuit, setup_id: str) -> Circuit:
    """Take a setup away."""
    setup = _setup(circuit, setup_id)
    return _sound(replace(circuit, setups=tuple(other for other in circuit.setups if other is not setup)))


def _setup(circuit: Circuit, setup_id: str) -> Setup:
    for setup in circuit.setups:
        if setup.id == setup_id:
            return setup
    if setup_id == AS_FOUND:
        return _refuse(f"“{AS_FOUND}” is the circuit with nothing on and nothing pulled: add another setup.")
    return _refuse(f"There is no setup “{setup_id}” in this circuit: add it, or choose one that is listed.")


# --- ends and points ------------------------------------------------------------------------------------------------


def _require_room(circuit: Circuit, kind: str) -> None:
    if kind not in KINDS:
        _refuse(f"“{kind}” is no kind of element: choose one of {', '.join(KINDS)}.")
    if len(circuit.elements) >= _MOST_ELEMENTS:
        _refuse(f"A circuit has at most {_MOST_ELEMENTS} elements: describe the rest as a circuit of its own.")


def usual_fields(circuit: Circuit, kind: str) -> dict[str, str]:
    """Return what a new element of a kind begins with."""
    from workshop_log.exchange.circuits import nominal_supply_v

    fields = dict(_USUAL.get(kind, {}))
    if "power" in fields or "current" in fields:
        fields["at"] = f"{nominal_supply_v(circuit):g} V"
    return fields


def _made(circuit: Circuit, kind: str, new_id: str, ends: tuple[str, str]) -> tuple[Element, ...]:
    """Return a new element; a relay brings the switch that works its coil."""
    if kind == "contact":
        return (Element(id=new_id, kind=kind, between=ends, connector=new_id.partition(".")[0]),)
    if kind != "relay":
        return (Element(id=new_id, kind=kind, between=ends, **usual_fields(circuit, kind)),)
    supply = next((e.between[0] for e in circuit.elements if e.kind in SOURCES and e.between), ends[0])
    if supply == REFERENCE:
        supply = next(point for point in ends if point != REFERENCE)
    command = _free_point(circuit, f"{new_id}.85", *ends)
    return (Element(id=new_id, kind="relay", coil=(supply, command), common=ends[0], normally_open=ends[1]),
            Element(id=free_name(circuit, "switch"), kind="switch", between=(command, REFERENCE),
                    title=f"switches {new_id}"))


def _point_name(new_id: str, kind: str, *, first: bool) -> str:
    if kind == "relay":
        return f"{new_id}.30" if first else f"{new_id}.87"
    if kind == "contact":
        return f"{new_id}{'a' if first else 'b'}"
    return f"{new_id}.{'1' if first else '2'}"


def _is_own(point: str, element: Element) -> bool:
    """Whether a point is called after an element: "F7.out" and "X4.1a" are, "W10.1" is not W1's."""
    rest = point.removeprefix(element.id)
    return rest != point and bool(rest) and not rest[0].isdigit()


def _leads(element: Element) -> tuple[str, str] | None:
    """Return the two points that become one where an element is taken out; None for what is more than a lead."""
    if element.kind == "relay":
        return (element.common, element.normally_open) if element.normally_open else None
    return element.between if element.kind in CONDUCTORS else None


def _end(element: Element, after: bool) -> str:
    if element.between is not None:
        return element.between[after]
    return (element.normally_open or element.normally_closed) if after else element.common


def point_behind(element: Element) -> str:
    """Return the point that an element leads to; the one before it where that is battery negative."""
    end = _end(element, True)
    return _end(element, False) if end == REFERENCE else end


def _with_end(element: Element, after: bool, point: str) -> Element:
    if element.between is not None:
        first, second = element.between
        return replace(element, between=(first, point) if after else (point, second))
    if not after:
        return replace(element, common=point)
    return replace(element, **{"normally_open" if element.normally_open else "normally_closed": point})


def _at_other_point(element: Element, old: str, new: str) -> Element:
    def follow(point: str | None) -> str | None:
        return new if point == old else point

    pairs = {key: tuple(map(follow, pair)) for key in ("between", "coil") if (pair := getattr(element, key))}
    single = {key: follow(getattr(element, key)) for key in ("common", "normally_open", "normally_closed")}
    return replace(element, **pairs, **single)


def _points_renamed(circuit: Circuit, old: str, new: str) -> Circuit:
    setups = tuple(replace(setup, bridges=tuple(
        replace(bridge, between=tuple(new if point == old else point for point in bridge.between))
        for bridge in setup.bridges)) for setup in circuit.setups)
    return replace(circuit, elements=tuple(_at_other_point(e, old, new) for e in circuit.elements), setups=setups)


def _is_bridged(element: Element) -> bool:
    pairs = [element.between, element.coil, (element.common, element.normally_open),
             (element.common, element.normally_closed)]
    return any(pair is not None and pair[0] is not None and pair[0] == pair[1] for pair in pairs)


def _without_names(circuit: Circuit, element: Element) -> Circuit:
    """Return the circuit whose setups no longer name an element that was taken out, nor a connector without pins."""
    names = names_of(circuit)
    return _without(circuit, {element.id, element.connector} - names.elements - names.connectors)


def _without(circuit: Circuit, lost: Collection[str]) -> Circuit:
    setups = tuple(replace(setup, **{key: tuple(name for name in getattr(setup, key) if name not in lost)
                                     for key in _LISTS}) for setup in circuit.setups)
    return replace(circuit, setups=setups)


def _without_lost_bridges(circuit: Circuit) -> Circuit:
    points = names_of(circuit).points

    def stays(bridge: Bridge) -> bool:
        return bridge.between[0] != bridge.between[1] and set(bridge.between) <= points

    return replace(circuit, setups=tuple(replace(setup, bridges=tuple(filter(stays, setup.bridges)))
                                         for setup in circuit.setups))


def _half(text: str) -> str:
    """Return half of a quantity, in the unit as typed: "1.45 m" of "2.9 m"."""
    if not text:
        return ""
    entry = read_entry(text)
    number, space, unit = plain_text(entry).partition(" ")
    return f"{float(number) / 2:.12g}{space}{unit}"
