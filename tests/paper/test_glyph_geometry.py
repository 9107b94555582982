"""The range glyph: position alone says what the reading is against its range."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.paper.glyph_geometry import BAR_FACTOR, COLOURS, Dot, Line, glyph

WIDTH, HEIGHT = 80.0, 13.0


def dot(shapes):
    return next(shape for shape in shapes if isinstance(shape, Dot))


def brackets(shapes) -> list[float]:
    """Return where the upright lines of the brackets stand, from left to right; break marks slant."""
    return sorted(s.x1 for s in shapes if isinstance(s, Line) and s.role == "bracket" and s.x1 == s.x2)


def bar(shapes) -> Line:
    return next(s for s in shapes if isinstance(s, Line) and s.role == "mark" and s.y1 == s.y2)


@pytest.mark.parametrize("value", [11.9, 12.3, 12.7])
def test_reading_within_its_limits_has_its_dot_between_the_brackets(value):
    """A reading from the lowest to the highest expected value is drawn from bracket to bracket."""
    shapes = glyph(11.9, 12.7, value, 0.01, WIDTH, HEIGHT)
    left, right = brackets(shapes)
    assert left - 1e-9 <= dot(shapes).x <= right + 1e-9


@pytest.mark.parametrize(("value", "side"), [(11.8, -1), (12.8, 1), (0.02, -1), (48.0, 1), (math.inf, 1), (None, 1)])
def test_reading_beyond_a_limit_has_its_dot_beyond_the_bracket(value, side):
    """However far outside, the dot is on the side where the reading lies."""
    shapes = glyph(11.9, 12.7, value, 0.01, WIDTH, HEIGHT)
    left, right = brackets(shapes)
    assert dot(shapes).x < left if side < 0 else dot(shapes).x > right


def test_distances_are_to_scale():
    """A reading a quarter into the range stands a quarter of the way between the brackets, its bar is ±2u long."""
    shapes = glyph(10.0, 14.0, 11.0, 0.25, WIDTH, HEIGHT)
    left, right = brackets(shapes)
    per_volt = (right - left) / 4.0
    assert dot(shapes).x == pytest.approx(left + per_volt)
    assert bar(shapes).x2 - bar(shapes).x1 == pytest.approx(2 * BAR_FACTOR * 0.25 * per_volt)


def test_reading_close_to_a_limit_has_its_bar_across_the_bracket():
    """Too close to call: the bar begins on one side of the bracket and ends on the other."""
    shapes = glyph(None, 0.2, 0.19, 0.02, WIDTH, HEIGHT)
    (limit,) = brackets(shapes)
    assert bar(shapes).x1 < limit < bar(shapes).x2


def test_reading_far_away_breaks_the_line():
    """A scale that is no longer kept is marked as broken: two slanting strokes between bracket and dot."""
    shapes = glyph(None, 0.2, 14.2, 0.06, WIDTH, HEIGHT)
    (limit,) = brackets(shapes)
    slants = [s for s in shapes if isinstance(s, Line) and s.role == "bracket" and s.x1 != s.x2 and s.y1 != s.y2]
    assert len(slants) == 2
    assert all(limit < slant.x1 < dot(shapes).x for slant in slants)


def test_one_sided_range_has_one_bracket_that_opens_to_the_expected_side():
    """"At most" has a ] and "at least" a [: the feet point to what is expected."""
    for low, high, side in ((None, 0.2, -1), (9.6, None, 1)):
        shapes = glyph(low, high, 5.0, 0.0, WIDTH, HEIGHT)
        (limit,) = brackets(shapes)
        feet = [s.x2 - s.x1 for s in shapes if isinstance(s, Line) and s.role == "bracket"
                and s.y1 == s.y2 and s.x1 == limit]
        assert len(feet) == 2
        assert all(math.copysign(1, foot) == side for foot in feet)


def test_nothing_is_drawn_without_a_limit():
    """Where no range is known there is no glyph to mislead."""
    assert glyph(None, None, 12.0, 0.1, WIDTH, HEIGHT) == ()


def test_a_reading_that_only_says_below_points_below():
    """"< 0.1 V" has an arrow to the left of its dot."""
    shapes = glyph(None, 0.2, 0.1, 0.0, WIDTH, HEIGHT, "<")
    assert min(s.x2 for s in shapes if isinstance(s, Line) and s.role == "mark") < dot(shapes).x


numbers = st.floats(allow_nan=False, allow_infinity=False, min_value=-1e15, max_value=1e15)


@given(numbers, numbers, numbers | st.just(math.inf), st.floats(0, 1e6))
def test_every_shape_stays_inside_the_box(one, other, value, uncertainty):
    """Whatever the numbers, nothing is drawn beside the box and nothing is not a number."""
    low, high = sorted((one, other))
    for limits in ((low, high), (low, None), (None, high)):
        for shape in glyph(*limits, value, uncertainty, WIDTH, HEIGHT):
            points = [(shape.x, shape.y)] if isinstance(shape, Dot) else [(shape.x1, shape.y1), (shape.x2, shape.y2)]
            assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in points), (limits, value, uncertainty, shape)


@given(numbers, numbers, numbers, st.floats(0, 1e6))
def test_dot_and_brackets_keep_the_order_of_the_numbers(one, other, value, uncertainty):
    """Left and right of a bracket means below and above a limit."""
    low, high = sorted((one, other))
    shapes = glyph(low, high, value, uncertainty, WIDTH, HEIGHT)
    left, right = brackets(shapes)
    x = dot(shapes).x
    if low < value < high:
        assert left <= x <= right
    elif value < low:
        assert x <= left
    elif value > high:
        assert x >= right


def luminance(colour: str) -> float:
    parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize(("ground", "sheet"), [("light", "#FFFFFF"), ("dark", "#1E2226")])
def test_verdicts_are_readable_on_their_ground(ground, sheet):
    """Each verdict's colour, also used for its word, has a contrast of 4.5 : 1 (WCAG 2.2, 1.4.3)."""
    for verdict in ("inside", "outside", "too close to call"):
        light, dark = sorted((luminance(COLOURS[ground][verdict]), luminance(sheet)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5, verdict


def test_reading_close_to_a_single_limit_is_seen_on_its_side():
    """12.44 V against "at least 12.4 V": the scale is chosen so that dot and bracket stand apart."""
    shapes = glyph(12.4, None, 12.437, 0.003, WIDTH, HEIGHT)
    (limit,) = brackets(shapes)
    assert dot(shapes).x - limit > HEIGHT
