"""The JSON Schema of the job file, made from the records: `python -m workshop_log.exchange.schema` writes it.

The schema says what each value looks like. What makes a record false (a reading in the wrong unit, a name that is
not there, a part of a circuit with keys of another kind) is beyond it and is told when the file is read.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import msgspec

from workshop_log import resources
from workshop_log.exchange.checking import MONEY_DECIMALS, MONEY_DIGITS
from workshop_log.exchange.records import FORMAT, VERSION, Job

FILE = "job-file.schema.json"
_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_MONEY_PATTERN = rf"^[+-]?[0-9]{{1,{MONEY_DIGITS}}}(\.[0-9]{{1,{MONEY_DECIMALS}}})?$"


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a job file."""
    schema = msgspec.json.schema(Job)
    definitions = {name: _finished(definition) for name, definition in sorted(schema["$defs"].items())}
    job = definitions["Job"]
    job["properties"]["format"] = {"const": FORMAT}
    job["properties"]["version"] = {"const": VERSION}
    return {"$schema": _DIALECT, "title": "Job file", "$ref": "#/$defs/Job", "$defs": definitions}


def schema_text() -> str:
    """Return the schema as it stands in the resources."""
    return msgspec.json.format(msgspec.json.encode(job_schema()), indent=2).decode() + "\n"


def _finished(node: Any) -> Any:
    """Return the node with money as a text of digits, and without defaults that are whole records."""
    if isinstance(node, list):
        return [_finished(item) for item in node]
    if not isinstance(node, dict):
        return node
    node = {key: _finished(value) for key, value in node.items()}
    if node.get("format") == "decimal":
        del node["format"]
        # Numbers are read as well, for who wrote them meant no harm; the program writes text.
        return node | {"type": ["string", "number"], "pattern": _MONEY_PATTERN}
    if isinstance(node.get("default"), dict | Decimal):
        del node["default"]
    return node


if __name__ == "__main__":
    resources.path(FILE).write_text(schema_text(), encoding="utf-8")
