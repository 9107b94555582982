"""The table of units agrees with pint and with itself."""

from __future__ import annotations

import pytest

from workshop_log.measuring import units
from workshop_log.measuring.units import UNITS


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.name)
def test_every_factor_equals_pints(unit):
    """Converting with the table gives what pint gives, for every unit against its dimension's base unit."""
    base = units.base_unit(unit.dimension)
    for value in (0.0, 1.0, -37.5, 100.0):
        by_pint = units.value_in(units.quantity(value, unit.name), base)
        assert units.convert(value, unit.name, base) == pytest.approx(by_pint, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: unit.name)
def test_every_unit_has_its_dimension_in_pint(unit):
    """Two units that the table gives one dimension are of one dimension in pint too."""
    assert units.quantity(1.0, unit.name).is_compatible_with(units.quantity(1.0, units.base_unit(unit.dimension)))


def test_every_spelling_is_read_as_its_own_unit_only():
    """No spelling is claimed by two units, except where the canonical name of one wins over a prefix of another."""
    for unit in UNITS:
        assert units.find_unit(unit.name) == (unit, "")
        for spelling in unit.spellings:
            assert units.find_unit(spelling) == (unit, ""), spelling


@pytest.mark.parametrize(("text", "name", "prefix"), [
    ("mΩ", "ohm", "m"), ("MΩ", "ohm", "M"), ("Mohm", "ohm", "M"), ("mohm", "ohm", "m"), ("kohm", "ohm", "k"),
    ("KΩ", "ohm", "k"), ("m", "m", ""), ("mm", "mm", ""), ("min", "min", ""), ("h", "h", ""), ("H", "H", ""),
    ("mA", "A", "m"), ("µA", "A", "µ"), ("uA", "A", "µ"), ("mAh", "Ah", "m"), ("kPa", "kPa", ""), ("mbar", "mbar", ""),
    ("C", "°C", ""), ("°F", "°F", ""), ("F", "F", ""), ("Nm", "N m", ""), ("mm²", "mm2", ""), ("g", "g", ""),
])
def test_milli_mega_metre_and_minute_are_kept_apart(text, name, prefix):
    """One letter's case or place decides between units a factor of a thousand million apart."""
    unit, found_prefix = units.find_unit(text)
    assert (unit.name, found_prefix) == (name, prefix)


@pytest.mark.parametrize("text", ["MA", "MV", "mv ", "volt ampere", "", "__import__('os')", "V**2"])
def test_what_is_not_in_the_table_is_unknown(text):
    """Nothing is guessed, and no expression is worked out."""
    with pytest.raises(units.UnknownUnitError):
        units.find_unit(text)


def test_there_is_one_registry():
    """Quantities made anywhere in the program combine, because they share the registry."""
    assert units.registry() is units.registry()
    assert (units.quantity(1, "V") / units.quantity(2, "ohm")).to("ampere").magnitude == 0.5


def test_registry_is_made_where_no_cache_can_be_written(monkeypatch):
    """A user folder that cannot be written costs time, not the program."""
    monkeypatch.setattr(units, "_cache_folder", lambda: None)
    monkeypatch.setattr(units, "_registry", None)
    assert units.registry().Quantity(1, "bar").to("kPa").magnitude == pytest.approx(100)


def test_cache_folder_that_cannot_be_made_is_done_without(monkeypatch, tmp_path):
    """A file where the folder should be is no error."""
    import platformdirs

    (tmp_path / "workshop-log").write_text("a file")
    monkeypatch.setattr(platformdirs, "user_cache_path", lambda *_, **__: tmp_path / "workshop-log")
    assert units._cache_folder() is None


def test_units_of_different_dimensions_do_not_convert():
    """The error names both units and what they measure."""
    with pytest.raises(units.UnitMismatchError, match=r"Ω \(resistance\).*V \(voltage\)") as caught:
        units.convert(1.0, "ohm", "V")
    assert (caught.value.expected, caught.value.got) == ("V", "ohm")


def test_prefixed_units_convert():
    """The factor of a prefix goes into conversions and differences."""
    assert units.convert(440.0, "mA", "A") == pytest.approx(0.44)
    assert units.scale("kohm", "ohm") == 1000
