"""What the program's look at its own health says of the printers."""

from __future__ import annotations

from pathlib import Path

import pytest
from delivery.virtual_printers import EMPTY, OFFICE, SLOW, VirtualPrinters, needs_cups

from workshop_log.delivery import cups, health
from workshop_log.delivery.health import Check


def printers_check() -> Check:
    return health._printers()


@needs_cups
def test_the_printers_are_named(printers: VirtualPrinters):
    """Those that the print dialog will offer."""
    check = printers_check()
    assert check.is_well
    assert {OFFICE, SLOW, EMPTY} <= set(check.words.split(", "))


@pytest.mark.skipif(not cups.has_lp(), reason="lp is not installed")
def test_no_printer_is_no_fault(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """Many workshops have none; what to do instead is said."""
    monkeypatch.setenv("CUPS_SERVER", str(tmp_path / "nobody"))
    assert printers_check() == Check("printers", True, "none set up: save the PDF and print it elsewhere")


def test_without_lp_the_dialog_asks(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """As on Windows."""
    monkeypatch.setenv("PATH", str(tmp_path))
    assert printers_check().is_well


def test_a_printing_system_that_says_nothing_is_a_fault(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """And is not waited for without end."""
    for name in ("lp", "lpstat"):
        program = tmp_path / name
        program.write_text("#!/bin/sh\nexec /bin/sleep 30\n")
        program.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(cups, "PATIENCE_S", 0.2)
    check = printers_check()
    assert not check.is_well
    assert "did not answer" in check.words
