"""Single values of the file: how far the summaries have got, when and by what it was begun."""

from __future__ import annotations

import sqlite3
from typing import Final

__all__ = ["FIVE_MINUTES_UNTIL", "HOURS_UNTIL", "get_number", "get_text", "put"]

FIVE_MINUTES_UNTIL: Final = "five_minutes_until_ms"
HOURS_UNTIL: Final = "hours_until_ms"


def get_text(connection: sqlite3.Connection, key: str) -> str | None:
    """The value of a key, None if it was never put."""
    found = connection.execute("SELECT value FROM meta WHERE key = ?", (key,)).fetchone()
    return None if found is None else str(found[0])


def get_number(connection: sqlite3.Connection, key: str) -> int | None:
    """The value of a key that holds a whole number."""
    text = get_text(connection, key)
    return None if text is None else int(text)


def put(connection: sqlite3.Connection, key: str, value: str | int) -> None:
    """Set a key, inside the caller's transaction."""
    connection.execute(
        "INSERT INTO meta (key, value) VALUES (?, ?) "
        "ON CONFLICT (key) DO UPDATE SET value = excluded.value",
        (key, str(value)),
    )
