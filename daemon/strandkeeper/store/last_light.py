"""When each end last gave a light reading, and when it last answered: out of the rows."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Final

from strandkeeper.model.names import End, LinkName
from strandkeeper.store.keys import END_SLOTS, end_number, row_id
from strandkeeper.store.meta import HOURS_UNTIL, get_number
from strandkeeper.store.readings import newest_ms
from strandkeeper.store.rollups import HOUR_MS, hour_id, hour_start

__all__ = ["LastLight", "last_lights"]

# rx_kind 0 is measured, 1 is no light seen: both are readings; 2 is that none was given
_LATELY: Final = f"""
  SELECT id & {END_SLOTS - 1},
         max(CASE WHEN rx_kind IN (0, 1) THEN id / {END_SLOTS} END),
         max(CASE WHEN answered THEN id / {END_SLOTS} END)
  FROM reading WHERE id >= ? GROUP BY 1
"""
_LAST_HOUR: Final = (
    "SELECT id FROM hours WHERE id >= ? AND id < ? AND rx_n + rx_no_light > 0 "
    "ORDER BY id DESC LIMIT 1"
)
_IN_HOUR: Final = (
    f"SELECT max(id / {END_SLOTS}) FROM reading WHERE id >= ? AND id < ? "
    f"AND id & {END_SLOTS - 1} = ? AND rx_kind IN (0, 1)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LastLight:
    """`read_ms`: its newest light reading, also one of no light; `heard_ms`: its newest answer."""

    read_ms: int
    heard_ms: int


def last_lights(connection: sqlite3.Connection) -> dict[tuple[LinkName, End], LastLight]:
    """Of every end that answered of late and ever gave a light reading.

    The rows of one hour are read in one pass. For an end that gave none in it, the hours, which
    are kept for ever, say where to look; where the rows are gone, the end of that hour stands.
    """
    newest = newest_ms(connection)
    if newest is None:
        return {}
    summed_ms = get_number(connection, HOURS_UNTIL) or 0
    lately_ms = max(0, min(newest - HOUR_MS, summed_ms or newest))
    found = {n: pair for n, *pair in connection.execute(_LATELY, (row_id(lately_ms),))}
    lights = {}
    for link_id, name in connection.execute("SELECT id, name FROM link").fetchall():
        for end in End:
            number = end_number(link_id, end)
            read_ms, heard_ms = found.get(number, (None, None))
            if heard_ms is not None and read_ms is None:
                read_ms = _long_ago(connection, number)
            if heard_ms is not None and read_ms is not None:
                lights[LinkName(name), end] = LastLight(read_ms=read_ms, heard_ms=heard_ms)
    return lights


def _long_ago(connection: sqlite3.Connection, number: int) -> int | None:
    hour = connection.execute(_LAST_HOUR, (hour_id(number, 0), hour_id(number + 1, 0))).fetchone()
    if hour is None:
        return None
    start = hour_start(hour[0])
    span = (row_id(start), row_id(start + HOUR_MS), number)
    row = connection.execute(_IN_HOUR, span).fetchone()[0]
    return int(row) if row is not None else start + HOUR_MS - 1
