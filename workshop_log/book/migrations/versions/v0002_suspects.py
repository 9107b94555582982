"""Suspects written by hand, what was said about getting at things, and decisions found without reading all entries.

Revision ID: 0002
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.create_table(
        "hand_suspects",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("weight", sa.Double(), nullable=False),
        sa.Column("bearings", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_hand_suspects_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_hand_suspects"),
        sa.UniqueConstraint("job_key", "id", name="uq_hand_suspects_job_key_id"),
    )
    op.create_index("ix_hand_suspects_job_key_place", "hand_suspects", ["job_key", "place"])
    op.create_table(
        "access",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("circuit", sa.String(), nullable=False),
        sa.Column("point", sa.String()),
        sa.Column("element", sa.String()),
        sa.Column("test", sa.String()),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_access_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_access"),
        sa.UniqueConstraint("job_key", "id", name="uq_access_job_key_id"),
    )
    op.create_index("ix_access_job_key_place", "access", ["job_key", "place"])
    condemned = sa.text("kind = 'condemned'")
    op.create_index("ix_entries_condemned", "entries", ["key"], sqlite_where=condemned, postgresql_where=condemned)
