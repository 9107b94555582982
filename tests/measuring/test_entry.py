"""Reading what a person types."""

from __future__ import annotations

import math
import subprocess
import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.measuring.entry import (
    MAX_TEXT_LENGTH,
    Entry,
    EntryError,
    plain_text,
    read_entry,
    show_entry,
)
from workshop_log.measuring.units import UNITS, UnknownUnitError

READ = [
    ("12.4 V", 12.4, "V", 0.1), ("12,4 V", 12.4, "V", 0.1), ("12.4V", 12.4, "V", 0.1), ("12.60 V", 12.6, "V", 0.01),
    ("440mA", 0.44, "A", 0.001), ("440 mA", 0.44, "A", 0.001), ("0.44 A", 0.44, "A", 0.01),
    ("4k7", 4700, "ohm", 100), ("4K7", 4700, "ohm", 100), ("4R7", 4.7, "ohm", 0.1), ("1M2", 1.2e6, "ohm", 1e5),
    ("R47", 0.47, "ohm", 0.01), ("4k70", 4700, "ohm", 10), ("47k", 47e3, "ohm", 1e3), ("4k7 ohm", 4700, "ohm", 100),
    ("0.2 ohm", 0.2, "ohm", 0.1), ("0.2 Ω", 0.2, "ohm", 0.1), ("0.2 \u2126", 0.2, "ohm", 0.1),
    ("1.2 MΩ", 1.2e6, "ohm", 1e5), ("1.2 Mohm", 1.2e6, "ohm", 1e5), ("1.2 mΩ", 1.2e-3, "ohm", 1e-4),
    ("1e3 ohm", 1000, "ohm", 1000), ("1.50E3 ohm", 1500, "ohm", 10), ("1e-3 V", 0.001, "V", 0.001),
    ("-3°C", -3, "°C", 1), ("\u22123 °C", -3, "°C", 1), ("+3 °C", 3, "°C", 1), ("-0.0 V", 0, "V", 0.1),
    ("35 psi", 35, "psi", 1), ("2.4 bar", 2.4, "bar", 0.1), ("250 kPa", 250, "kPa", 1), ("12 mV", 0.012, "V", 0.001),
    ("80 %", 80, "%", 1), ("80%", 80, "%", 1), ("850 rpm", 850, "rpm", 1), ("61250 mi", 61250, "mi", 1),
    ("61250 km", 61250, "km", 1), ("1.5 mm2", 1.5, "mm2", 0.1), ("1.5 mm²", 1.5, "mm2", 0.1), ("3.5 m", 3.5, "m", 0.1),
    ("21.30 mm", 21.3, "mm", 0.01), ("60 Ah", 60, "Ah", 1), ("110 Nm", 110, "N m", 1), ("20 min", 20, "min", 1),
    (".5 V", 0.5, "V", 0.1), ("5. V", 5, "V", 1), ("0,440 A", 0.44, "A", 0.001), ("12.4\u00a0V", 12.4, "V", 0.1),
    (" 12.4  V ", 12.4, "V", 0.1), ("10 \u03bcF", 10e-6, "F", 1e-6), ("10 uF", 10e-6, "F", 1e-6),
]


@pytest.mark.parametrize(("text", "value", "unit", "resolution"), READ)
def test_what_people_type_is_read(text, value, unit, resolution):
    """Value, canonical unit and the count of the last digit, exactly as decimal text gives them."""
    entry = read_entry(text)
    assert (entry.text, entry.value, entry.unit, entry.relation) == (text, value, unit, "=")
    assert entry.resolution == pytest.approx(resolution, rel=1e-12)


def test_minus_zero_on_the_display_is_zero():
    """A sign before nothing would come back on paper."""
    assert math.copysign(1, read_entry("-0.00 V").value) == 1


def test_usual_unit_is_meant_where_none_is_typed():
    """A bare number takes the unit that the step expects, with its prefix; a typed unit wins over it."""
    assert read_entry("12.4", usual_unit="V").value == 12.4
    assert read_entry("440", usual_unit="mA").value == 0.44
    assert read_entry("5 ohm", usual_unit="V").dimension == "resistance"
    assert read_entry("47k", usual_unit="Hz").unit == "Hz"


def test_bare_number_without_usual_unit_asks_for_one():
    """The reason shows how to write it."""
    with pytest.raises(EntryError, match=r"has no unit: write it behind the number, as in 12\.4 V"):
        read_entry("12.4")


def test_unknown_usual_unit_is_the_callers_error():
    """A program that asks for furlongs has a bug, and the person typed nothing wrong."""
    with pytest.raises(UnknownUnitError):
        read_entry("12", usual_unit="furlong")


@pytest.mark.parametrize("text", ["OL", "ol", "O.L", "O.L.", ".OL", " OL "])
def test_over_range_is_read_however_the_display_writes_it(text):
    """Over range has no value; its unit is the usual one, or none where nothing is known."""
    entry = read_entry(text, usual_unit="ohm")
    assert (entry.value, entry.unit, entry.relation, entry.is_over_range) == (None, "ohm", "over range", True)
    assert read_entry(text).unit == "" == read_entry(text).dimension
    with pytest.raises(ValueError, match="no value"):
        _ = entry.quantity


def test_over_range_with_a_unit_keeps_it():
    """`OL MΩ` says that resistance was measured."""
    assert read_entry("OL MΩ", usual_unit="V").dimension == "resistance"


@pytest.mark.parametrize(("text", "relation", "value"), [
    ("<0.1 V", "<", 0.1), ("< 0.1 V", "<", 0.1), ("≤ 0.1 V", "<", 0.1), ("<= 0.1 V", "<", 0.1),
    ("> 10 MΩ", ">", 1e7), (">=10 MΩ", ">", 1e7), ("<4k7", "<", 4700),
])
def test_below_and_above_are_kept(text, relation, value):
    """A bound is a bound, and not a reading of its value."""
    entry = read_entry(text)
    assert (entry.relation, entry.value) == (relation, value)


REFUSED = [
    ("", "Type a reading"), ("   ", "Type a reading"), ("8 1/2 mm", r"write 8\.5 mm"), ("1/2 in", r"write 0\.5 in"),
    ("1/0 mm", "nothing below the line"), ("1,234.5 V", r"write 1234\.5, without a separator"),
    ("1.234,5 V", r"write 1234\.5, without a separator"), ("1,234 V", r"could mean 1234 or 1\.234"),
    ("12.4.5 V", "more than one decimal point"), ("1,2,3 V", "more than one decimal point"),
    ("1.2,3.4 V", "one decimal point at most"), ("1e999 V", "beyond any instrument"),
    ("1e99999999999999 V", "beyond any instrument"), ("1e16 V", "larger than any reading"),
    ("nan", "write OL"), ("inf", "write OL"), ("-inf", "write OL"), ("nan V", "does not begin with a number"),
    ("5 V; import os", "is not a unit known here"), ("5 furlong", "is not a unit known here"), ("440 MA", "not a unit"),
    ("12 4 V", "more than one number"), ("12 -4 V", "more than one number"), ("V", "does not begin with a number"),
    (".", "no digits"), ("- V", "does not begin with a number"), ("4k7 V", "decimal point before another unit"),
    ("1234567890123456 V", "at most 15 digits"), ("\u0663 V", "does not begin with a number"), ("<", "does not begin"),
    ("12.4 V" + " " * MAX_TEXT_LENGTH, "at most 60 characters"), ("5 V V", "is not a unit known here"),
]


@pytest.mark.parametrize(("text", "reason"), REFUSED)
def test_what_could_mean_two_things_is_refused_with_a_reason(text, reason):
    """One sentence, without line breaks, says how to write it; the text is kept."""
    with pytest.raises(EntryError, match=reason) as caught:
        read_entry(text)
    assert caught.value.text == text
    assert caught.value.reason == str(caught.value)
    assert caught.value.reason.endswith(".")
    assert "\n" not in caught.value.reason


@given(st.text() | st.text("0123456789.,eE+-−kKMRmµΩVAOL<>=/ °C%", max_size=12),
       st.sampled_from([None, "V", "ohm", "mA", "°C", "mm"]))
def test_any_text_is_read_or_refused(text, usual_unit):
    """Nothing but an EntryError ever leaves, and what is read is finite and can be shown."""
    try:
        entry = read_entry(text, usual_unit=usual_unit)
    except EntryError as error:
        assert error.reason.strip()
        return
    assert entry.value is None or math.isfinite(entry.value)
    assert show_entry(entry)
    assert read_entry(plain_text(entry), usual_unit=entry.unit or None).value == entry.value


@st.composite
def typed_readings(draw):
    """Numbers of up to nine digits, up to six of them before the point, with any unit and prefix."""
    unit = draw(st.sampled_from(UNITS))
    prefix = draw(st.sampled_from(unit.prefix_list))
    digits = draw(st.integers(0, 10**9 - 1))
    decimals = draw(st.integers(max(0, len(str(digits)) - 6), 9))
    sign = draw(st.sampled_from(["", "-"]))
    relation = draw(st.sampled_from(["", "<", ">"]))
    return f"{relation}{sign}{Decimal(digits).scaleb(-decimals):f} {prefix}{unit.name}"


@given(typed_readings())
def test_job_files_spelling_keeps_everything(text):
    """Reading the plain text again gives the same value, unit, digits, prefix and relation."""
    entry = read_entry(text)
    again = read_entry(plain_text(entry))
    assert (again.value, again.unit, again.resolution, again.relation, again.prefix) == \
        (entry.value, entry.unit, entry.resolution, entry.relation, entry.prefix)


@given(typed_readings())
def test_shown_reading_reads_as_the_same_value(text):
    """What screen and paper show is the value that was typed, to the last digit."""
    entry = read_entry(text)
    again = read_entry(show_entry(entry))
    assert (again.value, again.unit, again.relation) == (entry.value, entry.unit, entry.relation)
    assert show_entry(again) == show_entry(entry)


@pytest.mark.parametrize(("text", "plain"), [
    ("12,4 V", "12.4 V"), ("440mA", "440 mA"), ("0.44 A", "0.44 A"), ("4k7", "4.7 kohm"), ("1e3 ohm", "1 kohm"),
    ("O.L", "OL"), ("< 0.1 V", "<0.1 V"), ("−3 °C", "-3 °C"), ("1.5 mm²", "1.5 mm2"), ("10 µF", "10 uF"),
    ("1e3 rpm", "1e3 rpm"), ("5 Nm", "5 N m"),
])
def test_plain_text_is_the_job_files_spelling(text, plain):
    """Plain characters that any keyboard has, one spelling for one reading."""
    assert plain_text(read_entry(text)) == plain


def test_entry_cannot_be_half_a_reading():
    """A value that is missing, infinite or without resolution is a bug in the caller."""
    halves = [(None, 0.1, "="), (1.0, 0.1, "over range"), (math.inf, 0.1, "="), (1.0, 0, "=")]
    for value, resolution, relation in halves:
        with pytest.raises(ValueError):
            Entry("x", value, "V", resolution, relation)


def test_quantity_is_pints():
    """A reading combines with other quantities."""
    assert read_entry("440 mA").quantity.to("milliampere").magnitude == pytest.approx(440)
    assert read_entry("25 °C").quantity.to("kelvin").magnitude == pytest.approx(298.15)


def test_reading_and_judging_do_not_load_pint():
    """The window takes in a first reading without the second that pint needs to load."""
    program = (
        "import sys\n"
        "from workshop_log.measuring import entry, instruments, ranges, uncertainty, verdict\n"
        "reading = entry.read_entry('0.48 V')\n"
        "known = uncertainty.standard_uncertainty(reading)\n"
        "limits = ranges.ExpectedRange(None, 0.2, 'V', 'common practice')\n"
        "print(verdict.judge(reading, limits, known).verdict.value, 'pint' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["outside", "False"]
