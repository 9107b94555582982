"""Two bays share one book: what one of them changes is seen in the other as it happens."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from book.conftest import Server, server  # noqa: F401
from pytestqt.qtbot import QtBot

from workshop_log.desktop.desk import Desk

pytestmark = pytest.mark.postgres


@pytest.fixture
def bays(server: Server) -> Iterator[tuple[Desk, Desk]]:  # noqa: F811
    """Give two desks on one shared book."""
    url = server.create()
    one, other = Desk(url), Desk(url)
    assert one.book.is_shared
    assert other.book.is_shared
    yield one, other
    one.close()
    other.close()


def test_what_one_bay_edits_is_shown_in_the_other(bays: tuple[Desk, Desk], qtbot: QtBot) -> None:
    """A field that one bay leaves appears in the other without anybody pressing anything."""
    one, other = bays
    assert one.take_in()
    assert other.open(one.job.number)
    assert one.edit("vehicle.registration", "ZZ00 BAY") == ""
    qtbot.waitUntil(lambda: other.job.vehicle.registration == "ZZ00 BAY", timeout=5000)


def test_an_edit_elsewhere_ends_what_could_be_undone_here(bays: tuple[Desk, Desk], qtbot: QtBot) -> None:
    """Undo must not put an old value over what another bay wrote meanwhile."""
    one, other = bays
    assert one.take_in()
    assert other.open(one.job.number)
    assert other.edit("vehicle.make", "Tamber") == ""
    qtbot.waitUntil(lambda: one.job.vehicle.make == "Tamber", timeout=5000)
    assert other.undo_stack.canUndo()
    assert one.edit("vehicle.make", "Pelldon") == ""
    qtbot.waitUntil(lambda: other.job.vehicle.make == "Pelldon", timeout=5000)
    assert not other.undo_stack.canUndo()


def test_a_lost_connection_is_told_and_taken_up_again(
        bays: tuple[Desk, Desk], server: Server, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:  # noqa: F811
    """A server that drops the connection is listened to again by itself."""
    from sqlalchemy import text

    monkeypatch.setattr("workshop_log.desktop.desk.LISTEN_AGAIN_MS", 50)
    one, other = bays
    assert one.take_in()
    assert other.open(one.job.number)
    told: list[str] = []
    other.problem.connect(told.append)
    with one.book.session() as session:
        session.execute(text(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
            "WHERE datname = current_database() AND pid <> pg_backend_pid() AND query LIKE 'LISTEN%'"))
    qtbot.waitUntil(lambda: bool(told), timeout=5000)
    qtbot.waitUntil(lambda: other._listener is not None, timeout=5000)
    assert one.edit("vehicle.model", "Causey") == ""
    qtbot.waitUntil(lambda: other.job.vehicle.model == "Causey", timeout=5000)


def test_two_bays_in_one_field_do_not_overwrite_each_other_silently(
        bays: tuple[Desk, Desk], qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who comes second is told what the first one wrote, and may then put the own text in its place."""
    one, other = bays
    assert one.take_in()
    assert other.open(one.job.number)
    # The notice from the first bay has not been heard yet when the second one leaves the field.
    monkeypatch.setattr(other, "on_heard", lambda: None)
    other._stop_listening()
    assert one.edit("vehicle.make", "Tamber") == ""
    assert "Tamber" in other.edit("vehicle.make", "Pelldon")
    assert other.job.vehicle.make == "Tamber"
    assert other.edit("vehicle.make", "Pelldon") == ""
    assert other.job.vehicle.make == "Pelldon"
