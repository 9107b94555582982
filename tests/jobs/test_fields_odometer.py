"""An odometer is typed with its thousands set apart."""

from __future__ import annotations

import pytest

from workshop_log.exchange.records import Job
from workshop_log.jobs.fields import read_field


@pytest.mark.parametrize(("typed", "kept"), [
    ("88 400 mi", "88400 mi"), ("61,250 mi", "61250 mi"), ("98.600 km", "98600 km"), ("1 204 300 km", "1204300 km"),
    ("61250 mi", "61250 mi"), ("12.5 km", "12.5 km")])
def test_thousands_that_are_set_apart_are_joined(typed: str, kept: str) -> None:
    """What stands between groups of three digits of an odometer is no decimal point."""
    assert read_field("vehicle.odometer", typed, Job()) == kept
