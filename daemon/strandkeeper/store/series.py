"""Charts' numbers: one end over a period, from the tier that fits, in columns of integers.

Up to two hours the raw rows are read; beyond, only summaries, so that a year costs what a day
costs. Where a tier has more rows than points were asked for, neighbours are joined in SQL: least,
greatest and mean stay true, for a summary of summaries is the summary of the rows.
"""

from __future__ import annotations

import re
import sqlite3
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from strandkeeper.model.names import End, LinkName
from strandkeeper.model.reading import COUNTER_NAMES
from strandkeeper.store.keys import END_SLOTS, row_id
from strandkeeper.store.rollups import COLUMNS as SUMMARY_COLUMNS
from strandkeeper.store.rollups import FIVE_MINUTES_MS, FROM_SUMMARIES, HOUR_MS, hour_id

__all__ = ["Series", "Tier", "empty_series", "read_series", "tier_for"]

Ints = list[int]
Gaps = list[int | None]

RAW_UP_TO_MS: Final = 2 * HOUR_MS
FIVE_MINUTES_UP_TO_MS: Final = 15 * 86_400_000
GAP_MS: Final = 90_000


class Tier(StrEnum):
    """Which rows a series was made from."""

    RAW = "raw"
    FIVE_MINUTES = "five-minutes"
    HOURS = "hours"


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Columns of equal length, oldest first. None in a column: nothing measured in that point.

    `start_ms` is where a point begins and `span_ms` how long it is (0: a raw row, an instant).
    Powers in 0.001 dBm, temperature 0.01 °C, bias 0.001 mA, supply 0.0001 V; means are means of dB.
    `errors` are frames received damaged, `frames` frames received, both as far as known;
    `down_ms` of `watched_ms` the port was down. `silent` counts polls without an answer.
    """

    link: LinkName
    end: End
    tier: Tier
    span_ms: int
    start_ms: Ints
    n: Ints
    silent: Ints
    rx_min_mdbm: Gaps
    rx_mean_mdbm: Gaps
    rx_max_mdbm: Gaps
    rx_no_light: Ints
    rx_not_reported: Ints
    tx_min_mdbm: Gaps
    tx_mean_mdbm: Gaps
    tx_max_mdbm: Gaps
    tx_no_light: Ints
    temp_min_cc: Gaps
    temp_mean_cc: Gaps
    temp_max_cc: Gaps
    bias_mean_ua: Gaps
    vcc_mean_100uv: Gaps
    in_octets: Gaps
    out_octets: Gaps
    frames: Gaps
    errors: Gaps
    symbol_errors: Gaps
    watched_ms: Ints
    down_ms: Ints

    def __len__(self) -> int:
        return len(self.start_ms)


def tier_for(from_ms: int, to_ms: int, *, five_minutes_from_ms: int | None) -> Tier:
    """The tier to read: raw to 2 h, five minutes to 15 days while they are kept, else hours.

    `five_minutes_from_ms` is the oldest five-minute row of the file, None without one.
    """
    length = to_ms - from_ms
    if length <= RAW_UP_TO_MS:
        return Tier.RAW
    kept = five_minutes_from_ms is not None
    if length <= FIVE_MINUTES_UP_TO_MS and kept:
        return Tier.FIVE_MINUTES
    return Tier.HOURS


def _mean(name: str, unit: str) -> str:
    total, count = f"{name}_sum_{unit}", f"{name}_n"
    return f"CAST(round(CAST({total} AS REAL) / {count}) AS INTEGER)"


# What of a summary goes into a series, in the order of the fields from n on.
_PICK: Final = ", ".join(
    [
        "n, silent",
        f"rx_min_mdbm, {_mean('rx', 'mdbm')}, rx_max_mdbm, rx_no_light, rx_not_reported",
        f"tx_min_mdbm, {_mean('tx', 'mdbm')}, tx_max_mdbm, tx_no_light",
        f"temp_min_cc, {_mean('temp', 'cc')}, temp_max_cc",
        _mean("bias", "ua"),
        _mean("vcc", "100uv"),
        *COUNTER_NAMES,
        "watched_ms, down_ms",
    ]
)
_RAW: Final = f"""
  SELECT id >> 16, 1, NOT answered,
         rx_mdbm, rx_mdbm, rx_mdbm, rx_kind IS 1, rx_kind IS 2,
         tx_mdbm, tx_mdbm, tx_mdbm, tx_kind IS 1,
         temp_cc, temp_cc, temp_cc, bias_ua, vcc_100uv,
         {", ".join(COUNTER_NAMES)},
         coalesce((oper != 4) * since_ms, 0), coalesce((oper NOT IN (1, 4)) * since_ms, 0)
  FROM (SELECT *, CASE WHEN (id >> 16) - lag(id >> 16) OVER (ORDER BY id) <= {GAP_MS}
                       THEN (id >> 16) - lag(id >> 16) OVER (ORDER BY id) END AS since_ms
        FROM reading WHERE id >= :first AND id < :last AND id & 65535 = :number)
  WHERE id >= :from_id
  ORDER BY id
"""


def _summary_sql(source: str, start: str, span_ms: int) -> str:
    names = ", ".join(
        f"{made} AS {name}"
        for made, name in zip(FROM_SUMMARIES.split(", "), SUMMARY_COLUMNS, strict=True)
        if re.search(rf"\b{name}\b", _PICK)
    )
    return f"""
      SELECT start_ms, {_PICK} FROM (
        SELECT {start} / {span_ms} * {span_ms} AS start_ms, {names}
        FROM {source} GROUP BY {start} / {span_ms}
      ) ORDER BY start_ms
    """


def _five_minutes_sql(span_ms: int) -> str:
    """Point look-ups, one a period: other ends' rows in between are never read."""
    source = f"""(
      WITH RECURSIVE period(start) AS (
        SELECT :from_ms / {FIVE_MINUTES_MS} * {FIVE_MINUTES_MS}
        UNION ALL
        SELECT start + {FIVE_MINUTES_MS} FROM period WHERE start + {FIVE_MINUTES_MS} < :to_ms
      )
      SELECT five_minutes.* FROM period CROSS JOIN five_minutes
      ON five_minutes.id = period.start * {END_SLOTS} + :number
    )"""
    return _summary_sql(source, "(id >> 16)", span_ms)


def _hours_sql(span_ms: int) -> str:
    source = "(SELECT * FROM hours WHERE id >= :first AND id < :last)"
    return _summary_sql(source, f"(id & 4294967295) * {HOUR_MS}", span_ms)


def _span(tier_ms: int, from_ms: int, to_ms: int, max_points: int) -> int:
    periods = -(-(to_ms - from_ms) // tier_ms)
    return tier_ms * max(1, -(-periods // max(1, max_points)))


def read_series(
    connection: sqlite3.Connection,
    who: tuple[LinkName, End, int],
    period: tuple[int, int],
    max_points: int,
) -> Series:
    """The series of (link, end, end number) over [from_ms, to_ms), at most about max_points."""
    link, end, number = who
    from_ms, to_ms = period
    oldest = connection.execute("SELECT min(id) FROM five_minutes").fetchone()[0]
    tier = tier_for(
        from_ms, to_ms, five_minutes_from_ms=None if oldest is None else oldest // END_SLOTS
    )
    values = {"from_ms": from_ms, "to_ms": to_ms, "number": number}
    if tier is Tier.RAW:
        span_ms, sql = 0, _RAW
        values |= {
            "first": row_id(from_ms - GAP_MS),
            "last": row_id(to_ms),
            "from_id": row_id(from_ms),
        }
    elif tier is Tier.FIVE_MINUTES:
        span_ms = _span(FIVE_MINUTES_MS, from_ms, to_ms, max_points)
        sql = _five_minutes_sql(span_ms)
    else:
        span_ms = _span(HOUR_MS, from_ms, to_ms, max_points)
        sql = _hours_sql(span_ms)
        values |= {"first": hour_id(number, from_ms), "last": hour_id(number, to_ms + HOUR_MS - 1)}
    return _columns((link, end), tier, span_ms, connection.execute(sql, values).fetchall())


def empty_series(link: LinkName, end: End, period: tuple[int, int]) -> Series:
    """The series of a link that the record has never heard of."""
    tier = tier_for(*period, five_minutes_from_ms=None)
    return _columns((link, end), tier, 0 if tier is Tier.RAW else HOUR_MS, [])


def _columns(
    who: tuple[LinkName, End], tier: Tier, span_ms: int, rows: list[tuple[int, ...]]
) -> Series:
    columns = zip(*rows, strict=True) if rows else ((),) * len(FIELDS)
    named = {name: list(column) for name, column in zip(FIELDS, columns, strict=True)}
    return Series(link=who[0], end=who[1], tier=tier, span_ms=span_ms, **named)


FIELDS: Final = tuple(
    name for name in Series.__dataclass_fields__ if name not in ("link", "end", "tier", "span_ms")
)
