"""Messages on their way, one row a target; a row is entered with the step that made it."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from strandkeeper.model.message import Outgoing, OutgoingState
from strandkeeper.model.message_json import message_from_json, message_to_json

__all__ = ["OutboxCount", "count", "forget", "highest", "mark", "newest", "put", "waiting"]

COLUMNS: Final = "id, target, message, not_before_ms, next_ms, attempts, state, done_ms, error"


@dataclass(frozen=True, slots=True, kw_only=True)
class OutboxCount:
    """How many messages of a target are in a state, and when the oldest of them was made."""

    target: str
    state: OutgoingState
    messages: int


def put(connection: sqlite3.Connection, outgoing: Outgoing) -> None:
    """Enter a message for a target inside the caller's transaction; the same key is entered once.

    Its fate is entered along: a message that went out while nothing could be written comes here
    as delivered.
    """
    connection.execute(
        "INSERT INTO outbox (id, target, key, message, not_before_ms, next_ms, attempts, state, "
        "done_ms, error) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
        (
            outgoing.order,
            outgoing.target,
            outgoing.message.key,
            json.dumps(message_to_json(outgoing.message), ensure_ascii=False),
            *_fate(outgoing),
        ),
    )


def mark(connection: sqlite3.Connection, changed: Sequence[Outgoing]) -> None:
    """Enter what became of messages that are in the table."""
    connection.executemany(
        "UPDATE outbox SET not_before_ms = ?, next_ms = ?, attempts = ?, state = ?, done_ms = ?, "
        "error = ? WHERE id = ? AND target = ?",
        [(*_fate(item), item.order, item.target) for item in changed],
    )


def _fate(outgoing: Outgoing) -> tuple[int, int, int, str, int | None, str]:
    return (
        outgoing.not_before_ms,
        outgoing.next_ms,
        outgoing.attempts,
        outgoing.state.value,
        outgoing.done_ms,
        outgoing.error,
    )


def waiting(connection: sqlite3.Connection) -> list[Outgoing]:
    """Everything that still has to go out, in the order in which it was made."""
    rows = connection.execute(f"SELECT {COLUMNS} FROM outbox WHERE state = 'waiting' ORDER BY id")
    return [_decode(row) for row in rows.fetchall()]


def newest(connection: sqlite3.Connection, limit: int) -> list[Outgoing]:
    """The newest messages, also those that went out, newest first."""
    rows = connection.execute(f"SELECT {COLUMNS} FROM outbox ORDER BY id DESC LIMIT ?", (limit,))
    return [_decode(row) for row in rows.fetchall()]


def count(connection: sqlite3.Connection) -> list[OutboxCount]:
    """How many messages there are, by target and state."""
    rows = connection.execute(
        "SELECT target, state, count(*) FROM outbox GROUP BY target, state ORDER BY target, state"
    )
    return [
        OutboxCount(target=target, state=OutgoingState(state), messages=messages)
        for target, state, messages in rows.fetchall()
    ]


def forget(connection: sqlite3.Connection, before_ms: int) -> int:
    """Delete messages whose fate was sealed before that; how many. The alerts stay."""
    done = connection.execute("DELETE FROM outbox WHERE done_ms < ?", (before_ms,))
    return done.rowcount


def highest(connection: sqlite3.Connection) -> int:
    """The highest order given so far, 0 in an empty table."""
    return int(connection.execute("SELECT coalesce(max(id), 0) FROM outbox").fetchone()[0])


def _decode(row: tuple[Any, ...]) -> Outgoing:
    number, target, message, not_before_ms, next_ms, attempts, state, done_ms, error = row
    return Outgoing(
        order=number,
        target=target,
        message=message_from_json(json.loads(message)),
        not_before_ms=not_before_ms,
        next_ms=next_ms,
        attempts=attempts,
        state=OutgoingState(state),
        done_ms=done_ms,
        error=error,
    )
