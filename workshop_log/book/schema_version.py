"""Which version of the tables this release has."""

from __future__ import annotations

# The newest migration's name, as in a book's table `alembic_version`.
CURRENT = "0003"
