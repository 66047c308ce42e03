"""Summaries of raw rows over five minutes and one hour, computed in SQL.

Every column is a count, a least, a greatest or a sum, so that a summary of summaries is the
summary of the rows. Sums of powers are in dB terms (of 0.001 dBm), not of mW: a mean is the mean
of what the screen shows.

A state stands for the time since the end's row before it, if that is at most `gap_ms`; a longer
silence is nobody's. A row's time belongs whole to the period the row falls in, so periods add up.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from typing import Final

from strandkeeper.model.reading import COUNTER_NAMES, OperStatus
from strandkeeper.store.keys import END_SLOTS, row_id

__all__ = [
    "COLUMNS",
    "FIVE_MINUTES_MS",
    "FROM_SUMMARIES",
    "GAP_MS",
    "HOUR_KEY",
    "HOUR_MS",
    "hour_id",
    "hour_start",
    "raw_summary_sql",
    "roll_up_five_minutes",
    "roll_up_hours",
]

FIVE_MINUTES_MS: Final = 300_000
HOUR_MS: Final = 3_600_000
HOUR_KEY: Final = 1 << 32
GAP_MS: Final = 90_000  # as long as a far reading is paired with a near one (design, section 4)

_DOWN: Final = ", ".join(
    str(int(status)) for status in OperStatus if status not in (OperStatus.UP, OperStatus.UNKNOWN)
)


def _power(name: str) -> list[tuple[str, str, str]]:
    kind, value = f"{name}_kind", f"{name}_mdbm"
    return [
        (f"{name}_n", f"count({value})", f"sum({name}_n)"),
        (f"{name}_no_light", f"sum({kind} IS 1)", f"sum({name}_no_light)"),
        (f"{name}_not_reported", f"sum({kind} IS 2)", f"sum({name}_not_reported)"),
        *_spread(name, value, "mdbm"),
    ]


def _spread(name: str, value: str, unit: str) -> list[tuple[str, str, str]]:
    return [
        (f"{name}_min_{unit}", f"min({value})", f"min({name}_min_{unit})"),
        (f"{name}_max_{unit}", f"max({value})", f"max({name}_max_{unit})"),
        (f"{name}_sum_{unit}", f"sum({value})", f"sum({name}_sum_{unit})"),
    ]


def _figure(name: str, unit: str) -> list[tuple[str, str, str]]:
    value = f"{name}_{unit}"
    return [(f"{name}_n", f"count({value})", f"sum({name}_n)"), *_spread(name, value, unit)]


def _counter(name: str) -> list[tuple[str, str, str]]:
    return [
        (name, f"sum({name})", f"sum({name})"),
        (f"{name}_unknown", f"sum(answered AND {name} IS NULL)", f"sum({name}_unknown)"),
    ]


# (column, how it comes from raw rows, how it comes from summaries)
_TABLE: Final = [
    ("n", "count(*)", "sum(n)"),
    ("silent", "sum(NOT answered)", "sum(silent)"),
    *_power("rx"),
    *_power("tx"),
    *_figure("bias", "ua"),
    *_figure("temp", "cc"),
    *_figure("vcc", "100uv"),
    *(column for counter in COUNTER_NAMES for column in _counter(counter)),
    (
        "watched_ms",
        f"coalesce(sum(span_ms) FILTER (WHERE oper != {int(OperStatus.UNKNOWN)}), 0)",
        "sum(watched_ms)",
    ),
    ("down_ms", f"coalesce(sum(span_ms) FILTER (WHERE oper IN ({_DOWN})), 0)", "sum(down_ms)"),
    ("uptime_max_cs", "max(uptime_cs)", "max(uptime_max_cs)"),
]

COLUMNS: Final = tuple(name for name, _raw, _summary in _TABLE)
_NAMES: Final = ", ".join(COLUMNS)
_FROM_RAW: Final = ", ".join(raw for _name, raw, _summary in _TABLE)
FROM_SUMMARIES: Final = ", ".join(summary for _name, _raw, summary in _TABLE)


def hour_id(number: int, start_ms: int) -> int:
    """The key of an end's row in `hours`."""
    return number * HOUR_KEY + start_ms // HOUR_MS


def hour_start(key: int) -> int:
    """When the hour of a key of `hours` begins [ms]."""
    return key % HOUR_KEY * HOUR_MS


def _only(numbers: Iterable[int] | None, column: str) -> str:
    if numbers is None:
        return ""
    return f" AND {column} IN ({', '.join(str(int(number)) for number in numbers)})"


def raw_summary_sql(span_ms: int, numbers: Iterable[int] | None = None) -> str:
    """SELECT of (time-clustered id, *COLUMNS) from raw rows; parameters :from_ms :to_ms :gap_ms."""
    return f"""
      SELECT time_ms / {span_ms} * {span_ms} * {END_SLOTS} + number, {_FROM_RAW}
      FROM (
        SELECT *, CASE WHEN since_ms <= :gap_ms THEN since_ms END AS span_ms FROM (
          SELECT *, id >> 16 AS time_ms, id & 65535 AS number,
                 (id >> 16) - lag(id >> 16) OVER (PARTITION BY id & 65535 ORDER BY id) AS since_ms
          FROM reading
          WHERE id >= (:from_ms - :gap_ms) * {END_SLOTS} AND id < :to_ms * {END_SLOTS}
                {_only(numbers, "id & 65535")}
        ) WHERE time_ms >= :from_ms
      ) GROUP BY number, time_ms / {span_ms}
    """


def roll_up_five_minutes(
    connection: sqlite3.Connection,
    from_ms: int,
    to_ms: int,
    *,
    gap_ms: int = GAP_MS,
    numbers: Iterable[int] | None = None,
) -> None:
    """Write the five-minute rows of [from_ms, to_ms), both on the five minutes, from raw rows."""
    connection.execute(
        f"INSERT OR REPLACE INTO five_minutes (id, {_NAMES}) "
        f"{raw_summary_sql(FIVE_MINUTES_MS, numbers)}",
        {"from_ms": from_ms, "to_ms": to_ms, "gap_ms": gap_ms},
    )


def roll_up_hours(
    connection: sqlite3.Connection,
    from_ms: int,
    to_ms: int,
    *,
    numbers: Iterable[int] | None = None,
) -> None:
    """Write the hourly rows of [from_ms, to_ms), both on the hour, from five-minute rows."""
    connection.execute(
        f"""
        INSERT OR REPLACE INTO hours (id, {_NAMES})
        SELECT (id & 65535) * {HOUR_KEY} + (id >> 16) / {HOUR_MS}, {FROM_SUMMARIES}
        FROM five_minutes WHERE id >= ? AND id < ? {_only(numbers, "id & 65535")}
        GROUP BY id & 65535, (id >> 16) / {HOUR_MS}
        """,
        (row_id(from_ms), row_id(to_ms)),
    )
