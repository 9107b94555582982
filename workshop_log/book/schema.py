"""Which version of the tables a book has, and bringing it up to date.

The version is read by plain SQL; Alembic, slow to load, only when there is something for it to do.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, inspect, text

from workshop_log.book.schema_version import CURRENT

if TYPE_CHECKING:
    from alembic.config import Config

__all__ = ["CURRENT", "count_on", "include_object", "is_known", "is_the_databases", "migrate", "version_of"]

_MIGRATIONS = Path(__file__).parent / "migrations"


def version_of(connection: Connection) -> str | None:
    """Return the version of the tables of an open book; "" for an empty database, None for somebody else's."""
    names = set(inspect(connection).get_table_names())
    if "alembic_version" not in names:
        return None if names else ""
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalars().all()
    if not found and names == {"alembic_version"}:
        return ""
    return found[0] if len(found) == 1 and "jobs" in names else None


def is_known(version: str) -> bool:
    """Return whether this release has the way from this version to its own."""
    from alembic.script import ScriptDirectory

    return any(script.revision == version for script in ScriptDirectory.from_config(_config()).walk_revisions())


def migrate(connection: Connection, target: str = "head") -> None:
    """Bring the tables of an open book to a version, the newest without one; the caller commits."""
    from alembic import command

    config = _config()
    config.attributes["connection"] = connection
    command.upgrade(config, target)


def count_on(connection: Connection) -> None:
    """Have a server count the keys of new rows on from those that were copied into it with theirs."""
    from workshop_log.book.entities import Base

    for table in Base.metadata.sorted_tables:
        if "key" in table.columns:
            connection.execute(text(f"SELECT setval(pg_get_serial_sequence('{table.name}', 'key'), "
                                    f"(SELECT coalesce(max(key), 0) + 1 FROM {table.name}), false)"))


def is_the_databases(name: str | None) -> bool:
    """Return whether a table, column or index belongs to full-text search, which the models do not describe."""
    return name is not None and name.startswith("search_index")


def _config() -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def include_object(_thing: Any, name: str | None, _kind: str, _reflected: bool, _other: Any) -> bool:
    """Return whether Alembic shall compare a thing with the models."""
    return not is_the_databases(name)
