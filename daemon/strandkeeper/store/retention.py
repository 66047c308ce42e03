"""What may go: raw and five-minute rows past their time, and only what was summed up before."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Final

from strandkeeper.model.settings import Retention
from strandkeeper.store.keys import row_id
from strandkeeper.store.rollups import FIVE_MINUTES_MS, HOUR_MS

__all__ = ["Cuts", "delete_some", "retention_cuts"]

DAY_MS: Final = 86_400_000
ROWS_A_TIME: Final = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Cuts:
    """Rows older than these times may go; None: nothing may."""

    raw_ms: int | None
    five_minutes_ms: int | None


def _cut(now_ms: int, days: int, summed_up_to_ms: int | None, span_ms: int) -> int | None:
    """Whole periods of the summary go, so that what stays and its summaries never overlap."""
    if summed_up_to_ms is None:
        return None
    return min(now_ms - days * DAY_MS, summed_up_to_ms) // span_ms * span_ms


def retention_cuts(
    now_ms: int,
    retention: Retention,
    *,
    trusted: bool,
    five_minutes_until_ms: int | None,
    hours_until_ms: int | None,
) -> Cuts:
    """What may be deleted at record time now. Nothing while the time of day is not trusted."""
    if not trusted:
        return Cuts(raw_ms=None, five_minutes_ms=None)
    return Cuts(
        raw_ms=_cut(now_ms, retention.raw_days, five_minutes_until_ms, FIVE_MINUTES_MS),
        five_minutes_ms=_cut(now_ms, retention.five_minutes_days, hours_until_ms, HOUR_MS),
    )


def delete_some(connection: sqlite3.Connection, cuts: Cuts) -> int:
    """Delete up to ROWS_A_TIME rows of each tier, oldest first; returns how many went."""
    gone = 0
    for table, cut_ms in (("reading", cuts.raw_ms), ("five_minutes", cuts.five_minutes_ms)):
        if cut_ms is None:
            continue
        done = connection.execute(
            f"DELETE FROM {table} WHERE id IN "
            f"(SELECT id FROM {table} WHERE id < ? ORDER BY id LIMIT {ROWS_A_TIME})",
            (row_id(cut_ms),),
        )
        gone += done.rowcount
    return gone
