"""Choosing an expected range: each source gives one with its source in words; bad numbers give one sentence."""

from __future__ import annotations

import gc
import weakref

import pytest
from desktop.looking import settle
from PySide6.QtWidgets import QDialog, QLineEdit

from workshop_log.book.settings import Settings
from workshop_log.desktop.range_dialog import SOURCES, RangeDialog

RULES, SENSOR, CONDUCTOR, BATTERY, TYPED = range(5)


@pytest.fixture
def dialog(qtbot: object) -> RangeDialog:
    made = RangeDialog(None, Settings())
    qtbot.addWidget(made)
    made.show()
    return made


def choose(dialog: RangeDialog, source: int) -> None:
    dialog.sources.setCurrentRow(source)
    assert dialog.pages.currentIndex() == source


def lines_of(dialog: RangeDialog, source: int) -> dict[str, QLineEdit]:
    return {SENSOR: dialog.sensor_lines, CONDUCTOR: dialog.conductor_lines, BATTERY: dialog.battery_lines,
            TYPED: dialog.typed_lines}[source]


def assert_a_range(dialog: RangeDialog, unit: str, *source: str) -> None:
    assert dialog.range is not None, dialog.source.text()
    assert dialog.ok.isEnabled()
    assert dialog.range.unit == unit
    assert dialog.range.source
    assert dialog.source.text() == dialog.range.source
    assert dialog.words.text() == f"Expected: {dialog.range.words()}"
    for word in source:
        assert word in dialog.range.source


def assert_a_sentence(dialog: RangeDialog) -> str:
    assert dialog.range is None
    assert not dialog.ok.isEnabled()
    words = dialog.source.text()
    assert dialog.source.property("part") == "problem"
    assert len(words.splitlines()) == 1
    assert words.endswith((".", "?"))
    assert "Error" not in words
    return words


def test_nothing_is_chosen_at_first(dialog: RangeDialog):
    """No range is used that nobody chose."""
    assert dialog.range is None
    assert not dialog.ok.isEnabled()
    assert dialog.source.text() == ""


def test_every_rule_gives_its_range(dialog: RangeDialog):
    """All those the program comes with, each with where it comes from."""
    assert dialog.rules.count() == len(Settings().rules) > 10
    for row, rule in enumerate(Settings().rules):
        dialog.rules.setCurrentRow(row)
        wanted = rule.expected_range()
        assert_a_range(dialog, wanted.unit)
        assert (dialog.range.low, dialog.range.high) == (wanted.low, wanted.high)


def test_rules_are_found_by_their_words(dialog: RangeDialog):
    """In any order; what does not have all of them is hidden."""
    dialog.find.setText("cranking GROUND")
    shown = [dialog.rules.item(n).text().lower() for n in range(dialog.rules.count())
             if not dialog.rules.item(n).isHidden()]
    assert shown
    assert all("cranking" in text and "ground" in text for text in shown)
    dialog.find.clear()
    assert not any(dialog.rules.item(n).isHidden() for n in range(dialog.rules.count()))


def test_a_rule_that_the_search_hides_is_not_used(dialog: RangeDialog):
    """What is not seen cannot be chosen."""
    dialog.rules.setCurrentRow(0)
    assert dialog.range is not None
    dialog.find.setText("zeppelin")
    assert dialog.range is None
    assert not dialog.ok.isEnabled()


def test_an_ntc_gives_its_resistance(dialog: RangeDialog):
    """At 25 °C, exactly known, the range is R25 with its tolerance."""
    choose(dialog, SENSOR)
    lines = dialog.sensor_lines
    for name, text in (("temperature", "25"), ("known", "0"), ("r25", "2500"), ("tolerance", "3")):
        lines[name].setText(text)
    assert_a_range(dialog, "ohm")
    assert (dialog.range.low, dialog.range.high) == (pytest.approx(2425), pytest.approx(2575))


def test_a_pt100_gives_its_resistance(dialog: RangeDialog):
    """IEC 60751: 100 Ω at 0 °C, class B ± 0.3 °C, that is ± 0.117 Ω."""
    choose(dialog, SENSOR)
    dialog.sensor.setCurrentText("Pt100")
    dialog.sensor_lines["temperature"].setText("0")
    dialog.sensor_lines["known"].setText("0")
    assert_a_range(dialog, "ohm", "60751")
    assert (dialog.range.low, dialog.range.high) == (pytest.approx(99.88, abs=0.01), pytest.approx(100.12, abs=0.01))
    assert not dialog.sensor_lines["beta"].isVisible()
    assert dialog.sensor_lines["class"].isVisible()


def test_a_thermocouple_gives_its_voltage(dialog: RangeDialog):
    """IEC 60584: type K at 100 °C with the cold junction at 0 °C gives 4.096 mV."""
    choose(dialog, SENSOR)
    dialog.sensor.setCurrentText("Thermocouple type K")
    for name, text in (("temperature", "100"), ("known", "0"), ("junction", "0")):
        dialog.sensor_lines[name].setText(text)
    assert_a_range(dialog, "V", "60584")
    assert dialog.range.low < 4.096e-3 < dialog.range.high


def test_a_conductor_gives_its_drop_or_its_resistance(dialog: RangeDialog):
    """2 m of 2.5 mm² copper at 20 °C are 2 / (58 · 2.5) = 13.8 mΩ, and drop 138 mV at 10 A."""
    choose(dialog, CONDUCTOR)
    assert_a_range(dialog, "V")
    assert dialog.range.high >= 0.1379
    dialog.conductor_lines["current"].clear()
    assert_a_range(dialog, "ohm")
    assert dialog.range.high >= 0.01379


def test_a_battery_gives_its_rested_voltage(dialog: RangeDialog):
    """Of a 12 V and of a 24 V system."""
    choose(dialog, BATTERY)
    assert_a_range(dialog, "V")
    low = dialog.range.low
    dialog.battery_lines["nominal"].setText("24")
    assert_a_range(dialog, "V")
    assert dialog.range.low == pytest.approx(2 * low)


def test_a_typed_range_has_the_source_that_was_typed(dialog: RangeDialog):
    """Or says that the technician typed it."""
    choose(dialog, TYPED)
    assert not dialog.ok.isEnabled()
    dialog.typed_lines["low"].setText("22 mm")
    assert_a_range(dialog, "mm", "typed by the technician")
    dialog.typed_lines["source"].setText("stamped on the disc")
    assert_a_range(dialog, "mm", "stamped on the disc")


@pytest.mark.parametrize(("source", "name"), [
    *((SENSOR, n) for n in ("temperature", "known", "r25", "beta", "tolerance")),
    *((CONDUCTOR, n) for n in ("length", "section", "current", "temperature")),
    *((BATTERY, n) for n in ("charge", "nominal")),
    *((TYPED, n) for n in ("low", "high"))])
@pytest.mark.parametrize("text", ["abc", "nan", "inf", "-inf", "1e999", "1e300", "-1e300", "−", "1,2,3"])
def test_a_bad_number_is_one_sentence(dialog: RangeDialog, source: int, name: str, text: str):
    """Whatever stands in the field, the dialog says what is wrong and offers no range."""
    choose(dialog, source)
    lines_of(dialog, source)[name].setText(text)
    assert_a_sentence(dialog)


@pytest.mark.parametrize(("source", "name", "text"), [
    (SENSOR, "r25", "0"), (SENSOR, "r25", "-5"), (SENSOR, "beta", "0"), (SENSOR, "temperature", "-300"),
    (SENSOR, "known", "-1"), (SENSOR, "tolerance", "-1"), (CONDUCTOR, "length", "-2"), (CONDUCTOR, "section", "0"),
    (CONDUCTOR, "section", "-1"), (CONDUCTOR, "temperature", "-300"), (BATTERY, "charge", "-1"),
    (BATTERY, "charge", "101"), (BATTERY, "nominal", "0"), (BATTERY, "nominal", "-12"), (TYPED, "low", "12"),
    (TYPED, "low", "V")])
def test_a_number_that_cannot_be_is_one_sentence(dialog: RangeDialog, source: int, name: str, text: str):
    """Nothing colder than absolute zero, no wire without a section, no battery fuller than full."""
    choose(dialog, source)
    lines_of(dialog, source)[name].setText(text)
    assert_a_sentence(dialog)


def test_a_lowest_above_the_highest_is_one_sentence(dialog: RangeDialog):
    """And so are two units that do not go together."""
    choose(dialog, TYPED)
    dialog.typed_lines["low"].setText("13 V")
    dialog.typed_lines["high"].setText("12 V")
    assert_a_sentence(dialog)
    dialog.typed_lines["high"].setText("12 mm")
    assert_a_sentence(dialog)


def test_the_class_of_a_pt100_is_checked(dialog: RangeDialog):
    """One of the classes that the standard has."""
    choose(dialog, SENSOR)
    dialog.sensor.setCurrentText("Pt100")
    dialog.sensor_lines["class"].setText("Z")
    assert_a_sentence(dialog)
    dialog.sensor_lines["class"].setText("aa")
    assert_a_range(dialog, "ohm")


def test_a_decimal_comma_is_a_decimal_point(dialog: RangeDialog):
    """As it is typed on half of the keyboards; a minus of the typographer is a minus."""
    choose(dialog, CONDUCTOR)
    dialog.conductor_lines["section"].setText("2,5")
    dialog.conductor_lines["temperature"].setText("−10")
    assert_a_range(dialog, "V")


def test_the_chosen_range_comes_back_for_the_job_file(qtbot: object, monkeypatch: pytest.MonkeyPatch):
    """With its words; nothing when the dialog is left."""
    def pick(dialog: RangeDialog) -> int:
        choose(dialog, BATTERY)
        return QDialog.DialogCode.Accepted

    monkeypatch.setattr(RangeDialog, "exec", pick)
    expected, words = RangeDialog.ask(None, Settings())
    assert expected.low.endswith(" V")
    assert expected.source
    assert words
    monkeypatch.setattr(RangeDialog, "exec", lambda _dialog: QDialog.DialogCode.Rejected)
    assert RangeDialog.ask(None, Settings()) is None


def test_a_closed_dialog_is_freed(monkeypatch: pytest.MonkeyPatch):
    """Asking a hundred times a day keeps nothing in memory."""
    made: list[weakref.ref] = []

    def leave(dialog: RangeDialog) -> int:
        made.append(weakref.ref(dialog))
        return QDialog.DialogCode.Rejected

    monkeypatch.setattr(RangeDialog, "exec", leave)
    RangeDialog.ask(None, Settings())
    settle()
    gc.collect()
    assert made[0]() is None


def test_the_sources_are_in_the_order_of_their_pages(dialog: RangeDialog):
    """A page for each source."""
    assert dialog.pages.count() == len(SOURCES) == dialog.sources.count()
