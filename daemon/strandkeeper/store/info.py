"""Format, sizes and times of a record file."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from pathlib import Path

from strandkeeper.store import meta
from strandkeeper.store.keys import END_SLOTS

__all__ = ["RecordInfo", "read_info"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordInfo:
    """`size_bytes` without, `wal_bytes` of, the write-ahead log beside the file."""

    path: Path
    format: int
    sqlite: str
    begun_ms: int | None
    begun_by: str
    size_bytes: int
    wal_bytes: int
    links: int
    oldest_raw_ms: int | None
    oldest_ms: int | None
    newest_ms: int | None


def _edge(connection: sqlite3.Connection, table: str, which: str) -> int | None:
    found = connection.execute(f"SELECT {which}(id) FROM {table}").fetchone()[0]
    return None if found is None else found // END_SLOTS


def read_info(connection: sqlite3.Connection, path: Path) -> RecordInfo:
    """What there is to say of the file."""
    log = path.with_name(f"{path.name}-wal")
    raw, summed = _edge(connection, "reading", "min"), _edge(connection, "five_minutes", "min")
    return RecordInfo(
        path=path,
        format=connection.execute("PRAGMA user_version").fetchone()[0],
        sqlite=sqlite3.sqlite_version,
        begun_ms=meta.get_number(connection, "begun_ms"),
        begun_by=meta.get_text(connection, "begun_by") or "",
        size_bytes=path.stat().st_size,
        wal_bytes=log.stat().st_size if log.exists() else 0,
        links=connection.execute("SELECT count(*) FROM link").fetchone()[0],
        oldest_raw_ms=raw,
        oldest_ms=min((edge for edge in (raw, summed) if edge is not None), default=None),
        newest_ms=_edge(connection, "reading", "max"),
    )
