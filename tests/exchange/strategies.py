"""Random jobs that are true records: what any part of the program may be handed.

`jobs()` gives jobs that `check_job` has no error for: ids unique, names that exist, readings of the right dimension.
"""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

from hypothesis import strategies as st

from workshop_log.exchange import records as r

# No control characters and no halves of pairs: what a keyboard gives, in any script.
_LETTERS = st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\ufffe\uffff", include_characters="\n\t")


def words(max_size=40):
    return st.text(_LETTERS, max_size=max_size)


def moments():
    """Give times in any offset, at most one year apart from each other's order."""
    offsets = st.integers(-14 * 4, 14 * 4).map(lambda quarters: timezone(timedelta(minutes=15 * quarters)))
    return st.one_of(
        st.datetimes(datetime(1950, 1, 1), datetime(2900, 1, 1), timezones=st.just(UTC)),
        st.datetimes(datetime(1950, 1, 1), datetime(2900, 1, 1), timezones=offsets))


def money(low=-10**6, high=10**6):
    return st.decimals(low, high, allow_nan=False, allow_infinity=False, places=2)


def quantities(*units, low=0.01, high=1000.0):
    number = st.decimals(Decimal(str(low)), Decimal(str(high)), places=2).map(str)
    return st.builds(lambda number, unit: f"{number} {unit}", number, st.sampled_from(units))


def optional(strategy):
    return st.one_of(st.none(), strategy)


def minutes():
    return optional(st.floats(0, 1000))


@st.composite
def ids(draw, prefix, most=3):
    return [f"{prefix}{number}" for number in range(1, draw(st.integers(0, most)) + 1)]


def instruments(id_):
    volt_range = st.builds(r.InstrumentRange, quantity=st.just("voltage"), up_to=quantities("V"),
                           percent=st.floats(0, 100), counts=st.floats(0, 100), resolution=quantities("mV"))
    meter = st.builds(r.Instrument, id=st.just(id_), kind=st.sampled_from(["multimeter", "clamp", "gauge"]),
                      title=words(), input_resistance=st.sampled_from(["", "10 Mohm", "1 Mohm"]),
                      last_proved=optional(moments()), ranges=st.lists(volt_range, max_size=2).map(tuple))
    lamp = st.builds(r.Instrument, id=st.just(id_), kind=st.just("test lamp"), voltage=st.just("12 V"),
                     current=quantities("A", "mA"))
    return st.one_of(meter, lamp)


@st.composite
def circuits(draw, id_):
    """Give a chain from the battery through anything to its negative."""
    kinds = draw(st.lists(st.sampled_from(["fuse", "wire", "contact", "switch", "lamp", "motor", "diode", "relay"]),
                          min_size=1, max_size=5))
    elements = [r.Element(id="battery", kind="battery", between=("B+", "B-"), voltage=draw(quantities("V")))]
    for number, kind in enumerate(kinds, start=1):
        ends = ("B+" if number == 1 else f"p{number - 1}", "B-" if number == len(kinds) else f"p{number}")
        given = {"id": f"E{number}", "kind": kind, "title": draw(words(10)), "price": draw(optional(money(0))),
                 "weight": draw(optional(st.floats(0, 10))), "returnable": draw(optional(st.booleans()))}
        if kind == "relay":
            given |= {"coil": ends, "common": "B+", "normally_open": f"r{number}"}
        else:
            given["between"] = ends
        if kind in ("lamp", "motor"):
            given |= {"power": draw(quantities("W")), "at": "12 V"}
        elif kind == "wire":
            given |= {"length": draw(quantities("m")), "section": draw(quantities("mm2")), "colour": draw(words(5))}
        elif kind == "fuse":
            given |= {"rating": draw(quantities("A"))}
        elements.append(r.Element(**given))
    named = [element.id for element in elements]
    setups = [r.Setup(id=name, title=draw(words()), on=tuple(draw(st.lists(st.sampled_from(named), max_size=2))),
                      bridges=draw(st.sampled_from([(), (r.Bridge(between=("B+", "B-"), through="lamp"),)])))
              for name in draw(ids("setup", 2))]
    return r.Circuit(id=id_, title=draw(words()), elements=tuple(elements), setups=tuple(setups))


_READINGS = {"voltage": ("V", "mV"), "current": ("A", "mA"), "resistance": ("ohm", "kohm"), "value": ("mm", "bar", "%")}


@st.composite
def steps(draw, id_, before, known_circuits, known_instruments):
    """Give a step of any kind; in a circuit it names that circuit's points and elements."""
    kind = draw(st.sampled_from(["voltage", "current", "resistance", "lamp", "look", "movement", "observe", "swap",
                                 "value"]))
    circuit = draw(st.sampled_from([None, *known_circuits]))
    if circuit is None:
        points = elements = words(10)
        setup = words(10)
    else:
        points = st.sampled_from(sorted({point for element in circuit.elements for point in element.between or ()}))
        elements = st.sampled_from([element.id for element in circuit.elements])
        setup = st.sampled_from(["", "as found", *[one.id for one in circuit.setups]])
    given = {
        "id": id_, "at": draw(optional(moments())), "circuit": circuit and circuit.id, "setup": draw(setup),
        "minutes": draw(minutes()), "note": draw(words()), "proved": draw(optional(st.booleans())),
        "instrument": draw(st.sampled_from([None, *known_instruments])), "after_repair": draw(st.booleans()),
        "replaces": draw(st.sampled_from([None, *before])), "because": draw(words()),
        "repeats": draw(st.sampled_from([None, *before])),
    }
    if kind in _READINGS:
        units = _READINGS[kind]
        given["reading"] = draw(st.one_of(quantities(*units), quantities(*units).map(lambda text: f"<{text}"),
                                          *([st.just("OL")] if kind != "value" else [])))
        low, high = sorted(draw(st.tuples(*[st.decimals(0, 100, places=2)] * 2)))
        limits = draw(st.sampled_from([("low",), ("high",), ("low", "high"), ()]))
        if limits:
            unit = given["reading"].split()[-1] if kind == "value" else units[0]
            texts = {"low": f"{low} {unit}", "high": f"{high} {unit}"}
            given["expected"] = r.Expected(source=draw(words()), **{side: texts[side] for side in limits})
    two_points = st.tuples(points, points)
    if kind in ("voltage", "resistance"):
        red, black = draw(two_points)
        made = r.VoltageStep if kind == "voltage" else r.ResistanceStep
        return made(red=red, black=black, **given)
    if kind == "current":
        return r.CurrentStep(through=draw(elements), **given)
    if kind == "lamp":
        clip, probe = draw(two_points)
        return r.LampStep(clip=clip, probe=probe, result=draw(st.sampled_from(["lit", "dim", "dark"])), **given)
    if kind == "look":
        seen, strength = st.sampled_from(["damage", "nothing"]), st.sampled_from(["slight", "fair", "strong"])
        return r.LookStep(elements=tuple(draw(st.lists(elements, max_size=2))), strength=draw(strength),
                          result=draw(seen), **given)
    if kind == "movement":
        shown, trials = sorted(draw(st.tuples(st.integers(1, 20), st.integers(1, 20))))
        red, black = draw(two_points)
        watching = draw(st.sampled_from([None, r.WatchVoltage(red=red, black=black), r.WatchLamp(clip=red, probe=black),
                                         r.WatchResistance(red=red, black=black)]))
        return r.MovementStep(elements=(draw(elements),), watching=watching, trials=trials, shown=shown, **given)
    if kind == "observe":
        return r.ObserveStep(element=draw(elements), works=draw(st.booleans()), **given)
    if kind == "swap":
        return r.SwapStep(element=draw(elements), cured=draw(st.booleans()), **given)
    return r.ValueStep(what=draw(words(10)), where=draw(words(10)), **given)


def suspects(id_, known_steps):
    bearing = st.builds(r.Bearing, step=st.sampled_from(known_steps or [""]),
                        says=st.sampled_from(["clears", "supports"]),
                        strength=st.sampled_from(["slight", "fair", "strong"]))
    bearings = st.lists(bearing, max_size=3, unique_by=lambda one: one.step) if known_steps else st.just([])
    return st.builds(r.HandSuspect, id=st.just(id_), name=words(), weight=st.floats(0.001, 1000),
                     bearings=bearings.map(tuple))


@st.composite
def access(draw, id_, known_circuits):
    circuit = draw(st.sampled_from(known_circuits))
    element = draw(st.sampled_from([one.id for one in circuit.elements]))
    state = draw(st.sampled_from(["cannot be reached", "not available", "already off"]))
    if state == "not available":
        kinds = ["voltage", "current", "resistance", "lamp", "look", "movement", "swap"]
        about = {"test": draw(st.sampled_from(kinds)), "element": draw(st.sampled_from([None, element]))}
    else:
        about = draw(st.sampled_from([{"point": "B+"}, {"element": element}]))
    return r.Access(id=id_, circuit=circuit.id, state=state, **about)


@st.composite
def condemned(draw, id_, known_steps, known_circuits):
    circuit = draw(st.sampled_from([None, *known_circuits]))
    tied = {}
    if circuit is not None:
        elements = st.sampled_from([one.id for one in circuit.elements])
        tied = {"circuit": circuit.id, "element": draw(elements),
                "together": tuple(draw(st.lists(elements, max_size=2, unique=True)))}
    return draw(st.builds(
        r.Condemned, id=st.just(id_), part=words(), finding=words(), price=optional(money(0)),
        decision=st.sampled_from(["considered", "replace", "repair", "let off"]),
        probability_right=optional(st.floats(0, 1)),
        steps=st.lists(st.sampled_from(known_steps), max_size=2).map(tuple) if known_steps else st.just(()),
        **{name: st.just(value) for name, value in tied.items()}))


def photos(id_, known_steps):
    def photo(name, taken, step, tail):
        data = None if tail is None else b"\xff\xd8\xff" + tail
        return r.Photo(id=id_, name=name, taken=taken, step=step, data=data,
                       sha256=hashlib.sha256(data or id_.encode()).hexdigest())

    return st.builds(photo, words(), optional(moments()), st.sampled_from([None, *known_steps]),
                     optional(st.binary(max_size=20)))


def _each(draw, names, make):
    return tuple(draw(make(name)) for name in names)


def _said_once(said):
    """Leave out what is said of a thing of which something is said already."""
    return tuple({(one.circuit, one.point, one.element, one.test): one for one in reversed(said)}.values())


@st.composite
def jobs(draw, *, most=3):
    """Give a job with up to `most` items in each of its lists."""
    made_instruments = _each(draw, draw(ids("meter", most)), instruments)
    made_circuits = _each(draw, draw(ids("circuit", min(most, 2))), circuits)
    step_ids = draw(ids("s", most))
    made_steps = tuple(draw(steps(id_, step_ids[:index], made_circuits, [item.id for item in made_instruments]))
                       for index, id_ in enumerate(step_ids))
    condemned_ids, option_ids = draw(ids("k", 2)), draw(ids("o", 2))
    opened, handed_back = sorted(draw(st.tuples(moments(), moments())))
    return r.Job(
        number=draw(st.sampled_from(["", "2031-0007", "2031-0112"])), opened=draw(st.sampled_from([None, opened])),
        handed_back=draw(st.sampled_from([None, handed_back])), settled=draw(optional(moments())),
        workshop=draw(st.builds(r.Workshop, name=words(), address=words(), currency=st.sampled_from(["GBP", "EUR"]),
                                labour_rate=optional(money(0)), tax_rate=money(0, 30))),
        customer=draw(st.builds(r.Customer, name=words(), phone=words(), email=words(), address=words())),
        vehicle=draw(st.builds(
            r.Vehicle, registration=words(10), vin=words(20), make=words(), model=words(),
            year=optional(st.integers(1885, 2200)), odometer=st.one_of(st.just(""), quantities("mi", "km", "h")),
            nominal_supply=st.sampled_from(["12 V", "24 V"]),
            systems=st.sampled_from([(), ("pyrotechnic",), ("pyrotechnic", "high voltage")]))),
        complaints=_each(draw, draw(ids("c", most)), lambda id_: st.builds(
            r.Complaint, id=st.just(id_), words=words(), appears=st.sampled_from([None, "always", "comes and goes"]),
            conditions=words(), confirmed=optional(st.booleans()))),
        fault_codes=tuple(draw(st.lists(st.builds(
            r.FaultCode, code=st.sampled_from(["P0143", "B1000-16", "?"]), note=words()), max_size=2))),
        instruments=made_instruments, circuits=made_circuits, steps=made_steps,
        suspects=_each(draw, draw(ids("h", 2)), lambda id_: suspects(id_, step_ids)),
        access=_said_once(_each(draw, draw(ids("a", 2)) if made_circuits else [],
                                lambda id_: access(id_, made_circuits))),
        condemned=_each(draw, condemned_ids, lambda id_: condemned(id_, step_ids, made_circuits)),
        estimate=_each(draw, option_ids, lambda id_: st.builds(
            r.EstimateOption, id=st.just(id_), title=words(), parts=money(), labour_minutes=st.floats(0, 500))),
        approvals=_each(draw, draw(ids("a", 2)), lambda id_: st.builds(
            r.Approval, id=st.just(id_), at=moments(), by=words(), up_to=optional(money(0)), agreed=st.booleans(),
            option=st.sampled_from([None, *option_ids]))),
        clock=_each(draw, draw(ids("t", 2)), lambda id_: st.builds(
            lambda start, length, **given: r.TimeLine(
                start=start, end=None if length is None else start + length, **given),
            start=moments(), length=optional(st.timedeltas(timedelta(0), timedelta(days=2))), id=st.just(id_),
            person=words(), billed_minutes=minutes())),
        parts=_each(draw, draw(ids("p", 2)), lambda id_: st.builds(
            r.Part, id=st.just(id_), name=words(), quantity=money(0, 100), price=optional(money()),
            cost=optional(money()), fitted=optional(moments()),
            condemned=st.sampled_from([None, *condemned_ids]))),
        charges=_each(draw, draw(ids("x", 2)), lambda id_: st.builds(
            r.Charge, id=st.just(id_), what=words(), amount=money())),
        photos=_each(draw, draw(ids("f", 2)), lambda id_: photos(id_, step_ids)),
        notes=_each(draw, draw(ids("n", 2)), lambda id_: st.builds(
            r.Note, id=st.just(id_), at=moments(), who=words(), words=words(), internal=st.booleans())),
        not_tested=tuple(draw(st.lists(words(), max_size=2))),
        reports=_each(draw, draw(ids("r", 1)), lambda id_: st.builds(
            r.IssuedReport, id=st.just(id_), at=moments(), sha256=st.just("0" * 64))),
    )
