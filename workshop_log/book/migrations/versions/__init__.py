"""The tables' history, one step for each version, the same for SQLite and PostgreSQL."""
