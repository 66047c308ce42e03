"""Rows made from summaries, for the time whose raw rows are gone."""

from __future__ import annotations

import sqlite3
from typing import Any, Final

from strandkeeper.model.names import End
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.model.reading import COUNTER_NAMES, Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.optics.units import Dbm
from strandkeeper.store.keys import END_SLOTS, end_number, row_id
from strandkeeper.store.rollups import COLUMNS, FIVE_MINUTES_MS, HOUR_KEY, HOUR_MS

__all__ = ["recorded_rows"]

NAMES: Final = ", ".join(COLUMNS)
FOR_EVER_MS: Final = 1 << 46


def _power(cells: dict[str, Any], name: str) -> Power:
    """The mean where light was measured at least as often as none was seen, in dB terms."""
    measured, dark = cells[f"{name}_n"], cells[f"{name}_no_light"]
    if measured and measured >= dark:
        return Measured(Dbm(round(cells[f"{name}_sum_mdbm"] / measured) / 1000))
    return NO_LIGHT if dark else NOT_REPORTED


def _mean(cells: dict[str, Any], name: str, unit: str, factor: int) -> float | None:
    count = cells[f"{name}_n"]
    return round(cells[f"{name}_sum_{unit}"] / count) / factor if count else None


def _optics(cells: dict[str, Any]) -> OpticalReading | None:
    if not cells["rx_n"] + cells["rx_no_light"] + cells["rx_not_reported"]:
        return None
    return OpticalReading(
        rx=_power(cells, "rx"),
        tx=_power(cells, "tx"),
        bias_ma=_mean(cells, "bias", "ua", 1000),
        temp_c=_mean(cells, "temp", "cc", 100),
        vcc_v=_mean(cells, "vcc", "100uv", 10_000),
    )


def _oper(cells: dict[str, Any]) -> OperStatus | None:
    if not cells["watched_ms"]:
        return None
    return OperStatus.DOWN if cells["down_ms"] * 2 >= cells["watched_ms"] else OperStatus.UP


def summary_row(start_ms: int, end: End, cells: dict[str, Any]) -> EndRow:
    """One row that stands for a whole period, at its beginning. A sum with gaps is not known."""
    known = {name: cells[name] if not cells[f"{name}_unknown"] else None for name in COUNTER_NAMES}
    return EndRow(
        time_ms=start_ms,
        end=end,
        answered=cells["n"] > cells["silent"],
        optics=_optics(cells),
        oper=_oper(cells),
        uptime_cs=cells["uptime_max_cs"],
        deltas=Deltas(**known),
    )


def _oldest(connection: sqlite3.Connection, table: str, numbers: tuple[int, int]) -> int:
    found = connection.execute(
        f"SELECT id FROM {table} WHERE id & 65535 IN (?, ?) ORDER BY id LIMIT 1", numbers
    ).fetchone()
    return FOR_EVER_MS if found is None else int(found[0]) // END_SLOTS


def recorded_rows(
    connection: sqlite3.Connection, link_id: int, period: tuple[int, int]
) -> list[EndRow]:
    """Rows from summaries of [from_ms, to_ms), up to where the raw rows of the link begin."""
    numbers = (end_number(link_id, End.A), end_number(link_id, End.B))
    raw_ms = _oldest(connection, "reading", numbers)
    fine_ms = _oldest(connection, "five_minutes", numbers)
    from_ms, to_ms = period[0], min(period[1], raw_ms // FIVE_MINUTES_MS * FIVE_MINUTES_MS)
    return [
        *_hours(connection, numbers, from_ms, min(to_ms, fine_ms)),
        *_five_minutes(connection, numbers, from_ms, to_ms),
    ]


def _five_minutes(
    connection: sqlite3.Connection, numbers: tuple[int, int], from_ms: int, to_ms: int
) -> list[EndRow]:
    found = connection.execute(
        f"SELECT id, {NAMES} FROM five_minutes WHERE id >= ? AND id < ? AND id & 65535 IN (?, ?) "
        "ORDER BY id",
        (row_id(from_ms), row_id(to_ms), *numbers),
    )
    return [
        summary_row(key // END_SLOTS, End(key & 1), dict(zip(COLUMNS, cells, strict=True)))
        for key, *cells in found
    ]


def _hours(
    connection: sqlite3.Connection, numbers: tuple[int, int], from_ms: int, to_ms: int
) -> list[EndRow]:
    rows = []
    for number in numbers:
        found = connection.execute(
            f"SELECT id % {HOUR_KEY} * {HOUR_MS}, {NAMES} FROM hours WHERE id >= ? AND id < ?",
            (number * HOUR_KEY + -(-from_ms // HOUR_MS), number * HOUR_KEY + to_ms // HOUR_MS),
        )
        rows += [
            summary_row(start, End(number & 1), dict(zip(COLUMNS, cells, strict=True)))
            for start, *cells in found
        ]
    return sorted(rows, key=lambda row: (row.time_ms, row.end))
