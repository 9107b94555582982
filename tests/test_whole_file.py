"""A file is written whole or not at all."""

from __future__ import annotations

import os
import stat
import sys
from pathlib import Path

import pytest

from workshop_log.whole_file import WriteError, write_whole


def test_file_is_replaced_and_keeps_its_rights(tmp_path: Path) -> None:
    """Nothing else is left in the folder."""
    path = tmp_path / f"{'long ' * 45}.pdf"
    write_whole(path, b"one")
    path.chmod(0o640)
    write_whole(path, b"two")
    assert path.read_bytes() == b"two"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640 or sys.platform == "win32"
    assert list(tmp_path.iterdir()) == [path]


def test_what_cannot_be_written_is_said_and_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No folder; a folder in its place; no room at the last moment."""
    with pytest.raises(WriteError, match="cannot be written: .* Choose another place"):
        write_whole(tmp_path / "nowhere" / "a.pdf", b"x")
    (tmp_path / "folder").mkdir()
    with pytest.raises(WriteError):
        write_whole(tmp_path / "folder", b"x")
    kept = tmp_path / "kept.pdf"
    kept.write_bytes(b"before")

    def no_room(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", no_room)
    with pytest.raises(WriteError, match="No space left on device"):
        write_whole(kept, b"after")
    assert kept.read_bytes() == b"before"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder", "kept.pdf"]
