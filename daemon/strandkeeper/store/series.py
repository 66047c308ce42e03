"""Charts' numbers: one end over a period, from the tier that fits, in columns of integers.

Up to two hours the raw rows are read; beyond, only summaries, so that a year costs what a day
costs. Where a tier has more rows than points were asked for, neighbours are joined in SQL: least,
greatest and mean stay true, for a summary of summaries is the summary of the rows. Hours, of which
a year has thousands, are joined point by point in the order of the table, so that none is sorted.
"""

from __future__ import annotations

import re
import sqlite3
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from strandkeeper.model.names import End, LinkName
from strandkeeper.store.database import MOST_POINTS, POINTS
from strandkeeper.store.keys import END_SLOTS, row_id
from strandkeeper.store.meta import FIVE_MINUTES_UNTIL, HOURS_UNTIL, get_number
from strandkeeper.store.rollups import COLUMNS as SUMMARY_COLUMNS
from strandkeeper.store.rollups import (
    FIVE_MINUTES_MS,
    FROM_SUMMARIES,
    GAP_MS,
    HOUR_MS,
    hour_id,
    raw_summary_sql,
)

__all__ = ["Series", "Tier", "empty_series", "read_series", "tier_for"]

Ints = list[int]
Gaps = list[int | None]

RAW_UP_TO_MS: Final = 2 * HOUR_MS
FIVE_MINUTES_UP_TO_MS: Final = 15 * 86_400_000


class Tier(StrEnum):
    """Which rows a series was made from."""

    RAW = "raw"
    FIVE_MINUTES = "five-minutes"
    HOURS = "hours"


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Columns of equal length, oldest first. None in a column: nothing measured in that point.

    `start_ms` is where a point begins and `span_ms` how long it is (0: a raw row, an instant).
    Powers in 0.001 dBm, temperature 0.01 °C, bias 0.001 mA; means are means of dB.
    `n` rows, of which `silent` had no answer; `errors` are frames received damaged, as far as
    known; `down_ms` the port was down.
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
    tx_mean_mdbm: Gaps
    temp_min_cc: Gaps
    temp_mean_cc: Gaps
    temp_max_cc: Gaps
    bias_mean_ua: Gaps
    errors: Gaps
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
_PICK: Final = f"""
  n, silent, rx_min_mdbm, {_mean("rx", "mdbm")}, rx_max_mdbm, rx_no_light, {_mean("tx", "mdbm")},
  temp_min_cc, {_mean("temp", "cc")}, temp_max_cc, {_mean("bias", "ua")}, fcs_errors, down_ms
"""
_RAW: Final = f"""
  SELECT id >> 16, 1, NOT answered,
         rx_mdbm, rx_mdbm, rx_mdbm, rx_kind IS 1, tx_mdbm,
         temp_cc, temp_cc, temp_cc, bias_ua, fcs_errors,
         coalesce((oper NOT IN (1, 4)) * since_ms, 0)
  FROM (SELECT *, CASE WHEN (id >> 16) - lag(id >> 16) OVER (ORDER BY id) <= {GAP_MS}
                       THEN (id >> 16) - lag(id >> 16) OVER (ORDER BY id) END AS since_ms
        FROM reading WHERE id >= :first AND id < :last AND id & 65535 = :number)
  WHERE id >= :from_id
  ORDER BY id
"""


# The columns of a summary that a series needs, and how each comes from several of them.
_NEEDED: Final = {
    name: made
    for made, name in zip(FROM_SUMMARIES.split(", "), SUMMARY_COLUMNS, strict=True)
    if re.search(rf"\b{name}\b", _PICK)
}
_NAMES: Final = ", ".join(_NEEDED)
_MADE: Final = ", ".join(f"{made} AS {name}" for name, made in _NEEDED.items())
# The same expressions over several summaries at once.
_JOINED: Final = re.sub(r"\b[a-z]+\w*", lambda found: _NEEDED.get(found[0], found[0]), _PICK)
# Points of which every hour is summed up, looked up one by one: so nothing needs to be sorted.
_WHOLE_POINTS: Final = f"""
  SELECT (:first_point + place.number) * :span_ms, {_JOINED}
  FROM {POINTS} AS place CROSS JOIN hours
  ON hours.id >= max(:hours_first, :first_hour + place.number * :hours)
     AND hours.id < :first_hour + (place.number + 1) * :hours
  WHERE place.number < :whole_points
  GROUP BY place.number ORDER BY place.number
"""
# Where the others come from: what is summed up, and after it what is not yet. Five-minute rows are
# looked up one period at a time, so that the rows of other ends in between are never read.
_HOURS: Final = f"""
  SELECT (id & 4294967295) * {HOUR_MS} AS start_ms, {_NAMES}
  FROM hours WHERE id >= max(:hours_first, :first_hour + :whole_points * :hours)
                   AND id < :hours_last
"""
_FIVE_MINUTES: Final = f"""
  SELECT period.start AS start_ms, {_NAMES} FROM (
    WITH RECURSIVE period(start) AS (
      SELECT :fives_from
      UNION ALL
      SELECT start + {FIVE_MINUTES_MS} FROM period
      WHERE start + {FIVE_MINUTES_MS} < :fives_to
    ) SELECT start FROM period WHERE start < :fives_to
  ) AS period CROSS JOIN five_minutes
  ON five_minutes.id = period.start * {END_SLOTS} + :number
"""


def _floor(time_ms: int, span_ms: int) -> int:
    return time_ms // span_ms * span_ms


def _summary_sql(tier: Tier, number: int) -> str:
    open_rows = f"""
      SELECT id >> 16, {_NAMES}
      FROM (SELECT 0 AS id, {", ".join(f"NULL AS {name}" for name in SUMMARY_COLUMNS)} WHERE 0
            UNION ALL {raw_summary_sql(FIVE_MINUTES_MS, (number,))})
    """
    sources = [_HOURS] if tier is Tier.HOURS else []
    source = " UNION ALL ".join([*sources, _FIVE_MINUTES, open_rows])
    return f"""
      SELECT start_ms / :span_ms * :span_ms, {_JOINED} FROM ({source})
      GROUP BY start_ms / :span_ms ORDER BY start_ms / :span_ms
    """


def _span(tier_ms: int, from_ms: int, to_ms: int, max_points: int) -> int:
    periods = -(-(to_ms - from_ms) // tier_ms)
    return tier_ms * max(1, -(-periods // max(1, min(max_points, MOST_POINTS))))


def read_series(
    connection: sqlite3.Connection,
    who: tuple[LinkName, End, int],
    period: tuple[int, int],
    max_points: int,
) -> Series:
    """The series of (link, end, end number) over [from_ms, to_ms), at most about max_points.

    What is not summed up yet is summed up on the way, so that every range ends now.
    """
    link, end, number = who
    from_ms, to_ms = period
    oldest = connection.execute("SELECT min(id) FROM five_minutes").fetchone()[0]
    tier = tier_for(
        from_ms, to_ms, five_minutes_from_ms=None if oldest is None else oldest // END_SLOTS
    )
    if tier is Tier.RAW:
        keys = {
            "first": row_id(from_ms - GAP_MS),
            "last": row_id(to_ms),
            "from_id": row_id(from_ms),
        }
        rows = connection.execute(_RAW, {**keys, "number": number}).fetchall()
        return _columns((link, end), tier, 0, rows)
    tier_ms = HOUR_MS if tier is Tier.HOURS else FIVE_MINUTES_MS
    span_ms = _span(tier_ms, from_ms, to_ms, max_points)
    values = _bounds(connection, tier, number, period, span_ms)
    rows = connection.execute(_WHOLE_POINTS, values).fetchall() if tier is Tier.HOURS else []
    rows += connection.execute(_summary_sql(tier, number), values).fetchall()
    return _columns((link, end), tier, span_ms, rows)


def _bounds(
    connection: sqlite3.Connection, tier: Tier, number: int, period: tuple[int, int], span_ms: int
) -> dict[str, int]:
    """From where to where each source is read: hours, five minutes, raw, one after the other."""
    fives_until = get_number(connection, FIVE_MINUTES_UNTIL) or 0
    hours_until = min(get_number(connection, HOURS_UNTIL) or 0, fives_until)
    fives_from = _floor(period[0], FIVE_MINUTES_MS)
    if tier is Tier.HOURS:
        fives_from = max(_floor(period[0], HOUR_MS), hours_until)
    first_point = period[0] // span_ms
    return {
        "number": number,
        "span_ms": span_ms,
        "first_point": first_point,
        "whole_points": max(0, min(period[1], hours_until) // span_ms - first_point),
        "first_hour": hour_id(number, first_point * span_ms),
        "hours": span_ms // HOUR_MS,
        "gap_ms": GAP_MS,
        "hours_first": hour_id(number, period[0]),
        "hours_last": hour_id(number, min(period[1] + HOUR_MS - 1, hours_until)),
        "fives_from": fives_from,
        "fives_to": min(period[1], fives_until),
        "from_ms": max(fives_from, fives_until),
        "to_ms": period[1],
    }


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
