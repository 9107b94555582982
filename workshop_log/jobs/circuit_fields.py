"""What can be typed of an element: the fields of its kind, what is assumed where nothing is typed, text to values."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple, get_args

from msgspec.structs import replace

from workshop_log.errors import WorkshopLogError
from workshop_log.exchange.records import Circuit, Element, FaultKind
from workshop_log.jobs.circuit_editing import (
    KINDS,
    EditRefusedError,
    element_of,
    usual_fields,
    with_element,
)
from workshop_log.measuring.entry import plain_text, read_entry, show_entry

if TYPE_CHECKING:
    from collections.abc import Callable


class FieldOfKind(NamedTuple):
    """One thing that can be said of an element.

    Attributes
    ----------
    key : str
        Of the record; `first` and `second` for the two ends, `coil_first` and `coil_second` for a relay's coil.
    title : str
        What stands above the field.
    unit : str
        Meant where a quantity is typed without one; blank for what is no quantity.
    choices : tuple[str, ...]
        Where only these are possible; the first, blank, says nothing.
    """

    key: str
    title: str
    unit: str = ""
    choices: tuple[str, ...] = ()


_FIRST, _SECOND = FieldOfKind("first", "From point"), FieldOfKind("second", "To point")
_TITLE = FieldOfKind("title", "What it is called")
_RESISTANCE = FieldOfKind("resistance", "Resistance", "ohm")
_SOURCE = (FieldOfKind("voltage", "Voltage", "V"), FieldOfKind("voltage_tolerance", "Voltage known to ±", "V"),
           FieldOfKind("resistance", "Internal resistance", "ohm"))
_LOAD = (FieldOfKind("power", "Power", "W"), FieldOfKind("current", "Current", "A"),
         FieldOfKind("at", "At", "V"), _RESISTANCE)
_CONTACT_RESISTANCE = FieldOfKind("resistance", "Contact resistance", "ohm")
_OF_KIND: dict[str, tuple[FieldOfKind, ...]] = {
    "battery": _SOURCE, "source": _SOURCE,
    "fuse": (FieldOfKind("rating", "Rating", "A"), _RESISTANCE),
    "wire": (FieldOfKind("length", "Length", "m"), FieldOfKind("section", "Section", "mm2"),
             FieldOfKind("colour", "Colour"), FieldOfKind("material", "Material", "", ("", "copper", "aluminium")),
             FieldOfKind("temperature", "Temperature", "°C"), _RESISTANCE),
    "contact": (FieldOfKind("connector", "Connector"), _CONTACT_RESISTANCE),
    "switch": (_CONTACT_RESISTANCE,), "ground point": (_CONTACT_RESISTANCE,),
    "relay": (FieldOfKind("coil_resistance", "Coil resistance", "ohm"), FieldOfKind("pull_in", "Pulls in at", "V"),
              _CONTACT_RESISTANCE),
    "diode": (FieldOfKind("forward_voltage", "Forward voltage", "V"),),
}
_RELAY_POINTS = (
    FieldOfKind("coil_first", "Coil from (86)"), FieldOfKind("coil_second", "Coil to (85)"),
    FieldOfKind("common", "Common (30)"), FieldOfKind("normally_open", "Normally open (87)"),
    FieldOfKind("normally_closed", "Normally closed (87a)"))
_TEXT_KEYS = ("title", "colour", "connector")
# What the case and the order of tests need; nothing of it changes what a meter shows.
CASE_FIELDS = (
    FieldOfKind("tolerance", "Resistance known to ±, %"), FieldOfKind("weight", "Fails, compared with others"),
    FieldOfKind("price", "Price"), FieldOfKind("fit_minutes", "Minutes to fit"),
    FieldOfKind("access_minutes", "Minutes to get at it"),
    FieldOfKind("returnable", "Can be returned", "", ("", "yes", "no")),
    FieldOfKind("protected", "Protected", "", ("", "pyrotechnic", "high voltage")),
    FieldOfKind("faults", "Faults considered"))
_PAIRS = {"first": ("between", 0), "second": ("between", 1), "coil_first": ("coil", 0), "coil_second": ("coil", 1)}
_NUMBERS = ("tolerance", "weight", "fit_minutes", "access_minutes")


def fields_of(kind: str) -> tuple[FieldOfKind, ...]:
    """Return what can be said of an element of a kind, but for `CASE_FIELDS`; the ends come last."""
    points = _RELAY_POINTS if kind == "relay" else (_FIRST, _SECOND)
    return (_TITLE, *_OF_KIND.get(kind, _LOAD), *points)


def text_of(element: Element, key: str) -> str:
    """Return what stands in a field, as it is read by people: "1.5 mm²", "5 mΩ"."""
    if key in _PAIRS:
        name, index = _PAIRS[key]
        pair = getattr(element, name)
        return pair[index] if pair else ""
    value = getattr(element, key)
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(value)
    if isinstance(value, float | int):
        return f"{value:g}"
    return show_entry(read_entry(value)) if _unit_of(element.kind, key) else str(value)


def assumed(circuit: Circuit, element_id: str) -> dict[str, str]:
    """Return what is assumed where nothing is typed, by field, with its unit."""
    from workshop_log.electrics.faults import KINDS_OF_ELEMENT
    from workshop_log.jobs.circuit_ranges import computed_circuit
    from workshop_log.measuring.entry import show

    element = element_of(circuit, element_id)
    try:
        computed = computed_circuit(circuit).element(element_id)
    except WorkshopLogError:
        return {}
    found: dict[str, str] = {"tolerance": f"{computed.tolerance * 100:g}", "weight": "1, as usual for its kind",
                             "faults": ", ".join(KINDS_OF_ELEMENT[element.kind])}
    amounts = {"resistance": (computed.resistance_ohm, "ohm"), "voltage_tolerance": (computed.voltage_tolerance_v, "V"),
               "coil_resistance": (computed.coil_ohm, "ohm"), "pull_in": (computed.pull_in_v, "V"),
               "forward_voltage": (computed.forward_voltage_v, "V")}
    for key, (amount, unit) in amounts.items():
        found[key] = show(amount, unit, digits=2) if amount else ""
    if element.kind == "wire":
        found |= {"material": "copper", "temperature": "20 °C"}
    return {key: text for key, text in found.items() if text and not text_of(element, key)}


def change(circuit: Circuit, element_id: str, **texts: str) -> Circuit:
    """Put texts into fields of an element; an empty one takes away what stood there.

    Raises
    ------
    EditRefusedError
        If a text does not fit its field, or what then stands there is no sound circuit.
    """
    element = element_of(circuit, element_id)
    if "kind" in texts:
        element = _of_other_kind(circuit, element, texts.pop("kind"))
    fields: dict[str, object] = {}
    for key, text in texts.items():
        if key in _PAIRS:
            name, index = _PAIRS[key]
            pair = list(fields.get(name, getattr(element, name)) or ("", ""))
            pair[index] = _point(text)
            fields[name] = tuple(pair)
        else:
            fields[key] = _value(element, key, text)
    element = replace(element, **fields)
    if (element.power or element.current) and not element.at and "at" not in texts:
        # Whoever types a power means it at the supply's voltage.
        element = replace(element, at=usual_fields(circuit, "lamp")["at"])
    return with_element(circuit, element)


def _of_other_kind(circuit: Circuit, element: Element, kind: str) -> Element:
    """Return an element as one of another kind, with what of it still fits."""
    if kind not in KINDS:
        raise EditRefusedError(f"“{kind}” is no kind of element: choose one of {', '.join(KINDS)}.")
    if kind == element.kind:
        return element
    if "relay" in (kind, element.kind):
        raise EditRefusedError("A relay has more ends than other elements: insert the new one, and remove this one.")
    fits = {field.key for field in (*fields_of(kind), *CASE_FIELDS)}
    keys = [field.key for field in fields_of(element.kind) if field.key not in _PAIRS]
    # A resistance was that of the other kind, and the same part no longer has the same faults.
    gone = {key: "" if key in _TEXT_KEYS or _unit_of(element.kind, key) else None for key in keys
            if key not in fits or key == "resistance"}
    other = replace(element, kind=kind, faults=None, **gone)
    if kind not in _OF_KIND and (other.power or other.current):
        # It takes what the other one took.
        return other
    return replace(other, **{key: text for key, text in usual_fields(circuit, kind).items()
                             if not getattr(other, key)})


def _unit_of(kind: str, key: str) -> str:
    return next((field.unit for field in fields_of(kind) if field.key == key), "")


def _point(text: str) -> str:
    name = " ".join(text.split())
    if not name:
        raise EditRefusedError("An element lies between two points: name the one at this end.")
    return "B-" if name == "B−" else name


def _value(element: Element, key: str, text: str) -> object:
    unit = _unit_of(element.kind, key)
    known = {field.key: field for field in (*fields_of(element.kind), *CASE_FIELDS)}
    if key not in known:
        raise EditRefusedError(f"{element.id} is a {element.kind}, which has no “{key}”: choose another field.")
    text = " ".join(text.split())
    if key in _TEXT_KEYS:
        return text
    if not text:
        return "" if unit else None
    if key in ("common", "normally_open", "normally_closed"):
        return _point(text)
    if unit:
        return _read(known[key].title, lambda: plain_text(read_entry(text, usual_unit=unit)))
    if key == "faults":
        return _faults(text)
    if known[key].choices:
        if text not in known[key].choices:
            raise EditRefusedError(f"{known[key].title}: “{text}” is not one of "
                                   f"{', '.join(known[key].choices[1:])}: choose one of them.")
        return text == "yes" if key == "returnable" else text
    if key in _NUMBERS:
        return _read(known[key].title, lambda: _number(text))
    from workshop_log.jobs.money import read_money

    return _read(known[key].title, lambda: read_money(text, "GBP"))


def _read(title: str, reader: Callable[[], object]) -> object:
    try:
        return reader()
    except WorkshopLogError as error:
        raise EditRefusedError(f"{title}: {error}") from error


def _number(text: str) -> float:
    try:
        number = float(text.removesuffix("%").strip().replace(",", "."))
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise EditRefusedError(f"“{text}” is no number: write it as 10 or 2.5.")
    return number


def _faults(text: str) -> tuple[str, ...] | None:
    known = get_args(FaultKind)
    names = tuple(dict.fromkeys(name.strip() for name in text.split(",") if name.strip()))
    for name in names:
        if name not in known:
            raise EditRefusedError(f"“{name}” is no kind of fault: write some of {', '.join(known)}.")
    return names or None
