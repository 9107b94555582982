"""How Alembic works on a book: on the connection that the program has open already, in its transaction."""

from __future__ import annotations

from alembic import context

from workshop_log.book import entities, schema

connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=entities.Base.metadata,
    include_object=schema.include_object,
    # SQLite alters a table by making it anew.
    render_as_batch=connection.dialect.name == "sqlite",
)
with context.begin_transaction():
    context.run_migrations()
