"""Words of JSON Schema for the description of the JSON. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

__all__ = [
    "BOOLEAN",
    "COUNT",
    "INTEGER",
    "NUMBER",
    "TEXT",
    "TIME",
    "array",
    "maybe",
    "one_of",
    "record",
    "ref",
]

Json = dict[str, Any]

BOOLEAN: Final[Json] = {"type": "boolean"}
COUNT: Final[Json] = {"type": "integer", "minimum": 0}
INTEGER: Final[Json] = {"type": "integer"}
NUMBER: Final[Json] = {"type": "number"}
TEXT: Final[Json] = {"type": "string"}
TIME: Final[Json] = {"type": "string", "format": "date-time", "pattern": "Z$"}


def array(items: Json) -> Json:
    """Any number of `items`."""
    return {"type": "array", "items": items}


def maybe(schema: Json) -> Json:
    """The same, or null where it is not known."""
    return {"anyOf": [schema, {"type": "null"}]}


def one_of(*values: object) -> Json:
    """One of these values."""
    return {"enum": list(values)}


def record(more: Mapping[str, Json] | None = None, **fields: Json) -> Json:
    """An object with exactly these fields; `more` for names that are no identifiers."""
    properties = {**(more or {}), **fields}
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def ref(name: str) -> Json:
    """The schema of that name."""
    return {"$ref": f"#/components/schemas/{name}"}
