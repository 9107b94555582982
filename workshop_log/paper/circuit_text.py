"""What is written beside a circuit's symbols, and how much room it takes.

The words are the same on screen and paper. Widths come from a small table, because neither a screen nor a sheet of
paper is there when the drawing is laid out.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from workshop_log.exchange.records import Element

# Sizes of type at natural size. [pt]
NAME_SIZE = 8.4
VALUE_SIZE = 7.6
POINT_SIZE = 7.6
LINE_HEIGHT = 9.4
_LONGEST_LINE = 104.0
_LONGEST_NAME = 92.0
_MOST_TITLE_LINES = 2

# Advance widths of Lato Regular in thousandths of its size, measured in the font that the program carries and rounded
# up to the next twentieth of the size.
_WIDTHS = {character: width for width, characters in {
    200: " '", 250: ",.:ijl·", 300: "!();|I[]{}", 350: "frt", 400: "\"-`*J", 450: "?s/\\_z²", 500: "akxc",
    550: "Legvy", 600: "SFbdhnopqu#$+0123456789<=>E^~PTZ−", 650: "RYBµ", 700: "XCKAV&", 750: "G…", 800: "UDHNw%OQ",
    850: "m@Ω", 950: "M", 1050: "W"}.items() for character in characters}
_OTHER_WIDTH = 700
_BOLD_FACTOR = 1.06

# The value that says most about an element of each kind, first the one to print where several are given.
_VALUE_KEYS: dict[str, tuple[str, ...]] = {
    "battery": ("voltage",), "source": ("voltage",), "fuse": ("rating",), "wire": ("section",), "contact": (),
    "switch": (), "relay": ("coil_resistance",), "diode": (), "ground point": (), "sensor": ("resistance", "current"),
}
_LOAD_KEYS = ("power", "current", "resistance")
_UNIT_SIGNS = ((re.compile(r"(?<=\d)\s*mm2\b"), " mm²"), (re.compile(r"(?<=\d)\s*(m|k|M|µ|u)?[oO]hms?\b"), r" \1Ω"),
               (re.compile(r"(?<=\d)(?=[mkMµ]?[VAWΩ]\b)"), " "))


def width_of(text: str, size: float, bold: bool = False) -> float:
    """Return how wide a line of text is, a little more rather than less, in points."""
    thousandths = sum(_WIDTHS.get(character, _OTHER_WIDTH) for character in text)
    return thousandths * size / 1000 * (_BOLD_FACTOR if bold else 1.0)


def fitted(text: str, size: float, longest: float = _LONGEST_LINE) -> str:
    """Return the text, cut with an ellipsis where it is longer than a label may be."""
    if width_of(text, size) <= longest:
        return text
    while text and width_of(text + "…", size) > longest:
        text = text[:-1].rstrip()
    return text + "…"


def quantity_words(text: str) -> str:
    """Return a quantity of the job file as it is printed: "1.5 mm2" is "1.5 mm²", "12 mohm" is "12 mΩ"."""
    for pattern, sign in _UNIT_SIGNS:
        text = pattern.sub(sign, text)
    return text.strip()


def point_words(name: str) -> str:
    """Return a point's name as it is printed, battery negative with a true minus sign."""
    return fitted("B−" if name == "B-" else name, POINT_SIZE, _LONGEST_NAME)


def value_words(element: Element) -> str:
    """Return the value printed beside an element: "15 A", "1.5 mm² RD/WH", "21 W"; blank where it has none."""
    keys = _VALUE_KEYS.get(element.kind, _LOAD_KEYS)
    value = next((quantity_words(text) for text in (getattr(element, key) for key in keys) if text), "")
    if element.kind == "wire":
        value = " ".join(filter(None, (value or quantity_words(element.length), element.colour)))
    elif element.kind == "contact" and element.connector and not element.id.startswith(element.connector):
        value = element.connector
    return fitted(value, VALUE_SIZE)


def label_lines(element: Element, part: str, with_title: bool, is_narrow: bool = False) -> tuple[str, ...]:
    """Return the lines under an element's id: its title where there is room, then its value.

    The contact of a relay stands under the relay's id alone; title and value belong to the coil. In a narrow column
    the section and the colour of a wire stand below each other.
    """
    if part == "contact":
        return ()
    value = value_words(element)
    if is_narrow and element.kind == "wire" and element.colour and value.endswith(f" {element.colour}"):
        values = [value.removesuffix(f" {element.colour}"), element.colour]
    else:
        values = [value] if value else []
    if element.protected:
        # No lamp, no ohmmeter, no supply here: the drawing says it where it lies.
        values.append("protected")
    title = element.title if with_title and element.title.casefold() != element.id.casefold() else ""
    return (*wrapped(title), *values)


def wrapped(text: str) -> tuple[str, ...]:
    """Return the text in as many lines as a label may have, cut with an ellipsis where it has more."""
    lines: list[str] = []
    rest = text.split()
    while rest and len(lines) < _MOST_TITLE_LINES - 1:
        line = rest.pop(0)
        while rest and width_of(f"{line} {rest[0]}", VALUE_SIZE) <= _LONGEST_LINE:
            line = f"{line} {rest.pop(0)}"
        lines.append(fitted(line, VALUE_SIZE))
    return (*lines, fitted(" ".join(rest), VALUE_SIZE)) if rest else tuple(lines)
