"""The shapes of a circuit: symbols in their box, states that need no colour, the same words for those who hear it."""

from __future__ import annotations

from typing import get_args

import pytest
from paper.circuits import known_circuits

from workshop_log.exchange.records import Element, ElementKind
from workshop_log.jobs.percent import percent_sign
from workshop_log.jobs.suspicion import HEALTHY, SEVERAL, Share
from workshop_log.paper.circuit_drawing import COLOURS, DrawnState, shapes
from workshop_log.paper.circuit_layout import Box, Marks, Shade, lay_out
from workshop_log.paper.circuit_marks import shades_of
from workshop_log.paper.circuit_shapes import Circle, GlyphPlace, Line, Polygon, Role, Text
from workshop_log.paper.circuit_symbols import Curve, Letter, Stroke, symbol
from workshop_log.paper.circuit_text import quantity_words, value_words, width_of
from workshop_log.paper.circuit_words import circuit_words

KNOWN = known_circuits()


def strokes(*arguments: object, **options: object) -> list[tuple]:
    return [mark.points for mark in symbol(*arguments, **options) if isinstance(mark, Stroke)]


@pytest.mark.parametrize("kind", [kind for kind in get_args(ElementKind) if kind != "relay"])
def test_symbol_stays_in_its_box_and_reaches_both_ends(kind: str) -> None:
    """Lines of the circuit meet the symbol in the middle of its upper and lower edge."""
    ends = set()
    for mark in symbol(kind):
        match mark:
            case Stroke(points):
                assert all(0 <= x <= 1 and 0 <= y <= 1 for x, y in points)
                ends.update(points)
            case Curve(x, y, radius):
                assert radius <= min(x, y)
                assert max(x, y) <= 1 - radius
            case Letter(_, x, y, height):
                assert height / 2 <= y <= 1 - height / 2
                assert 0 < x < 1
    assert (0.5, 0) in ends
    assert (0.5, 1) in ends


def test_every_kind_looks_different() -> None:
    """No two kinds share a symbol."""
    made = [symbol(kind) for kind in get_args(ElementKind) if kind != "relay"]
    made += [symbol("relay", "coil"), symbol("relay", "contact")]
    assert len(set(made)) == len(made)


def test_switch_and_relay_show_how_they_stand() -> None:
    """Closed, the blade joins both ends; open, it does not."""
    assert ((0.5, 0.76), (0.5, 0.24)) in strokes("switch", closed=True)
    assert ((0.5, 0.76), (0.5, 0.24)) not in strokes("switch", closed=False)
    assert ((0.5, 0.2), (0.5, 0.8)) in strokes("relay", "contact", closed=True)
    assert ((0.5, 0.2), (0.9, 0.76)) in strokes("relay", "contact", closed=False, side=1)
    # A contact that opens when the relay pulls in stands straight at rest.
    assert ((0.5, 0.2), (0.5, 0.8)) in strokes("relay", "contact", closed=False, has_open=False)


def test_plug_pulled_apart_has_a_gap() -> None:
    """The pin no longer reaches into the socket."""
    assert symbol("contact", out=True) != symbol("contact")


def test_live_is_thick_dead_thin_floating_dashed() -> None:
    """A print without colours says the same as the screen."""
    layout = lay_out(KNOWN["gauge-sender"])
    states = {"10 V": "live", "P1.2": "floating", "B-": "dead"}
    lines = {line.owner: line for line in shapes(layout, DrawnState(states)) if isinstance(line, Line)
             and line.role in ("live", "dead", "floating")}
    assert lines["10 V"].thickness > 2 * lines["B-"].thickness
    assert lines["10 V"].dash is None
    assert lines["B-"].dash is None
    assert lines["W1"].dash is not None
    assert lines["W1"].role == "floating"


def test_current_stands_beside_loads_and_not_beside_every_wire() -> None:
    """In a row of elements the current is the same everywhere and said once or twice."""
    circuit = KNOWN["gauge-sender"]
    layout = lay_out(circuit, with_currents=True)
    state = DrawnState(currents=dict.fromkeys((element.id for element in circuit.elements), "51.1 mA"))
    shown = [shape.owner for shape in shapes(layout, state) if isinstance(shape, Text) and shape.role == "current"]
    assert sorted(shown) == ["B5", "P1", "supply"]


def test_solver_decides_whether_a_relay_has_pulled_in() -> None:
    """Where the state says it, the setup's guess gives way."""
    circuit = KNOWN["horn"]
    running = next(setup for setup in circuit.setups if setup.id == "button pressed")
    layout = lay_out(circuit, running)
    assert next(e for e in layout.elements if e.part == "contact").closed
    assert shapes(layout, DrawnState(pulled_in=frozenset())) != shapes(layout)
    assert shapes(layout, DrawnState(pulled_in=frozenset({"K2"}))) == shapes(layout)


def test_pulled_fuse_is_dashed_between_open_ends() -> None:
    """An element that was taken out shows as a gap without colours."""
    circuit = KNOWN["fused-feed"]
    setup = next(setup for setup in circuit.setups if setup.pulled == ("F12",))
    drawn = [s for s in shapes(lay_out(circuit, setup)) if s.owner == "F12" and not isinstance(s, Text)]
    assert {s.role for s in drawn} == {"out"}
    assert sum(isinstance(s, Circle) for s in drawn) == 2
    assert all(s.dash for s in drawn if isinstance(s, Line | Polygon))


def test_marks_stand_left_of_their_point_with_a_place_for_the_glyph() -> None:
    """The number of the test and then its glyph, both left of the line."""
    circuit = KNOWN["fused-feed"]
    marks = Marks({"A1.1a": "Test 8"}, {"F12": "Test 2"}, frozenset({("point", "A1.1a")}))
    layout = lay_out(circuit, marks=marks)
    drawn = shapes(layout, marks=marks)
    x = next(point.x for point in layout.points if point.name == "A1.1a")
    (place,) = [shape for shape in drawn if isinstance(shape, GlyphPlace)]
    said = {shape.text: shape for shape in drawn if isinstance(shape, Text) and shape.role == "mark"}
    assert set(said) == {"Test 8", "Test 2"}
    assert said["Test 8"].x < place.left < place.left + place.width < x
    assert said["Test 2"].x > x


def _luminance(colour: str) -> float:
    parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize(("theme", "ground"), [("light", "#FFFFFF"), ("dark", "#1E2226")])
def test_every_role_has_a_colour_with_contrast(theme: str, ground: str) -> None:
    """WCAG 2.2 AA: at least 4.5 : 1 against the sheet; the ground behind what is suspect is a sheet itself."""
    assert set(COLOURS[theme]) == set(get_args(Role))
    for role, colour in COLOURS[theme].items():
        if not role.startswith("shade"):
            assert _contrast(colour, ground) >= 4.5


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_every_line_stands_out_from_the_ground_behind_a_suspect(theme: str) -> None:
    """WCAG 2.2, criterion 1.4.11: at least 3 : 1 for what is drawn, on the darkest ground too."""
    for role in ("plain", "live", "dead", "floating", "out", "element", "point"):
        for step in (1, 2, 3, 4):
            assert _contrast(COLOURS[theme][role], COLOURS[theme][f"shade {step}"]) >= 3, (role, step)


def _contrast(one: str, other: str) -> float:
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_what_is_suspect_lies_on_a_wider_ground_the_likelier_it_is() -> None:
    """The percent stands beside it, so that nothing depends on seeing a shade; what hardly counts has no ground."""
    circuit = KNOWN["gauge-sender"]
    shares = {"W1": 0.6, "P1": 0.3, "B5": 0.1, "supply": 0.004}
    marks = Marks(shades={name: Shade(share, f"{share:.0%}") for name, share in shares.items()})
    drawn = shapes(lay_out(circuit, marks=marks), None, marks)
    widths = {shape.owner: max(x for x, _ in shape.corners) - min(x for x, _ in shape.corners) for shape in drawn
              if isinstance(shape, Polygon) and shape.role.startswith("shade")}
    assert sorted(widths, key=widths.get, reverse=True) == ["W1", "P1", "B5"]
    written = {shape.owner: shape.text for shape in drawn if isinstance(shape, Text) and shape.text.endswith("%")}
    assert written == {"W1": "60%", "P1": "30%", "B5": "10%", "supply": "0%"}


@pytest.mark.parametrize("name", KNOWN)
def test_ground_behind_what_is_suspect_lies_under_no_words(name: str) -> None:
    """Neither the names of the points beside it nor the tests made there, however likely it is."""
    circuit = KNOWN[name]
    points = {point.name: "Tests 5, 6, 18" for point in lay_out(circuit).points}
    marks = Marks(points, with_glyph=frozenset(("point", point) for point in points),
                  shades={element.id: Shade(0.9, "90 %") for element in circuit.elements})
    layout = lay_out(circuit, marks=marks)
    words = [label.box for label in layout.labels] + [point.mark for point in layout.points]
    grounds = [shape for shape in shapes(layout, None, marks)
               if isinstance(shape, Polygon) and shape.role.startswith("shade")]
    assert len(grounds) >= len(circuit.elements)
    for ground in grounds:
        edge = ground.thickness / 2
        across, down = zip(*ground.corners, strict=True)
        box = Box(min(across) - edge, min(down) - edge, max(across) + edge, max(down) + edge)
        assert not any(box.overlaps(other) for other in words), ground.owner


def test_what_is_cleared_is_struck_out_with_the_step_that_cleared_it() -> None:
    """No ground, a line through its name, and the number behind it; all others stay as they were."""
    circuit = KNOWN["gauge-sender"]
    marks = Marks(shades={"P1": Shade(0.0, "s4", is_cleared=True), "W1": Shade(0.5, "50 %")})
    layout = lay_out(circuit, marks=marks)
    drawn = shapes(layout, None, marks)
    name = next(label.box for label in layout.labels if label.owner == "P1" and label.kind == "name")
    lines = [shape for shape in drawn if isinstance(shape, Line) and shape.role == "cleared" and shape.y1 == shape.y2
             and name.top < shape.y1 < name.bottom]
    assert [(line.x1 < name.left, line.x2 > name.right) for line in lines] == [(True, True)]
    assert any(isinstance(shape, Text) and (shape.owner, shape.text) == ("P1", "s4") for shape in drawn)
    assert {shape.owner for shape in drawn if shape.role.startswith("shade")} == {"W1"}
    assert {shape.owner for shape in drawn if shape.role == "cleared"} == {"P1"}


def test_the_drawing_stays_where_it_is_while_the_suspicion_moves() -> None:
    """Room for the longest words is kept from the beginning."""
    for circuit in KNOWN.values():
        places = [lay_out(circuit, marks=Marks(shades={element.id: shade for element in circuit.elements}),
                          with_currents=True)
                  for shade in (Shade(), Shade(0.4, "100 %"), Shade(0, "s14, s19", is_cleared=True))]
        assert places[0] == places[1] == places[2]


def test_how_suspect_an_element_is_overlaps_no_other_words() -> None:
    """Beside the name and the current there is room for it."""
    for circuit in KNOWN.values():
        marks = Marks(shades={element.id: Shade(0.4, "100 %") for element in circuit.elements})
        layout = lay_out(circuit, marks=marks, with_currents=True)
        taken = [label.box for label in layout.labels] + [
            element.current for element in layout.elements if element.shows_current]
        for element in layout.elements:
            if element.part in ("whole", "coil"):
                assert not any(element.share.overlaps(box) for box in taken), element.id
                assert element.share.right <= layout.width


def test_shares_of_the_bar_become_shades_of_the_elements() -> None:
    """Healthy and two faults are no elements; of many steps that cleared one the first stands there."""
    circuit = KNOWN["gauge-sender"]
    shares = (Share("W1", "W1", 0.7), Share(HEALTHY, HEALTHY, 0.29), Share(SEVERAL, SEVERAL, 0.006),
              Share("B5", "B5", 0.004), Share("P1", "P1", 0.0, "cleared", ("s4", "s9", "s12")))
    shades = shades_of(circuit, shares, ", ".join)
    assert set(shades) == {element.id for element in circuit.elements}
    assert shades["W1"] == Shade(0.7, percent_sign(0.7))
    assert shades["B5"].words.startswith("<1")
    assert shades["P1"] == Shade(0.0, "4, …", is_cleared=True)
    assert shades["supply"] == Shade()


@pytest.mark.parametrize(("typed", "printed"), [
    ("1.5 mm2", "1.5 mm²"), ("12 mohm", "12 mΩ"), ("4.7 kohm", "4.7 kΩ"), ("120 ohm", "120 Ω"), ("15A", "15 A"),
    ("12.6 V", "12.6 V"), ("0.8 mA", "0.8 mA"), ("4k7", "4k7"), ("1 Mohm", "1 MΩ")])
def test_quantity_is_printed_with_its_signs(typed: str, printed: str) -> None:
    """As a meter shows it; what is not understood stays as it was typed."""
    assert quantity_words(typed) == printed


def test_value_beside_an_element() -> None:
    """Section and colour of a wire, rating of a fuse."""
    wire = Element(id="W", kind="wire", between=("a", "b"), section="1.5 mm2", colour="RD/WH", length="3 m")
    assert value_words(wire) == "1.5 mm² RD/WH"
    assert value_words(Element(id="F", kind="fuse", between=("a", "b"), rating="15 A")) == "15 A"
    assert value_words(Element(id="C1.2", kind="contact", between=("a", "b"), connector="C1")) == ""
    assert value_words(Element(id="pin", kind="contact", between=("a", "b"), connector="C1")) == "C1"


def test_widths_are_those_of_the_font_or_a_little_more() -> None:
    """A label is never wider than the room kept for it."""
    from reportlab.pdfbase import pdfmetrics

    from workshop_log.paper.fonts import BOLD, REGULAR, register

    register()
    for circuit in KNOWN.values():
        for label in lay_out(circuit).labels:
            bold = label.kind == "name"
            real = pdfmetrics.stringWidth(label.text, BOLD if bold else REGULAR, 8)
            assert real <= width_of(label.text, 8, bold) * 1.02 + 0.2, label.text
            assert width_of(label.text, 8, bold) < real * 1.2 + 3, label.text


def test_words_name_every_element_and_test() -> None:
    """Who hears the drawing hears all of it."""
    for circuit in KNOWN.values():
        words = circuit_words(circuit, Marks({"B+": "Tests 1, 2"}))
        for element in circuit.elements:
            assert element.id in words
        assert "Tests 1, 2: at B+." in words
