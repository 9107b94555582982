"""Conductors and the voltage they lose."""

from __future__ import annotations

import pytest

from workshop_log.measuring.conductors import (
    STRAND_ALLOWANCE,
    ConductorError,
    conductor_resistance,
    expected_drop,
    expected_resistance,
    table_ohm_per_m,
    voltage_drop,
)


def test_section_of_the_table_says_that_it_is_from_memory():
    """3.5 m of 1.5 mm²: 12.7 mΩ/m · 3.5 m = 44.45 mΩ; 6 A lose 0.2667 V."""
    resistance = conductor_resistance(3.5, 1.5)
    assert resistance.ohm == pytest.approx(0.04445)
    assert resistance.is_maximum
    assert "from memory" in resistance.source
    expected = expected_drop(3.5, 1.5, 6)
    assert (expected.low, expected.high) == (None, pytest.approx(0.2667))
    assert expected.source.replace("\u00a0", " ") == (
        "3.5 m of 1.5 mm² copper, table of vehicle wires after ISO 6722, from memory, at 20 °C, with 6.00 A")


def test_section_not_listed_has_the_metals_resistance_and_an_allowance():
    """1 m of 1.7 mm² copper: 1 / (58 · 1.7) Ω; the limit allows for strands and says so."""
    resistance = conductor_resistance(1, 1.7)
    assert resistance.ohm == pytest.approx(1 / (58 * 1.7))
    assert not resistance.is_maximum
    expected = expected_resistance(1, 1.7)
    assert expected.high == pytest.approx(STRAND_ALLOWANCE / (58 * 1.7))
    assert "own estimate" in expected.source


def test_aluminium_is_never_looked_up_in_the_copper_table():
    """1.5 mm² aluminium: 1 / (34.8 · 1.5) Ω per metre."""
    assert conductor_resistance(1, 1.5, "aluminium").ohm == pytest.approx(1 / (34.8 * 1.5))


def test_warm_wire_loses_more_and_length_adds_up():
    """Resistance rises with temperature and is proportional to length; direction of current does not matter."""
    assert voltage_drop(2, 1, 5, temperature_c=80) > voltage_drop(2, 1, 5)
    assert voltage_drop(4, 1, 5) == pytest.approx(2 * voltage_drop(2, 1, 5))
    assert voltage_drop(4, 1, -5) == voltage_drop(4, 1, 5)
    assert voltage_drop(0, 1, 5) == 0


def test_uncertain_current_makes_the_limit_uncertain():
    """Its standard uncertainty times the resistance: 44.45 mΩ · 0.1 A."""
    assert expected_drop(3.5, 1.5, 6, current_uncertainty_a=0.1).uncertainty == pytest.approx(0.004445)


def test_strand_allowance_is_what_the_table_shows():
    """The sections of the table lie 3 to 14 % above the metal, on average 8 %."""
    ratios = [ohm * section * 58 for section, ohm in table_ohm_per_m().items()]
    assert round(min(ratios), 2) == 1.03
    assert round(max(ratios), 2) == 1.14
    assert round(sum(ratios) / len(ratios), 2) == 1.08


@pytest.mark.parametrize("call", [
    lambda: conductor_resistance(-1, 1), lambda: conductor_resistance(1, 0), lambda: conductor_resistance(1, 1, "gold"),
    lambda: conductor_resistance(1, 1, temperature_c=-300), lambda: conductor_resistance(float("nan"), 1),
    lambda: expected_drop(1, 1, float("inf")),
])
def test_what_no_conductor_can_be_is_told_in_one_sentence(call):
    """The message says what is wrong."""
    with pytest.raises(ConductorError, match=r"\.$"):
        call()
