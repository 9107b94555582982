"""The printing system asked through its own programs, and its keywords in words."""

from __future__ import annotations

import pytest
from delivery.virtual_printers import EMPTY, OFFICE, SLOW, VirtualPrinters, needs_cups

from workshop_log.delivery import cups
from workshop_log.delivery.cups import PrinterState, state_of, trouble_words


@needs_cups
def test_the_printers_are_named(printers: VirtualPrinters):
    """All of them, as the system calls them."""
    assert {OFFICE, SLOW, EMPTY} <= set(cups.printers())


@needs_cups
def test_a_printer_stands_as_it_was_set(printers: VirtualPrinters):
    """Ready, closed, stopped, or not there."""
    assert state_of(OFFICE) == PrinterState(is_stopped=False, accepts=True, trouble="")
    printers.run("cupsreject", OFFICE)
    assert state_of(OFFICE) == PrinterState(is_stopped=False, accepts=False, trouble="")
    printers.run("cupsdisable", OFFICE)
    assert state_of(OFFICE) == PrinterState(is_stopped=True, accepts=False, trouble="it was paused")
    assert state_of("attic") is None


@pytest.mark.parametrize(("reasons", "words"), [
    ("none", ""), ("", ""), ("paused", "it was paused"), ("media-empty-error", "it has no paper"),
    ("media-jam-error,paused", "paper is jammed in it"),
    ("media-empty-warning,cover-open-error", "it has no paper, a cover is open"), ("toner-low-warning", ""),
    ("media-empty-report", ""), ("cups-waiting-for-job-completed", ""), ("fuser-over-temp-error", "fuser over temp")])
def test_reasons_are_told_in_words(reasons: str, words: str):
    """Trouble alone; what runs low or is only reported troubles nobody."""
    assert trouble_words(reasons) == words
