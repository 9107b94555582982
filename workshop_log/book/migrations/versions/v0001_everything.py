"""Everything from the first day: jobs and their lists, evidence, search, settings, files.

Revision ID: 0001
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_SEARCHED = ("head", "complaints", "fault_codes", "parts", "notes", "evidence")


def upgrade() -> None:
    _create_tables()
    if op.get_bind().dialect.name == "sqlite":
        _search_on_sqlite()
        _keep_evidence_on_sqlite()
    else:
        _search_on_postgresql()
        _keep_evidence_on_postgresql()


def _search_on_sqlite() -> None:
    """Index the searched texts by FTS5; SQLite without it searches more slowly."""
    if not op.get_bind().exec_driver_sql("SELECT 1 FROM pragma_module_list WHERE name = 'fts5'").first():
        return
    columns = ", ".join(_SEARCHED)
    new, old = (", ".join(f"{which}.{name}" for name in _SEARCHED) for which in ("new", "old"))
    op.execute(f"CREATE VIRTUAL TABLE search_index USING fts5({columns}, content='search_texts', "
               "content_rowid='job_key', tokenize='unicode61', prefix='2 3')")
    insert = f"INSERT INTO search_index(rowid, {columns}) VALUES (new.job_key, {new});"
    delete = f"INSERT INTO search_index(search_index, rowid, {columns}) VALUES ('delete', old.job_key, {old});"
    op.execute(f"CREATE TRIGGER search_index_insert AFTER INSERT ON search_texts BEGIN {insert} END")
    op.execute(f"CREATE TRIGGER search_index_delete AFTER DELETE ON search_texts BEGIN {delete} END")
    op.execute(f"CREATE TRIGGER search_index_update AFTER UPDATE ON search_texts BEGIN {delete} {insert} END")


def _search_on_postgresql() -> None:
    """Index the searched texts by PostgreSQL's own text search; they are folded to plain words already."""
    texts = " || ' ' || ".join(_SEARCHED)
    op.execute("ALTER TABLE search_texts ADD COLUMN search_index_words tsvector "
               f"GENERATED ALWAYS AS (to_tsvector('simple', {texts})) STORED")
    op.execute("CREATE INDEX search_index_words ON search_texts USING gin (search_index_words)")


def _keep_evidence_on_sqlite() -> None:
    for change in ("UPDATE", "DELETE"):
        op.execute(f"CREATE TRIGGER entries_refuse_{change.lower()} BEFORE {change} ON entries BEGIN "
                   "SELECT RAISE(ABORT, 'Evidence is never changed or deleted: enter a correction.'); END")


def _keep_evidence_on_postgresql() -> None:
    op.execute("CREATE FUNCTION entries_refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
               "RAISE EXCEPTION 'Evidence is never changed or deleted: enter a correction.'; END $$")
    op.execute("CREATE TRIGGER entries_refuse BEFORE UPDATE OR DELETE OR TRUNCATE ON entries "
               "FOR EACH STATEMENT EXECUTE FUNCTION entries_refuse()")


def _create_tables() -> None:
    op.create_table(
        "access_notes",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("make", sa.String(), nullable=False),
        sa.Column("model", sa.String(), nullable=False),
        sa.Column("year", sa.Integer()),
        sa.Column("gets_at", sa.String(), nullable=False),
        sa.Column("comes_off", sa.Text(), nullable=False),
        sa.Column("clips", sa.Integer()),
        sa.Column("minutes", sa.Double()),
        sa.Column("noted_at", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_access_notes"),
    )
    op.create_index("ix_access_notes_make_model", "access_notes", ["make", "model"])
    op.create_table(
        "counters",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("last", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_counters"),
    )
    op.create_table(
        "customers",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("recognised_by", sa.String(), nullable=False),
        sa.Column("found_by", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("phone", sa.String(), nullable=False),
        sa.Column("email", sa.String(), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.Column("last_job", sa.Integer()),
        sa.PrimaryKeyConstraint("key", name="pk_customers"),
        sa.UniqueConstraint("recognised_by", name="uq_customers_recognised_by"),
    )
    op.create_table(
        "drafts",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("kept_at", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_drafts"),
    )
    op.create_table(
        "files",
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_files"),
    )
    op.create_table(
        "settings",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_settings"),
    )
    op.create_table(
        "vehicles",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("recognised_by", sa.String(), nullable=False),
        sa.Column("found_by", sa.String(), nullable=False),
        sa.Column("registration", sa.String(), nullable=False),
        sa.Column("vin", sa.String(), nullable=False),
        sa.Column("make", sa.String(), nullable=False),
        sa.Column("model", sa.String(), nullable=False),
        sa.Column("year", sa.Integer()),
        sa.Column("odometer", sa.String(), nullable=False),
        sa.Column("nominal_supply", sa.String(), nullable=False),
        sa.Column("systems", sa.Text(), nullable=False),
        sa.Column("last_job", sa.Integer()),
        sa.PrimaryKeyConstraint("key", name="pk_vehicles"),
        sa.UniqueConstraint("recognised_by", name="uq_vehicles_recognised_by"),
    )
    op.create_table(
        "access_fasteners",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("note_key", sa.Integer(), nullable=False),
        sa.Column("drive", sa.String(), nullable=False),
        sa.Column("size", sa.String(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["note_key"], ["access_notes.key"], name="fk_access_fasteners_note_key",
                                ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("key", name="pk_access_fasteners"),
    )
    op.create_index("ix_access_fasteners_note_key", "access_fasteners", ["note_key"])
    op.create_table(
        "jobs",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("opened", sa.String()),
        sa.Column("anonymous", sa.Boolean(), nullable=False),
        sa.Column("handed_back", sa.String()),
        sa.Column("settled", sa.String()),
        sa.Column("not_tested", sa.Text(), nullable=False),
        sa.Column("workshop_name", sa.String(), nullable=False),
        sa.Column("workshop_address", sa.String(), nullable=False),
        sa.Column("workshop_phone", sa.String(), nullable=False),
        sa.Column("workshop_email", sa.String(), nullable=False),
        sa.Column("workshop_tax_number", sa.String(), nullable=False),
        sa.Column("workshop_currency", sa.String(), nullable=False),
        sa.Column("workshop_labour_rate", sa.String()),
        sa.Column("workshop_tax_rate", sa.String(), nullable=False),
        sa.Column("workshop_tax_rule", sa.String(), nullable=False),
        sa.Column("customer_key", sa.Integer()),
        sa.Column("customer_name", sa.String(), nullable=False),
        sa.Column("customer_phone", sa.String(), nullable=False),
        sa.Column("customer_email", sa.String(), nullable=False),
        sa.Column("customer_address", sa.String(), nullable=False),
        sa.Column("vehicle_key", sa.Integer()),
        sa.Column("vehicle_registration", sa.String(), nullable=False),
        sa.Column("vehicle_vin", sa.String(), nullable=False),
        sa.Column("vehicle_make", sa.String(), nullable=False),
        sa.Column("vehicle_model", sa.String(), nullable=False),
        sa.Column("vehicle_year", sa.Integer()),
        sa.Column("vehicle_odometer", sa.String(), nullable=False),
        sa.Column("vehicle_nominal_supply", sa.String(), nullable=False),
        sa.Column("vehicle_systems", sa.Text(), nullable=False),
        sa.Column("waits_key", sa.String(), nullable=False),
        sa.Column("waits_for", sa.String(), nullable=False),
        sa.Column("waits_since", sa.String()),
        sa.Column("list_group", sa.Integer(), nullable=False),
        sa.Column("list_order", sa.BigInteger(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["customer_key"], ["customers.key"], name="fk_jobs_customer_key"),
        sa.ForeignKeyConstraint(["vehicle_key"], ["vehicles.key"], name="fk_jobs_vehicle_key"),
        sa.PrimaryKeyConstraint("key", name="pk_jobs"),
        sa.UniqueConstraint("number", name="uq_jobs_number"),
    )
    op.create_index("ix_jobs_customer_key", "jobs", ["customer_key"])
    op.create_index("ix_jobs_list", "jobs", ["list_group", "list_order", "key"])
    op.create_index("ix_jobs_vehicle_key", "jobs", ["vehicle_key"])
    op.create_table(
        "charges",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("amount", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_charges_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_charges"),
        sa.UniqueConstraint("job_key", "id", name="uq_charges_job_key_id"),
    )
    op.create_index("ix_charges_job_key_place", "charges", ["job_key", "place"])
    op.create_table(
        "complaints",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("appears", sa.String()),
        sa.Column("conditions", sa.String(), nullable=False),
        sa.Column("confirmed", sa.Boolean()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_complaints_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_complaints"),
        sa.UniqueConstraint("job_key", "id", name="uq_complaints_job_key_id"),
    )
    op.create_index("ix_complaints_job_key_place", "complaints", ["job_key", "place"])
    op.create_table(
        "entries",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("item_id", sa.String(), nullable=False),
        sa.Column("place", sa.Integer()),
        sa.Column("body", sa.Text()),
        sa.Column("what", sa.String()),
        sa.Column("value", sa.Double()),
        sa.Column("unit", sa.String()),
        sa.Column("entered_at", sa.String(), nullable=False),
        sa.Column("replaces", sa.String()),
        sa.Column("previous", sa.String()),
        sa.Column("fingerprint", sa.String()),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_entries_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_entries"),
        sa.UniqueConstraint("job_key", "position", name="uq_entries_job_key_position"),
        sa.UniqueConstraint("job_key", "previous", name="uq_entries_job_key_previous"),
    )
    op.create_table(
        "estimate_options",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("tells", sa.String(), nullable=False),
        sa.Column("labour_minutes", sa.Double(), nullable=False),
        sa.Column("parts", sa.String(), nullable=False),
        sa.Column("other", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_estimate_options_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_estimate_options"),
        sa.UniqueConstraint("job_key", "id", name="uq_estimate_options_job_key_id"),
    )
    op.create_index("ix_estimate_options_job_key_place", "estimate_options", ["job_key", "place"])
    op.create_table(
        "fault_codes",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_fault_codes_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_fault_codes"),
    )
    op.create_index("ix_fault_codes_code", "fault_codes", ["code"])
    op.create_index("ix_fault_codes_job_key_place", "fault_codes", ["job_key", "place"])
    op.create_table(
        "notes",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("internal", sa.Boolean(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_notes_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_notes"),
        sa.UniqueConstraint("job_key", "id", name="uq_notes_job_key_id"),
    )
    op.create_index("ix_notes_job_key_place", "notes", ["job_key", "place"])
    op.create_table(
        "outbox",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer()),
        sa.Column("recipient", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("attached", sa.String()),
        sa.Column("attached_name", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("written_at", sa.String(), nullable=False),
        sa.Column("tried_at", sa.String()),
        sa.Column("problem", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_outbox_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_outbox"),
    )
    op.create_index("ix_outbox_job_key", "outbox", ["job_key"])
    op.create_index("ix_outbox_state", "outbox", ["state"])
    op.create_table(
        "parts",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("supplier", sa.String(), nullable=False),
        sa.Column("quantity", sa.String(), nullable=False),
        sa.Column("price", sa.String()),
        sa.Column("cost", sa.String()),
        sa.Column("returnable", sa.Boolean()),
        sa.Column("ordered", sa.String()),
        sa.Column("arrived", sa.String()),
        sa.Column("fitted", sa.String()),
        sa.Column("returned", sa.String()),
        sa.Column("condemned", sa.String()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_parts_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_parts"),
        sa.UniqueConstraint("job_key", "id", name="uq_parts_job_key_id"),
    )
    op.create_index("ix_parts_job_key_place", "parts", ["job_key", "place"])
    op.create_table(
        "photos",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("caption", sa.String(), nullable=False),
        sa.Column("taken", sa.String()),
        sa.Column("media_type", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("step", sa.String()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_photos_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_photos"),
        sa.UniqueConstraint("job_key", "id", name="uq_photos_job_key_id"),
    )
    op.create_index("ix_photos_job_key_place", "photos", ["job_key", "place"])
    op.create_table(
        "reports",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.Column("reader", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_reports_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_reports"),
        sa.UniqueConstraint("job_key", "id", name="uq_reports_job_key_id"),
    )
    op.create_index("ix_reports_job_key_place", "reports", ["job_key", "place"])
    op.create_index("ix_reports_sha256", "reports", ["sha256"])
    op.create_table(
        "search_texts",
        sa.Column("job_key", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("head", sa.Text(), nullable=False),
        sa.Column("complaints", sa.Text(), nullable=False),
        sa.Column("fault_codes", sa.Text(), nullable=False),
        sa.Column("parts", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("evidence", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_search_texts_job_key"),
        sa.PrimaryKeyConstraint("job_key", name="pk_search_texts"),
    )
    op.create_table(
        "time_lines",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("job_key", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("person", sa.String(), nullable=False),
        sa.Column("start", sa.String(), nullable=False),
        sa.Column("end", sa.String()),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("billed_minutes", sa.Double()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["job_key"], ["jobs.key"], name="fk_time_lines_job_key"),
        sa.PrimaryKeyConstraint("key", name="pk_time_lines"),
        sa.UniqueConstraint("job_key", "id", name="uq_time_lines_job_key_id"),
    )
    op.create_index("ix_time_lines_job_key_place", "time_lines", ["job_key", "place"])
    op.create_index("ix_time_lines_person_end", "time_lines", ["person", "end"])
    op.create_table(
        "standings",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("entry_key", sa.Integer(), nullable=False),
        sa.Column("circuit", sa.String(), nullable=False),
        sa.Column("element", sa.String()),
        sa.Column("fault", sa.String()),
        sa.Column("appears", sa.String(), nullable=False),
        sa.Column("probability", sa.Double(), nullable=False),
        sa.Column("standing", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["entry_key"], ["entries.key"], name="fk_standings_entry_key"),
        sa.PrimaryKeyConstraint("key", name="pk_standings"),
    )
    op.create_index("ix_standings_entry_key", "standings", ["entry_key"])
