"""What people did: appended by whoever serves them, applied or refused by the daemon alone."""

from __future__ import annotations

import json
import sqlite3
from typing import Final

from strandkeeper.errors import InputError
from strandkeeper.model.entry import Entry, EntryKind, StoredEntry
from strandkeeper.model.plain_text import one_line

__all__ = ["add_entry", "apply_entry", "entries", "refuse_entry", "waiting_entries"]

SELECT: Final = "SELECT id, kind, payload, who, at_ms, applied_ms, refusal FROM entry"


def add_entry(connection: sqlite3.Connection, entry: Entry, at_ms: int) -> int:
    """Append one act; returns its number. Raises InputError for a payload that JSON cannot say."""
    try:
        payload = json.dumps(entry.payload, ensure_ascii=False, allow_nan=False)
        payload.encode()  # half a character is no text of JSON
    except (TypeError, ValueError) as error:
        raise InputError(
            f"an entry of kind {entry.kind.value} holds what JSON cannot say: {error}",
            hint="Its fields must be texts, numbers, true, false, null, lists or objects of those.",
        ) from error
    done = connection.execute(
        "INSERT INTO entry (kind, payload, who, at_ms) VALUES (?, ?, ?, ?)",
        (entry.kind.value, payload, one_line(entry.who), at_ms),
    )
    return int(done.lastrowid or 0)


def _decode(row: tuple[int, str, str, str, int, int | None, str]) -> StoredEntry | None:
    """The entry; None for a kind of another release, or for what nobody's entry is."""
    number, kind, payload, who, at_ms, applied_ms, refusal = row
    try:
        known, fields = EntryKind(kind), json.loads(payload)
    except (ValueError, RecursionError):
        return None
    if not isinstance(fields, dict):
        return None
    return StoredEntry(
        id=number,
        entry=Entry(kind=known, who=who, payload=fields),
        at_ms=at_ms,
        applied_ms=applied_ms,
        refusal=refusal,
    )


def waiting_entries(connection: sqlite3.Connection) -> list[StoredEntry]:
    """Entries neither applied nor refused, oldest first; what is no entry is refused, alone."""
    rows = connection.execute(
        f"{SELECT} WHERE applied_ms IS NULL AND refusal = '' ORDER BY id"
    ).fetchall()
    found = []
    for row in rows:
        entry = _decode(row)
        if entry is None:
            refuse_entry(connection, row[0], "it cannot be read as an entry: enter it again")
        else:
            found.append(entry)
    return found


def entries(
    connection: sqlite3.Connection, *, kind: EntryKind | None = None, limit: int = 200
) -> list[StoredEntry]:
    """The newest entries, newest first, without what is no entry."""
    where, values = ("", ()) if kind is None else (" WHERE kind = ?", (kind.value,))
    rows = connection.execute(f"{SELECT}{where} ORDER BY id DESC LIMIT ?", (*values, limit))
    return [entry for row in rows.fetchall() if (entry := _decode(row)) is not None]


def apply_entry(connection: sqlite3.Connection, number: int, at_ms: int) -> None:
    """Say that the daemon has done it."""
    connection.execute(
        "UPDATE entry SET applied_ms = ? WHERE id = ? AND applied_ms IS NULL AND refusal = ''",
        (at_ms, number),
    )


def refuse_entry(connection: sqlite3.Connection, number: int, why: str) -> None:
    """Say why the daemon will not do it; `why` is a sentence for the person."""
    connection.execute(
        "UPDATE entry SET refusal = ? WHERE id = ? AND applied_ms IS NULL AND refusal = ''",
        (why or "refused", number),
    )
