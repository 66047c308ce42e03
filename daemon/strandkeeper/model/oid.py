"""Object identifiers and the values that come back for them, free of any SNMP library."""

from __future__ import annotations

from enum import Enum

from strandkeeper.model.plain_text import one_line

__all__ = ["Absent", "Oid", "Value", "as_int", "as_oid", "as_text", "dotted", "parse_oid"]

Oid = tuple[int, ...]


class Absent(Enum):
    """Why an object that was asked for has no value."""

    NO_SUCH_OBJECT = "no such object"
    NO_SUCH_INSTANCE = "no such instance"
    END_OF_VIEW = "end of the view"
    FAILED = "the switch failed on it"
    NOT_ANSWERED = "missing from the answer"


Value = int | bytes | Oid | Absent


def parse_oid(dotted_text: str) -> Oid:
    """The arcs of a dotted OID. Raises ValueError."""
    return tuple(int(arc) for arc in dotted_text.strip(".").split("."))


def dotted(oid: Oid) -> str:
    """The OID as text."""
    return ".".join(map(str, oid))


def as_int(value: Value | None) -> int | None:
    """The value if it is a number, else None."""
    return value if isinstance(value, int) else None


def as_text(value: Value | None) -> str:
    """The value as text in one line, without padding; empty if it is none."""
    return one_line(value.decode("utf-8", "replace")) if isinstance(value, bytes) else ""


def as_oid(value: Value | None) -> Oid | None:
    """The value if it is an object identifier, else None."""
    return value if isinstance(value, tuple) else None
