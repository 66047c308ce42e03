"""How the record and the watch are cared for: signs of life, backups."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from typing import Final

from strandkeeper.model.entry import EntryKind
from strandkeeper.store import meta

__all__ = ["Beat", "Care", "put_beat", "read_care"]

_SENT: Final = "beat_sent_ms"
_REFUSED: Final = "beat_refused_ms"
_WHY: Final = "beat_why"


@dataclass(frozen=True, slots=True, kw_only=True)
class Beat:
    """One sign of life that was tried: `why` it did not arrive, empty if it did."""

    at_ms: int
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Care:
    """The last sign of life that arrived, the last that did not, the last backup; None: never.

    `backup_file` is the name of that copy without its directory, `backup_bytes` its size.
    """

    beat: Beat | None = None
    refused: Beat | None = None
    backup_ms: int | None = None
    backup_file: str = ""
    backup_bytes: int | None = None


def put_beat(connection: sqlite3.Connection, beat: Beat) -> None:
    """Keep what became of a sign of life, inside the caller's transaction."""
    meta.put(connection, _REFUSED if beat.why else _SENT, beat.at_ms)
    if beat.why:
        meta.put(connection, _WHY, beat.why)


def read_care(connection: sqlite3.Connection) -> Care:
    """What is known of it; for `reader.ask`."""
    sent, refused = (meta.get_number(connection, key) for key in (_SENT, _REFUSED))
    backup = connection.execute(
        "SELECT at_ms, payload FROM entry WHERE kind = ? ORDER BY id DESC LIMIT 1",
        (EntryKind.BACKUP.value,),
    ).fetchone()
    told = {} if backup is None else json.loads(backup[1])
    size = told.get("bytes")
    return Care(
        beat=None if sent is None else Beat(at_ms=sent),
        refused=None
        if refused is None
        else Beat(at_ms=refused, why=meta.get_text(connection, _WHY) or ""),
        backup_ms=None if backup is None else backup[0],
        backup_file=str(told.get("file", "")),
        backup_bytes=size if isinstance(size, int) else None,
    )
