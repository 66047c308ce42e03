"""Jumps of the clock in the file, and dating the rows that were held under an untrusted one."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from strandkeeper.model.stats import DAY_S, HOUR_S
from strandkeeper.store.keys import END_SLOTS, row_id
from strandkeeper.store.record_time import Epoch, Mode
from strandkeeper.store.rollups import FIVE_MINUTES_MS, HOUR_KEY, HOUR_MS

__all__ = ["StoredEpoch", "all_epochs", "date_rows", "put_epoch"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredEpoch:
    """One epoch as recorded; `dated_ms` is set when its rows were moved to their true time."""

    epoch: Epoch
    dated_ms: int | None = None


def put_epoch(connection: sqlite3.Connection, epoch: Epoch) -> None:
    """Record a jump. Before a held epoch the states are set aside, to judge its rows again.

    An epoch that is there already is left alone: one whose commit was in doubt is written again.
    """
    cells = (epoch.start_ms, epoch.shift_ms, epoch.mode.value, epoch.reason)
    there = (
        "SELECT 1 FROM time_epoch WHERE start_ms = ? AND shift_ms = ? AND mode = ? AND reason = ?"
    )
    if connection.execute(there, cells).fetchone() is not None:
        return
    if epoch.mode is Mode.HELD:
        connection.execute("DELETE FROM state_before_epoch")
        connection.execute("INSERT INTO state_before_epoch SELECT * FROM state")
    connection.execute(
        "INSERT INTO time_epoch (start_ms, shift_ms, mode, reason) VALUES (?, ?, ?, ?)",
        cells,
    )


def all_epochs(connection: sqlite3.Connection) -> list[StoredEpoch]:
    """Every epoch, oldest first."""
    rows = connection.execute(
        "SELECT start_ms, shift_ms, mode, reason, dated_ms FROM time_epoch ORDER BY id"
    ).fetchall()
    return [
        StoredEpoch(
            epoch=Epoch(start_ms=start, shift_ms=shift, mode=Mode(mode), reason=reason),
            dated_ms=dated,
        )
        for start, shift, mode, reason, dated in rows
    ]


def date_rows(connection: sqlite3.Connection, from_ms: int, until_ms: int, by_ms: int) -> None:
    """Move rows and events of [from_ms, until_ms] ahead by `by_ms`; undo what was made of them.

    Summaries are to be made again by the caller; statistics come back when the rows are judged
    again from the states of before, which are put back here.
    """
    _move_rows(connection, (row_id(from_ms), row_id(until_ms + 1)), by_ms)
    connection.execute(
        "UPDATE event SET time_ms = time_ms + ? WHERE time_ms >= ? AND time_ms <= ?",
        (by_ms, from_ms, until_ms),
    )
    connection.execute(
        "DELETE FROM five_minutes WHERE id >= ?",
        (row_id(from_ms // FIVE_MINUTES_MS * FIVE_MINUTES_MS),),
    )
    connection.execute(f"DELETE FROM hours WHERE id % {HOUR_KEY} >= ?", (from_ms // HOUR_MS,))
    for table, span_s in (("hour_stats", HOUR_S), ("day_stats", DAY_S)):
        connection.execute(f"DELETE FROM {table} WHERE start_ms > ?", (from_ms - span_s * 1000,))
    connection.execute("DELETE FROM state")
    connection.execute("INSERT INTO state SELECT * FROM state_before_epoch")
    connection.execute("DELETE FROM state_before_epoch")
    connection.execute(
        "UPDATE time_epoch SET dated_ms = ? WHERE start_ms >= ? AND mode = ? AND dated_ms IS NULL",
        (from_ms + by_ms, from_ms, Mode.HELD.value),
    )


def _move_rows(connection: sqlite3.Connection, keys: tuple[int, int], by_ms: int) -> None:
    connection.execute("DROP TABLE IF EXISTS temp.moving")
    connection.execute(
        "CREATE TEMP TABLE moving AS SELECT * FROM main.reading WHERE id >= ? AND id < ?", keys
    )
    connection.execute(f"UPDATE moving SET id = id + {by_ms * END_SLOTS}")
    connection.execute("DELETE FROM reading WHERE id >= ? AND id < ?", keys)
    connection.execute("INSERT INTO reading SELECT * FROM moving")
    connection.execute("DROP TABLE moving")
