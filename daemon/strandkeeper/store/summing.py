"""When summaries are made: with the batch that closes a period, at no extra sync."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

from strandkeeper.store import meta
from strandkeeper.store.meta import FIVE_MINUTES_UNTIL, HOURS_UNTIL
from strandkeeper.store.rollups import (
    FIVE_MINUTES_MS,
    GAP_MS,
    HOUR_MS,
    roll_up_five_minutes,
    roll_up_hours,
)

__all__ = ["forget_from", "sum_range", "sum_up"]


def _floor(time_ms: int, span_ms: int) -> int:
    return time_ms // span_ms * span_ms


def sum_up(connection: sqlite3.Connection, oldest_ms: int, newest_ms: int) -> None:
    """Sum up what a batch of rows between these times has closed.

    A row older than what was summed up already (a switch that answered late) has its periods made
    again.
    """
    until = meta.get_number(connection, FIVE_MINUTES_UNTIL)
    begin = _floor(oldest_ms if until is None else min(until, oldest_ms), FIVE_MINUTES_MS)
    end = _floor(newest_ms, FIVE_MINUTES_MS)
    if until is None:
        meta.put(connection, FIVE_MINUTES_UNTIL, begin)
        until = begin
    end = max(end, until)
    if begin < end:
        roll_up_five_minutes(connection, begin, end)
        if end > until:
            meta.put(connection, FIVE_MINUTES_UNTIL, end)
        _sum_hours(connection, begin, end)


def _sum_hours(connection: sqlite3.Connection, changed_ms: int, closed_ms: int) -> None:
    until = meta.get_number(connection, HOURS_UNTIL)
    begin = _floor(changed_ms if until is None else min(until, changed_ms), HOUR_MS)
    end = max(_floor(closed_ms, HOUR_MS), until or 0)
    if begin < end:
        roll_up_hours(connection, begin, end)
        meta.put(connection, HOURS_UNTIL, end)
    elif until is None:
        meta.put(connection, HOURS_UNTIL, begin)


def sum_range(
    connection: sqlite3.Connection,
    numbers: Iterable[int],
    oldest_ms: int,
    newest_ms: int,
    *,
    gap_ms: int = GAP_MS,
) -> None:
    """Sum up whole hours around rows of some ends that were brought in, in one pass.

    What those rows leave open at their end is made again by the batches that follow.
    """
    until = meta.get_number(connection, FIVE_MINUTES_UNTIL)
    if until is None:
        meta.put(connection, FIVE_MINUTES_UNTIL, _floor(newest_ms, FIVE_MINUTES_MS))
        meta.put(connection, HOURS_UNTIL, _floor(newest_ms, HOUR_MS))
    elif until < newest_ms:
        sum_up(connection, until, newest_ms)  # other ends may have rows in that time too
    ends = tuple(numbers)
    begin, end = _floor(oldest_ms, HOUR_MS), _floor(newest_ms, HOUR_MS) + HOUR_MS
    roll_up_five_minutes(connection, begin, end, gap_ms=gap_ms, numbers=ends)
    roll_up_hours(connection, begin, end, numbers=ends)


def forget_from(connection: sqlite3.Connection, time_ms: int) -> None:
    """Summaries from that time on are void and will be made again."""
    for key, span_ms in ((FIVE_MINUTES_UNTIL, FIVE_MINUTES_MS), (HOURS_UNTIL, HOUR_MS)):
        until = meta.get_number(connection, key)
        if until is not None:
            meta.put(connection, key, min(until, _floor(time_ms, span_ms)))
