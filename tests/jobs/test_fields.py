"""What is typed into a field, as the field's own type."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop_log.exchange.records import Charge, Complaint, FaultCode, Job, Part, TimeLine
from workshop_log.jobs.fields import FieldError, read_field, text_at

NOW = datetime(2031, 4, 2, 8, 35, tzinfo=UTC)
JOB = Job(complaints=(Complaint(id="c1"),), parts=(Part(id="p1", name="Strap"),),
          clock=(TimeLine(id="t1", person="Ida", start=NOW),), fault_codes=(FaultCode(code="B1234-11"),),
          charges=(Charge(id="x1", what="Disposal", amount=Decimal(5)),))


@pytest.mark.parametrize(("path", "text", "value"), [
    ("customer.name", "  Mara   Quill ", "Mara Quill"),
    ("customer.address", "1 Mill Lane\nAldermoor\n", "1 Mill Lane\nAldermoor"),
    ("customer.phone", "", ""),
    ("vehicle.year", "2027", 2027),
    ("vehicle.year", "", None),
    ("vehicle.vin", "wx0 zz1 1234", "WX0ZZ11234"),
    ("vehicle.odometer", "61250 mi", "61250 mi"),
    ("vehicle.odometer", "", ""),
    ("vehicle.nominal_supply", "24V", "24V"),
    ("vehicle.systems", "pyrotechnic\nhigh voltage", ("pyrotechnic", "high voltage")),
    ("vehicle.systems", ("pyrotechnic",), ("pyrotechnic",)),
    ("complaints/c1/words", "Cranks slowly\nwhen cold", "Cranks slowly\nwhen cold"),
    ("complaints/c1/appears", "Comes and Goes", "comes and goes"),
    ("complaints/c1/appears", "", None),
    ("complaints/c1/confirmed", "yes", True),
    ("complaints/c1/confirmed", "", None),
    ("complaints/c1/confirmed", False, False),
    ("fault_codes/B1234-11/state", "stored", "stored"),
    ("parts/p1/price", "£18.40", Decimal("18.40")),
    ("parts/p1/price", "", None),
    ("parts/p1/quantity", "0,5", Decimal("0.5")),
    ("parts/p1/ordered", "2031-04-02T08:35+00:00", NOW),
    ("parts/p1/ordered", NOW, NOW),
    ("clock/t1/billed_minutes", "45", 45.0),
    ("clock/t1/billed_minutes", "1:30", 90.0),
    ("clock/t1/billed_minutes", "1 h 30 min", 90.0),
    ("clock/t1/billed_minutes", "1.5 h", 90.0),
    ("clock/t1/billed_minutes", "", None),
    ("workshop.labour_rate", "64", Decimal(64)),
    ("workshop.tax_rate", "20 %", Decimal(20)),
    ("workshop.currency", "eur", "EUR"),
    ("workshop.tax_rule", "total down", "total down"),
    ("not_tested", "The charger\n\nThe boot loom", ("The charger", "The boot loom")),
])
def test_text_becomes_the_type_of_its_field(path: str, text: object, value: object) -> None:
    """Text is read by what the field is; a value of its own type passes."""
    read = read_field(path, text, JOB)
    assert read == value
    assert type(read) is type(value)


@pytest.mark.parametrize(("path", "text", "reason"), [
    ("vehicle.odometer", "61250", "“61250” has no unit: write for example 61250 mi or 98600 km."),
    ("vehicle.odometer", "61250 V", "is a voltage; here belongs a length"),
    ("vehicle.odometer", "-5 mi", "below 0"),
    ("vehicle.nominal_supply", "twelve", "does not begin with a number"),
    ("vehicle.year", "27", "27 is not between 1885 and 2200"),
    ("vehicle.year", "next", "not a whole number"),
    ("vehicle.systems", "nuclear", "does not fit"),
    ("complaints/c1/appears", "often", "not one of the choices: always, comes and goes"),
    ("complaints/c1/confirmed", "maybe", "neither yes nor no"),
    ("complaints/c9/words", "x", "There is no “c9” in complaints any more"),
    ("parts/p1/price", "dear", "not an amount of money"),
    ("parts/p1/price", "1.999", "more than 2 digits"),
    ("parts/p1/id", "p2", "no field that can be edited"),
    ("parts/p1/ordered", "yesterday", "not a time"),
    ("parts/p1/ordered", "2031-04-02T08:35", "time zone"),
    ("charges/x1/amount", "", "cannot be empty"),
    ("clock/t1/billed_minutes", "long", "not a time worked"),
    ("clock/t1/billed_minutes", "1:75", "not a time worked"),
    ("workshop.tax_rate", "120", "not between 0 and 100"),
    ("workshop.currency", "pounds", "three letters"),
    ("customer.name", "x" * 401, "longer than 400 characters"),
    ("customer.name", "a\u0000b", "cannot be kept"),
    ("steps/s1/reading", "5 V", "no field that can be edited"),
    ("number", "7", "no field that can be edited"),
    ("customer.shoe_size", "44", "no field that can be edited"),
])
def test_what_does_not_fit_is_refused_with_path_and_sentence(path: str, text: str, reason: str) -> None:
    """Evidence, ids and numbers are no fields; the rest says what to write."""
    with pytest.raises(FieldError) as refused:
        read_field(path, text, JOB)
    assert reason in refused.value.reason
    assert refused.value.path == path


_PATHS = ["customer.name", "vehicle.year", "vehicle.odometer", "complaints/c1/appears", "complaints/c1/confirmed",
          "parts/p1/price", "parts/p1/quantity", "parts/p1/ordered", "clock/t1/billed_minutes", "not_tested",
          "workshop.currency", "vehicle.systems"]


@given(st.sampled_from(_PATHS), st.text(max_size=30))
def test_any_text_is_read_or_refused(path: str, text: str) -> None:
    """Nothing typed makes a field fail in another way."""
    try:
        read_field(path, text, JOB)
    except FieldError as refused:
        assert refused.reason


@pytest.mark.parametrize(("path", "text"), [
    ("complaints/c1/words", ""), ("vehicle.year", ""), ("charges/x1/amount", "5"), ("clock/t1/start", NOW.isoformat()),
    ("vehicle.nominal_supply", "12 V"), ("fault_codes/B1234-11/code", "B1234-11"), ("parts/p1/quantity", "1")])
def test_text_of_a_field_is_what_would_be_typed(path: str, text: str) -> None:
    """What is shown in a field, read again, is what stands in it."""
    assert text_at(JOB, path) == text
    assert not text or str(read_field(path, text, JOB)).startswith(text.partition("T")[0])


def test_text_of_an_unknown_field_is_refused() -> None:
    """A path that leads nowhere is an error of its own kind, not a crash."""
    with pytest.raises(FieldError):
        text_at(JOB, "parts/p9/price")
