"""The analysis' memory of each link, as bytes that only analysis reads."""

from __future__ import annotations

import sqlite3

__all__ = ["get_state", "put_state", "state_through"]


def put_state(
    connection: sqlite3.Connection, link_id: int, state: bytes, through_ms: int | None
) -> None:
    """Replace the state; `through_ms` None: no rows came with it, it stands where it stood."""
    if through_ms is None:
        through_ms = state_through(connection, link_id) or 0
    connection.execute(
        "INSERT OR REPLACE INTO state (link_id, through_ms, state) VALUES (?, ?, ?)",
        (link_id, through_ms, state),
    )


def get_state(connection: sqlite3.Connection, link_id: int) -> bytes | None:
    """The state, None if there is none."""
    row = connection.execute("SELECT state FROM state WHERE link_id = ?", (link_id,)).fetchone()
    return None if row is None else bytes(row[0])


def state_through(connection: sqlite3.Connection, link_id: int) -> int | None:
    """The record time of the last row that the state has seen, None without a state."""
    row = connection.execute(
        "SELECT through_ms FROM state WHERE link_id = ?", (link_id,)
    ).fetchone()
    return None if row is None else int(row[0])
