"""The outbox as messages need it, and what colleagues send back. No release ever wrote into the earlier outbox.

Revision ID: 0003
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.drop_table("outbox")
    op.create_table(
        "outbox",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer()),
        sa.Column("message_id", sa.String(), nullable=False),
        sa.Column("sender", sa.String(), nullable=False),
        sa.Column("recipients", sa.Text(), nullable=False),
        sa.Column("copies", sa.Text(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("attached", sa.Text(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("written_at", sa.String(), nullable=False),
        sa.Column("tried_at", sa.String()),
        sa.Column("next_at", sa.String()),
        sa.Column("sent_at", sa.String()),
        sa.Column("taken_by", sa.String(), nullable=False),
        sa.Column("answer", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_outbox_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_outbox"),
        sa.UniqueConstraint("message_id", name="uq_outbox_message_id"),
    )
    op.create_index("ix_outbox_job_key", "outbox", ["job_key"])
    op.create_index("ix_outbox_state", "outbox", ["state"])
    op.create_table(
        "opinions",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("received_at", sa.String(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_opinions_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_opinions"),
        sa.UniqueConstraint("job_key", "sha256", name="uq_opinions_job_key_sha256"),
    )
    op.create_index("ix_opinions_job_key", "opinions", ["job_key"])
    op.add_column("jobs", sa.Column("opinion_on", sa.String(), nullable=False, server_default=""))
