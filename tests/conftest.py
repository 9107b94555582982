"""What every test gets: no screen, quiet deadlines, its own folders."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from delivery.virtual_printers import VirtualPrinters

# Before Qt is imported by anybody.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# A busy machine is no failure: examples have no deadline.
settings.register_profile("workshop", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("workshop")


@pytest.fixture(autouse=True)
def _own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep a test away from the settings and the book of whoever runs it."""
    home = tmp_path_factory.mktemp("home")
    for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, str(home / name.lower()))
    # Nor do tests look into, or write into, the keyring of whoever runs them.
    monkeypatch.setenv("PYTHON_KEYRING_BACKEND", "keyring.backends.fail.Keyring")


@pytest.fixture(scope="session")
def printing_system() -> Iterator[VirtualPrinters]:
    """Run a printing system with virtual printers, once; tests that need it are marked `needs_cups`."""
    from delivery.virtual_printers import running

    with running() as printers:
        yield printers


@pytest.fixture
def printers(printing_system: VirtualPrinters, monkeypatch: pytest.MonkeyPatch) -> Iterator[VirtualPrinters]:
    """Let this test, its window and what it starts know the virtual printers and no others; they begin without jobs."""
    from delivery.virtual_printers import asked_by_qt

    monkeypatch.setenv("CUPS_SERVER", printing_system.server)
    printing_system.tidy()
    with asked_by_qt(printing_system.server):
        yield printing_system
