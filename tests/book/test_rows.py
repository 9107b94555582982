"""Records to rows and back, by name."""

from __future__ import annotations

import pytest

from workshop_log.book import entities
from workshop_log.book.chain import LISTS
from workshop_log.book.rows import COLLECTIONS, HEAD_FIELDS, HEAD_PARTS
from workshop_log.exchange import records


@pytest.mark.parametrize("collection", COLLECTIONS.values(), ids=lambda collection: collection.name)
def test_every_field_of_a_listed_record_has_a_column(collection):
    """A field that a record gains needs a column, or the book would lose it."""
    columns = set(collection.entity.__table__.columns.keys())
    assert set(collection.record.__struct_fields__) - {"data"} <= columns
    assert columns - set(collection.record.__struct_fields__) == {"key", "job_key", "place", "version"}


def test_every_field_of_a_job_has_its_place():
    """Each field is a column of the job, one of its parts, a list with a table, or evidence."""
    placed = {*HEAD_FIELDS, *HEAD_PARTS, *COLLECTIONS, *LISTS.values(), "format", "version", "seal"}
    assert set(records.Job.__struct_fields__) == placed
    columns = entities.Job.__table__.columns.keys()
    assert all(f"{part}_{field}" in columns
               for part, struct in HEAD_PARTS.items() for field in struct.__struct_fields__)
